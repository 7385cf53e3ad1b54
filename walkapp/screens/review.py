"""The review of a concern: a table of its stations within a board."""

from __future__ import annotations

from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.desk.review import ReviewRow, ReviewState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.board import BoardScreen
from walkapp.screens.kit.buttons import Tappable
from walkapp.screens.kit.words import Banner, column_px
from walkapp.screens.page import children_for, load_kv

WIDE_TARGETS = 11
"""From this width on, in targets for type as it comes, the cells of a row stand beside each other."""

BLANK_ROW = ReviewRow(
    station="", name="", verdict="", mark="not_visited", counts="", share="", origin="", evidence="",
    whole="", is_named=False,
)  # fmt: skip


class ReviewLine(Tappable):
    """One station of the table; a tap leads to what it stands on.

    Parameters
    ----------
    row
        What to show.
    is_wide
        Whether its cells stand beside each other.
    name_px
        Width of the longest word of all names.
    """

    row = ObjectProperty(BLANK_ROW, rebind=True)
    is_wide = BooleanProperty(True)
    name_px = NumericProperty(0)

    def on_tap(self) -> None:
        """Tell the table."""
        self.parent.parent.dispatch("on_station", self.row.station)


class ReviewTable(BoxLayout):
    """The stations of a concern in stream order.

    Parameters
    ----------
    rows
        One a station.

    Events
    ------
    on_station(id)
        A station was tapped.
    """

    rows = ListProperty([])
    is_wide = BooleanProperty(True)
    test_name = StringProperty("table")

    __events__ = ("on_station",)

    def on_rows(self, _table, rows) -> None:
        """Refill the lines."""
        name_px = column_px(row.name for row in rows)
        for line, row in zip(children_for(self.ids.lines, rows, ReviewLine), rows, strict=True):
            line.name_px = name_px
            line.row, line.test_name = row, f"station-{row.station}"
        self.on_width()

    def on_width(self, *_) -> None:
        """Stand the cells beside or below each other."""
        self.is_wide = self.width >= look.for_text(WIDE_TARGETS * look.target())
        for line in self.ids.lines.children if self.ids else ():
            line.is_wide = self.is_wide

    def on_station(self, station: str) -> None:
        """A station was tapped; those who use the table bind to this."""


class ReviewScreen(BoardScreen):
    """Where the defect starts, station by station."""

    state = ObjectProperty(ReviewState(), rebind=True)

    def on_kv_post(self, _page) -> None:
        """Put the table between what is said and what is taken for granted, the part above all."""
        self._part = Banner(kind="notice", test_name="part")
        self.ids.head.add_widget(self._part)
        self._table = ReviewTable()
        self._table.bind(on_station=lambda _, station: self.presenter.to_station(station))
        place = self.ids.sections.parent
        place.add_widget(self._table, place.children.index(self.ids.sections.__self__) + 1)

    def on_state(self, page, state) -> None:
        """Refill the table as well."""
        super().on_state(page, state)
        self._part.text = state.part
        self._table.rows = state.table


load_kv(__file__)
