"""Marks on pictures: added, changed, taken away, undone and merged; the picture stays as it was taken."""

from __future__ import annotations

import csv
import io
import tempfile
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.builders import make, record_id
from tests.cameras import FACE, Camera
from tests.photos.camera import as_jpeg, as_png, scene
from walkapp.actions.copies import copies_by_photo
from walkapp.actions.disputes import disputes_of
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.marks import (
    MOST_DRAWN_POINTS,
    MOST_MARKS,
    PictureMarks,
    add_mark,
    change_mark,
    marks_on,
    newest_mark,
    remove_mark,
    undo_mark,
)
from walkapp.actions.pictures import kept_pictures, shown_picture
from walkapp.actions.reading import concern_facts
from walkapp.actions.sheet.evidence import evidence
from walkapp.actions.summaries import summarise, summary_to_json
from walkapp.actions.thumbnails import Thumbnails
from walkapp.bundle import write_bundle
from walkapp.errors import InputError
from walkapp.model.drawings import Drawing, Point, points_to_text
from walkapp.model.records import PictureMark, Withdrawal
from walkapp.model.strokes import LIGHT_INK, words_at
from walkapp.search import typed_texts

ARROW = Drawing("arrow", (Point(0.1, 0.9), Point(0.5, 0.5)))
RING = Drawing("ring", (Point(0.2, 0.2), Point(0.6, 0.6)))
CRACK = words_at(Point(0.5, 0.5), "crack")


def place_of(camera):
    return camera.desk.place


def drawn(camera, photo):
    return [mark.drawing for mark in marks_on(place_of(camera), photo).drawn]


def shown(camera, photo, longest=80):
    facts = camera.now.facts
    copies = copies_by_photo(facts.standing).get(photo.sha256)
    picture = shown_picture(place_of(camera), photo, copies, longest)
    return Image.frombytes("RGB", picture.size, picture.pixels)


def second_tablet(camera, tmp_path, seed=1):
    """Another tablet that knows all that the first one does."""
    other = Camera(tmp_path / str(seed), seed=seed, route=camera.route)
    other.merge(camera.send(f"to-{seed}.zip", originals=True).path)
    return other


def test_a_mark_is_one_record_beside_the_concern_and_changes_no_picture(camera):
    photo = camera.take()
    store = camera.desk.store
    before = store.photo_path(photo.file_name).read_bytes(), store.photo_names()
    count = len(camera.desk.records)

    made = add_mark(place_of(camera), photo, ARROW)

    assert camera.desk.records.count(made) == 1
    assert len(camera.desk.records) == count + 1
    assert (made.concern, made.walk, made.photo) == (photo.concern, "", photo.sha256)
    assert (store.photo_path(photo.file_name).read_bytes(), store.photo_names()) == before


def test_a_mark_is_changed_by_a_record_that_replaces_it_and_taken_away_by_a_withdrawal(camera):
    photo = camera.take()
    first = add_mark(place_of(camera), photo, ARROW)

    second = change_mark(place_of(camera), photo, first.id, ARROW.moved(0.1, 0))
    assert second.replaces == (first.id,)
    assert drawn(camera, photo) == [ARROW.moved(0.1, 0)]

    gone = remove_mark(place_of(camera), photo, second.id)
    assert isinstance(gone, Withdrawal)
    assert drawn(camera, photo) == []
    with pytest.raises(InputError, match="This mark was changed or taken away meanwhile"):
        change_mark(place_of(camera), photo, second.id, RING)


def test_undo_goes_back_step_by_step_and_leaves_other_pictures_alone(camera):
    photo, other = camera.take(), camera.take(as_png(scene((30, 20))))
    mark = add_mark(place_of(camera), photo, ARROW)
    mark = change_mark(place_of(camera), photo, mark.id, RING)
    remove_mark(place_of(camera), photo, mark.id)
    add_mark(place_of(camera), other, CRACK)
    camera.walking.note("dock", "much later")

    seen = []
    while newest_mark(place_of(camera), photo) is not None:
        undo_mark(place_of(camera), photo)
        seen.append(drawn(camera, photo))

    assert seen == [[RING], [ARROW], []]
    assert drawn(camera, other) == [CRACK]
    with pytest.raises(InputError, match="nothing on this page that this tablet could take back"):
        undo_mark(place_of(camera), photo)


def nth(number: int) -> Drawing:
    """A drawing unlike every other one."""
    return Drawing("arrow", (Point(0, number / 100), Point(1, number / 100)))


steps = st.lists(
    st.tuples(st.sampled_from(("add", "add", "change", "remove", "undo", "undo")), st.integers(0, 9)),
    max_size=12,
)


@settings(max_examples=25)
@given(steps=steps)
def test_any_steps_and_undos_give_what_a_list_and_its_past_give(steps):
    with tempfile.TemporaryDirectory() as folder:
        camera = Camera(Path(folder))
        photo = camera.take()
        now: list[Drawing] = []
        past: list[list[Drawing]] = []
        for number, (step, at) in enumerate(steps):
            marks = {mark.drawing: mark.id for mark in marks_on(place_of(camera), photo).drawn}
            assert set(marks) == set(now)
            chosen = now[at % len(now)] if now else None
            if step == "undo":
                assert (newest_mark(place_of(camera), photo) is not None) == bool(past)
                if past:
                    undo_mark(place_of(camera), photo)
                    now = past.pop()
            elif step == "add":
                past.append(list(now))
                add_mark(place_of(camera), photo, nth(number))
                now = [*now, nth(number)]
            elif chosen is not None:
                past.append(list(now))
                now = [one for one in now if one != chosen]
                if step == "change":
                    change_mark(place_of(camera), photo, marks[chosen], nth(number))
                    now.append(nth(number))
                else:
                    remove_mark(place_of(camera), photo, marks[chosen])
        assert set(drawn(camera, photo)) == set(now)
        camera.close()


def test_two_tablets_that_mark_the_same_picture_both_keep_their_marks(camera, tmp_path):
    photo = camera.take()
    other = second_tablet(camera, tmp_path)
    add_mark(place_of(camera), photo, ARROW)
    add_mark(place_of(other), photo, RING)

    camera.merge(other.send("there.zip").path)
    other.merge(camera.send("here.zip").path)

    assert set(drawn(camera, photo)) == {ARROW, RING} == set(drawn(other, photo))
    assert shown(camera, photo).tobytes() == shown(other, photo).tobytes()
    undo_mark(place_of(camera), photo)
    assert drawn(camera, photo) == [RING]
    other.close()


def test_what_two_tablets_did_to_one_mark_both_stays_and_disputes_nothing(camera, tmp_path):
    photo = camera.take()
    first, second = (add_mark(place_of(camera), photo, one) for one in (ARROW, CRACK))
    other = second_tablet(camera, tmp_path)
    change_mark(place_of(camera), photo, first.id, ARROW.moved(0.2, 0))
    change_mark(place_of(other), photo, first.id, ARROW.moved(0, -0.2))
    remove_mark(place_of(camera), photo, second.id)
    remove_mark(place_of(other), photo, second.id)

    camera.merge(other.send("there.zip").path)
    other.merge(camera.send("here.zip").path)

    for tablet in (camera, other):
        assert set(drawn(tablet, photo)) == {ARROW.moved(0.2, 0), ARROW.moved(0, -0.2)}
        facts = concern_facts(place_of(tablet), photo.concern)
        assert disputes_of(place_of(tablet), facts) == ()
        (summary,) = summarise(place_of(tablet), thorough=False)
        assert not any("corrected differently" in w for w in summary_to_json(summary)["warnings"])
    for mark in marks_on(place_of(camera), photo).drawn:
        remove_mark(place_of(camera), photo, mark.id)
    assert drawn(camera, photo) == []
    other.close()


def test_the_same_picture_in_another_concern_has_marks_of_its_own(camera):
    photo = camera.take()
    other = camera.desk.concern(what="Another defect (invented)")
    data = camera.desk.store.photo_path(photo.file_name).read_bytes()
    twin = keep_photo(place_of(camera), Subject(concern=other, limit="ok"), data, "x.jpg")
    again = camera.take(station="dock")

    add_mark(place_of(camera), photo, ARROW)

    assert drawn(camera, again) == [ARROW]
    assert drawn(camera, twin) == []


def test_a_picture_taken_back_and_taken_in_again_has_its_marks(camera):
    photo = camera.take()
    add_mark(place_of(camera), photo, ARROW)
    camera.undo()

    assert drawn(camera, camera.take()) == [ARROW]


def test_marks_are_seen_small_and_large_and_said(camera):
    photo = camera.take(as_jpeg(scene((400, 300))))
    thumbnails = Thumbnails(place_of(camera))
    plain = thumbnails.give(photo, None, 200)

    add_mark(place_of(camera), photo, ARROW)

    marked = thumbnails.give(photo, None, 200)
    assert marked.pixels != plain.pixels
    assert marked.pixels == shown_picture(place_of(camera), photo, None, 200).pixels
    for longest in (80, 200, 400):
        image = shown(camera, photo, longest)
        x, y = round(image.width * 0.3), round(image.height * 0.7)
        inks = [image.getpixel((x + i, y)) for i in (-1, 0, 1)]
        assert any(all(abs(a - b) < 70 for a, b in zip(ink, LIGHT_INK, strict=True)) for ink in inks)
    standing = camera.now.facts.standing
    (tile,) = kept_pictures(place_of(camera), Thumbnails(place_of(camera)).give, [photo], standing)
    assert tile.caption == "400 x 300, 1 mark"
    undo_mark(place_of(camera), photo)
    assert thumbnails.give(photo, None, 200).pixels == plain.pixels


def test_marks_lie_over_covered_places_and_uncover_nothing(camera):
    photo = camera.take(as_png(scene((80, 48))))
    camera.cover(photo, FACE)
    covered = shown(camera, photo)

    add_mark(place_of(camera), photo, Drawing("line", (Point(0, 0.5), Point(1, 0.5))))

    marked, taken = shown(camera, photo), scene((80, 48))
    inks = [(0, 0, 0), LIGHT_INK]
    for x in range(FACE.left, FACE.right):
        for y in range(FACE.top, FACE.bottom):
            pixel = marked.getpixel((x, y))
            assert pixel == covered.getpixel((x, y)) or pixel in inks
    assert any(covered.getpixel((x, 12)) != taken.getpixel((x, 12)) for x in range(FACE.left, FACE.right))


def test_the_sheet_shows_the_marks(camera):
    photo = camera.take(as_jpeg(scene((400, 300))))
    facts = camera.now.facts
    (plain,), _, _ = evidence(place_of(camera), facts)

    add_mark(place_of(camera), photo, CRACK)

    (marked,), _, _ = evidence(place_of(camera), camera.now.facts)
    assert marked.data != plain.data
    assert (marked.width_px, marked.height_px) == (plain.width_px, plain.height_px)


def test_a_bundle_carries_the_picture_without_marks_and_the_marks_as_records(camera, tmp_path):
    photo = camera.take()
    plain = camera.sent("plain.zip")
    add_mark(place_of(camera), photo, CRACK)

    out = camera.send("marked.zip").path

    assert camera.sent("again.zip") == plain
    with zipfile.ZipFile(out) as bundle:
        (row,) = csv.DictReader(io.StringIO(bundle.read("picture_mark.csv").decode()))
    assert (row["shape"], row["points"], row["words"], row["letters"]) == (
        "words",
        "0.5 0.5",
        "crack",
        "50",
    )
    assert row["photo"] == photo.sha256
    desk = Camera(tmp_path / "desk", seed=5, route=camera.route)
    desk.merge(out)
    assert drawn(desk, photo) == [CRACK]
    assert shown(desk, photo).tobytes() == shown(camera, photo).tobytes()
    desk.close()


def flood(photo, many):
    """Marks of another tablet, a few of them as large as a mark can be."""
    line = points_to_text([Point(i % 2, i / 200) for i in range(200)])
    return [
        make(PictureMark, 10_000 + n, walk="", concern=photo.concern, device=record_id(9_999),
             photo=photo.sha256, shape="line", points="0 0; 1 1" if n % 4 else line)
        for n in range(many)
    ]  # fmt: skip


def test_ten_thousand_marks_hide_no_others_and_of_them_few_are_drawn(camera):
    photo = camera.take()
    own = add_mark(place_of(camera), photo, CRACK)

    marks = PictureMarks((own, *flood(photo, 10_000))).by_photo[photo.sha256]

    assert marks.total == 10_001
    assert own in marks.drawn
    assert 20 < len(marks.drawn) <= MOST_MARKS
    assert sum(len(one.points) for one in marks.drawings) <= MOST_DRAWN_POINTS


def test_that_not_all_marks_are_drawn_is_said(camera):
    photo = camera.take()
    many = camera.folder / "many.zip"
    write_bundle(many, records=flood(photo, 120), rows=(), photos={}, checklists={})
    camera.merge(many)

    (tile,) = kept_pictures(
        place_of(camera), Thumbnails(place_of(camera)).give, [photo], camera.now.facts.standing
    )

    drawn_count = len(drawn(camera, photo))
    assert drawn_count < 120
    assert tile.caption == f"80 x 48, {drawn_count} of 120 marks drawn"


def test_a_picture_full_of_marks_takes_no_more(camera):
    photo = camera.take()
    for number in range(MOST_MARKS):
        add_mark(place_of(camera), photo, nth(number % 90))

    with pytest.raises(InputError, match="at most 100 marks; take some away first"):
        add_mark(place_of(camera), photo, RING)
    undo_mark(place_of(camera), photo)
    add_mark(place_of(camera), photo, RING)


def test_a_search_finds_the_words_and_no_coordinates(camera):
    mark = add_mark(place_of(camera), camera.take(), CRACK)

    assert typed_texts(mark) == {"words": "crack"}
