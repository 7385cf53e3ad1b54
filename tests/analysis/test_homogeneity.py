"""Are groups alike: printed values, SciPy, and counting all tables in whole numbers."""

import math
from fractions import Fraction
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from tests.analysis.tallies import counted, tallies_of
from walkapp.analysis.homogeneity import SIMULATED, freeman_halton, freeman_halton_simulated


@pytest.mark.parametrize(
    ("tallies", "p", "tolerance"),
    [
        # Example in the help text of "MyFisher23" (G. Cardillo, 2007), table 0 3 2 / 6 5 1, printed as
        # 0.0882352941 after 18 tables.
        ([(0, 6), (3, 8), (2, 3)], 0.0882352941, 5.1e-11),
        # R 4.5.2, fisher.test(matrix(c(10,5,8,12,6,7), nrow=2)); result as printed in the tests of the
        # Python package "pystatistics".
        ([(10, 15), (8, 20), (6, 13)], 0.3770904526630931, 1e-13),
    ],
)
def test_p_of_three_groups_agrees_with_printed_ones(tallies, p, tolerance):
    assert freeman_halton(tallies) == pytest.approx(p, abs=tolerance)


@pytest.mark.parametrize(
    ("table", "p", "tolerance"),
    [
        # Tea tasting, two-sided p in course output, Penn State STAT 504: 0.4857 = 34/70.
        ((3, 1, 1, 3), 34 / 70, 1e-12),
        # Fisher, The Design of Experiments (1935), all four right, from memory: 1/70 one-sided.
        ((4, 0, 0, 4), 2 / 70, 1e-12),
        # R reference manual, fisher.test, twins (Fisher 1962, 1970); output of R.
        ((2, 15, 10, 3), 0.0005367, 5e-8),
        # SciPy reference, scipy.stats.fisher_exact.
        ((8, 2, 1, 5), 0.034965034965034975, 1e-13),
        # Inputs: M. Baudin, "The Most Basic Problem in Quality" (2022); output of SciPy and R.
        ((0, 500, 5, 995), 0.17624091, 5e-9),
    ],
)
def test_two_groups_are_fishers_test(table, p, tolerance):
    a, b, c, d = table

    assert freeman_halton([(a, a + b), (c, c + d)]) == pytest.approx(p, abs=tolerance)


@settings(max_examples=300, deadline=None)
@given(tallies=st.one_of(tallies_of(3, 12), tallies_of(5, 5), tallies_of(7, 2)))
def test_p_is_what_counting_all_tables_in_whole_numbers_gives(tallies):
    assert freeman_halton(tallies) == pytest.approx(float(counted(tallies)), rel=1e-12)


@pytest.mark.parametrize(
    ("tallies", "p"),
    [
        # One NOK part among equal groups: each table is as probable as the others.
        ([(1, 3), (0, 3), (0, 3)], 1),
        # Margins 4, 6, 1 and 2 NOK: (2, 0, 0) has 6 ways, as has (0, 1, 1): of the 55 ways (0, 2, 0)
        # has 15, (1, 1, 0) has 24 and (1, 0, 1) has 4. A tie of different products 6 x 1 x 1 and 1 x 6 x 1.
        ([(2, 4), (0, 6), (0, 1)], Fraction(6 + 6 + 4, 55)),
        ([(0, 4), (1, 6), (1, 1)], Fraction(6 + 6 + 4, 55)),
    ],
)
def test_tables_that_are_equally_probable_count_as_such(tallies, p):
    assert freeman_halton(tallies) == pytest.approx(float(p), rel=1e-14)


@settings(max_examples=40, deadline=None)
@given(tallies=tallies_of(4, 14, least_groups=3))
def test_p_agrees_with_the_chances_that_scipy_gives_to_all_tables(tallies):
    sizes, marked = [n for _, n in tallies], sum(nok for nok, _ in tallies)
    *first, last = np.meshgrid(*(np.arange(n + 1) for n in sizes), indexing="ij")
    tables = np.stack([*first, last], axis=-1).reshape(-1, len(sizes))
    chances = scipy_stats.multivariate_hypergeom.pmf(tables[tables.sum(axis=1) == marked], sizes, marked)
    seen = scipy_stats.multivariate_hypergeom.pmf([nok for nok, _ in tallies], sizes, marked)

    expected = chances[chances <= seen * (1 + 1e-9)].sum()

    assert freeman_halton(tallies) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize(
    "tallies",
    [
        # R reference manual, prop.test: smokers among patients in four studies (Fleiss 1981, p. 139).
        [(83, 86), (90, 93), (129, 136), (70, 82)],
        [(5, 20)] + [(nok, 20) for nok in (0, 1, 2, 1, 0, 0, 3, 1, 0, 1, 1, 0, 2, 0, 1)],
        [
            (nok, n)
            for nok, n in zip((4, 0, 1, 1, 0, 2, 0, 1), (12, 31, 18, 44, 9, 27, 38, 16), strict=True)
        ],
    ],
)
def test_p_of_tables_of_real_size_agrees_with_scipys_random_tables(tallies):
    method = scipy_stats.MonteCarloMethod(n_resamples=40_000, rng=np.random.default_rng(7))
    table = [[nok, n - nok] for nok, n in tallies]

    p = freeman_halton(tallies)

    assert p is not None
    error = math.sqrt(p * (1 - p) / 40_000)
    assert scipy_stats.fisher_exact(table, method=method).pvalue == pytest.approx(p, abs=5 * error + 1e-4)


@settings(max_examples=100, deadline=None)
@given(tallies=tallies_of(10, 9), random=st.randoms(use_true_random=False))
def test_order_empty_groups_and_the_names_of_ok_and_nok_do_not_matter(tallies, random):
    p = freeman_halton(tallies)
    shuffled = [*tallies, (0, 0), (0, 0)]
    random.shuffle(shuffled)

    assert 0.0 < p <= 1.0
    assert freeman_halton(shuffled) == pytest.approx(p, rel=1e-12)
    assert freeman_halton([(n - nok, n) for nok, n in tallies]) == pytest.approx(p, rel=1e-12)


@pytest.mark.parametrize(
    "tallies", [[], [(3, 9)], [(0, 0), (0, 0)], [(0, 4), (0, 5), (0, 6)], [(4, 4), (5, 5), (6, 6)]]
)
def test_where_nothing_can_differ_p_is_1(tallies):
    assert freeman_halton(tallies) == 1.0
    assert freeman_halton_simulated(tallies, Random(1), 50).p == 1.0


def test_a_p_is_never_0_even_where_it_is_below_every_number():
    assert freeman_halton([(2000, 2000), (0, 2000)]) > 0.0
    assert freeman_halton([(600, 600), (0, 600), (0, 600)], 10**9) > 0.0


@pytest.mark.parametrize(("limit", "is_known"), [(10, False), (1_000, False), (10_000_000, True)])
def test_beyond_the_allowed_work_there_is_no_exact_p(limit, is_known):
    tallies = [(nok, 20) for nok in (2, 4, 1, 1, 0, 3, 1, 0)]

    assert (freeman_halton(tallies, limit) is not None) == is_known


def test_counts_far_too_large_for_an_exact_test_are_given_up_at_once():
    assert freeman_halton([(40_000, 90_000), (41_000, 91_000), (42_000, 90_500)]) is None


@pytest.mark.parametrize("tallies", [[(-1, 3), (0, 2)], [(1, 3), (3, 2)], [(0, -1)]])
def test_impossible_counts_are_refused(tallies):
    with pytest.raises(ValueError, match="nok must be 0 to checked"):
        freeman_halton(tallies)
    with pytest.raises(ValueError, match="nok must be 0 to checked"):
        freeman_halton_simulated(tallies, Random(1))


# ------------------------------------------------------------------------- random divisions


class EvenChance:
    """Numbers for two groups that lie evenly between 0 and 1 instead of being random."""

    def __init__(self, draws):
        self.numbers = iter([number for i in range(draws) for number in ((i + 0.5) / draws, 0.5)])

    def random(self):
        return next(self.numbers)


@settings(max_examples=60, deadline=None)
@given(tallies=tallies_of(2, 40, least_groups=2))
def test_random_divisions_have_the_chances_of_the_tables(tallies):
    # With evenly laid numbers each of the up to 41 tables comes as often as its chance says, to within
    # one draw.
    found = freeman_halton_simulated(tallies, EvenChance(2_000), 2_000)

    assert found.p == pytest.approx(freeman_halton(tallies), abs=42 / 2_000)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize(
    "tallies",
    [
        [(10, 15), (8, 20), (6, 13)],
        [(0, 6), (3, 8), (2, 3)],
        [(nok, 20) for nok in (6, 2, 1, 1, 0, 0, 3, 1)],
        [(17, 18), (20, 20), (11, 16), (30, 31)],
    ],
)
def test_the_stated_error_of_an_estimate_holds_the_exact_p(tallies, seed):
    # At 99.99 % one such set of twelve fails less than once in 800; the seeds are fixed anyway.
    found = freeman_halton_simulated(tallies, Random(seed), 4_000, 0.9999)

    assert found.error.low <= freeman_halton(tallies) <= found.error.high
    assert (found.method, found.draws, found.error.sides, found.error.confidence) == (
        SIMULATED, 4_000, 2, 0.9999,
    )  # fmt: skip


def test_an_estimate_is_never_0_and_says_how_little_is_known():
    # Phipson and Smyth (2010): (b + 1) / (m + 1). Without a hit of 99: 1/100, and at most 3.66 %,
    # 1 - 0.025 ** (1 / 99), two-sided.
    found = freeman_halton_simulated([(20, 20), (0, 20), (0, 20)], Random(1), 99)

    assert found.p == 0.01
    assert found.error.low == 0.0
    assert found.error.high == pytest.approx(1 - 0.025 ** (1 / 99), rel=1e-12)


def test_an_estimate_depends_on_the_seed_and_not_on_the_order():
    tallies = [(3, 20), (5, 9), (0, 14), (1, 20)]

    found = [freeman_halton_simulated(order, Random(5), 500) for order in (tallies, tallies[::-1])]

    assert found[0] == found[1]
    assert found[0] != freeman_halton_simulated(tallies, Random(6), 500)


def test_an_estimate_needs_a_draw():
    with pytest.raises(ValueError, match="draws must be at least 1"):
        freeman_halton_simulated([(1, 2), (0, 2)], Random(1), 0)


def test_counts_of_many_thousands_are_estimated():
    tallies = [(400, 52_000), (410, 50_000), (500, 51_000)]
    expected = scipy_stats.chi2_contingency([[nok, n - nok] for nok, n in tallies]).pvalue

    found = freeman_halton_simulated(tallies, Random(3), 3_000)

    # The chi-square is an approximation that is good for so many parts.
    assert found.p == pytest.approx(expected, abs=0.002)
    assert expected < 0.002
    assert freeman_halton_simulated([(400, 52_000), (410, 50_000), (430, 51_000)], Random(3), 3_000).p > 0.2
