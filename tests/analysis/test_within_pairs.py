"""The exact tests within pairs of turns, against published values, SciPy and plain enumeration."""

from __future__ import annotations

import itertools
import math
import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from walkapp.analysis.within_pairs import (
    LEAST_P,
    CountPair,
    ValuePair,
    more_when_on,
    values_differ,
)


def pair(on_nok, on_checked, off_nok, off_checked):
    return CountPair(on_nok=on_nok, on_checked=on_checked, off_nok=off_nok, off_checked=off_checked)


@st.composite
def count_pairs(draw, most=8):
    on, off = draw(st.integers(1, most)), draw(st.integers(1, most))
    return pair(draw(st.integers(0, on)), on, draw(st.integers(0, off)), off)


# Published values, table [[a, b], [c, d]] with a and c marked.
# F1: R reference manual, fisher.test, Agresti (1990) p. 61: 0.2429. F3: Fisher (1935), from memory: 1/70.
# F4: Fisher (1962, 1970), inputs of R's fisher.test, result from running R: 0.0004652 for "less".
# F5: SciPy reference, fisher_exact, two-sided 0.034965; its upper tail recomputed with SciPy.
# F7: M. Baudin (2022), "The Most Basic Problem in Quality": 0 of 500 against 5 of 1000, 0.1312 one-sided.
@pytest.mark.parametrize(
    ("table", "expected"),
    [
        (pair(3, 4, 1, 4), 17 / 70),
        (pair(4, 4, 0, 4), 1 / 70),
        (pair(2, 17, 10, 13).turned, 0.00046518),
        (pair(8, 10, 1, 6), 0.024475524475524476),
        (pair(0, 500, 5, 1000).turned, 0.13124792),
        (pair(7, 19, 8, 11).turned, 0.06406797),
    ],
)
def test_one_pair_is_fishers_one_sided_test_with_its_published_values(table, expected):
    assert more_when_on([table]) == pytest.approx(expected, rel=2e-5)


@given(count_pairs(most=60))
def test_one_pair_agrees_with_scipy(table):
    counts = [
        [table.on_nok, table.on_checked - table.on_nok],
        [table.off_nok, table.off_checked - table.off_nok],
    ]

    assert more_when_on([table]) == pytest.approx(
        max(LEAST_P, stats.fisher_exact(counts, alternative="greater")[1]), rel=1e-9
    )


def enumerated(pairs):
    """Count every way to choose the NOK parts of every pair, part by part."""
    ways: dict[int, int] = {0: 1}
    for one in pairs:
        parts, nok = one.on_checked + one.off_checked, one.on_nok + one.off_nok
        here: dict[int, int] = {}
        for chosen in itertools.combinations(range(parts), nok):
            on = sum(part < one.on_checked for part in chosen)
            here[on] = here.get(on, 0) + 1
        joined: dict[int, int] = {}
        for a, b in itertools.product(ways, here):
            joined[a + b] = joined.get(a + b, 0) + ways[a] * here[b]
        ways = joined
    seen = sum(one.on_nok for one in pairs)
    return Fraction(sum(many for on, many in ways.items() if on >= seen), sum(ways.values()))


@given(st.lists(count_pairs(most=4), min_size=1, max_size=4))
def test_several_pairs_agree_with_enumeration_of_all_parts(pairs):
    assert more_when_on(pairs) == pytest.approx(float(enumerated(pairs)), rel=1e-12)


def test_several_pairs_agree_with_the_product_of_scipys_hypergeometric_chances():
    pairs = [pair(9, 30, 4, 25), pair(6, 20, 5, 40), pair(12, 50, 3, 30)]

    chances = [1.0]
    for one in pairs:
        parts, nok = one.on_checked + one.off_checked, one.on_nok + one.off_nok
        own = stats.hypergeom(parts, nok, one.on_checked).pmf(range(one.on_checked + 1))
        chances = [
            sum(chances[i] * own[k - i] for i in range(len(chances)) if 0 <= k - i < len(own))
            for k in range(len(chances) + len(own) - 1)
        ]

    assert more_when_on(pairs) == pytest.approx(sum(chances[9 + 6 + 12 :]), rel=1e-9)


@given(st.lists(count_pairs(), min_size=1, max_size=4), st.randoms())
def test_the_order_of_the_pairs_does_not_matter(pairs, chance):
    shuffled = list(pairs)
    chance.shuffle(shuffled)

    assert more_when_on(shuffled) == more_when_on(pairs)


@given(st.lists(count_pairs(), min_size=1, max_size=4), st.data())
def test_one_more_nok_when_on_never_raises_p(pairs, data):
    place = data.draw(st.integers(0, len(pairs) - 1))
    one = pairs[place]
    if one.on_nok == one.on_checked:
        return
    more = [*pairs]
    more[place] = pair(one.on_nok + 1, one.on_checked, one.off_nok, one.off_checked)

    assert more_when_on(more) <= more_when_on(pairs) * (1 + 1e-12)


@given(st.lists(count_pairs(), min_size=1, max_size=4))
def test_both_directions_share_only_what_was_seen(pairs):
    """P(at least) and P(at most) add up to 1 and the chance of just this number."""
    at_least, at_most = more_when_on(pairs), more_when_on([one.turned for one in pairs])

    assert at_least + at_most >= 1 - 1e-12
    assert max(at_least, at_most) <= 1


def test_the_largest_counts_that_a_record_may_hold_are_worked_out_without_overflow():
    twenty = [pair(5_000, 10_000, 5_000, 10_000)] * 20
    expected = stats.norm.sf(-0.5 / math.sqrt(20 * stats.hypergeom(20_000, 10_000, 10_000).var()))

    assert more_when_on(twenty) == pytest.approx(expected, rel=1e-6)
    assert more_when_on([pair(10_000, 10_000, 0, 10_000)] * 20) == LEAST_P


@pytest.mark.parametrize("wrong", [[], [pair(2, 1, 0, 1)], [pair(0, 0, 0, 1)], [pair(-1, 3, 0, 3)]])
def test_counts_that_cannot_be_are_refused(wrong):
    with pytest.raises(ValueError, match="must be"):
        more_when_on(wrong)


def values(*numbers):
    return tuple(map(Fraction, numbers))


def values_pair(on, off):
    return ValuePair(on=values(*on), off=values(*off))


numbers = st.lists(st.integers(-3, 3).map(lambda n: Fraction(n, 10)), min_size=1, max_size=3)
value_pairs = st.builds(lambda on, off: ValuePair(on=tuple(on), off=tuple(off)), numbers, numbers)


def shuffled_by_hand(pairs):
    """Go through every division of the values of every pair."""
    seen = sum(sum(one.on) for one in pairs)
    sums = [Fraction(0)]
    for one in pairs:
        both = one.on + one.off
        own = [sum(chosen, Fraction()) for chosen in itertools.combinations(both, len(one.on))]
        sums = [a + b for a in sums for b in own]
    smaller = min(sum(one >= seen for one in sums), sum(one <= seen for one in sums))
    return min(Fraction(1), Fraction(2 * smaller, len(sums)))


@given(st.lists(value_pairs, min_size=1, max_size=3))
def test_values_agree_with_every_division_gone_through(pairs):
    found = values_differ(pairs, random.Random(1))

    assert (found.p, found.draws) == (float(shuffled_by_hand(pairs)), 0)


def test_values_of_one_pair_agree_with_scipys_permutation_test():
    on, off = (10.4, 10.1, 10.6, 9.9, 10.3), (10.0, 9.8, 10.2, 9.7)

    def difference(a, b):
        return sum(a) / len(a) - sum(b) / len(b)

    scipys = stats.permutation_test((on, off), difference, n_resamples=math.inf, vectorized=False)
    typed = ValuePair(on=tuple(Fraction(str(v)) for v in on), off=tuple(Fraction(str(v)) for v in off))

    assert values_differ([typed], random.Random(1)).p == pytest.approx(scipys.pvalue, rel=1e-12)


def test_three_above_three_have_the_chance_of_the_rank_sum_test():
    """Check value F12: 1/20 one-sided, so 1/10 two-sided; SciPy's exact rank-sum test says the same."""
    on, off = values(4, 5, 6), values(1, 2, 3)

    scipys = stats.mannwhitneyu([4, 5, 6], [1, 2, 3], method="exact").pvalue
    assert values_differ([ValuePair(on=on, off=off)], random.Random(1)).p == pytest.approx(scipys) == 0.1


@given(st.lists(value_pairs, min_size=1, max_size=3))
def test_on_and_off_exchanged_give_the_same_p(pairs):
    turned = [ValuePair(on=one.off, off=one.on) for one in pairs]

    assert values_differ(turned, random.Random(1)).p == values_differ(pairs, random.Random(1)).p


@given(st.lists(value_pairs, min_size=1, max_size=3), st.randoms(), st.booleans())
def test_the_order_of_values_and_pairs_does_not_matter(pairs, chance, is_simulated):
    shuffled = [
        ValuePair(on=tuple(chance.sample(one.on, len(one.on))), off=tuple(reversed(one.off)))
        for one in pairs
    ]
    chance.shuffle(shuffled)
    limit = {"limit": 0, "draws": 199} if is_simulated else {}

    assert values_differ(shuffled, random.Random(1), **limit) == values_differ(
        pairs, random.Random(1), **limit
    )


def test_what_takes_too_long_is_estimated_and_says_so():
    pairs = [values_pair((1, 4, 3), (2, 0, 2)), values_pair((5, 3, 2), (1, 1, 4))]
    exact = values_differ(pairs, random.Random(1))

    estimated = values_differ(pairs, random.Random(1), limit=10)

    assert (exact.draws, exact.error, estimated.draws) == (0, None, 9_999)
    assert estimated.error.low < exact.p < estimated.error.high
    assert estimated == values_differ(pairs, random.Random(1), limit=10)


def test_very_many_values_are_shuffled_less_often():
    chance = random.Random(3)
    many = values_pair(*([chance.randint(1, 10**9) for _ in range(3_000)] for _ in range(2)))

    assert values_differ([many], random.Random(1)).draws == 333


def test_a_pair_without_values_is_refused():
    with pytest.raises(ValueError, match="each with values on and off"):
        values_differ([ValuePair(on=values(1), off=())], random.Random(1))
