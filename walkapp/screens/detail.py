"""Within one station: the units compared, and what was measured there."""

from __future__ import annotations

from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.detail import DetailState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv


class UnitLine(BoxLayout):
    """One unit: name, counts and share.

    Parameters
    ----------
    row
        What to show.
    """

    row = ObjectProperty(None, allownone=True, rebind=True)


class UnitTableView(BoxLayout):
    """One grouping: what it says, then its units.

    Parameters
    ----------
    table
        What to show.
    """

    table = ObjectProperty(None, allownone=True, rebind=True)

    def on_table(self, _view, table) -> None:
        """Give every unit its line."""
        self.ids.lines.clear_widgets()
        for row in table.rows:
            self.ids.lines.add_widget(UnitLine(row=row))


class SaidLine(BoxLayout):
    """A label and what is said under it.

    Parameters
    ----------
    label, words
        The two texts.
    """

    label = StringProperty("")
    words = StringProperty("")


class BlockView(BoxLayout):
    """One characteristic that is measured here.

    Parameters
    ----------
    block
        What to show.
    page
        The page whose presenter is told that the way along the stream was tapped.
    """

    block = ObjectProperty(None, allownone=True, rebind=True)
    page = ObjectProperty(None, allownone=True)

    def on_block(self, _view, block) -> None:
        """Give everything that is said its line."""
        self.ids.lines.clear_widgets()
        for label, words in block.lines:
            self.ids.lines.add_widget(SaidLine(label=label, words=words))


class DetailScreen(Page):
    """What is known within one station."""

    state = ObjectProperty(DetailState(), rebind=True)

    def on_state(self, _page, state) -> None:
        """Build the tables and blocks; they are few, and the page is read, not tapped through."""
        self.ids.tables.clear_widgets()
        for table in state.tables:
            view = UnitTableView()
            view.table = table  # only now are its ids there
            self.ids.tables.add_widget(view)
        self.ids.blocks.clear_widgets()
        for block in state.blocks:
            view = BlockView(page=self.proxy_ref)
            view.block = block
            self.ids.blocks.add_widget(view)


load_kv(__file__)
