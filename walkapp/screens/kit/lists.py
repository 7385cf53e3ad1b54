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
from walkapp.screens.kit import bars  # noqa: F401  the kv file uses its widgets
from walkapp.screens.kit.buttons import Tappable
from walkapp.screens.kit.fingers import Moment
from walkapp.screens.kit.scrolling import GloveScroll
from walkapp.screens.kit.words import TypeMeasure
from walkapp.screens.page import children_for, load_kv

ROW_PADDING_DP = 12
MARK_DP = 32
SIDE_DP = 24
"""Sides of a row's mark and of the sign that it leads onward."""

CELLS_EM = 30
"""A line of a table is folded where it is narrower than so many times the size of its type."""


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

    def on_row_id(self, *_: object) -> None:
        """The list has lent this widget to another row: a finger that is on it did not mean that one."""
        self.changed = Moment.now()

    def on_tap(self) -> None:
        """Tell the list."""
        self.list_of().dispatch("on_row", self.row_id)


class StackRow(Row):
    """A row of a short list; as high as its text needs."""

    def list_of(self) -> Stack:
        """Give the list."""
        return self.parent


class ListedRow(Row):
    """A row of a scrolling list."""

    def list_of(self) -> Rows:
        """Give the list."""
        return self.parent.recycleview


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


class Rows(GloveScroll, RecycleView):
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
        self.highest_px = 0.0
        super().__init__(**kwargs)
        self.fbind("rows", self._refill_soon)
        self.fbind("width", self._refill_soon)
        self._refill_soon()

    def _refill(self, _dt: float) -> None:
        titles = TypeMeasure(look.font("body"), bold=True)
        subtitles = TypeMeasure(look.font("small"))
        heights = [self._height_px(row, titles, subtitles) for row in self.rows]
        self.highest_px = max(heights, default=0.0)
        self.data = [
            {**row_data(row), "height": height} for row, height in zip(self.rows, heights, strict=True)
        ]

    def span_of(self, index: int) -> tuple[float, float, float]:
        """Give how far below the beginning a row stands, its height, and the height of all, in pixels."""
        heights = [row["height"] for row in self.data]
        spacing = self.layout_manager.spacing
        whole = sum(heights) + max(0, len(heights) - 1) * spacing
        return sum(heights[:index]) + index * spacing, heights[index], whole

    def _height_px(self, row, titles: TypeMeasure, subtitles: TypeMeasure) -> float:
        beside = look.space("apart")  # of the bar
        room = self.width - beside - dp(MARK_DP + SIDE_DP + 4 * ROW_PADDING_DP + 2)
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


class Cells(BoxLayout):
    """The cells of a line of a table beside each other; the first above the others where type is too large.

    Its children are the first cell and a box of all others, both as high as they need.

    Parameters
    ----------
    others
        Width of the others beside the first, as a multiple of its width.
    least_px
        Width that the first is given at least, so that its longest word is whole; the same for all lines of
        a table.
    """

    others = NumericProperty(1)
    least_px = NumericProperty(0)

    def __init__(self, **kwargs) -> None:
        super().__init__(**kwargs)
        for name in ("width", "children", "others", "least_px"):
            self.fbind(name, self._arrange)

    def _arrange(self, *_: object) -> None:
        is_wide = self.width >= max(CELLS_EM * look.font("body"), 3 * self.least_px)
        self.orientation = "horizontal" if is_wide else "vertical"
        if len(self.children) == 2:
            self.children[0].size_hint_x = self.others if is_wide else 1
            self.children[1].size_hint_min_x = self.least_px if is_wide else None


def row_data(row) -> dict[str, object]:
    """Turn a row into what its widget shows: every property, since widgets are lent on."""
    return {
        "row_id": row.id,
        "title": row.title,
        "subtitle": row.subtitle,
        "mark": row.mark,
        "disabled": not row.id,
        "theme": look.THEME,  # a widget that is lent may have been drawn in another one
        "test_name": f"row-{row.id}",
    }


load_kv(__file__)
