"""Comparing cavities, fixtures and shifts: printed values, SciPy, statsmodels and counting by hand."""

import math
from dataclasses import replace
from fractions import Fraction
from itertools import product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats
from statsmodels.stats.multitest import multipletests

from tests.analysis.tallies import counted, tallies_of
from walkapp.analysis.homogeneity import EXACT, SIMULATED
from walkapp.analysis.many import holm
from walkapp.analysis.proportions import fisher_exact
from walkapp.analysis.units import (
    BETTER,
    MOST_UNITS,
    NONE_SHOWN,
    NOT_SHOWN,
    NOTHING_TO_COMPARE,
    ONE_DIFFERS,
    SEVERAL_DIFFER,
    SOME_DIFFER,
    WORSE,
    Grouping,
    UnitTally,
    compare_units,
)

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
        "Worse than the rest: cavity 2, 20 of 20 NOK against 0 of 60 (p < 0.0001 after correction)."
    )


def test_one_good_cavity_among_bad_ones_is_named_as_better():
    (said,) = compare(cavities((10, 20), (11, 20), (0, 20), (9, 20)))

    assert (said.stands_out, said.worse, said.better) == ("3", (), ("3",))
    assert said.sentence.startswith("Better than the rest: cavity 3, 0 of 20 NOK against 30 of 60")


def test_several_bad_cavities_are_all_named():
    (said,) = compare(cavities((19, 20), (1, 20), (20, 20), (0, 20), (20, 20), (1, 20), (0, 20)))

    assert (said.verdict, said.stands_out) == (SEVERAL_DIFFER, None)
    assert (said.worse, said.better) == (("3", "5", "1"), ())
    assert (said.worst, said.worst_nok) == (None, 0)
    assert said.sentence == (
        "Worse than the others: cavity 3 (20 of 20), cavity 5 (20 of 20) and cavity 1 (19 of 20)."
    )


def test_a_bad_and_a_good_cavity_are_named_apart():
    (said,) = compare(cavities((10, 20), (10, 20), (20, 20), (9, 20), (0, 20), (10, 20), (11, 20)))

    assert (said.worse, said.better) == (("3",), ("5",))
    assert said.sentence == "Worse than the others: cavity 3 (20 of 20); better: cavity 5 (0 of 20)."


def test_of_two_that_differ_the_worse_is_named_and_the_p_is_fishers_uncorrected():
    (said,) = compare(cavities((2, 17), (10, 13), name="fixture"))

    # R reference manual, fisher.test, twins; output of R.
    assert said.test.p == pytest.approx(0.0005367, abs=5e-8)
    assert [unit.p_adjusted for unit in said.units] == pytest.approx([said.test.p] * 2, rel=1e-12)
    assert (said.stands_out, said.worse) == ("2", ("2",))
    assert said.sentence == "Worse than the rest: fixture 2, 10 of 13 NOK against 2 of 17 (p = 0.0006)."


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
        ([], "Nothing to compare by cavity: none was checked."),
        (
            [(0, 0), (0, 0)],
            "Nothing to compare by cavity: none was checked. Not checked: cavity 1 and cavity 2.",
        ),
        (
            [(0, 0), (3, 4)],
            "Nothing to compare by cavity: only cavity 2 was checked. Not checked: cavity 1.",
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

    assert said.sentence.startswith("Worse than the rest: Cavity 2,")


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
