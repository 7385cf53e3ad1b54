"""Median waits with what is still open: against a published example, statsmodels, and by laws."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkapp.analysis.waiting import Wait, median_wait, still_open_after

waits = st.lists(st.builds(Wait, st.integers(0, 40), st.booleans()), min_size=1, max_size=30)


def closed(*days: int) -> list[Wait]:
    return [Wait(one, True) for one in days]


def still(*days: int) -> list[Wait]:
    return [Wait(one, False) for one in days]


REMISSION = closed(6, 6, 6, 7, 10, 13, 16, 22, 23) + still(6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35)
"""Weeks in remission of 21 patients on 6-mercaptopurine (Freireich et al. 1963, Blood 21, 699-716; as in
Cox 1972, J. R. Stat. Soc. B 34, 187-220; both from memory)."""


def test_the_published_remission_times_give_the_published_shares_and_median():
    # Kaplan-Meier table of this example, from memory: 0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448.
    found = {days: round(float(share), 3) for days, share in still_open_after(REMISSION)}

    assert found == {6: 0.857, 7: 0.807, 10: 0.753, 13: 0.690, 16: 0.627, 22: 0.538, 23: 0.448}
    assert median_wait(REMISSION).median == 23


def test_an_open_wait_is_neither_left_out_nor_called_over():
    # Without the open ones the median would be 2 days; called over today it would be 10.
    found = median_wait(closed(1, 2, 3) + still(10, 20, 30))

    assert (found.median, found.low, found.high, found.still_open) == (3, 3, 3, 3)
    assert median_wait(closed(1, 2, 3)).median == 2


def test_where_most_are_open_only_a_least_median_is_known():
    found = median_wait(closed(4) + still(2, 9, 12))

    assert (found.median, found.low, found.high) == (None, 4, None)


def test_nothing_gives_no_median():
    assert median_wait([]) is None


@given(waits)
def test_the_estimate_lies_between_what_the_median_can_still_become(found):
    median = median_wait(found)

    assert median.high is None or median.low <= median.high
    assert median.median is None or median.low <= median.median
    assert median.high is None or (median.median is not None and median.median <= median.high)


@given(waits, st.data())
def test_however_long_the_open_ones_take_the_median_stays_within_its_limits(found, data):
    over = [one if one.is_over else Wait(one.days + data.draw(st.integers(0, 100)), True) for one in found]

    at_last = median_wait(over)
    before = median_wait(found)

    assert at_last.low == at_last.high == at_last.median
    assert before.low <= at_last.median
    assert before.high is None or at_last.median <= before.high


@given(waits)
def test_the_limits_are_reached_when_all_open_ones_end_today_or_never(found):
    median = median_wait(found)

    today = median_wait([Wait(one.days, True) for one in found])
    never = median_wait([one if one.is_over else Wait(10**6, True) for one in found])

    assert today.median == median.low
    assert never.median == (median.high if median.high is not None else 10**6)


@given(waits, st.randoms())
def test_the_order_does_not_matter(found, chance):
    mixed = list(found)
    chance.shuffle(mixed)

    assert median_wait(mixed) == median_wait(found)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("seed", range(40))
def test_statsmodels_estimates_the_same_shares(seed):
    from statsmodels.duration.survfunc import SurvfuncRight

    chance = np.random.default_rng(seed)
    days, over = chance.integers(0, 25, 30), chance.integers(0, 2, 30)
    if not over.any():
        over[0] = 1

    ours = dict(still_open_after(Wait(int(d), bool(o)) for d, o in zip(days, over, strict=True)))
    peer = SurvfuncRight(days, over)

    theirs = dict(zip(peer.surv_times.tolist(), peer.surv_prob.tolist(), strict=True))
    assert all(abs(float(share) - theirs[day]) < 1e-12 for day, share in ours.items())
    found = median_wait(Wait(int(d), bool(o)) for d, o in zip(days, over, strict=True))
    if Fraction(1, 2) not in ours.values():  # at exactly one half statsmodels goes on to the next day
        assert found.median == (None if np.isnan(peer.quantile(0.5)) else peer.quantile(0.5))
