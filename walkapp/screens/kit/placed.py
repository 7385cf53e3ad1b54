"""Words beside a drawing, each at the height of what it names."""

from __future__ import annotations

from kivy.properties import ObjectProperty
from kivy.uix.floatlayout import FloatLayout


class PlacedLabels(FloatLayout):
    """Labels beside a drawing; subclasses say which, and where they stand.

    Parameters
    ----------
    view
        What is drawn; none for nothing.
    """

    view = ObjectProperty(None, allownone=True)

    def __init__(self, **more) -> None:
        super().__init__(**more)
        self.bind(view=self._build, pos=self._arrange, size=self._arrange)

    def _build(self, *_) -> None:
        self.clear_widgets()
        for label in self.labels(self.view) if self.view else ():
            label.bind(size=self._arrange)
            self.add_widget(label)
        self._arrange()

    def _arrange(self, *_) -> None:
        if self.view is not None:
            self.place(self.view, self.children[::-1])

    def labels(self, view):
        """Make the labels of a drawing."""
        raise NotImplementedError

    def place(self, view, labels) -> None:
        """Put the labels, in the order in which they were made, where they belong."""
        raise NotImplementedError
