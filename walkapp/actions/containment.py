"""Containment: where suspect parts are, what became of them, and whether any can still get out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from walkapp.actions.clean_points import CleanPointFacts, detection_for, detections, judge_clean_point
from walkapp.actions.days import today
from walkapp.actions.onset import date_onset
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.containment import (
    Account,
    Balance,
    Bout,
    missed_sentence,
    place_balance,
    range_against_onset,
    since_escape,
    sum_of,
)
from walkapp.analysis.wording import named
from walkapp.errors import InputError
from walkapp.language import day_said, msg, tr, trn, whole_text
from walkapp.model.records import (
    CleanPoint,
    Escape,
    Record,
    Sorting,
    SuspectRange,
    SuspectStock,
)

PLACE_WORDS: Mapping[str, str] = {
    "station": msg("At a station"),
    "in_process": msg("Between stations"),
    "stores": msg("Stores"),
    "transit": msg("On the road"),
    "customer": msg("At the customer"),
    "elsewhere": msg("Elsewhere"),
}
"""The kinds of place as they are shown."""

KINDS = (SuspectRange, SuspectStock, Sorting, CleanPoint, Escape)
"""All kinds of record that containment is made of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StockFacts:
    """One place with suspect parts.

    Parameters
    ----------
    stock
        What was found there, as corrected.
    name
        The place in words.
    sortings
        The work on it, oldest first.
    balance
        What became of the parts.
    """

    stock: SuspectStock
    name: str
    sortings: tuple[Sorting, ...]
    balance: Balance


@dataclass(frozen=True, kw_only=True)
class ContainmentFacts:
    """Everything known of the containment of one concern.

    Parameters
    ----------
    facts
        The concern.
    today
        The day of asking.
    ranges
        The suspect ranges that stand, the one that counts first: the one with most parts.
    stocks
        The places, in the order in which they were recorded.
    lost_sortings
        Sortings whose place is not here: told, and not counted.
    twins
        How many further records claim to be a place that is here already: told, and not counted.
    clean_points
        The clean points that stand; usually one.
    escapes
        Bad parts that got past the containment, the oldest find first.
    detection
        Chance that a bad part is called NOK: the lowest of the checks for this defect.
    account
        The balance against the parts that were made.
    is_range_short
        Whether the defect most likely started before the first day of the range.
    onset_warning
        What the onset says of the range; empty when nothing.
    """

    facts: ConcernFacts
    today: date
    ranges: tuple[SuspectRange, ...]
    stocks: tuple[StockFacts, ...]
    lost_sortings: tuple[Sorting, ...]
    twins: int
    clean_points: tuple[CleanPointFacts, ...]
    escapes: tuple[Escape, ...]
    detection: float
    account: Account
    is_range_short: bool
    onset_warning: str

    @property
    def is_begun(self) -> bool:
        """Whether anything of it was recorded."""
        return bool(
            self.ranges or self.stocks or self.lost_sortings or self.clean_points or self.escapes
        )  # fmt: skip

    @property
    def suspect_range(self) -> SuspectRange | None:
        """The range that counts; none when nobody recorded one."""
        return self.ranges[0] if self.ranges else None

    def stock(self, entry: str) -> StockFacts:
        """Give one place, by its id or that of a sorting there.

        Raises
        ------
        InputError
            If it is not here, for example because it was taken back.
        """
        for found in self.stocks:
            if entry == found.stock.stock or any(entry == one.id for one in found.sortings):
                return found
        raise InputError(
            tr(
                "This place with suspect parts was taken back or is not in this store; go back "
                "and choose one."
            )
        )

    @property
    def since_escape(self) -> tuple[int | None, str]:
        """Days since the last escape, none when not known; and the same in words."""
        return since_escape(self.today, [e.found_on for e in self.escapes], self.facts.concern.reported_on)

    @cached_property
    def missing(self) -> tuple[str, ...]:
        """What is missing until it is contained, a few words each; empty when it is."""
        return tuple(self._missing())

    def _missing(self) -> Iterator[str]:
        total = self.account.total
        if self.account.made is None:
            yield tr("nobody recorded how many parts could be bad")
        elif self.account.surplus or self.account.unaccounted:
            yield self.account.sentence
        if self.is_range_short:
            yield tr("the defect most likely started before the suspect range")
        if total.over:
            yield tr("{over} more sorted or scrapped than located", over=whole_text(total.over))
        if total.to_sort:
            yield tr("{to_sort} still to sort", to_sort=whole_text(total.to_sort))
        if total.waiting:
            yield tr("{waiting} waiting for a decision", waiting=whole_text(total.waiting))
        if not self.clean_points:
            yield tr("no clean point")
        elif not all(point.holds for point in self.clean_points):
            yield tr("the clean point does not hold")

    @property
    def is_contained(self) -> bool:
        """Whether the records show every suspect part, and the point from which on parts are good."""
        return not self.missing

    @property
    def why(self) -> str:
        """Why it counts as contained or not, in one sentence."""
        if self.missing:
            return tr("Not contained: {missing}.", missing="; ".join(self.missing))
        told = tr(
            "Contained by these records: all {what} suspect parts are released or scrapped, "
            "and good from {names} on.",
            what=whole_text(self.account.made or 0),
            names=named([point.name for point in self.clean_points]),
        )
        if not self.onset_warning:
            return told
        return " ".join((told, tr("Mind: {warning}", warning=self.onset_warning)))

    @cached_property
    def warnings(self) -> tuple[str, ...]:
        """What has to be minded, a sentence each, the most important first."""
        return tuple(self._warnings())

    def _warnings(self) -> Iterator[str]:
        for point in self.clean_points:
            yield from point.against
        yield from self.account.warnings
        if self.onset_warning:
            yield self.onset_warning
        yield from self._range_warnings()
        for found in self.stocks:
            if found.balance.over:
                done = found.balance.checked + found.balance.scrapped_unsorted
                yield (
                    tr(
                        "{found}: {done} sorted or scrapped, but only {located} were found there.",
                        found=found.name,
                        done=whole_text(done),
                        located=whole_text(found.balance.located),
                    )
                )
        yield from self._told_apart()
        for point in self.clean_points:
            yield from point.cautions
        if missed := missed_sentence(self.account.total, self.detection):
            yield missed

    def _range_warnings(self) -> Iterator[str]:
        if len(self.ranges) > 1:
            said = ", ".join(whole_text(found.quantity) for found in self.ranges)
            yield (
                tr(
                    "{ranges} suspect ranges are recorded ({said}): the largest counts until one "
                    "range is recorded for all.",
                    ranges=len(self.ranges),
                    said=said,
                )
            )
        found, concern = self.suspect_range, self.facts.concern
        if found is None:
            return
        if found.made_from and concern.made_from and concern.made_from < found.made_from:
            yield (
                tr(
                    "Parts that the customer reported were made from {made_from}, before the "
                    "range begins ({made_from2}).",
                    made_from=day_said(concern.made_from),
                    made_from2=day_said(found.made_from),
                )
            )
        if found.made_to and concern.made_to and concern.made_to > found.made_to:
            yield (
                tr(
                    "Parts that the customer reported were made until {made_to}, after the range "
                    "ends ({made_to2}).",
                    made_to=day_said(concern.made_to),
                    made_to2=day_said(found.made_to),
                )
            )

    def _told_apart(self) -> Iterator[str]:
        """Records that are not counted, or perhaps counted twice."""
        if self.lost_sortings:
            checked = sum(s.checked + s.scrapped_unsorted for s in self.lost_sortings)
            yield (
                tr(
                    "{checked} parts sorted or scrapped at a place that is not recorded here: "
                    "not counted. Merge the bundle that has it, or record the place anew.",
                    checked=whole_text(checked),
                )
            )
        if self.twins:
            more = trn("{count} more record", "{count} more records", self.twins)
            yield tr("{more} of a place that is here already: not counted.", more=more)
        seen: set[tuple[str, str, str]] = set()
        for found in self.stocks:
            stock = found.stock
            place = (stock.place, stock.station, " ".join(stock.where.split()).casefold())
            if place in seen:
                yield (
                    tr(
                        "{found} is recorded twice: if these are the same parts, take one out; "
                        "they are counted twice.",
                        found=found.name,
                    )
                )
            seen.add(place)
        if len(self.clean_points) > 1:
            yield tr(
                "{clean_points} clean points are recorded; all of them must hold.",
                clean_points=len(self.clean_points),
            )


def containment_of(place: Workplace, facts: ConcernFacts) -> ContainmentFacts:
    """Work out the containment of a concern from its records.

    Parameters
    ----------
    place
        Whose clock says what day it is.
    facts
        The concern.
    """
    current = facts.standing.current
    ranges = sorted(_of(current, SuspectRange), key=lambda r: (-r.quantity, r.id))
    suspect = ranges[0] if ranges else None
    found = detections(facts)
    stocks, twins = _stocks_of(facts, current)
    sortings = _of(current, Sorting)
    known = {one.stock.stock for one in stocks}
    account = Account(
        made=suspect.quantity if suspect else None, total=sum_of(one.balance for one in stocks)
    )
    escapes = tuple(sorted(_of(current, Escape), key=lambda e: (e.found_on, e.id)))
    is_short, onset_warning = _set_against_onset(facts, suspect)
    return ContainmentFacts(
        facts=facts,
        today=today(place),
        ranges=tuple(ranges),
        stocks=stocks,
        lost_sortings=tuple(s for s in sortings if s.stock not in known),
        twins=twins,
        clean_points=tuple(
            judge_clean_point(facts, point, escapes, suspect, detection_for(found, point.station))
            for point in _of(current, CleanPoint)
        ),
        escapes=escapes,
        detection=detection_for(found),
        account=account,
        is_range_short=is_short,
        onset_warning=onset_warning,
    )


def _of(records: Iterable[Record], kind: type[Any]) -> list[Any]:
    return [record for record in records if isinstance(record, kind)]


def _stocks_of(facts: ConcernFacts, current: Sequence[Record]) -> tuple[tuple[StockFacts, ...], int]:
    """The places with their work; of records that claim to be the same place the newest counts."""
    stocks: list[SuspectStock] = _of(current, SuspectStock)
    by_id = {stock.stock: stock for stock in stocks}
    work: dict[str, list[Sorting]] = {}
    for sorting in _of(current, Sorting):
        work.setdefault(sorting.stock, []).append(sorting)
    found = tuple(
        StockFacts(
            stock=stock,
            name=stock_name(facts, stock),
            sortings=tuple(work.get(stock.stock, ())),
            balance=place_balance(stock.quantity, map(bout_of, work.get(stock.stock, ()))),
        )
        for stock in sorted(by_id.values(), key=lambda stock: stock.stock)
    )
    return found, len(stocks) - len(by_id)


def bout_of(sorting: Sorting) -> Bout:
    """Take the figures out of a record."""
    return Bout(
        checked=sorting.checked,
        nok=sorting.nok,
        reworked=sorting.reworked,
        released=sorting.released,
        scrapped=sorting.scrapped,
        scrapped_unsorted=sorting.scrapped_unsorted,
    )


def stock_name(facts: ConcernFacts, stock: SuspectStock) -> str:
    """Say where suspect parts are."""
    station = facts.stream.station(stock.station) if facts.stream and stock.station else None
    name = station.name if station else stock.station or tr(PLACE_WORDS[stock.place])
    return ", ".join(filter(None, (name, stock.where)))


def _set_against_onset(facts: ConcernFacts, found: SuspectRange | None) -> tuple[bool, str]:
    if found is None or not found.made_from or facts.stream is None:
        return False, ""
    onset = date_onset(facts).onset
    return range_against_onset(found.made_from, onset) if onset else (False, "")
