"""Whatever one tap puts on disk, one tap takes back: a table of the pages that record without a form."""

from __future__ import annotations

import ast
import inspect
import pkgutil
import sys
import textwrap
from pathlib import Path

import walkapp.actions
from walkapp.presenters.board import BoardPage
from walkapp.presenters.form import FormPage
from walkapp.presenters.pages import PAGES

WITHOUT_UNDO = {
    "study_result": "using a study is taken back by the button beside it",
    "trial_run": "leads to the trial, whose undo takes the run back",
    "deliveries_read": "leads to the page of the months, whose undo takes all of the table back",
}
"""Pages on which a tap records and that have no undo of their own, and what stands in its place."""


TAKING_BACK = {"undo", "take_back", "undo_run", "undo_newest", "take_back_turn_entry", "take_back_dated"}


def actions_called(page: type) -> set[str]:
    """Names of the actions that the methods of a class call."""
    module = sys.modules[page.__module__]
    found = set()
    for node in ast.walk(ast.parse(textwrap.dedent(inspect.getsource(page)))):
        if not isinstance(node, ast.Call):
            continue
        called = ast.unparse(node.func)
        if called.startswith("self._walking."):
            found.add(called.rpartition(".")[2])
        elif getattr(getattr(module, called, None), "__module__", "").startswith("walkapp.actions"):
            found.add(called)
    return found


def has_undo(page: type) -> bool:
    """Whether a page takes something back; of rows and buttons only with the kinds of its entries."""
    undo = getattr(page, "undo", None)
    return undo is not None and (undo is not BoardPage.undo or bool(page.kinds))


def recorders() -> set[str]:
    """Functions of the actions that put a record on disk, by themselves or through one another."""
    calls: dict[str, set[str]] = {}
    for path in sorted(Path(walkapp.actions.__file__).parent.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                calls.setdefault(node.name, set()).update(_record_calls(node))
    known = {name for name, made in calls.items() if "place.add" in made}
    while more := {name for name, made in calls.items() if made & known} - known:
        known |= more
    return {name for name in known if not name.startswith("_")}


def _record_calls(function: ast.FunctionDef) -> set[str]:
    """Names that a function calls; ``place.add`` for what adds records to a workplace."""
    made = set()
    for node in ast.walk(function):
        if not isinstance(node, ast.Call):
            continue
        name = ast.unparse(node.func)
        if name.endswith(("place.add", "place.add_all")):
            made.add("place.add")
        elif name.count(".") == name.startswith("self."):  # no method of anything else, such as a list
            made.add(name.removeprefix("self."))
    return made


def recording_pages() -> dict[str, type]:
    """Pages without a form of which a tap records."""
    known, found = recorders(), {}
    for name, where in PAGES.items():
        page = pkgutil.resolve_name(where)
        if issubclass(page, FormPage):
            continue
        bases = [base for base in page.__mro__ if base.__module__.startswith("walkapp.presenters")]
        called = set().union(*(actions_called(base) for base in bases)) & known
        if called - TAKING_BACK:
            found[name] = page
    return found


def test_the_search_for_what_records_finds_the_plain_cases():
    known = recorders()

    assert {"judge_part", "measure", "count", "answer_question", "record_run", "add_mark"} <= known
    assert {"walk_facts", "concern_facts"}.isdisjoint(known)
    assert {"judge", "count", "measure", "mark", "audit", "confirmation_turn"} <= set(recording_pages())


def test_every_page_on_which_a_tap_records_has_an_undo():
    without = {name for name, page in recording_pages().items() if not has_undo(page)}

    assert without == set(WITHOUT_UNDO)
