"""Numbers: the pad, the tolerance drawn while typing, and steppers for counts."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.graphics import Color, Line, Rectangle, SmoothTriangle
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.widget import Widget

from walkapp.language import decimal_text, msg, tr
from walkapp.screens import look
from walkapp.screens.kit.buttons import TapButton
from walkapp.screens.kit.fingers import BOUNCE_S
from walkapp.screens.kit.words import SeenLabel, TypeMeasure
from walkapp.screens.page import load_kv

DIGIT_GUARD_S = 0.08
"""The same digit twice is often meant; only what is faster than any finger is a bounce."""

STEP_GUARD_S = 0.25
"""One step more is a part more: a bounce would be a part that nobody has looked at. Who counts faster than
three parts a second types the number."""

POINTER_DP = 26
"""Width of the pointer at a value; the scale leaves half of it free at both ends."""

KEY_LABELS = {
    ".": ".",
    "back": msg("Delete"),
    "clear": msg("Clear"),
    "enter": msg("Enter"),
    "-": "−",
    "set_aside": msg("N/A"),
    "close": msg("Close"),
}
TYPED_KEYS = frozenset((*"0123456789", ".", "back"))
"""Keys that are typed quickly. A minus that bounces would turn the sign back."""

KEY_NAMES = {".": "point", "-": "minus"}

WIDE_KEYS = (
    ("1", "2", "3", "4", "5", "-", "back", "clear"),
    ("6", "7", "8", "9", "0", ".", "set_aside", "enter"),
)
TALL_KEYS = (
    ("1", "2", "3", "back"),
    ("4", "5", "6", "clear"),
    ("7", "8", "9", "-"),
    (".", "0", "set_aside", "enter"),
)
"""Keys row by row; the last key of a row is as wide as what is left of the row."""


class Key(TapButton):
    """One key of the pad."""

    key = StringProperty("")

    def on_tap(self) -> None:
        """Tell the pad."""
        self.parent.dispatch("on_key", self.key)


class KeyField(FloatLayout):
    """The keys, placed on a grid of whole pixels; wide and low in a low window.

    Parameters
    ----------
    whole, has_minus, has_set_aside, has_close, unit_key
        Which keys there are, as in :class:`NumberPad`.

    Events
    ------
    on_key(key)
        A key was pressed.
    """

    whole = BooleanProperty(False)
    has_minus = BooleanProperty(True)
    has_set_aside = BooleanProperty(False)
    has_close = BooleanProperty(False)
    unit_key = StringProperty("")

    __events__ = ("on_key",)

    def __init__(self, **kwargs) -> None:
        self._place_soon = Clock.create_trigger(self._place, -1)
        super().__init__(**kwargs)
        for name in ("pos", "width", "whole", "has_minus", "has_set_aside", "has_close", "unit_key"):
            self.fbind(name, self._place_soon)
        self._place_soon()

    def _shown(self, rows: tuple[tuple[str, ...], ...]) -> tuple[tuple[str, ...], ...]:
        """Give the rows with the keys that there are; the place of one that is left out stays free."""
        instead = {"clear": "unit"} if self.unit_key else {}
        if self.has_close:
            instead["-"] = "close"
        return tuple(
            tuple(instead.get(key, key) for key in row if key != "set_aside" or self.has_set_aside)
            for row in rows
        )

    def _place(self, _dt: float) -> None:
        tall, wide = self._shown(TALL_KEYS), self._shown(WIDE_KEYS)
        left_out = {".", "-"} if self.whole else set() if self.has_minus else {"-"}
        keys = {child.key: child for child in self.children}
        wanted = {key for row in tall for key in row} - left_out
        for key in keys.keys() - wanted:
            self.remove_widget(keys.pop(key))
        for key in sorted(wanted - keys.keys()):
            keys[key] = self._make_key(key)
            self.add_widget(keys[key])
        if "unit" in keys:
            keys["unit"].text = self.unit_key
        # What the narrower of the two needs; asking for the wider one would keep it once it was there.
        self.size_hint_min_x = _needed_px(_least_widths(tall, keys))
        is_wide = look.is_low() and self.width >= _needed_px(_least_widths(wide, keys))
        rows = wide if is_wide else tall
        widths = self._widths(_least_widths(rows, keys))
        high = max(look.target(), *(key.needed_px for key in keys.values()))
        self.height = len(rows) * (high + look.gap()) - look.gap()
        for line, row in enumerate(rows):
            for column, key in enumerate(row):
                if key not in keys:
                    continue
                before = sum(widths[:column]) + column * look.gap()
                key_px = self.width - before if key == row[-1] else widths[column]
                keys[key].pos = (
                    round(self.x + before),
                    round(self.top - line * (high + look.gap()) - high),
                )
                keys[key].size = (int(key_px), high)

    def _widths(self, least: list[float]) -> list[float]:
        """Share the width among the columns: evenly, or so that each has what it needs."""
        even = (self.width + look.gap()) / len(least) - look.gap()
        if even >= max(least):
            return [even] * len(least)
        more = max(self.width - _needed_px(least), 0) / len(least)
        return [one + more for one in least]

    def _make_key(self, key: str) -> Key:
        label = decimal_text(tr(KEY_LABELS.get(key, key)))
        made = Key(
            key=key,
            text=label,
            size_hint=(None, None),
            tone="strong" if key == "enter" else "plain",
            size_name="big" if len(label) == 1 else "body",
            is_typed=key in TYPED_KEYS,
            guard_s=DIGIT_GUARD_S if key in TYPED_KEYS else BOUNCE_S,
            test_name=f"key-{KEY_NAMES.get(key, key)}",
        )
        made.fbind("needed_px", self._place_soon)
        made.fbind("text", self._place_soon)
        return made

    def on_key(self, key: str) -> None:
        """A key was pressed; the pad binds to this."""


def _least_widths(rows: tuple[tuple[str, ...], ...], keys: dict[str, Key]) -> list[float]:
    """Give the least width of each column: a target's, or that of the longest word in it."""
    columns = max(map(len, rows))
    least = [look.target()] * columns
    for row in rows:
        for column, key in enumerate(row):
            # The last key of a shorter row is wider than its column.
            if key in keys and (key != row[-1] or len(row) == columns):
                least[column] = max(least[column], keys[key].word_px())
    return least


def _needed_px(widths: list[float]) -> float:
    return sum(widths) + (len(widths) - 1) * look.gap()


class NumberPad(BoxLayout):
    """A pad of big keys under the number typed so far. It only tells of keys; what they do is up to
    the presenter.

    Parameters
    ----------
    text_value
        The number typed so far.
    unit
        Its unit.
    whole
        Whether point and sign are left out.
    has_minus
        Whether there is a key for the sign.
    has_set_aside
        Whether there is a key to say that the check does not apply.
    has_close
        Whether there is a key to leave the pad, in the place of the sign.
    unit_key
        Text of a key for the parallel unit, in place of "Clear"; empty for no such key.
    show_value
        Whether the number is shown above the keys.

    Events
    ------
    on_key(key)
        A key as :func:`walkapp.presenters.pad.press` knows it, ``set_aside``, ``close`` or ``unit``.
    """

    text_value = StringProperty("")
    unit = StringProperty("")
    whole = BooleanProperty(False)
    has_minus = BooleanProperty(True)
    has_set_aside = BooleanProperty(False)
    has_close = BooleanProperty(False)
    unit_key = StringProperty("")
    show_value = BooleanProperty(True)
    test_name = StringProperty("pad")

    __events__ = ("on_key",)

    def on_key(self, key: str) -> None:
        """A key was pressed; those who use the pad bind to this."""


class Readout(SeenLabel):
    """A number with its unit on one line; its type gets smaller until it fits, and the keys stay put."""

    def __init__(self, **kwargs) -> None:
        self._fit_soon = Clock.create_trigger(self._fit, -1)
        super().__init__(font_size=look.font("big"), **kwargs)
        for name in ("text", "width"):
            self.fbind(name, self._fit_soon)

    def _fit(self, _dt: float) -> None:
        big, room = look.font("big"), self.width - dp(28) - 2  # Kivy breaks a line that fills its room
        width = TypeMeasure(big, bold=True).width_px(self.text)
        self.font_size = big if width <= room else max(big * room / width, look.font("small"))


class ToleranceScale(Widget):
    """The tolerance as a band with the value's pointer; shape and place say the same as the words."""

    view = ObjectProperty(None, allownone=True)

    def __init__(self, **kwargs) -> None:
        self._redraw = Clock.create_trigger(self._draw, -1)
        super().__init__(**kwargs)
        self.bind(pos=self._redraw, size=self._redraw, view=self._redraw)
        self._redraw()

    def _draw(self, _dt: float) -> None:
        self.canvas.clear()
        view = self.view
        if view is None or (view.lsl_at is None and view.usl_at is None):
            return
        bottom, height = round(self.y), dp(22)
        low = self._x(0.0 if view.lsl_at is None else view.lsl_at)
        high = self._x(1.0 if view.usl_at is None else view.usl_at)
        with self.canvas:
            self._draw_outside(self._x(0), low, bottom, height)
            self._draw_outside(high, self._x(1), bottom, height)
            Color(*look.THEME.clean.paper)
            Rectangle(pos=(low, bottom), size=(high - low, height))
            Color(*look.THEME.ground.ink)
            Line(rectangle=(self._x(0), bottom, self._x(1) - self._x(0), height), width=look.line())
            for place in (view.lsl_at, view.usl_at):
                if place is not None:
                    Rectangle(pos=(self._x(place) - dp(2), bottom - dp(4)), size=(dp(4), height + dp(8)))
            if view.nominal_at is not None:
                Rectangle(pos=(self._x(view.nominal_at) - dp(1), bottom), size=(dp(2), height))
            if view.value_at is not None:
                self._draw_pointer(view, bottom, height)

    def _draw_pointer(self, view, bottom: float, height: float) -> None:
        Color(*look.verdict_ink(view.mark))
        x, tip = self._x(view.value_at), bottom + height * 0.35
        half, top = dp(POINTER_DP) / 2, self.top
        if view.is_off_scale:  # points off the scale instead of into it
            ahead = dp(24) if view.value_at > 0.5 else -dp(24)
            x -= ahead
            middle = (tip + top) / 2
            SmoothTriangle(points=(x, middle - half, x, middle + half, x + ahead, middle))
        else:
            SmoothTriangle(points=(x - half, top, x + half, top, x, tip))

    def _draw_outside(self, left: float, right: float, bottom: float, height: float) -> None:
        Color(*look.THEME.bad.paper)
        Rectangle(pos=(left, bottom), size=(right - left, height))
        Color(*look.THEME.bad.ink)
        x = left + dp(4)
        while x + dp(8) < right:
            Line(points=(x, bottom + dp(4), x + dp(8), bottom + height - dp(4)), width=look.line())
            x += dp(10)

    def _x(self, place: float) -> float:
        half = dp(POINTER_DP) / 2
        return round(self.x + half + place * (self.width - 2 * half))


class ToleranceBar(BoxLayout):
    """A value against its limits, drawn and in words; gone while there is nothing to draw.

    Parameters
    ----------
    view
        A :class:`~walkapp.presenters.pad.ToleranceView`, or none.
    """

    view = ObjectProperty(None, allownone=True, rebind=True)
    value = StringProperty("")
    words = StringProperty("")
    mark = StringProperty("")
    lsl = StringProperty("")
    usl = StringProperty("")
    nominal = StringProperty("")
    test_name = StringProperty("tolerance")

    def on_view(self, _bar, view) -> None:
        """Take the texts over; the scale draws the rest."""
        for name in ("value", "words", "mark", "lsl", "usl", "nominal"):
            setattr(self, name, getattr(view, name) if view is not None else "")

    def place(self, which: str, room_px: float, width_px: float) -> float:
        """Give where a limit's label starts, so that it stands under its limit and in the bar."""
        half = dp(POINTER_DP) / 2
        middle = half + getattr(self.view, which) * (room_px - 2 * half)
        return round(min(max(middle - width_px / 2, 0), room_px - width_px))


class Stepper(BoxLayout):
    """A count with a minus and a plus; a tap on the number itself opens the pad.

    Parameters
    ----------
    label
        What is counted.
    value
        The count.

    Events
    ------
    on_step(by)
        Minus (-1) or plus (+1) was tapped.
    on_pad
        The number was tapped.
    """

    label = StringProperty("")
    value = NumericProperty(0)
    test_name = StringProperty("")

    __events__ = ("on_step", "on_pad")

    def on_step(self, by: int) -> None:
        """Minus or plus was tapped; those who use the stepper bind to this."""

    def on_pad(self) -> None:
        """The number was tapped; those who use the stepper bind to this."""


load_kv(__file__)
