"""What an on/off confirmation proves: the suspected cause switched on and off, and the defect with it.

The rule
--------
*Proved* needs all of these:

- the defect came and went with the switch: every turn on lies apart from every turn off (for counts: has a
  greater share NOK; for values: all means on above all means off, or all below);
- parts: the exact test within neighbouring turns gives p below 0.05;
- turns: all turns on fall on one side by chance at most once in 20. For counts, where the side is known
  beforehand, that takes 3 turns on and 3 off, 1 in 20; for values, where it is not, 4 and 4, 2 in 70.

Turns without a switch between them count as one. So three on and three off mean at least two switches
back on, and on-off-on-off (1 in 6) is never enough: a machine that drifts makes the parts of one turn
alike, and then the turns are all there is. Whoever looks after every turn and stops when it is proved is
wrong no more often: turns that overlap once do so for ever.

*Contradicted* (counts only): fewer NOK on than off, p below 0.05; or NOK when off, and no more NOK when on
than are to be expected if switching makes no difference. A measured value has no side that is the defect.

*Points that way, not proved*: p below 0.05 and something else of the above is missing. *Not shown*: the
rest.

What remains when off is told apart from that: with a NOK part off, or an upper limit of the share off
(exact two-sided 95 % interval) above 10 %, another cause may remain. The 10 % and the 5 % are ours; the
count of turns is the rule of three best against three worst (a counting argument; the smallest one-sided
rank-sum probability of Mann and Whitney 1947).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from walkapp.analysis.chance import Chance
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.results import Interval
from walkapp.analysis.within_pairs import (
    CountPair,
    ValuePair,
    ValuesTest,
    more_when_on,
    values_differ,
)
from walkapp.language import msg

ON, OFF = "on", "off"

PROVED, POINTS, NOT_SHOWN, CONTRADICTED = (
    msg("proved"),
    msg("points that way, not proved"),
    msg("not shown"),
    msg("contradicted"),
)
"""The verdicts."""

LEVEL = Fraction(1, 20)
"""A p has to be below this, and the chance of the turns at most this."""

REMAINS = 0.10
"""Above this upper limit of the share NOK when off, another cause may remain."""

MOST_FURTHER = 12
"""With how many further turns it is tried whether they would prove it."""

_ROUNDING = 1e-9
"""A p this little below the level does not count as below it: it may be rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """What came out of one turn.

    Parameters
    ----------
    number
        Place in the order of the turns, from 1.
    state
        ``ON`` or ``OFF``.
    checked, nok
        Parts, where NOK parts are counted; 0 <= `nok` <= `checked`.
    values
        The measured values, where values are measured, exactly as they were typed.
    """

    number: int
    state: str
    checked: int = 0
    nok: int = 0
    values: tuple[Fraction, ...] = ()

    @property
    def level(self) -> Fraction:
        """Share NOK, or mean of the values."""
        if self.values:
            return sum(self.values, Fraction()) / len(self.values)
        return Fraction(self.nok, self.checked)


@dataclass(frozen=True, slots=True, kw_only=True)
class StateFigures:
    """All turns in one state together.

    Parameters
    ----------
    turns
        How many; turns without a switch between them count as one.
    checked, nok
        Parts; 0 where values are measured.
    interval
        Exact two-sided 95 % interval of the share NOK (Clopper-Pearson), parts taken to be independent;
        none where nothing was counted.
    mean, low, high
        Of the values; none where nothing was measured.
    """

    turns: int
    checked: int = 0
    nok: int = 0
    interval: Interval | None = None
    mean: Fraction | None = None
    low: Fraction | None = None
    high: Fraction | None = None

    @property
    def share(self) -> float | None:
        """Share NOK; none where nothing was counted."""
        return self.nok / self.checked if self.checked else None


@dataclass(frozen=True, slots=True, kw_only=True)
class OnOff:
    """What the turns of a confirmation prove.

    Parameters
    ----------
    verdict
        ``PROVED``, ``POINTS``, ``NOT_SHOWN`` or ``CONTRADICTED``.
    is_counted
        Whether NOK parts were counted; otherwise values were measured.
    turns
        The turns in order, those without a switch between them taken together under the first number.
    on, off
        All turns in each state.
    within
        p of the test within neighbouring turns: one-sided for counts, two-sided for values; none while a
        state has no turn.
    reverse
        For counts, the same in the other direction: fewer NOK on.
    pooled
        For counts, p of Fisher's exact test, one-sided, all parts on against all parts off.
    by_turns
        Chance that all turns on fall on one side (for values: on either) when switching makes no
        difference; none while a state has no turn.
    are_apart
        Whether they did.
    is_more
        Whether there was more on than off: NOK than expected, or the mean; none while a state has no turn.
    draws
        From how many random shufflings `within` was estimated; 0 when it is exact.
    error
        Exact two-sided 95 % interval for that estimate; none when `within` is exact.
    further
        Fewest further turns, like the last on and the last off, that would prove it; none when it is
        proved, or up to 12 would not.
    """

    verdict: str
    is_counted: bool
    turns: tuple[Turn, ...]
    on: StateFigures
    off: StateFigures
    within: float | None = None
    reverse: float | None = None
    pooled: float | None = None
    by_turns: Fraction | None = None
    are_apart: bool = False
    is_more: bool | None = None
    draws: int = 0
    error: Interval | None = None
    further: int | None = None

    @property
    def times(self) -> int:
        """How often it was switched from on to off."""
        return sum((one.state, other.state) == (ON, OFF) for one, other in pairwise(self.turns))

    @property
    def may_remain(self) -> bool:
        """Whether another cause may remain: NOK when off, or too few parts off to say."""
        return self.off.nok > 0 or (self.off.interval is not None and self.off.interval.high > REMAINS)

    @property
    def overlap(self) -> tuple[Turn, Turn] | None:
        """A turn on and a turn off that are not apart the way the others are; none when all are."""
        if self.are_apart or self.is_more is None:
            return None
        on = [turn for turn in self.turns if turn.state == ON]
        off = [turn for turn in self.turns if turn.state == OFF]
        if self.is_more:
            return min(on, key=lambda t: (t.level, t.number)), max(off, key=lambda t: (t.level, -t.number))
        return max(on, key=lambda t: (t.level, -t.number)), min(off, key=lambda t: (t.level, t.number))


def confirm_counts(turns: Iterable[Turn]) -> OnOff:
    """Work out what counted turns prove.

    Parameters
    ----------
    turns
        In any order, each number once; each with at least one part. None is allowed.

    Returns
    -------
    OnOff
        By the rule at the head of this module.

    Raises
    ------
    ValueError
        If a count or a state is out of range, or a number comes twice.

    Examples
    --------
    >>> switched = zip((ON, OFF) * 3, (6, 0) * 3)
    >>> six = [Turn(number=n, state=s, checked=10, nok=k) for n, (s, k) in enumerate(switched, start=1)]
    >>> confirm_counts(six).verdict, confirm_counts(six[:4]).verdict, confirm_counts(six[:4]).further
    ('proved', 'points that way, not proved', 2)
    """
    return _confirmed(_in_order(turns), _judge_counts)


def confirm_values(turns: Iterable[Turn], make_chance: Callable[[], Chance]) -> OnOff:
    """Work out what measured turns prove.

    Parameters
    ----------
    turns
        In any order, each number once; each with at least one value. None is allowed.
    make_chance
        Gives the same random numbers at each call, for the case that the exact test would take too long.

    Returns
    -------
    OnOff
        By the rule at the head of this module.

    Raises
    ------
    ValueError
        If a state is out of range, a turn has no value, or a number comes twice.
    """
    return _confirmed(_in_order(turns), lambda spells: _judge_values(spells, make_chance()))


def _in_order(turns: Iterable[Turn]) -> tuple[Turn, ...]:
    """Sort the turns, and take those without a switch between them together."""
    ordered = sorted(turns, key=lambda turn: turn.number)
    spells: list[Turn] = []
    for place, turn in enumerate(ordered):
        if turn.state not in (ON, OFF):
            raise ValueError(f"the state must be {ON!r} or {OFF!r}, not {turn.state!r}")
        if place and ordered[place - 1].number == turn.number:
            raise ValueError(f"turn {turn.number} comes twice")
        if spells and spells[-1].state == turn.state:
            before = spells[-1]
            spells[-1] = replace(
                before,
                checked=before.checked + turn.checked,
                nok=before.nok + turn.nok,
                values=before.values + turn.values,
            )
        else:
            spells.append(turn)
    return tuple(spells)


def _pairs(spells: Sequence[Turn]) -> list[tuple[list[Turn], list[Turn]]]:
    """Divide the turns into neighbouring ones on and off; one left over joins the pair before it."""
    pairs: list[tuple[list[Turn], list[Turn]]] = []
    for place in range(0, len(spells) - 1, 2):
        both = spells[place : place + (3 if place + 3 == len(spells) else 2)]
        pairs.append(([t for t in both if t.state == ON], [t for t in both if t.state == OFF]))
    return pairs


def _confirmed(spells: tuple[Turn, ...], judge: Callable[[tuple[Turn, ...]], OnOff]) -> OnOff:
    found = judge(spells)
    if found.verdict not in (POINTS, NOT_SHOWN) or not found.are_apart:
        return found
    longer = list(spells)
    for further in range(1, MOST_FURTHER + 1):
        like = longer[-2]
        longer.append(replace(like, number=longer[-1].number + 1))
        by_turns = _chance_of_turns(longer, is_counted=found.is_counted)
        if by_turns is not None and by_turns <= LEVEL and judge(tuple(longer)).verdict == PROVED:
            return replace(found, further=further)
    return found


def _judge_counts(spells: tuple[Turn, ...]) -> OnOff:
    on, off = (_counted([t for t in spells if t.state == state]) for state in (ON, OFF))
    found = OnOff(verdict=NOT_SHOWN, is_counted=True, turns=spells, on=on, off=off)
    if not on.turns or not off.turns:
        return found
    pairs = [
        CountPair(
            on_nok=sum(t.nok for t in ons),
            on_checked=sum(t.checked for t in ons),
            off_nok=sum(t.nok for t in offs),
            off_checked=sum(t.checked for t in offs),
        )
        for ons, offs in _pairs(spells)
    ]
    whole = CountPair(on_nok=on.nok, on_checked=on.checked, off_nok=off.nok, off_checked=off.checked)
    is_more = on.nok > sum(pair.expected for pair in pairs)
    found = replace(
        found,
        within=more_when_on(pairs),
        reverse=more_when_on([pair.turned for pair in pairs]),
        pooled=more_when_on([whole]),
        by_turns=_chance_of_turns(spells, is_counted=True),
        are_apart=_are_above(spells, ON),
        is_more=is_more,
    )
    if _is_below(found.reverse) or (off.nok and not is_more):
        return replace(found, verdict=CONTRADICTED)
    return replace(found, verdict=_verdict(found))


def _judge_values(spells: tuple[Turn, ...], chance: Chance) -> OnOff:
    on, off = (_measured([t for t in spells if t.state == state]) for state in (ON, OFF))
    found = OnOff(verdict=NOT_SHOWN, is_counted=False, turns=spells, on=on, off=off)
    if on.mean is None or off.mean is None:
        return found
    pairs = [
        ValuePair(on=tuple(v for t in ons for v in t.values), off=tuple(v for t in offs for v in t.values))
        for ons, offs in _pairs(spells)
    ]
    test: ValuesTest = values_differ(pairs, chance)
    found = replace(
        found,
        within=test.p,
        draws=test.draws,
        error=test.error,
        by_turns=_chance_of_turns(spells, is_counted=False),
        are_apart=_are_above(spells, ON) or _are_above(spells, OFF),
        is_more=on.mean > off.mean,
    )
    return replace(found, verdict=_verdict(found))


def _verdict(found: OnOff) -> str:
    """Tell the verdicts apart that are not contradicted."""
    if not _is_below(found.within):
        return NOT_SHOWN
    is_proved = found.are_apart and found.by_turns is not None and found.by_turns <= LEVEL
    return PROVED if is_proved else POINTS


def _is_below(p: float | None) -> bool:
    return p is not None and p < float(LEVEL) - _ROUNDING


def _are_above(spells: Iterable[Turn], upper: str) -> bool:
    """Whether every turn in the state `upper` lies above every turn in the other one."""
    levels: dict[bool, list[Fraction]] = {True: [], False: []}
    for turn in spells:
        levels[turn.state == upper].append(turn.level)
    return min(levels[True]) > max(levels[False])


def _chance_of_turns(spells: Sequence[Turn], *, is_counted: bool) -> Fraction | None:
    on = sum(turn.state == ON for turn in spells)
    if not 0 < on < len(spells):
        return None
    sides = 1 if is_counted else 2
    return min(Fraction(1), Fraction(sides, math.comb(len(spells), on)))


def _counted(turns: Sequence[Turn]) -> StateFigures:
    nok, checked = sum(t.nok for t in turns), sum(t.checked for t in turns)
    interval = proportion_interval(nok, checked) if checked else None
    return StateFigures(turns=len(turns), checked=checked, nok=nok, interval=interval)


def _measured(turns: Sequence[Turn]) -> StateFigures:
    values = [value for turn in turns for value in turn.values]
    if not values:
        return StateFigures(turns=0)
    mean = sum(values, Fraction()) / len(values)
    return StateFigures(turns=len(turns), mean=mean, low=min(values), high=max(values))
