"""The page of the live camera: what it sees, and one big button."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.graphics.texture import Texture
from kivy.properties import ObjectProperty

from walkapp.presenters.camera import CameraState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.page import Page, load_kv

FRAME_S = 1 / 15
"""How often the camera is asked for a frame: enough to aim with, and half of what a tablet could draw."""


class CameraScreen(Page):
    """What the camera sees."""

    state = ObjectProperty(CameraState(), rebind=True)
    texture = ObjectProperty(None, allownone=True)

    def __init__(self, **kwargs) -> None:
        self._shown = None
        super().__init__(**kwargs)
        self._look = Clock.create_trigger(self._look_again, FRAME_S, interval=True)

    def on_state(self, _page, state) -> None:
        """Draw a new frame into the same texture, as long as it has the same size."""
        if state.frame is None:
            self.texture = self._shown = None
        elif state.frame is not self._shown:
            self._shown = state.frame
            if self.texture is None or tuple(self.texture.size) != state.frame.size:
                self.texture = Texture.create(size=state.frame.size, colorfmt="rgb")
                self.texture.flip_vertical()
            self.texture.blit_buffer(state.frame.pixels, colorfmt="rgb", bufferfmt="ubyte")
            self.ids.seen.canvas.ask_update()

    def show(self, presenter) -> None:
        """Open the camera, and ask it for frames."""
        super().show(presenter)
        self._look()

    def leave(self) -> None:
        """Let go of the camera."""
        self._look.cancel()
        self.presenter.close()
        super().leave()

    def pause(self) -> None:
        """Let go of the camera while the app is not in front: another program may want it."""
        self._look.cancel()
        self.presenter.close()

    def resume(self) -> None:
        """Open it again."""
        self.presenter.open()
        self._look()

    def _look_again(self, _dt: float) -> None:
        self.presenter.look()


load_kv(__file__)
