"""Which records of two tablets are one change: on the safe side, and the same for every tablet."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.builders import record_id
from walkapp.analysis.same_change import MOST_COMPARED, same_changes
from walkapp.model.records import ChangePoint

CONCERN = record_id(1)


def point(number, what="Harder clamp pads", tablet=1, **more):
    said = {"station": "leak-test", "change": "machine", "changed_on": "2026-02-24", **more}
    return ChangePoint(
        id=record_id(100 + number),
        device=record_id(10 + tablet),
        number=number,
        at="2026-03-03T06:20:00+01:00",
        by="QE-RT",
        concern=CONCERN,
        what=what,
        customer_told="unknown",
        **said,
    )


def numbers(points):
    return [[p.number for p in same] for same in same_changes(points)]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Harder clamp pads", "harder clamp pads."),
        ("Harder clamp pads", "Harder  CLAMP\npads"),
        ("Harder clamp pads", "Hardr clamp pads"),
        ("Harder clamp pads", "Harder clamps pads"),
        ("Harder clamp pads", "Harder clanp pads"),
        ("Pads: 88 Shore", "Pads 88 Shore"),
        ("!!!", "!!!"),
    ],
)
def test_nearly_the_same_words_of_two_tablets_are_one_change(one, other):
    assert numbers([point(1, one), point(2, other, tablet=2)]) == [[1, 2]]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Clamp 1 replaced", "Clamp 2 replaced"),
        ("From 60 to 88 Shore", "From 88 to 60 Shore"),
        ("Offset -5", "Offset +5"),
        ("Offset -5", "Offset 5"),
        ("Offset 1.5", "Offset 15"),
        ("Tighter spring", "Lighter spring"),
        ("Left pad new", "Right pad new"),
        ("Pad A new", "Pad B new"),
        ("Guard in place", "Guard not in place"),
        ("Harder clamp pads", "Softer clamp pads"),
        ("Hardr clmap pads", "Harder clamp pads"),
        ("Hardr clamp pad", "Harder clamp pads"),
        ("!!!", "???"),
    ],
)
def test_other_words_are_another_change(one, other):
    assert numbers([point(1, one), point(2, other, tablet=2)]) == [[1], [2]]


@pytest.mark.parametrize(
    "more", [{"station": "welding"}, {"change": "method"}, {"changed_on": "2026-02-23"}, {"changed_on": ""}]
)
def test_another_station_kind_or_day_is_another_change(more):
    assert numbers([point(1), point(2, tablet=2, **more)]) == [[1], [2]]


def test_without_a_day_every_word_must_agree():
    dateless = [point(1, changed_on=""), point(2, tablet=2, changed_on="")]
    assert numbers(dateless) == [[1, 2]]
    assert numbers([dateless[0], replace(dateless[1], what="Hardr clamp pads")]) == [[1], [2]]


def test_what_one_tablet_says_twice_are_two_changes():
    assert numbers([point(1), point(2)]) == [[1], [2]]
    assert numbers([point(1), point(2), point(3, tablet=2), point(4, tablet=3)]) == [[1, 3, 4], [2]]
    assert numbers([point(1), point(2), point(3, tablet=2), point(4, tablet=2)]) == [[1, 3], [2, 4]]


def test_more_of_one_day_than_any_walk_has_are_no_longer_compared():
    many = [point(n, f"Change number {n}") for n in range(1, MOST_COMPARED + 2)]
    again = [replace(point(900, many[n].what, tablet=2), id=record_id(900 + n)) for n in (0, MOST_COMPARED)]

    sizes = sorted(len(same) for same in same_changes([*many, *again]))

    assert sizes == [1] * (MOST_COMPARED + 1) + [2]


points = st.lists(
    st.builds(
        lambda what, tablet, day, station: {
            "what": what, "tablet": tablet, "changed_on": day, "station": station
        },
        st.sampled_from(["Harder pads", "harder pads", "Hardar pads", "Softer pads", "Pads 1", "Pads 2"]),
        st.integers(1, 3),
        st.sampled_from(["", "2026-02-24", "2026-02-25"]),
        st.sampled_from(["leak-test", "welding"]),
    ),
    max_size=12,
)  # fmt: skip


@given(points, st.integers(0, 99))
def test_every_record_is_in_one_change_whatever_the_order_and_no_tablet_twice(said, seed):
    records = [point(n, **one) for n, one in enumerate(said, start=1)]
    found = same_changes(records)

    assert sorted(p.id for same in found for p in same) == sorted(p.id for p in records)
    for same in found:
        assert len({p.device for p in same}) == len(same)
        assert len({(p.station, p.change, p.changed_on) for p in same}) == 1
    random.Random(seed).shuffle(records)
    assert same_changes(records) == found
