"""How to judge, limit samples and evidence: what the pages show, where they lead, and the way back."""

from __future__ import annotations

import os
from dataclasses import replace

import pytest

from tests.cameras import PHONE
from tests.fakes import Queue
from tests.photos.camera import as_jpeg, scene
from walkapp.actions.books import OutsideWalks
from walkapp.actions.copies import copies_by_photo, cover_place
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.judging import evidence_of, limit_samples
from walkapp.actions.reading import concern_facts
from walkapp.model.boxes import Box
from walkapp.model.records import Action, Answer, Count, Photo, PhotoCopy, Withdrawal
from walkapp.presenters.board import BoardPage
from walkapp.presenters.checks import CountPage, JudgePage
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.cover import CoveredPlace, CoverOutsidePage
from walkapp.presenters.intake import EvidencePage, NokSamplePage, OkSamplePage
from walkapp.presenters.judging import DropSampleForm, JudgingPage, limit_pair
from walkapp.presenters.mark import MarkPage
from walkapp.presenters.measuring import MeasurePage
from walkapp.presenters.route import Route
from walkapp.presenters.station import StationPage

GREY = bytes((128, 128, 128))


def picture(number):
    return as_jpeg(scene((40 + number, 30)))


def sample(desk, concern, limit, data=PHONE, caption=""):
    return keep_photo(desk.place, Subject(concern=concern, limit=limit), data, "x.jpg", caption=caption)


def opened(kind, desk, route):
    page = kind(desk.session, route)
    page.open()
    return page


def judging(desk, concern):
    return opened(JudgingPage, desk, Route(screen="judging", concern=concern))


def put_in_camera(desk, *numbers):
    desk.pictures.mkdir(exist_ok=True)
    for number in numbers:
        (desk.pictures / f"{number}.jpg").write_bytes(picture(number))


def facts_of(desk, concern):
    return concern_facts(desk.place, concern)


# How to judge


def test_a_concern_without_limit_samples_says_so_on_its_page_and_on_the_one_of_judging(desk):
    concern = desk.concern()
    (row,) = (
        r
        for r in opened(ConcernPage, desk, Route(screen="concern", concern=concern)).state.parts
        if r.id == "judging"
    )
    page = judging(desk, concern)

    assert (row.title, row.subtitle) == ("How to judge", "No limit sample yet")
    assert page.state.how.startswith("OK: even colour all round the ear.")
    assert [(side.word, side.mark, side.words, side.pictures) for side in page.state.sides] == [
        ("OK", "clean", "No limit sample yet", ()),
        ("NOK", "bad", "No limit sample yet", ()),
    ]
    assert page.state.undo == ""


def test_limit_samples_stand_on_their_side_and_are_counted_on_the_page_of_the_concern(desk):
    concern = desk.concern()
    sample(desk, concern, "ok", picture(1), "even colour")
    sample(desk, concern, "not_ok", picture(2))
    sample(desk, concern, "not_ok", picture(3), "white line")

    page = judging(desk, concern)

    assert [[tile.caption for tile in side.pictures] for side in page.state.sides] == [
        ["even colour"],
        ["white line", ""],
    ]
    assert page.state.undo == "NOK sample"
    rows = opened(ConcernPage, desk, Route(screen="concern", concern=concern)).state.parts
    assert [r.subtitle for r in rows if r.id == "judging"] == ["Limit samples: 1 OK, 2 NOK"]


def test_a_picture_is_shown_large_and_back_closes_it_first(desk):
    concern = desk.concern()
    sample(desk, concern, "ok", picture(1), "even colour")
    page = judging(desk, concern)

    page.enlarge("ok", page.state.sides[0].pictures[0].key)
    assert (page.state.large.caption, page.state.large_side.word) == ("even colour", "OK")
    page.back()
    assert page.state.large is None
    page.back()

    assert desk.routes == [Route(screen="concern", concern=concern)]


def test_a_picture_on_both_sides_is_said_on_each_and_shown_large_as_the_one_that_was_tapped(desk):
    concern = desk.concern()
    photo = sample(desk, concern, "ok", picture(1))
    sample(desk, concern, "not_ok", picture(1))
    page = judging(desk, concern)

    assert [side.pictures[0].caption for side in page.state.sides] == ["Shown as OK and as NOK"] * 2
    page.enlarge("not_ok", photo.sha256)
    assert page.state.large_side.word == "NOK"
    pair = limit_pair(desk.session.thumbnails, facts_of(desk, concern))
    assert (pair.ok.caption, pair.not_ok.caption) == ("Shown as OK and as NOK",) * 2


def test_a_limit_sample_whose_file_is_missing_is_said_in_a_plain_word(desk):
    concern = desk.concern()
    photo = sample(desk, concern, "ok", picture(1), "even colour")
    desk.store.photo_path(photo.file_name).unlink()
    page = judging(desk, concern)

    ((tile,), ()) = (side.pictures for side in page.state.sides)
    assert (tile.caption, tile.pixels) == ("Not on this tablet: even colour", GREY)
    page.enlarge("ok", photo.sha256)
    assert page.state.large.caption == "Not on this tablet: even colour"
    assert page.state.problem == ""


def test_a_damaged_limit_sample_is_said_and_hides_no_other(desk):
    concern = desk.concern()
    bad, good = (sample(desk, concern, "ok", picture(number)) for number in (1, 2))
    desk.store.photo_path(bad.file_name).write_bytes(b"\0" * 50)

    page = judging(desk, concern)

    assert [tile.caption for tile in page.state.sides[0].pictures] == ["", "Damaged, cannot be shown"]
    assert limit_pair(desk.session.thumbnails, facts_of(desk, concern)).ok.key == good.sha256


def test_of_very_many_limit_samples_the_newest_are_shown_and_the_rest_counted(desk):
    concern = desk.concern()
    for number in range(9):
        sample(desk, concern, "not_ok", picture(number), f"number {number}")

    side = judging(desk, concern).state.sides[1]

    assert side.words == "The newest 6 of 9"
    assert [tile.caption for tile in side.pictures] == [f"number {n}" for n in (8, 7, 6, 5, 4, 3)]


def test_undo_takes_the_newest_sample_back_with_its_copy_and_no_evidence(desk):
    concern = desk.concern()
    first = sample(desk, concern, "ok", picture(1))
    sample(desk, concern, "not_ok")
    keep_photo(desk.place, Subject(concern=concern, about=first.id), picture(5), "x.jpg")
    page = judging(desk, concern)

    page.undo()

    assert page.state.saved == "Taken back"
    assert page.state.undo == "OK sample"
    assert [len(side.pictures) for side in page.state.sides] == [1, 0]
    current = facts_of(desk, concern).standing.current
    assert [r for r in current if isinstance(r, PhotoCopy)] == []
    assert len(evidence_of(facts_of(desk, concern), first.id)) == 1


def test_a_sample_of_another_tablet_is_taken_away_with_a_reason_and_undo_brings_it_back(desk):
    concern = desk.concern()
    photo = sample(desk, concern, "ok")
    cover_place(desk.place, OutsideWalks(facts_of(desk, concern)), photo.sha256, Box(0, 0, 9, 9))
    page = judging(desk, concern)
    page.enlarge("ok", photo.sha256)
    page.drop()
    form = opened(DropSampleForm, desk, desk.routes[-1])
    form.record()
    assert form.state.problem == "Still needed: Or in your own words."
    form.fill("common", "wrong side")

    form.record()

    assert desk.routes[-1].screen == "judging"
    assert limit_samples(facts_of(desk, concern), "ok") == ()
    assert [r.why for r in desk.records if isinstance(r, Withdrawal)] == ["wrong side"]
    page.open()
    assert page.state.undo == "sample taken away"
    page.undo()
    assert page.state.undo == "OK sample"
    (back,) = limit_samples(facts_of(desk, concern), "ok")
    assert (back.sha256, back.limit) == (photo.sha256, "ok")
    copies = copies_by_photo(facts_of(desk, concern).standing)
    assert copies[photo.sha256].boxes == (Box(0, 0, 9, 9),)


def test_a_picture_that_is_no_sample_cannot_be_taken_away(desk):
    concern = desk.concern()
    photo = keep_photo(desk.place, Subject(concern=concern, about=desk.place.new_id()), PHONE, "x.jpg")
    route = Route(screen="drop_sample", concern=concern, entry=photo.id)
    form = opened(DropSampleForm, desk, route)
    form.fill("why", "x")

    form.record()

    assert form.state.problem.startswith("This picture is no longer a limit sample")
    assert not [r for r in desk.records if isinstance(r, Withdrawal)]


def test_people_are_covered_in_a_limit_sample_and_the_page_shows_it_so(desk):
    concern = desk.concern()
    photo = sample(desk, concern, "ok", picture(1))
    page = judging(desk, concern)
    before = page.state.sides[0].pictures[0].pixels
    page.enlarge("ok", photo.sha256)
    page.cover()
    (route,) = desk.routes
    cover = opened(CoverOutsidePage, desk, route)

    cover.lay(CoveredPlace(0.0, 0.0, 0.5, 0.5))

    assert cover.state.frame.saved == "On disk: covered place"
    (copy,) = (r for r in desk.records if isinstance(r, PhotoCopy))
    assert (copy.walk, copy.concern, copy.boxes) == ("", concern, (Box(0, 0, 21, 15),))
    cover.back()
    assert desk.routes[-1] == replace(route, screen="judging", through="")
    page.open()
    assert page.state.sides[0].pictures[0].pixels != before
    cover.undo()
    assert (cover.state.frame.saved, cover.state.places) == ("Taken back", ())


def test_nothing_is_claimed_until_it_is_on_disk(desk):
    put_in_camera(desk, 1)
    concern = desk.concern()
    queue = Queue()
    desk.session.run_later = queue
    page = opened(OkSamplePage, desk, Route(screen="limit_ok", concern=concern))
    queue.run()

    page.choose(page.state.choice.found[0].key)
    assert (page.state.saved, page.state.choice.kept) == ("", ())
    queue.run()

    assert page.state.saved == "On disk: OK sample"


# From a walk and back


def at_check(desk, check="ear-look", station="welding", screen="judge", **more):
    route = desk.walk()
    return replace(route, station=station, check=check, screen=screen, **more)


@pytest.mark.parametrize(
    ("kind", "where"),
    [
        (JudgePage, {"screen": "judge", "station": "welding", "check": "ear-look"}),
        (CountPage, {"screen": "count", "station": "packing", "check": "ear-count"}),
    ],
)
def test_the_newest_pair_stands_beside_the_answers_and_leads_there_and_back(desk, kind, where):
    route = replace(desk.walk(), **where)
    sample(desk, route.concern, "ok", picture(1))
    sample(desk, route.concern, "not_ok", picture(2))
    newest = sample(desk, route.concern, "not_ok", picture(3))
    page = opened(kind, desk, route)

    pair = page.state.head.limits
    assert pair.is_offered and pair.ok is not None and pair.not_ok.key == newest.sha256
    page.to_judging()
    assert desk.routes[-1] == replace(route, screen="judging", through=where["screen"])
    opened(JudgingPage, desk, desk.routes[-1]).back()
    assert desk.routes[-1] == route


def test_the_chosen_unit_is_still_chosen_after_looking_how_to_judge(desk):
    page = opened(JudgePage, desk, at_check(desk))
    page.choose_unit("nest B")

    page.to_judging()
    opened(JudgingPage, desk, desk.routes[-1]).back()
    again = opened(JudgePage, desk, desk.routes[-1])
    again.answer("not_ok")

    assert again.state.head.units.chosen == "nest B"
    (answer,) = (r for r in desk.records if isinstance(r, Answer))
    assert (answer.unit, answer.check) == ("nest B", "ear-look")


def test_a_unit_chosen_at_one_check_is_not_chosen_at_the_next(desk):
    page = opened(JudgePage, desk, at_check(desk))
    page.choose_unit("nest B")
    page.to_judging()
    opened(JudgingPage, desk, desk.routes[-1]).back()

    opened(JudgePage, desk, desk.routes[-1]).back()
    station = opened(StationPage, desk, desk.routes[-1])
    station.choose_check("ear-look")

    assert desk.routes[-1].unit == ""
    assert opened(JudgePage, desk, desk.routes[-1]).state.head.units.chosen == ""


def test_counts_go_on_for_the_same_unit_after_looking(desk):
    page = opened(CountPage, desk, at_check(desk, "ear-count", "packing", "count"))
    page.step("checked", 1)
    page.to_judging()
    opened(JudgingPage, desk, desk.routes[-1]).back()

    again = opened(CountPage, desk, desk.routes[-1])
    again.step("checked", 1)

    counts = [r for r in desk.facts(desk.routes[-1]).current if isinstance(r, Count)]
    assert [(count.checked, count.nok) for count in counts] == [(2, 0)]


@pytest.mark.parametrize(
    ("kind", "where"),
    [
        (JudgePage, {"screen": "judge", "station": "leak-test", "check": "pads-released"}),
        (JudgePage, {"screen": "judge", "station": "leak-test", "check": "leak"}),
        (MeasurePage, {"screen": "measure", "station": "leak-test", "check": "part-temperature"}),
    ],
)
def test_a_check_that_does_not_judge_the_defect_shows_no_limit_samples(desk, kind, where):
    route = replace(desk.walk(), **where)
    sample(desk, route.concern, "ok", picture(1))

    page = opened(kind, desk, route)

    assert page.state.frame.problem == ""
    assert not page.state.head.limits.is_offered


def test_a_missing_newest_sample_gives_way_to_the_one_before_it_beside_the_answers(desk):
    route = at_check(desk)
    kept = sample(desk, route.concern, "ok", picture(1))
    gone = sample(desk, route.concern, "ok", picture(2))
    desk.store.photo_path(gone.file_name).unlink()
    assert opened(JudgePage, desk, route).state.head.limits.ok.key == kept.sha256

    desk.store.photo_path(kept.file_name).unlink()
    pair = limit_pair(type(desk.session.thumbnails)(desk.place), facts_of(desk, route.concern))

    assert pair.ok.caption == "Not on this tablet"


def test_the_pair_is_not_read_again_at_every_tap(desk):
    route = at_check(desk)
    photo = sample(desk, route.concern, "ok", picture(1))
    page = opened(JudgePage, desk, route)
    path = desk.store.photo_path(photo.file_name)
    before = path.stat()
    path.write_bytes(bytes(before.st_size))
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))

    page.answer("ok")
    assert page.state.head.limits.ok.caption == ""
    path.unlink()
    page.answer("ok")
    assert page.state.head.limits.ok.caption == "Not on this tablet"


def test_a_station_leads_to_how_to_judge_and_back(desk):
    route = desk.walk()
    page = opened(StationPage, desk, route)

    page.to_judging()
    opened(JudgingPage, desk, desk.routes[-1]).back()

    assert desk.routes[-1] == route


def test_a_sample_is_added_from_within_a_walk_and_the_way_back_is_whole(desk):
    put_in_camera(desk, 1)
    route = at_check(desk)
    opened(JudgePage, desk, route).to_judging()
    opened(JudgingPage, desk, desk.routes[-1]).add("not_ok")
    intake = opened(NokSamplePage, desk, desk.routes[-1])
    intake.choose(intake.state.choice.found[0].key)
    intake.mark(intake.state.choice.kept[0].key)
    opened(MarkPage, desk, desk.routes[-1]).press("cover")
    assert desk.routes[-1].through == "judge judging limit_not_ok mark"

    for kind in (CoverOutsidePage, MarkPage, NokSamplePage, JudgingPage):
        opened(kind, desk, desk.routes[-1]).back()

    assert [r.screen for r in desk.routes[-3:]] == ["limit_not_ok", "judging", "judge"]
    assert replace(desk.routes[-1], picture="") == route
    (photo,) = (r for r in desk.records if isinstance(r, Photo))
    assert (photo.walk, photo.station, photo.check, photo.limit) == ("", "", "", "not_ok")


def test_the_way_back_outlives_a_restart_and_nonsense_in_it_does_no_harm():
    route = Route(screen="judging", concern="c", walk="w", station="s", check="k").down("limit_ok")

    assert Route.from_place(route.to_place()).up().screen == "judging"
    odd = replace(route, through="judge nowhere")
    assert odd.up() == replace(odd, screen="judging")


# Taking pictures in


def test_a_caption_goes_with_the_next_picture_and_is_kept_until_then(desk):
    put_in_camera(desk, 1, 2)
    route = Route(screen="limit_ok", concern=desk.concern())
    opened(OkSamplePage, desk, route).fill("even colour ")
    page = opened(OkSamplePage, desk, route)
    assert page.state.caption == "even colour "

    page.choose(page.state.choice.found[0].key)
    assert page.state.caption == ""
    page.choose(page.state.choice.found[1].key)

    samples = limit_samples(facts_of(desk, route.concern), "ok")
    assert [photo.caption for photo in samples] == ["", "even colour"]
    assert opened(OkSamplePage, desk, route).state.caption == ""


def test_a_caption_that_is_too_long_is_refused_in_a_sentence_and_stays(desk):
    put_in_camera(desk, 1)
    page = opened(OkSamplePage, desk, Route(screen="limit_ok", concern=desk.concern()))
    page.fill("x" * 201)

    page.choose(page.state.choice.found[0].key)

    assert page.state.problem == "What to look at: has 201 characters, at most 200 are kept."
    assert page.state.caption == "x" * 201
    assert not [r for r in desk.records if isinstance(r, Photo)]


def test_what_stands_on_one_side_is_not_offered_for_the_other(desk):
    put_in_camera(desk, 1)
    concern = desk.concern()
    page = opened(OkSamplePage, desk, Route(screen="limit_ok", concern=concern))
    page.choose(page.state.choice.found[0].key)

    other = opened(NokSamplePage, desk, Route(screen="limit_not_ok", concern=concern))

    (tile,) = other.state.choice.found
    assert (tile.word, tile.mark) == ("On disk", "chosen")
    other.choose(tile.key)
    assert limit_samples(facts_of(desk, concern), "not_ok") == ()
    assert (page.state.undo, other.state.undo) == ("OK sample", "")


def test_evidence_is_kept_for_its_entry_and_taken_back_there(desk):
    put_in_camera(desk, 1, 2)
    concern = desk.concern()
    entry = desk.place.new_id()
    route = Route(screen="evidence", concern=concern, entry=entry)
    page = opened(EvidencePage, desk, route)
    for tile in page.state.choice.found:
        page.choose(tile.key)
    assert len(page.state.choice.kept) == len(evidence_of(facts_of(desk, concern), entry)) == 2
    other = opened(EvidencePage, desk, replace(route, entry=desk.place.new_id()))
    assert (other.state.undo, other.state.choice.kept, len(other.state.choice.found)) == ("", (), 2)

    page.undo()

    assert (page.state.saved, page.state.undo) == ("Taken back", "picture")
    assert len(evidence_of(facts_of(desk, concern), entry)) == 1


def test_evidence_says_what_it_is_of_and_leads_back_to_the_page_that_led_there(desk):
    concern = desk.concern()
    said = {"what": "Soft pads again", "aim": "corrective", "owner": "QE", "due_on": "2026-03-09"}
    action_id = desk.place.new_id()
    desk.place.add(Action, id=action_id, action=action_id, concern=concern, **said)
    above = Route(screen="onset", concern=concern, entry=action_id)

    page = opened(EvidencePage, desk, above.down("evidence"))

    assert page.state.subtitle == "Action - Soft pads again"
    page.back()
    assert desk.routes == [above]
    assert Route(screen="evidence", concern=concern).up() == Route(screen="concern", concern=concern)


def test_a_page_of_rows_and_buttons_leads_to_its_evidence_and_back(desk):
    route = Route(screen="told", concern=desk.concern(), entry=desk.place.new_id())
    board = BoardPage(desk.session, route)
    board.press("evidence")
    board.row("any", "evidence")
    assert desk.routes == [route.down("evidence")] * 2

    opened(EvidencePage, desk, desk.routes[-1]).back()

    assert desk.routes[-1] == route


@pytest.mark.parametrize("entry", ["", "no-id", "x" * 500])
def test_evidence_of_nothing_is_refused_in_a_sentence(desk, entry):
    put_in_camera(desk, 1)
    page = opened(EvidencePage, desk, Route(screen="evidence", concern=desk.concern(), entry=entry))

    page.choose(page.state.choice.found[0].key)

    assert page.state.problem
    assert not [r for r in desk.records if isinstance(r, Photo)]


def test_a_file_that_is_no_picture_is_said_and_nothing_is_recorded(desk, tmp_path):
    page = opened(OkSamplePage, desk, Route(screen="limit_ok", concern=desk.concern()))
    (tmp_path / "x.jpg").write_bytes(b"no picture")

    page.choose(str(tmp_path / "x.jpg"))

    assert "x.jpg" in page.state.problem
    assert not [r for r in desk.records if isinstance(r, Photo)]
