"""All pictures of a concern, each once, and the parts of them that are looked at."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tests.builders import record_id
from tests.cameras import FACE
from tests.fakes import CHECKLISTS
from tests.photos.camera import as_jpeg, scene
from walkapp.actions.books import facts_of
from walkapp.actions.gallery import (
    GalleryPicture,
    by_station,
    gallery_of,
    narrowed_gallery,
    stations_of,
)
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.marks import add_mark
from walkapp.actions.reading import concern_facts
from walkapp.checklists import load_streams
from walkapp.model.drawings import Drawing
from walkapp.model.ids import book_id
from walkapp.model.records import LIMITS, Photo


def picture(number):
    return as_jpeg(scene((40 + number, 30)))


def seen(camera):
    return gallery_of(concern_facts(camera.desk.place, camera.route.concern))


def keep(camera, data, **subject):
    subject = Subject(concern=camera.route.concern, **subject)
    return keep_photo(camera.desk.place, subject, data, "x.jpg")


def test_a_picture_that_was_recorded_twice_is_there_once_with_both_records(camera):
    first = camera.take(picture(1), station="moulding")
    other = camera.take(picture(2), station="moulding")
    again = camera.take(picture(1), station="leak-test")

    found = seen(camera)

    assert [one.photos for one in found] == [(again, first), (other,)]
    at_moulding = narrowed_gallery(found, "station moulding")
    assert [one.photos[0] for one in at_moulding] == [first, other]
    assert stations_of(found) == {"moulding": 2, "leak-test": 1}


def test_samples_evidence_walk_and_covered_places_are_known_of_each_picture(camera):
    entry = camera.desk.place.new_id()
    ok, not_ok = (keep(camera, picture(n), limit=limit) for n, limit in enumerate(LIMITS))
    evidence = keep(camera, picture(5), about=entry)
    taken = camera.take()
    camera.cover(taken, FACE)
    keep(camera, picture(0), limit="not_ok")  # two people do not agree

    found = {one.sha256: one for one in seen(camera)}

    assert found[ok.sha256].limits == LIMITS and found[not_ok.sha256].limits == ("not_ok",)
    assert [found[p.sha256].is_evidence for p in (ok, evidence, taken)] == [False, True, False]
    assert [found[p.sha256].covered for p in (evidence, taken)] == [0, 1]
    assert found[evidence.sha256].version == "" != found[taken.sha256].version

    def keys(wanted, **more):
        return {one.sha256 for one in narrowed_gallery(found.values(), wanted, **more)}

    assert keys("ok") == {ok.sha256} and keys("not_ok") == {ok.sha256, not_ok.sha256}
    assert keys("evidence") == keys("entry", entries=(entry,)) == {evidence.sha256}
    assert keys("walk", walk=camera.route.walk) == {taken.sha256}
    assert keys("walk") == keys("entry") == keys("station nowhere") == keys("no such word") == set()


def test_a_picture_that_was_taken_back_is_not_there(camera):
    camera.take(picture(1))
    camera.undo()

    assert seen(camera) == ()


def test_pictures_of_an_audit_book_are_found_in_the_same_way(camera):
    place = camera.desk.place
    book = book_id("washer-reservoir", place.now().date())
    subject = Subject(concern=book, about=place.new_id())
    keep_photo(place, subject, picture(1), "x.jpg", caption="guard open")

    assert [one.photos[0].caption for one in gallery_of(facts_of(place, book))] == ["guard open"]


STREAM = next(stream for stream in load_streams(CHECKLISTS) if stream.id == "washer-reservoir")
STATIONS = ("", "moulding", "leak-test", "strange", "another")


def found_at(number, station):
    photo = Photo(
        id=record_id(number),
        at="2026-03-02T06:10:00.000+01:00",
        by="QE-RT",
        device=record_id(901),
        number=number + 1,
        concern=record_id(902),
        station=station,
        sha256=f"{number:064x}",
        media="image/jpeg",
        size_bytes=1,
        width_px=1,
        height_px=1,
        limit="" if station else "ok",
    )
    return GalleryPicture(photos=(photo,), copies=None)


@given(stations=st.lists(st.sampled_from(STATIONS), max_size=12))
def test_by_station_is_the_order_of_the_stream_with_strange_stations_last(stations):
    found = tuple(found_at(number, station) for number, station in enumerate(stations))

    ordered = by_station(found, STREAM)

    order = ["", *(station.id for station in STREAM.stations), *sorted(STATIONS[3:])]
    places = [(order.index(one.photos[0].station), found.index(one)) for one in ordered]
    assert places == sorted(places) and len(places) == len(found)


def test_a_mark_that_was_drawn_changes_how_a_picture_looks(camera):
    photo = camera.take()
    before = gallery_of(camera.now.facts)[0]

    mark = add_mark(camera.desk.place, photo, Drawing(shape="ring", points=((0.2, 0.2), (0.4, 0.4))))
    after = gallery_of(camera.now.facts)[0]

    assert (before.marks, after.marks) == ((), (mark.id,))
    assert before.version != after.version
