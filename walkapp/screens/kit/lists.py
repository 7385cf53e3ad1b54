"""Lists of rows: a long one that scrolls, and a short one that is part of a page.

A row is anything with ``id``, ``title``, ``subtitle`` and ``mark``. What a row shows is kept in the
list's data, never in the widget alone: a scrolling list lends the same few widgets to all its rows.
"""

from __future__ import annotations

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import ListProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.recycleview import RecycleView

from walkapp.screens import look
from walkapp.screens.kit.buttons import Tappable
from walkapp.screens.kit.words import TypeMeasure
from walkapp.screens.page import children_for, load_kv

ROW_PADDING_DP = 12
MARK_DP = 32
SIDE_DP = 24
"""Sides of a row's mark and of the sign that it leads onward."""


class Row(Tappable):
    """Two lines of text with a shape in front, leading somewhere when tapped.

    Parameters
    ----------
    row_id
        What it stands for; a row without one cannot be tapped.
    title, subtitle
        The lines.
    mark
        Shape of its state; empty for none.
    words_px
        Height of the lines; set by the kv file.
    """

    row_id = StringProperty("")
    title = StringProperty("")
    subtitle = StringProperty("")
    mark = StringProperty("")
    words_px = NumericProperty(0)


class StackRow(Row):
    """A row of a short list; as high as its text needs."""

    def on_tap(self) -> None:
        """Tell the list."""
        self.parent.dispatch("on_row", self.row_id)


class ListedRow(Row):
    """A row of a scrolling list."""

    def on_press(self) -> None:
        """Remember what the finger came down on; the list may lend this widget to another row."""
        self._pressed_id = self.row_id

    def on_tap(self) -> None:
        """Tell the list."""
        if self.row_id == self._pressed_id:
            self.parent.recycleview.dispatch("on_row", self.row_id)


class Stack(BoxLayout):
    """A short list, at most a few dozen rows.

    Parameters
    ----------
    rows
        What to show.
    tone
        Tone of the rows.

    Events
    ------
    on_row(id)
        A row was tapped.
    """

    rows = ListProperty([])
    tone = StringProperty("plain")
    test_name = StringProperty("")

    __events__ = ("on_row",)

    def __init__(self, **kwargs) -> None:
        super().__init__(**kwargs)
        self.fbind("rows", self._refill)
        self._refill(self, self.rows)

    def _refill(self, _stack, rows) -> None:
        """Refill the rows."""
        for widget, row in zip(children_for(self, rows, StackRow), rows, strict=True):
            widget.tone = self.tone
            for name, value in row_data(row).items():
                setattr(widget, name, value)

    def on_row(self, row_id: str) -> None:
        """A row was tapped; those who use the list bind to this."""


class Rows(RecycleView):
    """A list of any length that scrolls.

    Parameters
    ----------
    rows
        What to show.

    Events
    ------
    on_row(id)
        A row was tapped.
    """

    rows = ListProperty([])
    test_name = StringProperty("")

    __events__ = ("on_row",)

    def __init__(self, **kwargs) -> None:
        self._refill_soon = Clock.create_trigger(self._refill, -1)
        super().__init__(**kwargs)
        self.fbind("rows", self._refill_soon)
        self.fbind("width", self._refill_soon)
        self._refill_soon()

    def _refill(self, _dt: float) -> None:
        titles = TypeMeasure(look.font("body"), bold=True)
        subtitles = TypeMeasure(look.font("small"))
        self.data = [
            {**row_data(row), "height": self._height_px(row, titles, subtitles)} for row in self.rows
        ]

    def span_of(self, index: int) -> tuple[float, float, float]:
        """Give how far below the beginning a row stands, its height, and the height of all, in pixels."""
        heights = [row["height"] for row in self.data]
        spacing = self.layout_manager.spacing
        whole = sum(heights) + max(0, len(heights) - 1) * spacing
        return sum(heights[:index]) + index * spacing, heights[index], whole

    def _height_px(self, row, titles: TypeMeasure, subtitles: TypeMeasure) -> float:
        room = self.width - dp(MARK_DP + SIDE_DP + 4 * ROW_PADDING_DP + 2)
        text = titles.height_px(row.title, room) + subtitles.height_px(row.subtitle, room)
        return max(look.target(), text + dp(2 * ROW_PADDING_DP))

    def on_row(self, row_id: str) -> None:
        """A row was tapped; those who use the list bind to this."""


class Lines(BoxLayout):
    """Rows under each other, each with its line.

    Parameters
    ----------
    rows
        What to show.
    """

    rows = ListProperty([])
    test_name = StringProperty("")

    line_class = BoxLayout
    """Class of a line; has ``row``."""

    def on_rows(self, _lines, rows) -> None:
        """Refill the lines."""
        for line, row in zip(children_for(self, rows, self.line_class), rows, strict=True):
            line.row = row


def row_data(row) -> dict[str, object]:
    """Turn a row into what its widget shows: every property, since widgets are lent on."""
    return {
        "row_id": row.id,
        "title": row.title,
        "subtitle": row.subtitle,
        "mark": row.mark,
        "disabled": not row.id,
        "test_name": f"row-{row.id}",
    }


load_kv(__file__)
