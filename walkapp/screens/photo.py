"""The photo page: pictures to choose, and those recorded here."""

from __future__ import annotations

from kivy.graphics.texture import Texture
from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.presenters.photo import PhotoState, PictureChoice, PictureTile
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.buttons import Tappable
from walkapp.screens.page import Page, load_kv

BLANK_TILE = PictureTile(key="", caption="", size=(1, 1), pixels=b"\x00\x00\x00")


def texture_of(tile) -> Texture:
    """Turn the pixels of a picture, read and shrunk by the worker, into a texture."""
    texture = Texture.create(size=tile.size, colorfmt="rgb")
    texture.blit_buffer(tile.pixels, colorfmt="rgb", bufferfmt="ubyte")
    texture.flip_vertical()
    return texture


class PicturePlate(Tappable):
    """One small picture with its caption, to be tapped.

    Parameters
    ----------
    tile
        The picture.
    page
        The page that the tap is told to.
    """

    tile = ObjectProperty(BLANK_TILE, rebind=True)
    texture = ObjectProperty(None, allownone=True)
    page = ObjectProperty(None, allownone=True)

    def on_tile(self, _plate, tile) -> None:
        """Show the picture."""
        self.texture = texture_of(tile)


class FoundPicture(PicturePlate):
    """A picture of the watched folder; a tap records it."""


class KeptPicture(PicturePlate):
    """A recorded picture; a tap leads to the page of it, to mark it or to cover people."""


class PictureChooser(BoxLayout):
    """Pictures to choose from, and those that are recorded; what stands above them is up to the page.

    Parameters
    ----------
    choice
        What to show.
    page
        The page whose presenter hears what was tapped.
    """

    choice = ObjectProperty(PictureChoice(), rebind=True)
    page = ObjectProperty(None, allownone=True, rebind=True)

    def on_choice(self, _chooser, choice) -> None:
        """Build the plates when the pictures change; they are at most a dozen of each."""
        self._fill(self.ids.found, choice.found, FoundPicture, "picture")
        self._fill(self.ids.kept, choice.kept, KeptPicture, "kept")

    def _fill(self, grid, tiles, kind, name) -> None:
        if [plate.tile for plate in reversed(grid.children)] == list(tiles):
            return
        grid.clear_widgets()
        for number, tile in enumerate(tiles, start=1):
            plate = kind(tile=tile, page=self.page, test_name=f"{name}-{number}", size_hint=(None, None))
            plate.size = look.picture()
            grid.add_widget(plate)


class PhotoScreen(Page):
    """Pictures of a station."""

    state = ObjectProperty(PhotoState(), rebind=True)


load_kv(__file__)
