"""The page that covers people: what a box records, what the page says, and what undo does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.cameras import BADGE, FACE, PHONE, Camera
from tests.fakes import Queue
from tests.photos.camera import as_jpeg, scene
from walkapp.presenters.answer import AnswerPage
from walkapp.presenters.cover import CoveredPlace, CoverPage
from walkapp.presenters.photo import PhotoPage
from walkapp.presenters.route import Route


def opened(camera, photo, page_class=CoverPage):
    page = page_class(
        camera.desk.session, replace(camera.route, screen="cover", picture=photo.sha256, check="ear-photo")
    )
    page.open()
    return page


def boxes(camera):
    """The places that are covered in the one picture of the tablet."""
    ((head,),) = (copies.heads for copies in camera.copies.values())
    return head.boxes


HALF = CoveredPlace(0.05, 0.125, 0.3, 0.625)
"""The face of a picture of 80 x 48 pixels, in shares of it."""


def test_the_photo_page_leads_to_the_page_of_a_recorded_picture(camera):
    photo = camera.take()
    page = PhotoPage(camera.desk.session, replace(camera.route, screen="photo", check="ear-photo"))
    page.open()

    page.mark(page.state.choice.kept[0].key)

    assert camera.desk.routes == [
        replace(camera.route, screen="mark", check="ear-photo", picture=photo.sha256, through="photo")
    ]
    assert camera.desk.routes[0].up().screen == "photo"


def test_the_place_is_remembered_with_its_picture(camera):
    route = replace(camera.route, screen="cover", picture="a" * 64)

    assert Route.from_place(route.to_place()) == route


def test_the_page_shows_the_picture_upright_and_says_that_nothing_is_covered(camera):
    page = opened(camera, camera.take())

    assert page.state.picture.size == (80, 48)
    assert page.state.places == ()
    assert page.state.said == "Nothing is covered yet: draw over a face or a name."
    assert page.state.kept == "The picture as it was taken stays on this tablet, unchanged."
    assert page.state.frame.undo == ""


def test_a_box_is_on_disk_when_the_page_says_so(camera):
    page = opened(camera, camera.take())

    page.lay(HALF)

    assert boxes(camera) == (FACE,)
    assert page.state.places == (HALF,)
    assert page.state.said == "1 place covered. Only a copy with them covered leaves this tablet."
    assert page.state.frame.saved == "On disk: covered place at Moulding"
    assert page.state.frame.undo == "last covered place"


def test_nothing_is_claimed_until_the_work_has_run(tmp_path):
    queue = Queue()
    camera = Camera(tmp_path)
    photo = camera.take()
    camera.desk.session.run_later = queue
    page = opened(camera, photo)
    queue.run()

    page.lay(HALF)
    assert page.state.places == ()
    queue.run()

    assert page.state.places == (HALF,)
    camera.close()


def test_undo_takes_the_last_box_back_whatever_was_recorded_since(camera):
    page = opened(camera, camera.take())
    page.lay(HALF)
    page.lay(CoveredPlace(0.5, 0.5, 0.75, 0.8))
    camera.walking.note("dock", "much later")

    page.undo()

    assert boxes(camera) == (FACE,)
    assert page.state.places == (HALF,)
    assert page.state.frame.saved == "Taken back"
    page.undo()
    assert page.state.places == ()
    page.undo()
    assert page.state.frame.problem.startswith("Nothing was covered in this picture here")


def test_boxes_are_there_again_after_the_page_was_left(camera):
    photo = camera.take()
    opened(camera, photo).lay(HALF)

    assert opened(camera, photo).state.places == (HALF,)


@pytest.mark.parametrize(
    ("drawn", "box"),
    [
        (CoveredPlace(-0.2, -0.1, 1.4, 1.2), (0, 0, 80, 48)),
        (CoveredPlace(0.999, 0.999, 1.3, 1.3), (79, 47, 80, 48)),
        (CoveredPlace(-1, -1, -0.5, -0.5), (0, 0, 1, 1)),
        (CoveredPlace(0.501, 0.501, 0.502, 0.502), (40, 24, 41, 25)),
    ],
)
def test_a_box_that_leaves_the_picture_ends_at_its_edge(camera, drawn, box):
    page = opened(camera, camera.take())

    page.lay(drawn)

    assert boxes(camera) == (box,)


def test_a_box_before_the_picture_is_read_is_answered_with_a_sentence(camera):
    page = CoverPage(camera.desk.session, replace(camera.route, screen="cover", picture="a" * 64))

    page.lay(HALF)

    assert page.state.frame.problem == "The picture is still being read; try again in a moment."


def test_a_picture_that_is_not_recorded_is_said_in_a_sentence(camera):
    page = CoverPage(camera.desk.session, replace(camera.route, screen="cover", picture="a" * 64))

    page.open()

    assert page.state.frame.problem == ("This picture is not recorded here; go back and choose one.")


def test_a_picture_that_is_only_a_copy_says_so(camera, tmp_path):
    photo = camera.take()
    desk = Camera(tmp_path / "desk", seed=1, route=camera.route)
    desk.merge(camera.send().path)

    page = opened(desk, photo)

    assert page.state.kept == "This is a copy; the picture as it was taken is on the tablet that took it."
    desk.close()


def test_contradicting_tablets_are_settled_by_one_tap(camera, tmp_path):
    photo = camera.take()
    whole = camera.send("for-all.zip", originals=True).path
    for seed, box in ((1, FACE), (2, BADGE)):
        two = Camera(tmp_path / str(seed), seed=seed, route=camera.route)
        two.merge(whole)
        two.cover(photo, box)
        camera.merge(two.send().path)
        two.close()
    page = opened(camera, photo)
    assert (page.state.is_settled, len(page.state.places)) == (False, 2)
    assert "so no copy leaves until one covers them all" in page.state.said

    page.settle()

    assert page.state.is_settled
    assert set(boxes(camera)) == {FACE, BADGE}


def test_writing_the_bundle_in_the_app_makes_missing_copies_and_says_what_is_sent(camera):
    photo = camera.take()
    camera.take(as_jpeg(scene((30, 20))))
    page = AnswerPage(camera.desk.session, Route(screen="answer", concern=camera.route.concern))
    page.open()

    page.write_bundle()

    assert "2 photos." in page.state.written
    assert page.state.written.endswith(
        "1 photo is sent as a copy without place, serial number and other metadata."
    )
    assert camera.desk.store.photo_path(photo.file_name).read_bytes() == PHONE
