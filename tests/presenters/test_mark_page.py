"""The page of one picture: what a finger draws is on disk before the page says so, and can be changed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.cameras import FACE, Camera
from tests.fakes import Queue
from tests.photos.camera import as_jpeg, scene
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.marks import add_mark, marks_on, remove_mark
from walkapp.model.drawings import Drawing, Point
from walkapp.model.strokes import words_at
from walkapp.presenters.intake import EvidencePage
from walkapp.presenters.mark import MarkPage
from walkapp.presenters.mark_tools import HINTS, READY_WORDS
from walkapp.presenters.mark_words import MarkWordsForm
from walkapp.presenters.route import Route

REACH = 0.05


@pytest.fixture
def photo(camera):
    return camera.take(as_jpeg(scene((400, 300))))


def opened(camera, photo, **more):
    route = replace(camera.route, screen="mark", picture=photo.sha256, through="photo", **more)
    page = MarkPage(camera.desk.session, route)
    page.open()
    return page


def kept(camera, photo):
    return [mark.drawing for mark in marks_on(camera.desk.place, photo).drawn]


def tools(page):
    return [tool.name for tool in page.state.tools]


def test_the_page_opens_harmless_and_says_what_the_picture_is(camera, photo):
    page = opened(camera, photo)

    page.draw([(0.1, 0.1), (0.5, 0.5)])
    page.tap((0.5, 0.5), REACH)

    assert kept(camera, photo) == []
    assert page.state.title == "1  Injection moulding: picture"
    assert page.state.subtitle == "Cracked mounting ears (invented)"
    assert page.state.hint == HINTS[""]
    assert page.state.facts[0] == "(invented)"
    assert page.state.facts[1].startswith("Recorded 2026-03-03")
    assert page.state.facts[-1] == "The picture stays as it was taken; marks are kept apart from it."
    assert tools(page) == ["arrow", "ring", "line", "words", "cover"]
    assert page.state.undo == ""


@pytest.mark.parametrize(
    ("tool", "drawing", "saved"),
    [
        ("arrow", Drawing("arrow", (Point(0.1, 0.2), Point(0.5, 0.6))), "On disk: arrow"),
        ("ring", Drawing("ring", (Point(0.1, 0.2), Point(0.5, 0.6))), "On disk: ring"),
        ("line", Drawing("line", (Point(0.1, 0.2), Point(0.5, 0.6))), "On disk: freehand line"),
    ],
)
def test_what_a_finger_draws_is_kept_as_one_mark(camera, photo, tool, drawing, saved):
    page = opened(camera, photo)
    page.press(tool)
    assert [t.name for t in page.state.tools if t.is_on] == [tool]
    assert page.state.is_freehand == (tool == "line")

    page.draw([(0.1, 0.2), (0.3, 0.4), (0.5, 0.6)] if tool == "line" else [(0.1, 0.2), (0.5, 0.6)])

    assert kept(camera, photo) == [drawing]
    assert page.state.saved == saved
    assert len(page.state.marks) == 1
    assert page.state.pending == ()
    assert page.state.undo == saved.removeprefix("On disk: ")


def test_a_tap_draws_an_arrow_that_points_there_and_a_ring_around_it(camera, photo):
    page = opened(camera, photo)
    page.press("arrow")
    page.tap((0.2, 0.2), 0.01)
    page.press("ring")
    page.tap((0.8, 0.8), 0.01)

    arrow, ring = kept(camera, photo)
    assert arrow.points[1] == (0.2, 0.2)
    (left, top), (right, bottom) = ring.points
    assert ((left + right) / 2, (top + bottom) / 2) == pytest.approx((0.8, 0.8), abs=1e-3)
    assert (right - left) * 400 == pytest.approx((bottom - top) * 300, abs=0.1)


def test_a_tool_that_is_tapped_again_is_laid_down(camera, photo):
    page = opened(camera, photo)
    page.press("ring")
    page.press("ring")

    page.tap((0.5, 0.5), REACH)

    assert kept(camera, photo) == []


def test_words_are_chosen_by_a_tap_and_put_where_the_picture_is_tapped(camera, photo):
    page = opened(camera, photo)
    page.press("words")
    assert [tool.text for tool in page.state.tools][2:] == list(READY_WORDS)
    page.tap((0.5, 0.5), REACH)
    assert kept(camera, photo) == []

    page.press("word-1")
    assert [tool.text for tool in page.state.tools if tool.is_on] == ["whitening"]
    assert page.state.hint.startswith("Text: “whitening” is chosen; tap the picture")
    page.tap((0.5, 0.5), REACH)
    page.draw([(0.1, 0.1), (0.2, 0.8)])

    assert kept(camera, photo) == [
        words_at(Point(0.5, 0.5), "whitening"),
        words_at(Point(0.2, 0.8), "whitening"),
    ]
    page.press("tools")
    assert tools(page)[0] == "arrow"


def test_typed_words_are_offered_from_then_on(camera, photo):
    page = opened(camera, photo)
    page.press("words")
    page.press("type")
    form = MarkWordsForm(camera.desk.session, camera.desk.routes[-1])
    form.open()
    form.fill("words", "=weld line\u202e")
    form.record()
    again = MarkPage(camera.desk.session, camera.desk.routes[-1])
    again.open()

    assert again.route.screen == "mark"
    assert again.route.up().screen == "photo"
    assert [tool.text for tool in again.state.tools if tool.is_on] == ["=weld line\u202e"]
    again.tap((0.5, 0.5), REACH)
    assert [one.words for one in kept(camera, photo)] == ["=weld line\u202e"]
    assert again.state.marks[0].plate.words == "=weld line<U+202E>"
    assert opened(camera, photo)._offered()[0] == "=weld line\u202e"


def test_words_that_are_too_long_for_a_picture_are_refused_in_a_sentence(camera, photo):
    form = MarkWordsForm(
        camera.desk.session,
        replace(
            camera.route, screen="mark_words", picture=photo.sha256, mark="words", through="photo mark"
        ),
    )
    form.open()
    form.fill("words", "x" * 4000)
    form.record()

    assert form.state.problem == "These words are too long for a picture; at most 40 letters."
    assert camera.desk.routes == []


def test_a_mark_that_is_tapped_is_chosen_moved_resized_and_taken_away(camera, photo):
    add_mark(camera.desk.place, photo, Drawing("ring", (Point(0.2, 0.2), Point(0.4, 0.4))))
    page = opened(camera, photo)

    page.tap((0.2, 0.3), REACH)
    assert page.state.chosen == page.state.marks[0].key
    assert tools(page) == ["larger", "smaller", "remove", "done"]
    page.draw([(0.9, 0.9), (1.0, 0.8)])
    assert kept(camera, photo) == [Drawing("ring", (Point(0.3, 0.1), Point(0.5, 0.3)))]
    assert page.state.chosen == page.state.marks[0].key

    page.press("larger")
    assert kept(camera, photo) == [Drawing("ring", (Point(0.275, 0.075), Point(0.525, 0.325)))]
    assert page.state.undo == "change of ring"
    page.press("remove")
    assert kept(camera, photo) == []
    assert page.state.saved == "On disk: mark taken away"
    assert page.state.chosen == ""

    for _ in range(3):
        page.undo()
    assert kept(camera, photo) == [Drawing("ring", (Point(0.2, 0.2), Point(0.4, 0.4)))]


def test_a_tap_beside_the_chosen_mark_lets_go_and_draws_nothing(camera, photo):
    add_mark(camera.desk.place, photo, Drawing("ring", (Point(0.2, 0.2), Point(0.4, 0.4))))
    page = opened(camera, photo)
    page.press("arrow")
    page.tap((0.2, 0.3), REACH)

    page.tap((0.9, 0.9), REACH)

    assert page.state.chosen == ""
    assert len(kept(camera, photo)) == 1
    page.tap((0.9, 0.9), REACH)
    assert len(kept(camera, photo)) == 2


def test_the_words_of_a_text_are_changed_by_a_tap_or_by_typing(camera, photo):
    add_mark(camera.desk.place, photo, words_at(Point(0.5, 0.5), "crack"))
    page = opened(camera, photo)
    page.tap((0.5, 0.5), REACH)
    page.press("reword")
    page.press("word-2")
    assert kept(camera, photo) == [words_at(Point(0.5, 0.5), "flash")]

    page.press("reword")
    page.press("type")
    form = MarkWordsForm(camera.desk.session, camera.desk.routes[-1])
    form.open()
    form.fill("words", "weld line")
    form.record()

    assert kept(camera, photo) == [words_at(Point(0.5, 0.5), "weld line")]
    back = MarkPage(camera.desk.session, camera.desk.routes[-1])
    back.open()
    assert back.state.chosen == back.state.marks[0].key


def test_a_mark_that_cannot_get_smaller_says_so(camera, photo):
    add_mark(camera.desk.place, photo, Drawing("line", (Point(0.5, 0.5), Point(0.51, 0.5))))
    page = opened(camera, photo)
    page.tap((0.5, 0.5), REACH)

    page.press("smaller")

    assert page.state.problem == "This mark cannot be made smaller."
    assert page.state.undo == "freehand line"


def test_nothing_is_called_kept_before_it_is_on_disk(tmp_path):
    queue = Queue()
    camera = Camera(tmp_path)
    photo = camera.take(as_jpeg(scene((400, 300))))
    camera.desk.session.run_later = queue
    page = opened(camera, photo)
    page.draw([(0.1, 0.2), (0.5, 0.6)])
    assert page.state.problem == ""
    queue.run()
    page.press("arrow")

    page.draw([(0.1, 0.2), (0.5, 0.6)])
    page.draw([(0.1, 0.2), (0.9, 0.6)])
    assert (len(page.state.marks), len(page.state.pending), page.state.saved) == (0, 2, "")
    queue.run()

    assert (len(page.state.marks), len(page.state.pending), page.state.saved) == (2, 0, "On disk: arrow")
    camera.close()


def test_changes_that_follow_each_other_faster_than_the_disk_all_count(tmp_path):
    queue = Queue()
    camera = Camera(tmp_path)
    photo = camera.take(as_jpeg(scene((400, 300))))
    ring = Drawing("ring", (Point(0.4, 0.4), Point(0.6, 0.6)))
    add_mark(camera.desk.place, photo, ring)
    camera.desk.session.run_later = queue
    page = opened(camera, photo)
    queue.run()
    page.tap((0.4, 0.5), REACH)

    page.press("larger")
    page.press("larger")
    page.draw([(0.5, 0.5), (0.6, 0.5)])
    queue.run()

    assert kept(camera, photo) == [ring.resized(1.25, 400, 300).resized(1.25, 400, 300).moved(0.1, 0)]
    assert page.state.problem == ""
    assert page.state.chosen == page.state.marks[0].key
    page.press("larger")
    page.press("remove")
    queue.run()
    assert kept(camera, photo) == []
    camera.close()


def test_a_disk_that_takes_nothing_is_said_and_no_mark_is_shown_as_kept(camera, photo):
    page = opened(camera, photo)
    page.press("ring")
    journals = camera.folder / "store" / "journals" / "own"
    journals.rename(journals.with_name("away"))
    journals.write_bytes(b"no folder any more")

    page.draw([(0.1, 0.2), (0.5, 0.6)])

    assert page.state.problem != ""
    assert (page.state.marks, page.state.pending, page.state.saved) == ((), (), "")


def test_a_mark_that_another_tablet_took_away_meanwhile_is_said(camera, photo):
    mark = add_mark(camera.desk.place, photo, Drawing("ring", (Point(0.2, 0.2), Point(0.4, 0.4))))
    page = opened(camera, photo)
    page.tap((0.2, 0.3), REACH)
    remove_mark(camera.desk.place, photo, mark.id)

    page.press("larger")

    assert page.state.problem.startswith("This mark was changed or taken away meanwhile")
    assert page.state.marks == ()


def test_people_who_are_covered_stay_covered_on_the_page(camera, photo):
    plain = opened(camera, photo).state.picture.pixels
    camera.cover(photo, FACE)

    page = opened(camera, photo)

    assert page.state.picture.pixels != plain
    assert "1 place covered; marks lie over it." in page.state.facts
    page.press("cover")
    assert camera.desk.routes[-1].screen == "cover"
    assert camera.desk.routes[-1].up() == page.route


def test_a_picture_that_is_elsewhere_cannot_be_drawn_on_and_says_why(camera, photo):
    camera.desk.store.photo_path(photo.file_name).unlink()
    page = opened(camera, photo)
    page.press("ring")

    page.draw([(0.1, 0.2), (0.5, 0.6)])
    page.tap((0.5, 0.5), REACH)

    assert page.state.hint.startswith("Not on this tablet. There is nothing to draw on")
    assert all(tool.is_off for tool in page.state.tools)
    assert kept(camera, photo) == []


def test_a_picture_that_is_not_recorded_is_said_in_a_sentence(camera):
    page = MarkPage(camera.desk.session, replace(camera.route, screen="mark", picture="a" * 64))

    page.open()
    page.undo()

    assert page.state.problem == "The picture is still being read; try again in a moment."
    page.open()
    assert page.state.problem == "This picture is not recorded here; go back and choose one."


def test_evidence_leads_to_the_page_and_back(camera):
    concern = camera.route.concern
    about = camera.walking.note("dock", "x").id
    data = as_jpeg(scene((40, 30)))
    keep_photo(camera.desk.place, Subject(concern=concern, about=about), data, "e.jpg")
    evidence = EvidencePage(camera.desk.session, Route(screen="evidence", concern=concern, entry=about))
    evidence.open()
    evidence.mark(evidence.state.choice.kept[0].key)
    assert camera.desk.routes[-1].up().screen == "evidence"
    assert camera.desk.routes[-1].up().entry == about


def test_the_page_is_remembered_with_its_tool():
    route = Route(screen="mark", concern="c", picture="a" * 64, mark="ring", through="photo")

    assert Route.from_place(route.to_place()) == route
    assert Route(screen="mark", concern="c").up().screen == "concern"
    assert Route(screen="mark_words", concern="c", picture="p").up() == Route(
        screen="mark", concern="c", picture="p"
    )
