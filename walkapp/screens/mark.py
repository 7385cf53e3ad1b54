"""The page of one picture: a finger draws marks over it, beside or above the tools."""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot

from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, InstructionGroup, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from walkapp.presenters.drawn import DARK_INK, LIGHT_INK, MarkView, thickness
from walkapp.presenters.mark_tools import MarkState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.fingers import BOUNCE_S, NEVER, Moment
from walkapp.screens.page import Page, load_kv
from walkapp.screens.picture_pad import PicturePad, has_moved
from walkapp.screens.widgets import ToolButton

DARK, LIGHT = ((*(part / 255 for part in ink), 1.0) for ink in (DARK_INK, LIGHT_INK))

MOST_IN_LINE = 100
"""Points of one line on the canvas: a longer one that grows gets slow."""

MOST_IN_TRAIL = 5000
"""Points of a freehand line while it is drawn; a minute and a half of a finger that never rests."""

MOST_WRITTEN = 200
"""Words that are held ready as textures."""

MAGNIFIED = 2.5
"""The glass that shows what is under the finger is so many times larger than the picture."""


class MarkPad(PicturePad):
    """A picture with its marks, on which a finger draws more.

    While a finger moves, a corner shows enlarged what is under it, since a glove hides it. A tap that
    follows a finger too soon is its bounce.

    Parameters
    ----------
    marks
        What is drawn and on disk.
    pending
        What is being put on disk: shown thin.
    chosen
        Key of the mark with a frame; empty for none.
    is_freehand
        Whether the finger draws a line as it goes.
    page
        The page whose presenter hears of the finger.
    """

    marks = ListProperty()
    pending = ListProperty()
    chosen = StringProperty("")
    is_freehand = BooleanProperty(False)
    page = ObjectProperty(None, allownone=True)

    def __init__(self, **more) -> None:
        self._over = InstructionGroup()
        self._trail: list[tuple[float, float]] = []
        self._tails: list[Line] = []
        self._lifted = NEVER
        self._labels: dict[tuple[str, float], object] = {}
        self._dark, self._light = InstructionGroup(), InstructionGroup()
        super().__init__(**more)
        for name in ("marks", "pending", "chosen"):
            self.fbind(name, self._redraw)

    def finger_down(self, touch) -> None:
        """Begin a line, if the finger draws one as it goes."""
        self._trail = [touch.pos]
        self._far = 0.0

    def finger_moved(self, touch) -> None:
        """Show what would be kept if the finger were lifted here."""
        self._far = max(self._far, abs(touch.x - touch.ox), abs(touch.y - touch.oy))
        self._over.clear()
        if self.is_freehand:
            self._follow(touch.pos)
        elif has_moved(touch):
            view = self.page.presenter.sketch(self._shares([touch.opos, touch.pos]))
            if view is not None:
                self._draw_views(self._over, [view])
        self._show_glass(touch)

    def finger_lifted(self, touch) -> None:
        """Hand over what was drawn, or that the picture was tapped."""
        trail = self._trail
        self._over.clear()
        self._dark, self._light = InstructionGroup(), InstructionGroup()
        self._trail, self._tails = [], []
        presenter = self.page.presenter
        is_bounce = not self._lifted.is_past(BOUNCE_S)
        self._lifted = Moment.now()
        if self.is_freehand and self._far >= look.gap():
            presenter.draw(self._shares(trail))
        elif not self.is_freehand and has_moved(touch):
            presenter.draw(self._shares([touch.opos, touch.pos]))
        elif not is_bounce:
            left, _, right, _ = self.sides()
            presenter.tap(self.share(*touch.opos), look.target() / 2 / max(right - left, 1))

    def draw_over(self) -> None:
        """Draw the marks, what is being put on disk, and the frame of the chosen one."""
        self._draw_views(self.canvas, self.marks)
        self._draw_lines(self.canvas, self.pending, LIGHT, dp(2))
        self._draw_words(self.canvas, self.pending)
        chosen = next((view for view in self.marks if view.key == self.chosen), None)
        if chosen is not None:
            self._draw_frame(chosen)
        self.canvas.add(self._over)

    def _shares(self, places) -> tuple[tuple[float, float], ...]:
        return tuple(self.share(*place) for place in places)

    def _longest(self) -> float:
        left, bottom, right, top = self.sides()
        return max(right - left, top - bottom)

    def _draw_views(self, canvas, views: Iterable[MarkView]) -> None:
        for ink, width in zip((DARK, LIGHT), thickness(self._longest()), strict=True):
            self._draw_lines(canvas, views, ink, width)
        self._draw_words(canvas, views)

    def _draw_lines(self, canvas, views: Iterable[MarkView], ink, width: float) -> None:
        canvas.add(Color(*ink))
        for view in views:
            for line in view.lines:
                for start in range(0, max(len(line) - 1, 1), MOST_IN_LINE - 1):
                    part = line[start : start + MOST_IN_LINE]
                    points = [c for place in part for c in self.point(*place)]
                    canvas.add(Line(points=points, width=width / 2, cap="round", joint="round"))

    def _draw_words(self, canvas, views: Iterable[MarkView]) -> None:
        left, bottom, right, top = self.sides()
        for plate in (view.plate for view in views if view.plate is not None):
            x, y = self.point(plate.left, plate.bottom)
            far, high = self.point(plate.right, plate.top)
            canvas.add(Color(*DARK))
            canvas.add(Rectangle(pos=(x, y), size=(far - x, high - y)))
            texture = self._written(plate.words, plate.letters * (top - bottom))
            padding = plate.padding * (right - left)
            middle = (y + high - texture.height) / 2
            canvas.add(Color(1, 1, 1, 1))
            canvas.add(
                Rectangle(
                    pos=(x + padding, middle), size=(far - x - 2 * padding, texture.height), texture=texture
                )
            )

    def _written(self, words: str, font_px: float):
        """Write words once for each size, however often the picture is drawn anew."""
        if (words, font_px) not in self._labels:
            if len(self._labels) >= MOST_WRITTEN:
                self._labels.clear()
            label = CoreLabel(text=words, font_name=look.SIGNS_FONT, font_size=font_px, color=LIGHT)
            label.refresh()
            self._labels[words, font_px] = label.texture
        return self._labels[words, font_px]

    def _draw_frame(self, view: MarkView) -> None:
        """Draw a frame around a mark, with a margin."""
        places = [self.point(*place) for line in view.lines for place in line]
        if view.plate is not None:
            places += [
                self.point(view.plate.left, view.plate.top),
                self.point(view.plate.right, view.plate.bottom),
            ]
        xs, ys = [x for x, _ in places], [y for _, y in places]
        margin = dp(12)
        sides = (min(xs) - margin, min(ys) - margin, max(xs) + margin, max(ys) + margin)
        for ink, width in ((DARK, dp(3)), (LIGHT, dp(1.2))):
            self.canvas.add(Color(*ink))
            box = (sides[0], sides[1], sides[2] - sides[0], sides[3] - sides[1])
            self.canvas.add(Line(rectangle=box, width=width, joint="miter"))

    def _follow(self, place: tuple[float, float]) -> None:
        """Draw the freehand line on to where the finger is."""
        before = self._trail[-1]
        if hypot(place[0] - before[0], place[1] - before[1]) >= dp(2) and len(self._trail) < MOST_IN_TRAIL:
            self._trail.append(place)
            if not self._tails or len(self._trail) % (MOST_IN_LINE - 1) == 0:
                self._begin_tails(before)
            for tail in self._tails:
                tail.points = [*tail.points, *place]
        self._over.add(self._dark)
        self._over.add(self._light)

    def _begin_tails(self, place: tuple[float, float]) -> None:
        self._tails = []
        groups = ((self._dark, DARK), (self._light, LIGHT))
        for (group, ink), width in zip(groups, thickness(self._longest()), strict=True):
            tail = Line(points=place, width=width / 2, cap="round", joint="round")
            group.add(Color(*ink))
            group.add(tail)
            self._tails.append(tail)

    def _show_glass(self, touch) -> None:
        """Show enlarged what is under the finger, in the upper corner away from it."""
        left, bottom, right, top = self.sides()
        side = min(2 * look.target(), (right - left) / 2, top - bottom)
        seen = side / MAGNIFIED
        x = min(max(touch.x, left), right)
        y = min(max(touch.y, bottom), top)
        from_x = min(max(x - seen / 2, left), right - seen)
        from_y = min(max(y - seen / 2, bottom), top - seen)
        at = (left if touch.x > self.center_x else right - side, top - side)
        u0, v0, u1, _, _, v1, _, _ = self._texture.tex_coords
        near, far = ((share - left) / (right - left) for share in (from_x, from_x + seen))
        low, high = ((share - bottom) / (top - bottom) for share in (from_y, from_y + seen))
        us = (u0 + near * (u1 - u0), u0 + far * (u1 - u0))
        vs = (v0 + low * (v1 - v0), v0 + high * (v1 - v0))
        coords = (us[0], vs[0], us[1], vs[0], us[1], vs[1], us[0], vs[1])
        cross = (at[0] + (x - from_x) * MAGNIFIED, at[1] + (y - from_y) * MAGNIFIED)
        over = self._over
        over.add(Color(1, 1, 1, 1))
        over.add(Rectangle(pos=at, size=(side, side), texture=self._texture, tex_coords=coords))
        for ink, width in ((DARK, dp(2.5)), (LIGHT, dp(1))):
            over.add(Color(*ink))
            over.add(Line(rectangle=(*at, side, side), width=width, joint="miter"))
            for across, down in ((dp(16), 0), (0, dp(16))):
                ends = (cross[0] - across, cross[1] - down, cross[0] + across, cross[1] + down)
                over.add(Line(points=ends, width=width))


class MarkScreen(Page):
    """One picture, to look at and to draw over."""

    state = ObjectProperty(MarkState(), rebind=True)

    def on_kv_post(self, _page) -> None:
        """No buttons are there at first."""
        self._tools: tuple = ()

    def on_state(self, _page, state) -> None:
        """Build the buttons anew when they are others; keep them while only one is framed."""
        names = [(tool.name, tool.text) for tool in state.tools]
        if names != [(tool.name, tool.text) for tool in self._tools]:
            self.ids.tools.clear_widgets()
            for tool in state.tools:
                button = ToolButton(test_name=tool.name, text=tool.text)
                button.bind(on_tap=self._pressed)
                self.ids.tools.add_widget(button)
            self.ids.scroll.scroll_y = 1
        for button, tool in zip(reversed(self.ids.tools.children), state.tools, strict=True):
            button.shape, button.is_framed, button.disabled = tool.shape, tool.is_on, tool.is_off
        self._tools = state.tools

    def _pressed(self, button) -> None:
        self.presenter.press(button.test_name)


load_kv(__file__)
