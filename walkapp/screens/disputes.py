"""The page of entries that disagree."""

from __future__ import annotations

from kivy.properties import ListProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from walkapp.presenters.disputes import DisputesState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, children_for, load_kv


class SideCard(BoxLayout):
    """One of the values.

    Parameters
    ----------
    side
        What to show.
    """

    side = ObjectProperty(None, allownone=True, rebind=True)


class SideCards(GridLayout):
    """All values of one dispute, side by side where there is room.

    Parameters
    ----------
    sides
        What to show.
    """

    sides = ListProperty([])

    def on_sides(self, _cards, sides) -> None:
        """Refill the cards."""
        for card, side in zip(children_for(self, sides, SideCard), sides, strict=True):
            card.side = side


class DisputeCard(BoxLayout):
    """Entries that disagree, and the way to decide.

    Parameters
    ----------
    dispute
        What to show.

    Events
    ------
    on_decide(key)
        The button was tapped.
    """

    dispute = ObjectProperty(None, allownone=True, rebind=True)
    test_name = StringProperty("")

    __events__ = ("on_decide",)

    def on_decide(self, _key: str) -> None:
        """Tell the list."""
        self.parent.dispatch("on_decide", _key)


class DisputeCards(BoxLayout):
    """All disputes of a concern.

    Parameters
    ----------
    disputes
        What to show.

    Events
    ------
    on_decide(key)
        A person wants to decide one.
    """

    disputes = ListProperty([])
    test_name = StringProperty("")

    __events__ = ("on_decide",)

    def on_disputes(self, _cards, disputes) -> None:
        """Refill the cards."""
        cards = children_for(self, disputes, DisputeCard)
        for number, (card, dispute) in enumerate(zip(cards, disputes, strict=True), start=1):
            card.dispute = dispute
            card.test_name = f"dispute-{number}"

    def on_decide(self, _key: str) -> None:
        """A dispute is to be decided; those who use the list bind to this."""


class DisputesScreen(Page):
    """Entries that disagree, every value side by side."""

    state = ObjectProperty(DisputesState(), rebind=True)


load_kv(__file__)
