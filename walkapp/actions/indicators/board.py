"""The success factors of a stream as they stand on a day: what is off first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from walkapp.actions.desk import DeskFacts
from walkapp.actions.indicators.factors import factors_of, read_target
from walkapp.actions.indicators.gathering import StreamCases, stream_cases
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.indicators.fixed_set import INDICATORS, Indicator
from walkapp.analysis.indicators.reading import (
    NO_DATA,
    NOT_SHOWN,
    OFF_TARGET,
    ON_TARGET,
    Judged,
)
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.records import SuccessFactor
from walkapp.model.standing import Conflict

NOT_READABLE = "not_readable"
"""How a factor stands whose indicator this version does not know, or whose target makes no sense for it."""

ORDER = (OFF_TARGET, NOT_READABLE, NOT_SHOWN, NO_DATA, ON_TARGET)
"""How factors may stand, what has to be seen to first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FactorFacts:
    """One success factor as it stands on a day.

    Parameters
    ----------
    factor
        The record.
    indicator
        What watches it; none when this version does not know it.
    target
        In the unit of the indicator; none when it makes no sense for it.
    judged
        The value; none without indicator and target.
    problem
        Why it cannot be read, in a sentence; empty when it can.
    """

    factor: SuccessFactor
    indicator: Indicator | None
    target: Fraction | None
    judged: Judged | None
    problem: str = ""

    @property
    def id(self) -> str:
        """Id of the factor."""
        return self.factor.id

    @property
    def state(self) -> str:
        """How it stands: one of ``ORDER``."""
        return self.judged.state if self.judged is not None else NOT_READABLE


@dataclass(frozen=True, slots=True, kw_only=True)
class IndicatorBoard:
    """All success factors of a stream as they stand on a day.

    Parameters
    ----------
    desk
        The stream.
    cases
        The facts that they are worked out from.
    lines
        What is off first; in each state the factor that was stated first.
    """

    desk: DeskFacts
    cases: StreamCases
    lines: tuple[FactorFacts, ...]

    @property
    def on(self) -> date:
        """The day."""
        return self.cases.on

    @property
    def conflicts(self) -> tuple[Conflict, ...]:
        """Factors that two tablets corrected differently."""
        return tuple(
            one
            for one in self.desk.standing.conflicts
            if any(isinstance(head, SuccessFactor) for head in one.heads)
        )

    @property
    def untold(self) -> tuple[ConcernFacts, ...]:
        """Safety-class concerns of which it is not recorded who was told, as the records stand now."""
        return tuple(facts for facts in self.desk.concerns if facts.needs_escalation)

    @property
    def are_all_on_target(self) -> bool:
        """Whether there are factors and each is shown to be on target."""
        return bool(self.lines) and all(line.state == ON_TARGET for line in self.lines)

    def count(self, state: str) -> int:
        """Count the factors that stand so."""
        return sum(line.state == state for line in self.lines)

    def line(self, factor: str) -> FactorFacts | None:
        """Give one factor; none when it is not among them."""
        return next((line for line in self.lines if line.id == factor), None)


def indicator_board(
    place: Workplace, desk: DeskFacts, on: date | None = None, *, cases: StreamCases | None = None
) -> IndicatorBoard:
    """Work out how the success factors of a stream stand.

    Parameters
    ----------
    place
        Where the records are.
    desk
        The stream.
    on
        The day; today when none.
    cases
        The facts of the stream on that day, where they were gathered already.

    Raises
    ------
    InputError
        If the day is still to come.
    """
    cases = cases or stream_cases(place, desk, on)
    return IndicatorBoard(desk=desk, cases=cases, lines=tuple(_lines(factors_of(desk), cases)))


def factor_facts(factor: SuccessFactor, cases: StreamCases) -> FactorFacts:
    """Work out how one success factor stands."""
    indicator = INDICATORS.get(factor.indicator)
    if indicator is None:
        problem = tr(
            "The indicator {indicator} is not known to this version; bring walkapp up to date.",
            indicator=repr(factor.indicator),
        )
        return FactorFacts(factor=factor, indicator=None, target=None, judged=None, problem=problem)
    try:
        target = read_target(indicator, factor.target)
    except InputError as error:
        return FactorFacts(factor=factor, indicator=indicator, target=None, judged=None, problem=str(error))
    judged = indicator.judge(cases, cases.on, target)
    return FactorFacts(factor=factor, indicator=indicator, target=target, judged=judged)


def _lines(factors: Iterable[SuccessFactor], cases: StreamCases) -> list[FactorFacts]:
    found = [factor_facts(factor, cases) for factor in factors]
    return sorted(found, key=lambda line: (ORDER.index(line.state), line.id))
