"""Scanning on the pages of a walk: what is held, what is recorded, where a label leads."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.scenes import StagedView, frame_of, ground, qr_picture, scene
from walkapp.codes import station_text
from walkapp.codes.reading import Code
from walkapp.model.records import Answer, Measurement, PartSeen, Sample
from walkapp.presenters.checks import CountPage, JudgePage
from walkapp.presenters.devices import Devices
from walkapp.presenters.home import HomePage
from walkapp.presenters.measuring import MeasurePage
from walkapp.presenters.pages import page_class
from walkapp.presenters.route import Route
from walkapp.presenters.scan import SEVERAL, ScanPage, chosen_code
from walkapp.presenters.scan_picture import ScanPicturePage, ScanTypeForm
from walkapp.presenters.station import StationPage
from walkapp.presenters.walk_forms import SampleForm

RS, GS = "\x1e", "\x1d"


def envelope(*fields):
    return f"[)>{RS}06{GS}{GS.join(fields)}{RS}\x04"


@pytest.fixture
def desk(tmp_path):
    made = Desk(tmp_path)
    with made.store:
        yield made


def opened(desk, route):
    page = page_class(route.screen)(desk.session, route)
    page.open()
    return page


def judging(desk, station="welding", **more):
    route = replace(desk.walk(**more), screen="judge", station=station, check="ear-look")
    page = opened(desk, route)
    assert isinstance(page, JudgePage)
    return page


def of_kind(desk, kind):
    return [record for record in desk.records if isinstance(record, kind)]


# What is held


def test_a_scanned_part_is_shown_recorded_with_one_answer_and_let_go(desk):
    page = judging(desk)

    page.take_text("EAR-1")
    assert page.state.frame.scan.held == "Part EAR-1"
    assert of_kind(desk, Answer) == []
    page.answer("ok")
    page.answer("ok")

    (seen,) = of_kind(desk, PartSeen)
    first, _ = of_kind(desk, Answer)
    assert (seen.part, seen.about) == ("EAR-1", first.id)
    assert page.state.frame.scan.held == ""


def test_a_lot_stays_for_the_next_entries_until_it_is_let_go(desk):
    page = judging(desk)

    page.take_text(envelope("SX1", "1T0303"))
    page.answer("ok")
    assert page.state.frame.scan.held == "Lot 0303"
    page.take_text("EAR-2")
    page.answer("not_ok")
    page.let_go()
    page.answer("ok")

    assert [(r.part, r.lot) for r in of_kind(desk, PartSeen)] == [("X1", "0303"), ("EAR-2", "0303")]


def test_what_is_held_is_there_after_a_restart_and_nowhere_else(desk):
    page = judging(desk)
    page.take_text("EAR-1")

    again = opened(desk, page.route)
    elsewhere = opened(desk, replace(page.route, station="leak-test"))

    assert again.state.frame.scan.held == "Part EAR-1"
    assert elsewhere.state.frame.scan.held == ""


def test_an_undo_holds_the_part_again_so_that_the_other_answer_is_about_it_too(desk):
    page = judging(desk)
    page.take_text("EAR-1")
    page.answer("ok")

    page.undo()
    assert page.state.frame.scan.held == "Part EAR-1"
    page.answer("not_ok")

    newest = of_kind(desk, PartSeen)[-1]
    assert (newest.part, newest.about) == ("EAR-1", of_kind(desk, Answer)[-1].id)


def test_a_part_that_was_looked_at_here_before_is_told_by_shape_and_word(desk):
    page = judging(desk)
    page.take_text("EAR-1")
    page.answer("ok")

    page.take_text("EAR-1")

    keys = page.state.frame.scan
    assert keys.mark == "undecided"
    assert "counts as one more part" in keys.mind


def test_another_part_number_is_told_by_shape_and_word_and_nothing_is_refused(desk):
    page = judging(desk, part_number="4711-A")

    page.take_text(envelope("P4711-B", "SX1"))

    keys = page.state.frame.scan
    assert (keys.mark, keys.detail) == ("bad", "OTHER PART NUMBER")
    assert "4711-B" in keys.mind and "4711-A" in keys.mind
    page.answer("ok")
    assert len(of_kind(desk, PartSeen)) == 1


def test_a_text_that_cannot_be_used_is_told_and_what_is_held_stays(desk):
    page = judging(desk)
    page.take_text("EAR-1")

    page.take_text("x" * 41)

    assert "at most 40" in page.state.frame.problem
    page.answer("ok")
    assert [r.part for r in of_kind(desk, PartSeen)] == ["EAR-1"]


def test_a_cavity_that_is_scanned_is_chosen_and_scanned_again_stays_chosen(desk):
    page = judging(desk, station="moulding")

    page.take_text("CAV 2")
    page.take_text("C2")
    page.answer("ok")

    assert page.state.head.units.chosen == "cavity 2"
    assert of_kind(desk, Answer)[0].unit == "cavity 2"


def test_a_question_is_not_about_a_part(desk):
    page = opened(desk, replace(desk.walk(), screen="judge", station="leak-test", check="pads-released"))

    page.take_text("EAR-1")

    assert "asked of the station" in page.state.frame.problem
    assert page.state.frame.scan.held == ""


# Values and counts


def test_a_scanned_tag_goes_with_a_value_and_the_typed_digits_stay(desk):
    page = opened(
        desk, replace(desk.walk(), screen="measure", station="leak-test", check="ear-wall-tested")
    )
    assert isinstance(page, MeasurePage)
    page.press("2")

    page.take_text("EAR-1")
    assert (page.state.tag.tag, page.state.tag.is_held, page.state.pad.text) == ("EAR-1", True, "2")
    page.press("enter")

    (value,) = of_kind(desk, Measurement)
    (seen,) = of_kind(desk, PartSeen)
    assert (value.value, value.part, seen.about) == ("2", "EAR-1", value.id)
    assert not page.state.tag.is_held


def test_a_held_tag_is_not_counted_up_and_is_let_go_by_its_key(desk):
    page = opened(
        desk, replace(desk.walk(), screen="measure", station="leak-test", check="ear-wall-tested")
    )
    page.take_text("EAR-1")

    page.step_tag(1)
    assert page.state.tag.tag == "EAR-1"
    page.switch_tags()

    assert page.state.tag.tag == ""


def test_where_parts_are_counted_a_lot_leads_to_its_form_and_a_tag_is_refused(desk):
    page = opened(desk, replace(desk.walk(), screen="count", station="packing", check="ear-count"))
    assert isinstance(page, CountPage)

    page.take_text("EAR-1")
    assert "not told apart" in page.state.frame.problem
    page.take_text(envelope("1T0303", "16D20260301"))

    form = opened(desk, desk.routes[-1])
    assert isinstance(form, SampleForm)
    form.record()
    (sample,) = of_kind(desk, Sample)
    assert (sample.station, sample.lot, sample.made_on) == ("packing", "0303", "2026-03-01")
    assert desk.routes[-1] == page.route


def test_on_the_form_of_the_lot_a_plain_text_is_the_lot(desk):
    form = opened(desk, replace(desk.walk(), screen="sample", station="welding"))

    form.take_text("0303-1")

    assert {field.name: field.value for field in form.state.fields}["lot"] == "0303-1"


# Stations


def test_a_stations_label_opens_it_from_any_page_of_the_walk(desk):
    page = judging(desk)

    for screen in ("judge", "station", "note", "photo"):
        opened(desk, replace(page.route, screen=screen)).take_text(
            station_text("washer-reservoir", "leak-test")
        )
        assert (desk.routes[-1].screen, desk.routes[-1].station) == ("station", "leak-test")
        assert desk.routes[-1].walk == page.route.walk


@pytest.mark.parametrize(
    ("label", "says"),
    [(("pump-bracket", "forming"), "value stream"), (("washer-reservoir", "gone"), "no station")],
)
def test_a_label_that_fits_no_station_of_the_walk_is_told_in_one_sentence(desk, label, says):
    page = judging(desk)

    page.take_text(station_text(*label))

    assert says in page.state.frame.problem
    assert desk.routes == []


def test_at_a_station_a_scanned_part_goes_to_the_check_that_judges_it(desk):
    route = replace(desk.walk(), station="welding")
    page = opened(desk, route)
    assert isinstance(page, StationPage)
    page.confirm_cautions()

    page.take_text("EAR-1")

    assert (desk.routes[-1].screen, desk.routes[-1].check) == ("judge", "ear-look")
    assert opened(desk, desk.routes[-1]).state.frame.scan.held == "Part EAR-1"


def test_cautions_come_before_a_scanned_part(desk):
    page = opened(desk, replace(desk.walk(), station="welding"))
    assert page.state.cautions

    page.take_text("EAR-1")

    assert desk.routes == []
    assert page.state.frame.scan.held == "Part EAR-1"


def test_a_stations_page_names_the_followed_parts_still_to_come(desk):
    page = judging(desk, station="moulding")
    page.take_text("EAR-1")
    page.answer("ok")

    station = opened(desk, replace(page.route, screen="station", station="welding", check=""))
    station.confirm_cautions()

    (row,) = station.state.followed
    assert row.title == "1 followed part still to be looked at here"
    assert "EAR-1" in row.subtitle
    station.to_followed()
    assert desk.routes[-1].screen == "followed"
    assert desk.routes[-1].up() == station.route


# Home and concern


def test_on_the_home_page_a_stations_label_offers_the_walks_and_audits_there(desk):
    walk = desk.walk()
    home = opened(desk, Route())
    assert isinstance(home, HomePage)

    home.take_text(station_text("washer-reservoir", "leak-test"))
    page = opened(desk, desk.routes[-1])

    walks, audits = page.state.sections
    assert page.state.title.endswith("Leak test")
    page.row("walks", walks.rows[0].id)
    assert desk.routes[-1] == replace(walk, station="leak-test")
    page.row("audits", audits.rows[0].id)
    assert desk.routes[-1].screen == "audits"


def test_a_label_of_no_station_here_is_told(desk):
    desk.walk()
    for label, says in (("elsewhere", "not on this tablet"), ("washer-reservoir", "no station")):
        page = opened(desk, Route(screen="at_station", stream=label, station="gone"))
        assert says in page.state.sentence + page.state.problem


def test_a_part_means_nothing_at_home_and_its_page_in_the_concern(desk):
    page = judging(desk)
    page.take_text("EAR-1")
    page.answer("ok")
    home = opened(desk, Route())
    concern = opened(desk, Route(screen="concern", concern=page.route.concern))

    home.take_text("EAR-1")
    concern.take_text("EAR-1")
    concern.take_text("EAR-2")

    assert "Only a station's label" in home.state.problem
    part = opened(desk, desk.routes[-1])
    assert part.state.title == "Part EAR-1"
    assert "No part with this tag" in concern.state.problem


# The page for scanning


def code(text, x, y, kind="]Q1"):
    return Code(text=text, name="QR Code", kind=kind, place=(x - 10, y - 10, x + 10, y + 10))


SIZE = (1000, 600)


def test_the_only_code_in_the_aim_frame_is_taken_whatever_lies_outside():
    inside, outside = code("A", 500, 300), code("B", 50, 50)

    assert chosen_code((outside, inside), SIZE, ()) == (inside, ())
    assert chosen_code((outside,), SIZE, ()) == (outside, ())


def test_several_codes_are_asked_about_and_the_same_text_twice_is_one():
    a, b = code("A", 450, 300), code("B", 550, 300)

    assert chosen_code((a, b), SIZE, ()) == (None, (a, b))
    assert chosen_code((a, code("A", 550, 300, "]d1")), SIZE, ())[0].text == "A"


def test_a_bar_code_is_taken_only_when_two_frames_agree():
    bar = code("A", 500, 300, "]C0")

    assert chosen_code((bar,), SIZE, ()) == (None, ())
    assert chosen_code((bar,), SIZE, (code("B", 500, 300, "]C0"),)) == (None, ())
    assert chosen_code((bar,), SIZE, (bar,)) == (bar, ())


def scanning(desk, *pictures, **more):
    view = StagedView([frame_of(picture) for picture in pictures])
    desk.session.devices = Devices(live=view)
    page = judging(desk, **more)
    page.scan()
    scan = opened(desk, desk.routes[-1])
    assert isinstance(scan, ScanPage)
    return scan, view, page


def test_a_code_in_the_live_view_is_held_on_the_page_that_led_there(desk):
    scan, view, page = scanning(desk, ground(), scene((qr_picture("EAR-1"), (640, 360))))

    scan.look()
    assert scan.eye.state.frame is not None and scan.eye.state.places == ()
    scan.look()
    scan.stop()

    assert desk.routes[-1] == page.route
    assert opened(desk, page.route).state.frame.scan.held == "Part EAR-1"
    assert not view.is_open


def test_several_codes_in_the_live_view_are_put_to_the_person(desk):
    scan, _, page = scanning(
        desk, scene((qr_picture("EAR-1"), (540, 360)), (qr_picture("EAR-2"), (760, 360)))
    )

    scan.look()
    rows = scan.state.sections[0].rows
    assert scan.state.sentence == SEVERAL
    scan.row("codes", next(row.id for row in rows if row.title == "EAR-2"))

    assert opened(desk, page.route).state.frame.scan.held == "Part EAR-2"


def test_a_code_that_cannot_be_used_is_told_once_and_aiming_goes_on(desk):
    label = station_text("pump-bracket", "forming")
    scan, _, _ = scanning(desk, *[scene((qr_picture(label), (640, 360)))] * 3, ground())

    scan.look()
    told = scan.state
    scan.look()

    assert "value stream" in told.problem
    assert scan.state is told
    assert all(route.screen == "scan" for route in desk.routes)


def test_a_camera_that_does_not_answer_leaves_the_other_ways(desk):
    scan, _, _ = scanning(desk)

    assert "does not answer" in scan.state.problem
    assert [button.name for button in scan.state.buttons] == ["scan_picture", "scan_type"]


def test_a_code_is_read_from_a_picture_that_is_not_kept(desk):
    page = judging(desk)
    page.scan()
    desk.pictures.mkdir()
    scene((qr_picture("EAR-1"), (640, 360))).save(desk.pictures / "one.png")
    ground().save(desk.pictures / "none.png")
    chooser = opened(desk, desk.routes[-1].down("scan_picture"))
    assert isinstance(chooser, ScanPicturePage)

    keys = {row.title: row.id for row in chooser.state.sections[0].rows}
    chooser.row("pictures", keys["none.png"])
    assert "No code was found" in chooser.state.problem
    chooser.row("pictures", keys["one.png"])

    assert desk.routes[-1] == page.route
    assert opened(desk, page.route).state.frame.scan.held == "Part EAR-1"
    assert {record.kind for record in desk.records} == {"concern", "walk_start"}


def test_what_is_typed_is_marked_as_typed(desk):
    page = judging(desk)
    page.scan()
    form = opened(desk, desk.routes[-1].down("scan_type"))
    assert isinstance(form, ScanTypeForm)

    form.fill("text", " EAR-1 ")
    form.record()
    back = opened(desk, desk.routes[-1])
    back.answer("ok")

    (seen,) = of_kind(desk, PartSeen)
    assert (seen.part, seen.read_by) == ("EAR-1", "typed")


def test_a_picture_of_the_tablets_own_camera_is_read(desk, tmp_path):
    path = tmp_path / "taken.png"
    scene((qr_picture("EAR-1"), (640, 360))).save(path)

    class Camera:
        word, label = "own", "Take a picture"

        def is_there(self):
            return True

        def take(self, into, taken, failed):
            taken(path)

        def cancel(self):
            pass

    page = judging(desk)
    desk.session.devices = Devices(sources=(Camera(),))
    page.scan()
    scan = opened(desk, desk.routes[-1])
    scan.press("source-own")

    assert opened(desk, page.route).state.frame.scan.held == "Part EAR-1"
