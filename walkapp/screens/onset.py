"""When the defect started: the dated counts, then the recorded changes in the order of suspicion."""

from __future__ import annotations

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.onset import OnsetState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.buttons import Tappable
from walkapp.screens.kit.lists import Lines
from walkapp.screens.kit.time_line import TimeLineChart  # noqa: F401  the kv file uses it
from walkapp.screens.page import Page, load_kv


class DatedLine(BoxLayout):
    """One lot or production day.

    Parameters
    ----------
    row
        What to show.
    """

    row = ObjectProperty(None, allownone=True, rebind=True)


class SuspectLine(Tappable):
    """One recorded change, which leads to its page, or "none of them", which leads nowhere.

    Parameters
    ----------
    row
        What to show.
    """

    row = ObjectProperty(None, allownone=True, rebind=True)

    def on_tap(self) -> None:
        """Open the page of the change."""
        self.parent.page.presenter.open_change(self.row.id)


class DatedLines(Lines):
    """The lots and days."""

    line_class = DatedLine


class SuspectLines(Lines):
    """The suspects.

    Parameters
    ----------
    page
        The page that is told of a tap.
    """

    page = ObjectProperty(None, rebind=True)

    line_class = SuspectLine


class OnsetScreen(Page):
    """When it started, how sure that is, and what changed before."""

    state = ObjectProperty(OnsetState(), rebind=True)


load_kv(__file__)
