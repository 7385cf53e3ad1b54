"""Every state has a shape and a word: found by reading the code, and by opening every page of the demo."""

from __future__ import annotations

import ast
import re
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest

import walkapp.presenters
from tests.fakes import run_now
from walkapp.presenters.mark_tools import Tool
from walkapp.presenters.pages import page_class
from walkapp.presenters.session import Session
from walkapp.screens.kit.marks import SHAPES

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
    "here": "here|this",
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


def told(value):
    """Give each mark in a view state with the texts that stand with it.

    The shape of a tool is a picture of what it does and no state; which one is used is another test's.
    """
    if isinstance(value, tuple):
        for one in value:
            yield from told(one)
    elif is_dataclass(value) and not isinstance(value, Tool):
        parts = {field.name: getattr(value, field.name) for field in fields(value)}
        texts = tuple(text for n, part in parts.items() if n not in UNSEEN for text in texts_of(part))
        for name in ("mark", "shape"):
            if parts.get(name):
                yield parts[name], texts
        for part in parts.values():
            yield from told(part)


def texts_of(part) -> list[str]:
    if isinstance(part, str):
        return [part]
    if isinstance(part, tuple):
        return [text for one in part for text in texts_of(one)]
    return []


@pytest.fixture(scope="module")
def states(opened_everywhere):
    """The view state of every place, by name."""
    session = Session(
        opened_everywhere.tablet.place, run_later=run_now, go=lambda _: None,
        picture_folders=(opened_everywhere.folder / "camera",),
        bundles=opened_everywhere.folder / "bundles",
    )  # fmt: skip
    found = {}
    for name, route in opened_everywhere.routes.items():
        page = page_class(route.screen)(session, route)
        page.open()
        found[name] = page.state
    return found


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


def test_every_tool_says_what_it_does(states):
    tools = [tool for state in states.values() for tool in getattr(state, "tools", ())]

    assert {"arrow", "cover", "word-0"} <= {tool.name for tool in tools}
    assert [tool.name for tool in tools if not tool.text] == []
