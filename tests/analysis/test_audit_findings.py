"""Findings: what came back, what was corrected on the spot, and how long the others are open."""

from __future__ import annotations

from datetime import timedelta
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.analysis.audits import DAY, finding, findings
from walkapp.analysis.audits.findings import AGES, ageing_of, days_open, finding_counts, repeat_results


def repeated(found, within_days=30, counted=None):
    audits = {one.audit for one in found} if counted is None else {one.audit for one in counted}
    return repeat_results(found, within_days, audits)


# repeats


@pytest.mark.parametrize(("days", "is_repeat"), [(0, True), (1, True), (30, True), (31, False)])
def test_the_same_question_nok_again_within_the_window_is_a_repeat(days, is_repeat):
    found = repeated([finding(0), finding(days)])

    assert (found.findings, found.repeats) == (2, int(is_repeat))
    assert len(found.each) == int(is_repeat)


def test_another_question_or_station_is_no_repeat():
    found = repeated(
        [finding(0, "moulding/blade"), finding(1, "moulding/guard"), finding(1, "packing/blade")]
    )

    assert (found.repeats, found.share, found.each) == (0, 0.0, ())


def test_each_is_told_with_its_findings_oldest_first():
    first, second, third = finding(0), finding(10, reaction="contained"), finding(35)
    alone = finding(3, "packing/label")

    found = repeated([third, alone, first, second])

    (told,) = found.each
    assert told.findings == (first, second, third)
    assert (told.station, told.ref) == ("moulding", "moulding/blade")
    assert (found.findings, found.repeats, found.share) == (4, 2, 0.5)


def test_a_pause_longer_than_the_window_parts_what_came_back():
    found = repeated([finding(day) for day in (0, 5, 50, 55, 58)])

    assert [len(one.findings) for one in found.each] == [3, 2]
    assert found.repeats == 3


def test_an_earlier_finding_makes_a_repeat_and_is_none_itself():
    before, now = finding(0), finding(20)

    found = repeated([before, now], counted=[now])

    assert (found.findings, found.repeats, found.share) == (1, 1, 1.0)
    assert found.each[0].findings == (before, now)


def test_what_came_back_before_the_days_that_are_looked_at_is_not_told():
    old = [finding(0), finding(1)]
    now = finding(50)

    found = repeated([*old, now], counted=[now])

    assert (found.findings, found.repeats, found.each) == (1, 0, ())


def test_a_share_of_no_finding_is_not_known():
    assert repeated([]).share is None


@given(findings(), st.integers(1, 40), st.randoms(use_true_random=False))
def test_repeats_are_those_with_another_one_before_in_any_order(found, within_days, chance):
    answer = repeated(found, within_days)

    def has_earlier(one):
        order = (one.found_on, one.id)
        return any(
            other.ref == one.ref
            and (other.found_on, other.id) < order
            and (one.found_on - other.found_on).days <= within_days
            for other in found
        )

    assert answer.repeats == sum(map(has_earlier, found))
    assert answer.findings == len(found)
    told = [one for repeat in answer.each for one in repeat.findings[1:]]
    assert {one.id for one in told} == {one.id for one in found if has_earlier(one)}
    assert repeated(chance.sample(found, len(found)), within_days) == answer


# reactions


def test_findings_are_counted_by_what_was_done():
    found = finding_counts(
        [
            finding(reaction="corrected"),
            finding(reaction="corrected"),
            finding(reaction="contained", is_open=True),
            finding(reaction="escalated", is_open=False),
            finding(reaction=""),
        ]
    )

    assert (found.found, found.corrected, found.share_corrected) == (5, 2, 0.4)
    assert (found.contained, found.escalated, found.no_reaction) == (1, 1, 1)
    assert (found.closed_later, found.open) == (1, 2)


def test_a_share_corrected_of_nothing_is_not_known():
    assert finding_counts([]).share_corrected is None


@given(findings())
def test_reactions_and_states_add_up(found):
    counts = finding_counts(found)

    assert counts.found == len(found)
    assert counts.corrected + counts.contained + counts.escalated + counts.no_reaction == len(found)
    assert counts.corrected + counts.closed_later + counts.open == len(found)


# ageing


@pytest.mark.parametrize(
    ("days", "ages"), [(0, (1, 0, 0)), (7, (1, 0, 0)), (8, (0, 1, 0)), (30, (0, 1, 0)), (31, (0, 0, 1))]
)
def test_open_findings_are_counted_by_age(days, ages):
    found = ageing_of([finding(0, reaction="contained")], DAY + timedelta(days=days))

    assert found.by_age == ages
    assert (found.median_days, found.longest_days) == (days, days)


def test_what_is_put_right_does_not_age():
    found = ageing_of([finding(0), finding(0, reaction="contained", is_open=False)], DAY)

    assert (found.open, found.by_age) == (0, (0, 0, 0))
    assert (found.median_days, found.longest_days) == (None, None)


def test_the_middle_of_an_even_number_lies_between_two():
    still = [finding(day, reaction="escalated") for day in (0, 4, 5, 9)]

    found = ageing_of(still, DAY + timedelta(days=10))

    assert (found.median_days, found.longest_days) == (5.5, 10)


def test_a_finding_that_a_wrong_clock_dates_ahead_is_no_day_old():
    ahead = finding(5, reaction="contained")

    assert days_open(ahead, DAY) == 0
    assert ageing_of([ahead], DAY).by_age == (1, 0, 0)


@given(findings(), st.integers(0, 90))
def test_ages_add_up_and_overdue_is_open(found, days):
    today = DAY + timedelta(days=days)
    answer = ageing_of(found, today)

    still = [one for one in found if one.is_open]
    assert answer.open == len(still) == sum(answer.by_age)
    assert len(answer.by_age) == len(AGES)
    assert answer.overdue <= answer.open and answer.no_reaction <= answer.open
    if still:
        assert answer.median_days == median([days_open(one, today) for one in still])
