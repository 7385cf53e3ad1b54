"""The pages of inspection studies: the list, one study, the blind reading, and the result."""

from __future__ import annotations

from kivy.properties import ListProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from walkapp.presenters.studies import StudiesState, StudyState
from walkapp.presenters.study_reading import ReadingState
from walkapp.presenters.study_result import StudyResultState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, children_for, load_kv, swap


class StudiesScreen(Page):
    """The studies of a concern."""

    state = ObjectProperty(StudiesState(), rebind=True)


class StudyScreen(Page):
    """One study: who has judged, and who judges next."""

    state = ObjectProperty(StudyState(), rebind=True)


class ReadingScreen(Page):
    """The blind reading: one part and two answers, or the end of it."""

    state = ObjectProperty(ReadingState(), rebind=True)

    def on_kv_post(self, _page) -> None:
        """Hold both parts: one of them is always taken out."""
        self._reading, self._done = self.ids.reading.__self__, self.ids.done.__self__
        swap(self.ids.body, self._reading)

    def on_state(self, _page, state) -> None:
        """Show the part to judge, or that there is none left."""
        swap(self.ids.body, self._done if state.done else self._reading)


class ResultCard(BoxLayout):
    """What a study says of somebody.

    Parameters
    ----------
    title
        Whom it is about.
    text
        The lines.
    """

    title = StringProperty("")
    text = StringProperty("")


class ResultCards(GridLayout):
    """The cards of a result, beside each other where there is room.

    Parameters
    ----------
    blocks
        What to show; each has ``title`` and ``lines``.
    """

    blocks = ListProperty([])
    test_name = StringProperty("")

    def on_blocks(self, _cards, blocks) -> None:
        """Refill the cards."""
        for card, block in zip(children_for(self, blocks, ResultCard), blocks, strict=True):
            card.title, card.text = block.title, "\n".join(block.lines)


class StudyResultScreen(Page):
    """What a study says, and whether the walk uses it."""

    state = ObjectProperty(StudyResultState(), rebind=True)


load_kv(__file__)
