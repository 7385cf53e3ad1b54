"""When audits are due: working days, shifts across midnight and clock changes, weeks and months.

Published values: check-values T-1 to T-4 (weeks), T-7 and T-8 (nights on which the clock changes, from the
IANA time zone data), T-9 (our own rule).
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.plans import BEGINS, EARLY, LATE, NIGHT, calendar, layer, question, stream_of
from walkapp.analysis.audits.calendar import (
    LONGEST_DAYS,
    AuditCalendar,
    day_begins,
    day_of_work,
    moment_of,
    shift_works_on,
    works_on,
)
from walkapp.model.checklist import Shift

BERLIN = ZoneInfo("Europe/Berlin")
ZONES = (
    "Europe/Berlin",
    "America/New_York",
    "Australia/Lord_Howe",  # half an hour
    "America/Santiago",  # at midnight
    "Asia/Beirut",  # at midnight
    "America/Havana",  # at midnight, 01:00 comes twice
    "Africa/Casablanca",  # twice a year more, around Ramadan
    "Pacific/Apia",  # 2011-12-30 is no day at all
    "Asia/Kathmandu",
    "Pacific/Chatham",
    "Antarctica/Troll",  # two hours
    "UTC",
)
every_hour = st.builds(time, st.integers(0, 23), st.sampled_from((0, 30, 59)))


def calendar_of(*layers, shifts=(EARLY, LATE, NIGHT), **on):
    return AuditCalendar(stream_of([question("a", "q")], layers, shifts=shifts, on=calendar(**on)))


def days(found):
    return [slot.day.isoformat() for slot in found]


# Shifts and clock changes


@pytest.mark.parametrize(
    ("zone", "evening", "hours"),
    [
        ("Europe/Berlin", date(2026, 3, 27), 8),
        ("Europe/Berlin", date(2026, 3, 28), 7),  # T-7
        ("Europe/Berlin", date(2026, 10, 24), 9),  # T-7
        ("America/New_York", date(2026, 3, 7), 7),  # T-7
        ("America/New_York", date(2026, 10, 31), 9),  # T-7
        ("Australia/Lord_Howe", date(2026, 4, 4), 8.5),
        ("Australia/Lord_Howe", date(2026, 10, 3), 7.5),
        ("America/Santiago", date(2026, 9, 5), 7),
    ],
)
def test_a_night_shift_lasts_as_long_as_the_clock_makes_it(zone, evening, hours):
    one = layer("shift", shifts=("night",))
    found = calendar_of(one, begins=date(2026, 1, 1), working_days=frozenset(range(1, 8)))
    (slot,) = found.slots(one, evening, evening)

    begins, ends = found.opens_at(slot, ZoneInfo(zone)), found.due_at(slot, ZoneInfo(zone))

    assert ends - begins == timedelta(hours=hours)
    assert begins.replace(tzinfo=None) == datetime.combine(evening, time(22))
    assert ends.replace(tzinfo=None) == datetime.combine(evening + timedelta(days=1), time(6))


def test_a_time_that_comes_twice_is_the_first_of_both():
    # T-8: 02:30 of 2026-10-25 exists at +02:00 and at +01:00.
    assert moment_of(date(2026, 10, 25), time(2, 30), BERLIN).isoformat() == "2026-10-25T02:30:00+02:00"


def test_a_time_that_is_skipped_is_the_moment_of_the_change():
    assert moment_of(date(2026, 3, 29), time(2, 30), BERLIN).isoformat() == "2026-03-29T03:00:00+02:00"
    santiago = ZoneInfo("America/Santiago")
    assert moment_of(date(2026, 9, 6), time(0, 0), santiago).isoformat() == "2026-09-06T01:00:00-03:00"


def test_a_whole_day_that_is_skipped_is_the_moment_of_the_change():
    apia = ZoneInfo("Pacific/Apia")

    for hour in (0, 6, 23):
        found = moment_of(date(2011, 12, 30), time(hour), apia)
        assert found.astimezone(UTC).isoformat() == "2011-12-30T10:00:00+00:00"


def test_moments_can_be_reckoned_with_on_the_night_of_the_change():
    # With a zone Python would say eight hours here.
    assert moment_of(date(2026, 3, 29), time(6), BERLIN) - moment_of(
        date(2026, 3, 28), time(22), BERLIN
    ) == timedelta(hours=7)


@settings(max_examples=60)
@given(
    st.sampled_from(ZONES),
    st.dates(date(2000, 1, 1), date(2037, 12, 31)),
    st.lists(every_hour, min_size=1, max_size=4, unique=True).map(sorted),
)
@example("America/Santiago", date(2026, 9, 5), [time(0), time(0, 30), time(12)])
@example("Australia/Lord_Howe", date(2026, 4, 4), [time(1, 30), time(2), time(2, 30)])
@example("Pacific/Apia", date(2011, 12, 29), [time(6), time(14), time(22)])
def test_spans_that_follow_each_other_by_the_clock_tile_the_time(name, first, times):
    zone = ZoneInfo(name)
    moments = [moment_of(first + timedelta(days=n), at, zone) for n in range(4) for at in times]

    assert all(before <= after for before, after in itertools.pairwise(moments))
    # Any moment between the first and the last lies in exactly one span, whatever the zone says then.
    at = moments[0].astimezone(UTC)
    while at < moments[-1]:
        assert sum(b <= at < a for b, a in itertools.pairwise(moments)) == 1
        at += timedelta(minutes=47)


@settings(max_examples=60)
@given(st.sampled_from(ZONES), st.dates(date(2000, 1, 1), date(2037, 12, 30)), st.integers(0, 1439))
def test_the_moment_of_a_time_that_exists_shows_that_time(name, day, minute):
    zone = ZoneInfo(name)
    local = datetime.combine(day, time(minute // 60, minute % 60))
    found = moment_of(local.date(), local.time(), zone)

    shown = found.astimezone(zone)
    assert found.utcoffset() == shown.utcoffset()
    exists = local.replace(tzinfo=zone).astimezone(UTC).astimezone(zone).replace(tzinfo=None) == local
    if exists:
        assert shown.replace(tzinfo=None) == local
    else:  # the first moment that exists after it, and a second earlier was before it
        assert shown.replace(tzinfo=None) > local
        assert (found - timedelta(seconds=1)).astimezone(zone).replace(tzinfo=None) < local


@pytest.mark.parametrize("zone", ZONES)
def test_the_shifts_of_every_day_of_forty_years_follow_each_other_without_gap_or_overlap(zone):
    info = ZoneInfo(zone)
    begins = [
        moment_of(date(2000, 1, 1) + timedelta(days=n), at, info)
        for n in range(38 * 365)
        for at in (time(6), time(14), time(22))
    ]

    lengths = {after - before for before, after in itertools.pairwise(begins)}
    # The day that Apia left out has shifts of no length.
    assert min(lengths) >= (timedelta(0) if zone == "Pacific/Apia" else timedelta(hours=6))
    assert max(lengths) <= timedelta(hours=10)


# Days of work


def test_what_a_night_shift_does_after_midnight_belongs_to_the_evening_before():
    # T-9, our own rule.
    stream = calendar_of(layer()).stream

    assert day_begins(stream) == time(6)
    assert day_of_work(stream, datetime(2026, 3, 4, 2, 0, tzinfo=BERLIN)) == date(2026, 3, 3)
    assert day_of_work(stream, datetime(2026, 3, 4, 5, 59, tzinfo=BERLIN)) == date(2026, 3, 3)
    assert day_of_work(stream, datetime(2026, 3, 4, 6, 0, tzinfo=BERLIN)) == date(2026, 3, 4)
    assert day_of_work(stream, datetime(1, 1, 1, 2, 0, tzinfo=BERLIN)) == date(1, 1, 1)
    assert day_of_work(stream, datetime(9999, 12, 31, 2, 0, tzinfo=BERLIN)) == date(9999, 12, 31)


def test_without_shifts_a_day_of_work_is_a_day():
    stream = calendar_of(layer(), shifts=()).stream

    assert day_of_work(stream, datetime(2026, 3, 4, 0, 0, tzinfo=BERLIN)) == date(2026, 3, 4)


@given(
    st.integers(0, 364 * 24 * 4).map(
        lambda n: datetime(2026, 1, 1, tzinfo=UTC) + n * timedelta(minutes=15)
    ),
    st.sampled_from((BERLIN, ZoneInfo("Australia/Lord_Howe"), UTC)),
    st.sampled_from(("06:00", "02:30", "00:00")),
)
# 02:15 comes twice; the second one is after the first 02:30, with which the day began.
@example(datetime(2026, 10, 25, 1, 15, tzinfo=UTC), BERLIN, "02:30")
def test_an_audit_of_a_day_is_open_exactly_on_its_day_of_work(moment, zone, first_shift):
    one = layer("day")
    shifts = (Shift(name="first", begins=first_shift, ends="13:00"),)
    found = calendar_of(one, shifts=shifts, begins=date(2025, 12, 1), working_days=frozenset(range(1, 8)))
    moment = moment.astimezone(zone)
    day = day_of_work(found.stream, moment)

    (slot,) = found.slots(one, day, day)

    assert found.opens_at(slot, zone) <= moment < found.due_at(slot, zone)


def test_a_shift_with_days_of_its_own_works_on_them_and_on_extra_days_and_on_no_holiday():
    weekend = Shift(name="weekend", begins="08:00", ends="18:00", days=frozenset({6, 7}))
    saturday, sunday, holiday, extra = (date(2026, 1, day) for day in (10, 11, 17, 14))
    on = calendar(holidays=frozenset({holiday}), extra_days=frozenset({extra}))

    assert shift_works_on(on, weekend, saturday)
    assert shift_works_on(on, weekend, sunday)
    assert not shift_works_on(on, weekend, holiday)
    assert shift_works_on(on, weekend, extra)
    assert not shift_works_on(on, weekend, date(2026, 1, 12))
    assert not shift_works_on(on, EARLY, saturday)
    assert shift_works_on(on, EARLY, date(2026, 1, 12))


def test_each_shift_counts_its_own_audits():
    weekend = Shift(name="weekend", begins="07:00", ends="13:00", days=frozenset({6, 7}))
    one = layer("shift")
    found = calendar_of(one, shifts=(LATE, weekend, NIGHT))

    slots = found.slots(one, BEGINS, BEGINS + timedelta(days=7))

    numbers = [(slot.day.isoweekday(), slot.shift, slot.number) for slot in slots]
    assert numbers == [
        *((day, shift, day - 1) for day in range(1, 6) for shift in ("late", "night")),
        (6, "weekend", 0), (7, "weekend", 1), (1, "late", 5), (1, "night", 5),
    ]  # fmt: skip


def test_a_layer_audits_in_the_shifts_that_it_names_in_the_order_of_the_day():
    one = layer("shift", shifts=("night", "early"))
    found = calendar_of(one, shifts=(NIGHT, LATE, EARLY))

    assert found.shifts_of(one) == ("early", "night")
    assert [slot.shift for slot in found.slots(one, BEGINS, BEGINS)] == ["early", "night"]


# Weeks and months


@pytest.mark.parametrize(
    ("day", "week"),
    [
        ("2003-12-29", (2004, 1)), ("2004-01-04", (2004, 1)),  # T-1, Python documentation
        ("2005-01-01", (2004, 53)), ("2005-12-31", (2005, 52)), ("2006-01-01", (2005, 52)),  # T-3
        ("2007-12-31", (2008, 1)), ("2008-12-29", (2009, 1)), ("2009-12-31", (2009, 53)),
        ("2010-01-03", (2009, 53)), ("2021-01-03", (2020, 53)), ("2024-12-30", (2025, 1)),
        ("2026-12-31", (2026, 53)), ("2027-01-03", (2026, 53)),
    ],
)  # fmt: skip
def test_a_week_around_new_year_is_one_audit(day, week):
    one = layer("week")
    found = calendar_of(one, begins=date(2000, 1, 3), working_days=frozenset(range(1, 8)))
    at = date.fromisoformat(day)

    (slot,) = found.slots(one, at, at)

    assert slot.day == date.fromisocalendar(*week, 1)
    assert (slot.first_on, slot.last_on) == (slot.day, slot.day + timedelta(days=6))


@pytest.mark.parametrize("year", range(2000, 2051))
def test_a_year_has_as_many_weekly_audits_as_weeks(year):
    # T-4.
    long = {2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048}
    one = layer("week")
    found = calendar_of(one, begins=date.fromisocalendar(year, 1, 1))

    slots = found.slots(one, date.fromisocalendar(year, 1, 1), date(year, 12, 28))

    assert len(slots) == 52 + (year in long)


def test_weeks_and_months_are_cut_by_the_beginning_of_the_calendar():
    week, month = layer("week"), layer("month")
    found = calendar_of(week, month, begins=date(2026, 1, 15))

    first_week, first_month = (found.slots(one, BEGINS, date(2026, 1, 20))[0] for one in (week, month))

    assert (first_week.day, first_week.first_on, first_week.last_on) == (
        date(2026, 1, 12), date(2026, 1, 15), date(2026, 1, 16),
    )  # fmt: skip
    assert (first_month.day, first_month.first_on, first_month.last_on) == (
        date(2026, 1, 1), date(2026, 1, 15), date(2026, 1, 30),
    )  # fmt: skip
    assert found.slot(week, date(2026, 1, 12), "") == first_week
    assert found.slot(month, date(2026, 1, 1), "") == first_month


def test_a_month_begins_and_ends_with_its_working_days():
    one = layer("month")
    found = calendar_of(
        one, holidays=frozenset({date(2026, 4, 1)}), extra_days=frozenset({date(2026, 2, 28)})
    )

    february, march, april = found.slots(one, date(2026, 2, 1), date(2026, 4, 30))

    assert (february.last_on, march.first_on, april.first_on) == (
        date(2026, 2, 28), date(2026, 3, 2), date(2026, 4, 2),
    )  # fmt: skip
    assert found.due_at(march, BERLIN).isoformat() == "2026-04-01T06:00:00+02:00"


def test_a_week_of_holidays_has_no_audit_and_the_next_one_takes_its_number():
    holidays = frozenset(BEGINS + timedelta(days=7 + n) for n in range(5))
    one = layer("week")

    found = calendar_of(one, holidays=holidays).slots(one, BEGINS, BEGINS + timedelta(days=20))

    assert days(found) == ["2026-01-05", "2026-01-19"]
    assert [slot.number for slot in found] == [0, 1]


def test_a_day_within_a_week_on_which_no_work_is_done_lies_in_it_and_the_week_end_does_not():
    one = layer("week")
    found = calendar_of(one, holidays=frozenset({date(2026, 1, 7)}))

    assert days(found.slots(one, date(2026, 1, 7), date(2026, 1, 7))) == ["2026-01-05"]
    assert found.slots(one, date(2026, 1, 10), date(2026, 1, 11)) == ()


def test_a_layer_begins_and_ends_on_its_days():
    one = layer("day", since=date(2026, 1, 8), until=date(2026, 1, 12))

    found = calendar_of(one).slots(one, date(2025, 1, 1), date(2027, 1, 1))

    assert days(found) == ["2026-01-08", "2026-01-09", "2026-01-12"]
    assert [slot.number for slot in found] == [0, 1, 2]


def test_the_last_week_of_a_layer_is_due_when_its_last_day_is_over():
    one = layer("week", until=date(2026, 1, 14))
    found = calendar_of(one)

    *_, last = found.slots(one, BEGINS, date(2026, 2, 1))

    assert found.due_at(last, BERLIN).isoformat() == "2026-01-15T06:00:00+01:00"


# Any calendar


@settings(max_examples=40)
@given(
    st.sampled_from(("shift", "day", "week", "month")),
    st.dates(date(2000, 1, 1), date(2037, 1, 1)),
    st.frozensets(st.integers(1, 7), min_size=1),
    st.frozensets(st.integers(0, 60), max_size=8),
    st.frozensets(st.integers(0, 60), max_size=8),
)
def test_every_working_day_lies_in_exactly_one_period(every, begins, weekdays, holidays, extra):
    one = layer(every, shifts=("early",) if every == "shift" else ())
    holidays = frozenset(begins + timedelta(days=n) for n in holidays)
    extra = frozenset(begins + timedelta(days=n) for n in extra) - holidays
    found = calendar_of(one, begins=begins, working_days=weekdays, holidays=holidays, extra_days=extra)
    slots = found.slots(one, begins, begins + timedelta(days=90))

    assert [slot.number for slot in slots] == list(range(len(slots)))
    assert all(a.last_on < b.first_on for a, b in itertools.pairwise(slots))
    for n in range(60):
        day = begins + timedelta(days=n)
        holding = [slot for slot in slots if slot.first_on <= day <= slot.last_on]
        assert len(holding) == 1 if works_on(found.scheme.calendar, day) else len(holding) <= 1
    for slot in slots:
        assert found.slot(one, slot.day, slot.shift) == slot
        assert found.opens_at(slot, BERLIN) < found.due_at(slot, BERLIN)


def test_no_audit_is_due_before_the_calendar_nor_at_the_ends_of_time():
    for every in ("shift", "day", "week", "month"):
        one = layer(every)
        found = calendar_of(one)
        shift = found.shifts_of(one)[0]

        assert found.slots(one, date.min, BEGINS - timedelta(days=1)) == ()
        assert found.slots(one, date(9999, 1, 1), date.max) == ()
        assert found.slot(one, date.min, shift) is None
        assert found.slot(one, date.max, shift) is None
        assert found.slot(one, BEGINS, "no such shift") is None


def test_a_plan_ends_after_sixty_years_with_a_whole_period():
    one = layer("month")
    found = calendar_of(one)

    *_, last = found.slots(one, BEGINS, date.max)

    assert last.last_on < BEGINS + timedelta(days=LONGEST_DAYS)
    assert last.day.replace(day=28) + timedelta(days=4) <= BEGINS + timedelta(days=LONGEST_DAYS)


def test_a_stream_without_audits_has_no_calendar():
    stream = calendar_of(layer()).stream

    with pytest.raises(ValueError, match="has no audits"):
        AuditCalendar(replace(stream, audits=None))
