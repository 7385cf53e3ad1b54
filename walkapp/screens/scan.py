"""The page for scanning: what the camera sees, with a frame to aim with."""

from __future__ import annotations

from kivy.app import App
from kivy.clock import Clock
from kivy.graphics.texture import Texture
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty
from kivy.uix.widget import Widget

from walkapp.presenters.scan import AIM_SHARE, ScanState
from walkapp.screens.board import BoardScreen
from walkapp.screens.page import load_kv

LOOK_S = 1 / 15
"""How often the newest frame is asked for; the presenter leaves out those that it has no time for."""


class LivePlate(Widget):
    """What the camera sees, the frame to aim with, and a box around the first code that is seen.

    Parameters
    ----------
    texture
        The newest picture; none while there is none.
    places
        Boxes of codes: left, top, right and bottom as shares of the picture, from its top left.
    is_there
        Whether there is a live view at all.
    room_px
        How high it may be.
    image_box, aim_box, code_points
        Where picture, frame and box are in the window; worked out from the others.
    """

    texture = ObjectProperty(None, allownone=True)
    places = ListProperty([])
    is_there = BooleanProperty(False)
    room_px = NumericProperty(0)
    image_box = ListProperty([0, 0, 0, 0])
    aim_box = ListProperty([0, 0, 0, 0])
    code_points = ListProperty([])
    test_name = "live"

    def __init__(self, **said) -> None:
        super().__init__(**said)
        for name in ("pos", "size", "texture", "places"):
            self.fbind(name, self._arrange)

    def _arrange(self, *_: object) -> None:
        if self.texture is None:
            wide, high = 16.0, 9.0
        else:
            wide, high = self.texture.size
        scale = min(self.width / wide, self.height / high) if self.width > 0 else 0
        width, height = wide * scale, high * scale
        left, bottom = self.center_x - width / 2, self.center_y - height / 2
        self.image_box = [round(one) for one in (left, bottom, width, height)]
        edge = (1 - AIM_SHARE) / 2
        self.aim_box = [
            left + width * edge, bottom + height * edge, width * AIM_SHARE, height * AIM_SHARE
        ]  # fmt: skip
        points = []
        for near, upper, far, lower in self.places[:1]:
            x0, x1 = left + near * width, left + far * width
            y0, y1 = bottom + (1 - upper) * height, bottom + (1 - lower) * height
            points = [x0, y0, x1, y0, x1, y1, x0, y1]
        self.code_points = points

    def show(self, preview) -> None:
        """Put the pixels of a frame into the texture; it is made anew only for another size."""
        frame = preview.frame
        if frame is None:
            self.texture, self.places = None, []
            return
        if self.texture is None or tuple(self.texture.size) != frame.size:
            texture = Texture.create(size=frame.size, colorfmt="rgb")
            texture.flip_vertical()
            self.texture = texture
        self.texture.blit_buffer(frame.pixels, colorfmt="rgb", bufferfmt="ubyte")
        self.places = list(preview.places)
        self.canvas.ask_update()


class ScanScreen(BoardScreen):
    """A live view below the sentence; the camera is let go with the page."""

    state = ObjectProperty(ScanState(), rebind=True)

    def __init__(self, **said) -> None:
        super().__init__(**said)
        self.plate = LivePlate()
        column = self.ids.sections.parent
        column.add_widget(self.plate, index=column.children.index(self.ids.sections) + 1)
        self.ids.scroll.bind(height=self._give_room)
        self._look_often = Clock.create_trigger(self._look, LOOK_S, interval=True)

    def show(self, presenter) -> None:
        """Begin to look."""
        super().show(presenter)
        App.get_running_app().bind(on_pause=self._rest, on_resume=self._wake)
        presenter.eye.watch(self.plate.show)
        self._look_often()

    def _rest(self, *_: object) -> None:
        """Let go of the camera while the app is away; a picture that was asked for may still come."""
        self._look_often.cancel()
        self.presenter.rest()

    def _wake(self, *_: object) -> None:
        self.presenter.open()
        self._look_often()

    def leave(self) -> None:
        """Look no more, and let go of camera and picture."""
        App.get_running_app().unbind(on_pause=self._rest, on_resume=self._wake)
        self._look_often.cancel()
        self.presenter.eye.unwatch(self.plate.show)
        self.presenter.stop()
        super().leave()
        self.plate.texture = None

    def on_state(self, page, state) -> None:
        """Show the live view; it makes room for codes to choose from."""
        super().on_state(page, state)
        if getattr(self, "plate", None) is not None:
            self.plate.is_there = state.has_view and not state.sections

    def _look(self, _dt: float) -> None:
        self.presenter.look()

    def _give_room(self, _scroll, height) -> None:
        """Let the whole picture be seen at once, whichever way the tablet is held."""
        self.plate.room_px = height * 0.8


load_kv(__file__)
