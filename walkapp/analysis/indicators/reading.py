"""What an indicator says: its value with limits, whether it is on target, and which way it goes."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from walkapp.analysis.indicators.cases import Source

ON_TARGET, OFF_TARGET, NOT_SHOWN, NO_DATA = "on_target", "off_target", "not_shown", "no_data"
"""How a figure stands against its target."""

BETTER, WORSE, NO_TREND, TOO_FEW, NO_BEFORE = "better", "worse", "no_trend", "too_few", "no_earlier"
"""Which way it goes, against the same time before."""

LEVEL = 0.05
"""A change is called one when chance alone makes one as great, or greater, less often than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What an indicator says of some days.

    Parameters
    ----------
    value
        In the unit of the indicator, exact; none when there is nothing to work it out from, or when only
        `low` is known.
    low, high
        What is known of the true value: two-sided 95 % limits of an estimate, or what a median can still
        become; none on a side where nothing is known. Both none where every case is counted and the value
        is all there is.
    many
        On how many cases it rests.
    hits
        How many of them are those whose share, number or age is asked for.
    still_open
        How many of them are not over yet.
    last
        The day of the newest one, or the first day of which anything is known, ISO 8601, where that
        matters; empty otherwise.
    sources
        Where those come from that a person would go and see, the most pressing first.
    """

    value: Fraction | None = None
    low: float | None = None
    high: float | None = None
    many: int = 0
    hits: int = 0
    still_open: int = 0
    last: str = ""
    sources: tuple[Source, ...] = ()

    @property
    def is_known(self) -> bool:
        """Whether it says anything."""
        return self.value is not None or self.low is not None

    @property
    def has_limits(self) -> bool:
        """Whether the value is not all that there is."""
        return self.low is not None or self.high is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """Which way an indicator goes.

    Parameters
    ----------
    word
        ``better``, ``worse``, ``no_trend``, ``too_few`` or ``no_earlier``.
    p
        How often chance alone makes a change at least as great; none where nothing was tested.
    before
        The same of the same time before; none where nothing is known of it.
    """

    word: str
    p: float | None = None
    before: Reading | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """An indicator on a day, against a target.

    Parameters
    ----------
    reading
        Its value.
    state
        ``on_target``, ``off_target``, ``not_shown`` or ``no_data``; empty without a target.
    trend
        Which way it goes.
    """

    reading: Reading
    state: str
    trend: Trend


def state_of(reading: Reading, target: Fraction, *, more_is_better: bool) -> str:
    """Say how a figure stands against its target.

    Parameters
    ----------
    reading
        The figure.
    target
        At least, or at most, so much.
    more_is_better
        Whether the target is the least that is wanted; otherwise it is the most.

    Returns
    -------
    str
        On target, or off target, only when both limits say so; where every case is counted the value
        decides.

    Examples
    --------
    >>> state_of(Reading(value=Fraction(93), low=84.1, high=98.0), Fraction(90), more_is_better=True)
    'not_shown'
    >>> state_of(Reading(value=Fraction(93)), Fraction(90), more_is_better=True)
    'on_target'
    """
    if not reading.is_known:
        return NO_DATA
    if not reading.has_limits:
        low = high = reading.value
    else:
        low = None if reading.low is None else Fraction(reading.low)
        high = None if reading.high is None else Fraction(reading.high)
    if more_is_better:
        met, missed = low is not None and low >= target, high is not None and high < target
    else:
        met, missed = high is not None and high <= target, low is not None and low > target
    return ON_TARGET if met else OFF_TARGET if missed else NOT_SHOWN


def direction(value: Fraction, before: Fraction, *, more_is_better: bool) -> str:
    """Say whether a value is better or worse than another one."""
    if value == before:
        return NO_TREND
    return BETTER if (value > before) == more_is_better else WORSE
