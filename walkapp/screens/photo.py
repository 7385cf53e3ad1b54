"""The photo page: pictures to choose, and those recorded here."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.graphics.texture import Texture
from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.language import tr
from walkapp.presenters.photo import PhotoState
from walkapp.presenters.picture_choice import PictureChoice, PictureTile
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.buttons import TapButton, Tappable
from walkapp.screens.kit.fingers import NEVER, Moment
from walkapp.screens.page import Page, load_kv

LOOK_S = 1.5
"""How often the folder is looked at while a page with pictures is shown; a guess, no source."""

SHIFTED_S = 0.5
"""How long no tap on a picture counts after pictures have moved under the finger; a guess, no source."""

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

    def __init__(self, **kwargs) -> None:
        self._pixels = b""
        super().__init__(**kwargs)

    def on_tile(self, _plate, tile) -> None:
        """Show the picture; one that is only in another state is not handed over again."""
        if tile.pixels is not self._pixels:
            self._pixels = tile.pixels
            self.texture = texture_of(tile)


class FoundPicture(PicturePlate):
    """A picture of a folder; a tap records it.

    Parameters
    ----------
    chooser
        What it lies in, if that moves pictures while it is shown.
    """

    chooser = ObjectProperty(None, allownone=True)

    def on_touch_down(self, touch) -> bool:
        """Take no finger that may be meant for the picture that has just been here."""
        if self.chooser is not None and not self.chooser.lies_still() and self.collide_point(*touch.pos):
            return True
        return super().on_touch_down(touch)


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

    def __init__(self, **kwargs) -> None:
        self._shifted = NEVER
        self._spare: KeptPicture | None = None
        self._build_spare = Clock.create_trigger(self._make_spare)
        super().__init__(**kwargs)

    def on_choice(self, _chooser, choice) -> None:
        """Build the plates when the pictures change; they are at most a dozen of each."""
        self._fill(self.ids.found, choice.found, FoundPicture, "picture")
        self._fill(self.ids.kept, choice.kept, KeptPicture, "kept")
        further = (
            ("look-again", tr("Look again")),
            ("compare", tr("Newest beside OK and NOK")),
            ("to-gallery", tr("All pictures")),
        )
        self._fill_buttons(self.ids.sources, (*choice.sources, *further), self._press)
        for button in self.ids.sources.children:
            button.disabled = button.test_name == "compare" and not choice.kept
        turns = (("newer", tr("Newer")), ("older", tr("Older")))
        has = {"newer": choice.has_newer, "older": choice.has_older}
        self._fill_buttons(self.ids.turning, turns if any(has.values()) else (), self._turn)
        for button in self.ids.turning.children:
            button.disabled = not has[button.test_name]
        if choice.found:
            self._build_spare()

    def lies_still(self) -> bool:
        """Whether pictures have lain still long enough for a tap to mean the one under the finger."""
        return self._shifted.is_past(SHIFTED_S)

    def _fill(self, grid, tiles, kind, name) -> None:
        plates = grid.children[::-1]
        before = dict(zip(_told_apart([plate.tile.key for plate in plates]), plates, strict=True))
        keys = _told_apart([tile.key for tile in tiles])
        if any(old in keys and keys.index(old) != place for place, old in enumerate(before)):
            self._shifted = Moment.now()
        for plate in [plate for key, plate in before.items() if key not in keys]:
            grid.remove_widget(plate)
        for place, (key, tile) in enumerate(zip(keys, tiles, strict=True)):
            plate = before.get(key) or self._make_plate(kind, tile)
            if grid.children[::-1][place : place + 1] != [plate]:
                # Only what is not in its place is moved: each move lays the whole grid out anew.
                grid.remove_widget(plate)
                grid.add_widget(plate, index=len(grid.children) - place)
        for number, (plate, tile) in enumerate(zip(grid.children[::-1], tiles, strict=True), start=1):
            plate.test_name = f"{name}-{number}"
            plate.tile = tile

    def _make_plate(self, kind, tile) -> PicturePlate:
        if kind is KeptPicture and self._spare is not None:
            plate, self._spare = self._spare, None
            plate.tile, plate.page, plate.size = tile, self.page, look.picture()
            return plate
        plate = kind(tile=tile, page=self.page, size_hint=(None, None))
        plate.size = look.picture()
        if kind is FoundPicture:
            plate.chooser = self
        return plate

    def _make_spare(self, _dt: float) -> None:
        """Build the plate of the picture that is recorded next, in a frame in which nothing else happens.

        A new plate and all that is laid out anew for it would make the longest frame of all.
        """
        if self._spare is None:
            self._spare = KeptPicture(size_hint=(None, None), size=look.picture())

    def _fill_buttons(self, bar, wanted, pressed) -> None:
        if [(button.test_name, button.text) for button in bar.children[::-1]] == list(wanted):
            return
        bar.clear_widgets()
        for name, text in wanted:
            button = TapButton(test_name=name, text=text)
            button.bind(on_tap=pressed)
            bar.add_widget(button)

    def _press(self, button) -> None:
        presenter = self.page.presenter
        match button.test_name:
            case "look-again":
                presenter.open()
            case "compare":
                presenter.compare(self.choice.kept[0].key)
            case "to-gallery":
                presenter.to_gallery()
            case source:
                presenter.take(source)

    def _turn(self, button) -> None:
        self.page.presenter.turn_pictures(1 if button.test_name == "older" else -1)


def _told_apart(keys) -> list:
    """Number keys that come more than once: the same picture may have been recorded twice.

    Examples
    --------
    >>> _told_apart(["a", "b", "a"])
    [('a', 1), ('b', 1), ('a', 2)]
    """
    return [(key, keys[: place + 1].count(key)) for place, key in enumerate(keys)]


class PicturePage(Page):
    """A page on which pictures are chosen: looks for new ones by itself while it is shown."""

    def __init__(self, **kwargs) -> None:
        super().__init__(**kwargs)
        self._look = Clock.create_trigger(self._look_for_pictures, LOOK_S, interval=True)

    def show(self, presenter) -> None:
        """Follow a presenter, and look for pictures every second or two."""
        super().show(presenter)
        self._look()

    def leave(self) -> None:
        """Look no more."""
        self._look.cancel()
        super().leave()

    def pause(self) -> None:
        """Look no more while the app is not in front."""
        self._look.cancel()

    def resume(self) -> None:
        """Look again."""
        self._look()

    def _look_for_pictures(self, _dt: float) -> None:
        self.presenter.look_for_pictures()


class PhotoScreen(PicturePage):
    """Pictures of a station."""

    state = ObjectProperty(PhotoState(), rebind=True)


load_kv(__file__)
