"""The keyboard on the glass: whatever is typed into stays in sight, and the page comes back as it was."""

from __future__ import annotations

import pytest

from tests.screens.layout_check import clipped
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.errors import InputError
from walkapp.screens.kit.fields import LabelledField
from walkapp.screens.stops import stops_of

pytestmark = pytest.mark.window

LYING = {"size": (1024, 600), "density": 1.0}
STANDING = {"size": (800, 1280), "density": 1.33}

PAGES = (
    "new-concern", "note", "change", "correct-change", "new-action", "audit-not-done", "search", "limit-ok",
)  # fmt: skip
"""A form, forms in a walk, long forms with words to tap, and the pages that are no forms;
``python -m tests.soak.keyboard`` goes through every field of all pages."""


class Glass:
    """A window whose keyboard covers a part of it while something is typed into."""

    def __init__(self, drive, everywhere, *, share: float, size, density) -> None:
        self.app = window_app(
            everywhere.tablet.place, everywhere.folder / "camera", bundles=everywhere.folder / "bundles"
        )
        self.hand = drive(self.app, size=size, density=density)
        self.height = size[1]
        self.covered = share * self.height
        self.app.keyboard_px = lambda: self.covered if self.field() else 0
        self.touch = TouchWalk(everywhere.tablet, self.hand, everywhere.folder / "camera")

    def field(self):
        """Give what is typed into."""
        return next((s.widget for s in stops_of(self.app.page) if s.is_field and s.widget.focus), None)

    def open(self, route) -> None:
        self.app.go(route)
        self.touch.settle()
        self.hand.wait(0.5)

    def names(self) -> list[str]:
        return [stop.name for stop in stops_of(self.app.page) if stop.is_field]

    def hidden(self, name: str) -> list[str]:
        """Type into a field; say what of it, its label and what is wrong is not in sight."""
        self.app.page.presenter.fail(InputError("Something is missing here, and this says what it is."))
        self.hand.wait(0.2)
        self.touch.tap(name)
        field = self.field()
        if field is None:
            return [f"{name} cannot be typed into"]
        self.hand.wait(0.6)
        asked = field
        while not isinstance(asked, LabelledField):
            asked = asked.parent
        problem = next(w for w in self.hand.widgets() if getattr(w, "test_name", "") == "problem" and w.height)
        found = []
        for what, widget in (("field", field), ("what is asked", asked), ("problem", problem)):
            left, bottom, right, top = clipped(widget)
            is_whole = top - bottom >= widget.height - 2 and right - left >= widget.width - 2
            if not is_whole or bottom < self.covered - 1 or top > self.height + 1:
                found.append(f"{name}: {what} from {bottom:.0f} to {top:.0f}, of {widget.height:.0f}")
        return found

    def let_go(self) -> None:
        self.hand.back()  # a focused field takes the first back
        self.hand.wait(0.4)


@pytest.mark.parametrize(("tablet", "share"), [(LYING, 0.55), (STANDING, 0.40)])
def test_a_field_its_label_and_what_is_wrong_stay_above_the_keyboard(drive, everywhere, tablet, share):
    glass = Glass(drive, everywhere, share=share, **tablet)
    hidden = []
    for page in PAGES:
        glass.open(everywhere.routes[page])
        route = glass.app.route
        for name in glass.names()[-2:]:
            hidden += [f"{page}: {one}" for one in glass.hidden(name)]
            glass.let_go()
            assert glass.app.route == route  # back let go of the keyboard, and of nothing else
            assert tuple(glass.app.manager.pos) == (0, 0)
            assert tuple(glass.app.manager.size) == tablet["size"]

    assert hidden == []


def test_the_words_to_tap_give_way_to_the_keyboard_and_come_back(drive, everywhere):
    glass = Glass(drive, everywhere, share=0.55, **LYING)
    glass.open(everywhere.routes["new-action"])
    offered = len(glass.hand.find("field-owner-choice").options)
    assert offered

    assert glass.hidden("field-owner-words") == []
    glass.hand.type("QE")
    assert not glass.hand.find("field-owner-choice").options
    glass.let_go()

    assert len(glass.hand.find("field-owner-choice").options) == offered
    assert glass.hand.find("field-owner-words").text.endswith("QE")


def test_nothing_moves_under_a_finger_that_taps_while_the_keyboard_goes(drive, everywhere):
    glass = Glass(drive, everywhere, share=0.55, **LYING)
    glass.open(everywhere.routes["new-action"])
    glass.hidden("field-owner-words")
    moved = glass.app.manager.y
    assert moved > 0

    finger = glass.hand.finger("record")
    finger.down()
    glass.hand.wait(0.5)
    assert glass.app.manager.y == moved
    finger.up()
    glass.hand.wait(0.4)
    assert glass.app.manager.y == 0


def test_a_number_needs_no_keyboard_on_the_glass(drive, everywhere):
    glass = Glass(drive, everywhere, share=0.55, **LYING)
    for page in ("measure", "count", "setting", "trial-run", "confirmation-turn", "judge"):
        glass.open(everywhere.routes[page])
        assert glass.names() == [], page
