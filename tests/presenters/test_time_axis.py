"""The geometry of the time line: nothing over another, nothing outside, and days in their order."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from walkapp.actions.time_line import ChangeOnLine, CountedDay, TimeLine
from walkapp.model.day_axis import MOST_SHIFT, stack
from walkapp.model.records import CHANGE_KINDS
from walkapp.presenters.time_axis import MOST_DRAWN, UNIT, Measures, draw

MEASURES = Measures(text_px=lambda text: 8.0 * len(text), line_px=18.0, mark_px=20.0, gap_px=6.0)
FIRST = date(2026, 2, 16)


def day(after):
    return (FIRST + timedelta(after)).isoformat()


def changed(*days, kind="machine"):
    return tuple(
        ChangeOnLine(number=number, kind=kind, day=on, what=f"Change {number}")
        for number, on in enumerate(days, start=1)
    )


def overlapping(texts, gap=0.0):
    """Pairs of texts that lie over each other."""
    return [
        (a.text, b.text)
        for a, b in combinations(texts, 2)
        if a.x < b.x + b.width + gap - 0.01
        and b.x < a.x + a.width + gap - 0.01
        and a.y < b.y + b.height - 0.01
        and b.y < a.y + a.height - 0.01
    ]


any_day = st.one_of(
    st.integers(-40, 40).map(day),
    st.dates(min_value=date(2024, 1, 1), max_value=date(2026, 3, 3)).map(date.isoformat),
    st.dates().map(date.isoformat),
)
counted = st.lists(
    st.builds(CountedDay, day=any_day, checked=st.just(20), nok=st.integers(0, 2)), max_size=8
)


@st.composite
def lines(draw_one):
    days = draw_one(counted)
    made = draw_one(st.lists(st.tuples(st.sampled_from(CHANGE_KINDS), any_day | st.just("")), max_size=45))
    ends = sorted(draw_one(st.lists(any_day, min_size=3, max_size=3)))
    has_onset, is_open = draw_one(st.booleans()), draw_one(st.booleans())
    return TimeLine(
        days=tuple(sorted(days, key=lambda one: one.day)),
        changes=tuple(
            ChangeOnLine(number=number, kind=kind, day=on, what="x")
            for number, (kind, on) in enumerate(made, start=1)
        ),
        last_good_day=ends[0] if has_onset and not is_open else None,
        first_bad_day=ends[1] if has_onset else None,
        bad_from_day=ends[2] if has_onset else None,
        probability=0.96 if has_onset else None,
    )


@settings(max_examples=150, deadline=None)
@given(lines(), st.sampled_from([420.0, 577.0, 776.0, 1000.0, 1256.0]))
def test_no_text_lies_over_another_or_outside_and_days_keep_their_order(line, width):
    drawing = draw(line, width, MEASURES)
    dated = [change for change in line.changes if change.day]
    if drawing is None:
        assert not (dated or line.days or line.bad_from_day)
        return

    assert overlapping(drawing.texts) == []
    for text in drawing.texts:
        assert -0.01 <= text.x <= text.x + text.width <= width + 0.01
        assert -0.01 <= text.y <= text.y + text.height <= drawing.height + 0.01
    assert [mark.change.number for mark in drawing.changes] == [
        change.number for kind in CHANGE_KINDS for change in dated if change.kind == kind
    ]
    at = {mark.change.day: mark.x for mark in drawing.changes} | {one.day: one.x for one in drawing.days}
    assert all(at[a] <= at[b] + 1e-6 for a, b in pairwise(sorted(at)))
    assert all(drawing.left <= x <= drawing.right for x in at.values())
    assert len(drawing.ticks) >= 2
    assert drawing.unit.text == UNIT
    if line.bad_from_day:
        left, right = drawing.band
        assert left < right
        assert left <= drawing.first_bad.x <= right
    else:
        assert drawing.band is drawing.first_bad is None


@settings(max_examples=100, deadline=None)
@given(st.lists(st.floats(100, 900), max_size=60), st.floats(12, 60))
def test_stacked_boxes_stay_near_their_day_and_apart_and_fill_from_below(wanted, box_px):
    wanted.sort()
    placed = stack(wanted, box_px, 4.0, 100.0, 900.0)

    for (level, x), aim in zip(placed, wanted, strict=True):
        assert 100 + box_px / 2 - 1e-6 <= x <= 900 - box_px / 2 + 1e-6
        assert abs(x - aim) <= MOST_SHIFT * (box_px + 4) + box_px / 2 + 1e-6
        assert level == 0 or any(below == level - 1 for below, _ in placed)
    for (level_a, a), (level_b, b) in combinations(placed, 2):
        assert level_a != level_b or abs(a - b) >= box_px + 4 - 1e-5


def test_a_number_that_stands_alone_is_above_its_day():
    (mark,) = draw(TimeLine(days=(), changes=changed(day(0))), 600.0, MEASURES).changes
    assert mark.box.x + mark.box.width / 2 == pytest.approx(mark.x)
    assert mark.box.y + mark.box.height < mark.y


def test_forty_changes_of_one_day_are_stacked_in_eight_rows():
    drawing = draw(TimeLine(days=(), changes=changed(*[day(0)] * 40)), 600.0, MEASURES)

    assert len({mark.box.y for mark in drawing.changes}) == 8
    assert len({mark.x for mark in drawing.changes}) == 1
    assert overlapping(drawing.texts) == []


def test_only_lanes_that_are_used_are_drawn():
    line = TimeLine(
        days=(CountedDay(day=day(0), checked=20, nok=0),),
        changes=(*changed(day(1)), *changed(day(2), kind="man")),
    )
    names = [lane.name.text for lane in draw(line, 800.0, MEASURES).lanes]
    assert names == ["NOK found", "No NOK found", "Man", "Machine"]


@pytest.mark.parametrize(
    ("first", "last", "labels"),
    [
        (0, 3, ["2026-02-16", "2026-02-17", "2026-02-18", "2026-02-19"]),
        (0, 30, ["2026-02-16", "2026-02-23", "2026-03-02", "2026-03-09", "2026-03-16"]),
        (0, 365, ["2026-03", "2026-05", "2026-07", "2026-09", "2026-11", "2027-01"]),
        (0, 20 * 365, [str(year) for year in range(2028, 2047, 2)]),
    ],
)
def test_ticks_are_days_months_or_years_with_as_many_labels_as_fit(first, last, labels):
    drawing = draw(TimeLine(days=(), changes=changed(day(first), day(last))), 560.0, MEASURES)
    assert [tick.label.text for tick in drawing.ticks] == labels


def test_an_onset_within_one_day_is_still_a_band_that_is_seen():
    line = TimeLine(
        days=(),
        changes=(),
        last_good_day=day(0),
        bad_from_day=day(0),
        first_bad_day=day(0),
        probability=1.0,
    )
    left, right = draw(line, 600.0, MEASURES).band
    assert right - left == pytest.approx(MEASURES.mark_px / 2)


def test_an_onset_that_may_have_been_at_any_time_before_reaches_to_the_end_of_the_axis():
    line = TimeLine(days=(), changes=changed(day(0)), bad_from_day=day(5), first_bad_day=day(5))
    drawing = draw(line, 600.0, MEASURES)
    assert (drawing.band[0], drawing.is_open) == (drawing.left, True)


def test_what_no_page_could_show_is_left_out_and_counted():
    drawing = draw(TimeLine(days=(), changes=changed(*[day(0)] * 5000)), 600.0, MEASURES)
    assert (len(drawing.changes), drawing.left_out) == (MOST_DRAWN, 5000 - MOST_DRAWN)


def test_thousands_of_counted_days_are_at_most_one_mark_a_pixel():
    days = tuple(CountedDay(day=day(n), checked=1, nok=n % 2) for n in range(5000))
    drawing = draw(TimeLine(days=days, changes=()), 600.0, MEASURES)
    assert len(drawing.days) <= 2 * 600


def test_without_a_day_or_without_room_nothing_is_drawn():
    assert draw(TimeLine(days=(), changes=changed("")), 600.0, MEASURES) is None
    assert draw(TimeLine(days=(), changes=changed(day(0))), 100.0, MEASURES) is None
