"""Every state has a shape and a word: found by reading the code, and by opening every page of the demo."""

from __future__ import annotations

import ast
import re
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest

import walkapp.presenters
from tests.fakes import CHECKLISTS, run_now
from walkapp.actions.reading import concern_facts
from walkapp.actions.studies import studies_of
from walkapp.demo.audit_routes import audit_routes
from walkapp.demo.desk_routes import desk_routes
from walkapp.demo.fix_routes import fix_routes
from walkapp.demo.scenario import play
from walkapp.demo.tablets import open_tablet, read_scenario
from walkapp.demo.walk_routes import Walked, tour_routes
from walkapp.presenters.pages import page_class
from walkapp.presenters.session import Route, Session
from walkapp.screens.kit.marks import SHAPES

pytestmark = pytest.mark.long

PRESENTERS = Path(walkapp.presenters.__file__).parent

STATE_WORDS = {
    "clean": "OK|clean|done|closed|corrected|contained|found|proved|fixed|verified|effective|released|"
    "scrapped|recorded|usable|on target|below the target|in the allowed range|inside|certified|good from|"
    "through|0 of [0-9,]+ parts out|out of limits: 0 of|photo|before it started|better|taken|shown now|"
    "read across|complete|signed|makes no|0 of [0-9,]+ NOK",
    "bad": "NOK|bad|overdue|out of|missed|off target|above the target|starts at|difference|worse|"
    "first bad|after it started|first out of tolerance|outside",
    "undecided": "undecided|not shown|not read across|open|begun|to be checked|unknown|not known|worth|"
    "still missing|nobody|no reaction yet|of [0-9]+ stages|above the target|to be|most likely|the rest|"
    "not answered",
    "not_visited": "not visited|not begun|to come|open|nothing|no |none|not |after the onset",
    "not_applicable": "N/A|does not apply",
    "caution": "NOK|disagree|does not count|caution|not told|must|cannot|safety|told|escalat",
    "notice": "special",
    "next": "due|open|next",
    "chosen": "ON|chosen",
    "open": "OFF|not answered|open",
}
"""Words of which at least one stands beside each shape of a state; in any case of letters."""


UNSEEN = ("mark", "shape", "tone", "id", "chosen", "row_id", "station")
"""Fields of view states that name something to the program and are not shown."""


def named_shapes() -> dict[str, str]:
    """Every shape that a presenter names, with the place in the code."""
    found = {}
    for path in sorted(PRESENTERS.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.keyword) and node.arg in ("mark", "shape"):
                values = [node.value]
            elif isinstance(node, (ast.Assign, ast.AnnAssign)) and isinstance(node.value, ast.Dict):
                target = node.target if isinstance(node, ast.AnnAssign) else node.targets[0]
                is_shapes = isinstance(target, ast.Name) and target.id.endswith(("MARKS", "SHAPES"))
                values = node.value.values if is_shapes else []
            else:
                continue
            for value in values:
                for text in constants(value):
                    found[text] = f"{path.name}:{value.lineno}"
    return found


def constants(value: ast.expr) -> list[str]:
    """The texts that an expression may give; those that it only compares with are none."""
    if isinstance(value, ast.IfExp):
        return constants(value.body) + constants(value.orelse)
    if isinstance(value, ast.BoolOp):
        return [text for part in value.values for text in constants(part)]
    return [value.value] if isinstance(value, ast.Constant) and isinstance(value.value, str) else []


def test_every_state_that_a_presenter_names_has_a_shape():
    named = named_shapes()

    assert len(named) >= 8
    # "words" is a tool that draws on pictures, and no shape.
    named.pop("words", None)
    assert {name: place for name, place in named.items() if name and name not in SHAPES} == {}


def told(value, above: tuple[str, ...] = ()):
    """Give each mark in a view state with the texts that stand with it."""
    if isinstance(value, tuple):
        for one in value:
            yield from told(one, above)
    elif is_dataclass(value):
        parts = {field.name: getattr(value, field.name) for field in fields(value)}
        texts = tuple(text for n, part in parts.items() if n not in UNSEEN for text in texts_of(part))
        for name in ("mark", "shape"):
            if parts.get(name):
                yield parts[name], texts
        for part in parts.values():
            yield from told(part, texts)


def texts_of(part) -> list[str]:
    if isinstance(part, str):
        return [part]
    if isinstance(part, tuple):
        return [text for one in part for text in texts_of(one)]
    return []


@pytest.fixture(scope="module")
def states(tmp_path_factory):
    """The view state of every place of the tour, by name."""
    folder = tmp_path_factory.mktemp("state-words")
    play(folder, CHECKLISTS)
    tablet = open_tablet(read_scenario()["desk"], folder / "desk", CHECKLISTS)
    place = tablet.place
    with place.store as store:
        tablet.clock.time = read_scenario("-audits")["until"]
        concern = tablet.concern
        facts = concern_facts(place, concern)
        walked = Walked(
            concern=concern,
            walk=store.walks(concern)[0],
            bundle=folder / "none.zip",
            study=studies_of(facts)[0].study.id,
        )
        routes: dict[str, Route] = {
            **tour_routes(walked),
            **fix_routes(place, concern),
            **audit_routes(place),
            **desk_routes(place, concern),
            "tablet": Route(screen="tablet"),
        }
        session = Session(
            place,
            run_later=run_now,
            go=lambda _: None,
            picture_folders=(folder / "camera",),
            bundles=folder / "bundles",
        )
        found = {}
        for name, route in routes.items():
            page = page_class(route.screen)(session, route)
            page.open()
            found[name] = page.state
        yield found


def test_every_shape_of_a_state_on_every_page_has_a_word_beside_it(states):
    seen, wordless = set(), []
    for name, state in states.items():
        for mark, texts in told(state):
            seen.add(mark)
            said = " ".join(texts)
            if not re.search(STATE_WORDS.get(mark, "$^"), said, re.IGNORECASE):
                wordless.append(f"{name}: {mark}: {said[:120]}")

    assert {"clean", "bad", "undecided", "not_visited", "caution", "next", "open", "chosen"} <= seen
    assert wordless == []
