"""Each form of indicator, counted by hand: value, limits, target and trend."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from tests.analysis.indicators.facts import ON, Facts, ago, counted, events, lasting, month
from walkapp.analysis.indicators.cases import days_until, month_before, month_of
from walkapp.analysis.indicators.fixed_set import INDICATORS
from walkapp.analysis.indicators.reading import (
    BETTER,
    NO_BEFORE,
    NO_DATA,
    NO_TREND,
    NOT_SHOWN,
    OFF_TARGET,
    ON_TARGET,
    TOO_FEW,
    WORSE,
    Reading,
    state_of,
)
from walkapp.analysis.indicators.words import basis_text, month_basis, target_words, trend_text, value_text


def judged(indicator: str, target: float | None = None, on: date = ON, **facts):
    wanted = None if target is None else Fraction(str(target))
    return INDICATORS[indicator].judge(Facts(**facts), on, wanted)


# Shares of which every case is counted.


def test_a_share_of_all_is_held_against_its_target_by_the_value():
    found = judged("audits-done", 95, audits=counted(57, 3))

    assert (found.reading.value, found.reading.many, found.reading.hits) == (95, 60, 57)
    assert not found.reading.has_limits
    assert found.state == ON_TARGET
    assert judged("audits-done", 95.1, audits=counted(57, 3)).state == OFF_TARGET


def test_nothing_counted_is_neither_met_nor_missed():
    found = judged("audits-done", 95)

    assert found.state == NO_DATA
    assert found.trend.word == NO_BEFORE


def test_a_share_counts_today_and_the_55_days_before_and_nothing_else():
    def many(days_ago: int) -> int:
        return judged("audits-done", 95, audits=counted(1, 0, days_ago)).reading.many

    assert [many(days) for days in (-1, 0, 55, 56)] == [0, 1, 1, 0]


def test_of_a_share_those_that_are_wrong_are_shown_the_newest_first():
    audits = (*counted(1, 1, 9), *counted(1, 2, 2))

    found = judged("actions-in-time", actions_due=audits).reading

    assert [one.concern for one in found.sources] == ["2", "1"]


def test_repeat_findings_show_the_repeats():
    found = judged("repeat-findings", 10, found_again=counted(1, 3))

    assert found.reading.value == 25
    assert [one.concern for one in found.reading.sources] == ["0"]
    assert found.state == OFF_TARGET


# Shares of a sample.


def test_a_share_of_a_sample_meets_its_target_only_with_its_lower_limit():
    few = judged("audit-conformity", 90, answers=counted(29, 1))
    many = judged("audit-conformity", 90, answers=counted(290, 10))

    # Clopper-Pearson, two-sided 95 %, by SciPy: 29 of 30 and 290 of 300.
    low, high = stats.binomtest(29, 30).proportion_ci(0.95, "exact")
    assert (few.reading.low, few.reading.high) == pytest.approx((100 * low, 100 * high))
    assert few.state == NOT_SHOWN
    assert many.state == ON_TARGET
    assert judged("audit-conformity", 90, answers=counted(200, 60)).state == OFF_TARGET


# The trend of shares.


def test_a_trend_of_a_share_is_that_of_fishers_exact_test():
    found = judged("actions-in-time", actions_due=(*counted(19, 1, 3), *counted(9, 11, 60)))

    assert found.trend.word == BETTER
    assert found.trend.p == pytest.approx(stats.fisher_exact([[19, 1], [9, 11]]).pvalue)
    assert found.trend.before.value == 45


def test_fewer_repeat_findings_are_better():
    found = judged("repeat-findings", found_again=(*counted(0, 20, 3), *counted(12, 8, 60)))

    assert found.trend.word == BETTER


def test_a_difference_that_chance_explains_is_no_trend():
    assert (
        judged("actions-in-time", actions_due=(*counted(18, 2), *counted(15, 5, 60))).trend.word == NO_TREND
    )


def test_three_against_three_are_too_few_whatever_they_say():
    # All of one and none of the other: 1 in 20 on each side.
    assert judged("actions-in-time", actions_due=(*counted(3, 0), *counted(0, 3, 60))).trend.word == TOO_FEW
    assert judged("actions-in-time", actions_due=(*counted(4, 0), *counted(0, 4, 60))).trend.word == BETTER


def test_audits_before_anybody_audited_are_no_earlier_figures():
    audits = (*counted(20, 0), *counted(0, 20, 60))

    assert judged("audits-done", audits=audits, audited_since=ago(40)).trend.word == NO_BEFORE
    assert judged("audits-done", audits=audits, audited_since=ago(112)).trend.word == BETTER


@settings(max_examples=60)
@given(*[st.integers(0, 25)] * 4)
def test_a_trend_is_never_told_against_the_test_of_scipy(a, b, c, d):
    found = judged("actions-in-time", actions_due=(*counted(a, b), *counted(c, d, 60))).trend

    if a + b and c + d and found.word in (BETTER, WORSE, NO_TREND):
        p = stats.fisher_exact([[a, b], [c, d]]).pvalue
        assert found.p == pytest.approx(p)
        assert (found.word == NO_TREND) == (p >= 0.05)
        assert (found.word == BETTER) == (p < 0.05 and Fraction(a, a + b) > Fraction(c, c + d))


# Numbers and days since.


def test_reports_of_13_weeks_are_counted_and_the_number_decides():
    found = judged("customer-reports", 2, reports=events(0, 90, 91, 200))

    assert found.reading.value == 2
    assert found.state == ON_TARGET
    assert judged("customer-reports", 1, reports=events(0, 90)).state == OFF_TARGET


def test_no_report_since_records_began_last_week_is_no_quarter_without_one():
    found = judged("customer-reports", 1, known_since=ago(7))

    assert (found.reading.value, found.reading.low, found.reading.high) == (0, 0.0, None)
    assert found.state == NOT_SHOWN
    assert "records here begin on 2026-03-24" in basis_text(INDICATORS["customer-reports"], found.reading)
    assert judged("customer-reports", 1, known_since=ago(7), reports=events(1, 2)).state == OFF_TARGET


def test_a_trend_of_numbers_is_that_of_the_exact_binomial_test():
    found = judged("customer-reports", reports=events(1, *[100] * 9)).trend

    assert found.word == BETTER
    assert found.p == pytest.approx(stats.binomtest(1, 10, 0.5).pvalue)


def test_five_reports_are_too_few_for_a_trend_and_six_are_not():
    assert judged("customer-reports", reports=events(*[100] * 5)).trend.word == TOO_FEW
    assert judged("customer-reports", reports=events(*[3] * 6)).trend.word == WORSE


def test_numbers_before_anything_was_recorded_are_no_earlier_figures():
    assert (
        judged("customer-reports", known_since=ago(170), reports=events(*[3] * 9)).trend.word == NO_BEFORE
    )


def test_days_since_the_newest_report_and_only_a_report_starts_them():
    found = judged("days-since-escape", 90, reports=events(40, 12, 300))

    assert (found.reading.value, found.reading.last) == (12, "2026-03-19")
    assert found.state == OFF_TARGET
    assert judged("days-since-escape", 12, reports=events(12)).state == ON_TARGET
    assert judged("days-since-escape", 90).state == NO_DATA


def test_days_from_before_the_first_record_are_not_sure():
    young = judged("days-since-escape", 30, reports=events(300), known_since=ago(5))

    assert (young.reading.value, young.reading.low, young.state) == (300, 5.0, NOT_SHOWN)
    assert "records here go back only 5 days" in basis_text(INDICATORS["days-since-escape"], young.reading)
    assert judged("days-since-escape", 30, reports=events(20), known_since=ago(5)).state == OFF_TARGET
    assert judged("days-since-escape", 30, reports=events(300), known_since=ago(30)).state == ON_TARGET


def test_a_report_still_to_come_is_not_one():
    assert judged("days-since-escape", reports=events(-2, 30)).reading.value == 30


def test_more_reports_than_in_the_half_year_before_are_worse_however_long_ago_the_last_one_is():
    assert judged("days-since-escape", reports=events(*[100] * 8)).trend.word == WORSE


# Levels.


def test_overdue_actions_are_those_of_today_of_all_there_are():
    found = judged(
        "overdue-actions", 0, overdue=lasting((9, None), (30, 2), (5, 0), (40, None)),
        actions_known=(ago(70), ago(60), ago(50), ago(50), ago(-1)),
    )  # fmt: skip

    assert (found.reading.value, found.reading.many) == (2, 4)
    assert [one.concern for one in found.reading.sources] == ["3", "0"]
    assert found.state == OFF_TARGET
    assert (found.trend.word, found.trend.before.value) == (WORSE, 0)


def test_no_action_at_all_is_not_the_same_as_none_overdue():
    assert judged("overdue-actions", 0).state == NO_DATA
    assert judged("overdue-actions", 0, actions_known=(ago(3),)).state == ON_TARGET


def test_an_action_overdue_twice_is_one_action():
    twice = tuple(lasting((9, None))[0] for _ in range(2))

    assert judged("overdue-actions", overdue=twice, actions_known=(ago(9),)).reading.value == 1


def test_the_oldest_open_finding_tells_its_age_and_none_open_is_zero():
    found = judged("open-finding-age", 14, findings=lasting((20, None), (90, 50), (3, None)))

    assert (found.reading.value, found.reading.hits) == (20, 2)
    assert (found.trend.word, found.trend.before.value) == (BETTER, Fraction(34))
    assert judged("open-finding-age", 14, findings=lasting((20, 3))).reading.value == 0
    assert judged("open-finding-age", 14, audited_since=None).state == NO_DATA


def test_the_same_level_as_before_is_no_trend():
    found = judged("overdue-actions", overdue=lasting((90, None)), actions_known=(ago(99),))

    assert found.trend.word == NO_TREND


# Medians with what is still open.


def test_a_median_is_met_when_half_are_over_in_time_whatever_becomes_of_the_rest():
    found = judged("days-to-contain", 5, containing=lasting((30, 28), (30, 25), (20, None), (10, None)))

    assert (found.reading.many, found.reading.still_open) == (4, 2)
    assert found.state == ON_TARGET


def test_a_median_is_missed_when_half_have_taken_longer_already_though_they_are_open():
    found = judged("days-to-contain", 5, containing=lasting((30, 29), (20, None), (10, None)))

    assert found.reading.value is None
    assert found.reading.low == 10.0
    assert found.state == OFF_TARGET
    assert value_text(INDICATORS["days-to-contain"], found.reading) == "at least 10 days"


def test_a_median_that_an_open_one_still_decides_is_neither_met_nor_missed():
    assert (
        judged("days-to-contain", 5, containing=lasting((30, 29), (30, 10), (3, None))).state == NOT_SHOWN
    )


def test_leaving_out_what_is_open_would_have_met_the_target():
    done = lasting((30, 29), (30, 28))

    assert judged("days-to-fix", 5, fixing=done).state == ON_TARGET
    assert judged("days-to-fix", 5, fixing=(*done, *lasting(*[(60, None)] * 3))).state == OFF_TARGET


def test_what_ends_after_the_day_is_open_on_it():
    fixing = lasting((30, 10))

    assert judged("days-to-fix", 5, on=ago(15), fixing=fixing).reading.still_open == 1
    assert judged("days-to-fix", 5, on=ago(15), fixing=fixing).reading.low == 15.0


def test_the_trend_of_a_median_leaves_out_what_began_too_lately_to_be_late():
    # All four of these days that are over were fast, as only the fast ones of these days can be over.
    lately = lasting((2, 1), (2, 1), (2, 0), (3, 2), *[(3, None)] * 6)
    long_ago = lasting(*[(250, 200)] * 6)

    assert judged("days-to-contain", 5, containing=(*lately, *long_ago)).trend.word == TOO_FEW
    grown = lasting(*[(60, 58)] * 6)
    assert judged("days-to-contain", 5, containing=(*grown, *long_ago)).trend.word == BETTER
    slow = lasting(*[(60, None)] * 6)
    fast = lasting(*[(250, 249)] * 6)
    assert judged("days-to-contain", 5, containing=(*slow, *fast)).trend.word == WORSE


def test_without_a_target_a_median_has_no_trend():
    assert judged("days-to-contain", containing=lasting((9, 3), (200, 190))).trend.word == NO_BEFORE


# PPM.


def test_ppm_of_12_months_carries_its_exact_limits():
    found = judged("ppm", 500, deliveries=(month("2026-02-01", 30_000, 35), month("2025-05-01", 20_000, 0)))

    assert found.reading.value == 700  # 35 of 50,000: common practice
    # One-sided 95 % upper limit: check-values.md, M2 (SciPy and R).
    assert found.reading.high == pytest.approx(928.08, abs=0.01)
    assert found.state == OFF_TARGET
    assert judged("ppm", 929, deliveries=(month("2026-02-01", 50_000, 35),)).state == ON_TARGET
    assert judged("ppm", 701, deliveries=(month("2026-02-01", 50_000, 35),)).state == NOT_SHOWN


def test_no_nok_part_of_a_few_does_not_show_a_low_ppm():
    found = judged("ppm", 50, deliveries=(month("2026-03-01", 50_000, 0),))

    assert found.reading.high == pytest.approx(59.9146, abs=0.001)  # check-values.md, M3
    assert found.state == NOT_SHOWN


def test_ppm_looks_at_the_12_months_up_to_the_newest_with_deliveries():
    months = (month("2026-01-01", 1000, 1), month("2025-02-01", 1000, 2), month("2025-01-01", 1000, 4))

    found = judged("ppm", deliveries=(*months, month("2026-04-01", 1000, 8))).reading

    assert (found.hits, found.many, found.last) == (3, 2000, "2026-01")


def test_a_quantity_that_is_not_known_leaves_no_upper_limit():
    found = judged("ppm", 5000, deliveries=(month("2026-03-01", 50_000, 1, is_least=True),))

    assert (found.reading.high, found.state) == (None, NOT_SHOWN)


def test_the_trend_of_ppm_is_that_of_three_months_against_three():
    now = [month(f"2026-0{m}-01", 10_000, 10) for m in (1, 2, 3)]
    before = [month(f"2025-{m}-01", 10_000, 1) for m in (10, 11, 12)]

    found = judged("ppm", deliveries=(*now, *before)).trend

    assert found.word == WORSE
    assert found.p == pytest.approx(stats.binomtest(30, 33, 0.5).pvalue)
    few = judged("ppm", deliveries=(month("2026-03-01", 10_000, 3), month("2025-12-01", 10_000, 1)))
    assert few.trend.word == TOO_FEW


# Words.


def test_values_are_never_rounded_towards_the_comfortable_side():
    def said(indicator: str, value: Fraction) -> str:
        return value_text(INDICATORS[indicator], Reading(value=value))

    assert said("audits-done", Fraction(9499, 100)) == "94 %"
    assert said("repeat-findings", Fraction(1001, 100)) == "11 %"
    assert said("audits-done", Fraction(100)) == "100 %"
    assert said("ppm", Fraction(7001, 10)) == "701 ppm"
    assert said("days-to-fix", Fraction(1)) == "1 day"


def test_targets_are_told_with_bound_and_unit():
    said = [(one, target_words(INDICATORS[one], Fraction("12.5"))) for one in ("audits-done", "ppm")]

    assert said == [("audits-done", "at least 12.5 %"), ("ppm", "at most 12.5 ppm")]
    assert target_words(INDICATORS["days-to-contain"], Fraction(1)) == "at most 1 day"
    assert target_words(INDICATORS["overdue-actions"], Fraction(0)) == "at most 0"


def test_every_indicator_has_words_for_everything_that_it_says():
    facts = Facts(
        reports=events(3, 200), containing=lasting((9, 3), (200, None)), finding_origin=lasting((9, None)),
        fixing=lasting((9, 3)), untold=lasting((9, None)), concerns_known=(ago(9),),
        actions_known=(ago(80),),
        overdue=lasting((9, None)), actions_due=counted(3, 1), effects=counted(1, 1), fixed=counted(1, 1),
        audits=counted(9, 1), answers=counted(9, 1), findings=lasting((9, None)), found_again=counted(1, 1),
        deliveries=(month("2026-03-01", 1000, 1),),
    )  # fmt: skip

    for indicator in INDICATORS.values():
        found = indicator.judge(facts, ON, Fraction(indicator.targets[0]))
        said = (
            value_text(indicator, found.reading), basis_text(indicator, found.reading),
            trend_text(indicator, found.trend), month_basis(indicator, found.reading),
        )  # fmt: skip
        assert all(said), indicator.id


# The calendar's ends.


@pytest.mark.parametrize("on", [date(1, 1, 1), date(1, 2, 3), date(9999, 12, 31)])
def test_the_first_and_the_last_day_of_the_calendar_break_nothing(on):
    facts = {
        "reports": events(3), "containing": lasting((9, None)), "audits": counted(9, 1),
        "known_since": date.min,
        "deliveries": (month("0001-01-01", 9, 1), month("9999-12-01", 9, 1)), "overdue": lasting((9, None)),
    }  # fmt: skip

    for indicator in INDICATORS:
        judged(indicator, 1, on=on, **facts)


def test_months_end_where_the_calendar_does():
    assert month_of(date(9999, 12, 5)).last == date.max
    assert month_before(date(1, 1, 9)) is None
    assert month_before(date(1, 2, 1)) == date.min
    assert days_until(date(1, 1, 3), 56).first == date.min


# Laws.


@given(st.fractions(0, 100), st.floats(0, 100), st.floats(0, 100), st.fractions(0, 100), st.booleans())
def test_no_figure_is_both_on_and_off_and_a_stricter_target_is_never_easier(
    value, one, other, target, more
):
    reading = Reading(value=value, low=min(one, other), high=max(one, other))
    stricter = target + 1 if more else target - 1

    state = state_of(reading, target, more_is_better=more)

    assert state in (ON_TARGET, OFF_TARGET, NOT_SHOWN)
    if state == OFF_TARGET:
        assert state_of(reading, stricter, more_is_better=more) == OFF_TARGET


def test_chance_alone_makes_a_trend_in_at_most_1_of_20():
    """Two times of which nothing changed, simulated: the exact tests keep their level."""
    chance = np.random.default_rng(7)
    told = 0
    for _ in range(1000):
        now, before = chance.binomial(30, 0.8, 2)
        actions = (*counted(now, 30 - now), *counted(before, 30 - before, 60))
        told += judged("actions-in-time", actions_due=actions).trend.word in (BETTER, WORSE)

    assert told <= 50
