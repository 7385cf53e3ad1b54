"""Ppm and its limits: published values, zero counts, and SciPy over made-up inputs."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from walkapp.analysis.ppm import (
    LARGEST_COUNT,
    against_target,
    compare_rates,
    count_limits,
    count_lower,
    count_upper,
    joined,
    ppm_rate,
)
from walkapp.analysis.ppm_words import (
    comparison_words,
    limits_words,
    ppm_number,
    rate_words,
    target_words,
)

COUNTS = st.integers(0, 60) | st.integers(0, 5_000)
DELIVERED = st.integers(1, 100) | st.integers(1, 10_000_000)

GARWOOD = {
    0: ("0.0000", "3.6889", "2.9957"), 1: ("0.0253", "5.5716", "4.7439"), 2: ("0.2422", "7.2247", "6.2958"),
    3: ("0.6187", "8.7673", "7.7537"), 4: ("1.0899", "10.2416", "9.1535"),
    5: ("1.6235", "11.6683", "10.5130"), 6: ("2.2019", "13.0595", "11.8424"),
    7: ("2.8144", "14.4227", "13.1481"), 8: ("3.4538", "15.7632", "14.4346"),
    9: ("4.1154", "17.0848", "15.7052"), 10: ("4.7954", "18.3904", "16.9622"),
    20: ("12.2165", "30.8884", "29.0620"), 35: ("24.3788", "48.6765", "46.4041"),
    50: ("37.1110", "65.9188", "63.2871"), 100: ("81.3640", "121.6268", "118.0793"),
}  # fmt: skip
"""Two-sided 95 % limits and one-sided 95 % upper limit of a count (widely printed; from memory)."""

GARWOOD_90 = {
    0: "2.3026",
    1: "3.8897",
    2: "5.3223",
    5: "9.2747",
    10: "15.4066",
    35: "43.8715",
    100: "114.0745",
}
"""One-sided 90 % upper limits, likewise."""


def test_35_of_50000_are_700_ppm():
    # Common practice, no source; the limits are those of Garwood (1936), recomputed.
    rate = ppm_rate(35, 50_000)

    assert rate.ppm == 700.0
    assert (rate.limits.low, rate.limits.high) == pytest.approx((487.576, 973.531), abs=5e-4)
    assert rate.limits.sides == 2
    assert rate.upper.high == pytest.approx(928.08, abs=5e-3)
    assert rate.upper.sides == 1


def test_zero_returns_have_the_one_sided_limit_and_say_so():
    # 59.9 ppm one-sided, 73.8 ppm would be the two-sided one: programs differ in which they give for zero.
    limits = ppm_rate(0, 50_000).limits

    assert (limits.low, limits.sides) == (0.0, 1)
    assert limits.high == pytest.approx(59.9146, abs=5e-5)
    assert count_limits(0).high / 50_000 * 1e6 == pytest.approx(73.7776, abs=5e-5)


@pytest.mark.parametrize("count", GARWOOD)
def test_limits_of_a_count_are_the_printed_ones(count):
    low, high, upper = GARWOOD[count]

    both, one = count_limits(count), count_upper(count)

    assert (f"{both.low:.4f}", f"{both.high:.4f}", f"{one.high:.4f}") == (low, high, upper)
    assert (both.sides, one.sides) == (2, 1)


@pytest.mark.parametrize("count", GARWOOD_90)
def test_one_sided_90_percent_limits_are_the_printed_ones(count):
    assert f"{count_upper(count, 0.90).high:.4f}" == GARWOOD_90[count]


@pytest.mark.parametrize(
    ("confidence", "low", "high"),
    [(0.90, "17.38", "34.92"), (0.95, "16.18", "36.90"), (0.99, "14.00", "41.00")],
)
def test_the_published_limits_of_a_count_of_25(confidence, low, high):
    # GraphPad FAQ, "How QuickCalcs computes the confidence interval of a count", citing Garwood (1936).
    limits = count_limits(25, confidence)

    assert (f"{limits.low:.2f}", f"{limits.high:.2f}") == (low, high)


def test_the_published_rate_of_137_events():
    # R reference manual, poisson.test: 137 events, exposure 24.19893; limits as printed.
    limits = count_limits(137)

    assert limits.low / 24.19893 == pytest.approx(4.753125, abs=5e-7)
    assert limits.high / 24.19893 == pytest.approx(6.692709, abs=5e-7)


def test_the_published_comparison_of_two_rates():
    # R reference manual, poisson.test: 11 in 800 against 21 in 3011.
    found = compare_rates(ppm_rate(11, 800), ppm_rate(21, 3011))

    assert found.p == pytest.approx(0.07967, abs=5e-6)
    assert found.ratio == pytest.approx(1.971488, abs=5e-7)
    assert found.interval.low == pytest.approx(0.8584264, abs=5e-8)
    assert found.interval.high == pytest.approx(4.2772659, abs=5e-8)


@given(count=COUNTS, confidence=st.floats(0.5, 0.999))
def test_limits_are_those_of_scipy(count, confidence):
    beyond = (1 - confidence) / 2

    both = count_limits(count, confidence)

    assert both.high == pytest.approx(stats.chi2.ppf(1 - beyond, 2 * count + 2) / 2, rel=1e-9)
    if count:
        assert both.low == pytest.approx(stats.chi2.ppf(beyond, 2 * count) / 2, rel=1e-9)
        lower = stats.chi2.ppf(1 - confidence, 2 * count) / 2
        assert count_lower(count, confidence).low == pytest.approx(lower, rel=1e-9)
    upper = stats.chi2.ppf(confidence, 2 * count + 2) / 2
    assert count_upper(count, confidence).high == pytest.approx(upper, rel=1e-9)


@given(first=COUNTS, second=COUNTS, delivered=DELIVERED, before=DELIVERED)
def test_the_test_of_two_rates_is_that_of_scipy(first, second, delivered, before):
    found = compare_rates(ppm_rate(first, delivered), ppm_rate(second, before))

    if first + second == 0:
        assert (found.p, found.ratio, found.interval) == (1.0, None, None)
        return
    witness = stats.binomtest(first, first + second, delivered / (delivered + before))
    # SciPy's own digits end where p is smaller than any decision needs.
    assert found.p == pytest.approx(witness.pvalue, rel=1e-7, abs=1e-100)
    shares = witness.proportion_ci(0.95)
    exposure = before / delivered
    if first:
        assert found.interval.low == pytest.approx(shares.low / (1 - shares.low) * exposure, rel=1e-6)
    else:
        assert found.interval.low == 0.0
    if not second:
        assert math.isinf(found.interval.high)


@given(first=COUNTS, second=COUNTS, delivered=DELIVERED, before=DELIVERED)
def test_the_comparison_is_the_same_either_way(first, second, delivered, before):
    one = compare_rates(ppm_rate(first, delivered), ppm_rate(second, before))
    other = compare_rates(ppm_rate(second, before), ppm_rate(first, delivered))

    assert one.p == pytest.approx(other.p, rel=1e-9, abs=1e-300)
    assert 0.0 < one.p <= 1.0 or one.p == pytest.approx(0.0, abs=1e-300)


@given(nok=COUNTS, delivered=DELIVERED)
def test_limits_hold_the_ppm_between_them(nok, delivered):
    rate = ppm_rate(nok, delivered)

    assert rate.lower.low <= rate.ppm <= rate.upper.high
    assert rate.limits.low <= rate.ppm <= rate.limits.high
    # One-sided limits are the tighter ones, except that of a zero count, which stands alone.
    assert rate.upper.high <= rate.limits.high


@given(nok=st.integers(0, 200), delivered=DELIVERED, more=st.integers(0, 10_000_000))
def test_more_deliveries_without_a_nok_part_never_raise_a_limit(nok, delivered, more):
    before, after = ppm_rate(nok, delivered), ppm_rate(nok, delivered + more)

    assert after.upper.high <= before.upper.high
    assert after.lower.low <= before.lower.low


@given(rates=st.lists(st.tuples(COUNTS, st.integers(0, 10**6), st.booleans()), min_size=1, max_size=12))
def test_months_together_are_one_long_month(rates):
    together = joined(ppm_rate(nok, delivered, is_least=least) for nok, delivered, least in rates)

    assert together.nok == sum(nok for nok, _, _ in rates)
    assert together.delivered == sum(delivered for _, delivered, _ in rates)
    assert together.is_least == any(least for _, _, least in rates)


def test_no_month_is_no_rate():
    assert joined([]) is None


@given(nok=st.integers(0, 300), delivered=DELIVERED, target=st.floats(0.01, 1e6))
def test_the_further_parts_are_just_enough_to_show_it(nok, delivered, target):
    found = against_target(ppm_rate(nok, delivered), target)

    with_them = ppm_rate(nok, delivered + found.further_parts)
    assert with_them.upper.high < target * (1 + 1e-12)
    assert (found.further_parts == 0) == (found.state == "shown_below")
    if found.further_parts:
        assert ppm_rate(nok, delivered + found.further_parts - 1).upper.high >= target * (1 - 1e-12)


@given(nok=st.integers(0, 300), delivered=DELIVERED, target=st.floats(0.0, 1e6))
def test_the_confidence_says_the_same_as_the_limit(nok, delivered, target):
    found = against_target(ppm_rate(nok, delivered), target)

    witness = stats.poisson.sf(nok, target * delivered / 1e6)
    assert found.confidence == pytest.approx(witness, rel=1e-8, abs=1e-12)
    if abs(found.confidence - 0.95) > 1e-9:
        assert (found.state == "shown_below") == (found.confidence > 0.95)


@pytest.mark.parametrize(
    ("nok", "target", "state"),
    [(0, 60, "shown_below"), (0, 59, "not_shown"), (35, 700, "not_shown"), (35, 600, "above"),
     (35, 500, "shown_above"), (35, 0, "shown_above"), (0, 0, "not_shown")],
)  # fmt: skip
def test_states_against_a_target(nok, target, state):
    assert against_target(ppm_rate(nok, 50_000), target).state == state


@pytest.mark.parametrize("target", [0.0, 5e-324, 1e-9])
def test_a_target_that_no_number_of_parts_shows_asks_for_none(target):
    found = against_target(ppm_rate(0, 50_000), target)

    assert (found.state, found.further_parts) == ("not_shown", None)


def test_a_least_count_never_shows_that_a_rate_is_below_its_target():
    rate = ppm_rate(0, 10_000_000, is_least=True)

    found = against_target(rate, 1000)

    assert (found.state, found.confidence, found.further_parts) == ("not_shown", None, None)
    assert rate.upper is None
    assert math.isinf(rate.limits.high)
    assert compare_rates(rate, ppm_rate(5, 100)) is None


def test_a_least_count_can_show_that_a_rate_is_above_its_target():
    assert against_target(ppm_rate(35, 50_000, is_least=True), 500).state == "shown_above"


def test_nothing_delivered_is_no_ppm():
    rate = ppm_rate(3, 0)

    assert (rate.ppm, rate.limits, rate.lower, rate.upper) == (None, None, None, None)
    assert against_target(rate, 10).state == "unknown"
    assert against_target(None, 10).state == "unknown"
    assert compare_rates(rate, ppm_rate(1, 10)) is None
    assert rate_words(rate) == "no ppm, since nothing was delivered"


def test_more_nok_parts_than_parts_delivered_have_limits():
    rate = ppm_rate(30, 10)

    assert rate.ppm == 3_000_000
    assert rate.limits.high > 3_000_000


def test_counts_that_no_plant_has_get_no_limits_instead_of_waiting():
    rate = ppm_rate(2**53 - 1, 7)

    assert rate.limits is None
    assert "limits are not worked out above 1,000,000 NOK parts" in rate_words(rate)
    assert compare_rates(rate, ppm_rate(1, 10)) is None
    assert ppm_rate(LARGEST_COUNT, 10**9).limits.sides == 2
    assert against_target(rate, 10).state == "above"


@pytest.mark.parametrize("counts", [(-1, 5), (5, -1)])
def test_negative_counts_are_a_mistake_of_the_caller(counts):
    with pytest.raises(ValueError, match="must not be negative"):
        ppm_rate(*counts)


@pytest.mark.parametrize(("count", "confidence"), [(-1, 0.9), (LARGEST_COUNT + 1, 0.9), (1, 0.0), (1, 1.0)])
def test_limits_out_of_range_are_a_mistake_of_the_caller(count, confidence):
    with pytest.raises(ValueError, match="must be"):
        count_limits(count, confidence)


@pytest.mark.parametrize("target", [-1.0, math.inf, math.nan])
def test_a_target_that_is_none_is_a_mistake_of_the_caller(target):
    with pytest.raises(ValueError, match="target must be"):
        against_target(ppm_rate(1, 10), target)


# Words


@given(low=st.floats(0, 1e9), more=st.floats(0, 1e9))
def test_words_never_claim_a_narrower_range_than_the_numbers(low, more):
    rate = ppm_rate(1, 10)
    limits = type(rate.limits)(low=low, high=low + more, confidence=0.95, sides=2)

    said = limits_words(limits).partition(" ppm")[0].replace(",", "").replace("<", "")
    first, last = map(float, said.split(" to "))

    assert first <= low or first == 0.01
    assert last >= low + more or math.isclose(last, low + more)


@pytest.mark.parametrize(
    ("ppm", "words"),
    [(0, "0"), (0.001, "<0.01"), (0.25, "0.25"), (59.9146, "59.91"), (99.999, "100"), (700, "700"),
     (487.58, "487.6"), (1234.5, "1,234"), (3e6, "3,000,000")],
)  # fmt: skip
def test_numbers_of_ppm(ppm, words):
    assert ppm_number(ppm) == words


def test_the_sentence_for_zero_names_the_one_sided_limit():
    assert rate_words(ppm_rate(0, 50_000)) == "0 ppm (at most 59.92 ppm, one-sided 95 %)"


def test_sentences_against_a_target():
    rate = ppm_rate(0, 50_000)
    assert target_words(against_target(rate, 50), rate) == (
        "Not shown to be below the target of 50 ppm (confidence 91 %, 95 % is asked for): 9,915 more parts "
        "without a NOK one would show it"
    )
    rate = ppm_rate(35, 50_000)
    assert target_words(against_target(rate, 600), rate) == (
        "Above the target of 600 ppm; with 95 % confidence not shown to be, the limit is at least 517.3 "
        "ppm, one-sided 95 %"
    )
    rate = ppm_rate(0, 50_000)
    assert target_words(against_target(rate, 0), rate) == (
        "No NOK part so far, as the target of 0 ppm asks; no count can show a rate of exactly 0"
    )
    rate = ppm_rate(0, 50_000, is_least=True)
    assert "only a least number is known" in target_words(against_target(rate, 600), rate)
    assert (
        target_words(against_target(None, 5), None) == "There is no ppm to hold against the target of 5 ppm"
    )


def test_a_difference_is_told_with_its_p():
    found = compare_rates(ppm_rate(35, 50_000), ppm_rate(3, 50_000))

    assert comparison_words(found) == "the rate is higher (p < 0.0001, exact)"
    assert comparison_words(compare_rates(ppm_rate(3, 50_000), ppm_rate(35, 50_000))).startswith(
        "the rate is lower"
    )
