"""Lots for the tests of the onset and of the suspects."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import strategies as st

from walkapp.analysis.onset import DatedTally
from walkapp.analysis.results import Tally

START = date(2026, 2, 16)

days_of_lots = st.lists(
    st.tuples(
        st.integers(0, 4),
        st.integers(0, 40).flatmap(
            lambda n: st.tuples(st.just(n), st.one_of(st.just(0), st.integers(0, n)))
        ),
    ),
    min_size=1,
    max_size=7,
)


def day_after(days):
    return (START + timedelta(days)).isoformat()


def lot(days, checked=0, nok=0, label=None, detection=0.9, false_alarm=0.005):
    tally = Tally(checked=checked, nok=nok, detection=detection, false_alarm=false_alarm)
    day = day_after(days)
    return DatedTally(label=label or day, day=day, tallies=(tally,) if checked else ())


def lots(*counts, **rates):
    """Rows of (checked, nok), one for each day."""
    return [lot(i, checked, nok, **rates) for i, (checked, nok) in enumerate(counts)]


def simulated(rng, rows, parts, share, first, days_apart=1):
    """Rows of equal size whose parts are bad with a chance of `share` from the row `first` on."""
    found = []
    for i in range(rows):
        q = 0.005 + (share if i >= first else 0.0) * 0.895
        found.append(lot(i * days_apart, parts, sum(rng.random() < q for _ in range(parts))))
    return found


def spaced(steps):
    """Rows from (days since the row before, (checked, nok))."""
    rows, day = [], 0
    for i, (step, (checked, nok)) in enumerate(steps):
        day += step
        rows.append(lot(day, checked, nok, label=f"L{i}"))
    return rows
