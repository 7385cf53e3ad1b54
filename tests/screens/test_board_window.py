"""The screen of all pages that say how something stands: rows, buttons and undo by touch, at every size."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Lesson
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.pages import PAGES
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow

pytestmark = pytest.mark.window


class LessonsBoard(BoardPage):
    """A page of the test: the lessons of a concern."""

    kinds = (Lesson,)

    def _view(self):
        lessons = [r for r in self.session.place.store.records(self.route.concern) if r.kind == "lesson"]
        row = {"subtitle": "A second line that is long enough to be broken on a narrow window" * 2}
        rows = tuple(
            ListRow(id=f"row-{n}", title=r.worked, mark="clean", **row) for n, r in enumerate(lessons)
        )
        return BoardState(
            title="Lessons",
            subtitle="of a concern (invented)",
            cautions=("Site rules come before this list.",),
            mark="undecided",
            sentence=f"{len(lessons)} entries were made and not all of them were taken back",
            lines=("One line.", "Another line."),
            sections=(
                Section(name="all", title="All", words="Tap one", rows=rows),
                Section(name="none", title="Nothing here", words="There is nothing here yet."),
            ),
            notes=("Taken for granted: nothing.",),
            buttons=(
                BoardButton(name="note-it", text="Note it", tone="strong"),
                BoardButton(name="off", text="Not now", is_off=True),
            ),
        )

    def press(self, button):
        """Record a lesson."""
        said = {"worked": "Asking the setter first", "concern": self.route.concern}
        self.act(lambda: self.session.place.add(Lesson, **said), "On disk: a lesson")

    def row(self, section, row):
        """Tell the test."""
        self._show(replace(self.state, problem=f"{section} {row}"))

    def _in_short(self, entry):
        return "a lesson"


@pytest.mark.parametrize("tablet", TABLETS)
def test_rows_buttons_and_undo_work_by_touch_and_fit(drive, tmp_path, monkeypatch, tablet):
    sizes = dict(TABLETS[tablet])
    pixels_per_inch = sizes.pop("pixels_per_inch")
    monkeypatch.setitem(PAGES, "lessons_of_test", f"{__name__}:LessonsBoard")
    desk = Desk(tmp_path)
    with desk.store:
        concern = desk.concern()
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, **sizes)
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        app.go(Route(screen="lessons_of_test", concern=concern))
        walk.settle()

        walk.tap("note-it")
        walk.tap("note-it")
        assert hand.find("saved").text == "On disk: a lesson"
        assert hand.find("undo").detail == "a lesson"
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []

        walk.tap("undo")
        assert hand.find("saved").text == "Taken back"
        walk.tap("row-row-1")
        assert hand.find("problem").text == "all row-1"
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
