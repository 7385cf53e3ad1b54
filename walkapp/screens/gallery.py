"""All pictures of a concern, small: a grid that lends a few tiles to hundreds of pictures."""

from __future__ import annotations

from collections import deque

from kivy.clock import Clock
from kivy.graphics import Color
from kivy.metrics import dp
from kivy.properties import (
    BooleanProperty,
    ColorProperty,
    ListProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.recycleview import RecycleView
from kivy.uix.recycleview.views import RecycleDataViewBehavior
from kivy.uix.widget import Widget

from walkapp.language import tr
from walkapp.presenters.gallery import BEING_READ, GalleryState, GalleryTile
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit.buttons import Tappable
from walkapp.screens.kit.choices import ChoiceButton
from walkapp.screens.kit.marks import SHAPES, draw_part
from walkapp.screens.kit.words import SeenLabel, TypeMeasure
from walkapp.screens.page import Page, children_for, load_kv
from walkapp.screens.photo import texture_of
from walkapp.screens.textures import Textures

MOST_TEXTURE_BYTES = 24_000_000
"""Some eighty small pictures; a page shows two dozen at most."""

MOST_A_FRAME = 3
"""Textures that are made in one frame, so that no frame takes long."""

TEXT_LINES = 5
"""State, caption, station, when and by whom; the caption takes what the state leaves."""

MOST_STATE_LINES = 2

LEAST_TILE_DP = 215
PICTURE_SHARE = 0.62
"""Height of a tile's picture by its width: a little less than a camera's, since bars need their room."""

PADDING_DP = 8
SPACING_DP = 4
SIGN_DP = 20


class PlateLabel(SeenLabel):
    """A picture as large as it fits, or the word that stands in its place, in one widget.

    Parameters
    ----------
    picture
        Its texture; none while it is not there.
    fit_pos, fit_size
        Where the picture is drawn.
    """

    picture = ObjectProperty(None, allownone=True)
    fit_pos = ListProperty([0, 0])
    fit_size = ListProperty([0, 0])

    def __init__(self, **more) -> None:
        super().__init__(**more)
        for name in ("picture", "pos", "size"):
            self.fbind(name, self._fit)

    def _fit(self, *_) -> None:
        if self.picture is None:
            self.fit_size = 0, 0
            return
        width, height = self.picture.size
        scale = min(self.width / width, self.height / height)
        size = max(round(width * scale), 1), max(round(height * scale), 1)
        self.fit_size = size
        self.fit_pos = round(self.center_x - size[0] / 2), round(self.center_y - size[1] / 2)


class MarkRow(Widget):
    """The shapes of a tile's state beside each other.

    Parameters
    ----------
    shapes
        Names of shapes.
    ink, state
        Ink of the tile, and ``down`` while a finger is on it.
    """

    shapes = ListProperty([])
    ink = ColorProperty()
    state = StringProperty("normal")

    def __init__(self, **more) -> None:
        self._redraw = Clock.create_trigger(self._draw, -1)
        super().__init__(**more)
        for name in ("shapes", "pos", "ink", "state"):
            self.fbind(name, self._redraw)

    def _draw(self, _dt: float) -> None:
        self.canvas.clear()
        side = round(dp(SIGN_DP))
        left, bottom = round(self.x), round(self.top - side)
        with self.canvas:
            for shape in self.shapes:
                Color(*look.shape_ink(shape, self.ink, self.state))
                for part in SHAPES[shape]:
                    draw_part(part, left, bottom, side)
                left += side + round(dp(SPACING_DP))


class PictureTile(RecycleDataViewBehavior, Tappable):
    """One picture of the grid; the grid lends this widget to whichever picture is in view.

    Parameters
    ----------
    tile
        What it shows.
    lines
        The tile's words, shortened to its width.
    texture
        The picture; none until it is there.
    word
        What stands in its place until then, or for good.
    """

    tile = ObjectProperty(GalleryTile(), rebind=True)
    lines = StringProperty("")
    state_line = StringProperty("")
    texture = ObjectProperty(None, allownone=True)
    word = StringProperty(BEING_READ)

    def refresh_view_attrs(self, grid, _index, data) -> None:
        """Show another picture from now on: everything at once, and nothing of the one before."""
        self.tile, self.is_framed, self.test_name = data["tile"], data["is_framed"], data["test_name"]
        self.state_line, self.lines = grid.lines_of(self.tile)
        self.show_picture(grid.page)

    def show_picture(self, page) -> None:
        """Take over the picture, as far as it is there."""
        self.texture = page.textures.give(self.tile.wish)
        self.word = "" if self.texture is not None else page.troubles.get(self.tile.wish, tr(BEING_READ))

    def on_press(self) -> None:
        """Remember what the finger came down on; the grid may lend this widget to another picture."""
        self._pressed_key = self.tile.key

    def on_tap(self) -> None:
        """Tell the grid."""
        if self.tile.key == self._pressed_key:
            self.parent.recycleview.dispatch("on_row", self.tile.key)


class GalleryGrid(RecycleView):
    """Tiles of one size, as many beside each other as fit.

    Parameters
    ----------
    tiles
        What to show.
    last
        Key of the picture that was looked at last; it has a frame.
    page
        The page, which holds the pictures.

    Events
    ------
    on_row(key)
        A picture was tapped.
    """

    tiles = ListProperty([])
    last = StringProperty("")
    page = ObjectProperty(None, allownone=True)
    columns = NumericProperty(1)
    tile_width = NumericProperty(1)
    tile_height = NumericProperty(1)
    test_name = StringProperty("")

    __events__ = ("on_row",)

    def __init__(self, **more) -> None:
        self._texts: dict[GalleryTile, tuple[str, str]] = {}
        super().__init__(**more)
        self.fbind("width", self.arrange)
        self.fbind("tiles", self.refill)
        self.fbind("last", self.refill)

    def arrange(self, *_) -> None:
        """Fit the tiles to the width."""
        room = self.width - dp(12)
        self.columns = max(1, int((room + look.gap()) // (dp(LEAST_TILE_DP) + look.gap())))
        self.tile_width = max(1, int((room + look.gap()) / self.columns - look.gap()))
        self._texts = {}
        small = TypeMeasure(look.font("small"))
        text_px = TEXT_LINES * small.line_px + dp(2 * PADDING_DP + 3 * SPACING_DP + 6)
        self.tile_height = round(self.tile_width * PICTURE_SHARE + text_px)
        self._measures = small, TypeMeasure(look.font("small"), bold=True)

    def refill(self, *_) -> None:
        """Take over the pictures."""
        self._texts = {}
        self.data = [
            {
                "tile": tile,
                "row_id": tile.key,
                "disabled": False,
                "is_framed": tile.key == self.last,
                "test_name": f"picture-{number}",
            }
            for number, tile in enumerate(self.tiles, start=1)
        ]

    def lines_of(self, tile: GalleryTile) -> tuple[str, str]:
        """Give the state and the other words of a tile, shortened to what it has room for."""
        if tile not in self._texts:
            small, bold = self._measures
            room = self.tile_width - dp(2 * PADDING_DP + 4)
            beside = room - len(tile.marks) * dp(SIGN_DP + SPACING_DP)
            state = bold.shortened(tile.state, beside, MOST_STATE_LINES)
            taken = bold.line_count(state, beside) if state else 0
            lines = (
                small.shortened(tile.caption, room, TEXT_LINES - 2 - taken),
                small.shortened(tile.station, room),
                small.shortened(tile.made, room),
            )
            self._texts[tile] = state, "\n".join(lines)
        return self._texts[tile]

    @property
    def highest_px(self) -> float:
        """Height of a tile: all have the same."""
        return self.tile_height

    def span_of(self, index: int) -> tuple[float, float, float]:
        """Give how far below the beginning a tile stands, its height, and the height of all, in pixels."""
        step = self.tile_height + look.gap()
        rows = -(-len(self.tiles) // self.columns)
        return index // self.columns * step, self.tile_height, max(rows * step - look.gap(), 0)

    @property
    def room_px(self) -> float:
        """How far it can be scrolled."""
        return max(self.span_of(0)[2] - self.height, 0)

    @property
    def above_px(self) -> float:
        """How far it is scrolled."""
        return (1 - min(max(self.scroll_y, 0), 1)) * self.room_px

    def scroll_px(self, above: float) -> None:
        """Scroll to so many pixels below the beginning, and stay there: a swing ends."""
        self.effect_y.trigger_velocity_update.cancel()
        self.effect_y.velocity = 0
        self.scroll_y = 1 - min(max(above / self.room_px, 0), 1) if self.room_px else 1
        self._update_effect_y_bounds()

    def in_view(self, views_before: float = 0, views_behind: float = 0) -> range:
        """Give the places of the tiles that are seen, and of those so many views above and below."""
        step = self.tile_height + look.gap()
        above = self.above_px
        first = int(max(above - views_before * self.height, 0) // step)
        last = int(max(above + (1 + views_behind) * self.height, 0) // step)
        return range(
            min(first * self.columns, len(self.tiles)), min((last + 1) * self.columns, len(self.tiles))
        )

    def shown_tiles(self) -> list[PictureTile]:
        """Give the widgets that show a picture now."""
        return list(self.view_adapter.views.values())

    def on_row(self, _key: str) -> None:
        """A picture was tapped; the page binds to this."""


class FilterRow(BoxLayout):
    """The words of the filter beside each other; as many as there are.

    Parameters
    ----------
    filters
        What to choose from.
    chosen
        The word that is chosen.

    Events
    ------
    on_choice(word)
        A word was tapped, the chosen one too.
    """

    filters = ListProperty([])
    chosen = StringProperty("")

    __events__ = ("on_choice",)

    def on_filters(self, *_) -> None:
        """Refill the buttons."""
        measure = TypeMeasure(look.font("body"), bold=True)
        chips = children_for(self, self.filters, lambda: ChoiceButton(size_hint=(None, None)))
        for chip, one in zip(chips, self.filters, strict=True):
            chip.word, chip.text, chip.disabled = one.word, one.text, one.is_off
            chip.test_name = f"filter-{one.word}"
            wanted = measure.width_px(one.text) + dp(66)
            widest = measure.widest_word_px(one.text) + dp(66)
            chip.size = max(min(wanted, dp(230)), widest, look.target() * 1.2), look.target()
        self.on_chosen()

    def on_chosen(self, *_) -> None:
        """Move frame and filled box to the chosen word."""
        for chip in self.children:
            chip.is_framed = chip.word == self.chosen

    def on_choice(self, _word: str) -> None:
        """A word was tapped; the page binds to this."""


class GalleryScreen(Page):
    """All pictures of a concern or book."""

    state = ObjectProperty(GalleryState(), rebind=True)
    is_low = BooleanProperty(False)

    def __init__(self, **more) -> None:
        self.textures = Textures(MOST_TEXTURE_BYTES)
        self.troubles: dict = {}
        self._arrived: deque = deque()
        self._hang_soon = Clock.create_trigger(self._hang, 0)
        self._look_soon = Clock.create_trigger(self._look, -1)
        self._hold_soon = Clock.create_trigger(self._hold_place, -1)
        self._is_placed = True
        self._is_holding = False
        self._held_shape: tuple[float, ...] = ()
        self._anchor = "", 0.0
        self._must_see = ""
        super().__init__(**more)
        grid = self.ids.grid
        for name in ("scroll_y", "size", "data", "tile_height"):
            grid.fbind(name, self._look_soon)
        for name in ("size", "tile_height"):
            grid.fbind(name, self._hold_soon)
        grid.fbind("scroll_y", self._scrolled)
        grid.bind(on_row=lambda _, key: self.presenter.look_at(key, *self._top()))

    def show(self, presenter) -> None:
        """Follow another presenter and its pictures; what is held of them stays."""
        self.troubles.clear()
        self._arrived.clear()
        self._is_placed = False
        presenter.feed.watch(self._on_picture)
        presenter.session.when_memory_is_low(self.release)
        super().show(presenter)

    def leave(self) -> None:
        """Want no more pictures."""
        self.presenter.feed.want(())
        self.presenter.feed.unwatch(self._on_picture)
        for soon in (self._hang_soon, self._look_soon, self._hold_soon):
            soon.cancel()
        super().leave()

    def release(self) -> None:
        """Hold no picture but those that are seen."""
        seen = self.ids.grid.in_view() if self.parent is not None else ()
        self.textures.keep_only({self.ids.grid.tiles[index].wish for index in seen})
        self._arrived.clear()
        self._look_soon()

    def on_state(self, _page, state) -> None:
        """Refill the grid; begin where the page was left."""
        grid = self.ids.grid
        is_other = grid.tiles != list(state.tiles)
        grid.last = state.last
        grid.tiles = state.tiles
        self.ids.filters.filters, self.ids.filters.chosen = state.filters, state.chosen
        if state.is_read and (is_other or not self._is_placed):
            is_back, self._is_placed = not self._is_placed, True
            self._anchor = (state.top, state.top_px) if is_back else ("", 0.0)
            self._must_see = state.last if is_back else ""
            self._hold_soon()
        self._look_soon()

    def _hold_place(self, _dt: float) -> None:
        """Scroll to where the page was, also after it was turned and laid out anew.

        Farther only where the picture that was looked at would not be seen.
        """
        grid = self.ids.grid
        places = {tile.key: index for index, tile in enumerate(grid.tiles)}
        top, top_px = self._anchor
        self._is_holding, self._held_shape = True, self._shape()
        grid.scroll_px(grid.span_of(places[top])[0] + top_px if top in places else 0)
        if self._must_see in places:
            before, height, _ = grid.span_of(places[self._must_see])
            if before < grid.above_px:
                grid.scroll_px(before)
            elif before + height > grid.above_px + grid.height:
                grid.scroll_px(before + height - grid.height)
        self._is_holding = False

    def _scrolled(self, *_) -> None:
        """Remember the place that a finger or a key has scrolled to.

        A view whose size changes scrolls by itself before it is put back.
        """
        if not self._is_holding and self._held_shape == self._shape():
            self._anchor, self._must_see = self._top(), ""

    def _shape(self) -> tuple[float, ...]:
        grid = self.ids.grid
        return grid.width, grid.height, grid.tile_height, len(grid.tiles)

    def _top(self) -> tuple[str, float]:
        grid = self.ids.grid
        seen = grid.in_view()
        if not seen:
            return "", 0.0
        return grid.tiles[seen[0]].key, grid.above_px - grid.span_of(seen[0])[0]

    def _look(self, _dt: float) -> None:
        """Ask for the pictures that are seen, then for those below and above."""
        if self.presenter is None or self.parent is None:
            return
        grid = self.ids.grid
        near = dict.fromkeys((*grid.in_view(), *grid.in_view(0, 1), *grid.in_view(1, 1)))
        wishes = [grid.tiles[index].wish for index in near]
        for wish in reversed(wishes):
            self.textures.give(wish)  # so that what is seen goes last
        waiting = {wish for wish, _ in self._arrived}
        self.presenter.feed.want(
            [
                wish
                for wish in wishes
                if wish not in self.textures and wish not in self.troubles and wish not in waiting
            ]
        )

    def _on_picture(self, wish, picture) -> None:
        self._arrived.append((wish, picture))
        self._hang_soon()

    def _hang(self, _dt: float) -> None:
        """Make a few textures, and show them where their picture is still seen."""
        for _ in range(min(MOST_A_FRAME, len(self._arrived))):
            wish, picture = self._arrived.popleft()
            if picture.trouble:
                self.troubles[wish] = picture.trouble
            else:
                self.textures.hold(wish, texture_of(picture))
            for tile in self.ids.grid.shown_tiles():
                if tile.tile.wish == wish:
                    tile.show_picture(self)
        if self._arrived:
            self._hang_soon()


load_kv(__file__)
