"""No page shows a word that came through no catalogue, that nobody typed and that no checklist says."""

from __future__ import annotations

import errno
import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.everywhere import OpenedEverywhere
from tests.fakes import run_now
from tests.languages.disguise import bare_figures, bare_words, disguise, of_catalogue, of_people
from tests.languages.shown import texts_of
from walkapp.language import tr
from walkapp.languages import LANGUAGES
from walkapp.presenters.board import BoardPage
from walkapp.presenters.form import FormPage
from walkapp.presenters.pages import page_class
from walkapp.presenters.session import Session

TAPS = ("undo", "step", "switch_tags", "record", "change_order", "enlarge")
"""What is done on a page that has it, without leaving it."""

IDS = re.compile(r"(?<![\w])(?=[a-f-]*[0-9])[0-9a-f]{6,8}(?:-[0-9a-f]{4}){0,3}(?:-[0-9a-f]{12})?(?!\w)")
ROLES = re.compile(r"\b(?:[A-Z]{2}-[A-Z]{2}|SL|QE|TL|QM|PM)\b")
"""Ids, whole or their ends, and roles, with initials or without, which nobody translates."""

STATIONS = re.compile(r"\b(?:final-check)\b")
"""Ids of stations that another plant's checklist has."""

_TYPED_SO = re.compile(
    rf"(?:{'|'.join(map(of_catalogue, ('such as', 'Such as', 'Or type it as', 'month')))})"
    r" \(?\d{4}-\d\d(?:-\d\d)?(?![\d-])"
)
"""A day or a month that shows how one is typed."""

_LINE_BEGINS = re.compile(r"^\W*[Α-Ω]|(?<=[.] )[Α-Ω]", re.MULTILINE)
"""A letter that may be a capital one though its text begins with a small one."""


class Looked:
    """Collects the bare words of states, each text once."""

    def __init__(self, folder: Path) -> None:
        self.found: dict[tuple[str, str], str] = {}
        # What the machine says: names of folders, and the system's own words for a folder.
        machine = (*folder.parts[1:], "bundles", "desk", os.strerror(errno.EISDIR))
        # Languages are called what their own speakers call them.
        self._names = sorted((*machine, *LANGUAGES.values()), key=len, reverse=True)

    def at(self, where: str, state: Any) -> None:
        """Look at a state."""
        for path, text in texts_of(state):
            shown = _LINE_BEGINS.sub(lambda found: found[0].lower(), text)
            for name in self._names:
                shown = shown.replace(name, "")
            words = bare_words(_named(shown)) + _figures(path, text)
            if words:
                self.found.setdefault((path.rpartition(" ")[2], text), f"{where}: {' '.join(words)}")


def _figures(path: str, text: str) -> list[str]:
    """Give the days and decimals of a text that stand as in a record, but for those that are typed so."""
    found = bare_figures(_TYPED_SO.sub("", text))
    return [] if path.endswith("FormField.value") and found == [text] else found


def _named(text: str) -> str:
    """Leave ids and roles out of a text."""
    for names in (IDS, ROLES, STATIONS):
        text = names.sub("", text)
    return text


@pytest.fixture(scope="module")
def looked(tmp_path_factory, played_demo) -> Looked:
    folder = tmp_path_factory.mktemp("looked")
    played_demo(folder, with_audits=True)
    looked = Looked(folder)
    with disguise(), OpenedEverywhere(folder) as everywhere:
        session = Session(
            everywhere.tablet.place, run_later=run_now, go=lambda _: None,
            picture_folders=(folder / of_people("camera"),), bundles=folder / "bundles",
        )  # fmt: skip
        for name, route in everywhere.routes.items():
            page = page_class(route.screen)(session, route)
            looked.at(f"{name}, blank", page.state)
            page.open()
            looked.at(name, page.state)
            _tap(page, lambda after, page=page, name=name: looked.at(f"{name}, {after}", page.state))
    return looked


def _tap(page: Any, look) -> None:
    """Do what is done on a page without leaving it."""
    if isinstance(page, FormPage):
        for field in page.state.fields:
            if field.form == "choice" and field.options:
                page.fill(field.name, field.options[-1][0])
                look(f"{field.name} filled in")
        page.record()
        look("recorded")
    elif isinstance(page, BoardPage):
        page.undo()
        look("undone")
    else:
        for tap in TAPS:
            if hasattr(page, tap):
                try:
                    getattr(page, tap)()
                except TypeError:
                    continue
                look(tap)


def test_no_page_shows_a_word_that_came_through_no_catalogue(looked):
    assert [f"{where} {path}: {text}" for (path, text), where in looked.found.items()] == []


@dataclass(frozen=True)
class Planted:
    id: str
    title: str
    options: tuple[tuple[str, str], ...] = ()


@pytest.mark.parametrize(
    ("state", "found"),
    [
        (Planted(id="two words", title=of_catalogue("Said")), []),
        (Planted(id="", title="Bare"), ["Bare"]),
        (Planted(id="", title=f"{of_catalogue('Said of')} bare {of_people('Leak test')}"), ["bare"]),
        (Planted(id="", title=f"1 {of_catalogue('Made small').lower()}"), [of_catalogue("M").lower()]),
        (Planted(id="", title="", options=(("word", of_catalogue("Said")), ("word", "Bare"))), ["Bare"]),
        (Planted(id="", title=f"{of_people('Leak')} 019cb223-da20-7744-a282-b261f71ab247 QE-RT"), []),
        (
            Planted(id="2026-03-09", title=f"{of_catalogue('Done on')} 2026-03-09: 12.5"),
            ["2026-03-09 12.5"],
        ),
        (Planted(id="", title=f"{of_catalogue('Type one such as')} 2026-03-09"), []),
    ],
)
def test_a_bare_word_that_is_planted_is_found(state, found):
    looked = Looked(Path("/"))
    looked.at("here", state)

    assert [where.removeprefix("here: ") for where in looked.found.values()] == found


def test_a_text_that_is_in_no_catalogue_is_found():
    made = " ".join(("made up", "meanwhile"))
    looked = Looked(Path("/"))

    with disguise():
        looked.at("here", Planted(id="", title=tr(made)))

    assert [text for _, text in looked.found] == [made]
