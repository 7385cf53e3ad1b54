"""Kappa against printed values, statsmodels, SciPy and numeric derivatives."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats
from statsmodels.stats import inter_rater

from walkapp.analysis.kappa import cohens_kappa, cohens_kappa_by_part, fleiss_kappa

# --- Cohen's kappa --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("table", "value", "digits"),
    [
        # A1: printed output of a statistics package, in statsmodels' own tests.
        ([[0, 4, 1], [0, 8, 0], [0, 1, 5]], 0.4842, 4),
        # A3, A4: encyclopaedia examples, from memory, recomputed in R and statsmodels.
        ([[20, 5], [10, 15]], 0.40, 4),
        ([[45, 15], [25, 15]], 0.1304, 4),
        ([[25, 35], [5, 35]], 0.2593, 4),
        # A5: data set SexualFun of the R package vcd (Hout, Duncan & Sobel 1987), output of R.
        ([[7, 7, 2, 3], [2, 8, 3, 7], [1, 5, 4, 9], [2, 8, 9, 14]], 0.1293303, 7),
        # A6: Fleiss, Levin & Paik, Statistical Methods for Rates and Proportions, from memory.
        ([[75, 1, 4], [5, 4, 1], [0, 0, 10]], 0.6764706, 7),
        # R package irrCAC, README, kappa2.table(cont3x3abstractors).
        ([[13, 0, 0], [0, 20, 7], [0, 4, 56]], 0.7964094, 7),
    ],
)
def test_kappa_agrees_with_printed_values(table, value, digits):
    assert cohens_kappa(table).value == pytest.approx(value, abs=0.5001 * 10**-digits)


@pytest.mark.parametrize(
    ("table", "error", "low", "high", "tolerance"),
    [
        # A1 as printed; A5 from R; irrCAC README (prints 0.05891072 and 0.68 to 0.913, with a t quantile).
        ([[0, 4, 1], [0, 8, 0], [0, 1, 5]], 0.1380, 0.2137, 0.7547, 5.1e-5),
        (
            [[7, 7, 2, 3], [2, 8, 3, 7], [1, 5, 4, 9], [2, 8, 9, 14]],
            0.06859853,
            -0.0051204,
            0.2637809,
            6e-8,
        ),
        ([[13, 0, 0], [0, 20, 7], [0, 4, 56]], 0.05891072, 0.680947, 0.911872, 6e-7),
    ],
)
def test_the_interval_is_the_printed_one(table, error, low, high, tolerance):
    found = cohens_kappa(table).interval

    assert (found.standard_error, found.low, found.high) == pytest.approx((error, low, high), abs=tolerance)


def test_the_standard_error_is_the_ordinary_one_and_not_that_of_no_agreement():
    # Trap T7: 0.1269961 for intervals, 0.1385641 under the hypothesis of no agreement.
    found = cohens_kappa([[20, 5], [10, 15]])

    assert found.interval.standard_error == pytest.approx(0.1269961, abs=6e-8)
    assert found.value / found.interval.standard_error == pytest.approx(3.1497, abs=6e-5)


tables = st.integers(2, 4).flatmap(
    lambda k: st.lists(
        st.lists(st.one_of(st.integers(0, 5), st.integers(0, 400)), min_size=k, max_size=k),
        min_size=k,
        max_size=k,
    )
)


@settings(max_examples=150, deadline=None)
@given(table=tables, confidence=st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_kappa_agrees_with_statsmodels(table, confidence):
    found = cohens_kappa(table, confidence)
    if found.value is None:
        answers = {i for i, row in enumerate(table) for j, c in enumerate(row) if c for i in (i, j)}
        assert len(answers) < 2
        assert found.reason.startswith("Kappa cannot be told")
        return
    # It divides by the null standard error, which may be 0, and takes roots of rounding errors below 0.
    with np.errstate(divide="ignore", invalid="ignore"):
        peer = inter_rater.cohens_kappa(np.array(table))
    assert found.value == pytest.approx(peer.kappa, rel=1e-9, abs=1e-12)
    assert found.units == np.sum(table)
    assert found.observed == pytest.approx(np.trace(table) / np.sum(table), rel=1e-12)
    if found.interval is None:
        # The peer subtracts numbers near 1, so its "0" is the root of a rounding error.
        assert max(0.0, peer.var_kappa) == pytest.approx(0.0, abs=1e-12)
        assert found.reason.startswith("No interval")
        return
    error = found.interval.standard_error
    assert error**2 == pytest.approx(peer.var_kappa, rel=1e-6, abs=1e-12)
    reach = scipy_stats.norm.ppf(0.5 + confidence / 2) * error
    assert found.interval.low == pytest.approx(max(-1.0, found.value - reach), rel=1e-9, abs=1e-12)
    assert found.interval.high == pytest.approx(min(1.0, found.value + reach), rel=1e-9, abs=1e-12)
    assert found.interval.confidence == confidence


@settings(max_examples=150, deadline=None)
@given(table=tables)
def test_kappa_does_not_mind_swapped_judges_or_renamed_answers(table):
    found = cohens_kappa(table)

    assert cohens_kappa([list(column) for column in zip(*table, strict=True)]) == found
    assert cohens_kappa([row[::-1] for row in table[::-1]]) == found


@pytest.mark.parametrize(
    ("table", "value", "words"),
    [
        ([[7, 0], [0, 0]], None, "every answer was the same"),
        ([[0, 0], [0, 0]], None, "nothing was judged by both"),
        ([[7, 0], [7, 0]], 0.0, "always gave the same answer"),
        ([[7, 0], [0, 7]], 1.0, "standard error is 0"),
        ([[0, 7], [7, 0]], -1.0, "standard error is 0"),
        ([[0, 7], [0, 0]], 0.0, "always gave the same answer"),
    ],
)
def test_degenerate_tables_say_why_something_is_missing(table, value, words):
    found = cohens_kappa(table)

    assert found.value == value
    assert found.interval is None
    assert words in found.reason


def kappa_of(weights, part_tables):
    total = sum(w * np.array(t, dtype=float) for w, t in zip(weights, part_tables, strict=True))
    total = total / total.sum()
    expected = total.sum(axis=0) @ total.sum(axis=1)
    return (np.trace(total) - expected) / (1 - expected)


def spread_between_parts(statistic, parts):
    """Standard error from numeric derivatives by the weight of each part (infinitesimal jackknife)."""
    step = 1e-5
    slopes = []
    for i in range(parts):
        up, down = np.ones(parts), np.ones(parts)
        up[i] += step
        down[i] -= step
        slopes.append((statistic(up) - statistic(down)) / (2 * step))
    return math.sqrt(parts / (parts - 1) * sum(s * s for s in slopes))


small_tables = st.lists(
    st.lists(st.lists(st.integers(0, 3), min_size=2, max_size=2), min_size=2, max_size=2),
    min_size=2,
    max_size=15,
)


@settings(max_examples=150, deadline=None)
@given(part_tables=small_tables)
def test_the_interval_by_part_comes_from_how_much_each_part_moves_kappa(part_tables):
    used = [t for t in part_tables if np.sum(t)]
    found = cohens_kappa_by_part(part_tables)

    assert found.parts == (len(used) or None)
    if found.by_part is None:
        assert found.reason is not None
        return
    error = spread_between_parts(lambda w: kappa_of(w, used), len(used))
    assert found.by_part.standard_error == pytest.approx(error, rel=1e-5, abs=1e-7)
    reach = scipy_stats.t.ppf(0.975, len(used) - 1) * found.by_part.standard_error
    assert found.by_part.low == pytest.approx(max(-1.0, found.value - reach), rel=1e-9, abs=1e-12)
    assert found.by_part.high == pytest.approx(min(1.0, found.value + reach), rel=1e-9, abs=1e-12)


@settings(max_examples=100, deadline=None)
@given(table=st.lists(st.lists(st.integers(0, 6), min_size=2, max_size=2), min_size=2, max_size=2))
def test_one_pair_a_part_gives_the_ordinary_standard_error_but_for_one_part_less(table):
    cells = [(i, j) for i in range(2) for j in range(2) for _ in range(table[i][j])]
    single = [[[int((i, j) == cell) for j in range(2)] for i in range(2)] for cell in cells]
    found, plain = cohens_kappa_by_part(single), cohens_kappa(table)

    assert found.value == plain.value
    assert found.interval == plain.interval
    if plain.interval is None:
        assert found.by_part is None
    else:
        n = len(cells)
        expected = plain.interval.standard_error * math.sqrt(n / (n - 1))
        assert found.by_part.standard_error == pytest.approx(expected, rel=1e-12)


def test_a_single_part_has_no_interval_by_part():
    found = cohens_kappa_by_part([[[2, 1], [0, 2]]])

    assert found.interval is not None
    assert found.by_part is None
    assert "two parts" in found.reason


@pytest.mark.parametrize("table", [[[1, 2]], [[1, 2], [3]], [[1, -1], [0, 2]]])
def test_impossible_tables_are_refused(table):
    with pytest.raises(ValueError, match="must"):
        cohens_kappa(table)
    with pytest.raises(ValueError, match="must"):
        cohens_kappa_by_part([table])
    with pytest.raises(ValueError, match="confidence"):
        cohens_kappa([[1, 0], [0, 1]], 1.0)


# --- Fleiss' kappa --------------------------------------------------------------------------------


def rows(text):
    return [[int(c) for c in row.split()] for row in text.split("/")]


FLEISS_1971 = rows(
    "0 0 0 6 0/0 3 0 0 3/0 1 4 0 1/0 0 0 0 6/0 3 0 3 0/2 0 4 0 0/0 0 4 0 2/2 0 3 1 0/2 0 0 4 0/0 0 0 0 6/"
    "1 0 0 5 0/1 1 0 4 0/0 3 3 0 0/1 0 0 5 0/0 2 0 3 1/0 0 5 0 1/3 0 0 1 2/5 1 0 0 0/0 2 0 4 0/1 0 2 0 3/"
    "0 0 0 0 6/0 1 0 5 0/0 2 0 1 3/2 0 0 4 0/1 0 0 4 1/0 5 0 1 0/4 0 0 0 2/0 2 0 4 0/1 0 5 0 0/0 0 0 0 6"
)
ENCYCLOPAEDIA = rows(
    "0 0 0 0 14/0 2 6 4 2/0 0 3 5 6/0 3 9 2 0/2 2 8 1 1/7 7 0 0 0/3 2 6 3 0/2 5 3 2 2/6 5 2 1 0/0 2 2 3 7"
)
SIX_RATERS = rows(
    "0 0 0 6 0/0 3 0 0 3/0 1 4 0 1/0 0 0 0 6/0 3 0 3 0/2 0 4 0 0/0 0 4 0 2/2 0 3 1 0/2 0 0 4 0/0 0 0 0 6/"
    "1 0 0 5 0/1 1 0 4 0/0 3 3 0 0/1 0 0 5 0/0 2 0 3 1"
)


def test_fleiss_kappa_agrees_with_printed_values():
    # A7: Fleiss (1971) prints 0.430; R package irr 0.4302445; mean agreement and chance recomputed.
    found = fleiss_kappa(FLEISS_1971)
    assert found.value == pytest.approx(0.43024452, abs=6e-9)
    assert found.observed == pytest.approx(0.5555556, abs=6e-8)
    assert found.expected == pytest.approx(0.2199383, abs=6e-8)
    # A9: encyclopaedia article "Fleiss' kappa", 0.210.
    assert fleiss_kappa(ENCYCLOPAEDIA).value == pytest.approx(0.2099307, abs=6e-8)
    # A10: statsmodels' tests, from an online calculator: two subjects, seven raters.
    assert fleiss_kappa([[6, 1, 0], [0, 7, 0]]).value == pytest.approx(0.708333, abs=5.1e-7)


def test_fleiss_kappa_of_one_answer_against_the_rest_agrees_with_the_paper():
    # A8: Fleiss (1971), from memory; the kappa of one class is that of the class against all others.
    found = [fleiss_kappa([[row[k], 6 - row[k]] for row in FLEISS_1971]).value for k in range(5)]

    assert found == pytest.approx([0.245, 0.245, 0.520, 0.471, 0.566], abs=5.1e-4)


def test_the_standard_error_of_fleiss_kappa_is_the_one_of_gwet():
    # R package irrCAC, README, fleiss.kappa.dist(distrib.6raters): coefficient 0.4139265, standard error
    # 0.08119291, interval 0.24 to 0.588, agreement 0.5511111, by chance 0.2340741, 15 subjects.
    found = fleiss_kappa(SIX_RATERS)

    assert found.value == pytest.approx(0.4139265, abs=6e-8)
    assert found.by_part.standard_error == pytest.approx(0.08119291, abs=6e-9)
    assert (found.by_part.low, found.by_part.high) == pytest.approx((0.240, 0.588), abs=5.1e-4)
    assert (found.observed, found.expected) == pytest.approx((0.5511111, 0.2340741), abs=6e-8)
    assert (found.units, found.parts) == (15, 15)


def fleiss_of(weights, counts):
    weights = weights / weights.sum()
    counts = np.array(counts, dtype=float)
    judges = counts[0].sum()
    own = ((counts**2).sum(axis=1) - judges) / (judges * (judges - 1))
    shares = weights @ counts / judges
    return (weights @ own - shares @ shares) / (1 - shares @ shares)


counts_of_answers = st.tuples(st.integers(2, 9), st.integers(2, 4)).flatmap(
    lambda size: st.lists(
        st.lists(st.integers(0, size[1] - 1), min_size=size[0], max_size=size[0]).map(
            lambda answers: [answers.count(k) for k in range(size[1])]
        ),
        min_size=1,
        max_size=20,
    )
)


@settings(max_examples=120, deadline=None)
@given(counts=counts_of_answers)
def test_fleiss_kappa_agrees_with_statsmodels_and_with_numeric_derivatives(counts):
    found = fleiss_kappa(counts)
    if found.value is None:
        assert sum(1 for column in zip(*counts, strict=True) if any(column)) == 1
        assert "every answer was the same" in found.reason
        return
    assert found.value == pytest.approx(inter_rater.fleiss_kappa(np.array(counts)), rel=1e-9, abs=1e-12)
    if found.by_part is None:
        assert found.interval is None
        assert found.reason is not None
        return
    error = found.by_part.standard_error
    assert error == pytest.approx(
        spread_between_parts(lambda w: fleiss_of(w, counts), len(counts)), rel=1e-5, abs=1e-7
    )
    for interval, quantile in (
        (found.interval, scipy_stats.norm.ppf(0.975)),
        (found.by_part, scipy_stats.t.ppf(0.975, len(counts) - 1)),
    ):
        assert interval.low == pytest.approx(max(-1.0, found.value - quantile * error), abs=1e-9)
        assert interval.high == pytest.approx(min(1.0, found.value + quantile * error), abs=1e-9)


@pytest.mark.parametrize(
    ("counts", "value", "words"),
    [
        ([], None, "no part has all its readings"),
        ([[1, 0], [0, 1]], None, "fewer than two"),
        # A10: statsmodels' tests, 0/0 and 1.
        ([[7, 0], [7, 0]], None, "every answer was the same"),
        ([[7, 0], [0, 7]], 1.0, "standard error is 0"),
        ([[2, 1]], -0.5, "two parts"),
    ],
)
def test_degenerate_counts_say_why_something_is_missing(counts, value, words):
    found = fleiss_kappa(counts)

    assert found.value == value
    assert found.interval is None
    assert found.by_part is None
    assert words in found.reason


@pytest.mark.parametrize("counts", [[[1, 2], [1, 1]], [[1, 2], [1, 1, 1]], [[-1, 2], [1, 0]]])
def test_impossible_counts_are_refused(counts):
    with pytest.raises(ValueError, match="count"):
        fleiss_kappa(counts)
    with pytest.raises(ValueError, match="confidence"):
        fleiss_kappa([[1, 1]], 0.0)
