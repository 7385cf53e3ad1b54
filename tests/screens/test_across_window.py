"""Read-across, lessons and search in a real window, by touch: what is shown and what is on disk."""

from __future__ import annotations

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Lesson, ReadAcross
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window


class Glass:
    """An app on a desk whose defect starts at the leak test, and a hand that touches it."""

    def __init__(self, desk, drive, folder, tablet) -> None:
        sizes = dict(TABLETS[tablet])
        self.pixels_per_inch = sizes.pop("pixels_per_inch")
        self.desk = desk
        self.floor = Floor(desk)
        self.floor.count()
        self.floor.walking.note("leak-test", "The new pads leave a white ring at the ear, lot 0222-2")
        self.app = window_app(desk.place, folder / "camera", bundles=folder / "bundles")
        self.hand = drive(self.app, **sizes)
        self.walk = TouchWalk(desk, self.hand, folder / "camera")
        self.walk.settle()

    def looks_right(self) -> None:
        assert problems(self.hand.window, pixels_per_inch=self.pixels_per_inch) == []

    def text(self, name) -> str:
        return self.hand.find(name).text

    def recorded(self, kind):
        return [r for r in self.desk.records if isinstance(r, kind)]


@pytest.mark.parametrize("tablet", list(TABLETS)[1:])
def test_a_like_station_is_written_about_by_touch_and_taken_back(drive, tmp_path, tablet):
    desk = Desk(tmp_path)
    with desk.store:
        glass = Glass(desk, drive, tmp_path, tablet)
        walk = glass.walk
        glass.app.go(Route(screen="concern", concern=glass.floor.route.concern))
        walk.settle()
        glass.looks_right()
        walk.tap("row-read_across")
        assert glass.text("sentence") == "1 of 1 like stations still open."
        glass.looks_right()

        walk.tap("row-pump-bracket/final-check")
        walk.tap("field-status-choice-to_check")
        glass.looks_right()
        walk.tap("field-status-choice-affected")
        walk.write("words", "3 of 20 have the ring")
        walk.tap("record")

        (record,) = glass.recorded(ReadAcross)
        assert (record.other_stream, record.other_station, record.status, record.words) == (
            "pump-bracket", "final-check", "affected", "3 of 20 have the ring",
        )  # fmt: skip
        assert glass.text("sentence") == "1 like station is affected and not fixed; 1 in all still open."
        assert glass.hand.find("undo").detail == "affected, final-check"
        glass.looks_right()

        walk.tap("undo")
        assert glass.text("saved") == "Taken back"
        assert glass.text("sentence") == "1 of 1 like stations still open."
        assert len(glass.recorded(ReadAcross)) == 1


@pytest.mark.parametrize("tablet", list(TABLETS)[1:])
def test_a_lesson_is_recorded_by_touch_and_found_as_its_first_letters_are_typed(drive, tmp_path, tablet):
    desk = Desk(tmp_path)
    with desk.store:
        glass = Glass(desk, drive, tmp_path, tablet)
        walk = glass.walk
        glass.app.go(Route(screen="lessons", concern=glass.floor.route.concern))
        walk.settle()
        glass.looks_right()
        walk.tap("lesson")
        walk.write("worked", "Asking about pads first")
        glass.looks_right()
        walk.tap("record")
        (lesson,) = glass.recorded(Lesson)
        assert lesson.worked == "Asking about pads first"
        glass.looks_right()

        glass.app.go(Route())
        walk.settle()
        glass.looks_right()
        walk.tap("search")
        walk.tap("field-words-words")
        glass.hand.type("pads lot")
        glass.hand.until(lambda: glass.text("told") == "1 entry found.")
        glass.looks_right()
        walk.write("words", "pad")
        glass.hand.until(lambda: glass.text("told") == "2 entries found.")
        assert [row.title for row in glass.hand.find("results").rows] == [
            "Asking about pads first", "The new pads leave a white ring at the ear, lot 0222-2",
        ]  # fmt: skip
        glass.looks_right()
        glass.app.aside.finish()
        assert desk.store.search_file.is_file()

        walk.tap("row-result-0")
        assert glass.app.session.kept.route() == Route(screen="lessons", concern=glass.floor.route.concern)
