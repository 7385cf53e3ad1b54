"""NOK parts of a million delivered, month by month: which parts belong to which month."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import dropwhile
from typing import TypeVar

from walkapp.actions.desk import DeskFacts
from walkapp.actions.ppm_months import MonthPpm, index_of, month_at, month_of, month_ppm, part_key
from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.ppm import (
    AgainstTarget,
    PpmRate,
    RateComparison,
    against_target,
    compare_rates,
    joined,
)
from walkapp.model.records import Deliveries, SuccessFactor

T = TypeVar("T")

INDICATOR = "ppm"
"""Id of the indicator whose success factors give the target."""

MONTHS = 24
"""Months that are shown where nothing else is said."""

SHORT, LONG = 3, 12
"""Months of the two rolling values."""

_NEVER = "ffffffff-ffff-7fff-bfff-ffffffffffff"
"""Id of a record that is only supposed and never kept."""

_FIRST = 12
"""Number of the first month of all, as :func:`walkapp.actions.ppm_months.index_of` gives it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rolling:
    """Several months up to one, put together.

    Parameters
    ----------
    first, last
        First days of the first and the last month.
    span
        How many months these are.
    known
        Of how many of them deliveries are recorded: only those are counted, NOK parts and deliveries.
    rate
        All of them together; none when there is none.
    """

    first: date
    last: date
    span: int
    known: int
    rate: PpmRate | None


class StreamPpm:
    """The ppm of a stream, or of one of its part numbers.

    Parameters
    ----------
    facts
        What is known of the stream.
    today
        The day by the tablet's clock.
    part_number
        Only this one; all parts of the stream when empty.
    months
        How many months are shown, at least 1: they end with the present one, and begin where records do.
    """

    def __init__(self, facts: DeskFacts, today: date, *, part_number: str, months: int) -> None:
        self.facts = facts
        self.today = today
        self.part_number = " ".join(part_number.split())
        self._months = months
        self._deliveries = _by_month((index_of(date.fromisoformat(r.month)), r) for r in self._records())
        self._concerns = _by_month((index_of(month_of(f)), f) for f in self._own_concerns())
        self._unnamed = _by_month((index_of(month_of(f)), f) for f in self._unnamed_concerns())
        self._made: dict[int, MonthPpm] = {}

    @property
    def stream(self) -> str:
        """Id of the stream."""
        return self.facts.stream

    @cached_property
    def part_numbers(self) -> tuple[str, ...]:
        """The part numbers that deliveries or concerns name, sorted; capitals and blanks do not count."""
        named = (
            *(r.part_number for r in self.facts.kept(Deliveries)),
            *(f.concern.part_number for f in self.facts.concerns),
        )
        found: dict[str, str] = {}
        for one in sorted(named):
            if key := part_key(one):
                found.setdefault(key, " ".join(one.split()))
        return tuple(found[key] for key in sorted(found))

    @cached_property
    def months(self) -> tuple[MonthPpm, ...]:
        """The months that are shown, the newest first: none is left out between the first and the last."""
        now = index_of(self.today)
        begun = [index for index in self._recorded if index <= now]
        first = max(now - self._months + 1, min(begun, default=now), _FIRST)
        return tuple(self._at(index) for index in range(now, first - 1, -1))

    @cached_property
    def told_months(self) -> tuple[MonthPpm, ...]:
        """The same without the newest of which nothing is recorded yet: they would hide what is known."""
        return tuple(dropwhile(lambda one: one.is_empty, self.months)) or self.months

    @cached_property
    def earlier(self) -> int:
        """Months before those shown of which something is recorded."""
        shown = index_of(self.months[-1].month)
        return sum(index < shown for index in self._recorded)

    @cached_property
    def later(self) -> int:
        """Months still to come by the tablet's clock of which something is recorded."""
        now = index_of(self.today)
        return sum(index > now for index in self._recorded)

    @cached_property
    def latest(self) -> MonthPpm | None:
        """The newest month shown of which deliveries are recorded; none when there is none."""
        return next((one for one in self.months if one.rate is not None), None)

    def rolling(self, span: int, last: date | None = None) -> Rolling | None:
        """Put several months together.

        Parameters
        ----------
        span
            How many, at least 1.
        last
            First day of the last of them; the latest month with deliveries when none.

        Returns
        -------
        Rolling or None
            Months before the first one of which deliveries are recorded are left out; none when no month is
            left.
        """
        if last is None:
            if self.latest is None:
                return None
            last = self.latest.month
        end = index_of(last)
        first = max(end - span + 1, min(self._deliveries, default=end + 1))
        if first > end:
            return None
        each = [self._at(index) for index in range(first, end + 1)]
        rates = [one.rate for one in each if one.rate is not None]
        return Rolling(first=each[0].month, last=last, span=len(each), known=len(rates), rate=joined(rates))

    @cached_property
    def year(self) -> Rolling | None:
        """The twelve months up to the latest one with deliveries."""
        return self.rolling(LONG)

    @cached_property
    def before_latest(self) -> tuple[Rolling, RateComparison] | None:
        """Whether the latest month differs from the twelve before it; none where it cannot be told."""
        if self.latest is None or self.latest.rate is None or index_of(self.latest.month) <= _FIRST:
            return None
        before = self.rolling(LONG, month_at(index_of(self.latest.month) - 1))
        return _compared(self.latest.rate, before)

    @cached_property
    def before_year(self) -> tuple[Rolling, RateComparison] | None:
        """Whether the twelve months differ from the twelve before them; none where it cannot be told."""
        if self.year is None or self.year.rate is None or index_of(self.year.first) <= _FIRST:
            return None
        return _compared(self.year.rate, self.rolling(LONG, month_at(index_of(self.year.first) - 1)))

    @cached_property
    def factors(self) -> tuple[SuccessFactor, ...]:
        """The success factors that ppm watches, the strictest target first; negative ones are none."""
        watching = [r for r in self.facts.kept(SuccessFactor) if r.indicator == INDICATOR]
        return tuple(
            sorted((r for r in watching if float(r.target) >= 0), key=lambda r: (float(r.target), r.id))
        )

    @property
    def target(self) -> float | None:
        """The strictest target of a success factor in ppm; none while none is set."""
        return float(self.factors[0].target) if self.factors else None

    def against(self, target: float | None = None) -> AgainstTarget | None:
        """Say how the twelve months stand against a target in ppm; when none, that of the factors."""
        wanted = self.target if target is None else target
        return None if wanted is None else against_target(self.year.rate if self.year else None, wanted)

    @cached_property
    def at_odds(self) -> tuple[MonthPpm, ...]:
        """All months of which two records say different things, the newest first."""
        return tuple(
            one for index in sorted(self._deliveries, reverse=True) if (one := self._at(index)).at_odds
        )

    @property
    def has_records(self) -> bool:
        """Whether anything is recorded of any month."""
        return bool(self._recorded)

    def month(self, first_day: date) -> MonthPpm:
        """Give one month, whether it is shown or not."""
        return self._at(index_of(first_day))

    def supposing(self, month: date, delivered: int, customer_nok: int | None = None) -> MonthPpm:
        """Say what a month would be if this were recorded of it, for the part number that is looked at.

        Parameters
        ----------
        month
            Its first day.
        delivered, customer_nok
            What would be recorded instead of what is.

        Raises
        ------
        RecordError
            If a value, or the part number, is not allowed.
        """
        index = index_of(month)
        supposed = Deliveries(
            id=_NEVER,
            device=_NEVER,
            number=1,
            at=f"{month.isoformat()}T00:00:00Z",
            by="nobody",
            concern=self.facts.book,
            stream=self.stream,
            month=month.isoformat(),
            part_number=self.part_number,
            delivered=delivered,
            customer_nok=customer_nok,
        )
        own = part_key(self.part_number)
        others = [r for r in self._deliveries.get(index, ()) if part_key(r.part_number) != own]
        concerns, unnamed = self._concerns.get(index, ()), self._unnamed.get(index, ())
        return month_ppm(
            month, [*others, supposed], concerns, unnamed, is_before=index < self._first_recorded
        )

    @cached_property
    def _first_recorded(self) -> int:
        """The month in which anything of the stream was recorded here first; now while nothing is."""
        entries = (r.at[:10] for facts in self.facts.concerns for r in facts.everything)
        kept = (r.at[:10] for r in self.facts.standing.current)
        opened = (month_of(facts).isoformat() for facts in self.facts.concerns)
        return index_of(date.fromisoformat(min((*entries, *kept, *opened, self.today.isoformat()))))

    @cached_property
    def _recorded(self) -> tuple[int, ...]:
        return tuple({*self._deliveries, *self._concerns, *self._unnamed})

    def _records(self) -> Iterator[Deliveries]:
        wanted = part_key(self.part_number)
        for record in self.facts.kept(Deliveries):
            if not wanted or part_key(record.part_number) == wanted:
                yield record

    def _own_concerns(self) -> Iterator[ConcernFacts]:
        wanted = part_key(self.part_number)
        for facts in self.facts.concerns:
            if not wanted or part_key(facts.concern.part_number) == wanted:
                yield facts

    def _unnamed_concerns(self) -> Iterator[ConcernFacts]:
        if self.part_number:
            yield from (f for f in self.facts.concerns if not part_key(f.concern.part_number))

    def _at(self, index: int) -> MonthPpm:
        if index not in self._made:
            self._made[index] = month_ppm(
                month_at(index),
                self._deliveries.get(index, ()),
                self._concerns.get(index, ()),
                self._unnamed.get(index, ()),
                is_before=index < self._first_recorded,
            )
        return self._made[index]


def ppm_of(facts: DeskFacts, today: date, *, part_number: str = "", months: int = MONTHS) -> StreamPpm:
    """Work out the ppm of a stream, month by month.

    Parameters
    ----------
    facts
        What is known of the stream.
    today
        The day by the tablet's clock (:func:`walkapp.actions.days.today`).
    part_number
        Only this one; all parts of the stream when empty.
    months
        How many months are shown, at least 1.

    Notes
    -----
    A concern belongs to the month in which the customer reported it, and to that in which it was opened,
    by the local date of the record, while no such day is recorded. Its quantity counts; while none is
    recorded it stands for one part if the customer reported it and for none otherwise, and the count of
    the month is a least one. Where the customer's own count is recorded, it stands for the concerns of its
    part number (of all of them, when it is of all parts).
    """
    return StreamPpm(facts, today, part_number=part_number, months=months)


def _compared(rate: PpmRate, before: Rolling | None) -> tuple[Rolling, RateComparison] | None:
    if before is None or before.rate is None:
        return None
    found = compare_rates(rate, before.rate)
    return None if found is None else (before, found)


def _by_month(pairs: Iterable[tuple[int, T]]) -> Mapping[int, list[T]]:
    found: dict[int, list[T]] = {}
    for index, one in pairs:
        found.setdefault(index, []).append(one)
    return found
