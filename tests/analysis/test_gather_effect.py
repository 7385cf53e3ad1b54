"""From records to the parts before an action and those after it."""

from __future__ import annotations

import random

from tests.analysis.test_gather import STREAM, answers
from tests.builders import make
from walkapp.analysis.gather_effect import SideParts, gather_sides
from walkapp.model.checklist import Check, Station, Stream
from walkapp.model.records import Count, DatedCount, Measurement, Sample

LOOK = Check(id="look", station="x", kind="attribute", title="look", finds="crack")
LINE = Stream(
    id="line",
    name="Line (invented)",
    product="Reservoir",
    version="1",
    cautions=(),
    defects=STREAM.defects,
    stations=tuple(
        Station(order=order, id=id, name=id, short=id, kind="test", checks=(LOOK,))
        for order, id in enumerate(("welding", "leak-test", "packing"), start=1)
    ),
)
FROM_LEAK_TEST = LINE.stations[1:]


def older(number, day, checked=20, nok=0, station="leak-test"):
    return make(
        DatedCount, number, walk="", station=station, check="look", made_on=day, checked=checked, nok=nok
    )


def sides(*records, done_on="2026-03-05", **more):
    return gather_sides(LINE, FROM_LEAK_TEST, records, "crack", done_on=done_on, **more)


def test_parts_belong_to_the_side_of_their_production_day_and_those_of_the_day_itself_to_none():
    records = [
        older(10, "2026-03-03", nok=9),
        older(11, "2026-03-04", nok=8),
        older(12, "2026-03-05", nok=4),
        older(13, "2026-03-06", checked=30),
        older(14, "2026-03-06", checked=30, nok=1, station="welding"),
    ]
    expected = (
        SideParts(checked=40, nok=17, first_day="2026-03-03", last_day="2026-03-04"),
        SideParts(checked=30, nok=0, first_day="2026-03-06", last_day="2026-03-06"),
    )

    assert (sides(*records).before, sides(*records).after) == expected
    random.Random(1).shuffle(records)
    assert (sides(*records).before, sides(*records).after) == expected


def test_parts_made_before_the_defect_started_are_left_out():
    found = sides(older(10, "2026-02-20"), older(11, "2026-03-04", nok=8), good_until="2026-02-24")

    assert (found.before.checked, found.before.nok) == (20, 8)


def test_parts_of_a_walk_count_by_their_lot_or_by_the_day_on_which_they_were_checked():
    at = {"at": "2026-03-07T10:00:00+01:00"}
    walked = [make(Count, 20, station="leak-test", check="look", checked=50, nok=2, **at)]
    sampled = make(Sample, 21, station="leak-test", lot="0304-1", made_on="2026-03-04", **at)

    assert sides(*walked).after == SideParts(
        checked=50, nok=2, first_day="2026-03-07", last_day="2026-03-07", undated=50
    )
    # Judged after it was done, but made before: these parts never saw the action.
    assert sides(*walked, sampled).before == SideParts(
        checked=50, nok=2, first_day="2026-03-04", last_day="2026-03-04"
    )
    assert sides(*walked, sampled).after == SideParts()


def test_a_station_that_was_judged_on_one_side_only_does_not_count_where_another_has_both():
    both = [older(10, "2026-03-04", nok=8), older(11, "2026-03-06", checked=30)]
    sorted_parts = older(12, "2026-03-07", checked=500, station="packing")

    found = sides(*both, sorted_parts)

    assert (found.after.checked, [station.id for station in found.stations]) == (30, ["leak-test"])


def test_without_a_station_that_has_both_the_first_one_counts_alone():
    found = sides(older(10, "2026-03-04", nok=8), older(11, "2026-03-06", station="packing"))

    assert (found.before.checked, found.after.checked) == (20, 0)
    assert [station.id for station in found.stations] == ["leak-test"]


def test_what_judges_no_part_for_the_defect_counts_nothing():
    leak_test = STREAM.stations[1]
    records = [
        *answers("surface", "not_ok"),
        *answers("look", "not_applicable", "not_ok"),
        make(Measurement, 60, station="leak-test", check="gap", value="1.7", unit_of_measure="mm"),
        make(Measurement, 61, station="leak-test", check="free", value="1.7", unit_of_measure="mm"),
    ]

    found = gather_sides(STREAM, [leak_test], records, "crack", done_on="2026-03-04")

    assert (found.before.checked, found.before.nok) == (2, 2)
