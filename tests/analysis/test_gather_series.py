"""From measurements of walks to the values of a station in the order of time."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from tests.analysis.test_gather_measured import STREAM, taken
from tests.analysis.test_gather_units import ONE, TWO
from tests.builders import make
from walkapp.analysis.gather_measured import gather_characteristics
from walkapp.analysis.gather_series import gather_series
from walkapp.model.records import Sample


def sample(number, day, walk=ONE, station="mould"):
    return make(Sample, number, walk=walk, station=station, made_on=day)


def values_of(records):
    (found,) = gather_series(STREAM, records)
    return [(float(one.value), one.day) for one in found.values]


def test_values_stand_in_the_order_of_production_where_it_is_known():
    records = [
        sample(1, "2026-02-20", TWO),
        taken(2, "2.51", walk=ONE),
        taken(3, "2.40", walk=TWO),
        taken(4, "2.41", walk=TWO),
    ]

    (found,) = gather_series(STREAM, records)

    assert [(float(one.value), one.day) for one in found.values] == [
        (2.40, "2026-02-20"),
        (2.41, "2026-02-20"),
        (2.51, "2026-03-03"),
    ]
    assert (found.undated, found.decimals, found.station.name) == (1, 2, "Mould")


def test_two_samples_of_one_walk_leave_the_day_of_production_open():
    records = [sample(1, "2026-02-20"), sample(2, "2026-02-21"), taken(3, "2.5")]

    assert values_of(records) == [(2.5, "2026-03-03")]


def test_readings_of_one_tag_are_one_part_within_a_walk():
    records = [
        taken(1, "2.4", part="P1"),
        taken(2, "2.5"),
        taken(3, "2.6", part="P1"),
        taken(4, "2.9", part="P1", walk=TWO),
    ]

    (found,) = gather_series(STREAM, records)

    assert [one.value for one in found.values] == [Fraction(5, 2), Fraction(5, 2), Fraction(29, 10)]
    assert found.repeated == 1


def test_each_station_has_values_tolerance_and_units_of_its_own():
    records = [
        taken(1, "2.5", unit="mm"),
        taken(2, "2.31", "test", "wall-after"),
        taken(3, "34", "test", "heat", unit="°C"),
        taken(4, "90", "test", "heat", unit="F"),
    ]

    found = gather_series(STREAM, records)

    assert [(one.station.id, one.check.id, one.limits.lsl, one.left_out) for one in found] == [
        ("mould", "wall", Decimal("2.40"), 0),
        ("test", "wall-after", Decimal("2.30"), 0),
        ("test", "heat", None, 1),
    ]


def test_without_a_value_there_is_nothing():
    assert gather_series(STREAM, [sample(1, "2026-02-20")]) == ()


@given(st.lists(st.integers(0, 999), min_size=1, max_size=12), st.randoms())
def test_the_order_of_the_records_does_not_matter_and_no_value_is_lost(values, mixer):
    records = [taken(number, f"{value / 100:.2f}") for number, value in enumerate(values, 1)]
    mixed = mixer.sample(records, len(records))

    assert gather_series(STREAM, mixed) == gather_series(STREAM, records)
    (found,) = gather_series(STREAM, records)
    (wall, _) = gather_characteristics(STREAM, records)
    assert [one.value for one in found.values] == [
        Fraction(reading.value) for reading in wall.stations[0].readings
    ]
