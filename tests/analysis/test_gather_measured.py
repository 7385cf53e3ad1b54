"""From records to characteristics: what belongs together, which digits stay, and what is left out."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.analysis.test_gather_units import ONE, TWO, start
from tests.builders import make
from walkapp.analysis.gather_measured import gather_characteristics
from walkapp.analysis.measured import follow_measurements
from walkapp.analysis.measured_results import Limits, Reading
from walkapp.model.checklist import Check, Defect, Station, Stream
from walkapp.model.records import Answer, Measurement


def check(id, station, **more):
    said = {"kind": "measurement", "title": f"Measure {id}", "unit": "mm", "lsl": Decimal("2.40")}
    return Check(id=id, station=station, **{**said, **more})


# Invented stream.
STREAM = Stream(
    id="washer",
    name="Washer",
    product="Reservoir",
    version="1",
    cautions=(),
    defects=(Defect(id="crack", name="Crack"),),
    stations=(
        Station(
            order=1, id="mould", name="Mould", short="Mould", kind="moulding",
            checks=(check("wall", "mould"),),
        ),
        Station(order=2, id="trim", name="Trim", short="Trim", kind="trimming"),
        Station(
            order=3, id="test", name="Test", short="Test", kind="test",
            checks=(
                check("heat", "test", unit="°C", lsl=None, usl=Decimal(35)),
                check("wall-after", "test", characteristic="wall", lsl=Decimal("2.30"), special=True),
            ),
        ),
    ),
)  # fmt: skip


def taken(number, value, station="mould", check="wall", *, walk=ONE, unit="mm", **more):
    return make(
        Measurement,
        number,
        station=station,
        check=check,
        value=value,
        unit_of_measure=unit,
        walk=walk,
        **more,
    )


def gather(*records, stream=STREAM):
    found = gather_characteristics(stream, [start(ONE), start(TWO, by="QE-MS"), *records])
    return {one.id: one for one in found}


def test_checks_of_one_characteristic_stand_together_with_their_own_limits():
    found = gather(
        taken(20, "2.50"),
        taken(21, "2.4", "test", "wall-after"),
        taken(22, "30", "test", "heat", unit="°C"),
    )

    assert list(found) == ["wall", "heat"]
    wall = found["wall"]
    assert (wall.title, wall.unit, wall.special) == ("Measure wall", "mm", True)
    assert (wall.checked_at, wall.station_names) == (("mould", "test"), ("Mould", "Test"))
    assert [s.limits for s in wall.stations] == [
        Limits(lsl=Decimal("2.40")), Limits(), Limits(lsl=Decimal("2.30")),
    ]  # fmt: skip
    assert [len(s.readings) for s in wall.stations] == [1, 0, 1]
    assert [len(s.readings) for s in found["heat"].stations] == [0, 0, 1]


def test_every_digit_that_was_typed_is_kept():
    wall = gather(taken(20, "2.500"), taken(21, "2.123456789"))["wall"]

    assert [str(r.value) for r in wall.stations[0].readings] == ["2.500", "2.123456789"]
    assert wall.decimals == 9
    assert gather()["wall"].decimals == 0


def test_readings_carry_tag_and_parallel_unit_in_the_order_taken():
    cavity = make(
        Measurement, 21, station="mould", check="wall", value="2.5", unit_of_measure="mm", unit="cavity 2",
    )  # fmt: skip
    wall = gather(taken(22, "2.3", part="P2"), cavity)["wall"]

    assert wall.stations[0].readings == (
        Reading(value=Decimal("2.5"), group="cavity 2"), Reading(value=Decimal("2.3"), part="P2"),
    )  # fmt: skip


def test_a_tag_is_followed_within_one_walk_only():
    records = [
        taken(20, "2.51", part="P1"), taken(21, "2.52", part="P2"),
        taken(22, "2.50", part="P1", walk=TWO),
        taken(23, "2.41", "test", "wall-after", part="P1"),
        taken(24, "2.43", "test", "wall-after", part="P2"),
    ]  # fmt: skip
    wall = gather(*records)["wall"]

    assert [r.part for r in wall.stations[0].readings] == [
        "P1, walk of 2026-03-03 by QE-RT",
        "P2, walk of 2026-03-03 by QE-RT",
        "P1, walk of 2026-03-03 by QE-MS",
    ]
    (move,) = follow_measurements(wall.stations).moves
    assert (move.common_parts, move.unused_earlier, move.not_measured_between) == (2, 1, ("Trim",))
    assert move.shift.value == pytest.approx(-0.095, abs=1e-12)


def test_untagged_values_of_another_walk_change_no_tag():
    wall = gather(taken(20, "2.51", part="P1"), taken(21, "2.52", walk=TWO))["wall"]

    assert [r.part for r in wall.stations[0].readings] == ["P1", ""]


def test_values_in_another_unit_are_left_out_and_counted():
    wall = gather(taken(20, "25.0", unit="cm"), taken(21, "2.5"))["wall"]

    assert (len(wall.stations[0].readings), wall.left_out) == (1, 1)


def test_records_that_do_not_fit_the_checklist_are_no_values():
    records = [
        taken(20, "2.5", "trim"), taken(21, "2.5", check="gone"), taken(22, "2.5", "test", "wall"),
        make(Answer, 23, station="mould", check="wall", answer="not_applicable", reason="no gauge"),
    ]  # fmt: skip
    wall = gather(*records)["wall"]

    assert ([s.readings for s in wall.stations], wall.left_out) == ([(), (), ()], 0)


@pytest.mark.parametrize(
    ("limits", "kept"),
    [
        ({"lsl": Decimal("1e-50"), "usl": Decimal(3)}, Limits(usl=Decimal(3))),
        ({"lsl": Decimal("1.1"), "usl": Decimal("1.10000000000000000000001")}, Limits()),
    ],
)
def test_limits_that_no_number_can_tell_apart_do_not_stop_the_work(limits, kept):
    mould = replace(STREAM.stations[0], checks=(check("wall", "mould", **limits),))
    wall = gather(taken(20, "2.5"), stream=replace(STREAM, stations=(mould, *STREAM.stations[1:])))["wall"]

    assert wall.stations[0].limits == kept
    assert follow_measurements(wall.stations).stations[0].count == 1


typed = st.decimals("-1000", "1000", allow_nan=False, places=3).map(lambda number: f"{number:f}")


@given(values=st.lists(typed, min_size=1, max_size=12), chance=st.randoms())
def test_the_order_of_records_does_not_matter_and_no_value_is_changed(values, chance):
    records = [taken(20 + i, value) for i, value in enumerate(values)]
    found = gather(*records)["wall"]
    chance.shuffle(records)

    assert gather(*records)["wall"] == found
    assert [f"{r.value:f}" for r in found.stations[0].readings] == [f"{Decimal(v):f}" for v in values]
