"""Room on a page: nothing is pressed together; what needs more than the window has is scrolled to.

A box is never lower than what is in it, a view that scrolls keeps room for a few lines, and a page whose
parts need more height than the window has scrolls as a whole. So a page is right at every size, with
every font and in every language, and a page of its own needs to do nothing for it.
"""

from __future__ import annotations

from pathlib import Path

from kivy.lang import Builder
from kivy.metrics import dp
from kivy.uix.behaviors import ButtonBehavior, FocusBehavior
from kivy.uix.label import Label
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from walkapp.screens import look
from walkapp.screens.kit.scrolling import GloveScroll

LEAST_LINES = 2.4
"""Size of type by which the height of a view is at least so many times larger: two lines of the largest."""


def least_view(view: ScrollView, inside_px: float) -> float:
    """Give the least height of a view: a few lines, and the highest thing in it that is tapped.

    Parameters
    ----------
    view
        The view. One that lends a few widgets to many rows says in `highest_px` how high the highest is.
    inside_px
        Height of what it shows, which is enough where that is less. More than half of the window is never
        asked for, since of a row with a very long text a part is enough.
    """
    from kivy.core.window import Window  # late: importing it opens the window

    inside = list(view.walk(restrict=True))
    tapped = (one.height for one in inside if isinstance(one, (ButtonBehavior, FocusBehavior)))
    highest = min(max((*tapped, getattr(view, "highest_px", 0))), Window.height / 2)
    lines = LEAST_LINES * max((one.font_size for one in inside if isinstance(one, Label)), default=0)
    return min(inside_px, max(look.target(), highest, lines))


class Gone:
    """What takes no finger while it cannot be seen; Kivy passes one on to it all the same."""

    def on_touch_down(self, touch) -> bool:
        """Leave the finger to what can be seen."""
        return bool(self.opacity) and super().on_touch_down(touch)


class Whole(GloveScroll, ScrollView):
    """All of a page: as high as the window, or scrolled where its parts need more than that.

    Where everything fits, it passes fingers on as any box does, with no delay.
    """

    def __init__(self, **kwargs) -> None:
        super().__init__(do_scroll_x=False, **kwargs)
        self.bar_width = dp(6)
        self.bar_color = self.bar_inactive_color = look.THEME.edge
        self.fbind("height", self._fit)

    def add_widget(self, widget, *args, **kwargs) -> None:
        """Take the parts of the page."""
        widget.size_hint_y = None
        widget.fbind("minimum_height", self._fit)
        super().add_widget(widget, *args, **kwargs)
        self._fit()

    def remove_widget(self, widget, *args, **kwargs) -> None:
        """Let them go."""
        widget.funbind("minimum_height", self._fit)
        super().remove_widget(widget, *args, **kwargs)

    def _fit(self, *_: object) -> None:
        for inside in self.children:
            inside.height = max(inside.minimum_height, self.height)

    def on_touch_down(self, touch) -> bool:
        """Take the finger for scrolling only where there is more than is shown."""
        return super().on_touch_down(touch) if self.do_scroll_y else self._pass_on("down", touch)

    def on_touch_move(self, touch) -> bool:
        """Follow the finger that came down."""
        return super().on_touch_move(touch) if self._is_mine(touch) else self._pass_on("move", touch)

    def on_touch_up(self, touch) -> bool:
        """Let go of it."""
        return super().on_touch_up(touch) if self._is_mine(touch) else self._pass_on("up", touch)

    def _is_mine(self, touch) -> bool:
        return self._get_uid() in touch.ud or self._get_uid("svavoid") in touch.ud or self._touch is touch

    def _pass_on(self, what: str, touch) -> bool:
        touch.push()
        touch.apply_transform_2d(self.to_local)
        taken = getattr(Widget, f"on_touch_{what}")(self, touch)
        touch.pop()
        return taken


# Not with `load_kv`: pages, which have that, are built on this.
Builder.load_file(str(Path(__file__).with_suffix(".kv")))
