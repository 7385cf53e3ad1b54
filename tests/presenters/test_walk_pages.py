"""The pages of a walk, on a real store: what a tap records, and what the page says then."""

from __future__ import annotations

import shutil
import zipfile
from dataclasses import replace

import pytest

from tests.fakes import Queue
from walkapp.actions.walking import Walking
from walkapp.demo.pictures import draw
from walkapp.model.records import Answer, Count, HazardsRead, Measurement, Photo, Setting
from walkapp.presenters.answer import AnswerPage
from walkapp.presenters.checks import CountPage, JudgePage
from walkapp.presenters.measuring import MeasurePage
from walkapp.presenters.photo import PhotoPage
from walkapp.presenters.station import StationPage


@pytest.fixture
def route(desk):
    return desk.walk()


def opened(page_class, desk, route, **where):
    page = page_class(desk.session, replace(route, **where))
    page.open()
    return page


def judging(desk, route, check="ear-look"):
    return opened(JudgePage, desk, route, screen="judge", check=check)


def counting(desk, route):
    return opened(CountPage, desk, route, screen="count", station="dock", check="ear-count")


def measuring(desk, route, station="moulding", check="ear-wall"):
    return opened(MeasurePage, desk, route, screen="measure", station=station, check=check)


def press(page, keys):
    for key in keys:
        page.press(key)
    page.press("enter")


def of_kind(desk, kind):
    return [r for r in desk.records if isinstance(r, kind)]


def test_cautions_come_first_and_the_checks_after_they_were_confirmed(desk, route):
    page = opened(StationPage, desk, route)
    assert page.state.cautions
    assert page.state.rows == ()

    page.confirm_cautions()

    assert page.state.cautions == ()
    assert [row.id for row in page.state.rows] == [
        "ear-look",
        "ear-wall",
        "mould-temperature",
        "ear-photo",
        "changed",
    ]
    assert [r.station for r in of_kind(desk, HazardsRead)] == ["moulding"]


def test_the_station_page_leads_to_the_page_of_each_check(desk, route):
    page = opened(StationPage, desk, route)
    for check in ("ear-look", "ear-wall", "mould-temperature", "ear-photo", "changed", "not-there"):
        page.choose_check(check)
    assert [(r.screen, r.check) for r in desk.routes] == [
        ("judge", "ear-look"),
        ("measure", "ear-wall"),
        ("measure", "mould-temperature"),
        ("photo", "ear-photo"),
        ("judge", "changed"),
    ]


def test_the_rows_say_how_far_each_check_is(desk, route):
    opened(StationPage, desk, route).confirm_cautions()
    judging(desk, route).answer("not_ok")
    rows = {row.id: row for row in opened(StationPage, desk, route).state.rows}
    assert (rows["ear-look"].subtitle, rows["ear-look"].mark) == ("1 of 20 checked, 1 NOK", "bad")
    assert (rows["ear-wall"].subtitle, rows["ear-wall"].mark) == ("not begun, 5 parts", "not_visited")


def test_one_tap_is_one_record_and_then_the_page_says_on_disk(desk, route):
    page = judging(desk, route)
    before, said = len(desk.records), []
    page.watch(lambda state: said.append((state.frame.saved, len(desk.records))))

    page.answer("ok")

    assert said == [("", before), ("On disk: OK at Moulding", before + 1)]
    assert (page.state.given, page.state.head.progress) == ("ok", "1 of 20 checked, 0 NOK")


def test_nothing_is_claimed_until_the_work_has_run(desk, route):
    queue = Queue()
    desk.session.run_later = queue
    page = judging(desk, route)
    queue.run()
    before = page.state

    page.answer("not_ok")

    assert page.state is before
    assert of_kind(desk, Answer) == []
    queue.run()
    assert page.state.frame.saved == "On disk: NOK at Moulding"
    assert len(of_kind(desk, Answer)) == 1


def test_every_tap_of_a_fast_hand_is_recorded(desk, route):
    queue = Queue()
    desk.session.run_later = queue
    page = counting(desk, route)
    for _ in range(5):
        page.step("checked", 1)
    queue.run()
    assert page.state.checked == 5
    assert page.state.frame.problem == ""
    assert desk.facts(route).facts.conflicts == ()


def test_a_tap_before_the_walk_is_read_is_answered_with_a_sentence(desk, route):
    judge = JudgePage(desk.session, replace(route, screen="judge", check="ear-look"))
    measure = MeasurePage(desk.session, replace(route, screen="measure", check="ear-wall"))
    judge.answer("ok")
    measure.press("5")
    for page in (judge, measure):
        assert page.state.frame.problem == "The walk is still being read; try again in a moment."


def test_a_question_takes_one_answer(desk, route):
    page = judging(desk, route, "changed")
    assert page.state.is_question
    page.answer("ok")
    page.answer("not_ok")
    first, second = of_kind(desk, Answer)
    assert second.replaces == (first.id,)
    assert page.state.given == "not_ok"


def test_not_applicable_asks_for_the_reason_and_records_nothing(desk, route):
    page = judging(desk, route)
    page.answer("not_applicable")
    assert desk.routes == [replace(route, screen="reason", check="ear-look")]
    assert of_kind(desk, Answer) == []


def test_the_chosen_unit_is_written_into_the_records(desk, route):
    page = judging(desk, route)
    assert page.state.head.units.names == ("cavity 1", "cavity 2")
    page.choose_unit("cavity 2")
    page.answer("ok")
    page.choose_unit("cavity 2")
    page.answer("ok")
    measure = measuring(desk, route)
    measure.choose_unit("cavity 1")
    press(measure, "2.5")
    assert [r.unit for r in of_kind(desk, Answer)] == ["cavity 2", ""]
    assert [r.unit for r in of_kind(desk, Measurement)] == ["cavity 1"]


def test_undo_takes_the_tap_back(desk, route):
    page = judging(desk, route)
    page.answer("not_ok")
    assert page.state.frame.undo == "NOK at Moulding"
    page.undo()
    assert page.state.frame.saved == "Taken back"
    assert (page.state.frame.undo, page.state.given) == ("", "")
    page.undo()
    assert page.state.frame.problem == "There is nothing to undo in this walk."


def test_each_counting_step_is_on_disk(desk, route):
    page = counting(desk, route)
    page.step("checked", 1)
    page.step("checked", 1)
    assert [(r.checked, r.nok) for r in of_kind(desk, Count)] == [(1, 0), (2, 0)]
    assert page.state.frame.saved == "On disk: 0 of 2 NOK at Customer dock"


def test_one_more_nok_than_checked_raises_checked(desk, route):
    page = counting(desk, route)
    page.step("nok", 1)
    page.step("nok", 1)
    assert (page.state.checked, page.state.nok) == (2, 2)


def test_counts_never_fall_below_nothing_nor_checked_below_nok(desk, route):
    page = counting(desk, route)
    page.step("checked", -1)
    page.step("nok", -1)
    assert of_kind(desk, Count) == []
    page.step("nok", 1)
    page.step("checked", -1)
    assert (page.state.checked, page.state.nok) == (1, 1)
    assert len(of_kind(desk, Count)) == 1


def test_the_pad_records_a_typed_count(desk, route):
    page = counting(desk, route)
    for which, keys in (("checked", "30"), ("nok", "6")):
        page.open_pad(which)
        press(page, keys)
    assert (page.state.checked, page.state.nok, page.state.pad) == (30, 6, None)


def test_the_pad_refuses_more_nok_than_checked_with_a_sentence(desk, route):
    page = counting(desk, route)
    page.open_pad("checked")
    press(page, "5")
    page.open_pad("nok")
    press(page, "6")
    assert page.state.frame.problem.startswith("Only 5 parts were checked, so at most 5 are NOK")
    assert page.state.pad is not None
    assert (page.state.checked, page.state.nok, len(of_kind(desk, Count))) == (5, 0, 1)


def test_the_pad_refuses_fewer_checked_than_nok_with_a_sentence(desk, route):
    page = counting(desk, route)
    for _ in range(3):
        page.step("nok", 1)
    page.open_pad("checked")
    press(page, "2")
    assert page.state.frame.problem.startswith("3 parts are NOK already")
    assert page.state.checked == 3


@pytest.mark.parametrize("separator", [".", ","])
def test_parts_are_typed_as_whole_numbers_only(desk, route, separator):
    page = counting(desk, route)
    page.open_pad("checked")
    page.press("3")
    page.press(separator)
    assert page.state.pad.text == "3"


@pytest.mark.parametrize("keys", ["-5", "9999999"])
@pytest.mark.parametrize("which", ["checked", "nok"])
def test_a_count_that_cannot_be_is_refused_and_not_written(desk, route, which, keys):
    page = counting(desk, route)
    page.open_pad(which)
    press(page, keys)
    assert page.state.frame.problem
    assert of_kind(desk, Count) == []


def test_a_closed_pad_records_nothing(desk, route):
    page = counting(desk, route)
    page.open_pad("checked")
    page.press("3")
    page.press("close")
    page.press("enter")
    assert page.state.pad is None
    assert of_kind(desk, Count) == []


def test_a_value_that_can_hardly_be_true_is_asked_once_more_and_then_kept(desk, route):
    page = measuring(desk, route)
    press(page, "25.0")  # the checklist says plausible from 1.00 to 5.00 mm
    assert page.state.ask_again == "25.0 mm is hardly possible here. Press Enter again to keep it."
    assert of_kind(desk, Measurement) == []
    page.press("enter")
    assert [r.value for r in of_kind(desk, Measurement)] == ["25.0"]
    assert page.state.ask_again == ""


def test_another_value_after_the_question_is_asked_for_anew(desk, route):
    page = measuring(desk, route)
    press(page, "25")
    press(page, "0")
    assert page.state.ask_again.startswith("250 mm")
    assert of_kind(desk, Measurement) == []


def test_a_value_out_of_tolerance_is_kept_at_once(desk, route):
    page = measuring(desk, route)
    press(page, "2.71")
    assert [r.value for r in of_kind(desk, Measurement)] == ["2.71"]
    assert (page.state.ask_again, page.state.values, page.state.pad.text) == ("", "2.71", "")
    assert page.state.head.progress == "1 of 5 measured, 1 out of limits"


def test_a_key_leads_to_the_parallel_units_and_a_choice_back_to_the_pad(desk, route):
    page = measuring(desk, route)
    assert page.state.unit_words == "Which cavity? Part?"

    page.press("2")
    page.press("unit")
    assert page.state.is_choosing_unit
    page.press("unit")
    assert not page.state.is_choosing_unit
    page.press("unit")
    page.choose_unit("cavity 2")

    assert (page.state.is_choosing_unit, page.state.unit_words) == (False, "cavity 2")
    assert page.state.pad.text == "2"
    press(page, [".", "5"])
    (taken,) = of_kind(desk, Measurement)
    assert (taken.value, taken.unit) == ("2.5", "cavity 2")


def test_a_setting_has_no_parallel_units(desk, route):
    assert measuring(desk, route, check="mould-temperature").state.unit_words == ""


def test_the_pad_leads_to_the_reason_why_a_check_does_not_apply(desk, route):
    page = measuring(desk, route)
    page.press("set_aside")
    assert desk.routes[-1].screen == "reason"


@pytest.mark.parametrize("text", ["-", "2.", "12.50"])
def test_what_is_typed_is_shown_with_the_tolerance_even_while_it_is_no_number_yet(desk, route, text):
    page = measuring(desk, route)
    for key in text.removeprefix("-") + "-" * text.startswith("-"):
        page.press(key)
    assert page.state.tolerance.value == f"{text} mm"


def test_the_value_is_set_against_its_limits_while_it_is_typed(desk, route):
    page = measuring(desk, route)
    for key in "2.7":
        page.press(key)
    assert page.state.tolerance.mark == "bad"


def test_enter_without_a_number_records_nothing(desk, route):
    page = measuring(desk, route)
    page.press("enter")
    assert of_kind(desk, Measurement) == []


def test_a_setting_has_no_unit_to_choose_and_is_corrected_in_place(desk, route):
    page = measuring(desk, route, check="mould-temperature")
    assert page.state.head.units.names == ()
    press(page, "40")
    press(page, "52")
    assert [r.actual for r in of_kind(desk, Setting)] == ["40", "52"]
    assert page.state.values == "52"
    assert page.state.head.progress == "out of the allowed range"


def test_the_photo_page_takes_a_picture_from_the_watched_folder(desk, route):
    where = {"screen": "photo", "check": "ear-photo"}
    page = opened(PhotoPage, desk, route, **where)
    assert page.state.choice.found == ()
    assert page.state.choice.invitation.startswith("No picture in the folder camera.")
    desk.pictures.mkdir()
    (desk.pictures / "ear.jpg").write_bytes(draw("ear-ok"))
    (desk.pictures / "half.jpg").write_bytes(draw("ear-ok")[:5000])

    page.open()
    assert [tile.caption for tile in page.state.choice.found] == ["ear.jpg"]
    page.choose(page.state.choice.found[0].key)

    (photo,) = of_kind(desk, Photo)
    assert (photo.station, photo.check) == ("moulding", "ear-photo")
    assert desk.store.photo_path(photo.file_name).read_bytes() == draw("ear-ok")
    (tile,) = page.state.choice.found
    assert (tile.word, tile.mark) == ("On disk", "chosen")
    (kept,) = page.state.choice.kept
    assert len(kept.pixels) == kept.size[0] * kept.size[1] * 3
    assert page.state.frame.saved == "On disk: photo at Moulding"


def test_a_picture_that_went_away_is_said_in_a_sentence(desk, route):
    desk.pictures.mkdir()
    (desk.pictures / "ear.jpg").write_bytes(draw("ear-ok"))
    page = opened(PhotoPage, desk, route, screen="photo")
    key = page.state.choice.found[0].key
    shutil.rmtree(desk.pictures)
    page.choose(key)
    assert "ear.jpg" in page.state.frame.problem
    assert of_kind(desk, Photo) == []


def test_the_strip_marks_here_and_the_guide_says_where_next(desk, route):
    frame = judging(desk, route).state.frame
    assert [tile.station for tile in frame.tiles if tile.is_here] == ["moulding"]
    assert sum(tile.is_next for tile in frame.tiles) == 1
    assert "Next: " in frame.guide
    assert len(frame.tiles) == 8


def test_a_station_that_is_not_in_the_checklist_is_said_in_a_sentence(desk, route):
    page = opened(StationPage, desk, route, station="nowhere")
    assert page.state.frame.problem == ("The checklist has no station 'nowhere'; choose one in the strip.")


def test_the_answer_page_says_what_the_plain_rule_says(desk, route):
    page = opened(AnswerPage, desk, route, screen="answer")
    assert page.state.plain_rule.endswith("no NOK was seen.")
    judging(desk, route).answer("not_ok")
    page.open()
    assert page.state.plain_rule.endswith("seen): Injection moulding.")
    assert page.state.rows[0].counts == "1 of 1"
    assert [row.counts for row in page.state.rows[1:]] == ["none checked"] * 7


def test_the_answer_page_writes_a_bundle_with_the_answer_in_it(desk, route):
    judging(desk, route).answer("not_ok")
    page = opened(AnswerPage, desk, route, screen="answer")

    page.write_bundle()

    (path,) = desk.session.bundles.iterdir()
    assert str(path) in page.state.written
    assert (page.state.busy, page.state.problem) == (False, "")
    with zipfile.ZipFile(path) as archive:
        (name,) = [n for n in archive.namelist() if n.endswith("first_bad_station.csv")]
        lines = archive.read(name).decode("utf-8-sig").splitlines()
    assert len(lines) == 1 + 8
    assert {"concern", "first_bad_station"} <= set(lines[0].split(","))


def test_the_answer_page_leads_to_a_closer_look_the_onset_and_the_suspicion(desk, route):
    page = opened(AnswerPage, desk, route, screen="answer")
    page.look_closer()
    page.to_onset()
    page.suspect()

    assert [r.screen for r in desk.routes] == ["detail", "onset", "weight"]
    assert desk.routes[0].station == "moulding"
    assert all(r.up().screen == "answer" for r in desk.routes)


def test_a_closer_look_is_taken_at_the_named_station(desk, route):
    walking = Walking(desk.place, route.concern, route.walk)
    walking.count(desk.facts(route), "dock", "ear-count", 20, 9)
    page = opened(AnswerPage, desk, route, screen="answer")
    page.look_closer()

    assert desk.routes[-1].station == "dock"


def test_what_clean_means_is_chosen_on_the_answer_page_and_kept(desk, route):
    walking = Walking(desk.place, route.concern, route.walk)
    walking.count(desk.facts(route), "dock", "ear-count", 20, 0)
    page = opened(AnswerPage, desk, route, screen="answer")
    first = page.state.rows[-1].proof

    page.choose_clean("0.01 0.95")

    assert page.state.clean == "0.01 0.95"
    assert "under 10 % affected" in first
    assert "under 1 % affected" in page.state.rows[-1].proof
    assert opened(AnswerPage, desk, route, screen="answer").state.clean == "0.01 0.95"
