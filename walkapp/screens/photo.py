"""The photo page: pictures to choose, and those recorded here."""

from __future__ import annotations

from kivy.graphics.texture import Texture
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.photo import PhotoState, PictureTile
from walkapp.screens import frame, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.buttons import Tappable
from walkapp.screens.page import Page, load_kv

BLANK_TILE = PictureTile(key="", caption="", size=(1, 1), pixels=b"\x00\x00\x00")


class PicturePlate(Tappable):
    """One small picture with its caption; can be tapped to record it.

    Parameters
    ----------
    tile
        The picture.
    """

    tile = ObjectProperty(BLANK_TILE, rebind=True)
    texture = ObjectProperty(None, allownone=True)

    def on_tile(self, _plate, tile) -> None:
        """Turn the pixels, read and shrunk by the worker, into a texture."""
        texture = Texture.create(size=tile.size, colorfmt="rgb")
        texture.blit_buffer(tile.pixels, colorfmt="rgb", bufferfmt="ubyte")
        texture.flip_vertical()
        self.texture = texture


class KeptPicture(BoxLayout):
    """One recorded picture.

    Parameters
    ----------
    tile
        The picture.
    """

    tile = ObjectProperty(BLANK_TILE, rebind=True)
    texture = ObjectProperty(None, allownone=True)
    test_name = StringProperty("")

    on_tile = PicturePlate.on_tile


class PhotoScreen(Page):
    """Pictures of a station."""

    state = ObjectProperty(PhotoState(), rebind=True)

    def on_state(self, _page, state) -> None:
        """Build the plates when the pictures change; they are at most a dozen."""
        self._fill(self.ids.found, state.found, PicturePlate, "picture")
        self._fill(self.ids.kept, state.kept, KeptPicture, "kept")
        for plate in self.ids.found.children:
            plate.page = self

    def _fill(self, grid, tiles, kind, name) -> None:
        if [plate.tile.key for plate in reversed(grid.children)] == [tile.key for tile in tiles]:
            return
        grid.clear_widgets()
        for number, tile in enumerate(tiles, start=1):
            grid.add_widget(kind(tile=tile, test_name=f"{name}-{number}"))


load_kv(__file__)
