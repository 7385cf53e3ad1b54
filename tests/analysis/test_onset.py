"""The onset against exact fractions, mpmath, SciPy, published change points and simulation.

Two published change points serve as outside witnesses, both turned into counts of parts.
"""

import math
import random
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

import mpmath
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import integrate as scipy_integrate
from statsmodels.datasets import nile

from tests.analysis.lots import day_after, days_of_lots, lot, lots, simulated, spaced
from tests.analysis.streams import station
from walkapp.analysis.onset import (
    DatedTally,
    OnsetInterval,
    OnsetRow,
    _interval,
    _shortest,
    find_onset,
    onset_posterior,
)
from walkapp.analysis.origin import origin_posterior
from walkapp.analysis.results import SURE, Tally
from walkapp.analysis.shares import SharePrior
from walkapp.errors import CountsError

FLAT = SharePrior(knee=math.inf)


def chances(found):
    return [*found.first_bad, found.none]


# The posterior.


def test_two_rows_by_hand():
    # d = 1, f = 0: one OK, then one NOK. From row 1 on: mean of (1 - p) p = 1/6; from row 2 on: mean of
    # p = 1/2; not seen: 0.
    found = onset_posterior(lots((1, 0), (1, 1), detection=1.0, false_alarm=0.0), share=FLAT)

    assert chances(found) == pytest.approx([0.25, 0.75, 0.0], rel=1e-12)


def test_two_rows_with_a_background_by_hand():
    # The same with b flat on [0, 1/2] and p flat on [1/2, 1]. Row 1: mean of (1 - p) p = 1/6; row 2: mean
    # of 1 - b times mean of p = 9/16; not seen: mean of (1 - b) b = 1/6.
    found = onset_posterior(
        lots((1, 0), (1, 1), detection=1.0, false_alarm=0.0),
        share=SharePrior(low=0.5, knee=math.inf),
        background_high=0.5,
    )

    total = 1 / 6 + 9 / 16 + 1 / 6
    assert chances(found) == pytest.approx([1 / 6 / total, 9 / 16 / total, 1 / 6 / total], rel=1e-12)


def mean_power(nok, ok, base, gain, low, high):
    """Mean over a range of (base + gain x)^nok (1 - base - gain x)^ok, in fractions.

    The integral over q is expanded: q^nok (1 - q)^ok is a sum of powers of q.
    """
    if low == high:
        q = base + gain * low
        return q**nok * (1 - q) ** ok
    start, end = base + gain * low, base + gain * high
    total = Fraction(0)
    for i in range(ok + 1):
        power = nok + i + 1
        total += math.comb(ok, i) * (-1) ** i * (end**power - start**power) / power
    return total / (end - start)


@settings(max_examples=60, deadline=None)
@given(
    counts=st.lists(
        st.integers(0, 12).flatmap(lambda n: st.tuples(st.just(n), st.integers(0, n))),
        min_size=1,
        max_size=6,
    ),
    rates=st.sampled_from([(Fraction(7, 8), Fraction(1, 64)), (Fraction(1), Fraction(0))]),
    background=st.sampled_from([Fraction(0), Fraction(1, 16), Fraction(1, 4)]),
    high=st.sampled_from([Fraction(1), Fraction(1, 2)]),
)
def test_the_posterior_agrees_with_exact_fractions(counts, rates, background, high):
    # Brute force over all hypotheses with the flat prior; every number here is exact in binary.
    detection, base = rates
    gain = detection - base
    exact = []
    for j in range(len(counts) + 1):
        before, after = counts[:j], counts[j:]
        value = mean_power(
            sum(k for _, k in before), sum(n - k for n, k in before), base, gain, 0, background
        )
        if after:
            nok, ok = sum(k for _, k in after), sum(n - k for n, k in after)
            value *= mean_power(nok, ok, base, gain, background, high)
        exact.append(value)
    assume(any(exact))

    found = onset_posterior(
        lots(*counts, detection=float(detection), false_alarm=float(base)),
        share=SharePrior(low=float(background), high=float(high), knee=math.inf),
        background_high=float(background),
    )

    assert chances(found) == pytest.approx([float(v / sum(exact)) for v in exact], rel=1e-9, abs=1e-14)


mixed_rows = st.lists(
    st.lists(
        st.tuples(
            st.sampled_from([(0.9, 0.005), (0.6, 0.05), (1.0, 0.02)]),
            st.integers(1, 60).flatmap(lambda n: st.tuples(st.just(n), st.integers(0, min(n, 20)))),
        ),
        max_size=2,
    ),
    min_size=1,
    max_size=5,
)


@settings(max_examples=50, deadline=None)
@given(
    mixed=mixed_rows, background=st.sampled_from([0.0, 0.02, 0.1]), knee=st.sampled_from([0.01, math.inf])
)
def test_mixed_checks_agree_with_scipy(mixed, background, knee):
    rows = [
        DatedTally(
            label=str(i),
            day=day_after(i),
            tallies=tuple(
                Tally(checked=n, nok=k, detection=d, false_alarm=f) for (d, f), (n, k) in tallies
            ),
        )
        for i, tallies in enumerate(mixed)
    ]

    def log_like(part, share):
        total = 0.0
        for tally in (t for row in part for t in row.tallies):
            q = tally.false_alarm + share * (tally.detection - tally.false_alarm)
            total += tally.nok * math.log(q) + (tally.checked - tally.nok) * (
                math.log1p(-q) if q < 1 else -1e9
            )
        return total

    def log_mean(part, low, high, density):
        if low == high:
            return log_like(part, low)
        grid = np.linspace(low, high, 400)[:-1]
        best = max(log_like(part, x) for x in grid)
        peak = max(grid, key=lambda x: log_like(part, x))
        edges = sorted(
            {low, high, peak, *(min(high, max(low, peak + s)) for s in (-0.1, -0.03, 0.03, 0.1))}
        )
        area = sum(
            scipy_integrate.quad(
                lambda x: math.exp(log_like(part, x) - best) * density(x),
                a,
                b,
                epsabs=0,
                epsrel=1e-11,
                limit=200,
            )[0]
            for a, b in pairwise(edges)
        )
        norm = sum(scipy_integrate.quad(density, a, b, epsrel=1e-11)[0] for a, b in pairwise(edges))
        return best + math.log(area / norm)

    def density(x):
        return 1.0 if knee == math.inf else 1.0 / (x + knee)

    logs = [
        log_mean(rows[:j], 0.0, background, lambda x: 1.0)
        + (log_mean(rows[j:], background, 1.0, density) if j < len(rows) else 0.0)
        for j in range(len(rows) + 1)
    ]
    expected = np.exp(np.array(logs) - max(logs))

    found = onset_posterior(rows, share=SharePrior(low=background, knee=knee), background_high=background)

    assert chances(found) == pytest.approx(list(expected / expected.sum()), rel=1e-7, abs=1e-12)


def test_many_parts_of_two_checks_agree_with_forty_digits():
    # 30 000 parts, two kinds of check, a background: mpmath integrates both shares with the knee's prior.
    rows = [
        lot(0, 9000, 60),
        lot(1, 8000, 180, detection=0.6, false_alarm=0.02),
        lot(2, 7000, 56),
        lot(3, 6000, 60),
    ]
    with mpmath.workdps(40):
        knee, top = mpmath.mpf("0.01"), mpmath.mpf("0.004")

        def like(part, share):
            value = mpmath.mpf(1)
            for t in (row.tallies[0] for row in part):
                f = mpmath.mpf(t.false_alarm)
                q = f + share * (mpmath.mpf(t.detection) - f)
                value *= q**t.nok * (1 - q) ** (t.checked - t.nok)
            return value

        cuts = [top, *(mpmath.mpf(x) / 1000 for x in (5, 6, 8, 10, 12, 14, 16, 18, 20, 24, 30, 50)), 1]
        width = mpmath.log((1 + knee) / (top + knee))
        evidence = [
            mpmath.quad(lambda b, j=j: like(rows[:j], b), mpmath.linspace(0, top, 5))
            / top
            * (mpmath.quad(lambda p, j=j: like(rows[j:], p) / (p + knee), cuts) / width if j < 4 else 1)
            for j in range(5)
        ]
        expected = [float(value / mpmath.fsum(evidence)) for value in evidence]

    found = onset_posterior(rows, background_high=0.004)

    assert chances(found) == pytest.approx(expected, rel=1e-8)
    assert sum(value > 1e-6 for value in expected) >= 3


backgrounds = st.sampled_from([0.0, 0.01])


@settings(max_examples=60, deadline=None)
@given(steps=days_of_lots)
def test_without_background_rows_are_stations_of_a_stream(steps):
    rows = spaced(steps)
    stream = [station(i, tallies=row.tallies) for i, row in enumerate(rows, start=1)]

    found, expected = onset_posterior(rows), origin_posterior(stream)

    assert found.first_bad == pytest.approx(expected.origin, rel=1e-12)
    assert found.none == pytest.approx(expected.none, rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(steps=days_of_lots, place=st.integers(0, 7), background=backgrounds)
def test_a_row_without_parts_takes_the_probability_of_the_next_and_leaves_all_odds(
    steps, place, background
):
    rows = spaced(steps)
    place = min(place, len(rows))
    more = [
        *rows[:place],
        replace(rows[min(place, len(rows) - 1)], label="empty", tallies=()),
        *rows[place:],
    ]

    before, after = (onset_posterior(r, background_high=background) for r in (rows, more))

    if place < len(rows):
        assert after.first_bad[place] == after.first_bad[place + 1]
    else:
        assert after.first_bad[place] == pytest.approx(after.none, rel=1e-12)
    others = [p for i, p in enumerate(chances(after)) if i != place]
    expected = [p * (1.0 - after.first_bad[place]) for p in chances(before)]
    assert others == pytest.approx(expected, rel=1e-9, abs=1e-300)


@settings(max_examples=60, deadline=None)
@given(steps=days_of_lots, place=st.integers(0, 6), data=st.data(), background=backgrounds)
def test_splitting_a_row_leaves_all_other_odds(steps, place, data, background):
    rows = spaced(steps)
    place = min(place, len(rows) - 1)
    whole = (
        rows[place].tallies[0]
        if rows[place].tallies
        else Tally(checked=0, nok=0, detection=0.9, false_alarm=0.005)
    )
    nok = data.draw(st.integers(0, whole.nok))
    ok = data.draw(st.integers(0, whole.checked - whole.nok))
    halves = [
        replace(rows[place], tallies=(replace(whole, checked=nok + ok, nok=nok),)),
        replace(
            rows[place], tallies=(replace(whole, checked=whole.checked - nok - ok, nok=whole.nok - nok),)
        ),
    ]

    before = onset_posterior(rows, background_high=background)
    after = onset_posterior([*rows[:place], *halves, *rows[place + 1 :]], background_high=background)

    second = after.first_bad[place + 1]
    others = [p for i, p in enumerate(chances(after)) if i != place + 1]
    assert others == pytest.approx([p * (1.0 - second) for p in chances(before)], rel=1e-9, abs=1e-300)


@settings(max_examples=30, deadline=None)
@given(steps=days_of_lots, shift=st.integers(-700_000, 2_000_000))
def test_shifting_all_dates_changes_nothing_but_dates(steps, shift):
    rows = spaced(steps)
    moved = [replace(r, day=(date.fromisoformat(r.day) + timedelta(shift)).isoformat()) for r in rows]

    found, later = find_onset(rows), find_onset(moved)

    assert [row.probability for row in later.rows] == [row.probability for row in found.rows]
    assert (later.first_bad, later.none_probability) == (found.first_bad, found.none_probability)
    if found.interval:
        assert (later.interval.first, later.interval.last) == (found.interval.first, found.interval.last)
        assert len(later.interval.unchecked) == len(found.interval.unchecked)


# Published change points.

COAL = (
    "4 5 4 1 0 4 3 4 0 6 3 3 4 0 2 6 3 3 5 4 5 3 1 4 4 1 5 5 3 4 2 5 2 2 3 4 2 1 3 2 2 1 1 1 1 3 0 0 "
    "1 0 1 1 0 0 3 1 0 3 2 2 0 1 1 1 0 1 0 1 0 0 0 2 1 0 0 0 1 1 0 2 3 3 1 1 2 1 1 1 1 2 3 3 0 0 0 1 "
    "4 0 0 0 1 0 0 0 0 0 1 0 0 1 0 1"
)
"""Coal-mining disasters a year, 1851 to 1962, counted from the 191 dates of R's data set boot::coal
(Jarrett 1979, Biometrika 66, 191-193); not the list of 111 values that circulates in tutorials."""


def test_the_coal_mining_disasters_change_about_1890():
    # Poisson counts; as "NOK days" of 365 they are binomial to a good approximation (at most 6 a year).
    # The rate falls, an onset rises: the years run backwards, so the first "bad" one is the last year
    # at the old rate. "About 1890": Raftery & Akman (1986), Biometrika 73, and Carlin, Gelfand & Smith
    # (1992), Applied Statistics 41, 389-405, the year from memory. Mode 1891 and median 1890 of the
    # posterior with a flat prior on the year and exponential(1) on the rates: recomputed elsewhere.
    counts = [int(word) for word in COAL.split()]
    assert (len(counts), sum(counts)) == (112, 191)
    rows = [
        replace(lot(i, 365, nok, detection=1.0, false_alarm=0.0), label=str(year))
        for i, (year, nok) in enumerate(reversed(list(zip(range(1851, 1963), counts, strict=True))))
    ]

    found = find_onset(rows, share=SharePrior(low=0.005, knee=math.inf), background_high=0.005)

    assert found.rows[found.first_bad].label == "1891"
    running = np.cumsum([row.probability for row in found.rows])
    assert found.rows[int(np.searchsorted(running, 0.5))].label == "1890"
    # The likelihood interval (a drop of at most 1.92) is 1886 to 1893; a posterior one is not the same.
    assert (found.rows[found.interval.last].label, found.rows[found.interval.first].label) == (
        "1885",
        "1894",
    )
    assert found.none_probability < 1e-12


def test_the_flow_of_the_nile_falls_after_1898():
    # Flows are no counts: a year below the mean of all years is taken as one NOK part of one. Last year
    # of the old level 1898, 95 % interval 1895 to 1902: R package strucchange, help page `breakdates`;
    # "apparent changepoint near 1898": R's help of Nile (Cobb 1978, Biometrika 65, 243-251). Here the
    # first year of the new level is named: 1899.
    volumes = nile.load_pandas().data["volume"].tolist()
    assert (len(volumes), sum(volumes)) == (100, 91935)
    mean = sum(volumes) / 100
    rows = [
        replace(lot(i, 1, int(volume < mean), detection=1.0, false_alarm=0.0), label=str(1871 + i))
        for i, volume in enumerate(volumes)
    ]

    found = find_onset(rows, share=SharePrior(low=0.5, knee=math.inf), background_high=0.5)

    assert found.rows[found.first_bad].label == "1899"
    first, last = (int(found.rows[i].label) - 1 for i in (found.interval.first, found.interval.last))
    assert first <= 1898 <= last
    assert first >= 1895
    assert last <= 1902


# The interval.


@settings(max_examples=200, deadline=None)
@given(weights=st.lists(st.integers(0, 20), min_size=1, max_size=12))
def test_the_interval_is_the_shortest_of_all_that_hold_the_best_row(weights):
    assume(any(weights))
    best = weights.index(max(weights))
    enough = [
        (last - first + 1, -sum(weights[first : last + 1]))
        for first in range(best + 1)
        for last in range(best, len(weights))
        if sum(weights[first : last + 1]) * 100 >= 95 * sum(weights)
    ]

    first, last = _shortest([w / 1024 for w in weights], best)

    assert first <= best <= last
    # Within rounding: 19 of 20 may come out as just below 0.95, and the run is then one longer.
    share = sum(weights[first : last + 1]) / sum(weights)
    assert share >= SURE - 1e-12
    if all(abs(-mass / sum(weights) - SURE) > 1e-9 for _, mass in enough):
        assert (last - first + 1, -sum(weights[first : last + 1])) == min(enough)


@settings(max_examples=100, deadline=None)
@given(steps=days_of_lots, background=backgrounds)
def test_the_interval_keeps_its_promises(steps, background):
    rows = spaced(steps)

    found = find_onset(rows, background_high=background)

    interval = found.interval
    assert (interval is None) == (found.first_bad is None) == (found.first_bad_day is None)
    assert sum(r.probability for r in found.rows) + found.none_probability == pytest.approx(1.0, abs=1e-12)
    if interval is None:
        return
    assert interval.first <= found.first_bad <= interval.last
    assert SURE <= interval.probability <= 1.0
    assert found.rows[found.first_bad].checked
    assert interval.bad_from_day == rows[interval.last].day
    assert interval.last_good_day == (rows[interval.first - 1].day if interval.first else None)
    if interval.first:
        assert found.rows[interval.first - 1].checked
    made = {row.day for row in found.rows if row.checked}
    for start, end in interval.unchecked:
        assert start <= end
        assert interval.last_good_day is None or interval.last_good_day < start
        assert end < interval.bad_from_day
        assert not any(start <= day <= end for day in made)


@pytest.mark.parametrize(
    ("chances", "checked", "rows"),
    [
        # Two rows would do (0.96), but the one without parts beside them is no less probable.
        ((0.0, 0.04, 0.04, 0.92), (20, 0, 20, 20), (1, 3)),
        ((0.92, 0.04, 0.04), (20, 0, 20), (0, 2)),
        ((0.0, 0.04, 0.04, 0.92), (20, 20, 20, 20), (2, 3)),
    ],
)
def test_the_interval_never_parts_a_row_without_parts_from_the_next(chances, checked, rows):
    said = [
        OnsetRow(label=day_after(i), day=day_after(i), checked=n, nok=0, probability=p)
        for i, (p, n) in enumerate(zip(chances, checked, strict=True))
    ]
    named = chances.index(0.92)

    found = _interval(said, named, named)

    assert (found.first, found.last) == rows


@pytest.mark.parametrize(
    ("parts", "share", "held"),
    [
        # Held in so many of 400 cases with a named row. With a flat prior of the share the first two
        # fall below 95 %: see the docstring of onset_posterior.
        (5, 0.02, 0.95),
        (20, 0.02, 0.95),
        (20, 0.10, 0.95),
        (20, 0.50, 0.99),
        (20, None, 0.95),
    ],
)
def test_the_interval_holds_the_true_onset_at_least_95_times_in_100(parts, share, held):
    # Measured with 1500 walks each: 0.970, 0.966, 0.978, 1.000 and, with the share drawn from the prior,
    # 0.986 (discrete rows make the interval hold more than it promises).
    rng = random.Random(20)
    inside = total = 0
    while total < 400:
        first = rng.randrange(12)
        drawn = SharePrior().step(rng.random() * math.log(101), 0.0) if share is None else share
        answer = find_onset(simulated(rng, 12, parts, drawn, first))
        if answer.interval:
            total += 1
            inside += answer.interval.first <= first <= answer.interval.last

    assert inside / total >= held


# What is said.


def test_a_sure_first_bad_lot_is_named_with_its_days_and_the_gap():
    found = find_onset([lot(3, 30, 0, "A"), lot(7, 30, 0, "B"), lot(9, 30, 8, "C"), lot(10, 30, 9, "D")])

    assert found.is_sure
    assert found.first_bad_day == "2026-02-25"
    assert found.interval == OnsetInterval(
        first=2,
        last=2,
        probability=found.interval.probability,
        last_good_day="2026-02-23",
        bad_from_day="2026-02-25",
        unchecked=(("2026-02-24", "2026-02-24"),),
    )
    assert found.sentence == (
        "C of 2026-02-25 is the first bad one (>99.9 %). The defect started after the parts of 2026-02-23 "
        "were made and at the latest with those of 2026-02-25 (95 % interval)."
    )
    assert found.warnings == ("Nothing made on 2026-02-24 was checked: the defect may have started there.",)


def test_below_95_percent_it_is_most_likely_and_the_next_is_said():
    found = find_onset(lots((20, 0), (20, 0), (20, 0), (20, 3), (20, 2)))

    assert not found.is_sure
    assert found.sentence.startswith("Most likely 2026-02-19 is the first bad one (")
    assert "; next most likely 2026-02-18 is (" in found.sentence


def test_rows_without_parts_before_the_first_bad_one_are_named_with_it():
    found = find_onset([lot(0, 20, 0, "A"), lot(1, label="B"), lot(2, label="C"), lot(2, 20, 9, "D")])

    assert found.rows[found.first_bad].label == "D"
    assert found.sentence == (
        "Most likely B of 2026-02-17, C of 2026-02-18 or D of 2026-02-18 is the first bad one "
        "(33 % each of them); the parts checked so far cannot tell them apart. "
        "The most probable day is 2026-02-18 (66 %). The defect started after the parts of "
        "2026-02-16 were made and at the latest with those of 2026-02-18 (95 % interval)."
    )
    assert (found.interval.first, found.interval.last) == (1, 3)
    assert found.day_probability == pytest.approx(2 * found.probability, rel=1e-12)


def test_many_equal_rows_are_not_all_listed():
    found = find_onset([lot(0, 20, 0), *(lot(i) for i in range(1, 8)), lot(8, 20, 9)])

    assert "one of the 8 rows from 2026-02-17 to 2026-02-24 is the first bad one" in found.sentence


def test_when_the_first_row_is_bad_the_defect_may_have_started_before():
    found = find_onset(lots((20, 7), (20, 9), (20, 8)))

    assert found.interval.last_good_day is None
    assert found.sentence == (
        "2026-02-16 is the first bad one (>99.9 %). The defect started at the latest with the parts of "
        "2026-02-16 (95 % interval); it may have started before the first row, at any time."
    )
    assert found.warnings == (
        "Nothing made before 2026-02-16 was checked: the defect started then or at any time before.",
    )


def test_the_day_can_be_surer_than_the_lot():
    found = find_onset(
        [lot(0, 40, 0), lot(1, 3, 0, "A"), lot(1, 3, 1, "B"), lot(1, 40, 20, "C"), lot(2, 40, 22)]
    )

    assert found.first_bad_day == "2026-02-17"
    assert found.day_probability > 0.999 > found.probability
    assert "The most probable day is 2026-02-17 (>99.9 %). The defect started after" in found.sentence


def test_the_most_probable_day_need_not_be_that_of_the_most_probable_lot():
    later = [lot(2, 3, 0, "B"), lot(2, label="C"), lot(2, label="D"), lot(2, 3, 1, "E"), lot(2, 5, 1, "F")]
    found = find_onset([lot(0, 20, 0), lot(1, 6, 1, "A"), *later, lot(3, 20, 8)])

    assert found.rows[found.first_bad].label == "A"
    assert found.first_bad_day == "2026-02-18"
    of_day = sum(row.probability for row in found.rows if row.day == "2026-02-18")
    assert found.day_probability == pytest.approx(of_day, rel=1e-12)
    assert "Most likely A of 2026-02-17 is the first bad one" in found.sentence
    assert "The most probable day is 2026-02-18" in found.sentence


def test_one_day_with_a_good_and_a_bad_lot_is_that_day():
    found = find_onset([lot(1, 60, 0, "A"), lot(1, 60, 30, "B")])

    assert found.sentence.endswith("The defect started on 2026-02-17 (95 % interval).")


def test_nothing_nok_names_nothing():
    found = find_onset(lots((20, 0), (20, 0)))

    assert (found.first_bad, found.probability, found.interval, found.first_bad_day) == (None,) * 4
    assert not found.is_sure
    assert found.sentence.startswith("No NOK in 40 parts in 2 rows: ")
    assert found.warnings == ("No part was NOK, so these rows cannot show when the defect started.",)


def test_nothing_checked_says_so():
    found = find_onset([lot(0)])

    assert [found.rows[0].probability, found.none_probability] == pytest.approx([0.5, 0.5])
    assert found.sentence == "Nothing was checked yet, so nothing is known about when the defect started."


def test_a_few_nok_that_may_be_false_alarms_name_nothing():
    found = find_onset(lots((200, 1), (200, 2), (200, 1)))

    assert found.first_bad is None
    assert found.sentence.startswith("No first bad row is named: 4 NOK in 600 parts in 3 rows may be there")


def test_rows_without_parts_at_the_end_are_not_named():
    # They are exactly as probable as "not seen": nothing was checked that speaks for either.
    found = find_onset(lots((18, 1), (18, 0), (0, 0)))

    assert found.rows[2].probability == pytest.approx(found.none_probability, rel=1e-12)
    assert max(row.probability for row in found.rows[:2]) < found.none_probability
    assert found.first_bad is None


def test_a_background_keeps_a_known_share_from_being_taken_for_the_onset():
    rows = lots((200, 4), (200, 6), (200, 5), (200, 60), (200, 66))

    without, allowed = find_onset(rows), find_onset(rows, background_high=0.05)

    assert without.rows[3].probability > 0.99 and "false alarms (3.0 expected)" in without.warnings[-1]
    assert allowed.rows[3].probability > 0.99 and allowed.warnings == ()
    assert (
        onset_posterior(rows[:3]).none < 0.01 < 0.8 < onset_posterior(rows[:3], background_high=0.05).none
    )


def test_with_a_background_a_falling_share_is_no_onset():
    rows = lots((100, 4), (100, 5), (100, 0), (100, 0), (100, 0))

    found = onset_posterior(rows, background_high=0.10)

    assert found.none > max(found.first_bad)


def test_a_share_that_drops_again_is_warned_of():
    found = find_onset(lots((20, 0), (20, 6), (20, 6), *(((20, 0),) * 8)))

    assert found.warnings == (
        (
            "The share of NOK drops from 2026-02-19 on (0 of 160 parts after 12 of 40 parts): the defect "
            "may have stopped, or parts were sorted, reworked or mixed; leave out the rows from there on "
            "and compare."
        ),
    )


def test_a_share_that_grows_is_warned_of_and_other_checks_are_named():
    found = find_onset([lot(0, 60, 0), lot(1, 60, 20), lot(2, 60, 45, detection=1.0), lot(3, 60, 44)])

    assert found.warnings == (
        (
            "The share of NOK rises from 2026-02-18 on (89 of 120 parts after 20 of 60 parts): the defect "
            "may grow slowly, and may then have started before. The checks differ, too."
        ),
    )


def test_too_many_nok_before_the_named_row_make_it_unsure_and_widen_the_interval():
    # A share that grows: the model with one share names day 4 with more than 99.9 %, and 8 NOK of 60 on
    # day 3 would be false alarms. By hand: P(X >= 8), X binomial of 60 and 0.005, is 8e-10.
    rows = lots((60, 0), (60, 1), (60, 0), (60, 8), (60, 45), (60, 44))

    found = find_onset(rows)

    assert found.probability > 0.999
    assert not found.is_sure
    assert (found.interval.first, found.interval.last) == (3, 4)
    assert found.sentence == (
        "Most likely 2026-02-20 is the first bad one (>99.9 %), but the NOK from 2026-02-19 up to it are "
        "too many for that: the defect may have started there with a smaller share. The defect started "
        "after the parts of 2026-02-18 were made and at the latest with those of 2026-02-20 (95 % "
        "interval)."
    )
    assert "9 of 240 parts NOK before 2026-02-20" in found.warnings[-1]
    assert find_onset(rows, background_high=0.15).is_sure


def test_false_alarms_seldom_make_a_sure_answer_unsure():
    # At most 5 in 100 (Bonferroni, and the test is discrete).
    rng = random.Random(8)
    answers = [find_onset(simulated(rng, 15, 20, 0.5, 8)) for _ in range(200)]

    assert sum((a.probability or 0.0) >= SURE and not a.is_sure for a in answers) <= 10


def test_false_alarms_of_the_worse_check_are_not_held_against_the_better_one():
    # 6 NOK of 120 are too many for 0.005 (chance 4e-5), not for the 0.05 of the check that gave most.
    rows = [lot(0, 60, 1), lot(1, 60, 5, false_alarm=0.05), lot(2, 60, 45), lot(3, 60, 44)]

    assert find_onset(rows).is_sure


def test_a_constant_share_is_seldom_said_to_change():
    # Fisher's test with Bonferroni: at most 5 in 100, and fewer since the test is discrete.
    rng = random.Random(7)
    said = sum(
        any(
            "The share of NOK" in warning for warning in find_onset(simulated(rng, 15, 20, 0.3, 5)).warnings
        )
        for _ in range(200)
    )

    assert said <= 10


def test_dates_out_of_order_are_warned_of_and_no_days_are_given():
    found = find_onset([lot(4, 60, 0, "A"), lot(2, 60, 0, "B"), lot(5, 60, 20, "C"), lot(6, 60, 21, "D")])

    assert (found.interval.last_good_day, found.interval.bad_from_day) == (None, None)
    assert found.sentence == (
        "C of 2026-02-21 is the first bad one (>99.9 %). The first bad row is C of 2026-02-21 (95 % "
        "interval); no dates are given, since they are out of order."
    )
    assert found.warnings == (
        (
            "B is dated 2026-02-18, before A (2026-02-20) in the row above it: the order of the rows was "
            "taken as the order of production; mend the date or the order."
        ),
    )


def test_where_it_may_not_have_started_at_all_the_interval_says_if():
    found = find_onset(lots((20, 0), (20, 0), (20, 1), (20, 1)))

    assert found.none_probability > 0.05
    assert "If it started in these rows, the defect started" in found.sentence


def test_counts_that_cannot_happen_are_said_to_be_so():
    with pytest.raises(CountsError, match="cannot happen with the assumptions"):
        find_onset(lots((5, 2), detection=1.0, false_alarm=0.0), share=SharePrior(low=1.0))


@pytest.mark.parametrize(
    ("rows", "options", "words"),
    [
        ([], {}, "at least one row"),
        ([DatedTally(label="A", day="20260302")], {}, "2026-02-24"),
        ([DatedTally(label="A", day="2026-02-30")], {}, "day"),
        (lots((3, 4)), {}, "4 of 3"),
        (lots((3, 1)), {"background_high": -0.1}, "low <= high"),
        (lots((3, 1)), {"background_high": 1.5}, "low <= high"),
        (lots((3, 1)), {"share": SharePrior(), "background_high": 0.1}, "at most share.low"),
    ],
)
def test_rows_out_of_range_are_refused(rows, options, words):
    with pytest.raises(ValueError, match=words):
        find_onset(rows, **options)
