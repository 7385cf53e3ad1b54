"""Pictures under one glass: zoomed and moved together with fingers, so that they can be compared."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.graphics import Color, Line, Rectangle
from kivy.properties import (
    BooleanProperty,
    ListProperty,
    NumericProperty,
    ObjectProperty,
    OptionProperty,
    StringProperty,
)
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from walkapp.presenters.lens import STEP, Lens, common_scale, drawn_size
from walkapp.screens import look
from walkapp.screens.kit.words import column_px
from walkapp.screens.page import children_for, load_kv

MOST_FINGERS = 2

NEAREST_PX = 24
"""Fingers that are closer than this do not pinch: their distance is mostly wobble."""


class PicturePane(Widget):
    """One picture, or the part of it that the lens shows.

    Parameters
    ----------
    texture
        The picture; none while it is not there.
    """

    texture = ObjectProperty(None, allownone=True)

    def draw(self, part) -> None:
        """Draw a part of the picture; a thin frame shows where the pane is."""
        self.canvas.clear()
        left, bottom = round(self.x), round(self.y)
        width, height = round(self.width), round(self.height)
        with self.canvas:
            Color(*look.THEME.edge)
            Line(rectangle=(left, bottom, width, height), width=1)
            if self.texture is None or part is None:
                return
            Color(1, 1, 1, 1)
            (s, t), (s_size, t_size) = self.texture.uvpos, self.texture.uvsize
            # Textures count from the lower edge, parts from the upper one.
            low, high = 1 - part.v - part.v_height, 1 - part.v
            begin, end = s + part.u * s_size, s + (part.u + part.u_width) * s_size
            bottom_t, top_t = t + low * t_size, t + high * t_size
            Rectangle(
                texture=self.texture,
                pos=(left + part.left, bottom + height - part.top - part.height),
                size=(part.width, part.height),
                tex_coords=(begin, bottom_t, end, bottom_t, end, top_t, begin, top_t),
            )


class PaneBox(BoxLayout):
    """A pane with shape and word above it.

    Parameters
    ----------
    pane
        What it shows (:class:`walkapp.presenters.look_at.Pane`); none while it is not known.
    word
        What stands in place of the picture; empty when it is there.
    has_head_beside
        Whether shape and word stand beside the pane instead of above it.
    longest_px
        Width of the longest word of all panes, so that they begin below each other.
    """

    pane = ObjectProperty(None, allownone=True, rebind=True)
    word = StringProperty("")
    has_head_beside = BooleanProperty(False)
    longest_px = NumericProperty(0)
    test_name = StringProperty("")

    @property
    def picture(self) -> PicturePane:
        """Where the picture is drawn."""
        return self.ids.picture


class Glass(BoxLayout):
    """Panes that are zoomed by two fingers, moved by one, and turned over by a swipe.

    Parameters
    ----------
    panes
        What to show.
    lens
        Which part of the pictures is seen.
    way
        ``beside``, ``above`` or ``one``: how several panes stand.
    shown
        Name of the pane that is seen when they are shown one at a time.
    moves_alone
        Whether a finger moves the picture under it alone.

    Events
    ------
    on_swipe(by)
        A finger wiped across whole pictures: 1 for the next one, -1 for the one before.
    """

    panes = ListProperty([])
    lens = ObjectProperty(Lens())
    way = OptionProperty("beside", options=["beside", "above", "one"])
    shown = StringProperty("this")
    moves_alone = BooleanProperty(False)
    test_name = StringProperty("")

    __events__ = ("on_swipe",)

    def __init__(self, **more) -> None:
        self._redraw_soon = Clock.create_trigger(self._redraw, -1)
        self._fingers: dict = {}
        self._pictures: dict = {}
        self._began_whole = False
        self._was_pinched = False
        super().__init__(**more)
        for name in ("lens", "pos", "size"):
            self.fbind(name, self._redraw_soon)
        for name in ("panes", "way", "shown"):
            self.fbind(name, self._refill)

    def boxes(self) -> list[PaneBox]:
        """Give the boxes of the panes that are seen, in their order."""
        return self.children[::-1]

    def put(self, name: str, texture, word: str) -> None:
        """Show a picture in a pane, or a word in place of it."""
        self._pictures[name] = texture, word
        self._hang()

    def clear(self) -> None:
        """Hold no picture any more; the page is left."""
        self._pictures.clear()
        for box in self.boxes():
            box.picture.texture, box.word = None, ""
            box.picture.canvas.clear()
        self._redraw_soon.cancel()

    def zoom(self, factor: float) -> None:
        """Zoom in or out around the middle."""
        self.lens = self.lens.zoomed(factor)

    def on_swipe(self, _by: int) -> None:
        """A finger wiped across; the page binds to this."""

    def _refill(self, *_) -> None:
        shown = [pane for pane in self.panes if self.way != "one" or pane.name == self.shown]
        if self.way == "one" and not shown:
            shown = self.panes[:1]
        self.orientation = "vertical" if self.way == "above" else "horizontal"
        longest = column_px(f"{pane.word}, {pane.place}" for pane in shown)
        for box, pane in zip(children_for(self, shown, self._make_box), shown, strict=True):
            box.pane, box.test_name = pane, f"pane-{pane.name}"
            box.has_head_beside = self.way == "above" and bool(pane.word)
            box.longest_px = longest
        self._hang()

    def _hang(self) -> None:
        for box in self.boxes():
            box.picture.texture, box.word = self._pictures.get(box.pane.name, (None, ""))
        self._redraw_soon()

    def _make_box(self) -> PaneBox:
        box = PaneBox()
        box.picture.bind(pos=self._redraw_soon, size=self._redraw_soon)
        return box

    def _scale(self) -> float:
        """Give the scale with which each picture fits its pane, those that are not shown now too."""
        sizes = {box.pane.name: box.picture.size for box in self.boxes()}
        any_size = next(iter(sizes.values()), (1, 1))
        textures = {pane.name: self._pictures.get(pane.name, (None, ""))[0] for pane in self.panes}
        return common_scale(
            [(texture.size, sizes.get(name, any_size)) for name, texture in textures.items() if texture]
        )

    def _redraw(self, _dt: float) -> None:
        scale = self._scale()
        for box in self.boxes():
            picture = box.picture
            part = None
            if picture.texture is not None and picture.width >= 1 and picture.height >= 1:
                part = self.lens.part(box.pane.name, picture.texture.size, picture.size, scale)
            picture.draw(part)

    # fingers

    def on_touch_down(self, touch) -> bool:
        """Take up to two fingers on the panes; the wheel of a mouse zooms."""
        box = self._box_at(touch.pos)
        if box is None:
            return super().on_touch_down(touch)
        if getattr(touch, "is_mouse_scrolling", False):
            self._zoom_at(box, STEP if touch.button == "scrolldown" else 1 / STEP, touch.pos)
            return True
        if len(self._fingers) < MOST_FINGERS:
            if not self._fingers:
                self._began_whole, self._was_pinched = self.lens.is_whole, False
            self._fingers[touch.uid] = (touch.pos, box)
            self._was_pinched |= len(self._fingers) > 1
            touch.grab(self)
        return True

    def on_touch_move(self, touch) -> bool:
        """Move what is under one finger; zoom and move between two."""
        if touch.grab_current is not self or touch.uid not in self._fingers:
            return super().on_touch_move(touch)
        before, box = self._fingers[touch.uid]
        others = [pos for uid, (pos, _) in self._fingers.items() if uid != touch.uid]
        self._fingers[touch.uid] = (touch.pos, box)
        if others:
            (other,) = others
            was, now = _distance(before, other), _distance(touch.pos, other)
            if was > NEAREST_PX and now > NEAREST_PX:
                self._zoom_at(box, now / was, _middle(before, other))
            self._move(box, (touch.x - before[0]) / 2, (touch.y - before[1]) / 2)
        else:
            self._move(box, touch.x - before[0], touch.y - before[1])
        return True

    def on_touch_up(self, touch) -> bool:
        """Let go; one finger that wiped far across whole pictures turns them over."""
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        touch.ungrab(self)
        self._fingers.pop(touch.uid, None)
        across, along = touch.x - touch.ox, abs(touch.y - touch.oy)
        is_wiped = abs(across) >= look.target() and abs(across) > 2 * along
        if is_wiped and self._began_whole and not self._was_pinched:
            self.dispatch("on_swipe", -1 if across > 0 else 1)
        return True

    def _box_at(self, pos) -> PaneBox | None:
        return next((box for box in self.boxes() if box.picture.collide_point(*pos)), None)

    def _drawn(self, box: PaneBox) -> tuple[float, float]:
        return drawn_size(box.picture.texture.size, self._scale() * self.lens.zoom)

    def _zoom_at(self, box: PaneBox, factor: float, pos) -> None:
        at = (0.0, 0.0)
        if box.picture.texture is not None:
            width, height = self._drawn(box)
            at = ((pos[0] - box.picture.center_x) / width, (box.picture.center_y - pos[1]) / height)
        self.lens = self.lens.zoomed(factor, at)

    def _move(self, box: PaneBox, right: float, up: float) -> None:
        if self.lens.is_whole or box.picture.texture is None:
            return
        drawn, pane = self._drawn(box), box.picture.size
        self.lens = self.lens.moved(box.pane.name, (right, -up), drawn, pane, alone=self.moves_alone)


def _distance(one, other) -> float:
    return float(((one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2) ** 0.5)


def _middle(one, other) -> tuple[float, float]:
    return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2


load_kv(__file__)
