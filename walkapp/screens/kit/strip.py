"""The stream strip: every station at a glance, with here, next and the first bad one pointed out."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty

from walkapp.language import tr
from walkapp.screens import look
from walkapp.screens.kit.buttons import Tappable
from walkapp.screens.kit.scrolling import Scroll
from walkapp.screens.kit.words import TypeMeasure
from walkapp.screens.page import children_for, load_kv

SCROLLED_TILE_DP = 112
"""Least width of a tile where the stream is longer than the window."""

WIDEST_TILE_DP = 320
"""A tile with a longer word breaks it; only a name from outside has one."""

LAID_OUT_S = 0.05
"""How long after a change of its width the strip scrolls to where one is: it is laid out by then."""


class Tile(Tappable):
    """One station. Its properties are those of a strip tile, and the height that names have."""

    name_px = NumericProperty(0)

    station = StringProperty("")
    number = StringProperty("")
    short = StringProperty("")
    mark = StringProperty("not_visited")
    word = StringProperty("")
    counts = StringProperty("")
    is_here = BooleanProperty(False)
    is_next = BooleanProperty(False)
    flag = StringProperty("")

    def pointers(self, is_here: bool, is_next: bool) -> str:
        """Say what stands above the tile."""
        if is_here and is_next:
            return tr("▼ here, next")  # as wide as fits the narrowest tile
        return tr("▼ here") if is_here else tr("» next") if is_next else ""

    def least_px(self) -> float:
        """Give the width in which no word is broken and the pointer above the plate fits."""
        tiny = look.font("tiny")
        signs = TypeMeasure(tiny, font_name=look.SIGNS_FONT)
        plain = TypeMeasure(tiny)
        flag = f"⚑ {self.flag}" if self.flag else ""
        word_px = max(
            TypeMeasure(tiny, bold=True).widest_word_px(self.short),
            plain.widest_word_px(self.word),
            plain.widest_word_px(self.counts),
            signs.widest_word_px(flag),
            signs.width_px(self.pointers(self.is_here, self.is_next)),
        )
        left, _, right, _ = self.padding
        return min(word_px + left + right + 1, dp(WIDEST_TILE_DP))

    def on_tap(self) -> None:
        """Tell the strip."""
        self.strip.dispatch("on_station", self.station)


class StreamStrip(Scroll):
    """All stations of the stream in order; scrolls where they do not fit, always to where one is.

    Parameters
    ----------
    tiles
        A sequence of :class:`~walkapp.presenters.strip.StripTile`.

    Events
    ------
    on_station(id)
        A station was tapped.
    """

    tiles = ListProperty([])
    tile_px = NumericProperty(0)
    tile_height_px = NumericProperty(0)
    test_name = StringProperty("strip")

    __events__ = ("on_station",)

    def __init__(self, **kwargs) -> None:
        self._arrange_soon = Clock.create_trigger(self._arrange, -1)
        self._show_here_soon = Clock.create_trigger(self._show_here, LAID_OUT_S)
        self._refill_soon = Clock.create_trigger(self._refill, -1)
        super().__init__(**kwargs)
        self.fbind("width", self._arrange_soon)
        self.fbind("tiles", self._refill_soon)
        self._refill_soon()

    def _refill(self, _dt: float) -> None:
        """Refill the tiles in place."""
        row, tiles = self.ids.row, self.tiles
        here_before = [tile.station for tile in row.children if tile.is_here]
        for widget, tile in zip(children_for(row, tiles, self._make_tile), tiles, strict=True):
            for name in TILE_FIELDS:
                setattr(widget, name, getattr(tile, name))
            widget.test_name = f"station-{tile.station}"
        self._arrange_soon()
        if here_before != [tile.station for tile in tiles if tile.is_here]:
            self._show_here_soon()

    def _make_tile(self) -> Tile:
        tile = Tile(size_hint_x=None, size_hint_y=1)
        tile.strip = self.proxy_ref
        tile.fbind("minimum_height", self._arrange_soon)
        return tile

    def _arrange(self, _dt: float) -> None:
        """Share the width among the tiles, or let them scroll; all are as high as the highest."""
        count = len(self.tiles)
        if count == 0 or count != len(self.ids.row.children):
            return  # not refilled yet; that arranges them again
        shared = int((self.width - (count - 1) * look.gap()) / count)
        least = {tile: tile.least_px() for tile in self.ids.row.children}
        fits = shared >= max(look.target(), *least.values())
        self.tile_px = min(shared, dp(180)) if fits else int(dp(SCROLLED_TILE_DP))
        names = TypeMeasure(look.font("tiny"), bold=True)
        for tile in self.ids.row.children:
            tile.width = max(self.tile_px, least[tile])
        left, _, right, _ = tile.padding
        name_px = max(names.height_px(tile.short, tile.width - left - right) for tile in least)
        for tile in least:
            tile.name_px = name_px
        self.tile_height_px = max(tile.minimum_height for tile in self.ids.row.children)
        self._show_here_soon()

    def _show_here(self, _dt: float) -> None:
        here = [tile for tile in self.ids.row.children if tile.is_here]
        if here and self.ids.row.width > self.width:
            self.scroll_to(here[0], padding=look.gap(), animate=False)

    def on_station(self, station: str) -> None:
        """A station was tapped; those who use the strip bind to this."""


TILE_FIELDS = ("station", "number", "short", "mark", "word", "counts", "is_here", "is_next", "flag")
"""What a tile widget takes over from a strip tile."""

load_kv(__file__)
