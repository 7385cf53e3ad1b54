"""From records to groupings: what divides the parts of a station, and what is left out."""

from dataclasses import replace
from datetime import timedelta, timezone
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import make, record_id
from walkapp.analysis.gather import gather_tallies
from walkapp.analysis.gather_units import SHIFT_OF_JUDGING, gather_groupings, walk_names
from walkapp.analysis.units import compare_units
from walkapp.model.checklist import Check, Defect, ParallelUnits, Shift, Station, Stream
from walkapp.model.records import Answer, Count, Sample, WalkStart

ONE, TWO, THREE = record_id(3), record_id(4), record_id(5)
DIGEST = "0" * 64

# Invented stream.
LOOK = Check(id="look", station="press", kind="attribute", title="Look", finds="crack")
BOX = Check(id="box", station="press", kind="count", title="Box", finds="crack")
OTHER = Check(id="other", station="press", kind="attribute", title="Other", finds="scratch")
CLAMPS = ParallelUnits(kind="fixture", names=("clamp 1", "clamp 2", "clamp 3"))
STREAM = Stream(
    id="washer",
    name="Washer",
    product="Reservoir",
    version="1",
    cautions=(),
    defects=(Defect(id="crack", name="Crack"), Defect(id="scratch", name="Scratch")),
    stations=(
        Station(
            order=1, id="press", name="Press", short="Press", kind="test", units=CLAMPS,
            checks=(LOOK, BOX, OTHER),
        ),
        Station(order=2, id="dock", name="Dock", short="Dock", kind="dock"),
    ),
)  # fmt: skip


def start(walk, at="2026-03-03T06:20:00+01:00", by="QE-RT"):
    said = {"stream": "washer", "checklist": DIGEST, "direction": "down"}
    return make(WalkStart, int(walk[-4:], 16), id=walk, walk=walk, at=at, by=by, **said)


WALKS = (start(ONE), start(TWO, by="QE-MS"))


def judged(number, unit="", nok=0, ok=0, walk=ONE, check="look"):
    words = ["not_ok"] * nok + ["ok"] * ok
    return [
        make(Answer, number + i, station="press", check=check, answer=word, unit=unit, walk=walk)
        for i, word in enumerate(words)
    ]


def lot(number, text, walk=ONE, **more):
    return make(Sample, number, station="press", lot=text, walk=walk, **more)


def groupings(*records, stream=STREAM, defect="crack"):
    return gather_groupings(stream, [*WALKS, *records], defect)[0]


def told(grouping):
    return grouping.name, {unit.name: (unit.nok, unit.checked) for unit in grouping.units}


def test_parts_are_divided_by_the_units_of_the_checklist_in_its_order():
    found = groupings(
        *judged(100, "clamp 2", nok=1, ok=3),
        *judged(200, "clamp 1", nok=5, ok=1),
        make(Count, 300, station="press", check="box", checked=10, nok=2, unit="clamp 1"),
    )

    assert (found.order, found.station, found.checked, found.nok) == (1, "press", 20, 8)
    (by_unit,) = found.groupings
    assert told(by_unit) == ("fixture", {"clamp 1": (7, 16), "clamp 2": (1, 4), "clamp 3": (0, 0)})
    (said,) = compare_units(found.groupings, chance=Random(1))
    assert said.never_checked == ("clamp 3",)


def test_a_station_without_parts_has_nothing_to_divide():
    press, dock = gather_groupings(STREAM, WALKS, "crack")

    assert (press.checked, press.groupings, dock.groupings) == (0, (), ())


def test_parts_whose_unit_was_not_recorded_are_left_out_and_counted():
    found = groupings(*judged(100, "clamp 1", ok=2), *judged(200, ok=3))

    assert told(found.groupings[0])[1]["clamp 1"] == (0, 2)
    assert found.notes == ("3 parts are not in the comparison by fixture: that was not recorded of them.",)


def test_a_unit_that_the_checklist_does_not_list_is_shown_all_the_same():
    bare = replace(STREAM, stations=(replace(STREAM.stations[0], units=None), STREAM.stations[1]))
    records = [*judged(100, "clamp 9", nok=1, ok=1), *judged(200, "clamp 8", ok=2)]

    assert told(groupings(*records, stream=bare).groupings[0]) == (
        "unit", {"clamp 9": (1, 2), "clamp 8": (0, 2)},
    )  # fmt: skip
    assert groupings(*judged(300, ok=2), stream=bare).groupings == ()


def test_walks_are_compared_where_there_are_two():
    found = groupings(*judged(100, nok=1, ok=3), *judged(200, nok=2, ok=2, walk=TWO))

    assert told(found.groupings[1]) == (
        "walk", {"walk of 2026-03-03 by QE-RT": (1, 4), "walk of 2026-03-03 by QE-MS": (2, 4)},
    )  # fmt: skip
    assert [g.name for g in groupings(*judged(100, ok=4)).groupings] == ["fixture"]


def test_lots_that_divide_the_parts_as_walks_do_are_said_and_not_compared_twice():
    records = [*judged(100, ok=4), *judged(200, ok=4, walk=TWO), lot(300, "L1"), lot(301, "L2", walk=TWO)]
    found = groupings(*records)

    assert [grouping.name for grouping in found.groupings] == ["fixture", "walk"]
    assert found.notes[-1] == (
        "Lots and walks cannot be told apart here: the walk of 2026-03-03 by QE-RT had lot L1 and "
        "the walk of 2026-03-03 by QE-MS had lot L2."
    )


def test_lots_that_divide_the_parts_in_another_way_are_compared():
    three = start(THREE, at="2026-03-04T06:20:00+01:00")
    found = groupings(
        three, *judged(100, ok=4), *judged(200, nok=1, ok=1, walk=TWO), *judged(300, nok=3, walk=THREE),
        lot(400, "L1"), lot(401, "L2", walk=TWO), lot(402, "L1", walk=THREE),
    )  # fmt: skip

    assert [grouping.name for grouping in found.groupings] == ["fixture", "walk", "lot"]
    assert told(found.groupings[2])[1] == {"L1": (3, 7), "L2": (1, 2)}


def test_a_lot_in_doubt_or_not_said_is_not_known():
    three = start(THREE, at="2026-03-04T06:20:00+01:00")
    found = groupings(
        three, *judged(100, ok=4), *judged(200, ok=2, walk=TWO), *judged(300, ok=3, walk=THREE),
        lot(400, "L1"), lot(401, "L2"), lot(402, "L2", walk=TWO), lot(403, "L3", walk=THREE),
    )  # fmt: skip

    assert told(found.groupings[2])[1] == {"L2": (0, 2), "L3": (0, 3)}
    assert found.notes[-1] == "4 parts are not in the comparison by lot: that was not recorded of them."


def test_only_parts_judged_for_the_defect_are_divided():
    records = [*judged(100, "clamp 1", nok=2, check="other"), *judged(200, "clamp 1", ok=1)]

    assert told(groupings(*records).groupings[0])[1]["clamp 1"] == (0, 1)
    assert told(groupings(*records, defect="scratch").groupings[0])[1]["clamp 1"] == (2, 2)


def test_walks_of_one_day_and_role_are_told_apart_by_time_and_then_by_id():
    same = [start(ONE), start(TWO), start(THREE, at="2026-03-03T09:05:00+01:00")]

    assert walk_names(same) == {
        ONE: f"walk of 2026-03-03 06:20 by QE-RT ({ONE[-6:]})",
        TWO: f"walk of 2026-03-03 06:20 by QE-RT ({TWO[-6:]})",
        THREE: "walk of 2026-03-03 09:05 by QE-RT",
    }


EARLY = Shift(name="early", begins="06:00", ends="14:00")
LATE = Shift(name="late", begins="14:00", ends="22:00")
NIGHT = Shift(name="night", begins="22:00", ends="06:00")
SHIFTS = replace(
    STREAM,
    shifts=(EARLY, LATE, NIGHT),
    stations=(replace(STREAM.stations[0], units=None), STREAM.stations[1]),
)
GAPS = replace(SHIFTS, shifts=(EARLY, NIGHT))


def seen(number, at, answer="ok", walk=ONE, check="look"):
    return make(Answer, number, station="press", check=check, answer=answer, at=at, walk=walk)


def test_parts_are_divided_by_the_shift_that_judged_them_by_the_recorded_local_time():
    found = groupings(
        seen(100, "2026-03-03T22:30:00+01:00", "not_ok"),
        seen(101, "2026-03-04T05:59:59+01:00"),
        seen(102, "2026-03-04T06:00:00+01:00"),
        seen(103, "2026-03-04T06:00:00-05:00", "not_ok"),  # early there, though 11:00 in UTC
        seen(104, "2026-03-04T13:30:00Z"),
        stream=SHIFTS,
    )  # fmt: skip

    assert [told(grouping) for grouping in found.groupings] == [
        ("shift", {"early": (1, 3), "late": (0, 0), "night": (1, 2)})
    ]
    assert found.notes == (SHIFT_OF_JUDGING,)
    (said,) = compare_units(found.groupings, chance=Random(1))
    assert said.never_checked == ("late",)


def test_the_clock_change_needs_no_rule_since_the_recorded_offset_decides():
    # Berlin 28/29 March and 24/25 October 2026 (IANA time zone database); 02:30 exists twice.
    found = groupings(
        seen(100, "2026-03-28T22:00:00+01:00"),
        seen(101, "2026-03-29T01:59:00+01:00"),
        seen(102, "2026-03-29T05:59:00+02:00"),
        seen(103, "2026-03-29T06:00:00+02:00", "not_ok"),
        seen(104, "2026-10-24T22:00:00+02:00"),
        seen(105, "2026-10-25T02:30:00+02:00"),
        seen(106, "2026-10-25T02:30:00+01:00"),
        seen(107, "2026-10-25T05:59:00+01:00"),
        seen(108, "2026-10-25T06:00:00+01:00", "not_ok"),
        stream=SHIFTS,
    )

    assert told(found.groupings[0]) == ("shift", {"early": (2, 2), "late": (0, 0), "night": (0, 7)})


def test_without_shifts_or_with_one_shift_at_work_there_is_no_grouping_by_shift():
    across = [seen(100, "2026-03-03T05:00:00+01:00"), seen(101, "2026-03-03T15:00:00+01:00")]
    none = groupings(*across, stream=replace(SHIFTS, shifts=()))
    one = groupings(across[0], seen(102, "2026-03-04T23:00:00+01:00"), stream=SHIFTS)

    assert (none.groupings, none.notes) == ((), ())
    assert (one.groupings, one.notes) == ((), ())


def test_parts_in_no_shift_are_a_group_only_where_there_are_any():
    early, late = seen(100, "2026-03-03T07:00:00Z"), seen(101, "2026-03-03T15:00:00Z", "not_ok")
    night = seen(102, "2026-03-03T23:00:00Z")

    assert told(groupings(early, late, stream=GAPS).groupings[0]) == (
        "shift", {"early": (0, 1), "night": (0, 0), "outside every shift": (1, 1)},
    )  # fmt: skip
    assert told(groupings(early, night, stream=GAPS).groupings[0])[1] == {
        "early": (0, 1), "night": (0, 1),
    }  # fmt: skip


def test_shifts_that_divide_the_parts_as_walks_do_are_said_and_not_compared_twice():
    found = groupings(
        seen(100, "2026-03-03T07:00:00+01:00"), seen(101, "2026-03-03T15:00:00+01:00", walk=TWO),
        lot(102, "L1", at="2026-03-03T05:59:00+01:00"),  # no part: its time divides nothing
        seen(103, "2026-03-03T23:00:00+01:00", check="other"),  # not judged for this defect
        stream=GAPS,
    )  # fmt: skip

    assert [grouping.name for grouping in found.groupings] == ["walk"]
    *_, alike, judging = found.notes
    assert alike == (
        "Shifts and walks cannot be told apart here: the walk of 2026-03-03 by QE-RT was in shift early "
        "and the walk of 2026-03-03 by QE-MS was outside every shift."
    )
    assert (judging, len(found.notes)) == (SHIFT_OF_JUDGING, 2)


def test_shifts_that_divide_the_parts_as_lots_do_are_said_and_not_compared_twice():
    found = groupings(
        start(THREE, at="2026-03-04T06:20:00+01:00"),
        seen(100, "2026-03-03T07:00:00+01:00"), seen(101, "2026-03-03T15:00:00+01:00", walk=TWO),
        seen(102, "2026-03-04T07:00:00+01:00", walk=THREE),
        lot(103, "L1"), lot(104, "L2", walk=TWO), lot(105, "L1", walk=THREE),
        stream=SHIFTS,
    )  # fmt: skip

    assert [grouping.name for grouping in found.groupings] == ["walk", "lot"]
    *_, alike, judging = found.notes
    assert alike == (
        "Shifts and lots cannot be told apart here: lot L1 was in shift early and lot L2 was in shift late."
    )
    assert (judging, len(found.notes)) == (SHIFT_OF_JUDGING, 2)


moments = st.datetimes(timezones=st.sampled_from([timezone(timedelta(hours=h)) for h in (-5, 0, 1, 14)]))


@given(judged_at=st.lists(st.tuples(moments, st.sampled_from(["ok", "not_ok"])), max_size=20))
@settings(deadline=None)
def test_the_parts_of_all_shifts_add_up_to_the_parts_judged(judged_at):
    records = [
        seen(100 + i, at.replace(year=2026, day=1).isoformat(timespec="seconds"), word)
        for i, (at, word) in enumerate(judged_at)
    ]
    found = groupings(*records, stream=GAPS)

    # From the hour as a number, not from text.
    shifts = {
        "early" if 6 <= at.hour < 14 else "outside" if 14 <= at.hour < 22 else "night"
        for at, _ in judged_at
    }
    assert [grouping.name for grouping in found.groupings] == (["shift"] if len(shifts) > 1 else [])
    for grouping in found.groupings:
        assert sum(unit.checked for unit in grouping.units) == len(judged_at) == found.checked
        assert sum(unit.nok for unit in grouping.units) == found.nok


entries = st.lists(
    st.tuples(
        st.sampled_from(["", "clamp 1", "clamp 2", "clamp 7"]),
        st.sampled_from([ONE, TWO]),
        st.sampled_from(["ok", "not_ok"]),
    ),
    max_size=30,
)


@given(entries=entries, chance=st.randoms())
def test_every_grouping_and_what_it_leaves_out_add_up_to_all_parts(entries, chance):
    records = [
        make(Answer, 100 + i, station="press", check="look", answer=word, unit=unit, walk=walk)
        for i, (unit, walk, word) in enumerate(entries)
    ]
    found = groupings(*records)
    chance.shuffle(records)

    assert groupings(*records) == found
    total = gather_tallies(STREAM, records, "crack")[0]
    assert (found.checked, found.nok) == (total.checked, total.nok)
    for grouping in found.groupings:
        left_out = sum(not unit for unit, _, _ in entries) if grouping.name == "fixture" else 0
        assert sum(unit.checked for unit in grouping.units) + left_out == total.checked
        assert sum(unit.nok for unit in grouping.units) <= total.nok
