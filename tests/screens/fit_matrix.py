"""Tablets, type and lengths of text at which every page is walked, and the walk itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass

from tests.screens.fit_places import Place, Tablet
from tests.screens.longer import longer_texts
from tests.screens.walking import MOST_STEPS, Look, go, lay_out, settle, trouble_page, walk_page
from walkapp.app import window_app
from walkapp.demo.desk_routes import DRAWN
from walkapp.demo.hand import Hand
from walkapp.language import ENGLISH, use


@dataclass(frozen=True)
class Glass:
    """A tablet's window.

    Parameters
    ----------
    width_px, height_px
        In pixels.
    density
        Pixels per dp; with it no side is shorter than 600 dp, which is the least that is promised.
    pixels_per_inch
        True ones of the glass, worked out from its diagonal. 84 dp are 12 mm while these are at most 177.8
        times the density, and 124 dp are 18 mm while they are at most 175 times.
    """

    width_px: int
    height_px: int
    density: float
    pixels_per_inch: float

    @property
    def name(self) -> str:
        """Size and density."""
        return f"{self.width_px}x{self.height_px} at {self.density:g}"


GLASSES = (
    # Ten, nine and seven inches. A density above 1 would leave less than 600 dp of height.
    Glass(1024, 600, 0.75, 118),
    Glass(1024, 600, 0.875, 132),
    Glass(1024, 600, 1.0, 170),
    # Ten inches standing, and eight at 125 % (as Windows sets it) and at 1.33 (as Android does).
    Glass(800, 1280, 1.0, 149),
    Glass(800, 1280, 1.25, 189),
    Glass(800, 1280, 1.33, 189),
    # The same lying.
    Glass(1280, 800, 1.0, 149),
    Glass(1280, 800, 1.25, 189),
    Glass(1280, 800, 1.33, 189),
    # A monitor of 24 inches at the desk, and tablets of ten and of eight inches.
    Glass(1920, 1200, 1.0, 94),
    Glass(1920, 1200, 1.5, 224),
    Glass(1920, 1200, 2.0, 283),
)
"""Four sizes at three densities each."""

FONT_SCALES = (1.0, 1.3)
"""Type as it comes, and as large as a person may set it."""


@dataclass(frozen=True)
class Setting:
    """One way in which pages are shown.

    Parameters
    ----------
    glass
        The tablet.
    fontscale
        How much larger the person has set the type.
    is_longer
        Whether every text is about a third longer.
    language
        Code of the language.
    troubles
        Whether each page is looked at as it is, while it says everything that can go wrong or well, or both
        in this order.
    """

    glass: Glass
    fontscale: float = 1.0
    is_longer: bool = False
    language: str = ENGLISH.code
    troubles: tuple[bool, ...] = (False, True)

    @property
    def name(self) -> str:
        """What it is, in words."""
        length = "longer texts" if self.is_longer else "texts as they are"
        spoken = "" if self.language == ENGLISH.code else f", {self.language}"
        return f"{self.glass.name}, type {self.fontscale:g}, {length}{spoken}"


def every_setting() -> Iterator[Setting]:
    """Give the whole matrix."""
    for glass in GLASSES:
        for fontscale in FONT_SCALES:
            for is_longer in (False, True):
                yield Setting(glass, fontscale, is_longer)


CHOSEN = tuple(
    Setting(
        glass,
        fontscale=1.3 if number % 2 else FONT_SCALES[number // 2 % 2],
        is_longer=bool(number % 2),
        troubles=(bool(number % 2),),
    )
    for number, glass in enumerate(GLASSES)
)
"""One setting for each glass, with and without longer texts by turns: what the tests look at."""


def dealt(names: Iterable[str], *, twice: bool = True) -> dict[Setting, list[str]]:
    """Deal places to the chosen settings, so that all of them have some.

    Parameters
    ----------
    names
        Of the places.
    twice
        Whether each place is dealt to a setting with longer texts and every second one to another one
        without; else each to one of all.
    """
    hands: dict[Setting, list[str]] = {setting: [] for setting in CHOSEN}
    longer, plain = CHOSEN[1::2], CHOSEN[::2]
    for number, name in enumerate(names):
        if twice:
            hands[longer[number % len(longer)]].append(name)
            if number % 2 == 0:
                hands[plain[number // 2 % len(plain)]].append(name)
        else:
            hands[CHOSEN[number % len(CHOSEN)]].append(name)
    return hands


def walk_tablet(
    tablet: Tablet,
    setting: Setting,
    names: Iterable[str],
    *,
    most_steps: int = MOST_STEPS,
    waits: bool = True,
) -> dict[str, Look]:
    """Walk the places of a tablet in one window; gives what was seen of each, by its name.

    Parameters
    ----------
    tablet
        The tablet.
    setting
        How it is shown.
    names
        Places to walk.
    most_steps
        Looks at each view that scrolls.
    waits
        Whether figures and sheets are waited for, which takes about a second each; else the page is looked
        at while it says that they are being drawn.
    """
    seen = {}
    with shown(tablet, setting) as hand:
        for name in names:
            open_place(hand, tablet.places[name])
            if waits and name in DRAWN:
                hand.until(lambda widget=DRAWN[name]: hand.find(widget).texture is not None)
                lay_out(hand)
            seen[name] = Look(0, ())
            for is_in_trouble in setting.troubles:
                if is_in_trouble:
                    trouble_page(hand)
                seen[name] += walk_page(hand, setting.glass.pixels_per_inch, most_steps)
    return seen


@contextmanager
def shown(tablet: Tablet, setting: Setting) -> Iterator[Hand]:
    """Show a tablet in a window; gives the hand in front of it."""
    glass = setting.glass
    with longer_texts() if setting.is_longer else nullcontext():
        hand = Hand(
            window_app(
                tablet.place,
                tablet.folder / "camera",
                bundles=tablet.folder / "bundles",
                language=setting.language,
            ),
            size=(glass.width_px, glass.height_px),
            density=glass.density,
            fontscale=setting.fontscale,
        )
        try:
            yield hand
        finally:
            hand.close()
            use(ENGLISH)


def open_place(hand: Hand, place: Place) -> None:
    """Go to a place, tap or type what leads on from it, and wait until all is shown."""
    go(hand, place.route)
    if place.then is not None:
        place.then(hand.app.page.presenter)
        settle(hand)
    if place.route.screen == "search":
        hand.until(lambda: not hand.app.page.state.reading)  # the index is made when it is first asked
        settle(hand)
