"""A keyboard on the glass, for tests: it is as high as they say, whenever something is typed into."""

from __future__ import annotations

from tests.screens.layout_check import clipped
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.errors import InputError
from walkapp.screens.kit.fields import LabelledField
from walkapp.screens.stops import stops_of

LYING = {"size": (1024, 600), "density": 1.0}
STANDING = {"size": (800, 1280), "density": 1.33}


class Glass:
    """A window whose keyboard covers a part of it while something is typed into.

    Parameters
    ----------
    drive
        Starts an app in the window.
    everywhere
        The demo's desk and its places.
    share
        How much of the window the keyboard covers, 0 to 1.
    tablet
        Size of the window in pixels, and its density.
    """

    def __init__(self, drive, everywhere, *, share: float, tablet) -> None:
        self.app = window_app(
            everywhere.tablet.place, everywhere.folder / "camera", bundles=everywhere.folder / "bundles"
        )
        self.hand = drive(self.app, **tablet)
        self.height = tablet["size"][1]
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
        shown = (w for w in self.hand.widgets() if getattr(w, "test_name", "") == "problem" and w.height)
        if (problem := next(shown, None)) is None:
            return [f"{name}: what is wrong is not told"]
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
