"""What a sample says of its own lot: against a printed table, SciPy, and every case counted out."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from walkapp.analysis import finite_lots
from walkapp.analysis.finite_lots import (
    chance_of_no_nok,
    most_affected,
    nok_among_the_rest,
    parts_to_prove_lot_clean,
)
from walkapp.analysis.proportions import parts_to_prove_clean

lots = st.integers(1, 300).flatmap(lambda size: st.tuples(st.just(size), st.integers(0, size)))
detections = st.sampled_from((1.0, 0.999, 0.9, 0.5, 0.05))


@pytest.mark.parametrize(
    ("lot_size", "needed"),
    [
        # Zero NOK, 95 %, shares 1, 2, 5 and 10 %, the affected parts of the lot rounded up: derived from
        # the hypergeometric distribution for this project and recomputed; no printed source was read.
        (50, (48, 48, 31, 22)),
        (100, (95, 78, 45, 25)),
        (200, (155, 105, 51, 27)),
        (500, (225, 129, 56, 28)),
        (1000, (258, 138, 57, 29)),
        (5000, (290, 147, 59, 29)),
    ],
)
def test_sample_sizes_for_lots_of_known_size_agree_with_the_table(lot_size, needed):
    found = [parts_to_prove_lot_clean(share, lot_size) for share in (0.01, 0.02, 0.05, 0.10)]

    assert tuple(found) == needed


def test_a_large_lot_needs_what_a_lot_without_end_needs():
    for share in (0.01, 0.05, 0.1):
        for detection in (1.0, 0.9):
            found = parts_to_prove_lot_clean(share, 10_000_000, 0.95, detection)
            assert found == parts_to_prove_clean(share, 0.95, detection)


def test_one_affected_part_of_twenty_needs_nineteen_checked_and_not_a_digit_more():
    assert parts_to_prove_lot_clean(0.05, 20) == 19
    assert most_affected(19, 20) == 0
    assert parts_to_prove_lot_clean(0.07, 100) == parts_to_prove_lot_clean(0.0699, 100)


def test_a_check_that_misses_too_much_can_never_prove_a_small_lot_clean():
    # One affected part, every part checked once: missed with a chance of 10 %.
    assert chance_of_no_nok(1, 50, 50, 0.9) == pytest.approx(0.1)
    assert parts_to_prove_lot_clean(0.01, 50, detection=0.9) is None
    assert parts_to_prove_lot_clean(0.01, 50, detection=0.96) == 50


@given(lots, st.integers(0, 300), detections)
def test_the_chance_of_no_nok_is_the_sum_over_all_that_may_be_in_the_sample(lot, affected, detection):
    lot_size, checked = lot
    affected = min(affected, lot_size)
    pmf = scipy_stats.hypergeom(lot_size, affected, checked).pmf
    expected = sum(float(pmf(x)) * (1.0 - detection) ** x for x in range(min(affected, checked) + 1))

    assert chance_of_no_nok(affected, checked, lot_size, detection) == pytest.approx(
        expected, rel=1e-8, abs=1e-12
    )


@given(lots, detections, st.sampled_from((0.5, 0.1, 0.05, 0.01)))
def test_limit_and_sample_size_say_the_same(lot, detection, share):
    lot_size, checked = lot
    needed = parts_to_prove_lot_clean(share, lot_size, 0.95, detection)
    supports = most_affected(checked, lot_size, 0.95, detection) < share * lot_size - 1e-9

    assert supports == (needed is not None and checked >= needed)


@given(lots, detections)
def test_more_parts_never_support_less_and_the_lot_never_less_than_no_lot(lot, detection):
    lot_size, checked = lot
    found = most_affected(checked, lot_size, 0.95, detection)

    assert 0 <= found <= lot_size
    if checked < lot_size:
        assert most_affected(checked + 1, lot_size, 0.95, detection) <= found
    assert found <= most_affected(checked, lot_size, 0.95, detection * 0.9)


def counted_out(nok, checked, left):
    """Try every number of NOK parts among the rest."""
    beyond = 0.025 * (1 + 1e-9)  # a tail of just 1 in 40 is refused, whatever the last digit of a float
    fitting = [
        more
        for more in range(left + 1)
        if scipy_stats.hypergeom.cdf(nok, checked + left, nok + more, checked) > beyond
        and scipy_stats.hypergeom.sf(nok - 1, checked + left, nok + more, checked) > beyond
    ]
    return fitting[0], fitting[-1]


@given(st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), st.integers(0, 60))
def test_the_nok_among_the_rest_are_those_that_no_tail_refuses(sample, left):
    nok, checked = sample

    assert nok_among_the_rest(nok, checked, left) == counted_out(nok, checked, left)


@pytest.mark.parametrize(("everything", "checked"), [(12, 5), (30, 10), (40, 33)])
def test_the_limits_hold_in_at_least_95_of_100_lots_whatever_is_in_them(everything, checked):
    left = everything - checked
    for marked in range(everything + 1):
        held = 0.0
        for nok in range(max(0, marked - left), min(marked, checked) + 1):
            low, high = nok_among_the_rest(nok, checked, left)
            if low <= marked - nok <= high:
                held += float(scipy_stats.hypergeom.pmf(nok, everything, marked, checked))
        assert held >= 0.95 - 1e-9


@given(st.integers(1, 500).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), st.integers(0, 500))
def test_the_limits_used_for_endless_numbers_are_never_narrower(sample, left):
    nok, checked = sample
    low, high = nok_among_the_rest(nok, checked, left)
    searched = finite_lots.MOST_SEARCHED
    finite_lots.MOST_SEARCHED = 0
    try:
        wide_low, wide_high = nok_among_the_rest(nok, checked, left)
    finally:
        finite_lots.MOST_SEARCHED = searched

    assert 0 <= wide_low <= low <= high <= wide_high <= left


def test_numbers_that_nobody_has_are_answered_at_once():
    low, high = nok_among_the_rest(45, 1000, 10**12)

    assert 0 < low < 45 * 10**9 < high < 10**12
    assert most_affected(1_000_000, 100_000_000, 0.95, 0.001) == 299_571


@pytest.mark.parametrize(
    "call",
    [
        lambda: chance_of_no_nok(0, 0, 0),
        lambda: chance_of_no_nok(6, 3, 5),
        lambda: chance_of_no_nok(2, 6, 5),
        lambda: chance_of_no_nok(2, 3, 5, 0.0),
        lambda: most_affected(3, 5, 1.0),
        lambda: parts_to_prove_lot_clean(0.0, 5),
        lambda: parts_to_prove_lot_clean(0.1, 5, 0.0),
        lambda: nok_among_the_rest(1, 5, -1),
        lambda: nok_among_the_rest(6, 5, 1),
    ],
)
def test_what_is_out_of_range_is_refused(call):
    with pytest.raises(ValueError, match="must"):
        call()
