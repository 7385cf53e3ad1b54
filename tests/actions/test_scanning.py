"""What a label says about the next part at a station: never guessed, told where it does not fit."""

from __future__ import annotations

import pytest

from tests.fakes import Desk
from tests.scenes import qr_picture, scene
from walkapp.actions.scanning import codes_in_file, station_in, taken_label, understand, unit_named
from walkapp.actions.walking import Walking
from walkapp.codes import StationLabel, station_text
from walkapp.errors import InputError, PhotoError
from walkapp.model.checklist import ParallelUnits, Station

RS, GS = "\x1e", "\x1d"


@pytest.fixture
def floor(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield desk, desk.walk(part_number="7P0 955-453")


def take(floor, text, kind="", station="moulding"):
    desk, route = floor
    walk = desk.facts(route)
    found = walk.stream.station(station)
    return taken_label(walk, found, understand(desk.place, text, kind), read_by="code")


def envelope(*fields):
    return f"[)>{RS}06{GS}{GS.join(fields)}{RS}\x04"


def test_a_plain_text_is_the_tag_of_the_part(floor):
    assert take(floor, "EAR-0042").seen.part == "EAR-0042"


def test_the_lot_of_the_station_is_known_again(floor):
    desk, route = floor
    Walking(desk.place, route.concern, route.walk).say_sample(desk.facts(route), "moulding", "0303-1", "")

    taken = take(floor, "0303-1")

    assert (taken.seen.part, taken.seen.lot) == ("", "0303-1")


def test_another_lot_than_that_of_the_station_is_told(floor):
    desk, route = floor
    Walking(desk.place, route.concern, route.walk).say_sample(desk.facts(route), "moulding", "0303-1", "")

    taken = take(floor, envelope("SX1", "1T0304-2"))

    assert "lot 0304-2" in taken.mind and "0303-1" in taken.mind


@pytest.mark.parametrize("number", ["7P0955453", "7p0 955 453", "7P0.955.453"])
def test_the_part_number_of_the_concern_is_no_tag_however_it_is_written(floor, number):
    with pytest.raises(InputError, match="the same on every part"):
        take(floor, number)


def test_a_label_of_the_right_part_number_says_nothing_more(floor):
    assert take(floor, envelope("P7P0955453", "SX1")).other_part == ""


def test_a_label_of_another_part_number_is_told(floor):
    taken = take(floor, envelope("P7P0955999", "SX1"))

    assert taken.seen.part == "X1"
    assert "7P0955999" in taken.other_part and "7P0 955-453" in taken.other_part


def test_a_trade_number_is_not_compared_with_a_part_number(floor):
    assert take(floor, "010950600013435221X1", "]d2").other_part == ""


def test_a_concern_that_has_a_trade_number_is_compared_by_it(tmp_path):
    desk = Desk(tmp_path / "other")
    with desk.store:
        floor = desk, desk.walk(part_number="9506000134352")
        assert take(floor, "010950600013435221X1", "]d2").other_part == ""
        assert take(floor, "010950600013436921X1", "]d2").other_part != ""


def test_the_label_of_a_box_gives_its_lot_and_no_part(floor):
    taken = take(floor, envelope("SX1", "1T0303", "Q24"))

    assert (taken.seen.part, taken.seen.lot) == ("", "0303")
    assert "label of a box" in taken.mind


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("9506000134352", "]E0", "article number"),
        ("0109506000134352", "]d2", "neither a serial number nor a lot"),
        (envelope("SX1", "Q24"), "", "label of a box"),
        ("station:washer-reservoir/leak-test:XXXX", "", "damaged"),
    ],
)
def test_what_tells_nothing_of_one_part_is_refused(floor, text, kind, says):
    with pytest.raises(InputError, match=says):
        take(floor, text, kind)


def with_units(kind, *names):
    units = ParallelUnits(kind=kind, names=names)
    return Station(order=1, id="m", name="M", short="M", kind="moulding", units=units)


@pytest.mark.parametrize("text", ["C3", "c 3", "CAV 3", "cav.03", "Cavity 3", "CAVITY-3"])
def test_a_cavity_is_known_by_what_moulds_and_labels_call_it(text):
    assert unit_named(with_units("cavity", "cavity 1", "cavity 3"), text) == "cavity 3"


@pytest.mark.parametrize("text", ["3", "C4", "F3", "C3X", "CAV", "C1234"])
def test_what_names_no_cavity_for_certain_names_none(text):
    assert unit_named(with_units("cavity", "cavity 1", "cavity 3"), text) == ""


def test_two_units_of_one_number_are_not_guessed_between():
    station = with_units("cavity", "tool A 3", "tool B 3")

    assert unit_named(station, "C3") == ""
    assert unit_named(station, "TOOL b 3") == "tool B 3"


def test_a_station_of_another_stream_or_of_an_older_checklist_is_told(floor):
    desk, route = floor
    walk = desk.facts(route)

    assert station_in(walk, StationLabel("washer-reservoir", "leak-test")).name == "Leak test"
    with pytest.raises(InputError, match="value stream 'pump-bracket'"):
        station_in(walk, StationLabel("pump-bracket", "forming"))
    with pytest.raises(InputError, match="no station 'gone'"):
        station_in(walk, StationLabel("washer-reservoir", "gone"))


def test_the_text_of_a_printed_label_is_understood(floor):
    desk, _ = floor

    found = understand(desk.place, station_text("washer-reservoir", "leak-test"))

    assert found == StationLabel("washer-reservoir", "leak-test")


def test_a_small_code_in_a_large_picture_is_found_at_the_second_look(tmp_path):
    picture = scene((qr_picture("EAR-0042", 3), (3_000, 2_000)), size=(4_000, 3_000))
    path = tmp_path / "large.jpg"
    picture.save(path, quality=90)

    assert [code.text for code in codes_in_file(path)] == ["EAR-0042"]


def test_a_file_that_is_no_picture_is_refused(tmp_path):
    path = tmp_path / "no.jpg"
    path.write_bytes(b"no picture")

    with pytest.raises(PhotoError):
        codes_in_file(path)
