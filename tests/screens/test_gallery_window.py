"""All pictures of a concern and one of them large, in a real window, by touch."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import pytest
from PIL import Image

from tests.photos.camera import as_png
from tests.screens.layout_check import box, problems
from tests.screens.test_layout import TABLETS
from walkapp.actions.intake import Subject, keep_photo
from walkapp.app import window_app
from walkapp.demo.finger import Finger
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Photo
from walkapp.screens.gallery import MOST_TEXTURE_BYTES

pytestmark = [pytest.mark.long, pytest.mark.window]

LOW_AND_TALL = ["7 inch lying", "8 inch standing"]
MANY = 40


def colour(number):
    """Give a colour that no other picture has, far enough from every other to survive packing."""
    return (number % 5) * 60, (number // 5 % 5) * 60, (number // 25) * 60


def picture(number, size=(80, 60)):
    return as_png(Image.new("RGB", size, colour(number)))


class Seen:
    """A window on a desk with many pictures, each of one colour."""

    def __init__(self, drive, desk, folder, tablet, many=MANY):
        sizes = dict(TABLETS[tablet])
        self.pixels_per_inch = sizes.pop("pixels_per_inch")
        self.desk = desk
        self.route = self.desk.walk()
        stations = [station.id for station in self.desk.facts(self.route).stream.stations]
        self.colours = {}
        for number in range(many):
            self.keep(number, walk=self.route.walk, station=stations[number % len(stations)])
        self.ok = self.keep(110, "Even colour all round the ear", limit="ok")
        self.not_ok = self.keep(111, "White line at the root", limit="not_ok")
        self.camera = folder / "camera"
        self.camera.mkdir()
        self.app = window_app(self.desk.place, self.camera, bundles=folder / "bundles")
        self.hand = drive(self.app, **sizes)
        self.walk = TouchWalk(self.desk, self.hand, self.camera)

    def keep(self, number, caption="", **subject):
        subject = Subject(concern=self.route.concern, **subject)
        photo = keep_photo(self.desk.place, subject, picture(number), "x.png", caption=caption)
        self.colours[photo.sha256] = colour(number)
        return photo

    def go(self, screen, **more):
        self.app.go(replace(self.route, screen=screen, **more))
        self.settle()

    def settle(self):
        for _ in range(4):
            self.app.worker.finish()
            self.app.pictures.finish()
            self.hand.wait(0.1)

    def tap(self, name):
        self.hand.tap(self.hand.find(name))
        self.settle()

    def back(self):
        self.hand.back()
        self.settle()

    def shows_its_own(self, tile) -> bool:
        """Whether a tile shows its own picture, or none yet."""
        if tile.texture is None:
            return True
        seen = tile.texture.pixels[:3]
        return all(abs(a - b) < 12 for a, b in zip(seen, self.colours[tile.tile.key], strict=True))

    @property
    def grid(self):
        return self.app.page.ids.grid

    @property
    def glass(self):
        return self.app.page.ids.glass

    @property
    def at(self):
        return self.app.page.presenter.route

    def check_layout(self):
        assert problems(self.hand.window, pixels_per_inch=self.pixels_per_inch) == []


@pytest.fixture
def see(drive, desk, tmp_path):
    return partial(Seen, drive, desk, tmp_path)


@pytest.mark.parametrize("tablet", LOW_AND_TALL)
def test_pictures_are_scrolled_looked_at_turned_over_zoomed_and_left_at_the_same_place(see, tablet):
    seen = see(tablet)
    before = seen.desk.records
    seen.go("concern", walk="", station="")
    seen.walk.tap("row-gallery")
    seen.settle()
    assert seen.hand.find("words").text == f"{MANY + 2} pictures, newest first. Tap one to see it large."
    assert all(tile.texture is not None for tile in seen.grid.shown_tiles())
    seen.check_layout()

    left, bottom, right, top = box(seen.grid)
    middle = (left + right) / 2
    for _ in range(3):
        seen.hand.drag((middle, bottom + 30), (middle, top - 30), rests=True)
    seen.hand.wait(1.5)
    seen.settle()
    place = seen.grid.above_px
    assert place > seen.grid.height
    assert all(seen.shows_its_own(tile) and tile.texture for tile in seen.grid.shown_tiles())
    assert len(seen.grid.shown_tiles()) < 30
    seen.check_layout()

    tile = next(one for one in seen.grid.shown_tiles() if box(one)[1] >= bottom and box(one)[3] <= top)
    key = tile.tile.key
    seen.hand.tap(tile)
    seen.settle()
    assert (seen.at.screen, seen.at.picture) == ("look_at", key)
    assert seen.glass.boxes()[0].picture.texture is not None
    seen.check_layout()

    pane = seen.glass.boxes()[0].picture
    left, bottom, right, top = box(pane)
    seen.hand.drag((right - 40, (bottom + top) / 2), (left + 40, (bottom + top) / 2))
    seen.settle()
    keys = [one.key for one in seen.app.manager.get_screen("gallery").state.tiles]
    assert seen.at.picture == keys[keys.index(key) + 1]
    seen.tap("before")
    assert seen.at.picture == key
    seen.tap("zoom-in")
    zoomed = seen.glass.lens
    assert zoomed.zoom == 1.5
    pinch(seen, pane)
    assert seen.glass.lens.zoom > zoomed.zoom
    x, y = middle_of(pane)
    seen.hand.drag((x + 60, y), (x - 60, y))
    assert seen.glass.lens.x > 0.5 and seen.at.picture == key
    seen.check_layout()
    for _ in range(6):
        if not seen.glass.lens.is_whole:
            seen.tap("zoom-out")
    assert seen.glass.lens.is_whole

    seen.back()
    assert seen.at.screen == "gallery"
    assert seen.grid.above_px == pytest.approx(place, abs=1.5)
    framed = [one.tile.key for one in seen.grid.shown_tiles() if one.is_framed]
    assert framed == [key]
    left, bottom, right, top = box(seen.grid)
    seen.hand.drag((middle, top - 30), (middle, bottom + 30), rests=True)
    seen.hand.wait(1.5)
    seen.settle()
    assert seen.grid.above_px < place - 100
    other = next(one for one in seen.grid.shown_tiles() if box(one)[1] >= bottom and box(one)[3] <= top)
    key = other.tile.key
    seen.hand.tap(other)
    seen.settle()
    assert (seen.at.screen, seen.at.picture) == ("look_at", key)
    seen.back()
    seen.back()
    assert seen.at.screen == "concern"
    assert seen.desk.records == before


def middle_of(widget):
    left, bottom, right, top = box(widget)
    return (left + right) / 2, (bottom + top) / 2


def pinch(seen, pane):
    """Put two fingers down and move them apart."""
    x, y = middle_of(pane)
    one, other = Finger(x - 40, y), Finger(x + 40, y)
    for finger in (one, other):
        finger.down()
        seen.hand.wait(0.05)
    for step in range(1, 9):
        one.move(x - 40 - step * 6, y)
        other.move(x + 40 + step * 6, y)
        seen.hand.wait(0.02)
    one.up()
    other.up()
    seen.hand.wait(0.1)


def test_a_tile_never_shows_the_picture_of_another_however_late_it_comes(see):
    seen = see("10 inch lying")
    seen.app.go(replace(seen.route, screen="gallery", walk="", station=""))
    seen.hand.until(lambda: seen.grid.tiles)
    shown = 0

    for step in (*range(0, 3000, 130), *range(3000, 0, -470), *range(0, 3000, 990)):
        seen.grid.scroll_px(step)
        seen.hand.wait(1 / 60)
        for tile in seen.grid.shown_tiles():
            assert seen.shows_its_own(tile)
            shown += tile.texture is not None
    seen.settle()

    assert shown and all(seen.shows_its_own(tile) for tile in seen.grid.shown_tiles())
    assert all(tile.texture is not None for tile in seen.grid.shown_tiles())


@pytest.mark.parametrize("tablet", LOW_AND_TALL)
def test_filters_and_order_are_one_tap_each(see, tablet):
    seen = see(tablet, many=16)
    seen.go("gallery", walk="", station="")
    seen.tap("filter-not_ok")
    (tile,) = seen.grid.shown_tiles()
    assert (tile.tile.key, tile.state_line) == (seen.not_ok.sha256, "NOK sample")
    seen.check_layout()

    seen.walk.tap("filter-station welding")
    seen.settle()
    assert {one.tile.station for one in seen.grid.shown_tiles()} == {"3  Hot-plate weld"}
    seen.tap("filter-station welding")
    seen.tap("order")
    assert seen.hand.find("words").text.startswith("18 pictures, by station.")
    seen.check_layout()
    seen.grid.scroll_px(seen.grid.room_px)
    seen.settle()
    top = seen.grid.tiles[seen.grid.in_view()[0]].key
    seen.hand.turn(seen.hand.window.size[::-1])
    seen.settle()
    assert top in [seen.grid.tiles[index].key for index in seen.grid.in_view()]
    assert all(seen.shows_its_own(one) and one.texture for one in seen.grid.shown_tiles())


@pytest.mark.parametrize("tablet", LOW_AND_TALL)
def test_the_picture_just_taken_is_held_against_the_samples_at_the_same_place(see, tablet):
    seen = see(tablet, many=9)
    newest = seen.keep(60, walk=seen.route.walk, station="welding")
    before = seen.desk.records
    seen.go("judging", station="welding", check="ear-look")
    seen.check_layout()
    seen.tap("compare")
    assert (seen.at.screen, seen.at.picture) == ("compare", newest.sha256)
    seen.check_layout()
    is_low = tablet == "7 inch lying"
    names = ["this"] if is_low else ["ok", "this", "not_ok"]
    assert [one.pane.name for one in seen.glass.boxes()] == names

    seen.tap("zoom-in")
    seen.tap("zoom-in")
    seen.check_layout()
    if is_low:
        seen.tap("show-ok")
        assert seen.hand.find("word-ok").text == "OK sample"
        assert seen.hand.find("caption-ok").text == "Even colour all round the ear"
    else:
        boxes = [box(one.picture) for one in seen.glass.boxes()]
        assert boxes[0][1] > boxes[1][3] and boxes[1][1] > boxes[2][3]
        seen.tap("one-by-one")
        seen.tap("show-ok")
    (shown,) = seen.glass.boxes()
    assert seen.glass.lens.zoom == 2.25
    assert all(abs(a - b) < 12 for a, b in zip(shown.picture.texture.pixels[:3], colour(110), strict=True))
    seen.check_layout()

    x, y = middle_of(shown.picture)
    seen.hand.drag((x, y), (x - 80, y))
    both = seen.glass.lens
    assert both.x > 0.5 and both.apart == ()
    seen.tap("together")
    seen.hand.drag((x, y), (x + 40, y))
    assert seen.glass.lens.x == both.x and dict(seen.glass.lens.apart)["ok"][0] < 0
    seen.tap("alone")
    assert seen.at.screen == "look_at"
    seen.back()
    assert (seen.at.screen, seen.at.check) == ("judging", "ear-look")
    assert seen.desk.records == before


def test_from_the_photo_page_the_newest_picture_and_all_pictures_are_one_tap_away(see):
    seen = see("7 inch lying", many=3)
    (seen.camera / "new.png").write_bytes(picture(70))
    seen.go("photo", station="leak-test")
    seen.walk.tap("picture-1")
    (photo,) = [r for r in seen.desk.records if isinstance(r, Photo)][-1:]
    seen.tap("compare")
    assert (seen.at.screen, seen.at.picture) == ("compare", photo.sha256)
    seen.back()
    seen.tap("to-gallery")
    assert seen.hand.find("filter-station leak-test").is_framed
    seen.check_layout()
    seen.back()
    assert (seen.at.screen, seen.at.station) == ("photo", "leak-test")


def test_a_picture_that_is_missing_is_a_word_small_and_large(see):
    seen = see("7 inch lying", many=2)
    gone = seen.keep(80, "Pads", walk=seen.route.walk, station="welding")
    seen.desk.store.photo_path(gone.file_name).unlink()
    seen.go("gallery", walk="", station="")
    assert seen.grid.shown_tiles()[0].word == "Not on this tablet"
    seen.check_layout()
    seen.tap("picture-1")
    assert "Not on this tablet" in seen.hand.texts()
    seen.check_layout()


def test_low_memory_leaves_what_is_seen_and_the_rest_comes_again(see):
    seen = see("7 inch lying")
    seen.go("gallery", walk="", station="")
    for step in range(0, int(seen.grid.room_px), 300):
        seen.grid.scroll_px(step)
        seen.settle()
    textures = seen.app.page.textures
    full = textures.held_bytes
    assert full <= MOST_TEXTURE_BYTES

    seen.app.session.release_memory()
    seen.hand.wait(0.05)
    assert textures.held_bytes < full / 3
    assert all(tile.texture is not None for tile in seen.grid.shown_tiles())
    seen.grid.scroll_px(0)
    seen.settle()
    assert all(seen.shows_its_own(tile) and tile.texture for tile in seen.grid.shown_tiles())
