"""Comparing cavities, fixtures and shifts: printed values, SciPy, statsmodels and counting by hand."""

import math
from dataclasses import replace
from fractions import Fraction
from itertools import product
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats
from statsmodels.stats.multitest import multipletests

from walkapp.analysis.many import holm
from walkapp.analysis.proportions import fisher_exact
from walkapp.analysis.units import (
    BETTER,
    EXACT,
    MOST_UNITS,
    NONE_SHOWN,
    NOT_SHOWN,
    NOTHING_TO_COMPARE,
    ONE_DIFFERS,
    SEVERAL_DIFFER,
    SIMULATED,
    SOME_DIFFER,
    WORSE,
    Grouping,
    UnitTally,
    compare_units,
    freeman_halton,
    freeman_halton_simulated,
)

# ---------------------------------------------------------------- do the groups differ at all


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


def counted(tallies):
    """Give p as a fraction, from every table with the same margins."""
    marked = sum(nok for nok, _ in tallies)

    def ways(table):
        return math.prod(math.comb(n, k) for k, (_, n) in zip(table, tallies, strict=True))

    tables = [t for t in product(*(range(n + 1) for _, n in tallies)) if sum(t) == marked]
    seen = ways([nok for nok, _ in tallies])
    return Fraction(sum(w for w in map(ways, tables) if w <= seen), sum(map(ways, tables)))


def tallies_of(most_groups, most_parts, least_groups=1):
    one = st.integers(0, most_parts).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
    return st.lists(one, min_size=least_groups, max_size=most_groups)


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


# ------------------------------------------------------------------------------- Holm


def test_holm_agrees_with_printed_values():
    # R 4.5.2, p.adjust(c(...), "holm"), as printed in the tests of the Python package "pystatistics".
    assert holm([0.01, 0.04, 0.03, 0.005]) == pytest.approx((0.03, 0.06, 0.06, 0.02), rel=1e-12)
    assert holm([0.001, 0.01, 0.05, 0.1, 0.5, 0.9]) == pytest.approx(
        (0.006, 0.05, 0.2, 0.3, 1, 1), rel=1e-12
    )


@settings(max_examples=20, deadline=None)
@given(
    ps=st.lists(
        st.one_of(st.floats(0, 1), st.sampled_from([0.0, 0.01, 0.05, 1.0])), min_size=1, max_size=20
    )
)
def test_holm_agrees_with_statsmodels(ps):
    assert holm(ps) == pytest.approx(tuple(multipletests(ps, method="holm")[1]), rel=1e-12, abs=1e-300)


def test_holm_of_nothing_and_of_one():
    assert holm([]) == ()
    assert holm([0.03]) == (0.03,)


# ----------------------------------------------------------------------------- the comparison


def cavities(*tallies, name="cavity"):
    units = tuple(
        UnitTally(name=str(number), checked=checked, nok=nok)
        for number, (nok, checked) in enumerate(tallies, start=1)
    )
    return Grouping(name=name, units=units)


def compare(*groupings, **options):
    return compare_units(groupings, chance=Random(1), **options)


def test_one_bad_cavity_is_named_and_the_good_ones_are_not():
    # Cavity 1, 0 of 20, is "better" than a rest with the bad one in it: by itself that says nothing.
    (said,) = compare(cavities((0, 20), (20, 20), (0, 20), (0, 20)))

    assert (said.verdict, said.stands_out, said.worse, said.better) == (ONE_DIFFERS, "2", ("2",), ())
    assert [unit.direction for unit in said.units] == [BETTER, WORSE, BETTER, BETTER]
    assert (said.checked, said.nok, said.worst, said.worst_nok) == (80, 20, "2", 20)
    assert said.test.method == EXACT
    assert said.test.error is None
    assert said.sentence == (
        "Cavity 2 is worse than the rest: 20 of 20 parts NOK against 0 of 60 (p < 0.0001 after correction)."
    )


def test_one_good_cavity_among_bad_ones_is_named_as_better():
    (said,) = compare(cavities((10, 20), (11, 20), (0, 20), (9, 20)))

    assert (said.stands_out, said.worse, said.better) == ("3", (), ("3",))
    assert said.sentence.startswith("Cavity 3 is better than the rest: 0 of 20 parts NOK against 30 of 60")


def test_several_bad_cavities_are_all_named():
    (said,) = compare(cavities((19, 20), (1, 20), (20, 20), (0, 20), (20, 20), (1, 20), (0, 20)))

    assert (said.verdict, said.stands_out) == (SEVERAL_DIFFER, None)
    assert (said.worse, said.better) == (("3", "5", "1"), ())
    assert (said.worst, said.worst_nok) == (None, 0)
    assert said.sentence == (
        "Cavity 3 (20 of 20), cavity 5 (20 of 20) and cavity 1 (19 of 20) are worse than the others."
    )


def test_a_bad_and_a_good_cavity_are_named_apart():
    (said,) = compare(cavities((10, 20), (10, 20), (20, 20), (9, 20), (0, 20), (10, 20), (11, 20)))

    assert (said.worse, said.better) == (("3",), ("5",))
    assert said.sentence == "Cavity 3 (20 of 20) is worse, cavity 5 (0 of 20) is better than the others."


def test_of_two_that_differ_the_worse_is_named_and_the_p_is_fishers_uncorrected():
    (said,) = compare(cavities((2, 17), (10, 13), name="fixture"))

    # R reference manual, fisher.test, twins; output of R.
    assert said.test.p == pytest.approx(0.0005367, abs=5e-8)
    assert [unit.p_adjusted for unit in said.units] == pytest.approx([said.test.p] * 2, rel=1e-12)
    assert (said.stands_out, said.worse) == ("2", ("2",))
    assert (
        said.sentence
        == "Fixture 2 is worse than the rest: 10 of 13 parts NOK against 2 of 17 (p = 0.0006)."
    )


def test_without_a_shown_difference_it_is_said_what_could_have_been_seen():
    (said,) = compare(cavities((1, 10), (2, 10), (0, 10), (1, 10)))

    assert (said.verdict, said.stands_out, said.worse, said.better) == (NONE_SHOWN, None, (), ())
    assert said.worst == "2"
    # Counted: 5 of 10 against 2 of 30 has p = 0.00622, 4 of 10 has 0.0258; there are four comparisons.
    assert 4 * counted([(5, 10), (2, 30)]) <= Fraction(5, 100) < 4 * counted([(4, 10), (2, 30)])
    assert said.units[1].least_nok == 5
    assert said.sentence == (
        "No difference by cavity is shown (p = 0.9); with these counts cavity 2 (2 of 10 parts NOK) "
        "would have been shown to be worse from 5 NOK on."
    )


def test_where_no_count_could_have_shown_anything_that_is_said():
    # 3 of 3 against 0 of 3: 2 of the 20 divisions are as improbable, p = 0.1.
    (said,) = compare(cavities((2, 3), (0, 3)))

    assert [unit.least_nok for unit in said.units] == [None, None]
    assert said.sentence.endswith(
        "; with these counts cavity 1 (2 of 3 parts NOK) could not have been shown to be worse."
    )


def test_counts_that_differ_only_taken_together_name_no_unit():
    (said,) = compare(cavities((3, 8), (5, 8), (2, 8), (7, 8), (1, 8), (6, 8), (1, 8), (6, 8)))

    assert (said.verdict, said.stands_out) == (SOME_DIFFER, None)
    assert {unit.direction for unit in said.units} == {NOT_SHOWN}
    assert said.test.p < 0.05
    assert said.sentence.startswith("Taken together the counts by cavity differ (p = 0.0")
    assert said.sentence.endswith("but no single one is shown to differ from the rest.")


def test_units_never_checked_are_listed_and_change_nothing():
    counted_alone, with_empty = (
        compare(cavities(*tallies))[0]
        for tallies in (((1, 20), (9, 20), (0, 20)), ((1, 20), (9, 20), (0, 20), (0, 0), (0, 0)))
    )

    assert with_empty.never_checked == ("4", "5")
    assert with_empty.sentence == f"{counted_alone.sentence} Not checked: cavity 4 and cavity 5."
    assert replace(with_empty, never_checked=(), sentence=counted_alone.sentence) == counted_alone


@pytest.mark.parametrize(
    ("tallies", "sentence"),
    [
        ([], "By cavity there is nothing to compare: none was checked."),
        (
            [(0, 0), (0, 0)],
            "By cavity there is nothing to compare: none was checked. Not checked: cavity 1 and cavity 2.",
        ),
        (
            [(0, 0), (3, 4)],
            "By cavity there is nothing to compare: only cavity 2 was checked. Not checked: cavity 1.",
        ),
    ],
)
def test_fewer_than_two_units_cannot_be_compared(tallies, sentence):
    (said,) = compare(cavities(*tallies))

    assert (said.verdict, said.sentence) == (NOTHING_TO_COMPARE, sentence)
    assert (said.test.p, said.p_adjusted, said.worse, said.better) == (1.0, 1.0, (), ())
    assert [(unit.p, unit.direction, unit.least_nok) for unit in said.units] == [
        (1.0, NOT_SHOWN, None) for _, checked in tallies if checked
    ]


@pytest.mark.parametrize("nok", [0, 5])
def test_nothing_or_everything_nok_shows_no_difference(nok):
    (said,) = compare(cavities((nok, 5), (nok, 5), (nok, 5)))

    assert (said.verdict, said.test.p, said.worst) == (NONE_SHOWN, 1.0, None)
    # 4 of 5 against 0 of 10: 5 of 1365 divisions, three comparisons; 3 of 5: 10 of 455.
    assert {unit.least_nok for unit in said.units} == ({4} if nok == 0 else {None})


def test_looking_at_a_second_grouping_costs_its_price():
    # 5 of 20 against 1 of 40 has p = 0.0135: with three comparisons it is shown, with six it is not.
    by_cavity = cavities((0, 20), (5, 20), (1, 20))
    by_shift = cavities((3, 30), (3, 30), name="shift")

    alone = compare(by_cavity)[0]
    both = compare(by_cavity, by_shift)

    assert [said.groupings for said in both] == [2, 2]
    assert [said.p_adjusted for said in both] == pytest.approx(
        multipletests([said.test.p for said in both], method="holm")[1], rel=1e-12
    )
    assert both[0].test == alone.test
    assert [unit.p_adjusted for unit in both[0].units] == pytest.approx(
        [min(1.0, 2 * unit.p_adjusted) for unit in alone.units]
    )
    assert (alone.stands_out, both[0].stands_out) == ("2", None)
    assert (alone.units[1].least_nok, both[0].units[1].least_nok) == (5, 6)


def test_a_grouping_with_nothing_to_compare_costs_nothing():
    by_cavity = cavities((0, 20), (6, 20), (1, 20))

    said = compare(cavities((3, 9), name="machine"), by_cavity, cavities(name="shift"))

    assert said[1] == compare(by_cavity)[0]
    assert [one.verdict for one in said] == [NOTHING_TO_COMPARE, said[1].verdict, NOTHING_TO_COMPARE]
    assert compare() == ()


def test_beyond_the_allowed_work_the_p_is_estimated_and_that_is_said():
    grouping = cavities(*((nok, 20) for nok in (2, 4, 1, 1, 0, 3, 1, 0)))

    (said,) = compare(grouping, limit=1_000, draws=500)
    (exact,) = compare(grouping)

    assert (said.test.method, said.test.draws) == (SIMULATED, 500)
    assert said.test.error.low < exact.test.p < said.test.error.high
    assert said.units == exact.units
    # b = 111 of 500 with this seed: (b + 1) / 501, exact limits 0.1863 and 0.2611, written outwards.
    assert said.test.p == pytest.approx(112 / 501, rel=1e-12)
    assert said.sentence.startswith(
        "No difference by cavity is shown (p = 0.23; estimated from 500 random divisions between 0.18 "
        "and 0.27 with 95 % confidence); "
    )
    both = compare(grouping, cavities((3, 9), (4, 9), name="shift"), limit=1_000, draws=500)
    assert "(p = 0.45 after correction; estimated from 500 random divisions, before correction between" in (
        both[0].sentence
    )


def test_names_that_say_what_they_are_are_not_said_twice():
    units = (
        UnitTally(name="Cavity 1", checked=20, nok=0),
        UnitTally(name="Cavity 2", checked=20, nok=15),
    )

    (said,) = compare(Grouping(name="cavity", units=units))

    assert said.sentence.startswith("Cavity 2 is worse than the rest")


unit_tallies = tallies_of(8, 25, least_groups=2).filter(lambda tallies: sum(n > 0 for _, n in tallies) > 1)


@settings(max_examples=80, deadline=None)
@given(tallies=unit_tallies)
def test_each_unit_against_the_rest_agrees_with_scipy(tallies):
    (said,) = compare(cavities(*tallies), limit=1, draws=1)
    checked, nok = sum(n for _, n in tallies), sum(k for k, _ in tallies)
    expected = [
        scipy_stats.fisher_exact([[k, n - k], [nok - k, checked - n - (nok - k)]]).pvalue
        for k, n in tallies
        if n
    ]

    assert [unit.p for unit in said.units] == pytest.approx(expected, rel=1e-9)
    if len(expected) > 2:
        assert [unit.p_adjusted for unit in said.units] == pytest.approx(holm(expected), rel=1e-9)
    for unit in said.units:
        limits = scipy_stats.binomtest(unit.nok, unit.checked).proportion_ci(0.95, "exact")
        assert (unit.interval.low, unit.interval.high) == pytest.approx((limits.low, limits.high), abs=1e-9)
        others = checked - unit.checked
        assert (unit.direction == NOT_SHOWN) == (unit.p_adjusted > 0.05)
        if unit.direction != NOT_SHOWN:
            assert (unit.direction == WORSE) == (unit.share > (nok - unit.nok) / others)


@settings(max_examples=60, deadline=None)
@given(tallies=unit_tallies, level=st.sampled_from([0.05, 0.01, 0.2]), second=st.booleans())
def test_the_least_count_is_enough_and_one_less_is_not(tallies, level, second):
    groupings = [cavities(*tallies)] + [cavities((1, 2), (1, 2), name="shift")] * second
    said = compare(*groupings, level=level, limit=1, draws=1)[0]
    comparisons = (len(said.units) if len(said.units) > 2 else 1) * len(groupings)
    for index, unit in enumerate(said.units):
        others, others_nok = said.checked - unit.checked, said.nok - unit.nok
        enough = [
            k
            for k in range(unit.checked + 1)
            if k * others > others_nok * unit.checked
            and comparisons * fisher_exact(k, unit.checked - k, others_nok, others - others_nok)
            <= level * (1 + 1e-9)  # a p of exactly the level counts, however it was added up
        ]
        assert unit.least_nok == (enough[0] if enough else None)
        if enough:
            assert enough == list(range(enough[0], unit.checked + 1))
            units = [UnitTally(name=u.name, checked=u.checked, nok=u.nok) for u in said.units]
            units[index] = replace(units[index], nok=enough[0])
            seen = Grouping(name="cavity", units=tuple(units))
            assert (
                compare(seen, *groupings[1:], level=level, limit=1, draws=1)[0].units[index].direction
                == WORSE
            )


@settings(max_examples=40, deadline=None)
@given(tallies=tallies_of(6, 12, least_groups=2), random=st.randoms(use_true_random=False))
def test_the_order_of_the_units_does_not_matter(tallies, random):
    grouping = cavities(*tallies)
    units = list(grouping.units)
    random.shuffle(units)

    (said,), (shuffled,) = compare(grouping), compare(replace(grouping, units=tuple(units)))

    assert shuffled.test.p == pytest.approx(said.test.p, rel=1e-12)
    assert (shuffled.verdict, shuffled.stands_out, shuffled.worst) == (
        said.verdict,
        said.stands_out,
        said.worst,
    )
    assert (set(shuffled.worse), set(shuffled.better)) == (set(said.worse), set(said.better))
    by_name = {unit.name: unit for unit in shuffled.units}
    assert {unit.name: unit for unit in said.units} == by_name


@pytest.mark.parametrize("sizes", [(5, 5, 5), (2, 4, 9), (3, 3, 3, 3), (8, 8)])
def test_alike_units_are_told_apart_no_oftener_than_the_level_says(sizes):
    # Every table of the margins with its chance: what is said of it, summed up.
    for marked in range(sum(sizes) + 1):
        said_of_a_unit = said_of_all = Fraction(0)
        for table in product(*(range(n + 1) for n in sizes)):
            if sum(table) != marked:
                continue
            ways = math.prod(math.comb(n, k) for n, k in zip(sizes, table, strict=True))
            chance = Fraction(ways, math.comb(sum(sizes), marked))
            (said,) = compare(cavities(*zip(table, sizes, strict=True)), level=0.1)
            said_of_a_unit += chance * bool(said.worse or said.better)
            said_of_all += chance * (said.test.p <= 0.1)
            assert bool(said.worse or said.better) == any(u.direction != NOT_SHOWN for u in said.units)
        assert said_of_a_unit <= Fraction(1, 10)
        assert said_of_all <= Fraction(1, 10)


def test_a_p_that_meets_the_level_exactly_is_enough():
    # The one NOK part of 20 falls to the unit with one part: 1/20.
    (said,) = compare(cavities((1, 1), (0, 19)))

    assert said.units[0].p == pytest.approx(0.05, rel=1e-12)
    assert said.stands_out == "1"


@pytest.mark.parametrize(
    ("names", "tallies"), [(("1", "1"), ((1, 2), (0, 2))), (("1", ""), ((1, 2), (0, 2)))]
)
def test_units_need_names_of_their_own(names, tallies):
    units = tuple(
        UnitTally(name=name, checked=checked, nok=nok)
        for name, (nok, checked) in zip(names, tallies, strict=True)
    )

    with pytest.raises(ValueError, match="names"):
        compare(Grouping(name="cavity", units=units))


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"level": 0.0}, "level"),
        ({"level": 1.0}, "level"),
        ({"confidence": 1.0}, "confidence"),
        ({"limit": 1, "draws": 0}, "draws"),
    ],
)
def test_impossible_options_are_refused(options, words):
    with pytest.raises(ValueError, match=words):
        compare(cavities((1, 9), (0, 9), (2, 9)), **options)


def test_impossible_counts_of_a_unit_are_refused():
    with pytest.raises(ValueError, match="nok must be 0 to checked"):
        compare(cavities((3, 2), (0, 2)))


def test_more_units_than_any_mould_has_cavities_are_not_compared():
    # A bundle can name thousands; to compare them takes hours.
    units = tuple(UnitTally(name=str(n), checked=1_000, nok=n % 900) for n in range(MOST_UNITS + 1))

    (said,) = compare_units([Grouping(name="cavity", units=units)], chance=Random(1))

    assert said.sentence == "129 are told apart by cavity, more than the 128 that are compared."
    assert (said.verdict, said.units, said.p_adjusted) == (NOTHING_TO_COMPARE, (), 1.0)


def test_many_units_take_fewer_random_divisions():
    units = tuple(UnitTally(name=str(n), checked=20, nok=n % 3) for n in range(60))

    (said,) = compare_units([Grouping(name="cavity", units=units)], chance=Random(1), limit=1)

    assert said.test.draws == 5_000
