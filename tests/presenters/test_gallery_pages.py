"""The page of all pictures and the one of one picture large: what they show, where they lead, and back."""

from __future__ import annotations

import tracemalloc
from dataclasses import replace

import pytest
from PIL import Image

from tests.cameras import FACE, Camera
from tests.fakes import Queue, run_now
from tests.photos.camera import as_jpeg, as_png, scene
from walkapp.actions import gallery as gallery_actions
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.pictures import Picture
from walkapp.errors import StoreError
from walkapp.files import sha256_of
from walkapp.model.ids import book_id
from walkapp.model.records import Photo, PhotoCopy, picture_file_name
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.cover import CoveredPlace, CoverPicturePage
from walkapp.presenters.gallery import GalleryPage
from walkapp.presenters.intake import EvidencePage
from walkapp.presenters.judging import JudgingPage
from walkapp.presenters.look_at import LARGEST_PX, ComparePage, LookAtPage
from walkapp.presenters.photo import PhotoPage
from walkapp.presenters.picture_feed import MOST_AT_ONCE, PictureFeed, Wish
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session


def picture(number):
    return as_jpeg(scene((40 + number, 30)))


@pytest.fixture
def camera(desk):
    return Camera(desk.pictures, desk=desk)


def keep(camera, data, caption="", **subject):
    subject = Subject(concern=camera.route.concern, **subject)
    return keep_photo(camera.desk.place, subject, data, "x.jpg", caption=caption)


def opened(camera, kind, route):
    page = kind(camera.desk.session, route)
    page.open()
    return page


def gallery(camera, **more):
    route = Route(screen="gallery", concern=camera.route.concern, **more)
    return opened(camera, GalleryPage, route)


def keys(page):
    return [tile.key for tile in page.state.tiles]


def words(page):
    return {one.word: one.text for one in page.state.filters}


def large(camera, photo, kind=LookAtPage, **more):
    route = Route(concern=camera.route.concern, picture=photo.sha256, **more)
    return opened(camera, kind, replace(route, screen=kind.screen))


def made(page, wish):
    """Let the feed of a page make one picture at once."""
    came = []
    page.feed.watch(lambda one, shown: came.append((one, shown)))
    page.feed.want([wish])
    ((one, shown),) = came
    assert one == wish
    return shown


# All pictures


def test_each_picture_is_told_by_caption_station_time_person_and_state_the_newest_first(camera):
    taken = camera.take(picture(1), station="leak-test")
    camera.cover(taken, FACE)
    sample = keep(camera, picture(2), "even colour", limit="ok")

    page = gallery(camera)

    first, second = page.state.tiles
    assert (first.key, first.caption, first.station) == (
        sample.sha256,
        "even colour",
        "Limit sample of the concern",
    )
    assert (first.marks, first.state) == (("clean",), "OK sample")
    assert (second.caption, second.station) == ("41 x 30", "4  Leak test")
    assert second.made.endswith(", QE-RT") and second.made.startswith("2026-03-0")
    assert (second.marks, second.state) == (("covered",), "Covered, invented")
    assert page.state.words == "2 pictures, newest first. Tap one to see it large."


def test_a_concern_without_pictures_says_so_and_its_page_leads_there(camera):
    concern = opened(camera, ConcernPage, Route(screen="concern", concern=camera.route.concern))
    (row,) = (row for row in concern.state.parts if row.id == "gallery")
    assert (row.title, row.subtitle) == ("Pictures", "No picture yet")
    concern.to_part("gallery")

    page = opened(camera, GalleryPage, camera.desk.routes[-1])
    assert page.state.words == "No picture is recorded yet."
    assert words(page) == {"ok": "OK sample: 0", "not_ok": "NOK sample: 0"}
    page.back()
    assert camera.desk.routes[-1] == Route(screen="concern", concern=camera.route.concern)


def test_one_tap_shows_the_samples_of_a_side_or_a_station_and_the_same_again_shows_all(camera):
    ok, bad = keep(camera, picture(1), limit="ok"), keep(camera, picture(2), limit="not_ok")
    evidence = keep(camera, picture(3), about=camera.desk.place.new_id())
    weld, leak = (camera.take(picture(n), station=s) for n, s in ((4, "welding"), (5, "leak-test")))
    page = gallery(camera)
    assert words(page) == {
        "all": "All: 5",
        "ok": "OK sample: 1",
        "not_ok": "NOK sample: 1",
        "evidence": "Evidence: 1",
        "station welding": "3  Hot-plate weld: 1",
        "station leak-test": "4  Leak test: 1",
    }

    wanted = {
        "ok": [ok],
        "not_ok": [bad],
        "evidence": [evidence],
        "station welding": [weld],
        "station leak-test": [leak],
    }
    for word, photos in wanted.items():
        page.choose_filter(word)
        assert (page.state.chosen, keys(page)) == (word, [p.sha256 for p in photos])
    page.choose_filter("station leak-test")
    assert (page.state.chosen, len(page.state.tiles)) == ("all", 5)


def test_the_other_order_is_that_of_the_stream_and_the_concerns_own_come_first(camera):
    late, early = (camera.take(picture(n), station=s) for n, s in ((1, "leak-test"), (2, "moulding")))
    sample = keep(camera, picture(3), limit="ok")
    page = gallery(camera)
    assert keys(page) == [sample.sha256, early.sha256, late.sha256]

    camera.take(picture(4), station="leak-test")
    page.change_order()

    assert page.state.words.startswith("4 pictures, by station.")
    assert [tile.station[:1] for tile in page.state.tiles] == ["L", "1", "4", "4"]
    page.change_order()
    assert page.state.words.startswith("4 pictures, newest first.")


def test_from_a_station_its_own_pictures_are_shown_and_all_are_one_tap_away(camera):
    here = camera.take(picture(1), station="leak-test")
    camera.take(picture(2), station="welding")
    photo_page = opened(camera, PhotoPage, replace(camera.route, screen="photo", station="leak-test"))
    photo_page.to_gallery()
    page = opened(camera, GalleryPage, camera.desk.routes[-1])

    assert (page.state.chosen, keys(page)) == ("station leak-test", [here.sha256])
    assert words(page)["walk"] == "This walk: 2"
    page.choose_filter("all")
    assert len(page.state.tiles) == 2
    page.back()
    assert camera.desk.routes[-1] == photo_page.route


def test_a_picture_that_was_taken_back_while_it_was_wished_for_is_a_word(camera):
    camera.take(picture(1), station="leak-test")
    page = gallery(camera)
    (tile,) = page.state.tiles
    camera.undo()
    page.open()

    assert made(page, tile.wish).trouble == "Not on this tablet"


def test_the_photo_page_of_a_station_with_very_many_pictures_shows_the_newest(camera):
    photos = [camera.take(picture(n), station="leak-test") for n in range(14)]

    page = opened(camera, PhotoPage, replace(camera.route, screen="photo", station="leak-test"))

    assert [tile.key for tile in page.state.choice.kept] == [p.sha256 for p in photos[:1:-1]]


def test_from_a_station_without_pictures_all_are_shown(camera):
    camera.take(picture(1), station="welding")

    page = gallery(camera, station="leak-test", through="photo")

    assert (page.state.chosen, len(page.state.tiles)) == ("all", 1)


def test_from_the_evidence_of_an_entry_only_that_is_shown(camera):
    entry = camera.desk.place.new_id()
    own = keep(camera, picture(1), about=entry)
    keep(camera, picture(2), about=camera.desk.place.new_id())
    evidence = opened(
        camera, EvidencePage, Route(screen="evidence", concern=camera.route.concern, entry=entry)
    )
    evidence.to_gallery()
    page = opened(camera, GalleryPage, camera.desk.routes[-1])

    assert (page.state.chosen, keys(page)) == ("entry", [own.sha256])
    page.choose_filter("evidence")
    assert len(page.state.tiles) == 2


def test_pictures_of_an_audit_book_have_the_same_page(camera):
    place = camera.desk.place
    book = book_id("washer-reservoir", place.now().date())
    keep_photo(place, Subject(concern=book, about=place.new_id()), picture(1), "x.jpg")

    page = opened(camera, GalleryPage, Route(screen="gallery", concern=book))

    assert page.state.subtitle == "Audits, March 2026"
    assert [tile.station for tile in page.state.tiles] == ["Evidence of an entry"]
    assert words(page) == {"all": "All: 1", "evidence": "Evidence: 1"}


def test_of_very_many_pictures_the_first_are_listed_and_that_is_said(camera, monkeypatch):
    for number in range(5):
        camera.take(picture(number), station=("welding", "leak-test")[number % 2])
    monkeypatch.setattr("walkapp.presenters.gallery.MOST_LISTED", 3)

    page = gallery(camera)

    assert len(page.state.tiles) == 3 < gallery_actions.MOST_LISTED
    assert page.state.words == "The first 3 of 5 pictures are listed; choose a station to see others."


# Where the page was


def test_filter_order_and_place_are_there_again_after_a_look_and_after_a_restart(camera):
    photos = [camera.take(picture(n), station="leak-test") for n in range(4)]
    page = gallery(camera, through="concern")
    page.choose_filter("station leak-test")
    page.change_order()
    page.look_at(photos[1].sha256, photos[2].sha256, 37.4)
    look = opened(camera, LookAtPage, camera.desk.routes[-1])
    look.back()

    restarted = Session(
        camera.desk.place,
        run_later=run_now,
        go=lambda route: None,
        picture_folders=(camera.desk.pictures,),
        bundles=camera.folder,
    )
    for session in (camera.desk.session, restarted):
        again = GalleryPage(session, camera.desk.routes[-1])
        again.open()
        state = again.state
        assert (state.chosen, state.words) == (
            "station leak-test",
            "4 pictures, by station. Tap one to see it large.",
        )
        assert (state.top, state.top_px, state.last) == (photos[2].sha256, 37.0, photos[1].sha256)


def test_a_page_that_was_left_upwards_begins_anew(camera):
    camera.take(picture(1), station="leak-test")
    keep(camera, picture(2), limit="ok")
    page = gallery(camera, through="concern")
    page.choose_filter("ok")
    page.back()

    again = gallery(camera, through="concern")

    assert (again.state.chosen, again.state.top) == ("all", "")


@pytest.mark.parametrize("spoilt", [{"top_px": "nan"}, {"top_px": "far"}, {"order": "x", "chosen": "y"}])
def test_a_kept_place_that_makes_no_sense_is_no_place(camera, spoilt):
    camera.take(picture(1))
    page = gallery(camera)
    page.look_at(keys(page)[0], keys(page)[0], 10)
    kept = camera.desk.session.kept.draft("gallery")
    camera.desk.session.kept.keep_draft("gallery", kept | spoilt)

    again = gallery(camera)

    assert (again.state.chosen, len(again.state.tiles), again.state.problem) == ("all", 1, "")
    assert 0 <= again.state.top_px < 1e6


# One picture large


def test_a_picture_is_told_of_and_the_next_ones_follow_in_the_order_of_the_page(camera):
    photos = [camera.take(picture(n), station="leak-test") for n in range(3)]
    keep(camera, picture(7), limit="ok")
    page = gallery(camera, through="concern")
    page.choose_filter("station leak-test")
    page.look_at(photos[1].sha256, "", 0)
    look = opened(camera, LookAtPage, camera.desk.routes[-1])

    assert look.state.title == "Picture 2 of 3"
    assert look.state.lines[0] == "Invented" and look.state.lines[1].startswith("4  Leak test: 2026-03-0")
    look.press("next")
    assert (look.state.panes[0].key, look.state.title) == (photos[0].sha256, "Picture 3 of 3")
    assert {one.name: one.is_off for one in look.state.buttons}["next"] is True
    look.turn(1)
    assert look.state.title == "Picture 3 of 3"
    look.press("before")
    look.press("before")
    assert look.state.panes[0].key == photos[2].sha256
    assert camera.desk.session.kept.route().picture == photos[2].sha256
    look.back()
    assert camera.desk.routes[-1].picture == photos[2].sha256


def test_a_picture_recorded_twice_tells_both_and_one_that_is_gone_says_so(camera):
    camera.take(picture(1), station="moulding")
    twice = camera.take(picture(1), station="leak-test")

    look = large(camera, twice)
    assert [line[:9] for line in look.state.lines[1:]] == ["4  Leak t", "1  Mouldi"]

    gone = large(camera, replace_sha(twice))
    assert gone.state.problem.startswith("This picture is not recorded here any more")


def replace_sha(photo):
    return replace(photo, sha256="0" * 64)


def test_a_picture_outside_what_the_page_shows_stands_alone(camera):
    sample = keep(camera, picture(1), limit="ok")
    camera.take(picture(2), station="leak-test")

    look = large(camera, sample, station="leak-test")

    assert look.state.title == "Picture" and look.state.panes[0].key == sample.sha256


def test_covering_people_works_for_any_picture_and_leads_back_to_it_as_it_is_then(camera):
    for photo in (camera.take(), keep(camera, picture(3), limit="ok")):
        look = large(camera, photo, through="concern gallery")
        before = look.state.panes[0].version
        look.press("cover_picture")
        cover = opened(camera, CoverPicturePage, camera.desk.routes[-1])
        cover.lay(CoveredPlace(0.1, 0.2, 0.4, 0.6))
        assert cover.state.frame.saved.startswith("On disk: covered place")
        cover.back()

        assert camera.desk.routes[-1] == look.route
        again = opened(camera, LookAtPage, camera.desk.routes[-1])
        assert again.state.panes[0].version != before == ""
        assert "covered" in " ".join(again.state.lines).lower()


def test_what_is_shown_large_has_every_covered_place_covered(camera):
    photo = camera.take()
    bare = made(large(camera, photo), Wish(photo.sha256, "", LARGEST_PX))
    camera.cover(photo, FACE)
    look = large(camera, photo)
    (wish, whole) = look.state.panes[0].wishes()

    assert made(look, whole).pixels != bare.pixels
    assert (wish.version, whole.longest_px) == ("4 6 24 30", 2048)


# Beside the limit samples


def test_a_picture_stands_between_the_newest_samples_and_others_are_one_tap_away(camera):
    oks = [keep(camera, picture(n), f"ok {n}", limit="ok") for n in range(2)]
    bad = keep(camera, picture(5), "cracked", limit="not_ok")
    taken = camera.take(picture(9), station="welding")
    look = large(camera, taken)
    look.press("compare")
    page = opened(camera, ComparePage, camera.desk.routes[-1])

    assert [(pane.name, pane.mark, pane.key) for pane in page.state.panes] == [
        ("ok", "clean", oks[1].sha256),
        ("this", "here", taken.sha256),
        ("not_ok", "bad", bad.sha256),
    ]
    assert [pane.place for pane in page.state.panes] == ["1 of 2", "", ""]
    assert [pane.caption for pane in page.state.panes] == ["ok 1", "", "cracked"]
    assert [one.name for one in page.state.buttons] == ["alone", "other-ok"]
    page.press("other-ok")
    assert page.state.panes[0].key == oks[0].sha256
    page.press("other-ok")
    assert page.state.panes[0].key == oks[1].sha256
    page.press("alone")
    assert camera.desk.routes[-1] == look.route


def test_a_side_without_a_sample_says_so_and_without_any_nothing_is_offered(camera):
    taken = camera.take(picture(9))
    assert "compare" not in [one.name for one in large(camera, taken).state.buttons]

    keep(camera, picture(1), limit="ok")
    assert "compare" in [one.name for one in large(camera, taken).state.buttons]
    last = large(camera, taken, ComparePage).state.panes[-1]
    assert (last.key, last.caption, last.wishes()) == ("", "No NOK sample yet", ())


def test_the_picture_just_taken_is_one_tap_from_the_samples(camera):
    keep(camera, picture(1), limit="ok")
    camera.take(picture(2), station="leak-test")
    newest = camera.take(picture(3), station="leak-test")
    camera.take(picture(4), station="welding")
    at = replace(camera.route, station="leak-test")

    judging = opened(camera, JudgingPage, replace(at, screen="judging", check="ear-look"))
    judging.compare()
    assert (camera.desk.routes[-1].screen, camera.desk.routes[-1].picture) == ("compare", newest.sha256)
    assert replace(camera.desk.routes[-1].up(), picture="") == judging.route

    photo_page = opened(camera, PhotoPage, replace(at, screen="photo"))
    photo_page.compare(photo_page.state.choice.kept[0].key)
    assert (camera.desk.routes[-1].screen, camera.desk.routes[-1].picture) == ("compare", newest.sha256)

    outside = opened(camera, JudgingPage, Route(screen="judging", concern=camera.route.concern))
    assert outside.state.newest == ""


# Odd pictures


def test_odd_pictures_are_shown_or_a_clear_word_is_and_none_hides_another(camera):
    odd = {
        "one": as_png(Image.new("RGB", (1, 1), "red")),
        "panorama": as_png(Image.new("RGB", (20_000, 200), "blue")),
        "16 bit": as_png(Image.new("I;16", (300, 200), 30_000)),
        "clear": as_png(Image.new("RGBA", (300, 200), (255, 0, 0, 0))),
        "50 megapixels": as_jpeg(Image.new("L", (8_000, 6_250), 90)),
    }
    photos = {name: camera.take(data, "moulding") for name, data in odd.items()}
    for number, name in enumerate(("missing", "damaged")):
        photos[name] = camera.take(picture(number), "moulding")
    camera.desk.store.photo_path(photos["missing"].file_name).unlink()
    camera.desk.store.photo_path(photos["damaged"].file_name).write_bytes(b"\0" * 60)
    photos["huge"] = too_large(camera)
    page = gallery(camera)

    by_key = {tile.key: made(page, tile.wish) for tile in page.state.tiles}

    shown_as = {name: by_key[photo.sha256] for name, photo in photos.items()}
    assert {name: (one.trouble, one.size) for name, one in shown_as.items()} == {
        "one": ("", (1, 1)),
        "panorama": ("", (320, 3)),
        "16 bit": ("", (300, 200)),
        "clear": ("", (300, 200)),
        "50 megapixels": ("", (320, 250)),
        "missing": ("Not on this tablet", (1, 1)),
        "damaged": ("Damaged, cannot be shown", (1, 1)),
        "huge": ("Too large to be shown", (1, 1)),
    }
    assert shown_as["clear"].pixels[:3] == b"\xff\xff\xff"


def too_large(camera):
    """Record a picture that no intake lets through, as a bundle from elsewhere might bring it."""
    data = as_jpeg(Image.new("L", (8_000, 6_260), 90))
    sha256 = sha256_of(data)
    camera.desk.store.add_photo(picture_file_name(sha256, "image/jpeg"), data)
    where = {"concern": camera.route.concern, "walk": camera.route.walk, "station": "moulding"}
    size = {"size_bytes": len(data), "width_px": 8_000, "height_px": 6_260}
    return camera.desk.place.add(Photo, sha256=sha256, media="image/jpeg", **size, **where)


def test_a_station_that_the_checklist_does_not_know_is_offered_as_it_was_recorded(camera):
    data = picture(1)
    sha256 = sha256_of(data)
    camera.desk.store.add_photo(picture_file_name(sha256, "image/jpeg"), data)
    where = {"concern": camera.route.concern, "walk": camera.route.walk, "station": "no-such-station"}
    size = {"size_bytes": len(data), "width_px": 41, "height_px": 30}
    camera.desk.place.add(Photo, sha256=sha256, media="image/jpeg", **size, **where)

    page = gallery(camera)
    page.choose_filter("station no-such-station")

    assert words(page)["station no-such-station"] == "no-such-station: 1"
    assert [tile.station for tile in page.state.tiles] == ["no-such-station"]


def test_two_tablets_that_covered_different_places_show_the_picture_with_both_covered(camera):
    photo = camera.take()
    camera.cover(photo, FACE)
    size = {"media": "image/jpeg", "size_bytes": 9, "width_px": 80, "height_px": 48}
    where = {"concern": photo.concern, "walk": photo.walk, "station": photo.station}
    said = {"photo": photo.sha256, "sha256": "1" * 64, "covered": "60 30 70 40"}
    camera.desk.place.add(PhotoCopy, **said, **size, **where)

    (tile,) = gallery(camera).state.tiles

    assert sorted(tile.version.split("; ")) == ["4 6 24 30", "60 30 70 40"]


# On their way


def wishes(*numbers):
    return [Wish(f"{number:064x}", "", 320) for number in numbers]


def shown(wish):
    return Picture(key=wish.key, caption="", size=(1, 1), pixels=b"\0\0\0")


def test_what_was_scrolled_past_is_never_made():
    asked, came, queue = [], [], Queue()
    feed = PictureFeed(queue, lambda wish: asked.append(wish) or shown(wish), pytest.fail)
    feed.watch(lambda wish, _: came.append(wish))
    feed.want(wishes(*range(100)))
    feed.want(wishes(200, 201))
    queue.run()

    assert asked == came == wishes(200, 201)


def test_pictures_come_a_few_at_a_time_and_the_wish_may_change_in_between():
    came, queue = [], Queue()
    feed = PictureFeed(queue, shown, pytest.fail)
    feed.watch(lambda wish, _: came.append(wish))
    feed.want(wishes(*range(10)))
    assert len(queue.waiting) == 1
    run_now(*queue.waiting.pop())
    assert came == wishes(*range(MOST_AT_ONCE))

    feed.want(wishes(50))
    queue.run()
    assert came[MOST_AT_ONCE:] == wishes(50)
    feed.want(())
    assert queue.waiting == []


def test_a_wish_that_fails_is_told_and_the_others_still_come():
    came, failed, queue = [], [], Queue()

    def make(wish):
        if wish in wishes(1):
            raise StoreError("The store cannot be read; start the app once more.")
        return shown(wish)

    feed = PictureFeed(queue, make, failed.append)
    feed.watch(lambda wish, _: came.append(wish))
    feed.want(wishes(1, 2))
    queue.run()

    assert (len(failed), came) == (1, wishes(2))


# Low memory


def test_low_memory_gives_back_what_can_be_made_again_and_every_page_goes_on(camera):
    session = camera.desk.session
    photos = [camera.take(as_jpeg(scene((900 + n, 700))), station="leak-test") for n in range(20)]
    keep(camera, picture(1), "even colour", limit="ok")
    session.finder.update()
    assert session.finder.find("crack").total
    page = gallery(camera)
    released = []

    class Screen:
        def release(self):
            released.append(True)

    screen, gone = Screen(), Screen()
    session.when_memory_is_low(screen.release)
    session.when_memory_is_low(gone.release)
    del gone
    tracemalloc.start()
    try:
        for tile in page.state.tiles:
            made_there = GalleryPage(session, page.route)
            made_there.open()
            made(made_there, tile.wish)
        full, _ = tracemalloc.get_traced_memory()
        held = session.thumbnails.held_bytes
        session.release_memory()
        empty, _ = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()

    assert held > 20 * 200_000 and session.thumbnails.held_bytes == 0
    assert full - empty > 0.9 * held
    assert released == [True]
    assert made(gallery(camera), page.state.tiles[0].wish).trouble == ""
    assert large(camera, photos[0]).state.problem == ""
    session.finder.update()
    assert session.finder.find("crack").total


def test_low_memory_before_anything_was_shown_does_nothing(desk):
    desk.session.release_memory()

    assert "thumbnails" not in vars(desk.session)
