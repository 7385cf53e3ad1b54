"""What is shown where the app cannot start: why, in one sentence, in a window of its own.

On a tablet there is no terminal to say it in, and an app that only closes again tells nothing.
"""

from __future__ import annotations

from kivy.app import App
from kivy.core.window import Window
from kivy.metrics import dp
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.scrollview import ScrollView

from walkapp.language import tr
from walkapp.screens import look, widgets


class TroubleApp(App):
    """Shows a sentence, and nothing to tap: what is wrong has to be mended outside.

    Parameters
    ----------
    sentence
        What is wrong, and how to mend it.
    """

    title = "walkapp"

    def __init__(self, sentence: str) -> None:
        super().__init__()
        self._sentence = sentence

    def build(self) -> ScrollView:
        """Build the one page."""
        look.prepare()
        Window.clearcolor = look.THEME.ground.paper
        page = BoxLayout(orientation="vertical", padding=dp(12), spacing=look.gap(), size_hint_y=None)
        page.bind(minimum_height=page.setter("height"))
        page.add_widget(widgets.WrapLabel(text=tr("walkapp cannot start"), size_name="title", bold=True))
        page.add_widget(widgets.Banner(test_name="problem", kind="error", text=self._sentence))
        view = ScrollView(do_scroll_x=False)
        view.add_widget(page)
        return view

    def on_pause(self) -> bool:
        """Nothing is in hand here."""
        return True

    def open_settings(self, *_: object) -> bool:
        """Kivy's own settings panel has no place here."""
        return False
