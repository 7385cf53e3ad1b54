"""Findings of audits: what was done about them, which came back, and how long the open ones are open."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from statistics import median

AGES = ((0, 7), (8, 30), (31, None))
"""Days open that are counted together: from, to; the last has no end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingSeen:
    """A NOK of an audit, as the figures need it.

    Parameters
    ----------
    id, audit
        Ids of the finding and of its audit.
    layer, shift
        Whose audit it was.
    station, ref, asked
        Where, and what was asked, as an id and in words.
    found_on
        The day on which it was found.
    reaction
        ``corrected``, ``contained`` or ``escalated``; empty while nothing was said.
    is_open
        Whether something is left to do.
    is_overdue
        Whether it is open after the day until which it was to be put right.
    """

    id: str
    audit: str
    layer: str
    shift: str
    station: str
    ref: str
    asked: str
    found_on: date
    reaction: str
    is_open: bool
    is_overdue: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingCounts:
    """What was done about findings.

    Parameters
    ----------
    found
        All of them: the sum of the four reactions, and of `corrected`, `closed_later` and `open`.
    corrected
        Corrected on the spot.
    contained, escalated, no_reaction
        What else was said of them first.
    closed_later
        Not corrected on the spot, and put right since.
    open
        Those with something left to do.
    """

    found: int
    corrected: int
    contained: int
    escalated: int
    no_reaction: int
    closed_later: int
    open: int

    @property
    def share_corrected(self) -> float | None:
        """Share corrected on the spot; none without a finding."""
        return self.corrected / self.found if self.found else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ageing:
    """How long open findings are open.

    Parameters
    ----------
    open
        All of them.
    by_age
        How many of each of ``AGES``; their sum is `open`.
    overdue
        Those after the day until which they were to be put right.
    no_reaction
        Those of which nothing was said yet.
    median_days, longest_days
        Days open; none while nothing is open.
    """

    open: int
    by_age: tuple[int, ...]
    overdue: int
    no_reaction: int
    median_days: float | None
    longest_days: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat:
    """One question of one station that was NOK again and again.

    Parameters
    ----------
    station, ref, asked
        Where, and what was asked.
    findings
        Two or more, each found within the window after the one before it, oldest first.
    """

    station: str
    ref: str
    asked: str
    findings: tuple[FindingSeen, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatResults:
    """Findings that came back.

    Parameters
    ----------
    within_days
        A finding is a repeat if another audit found the same within so many days before it.
    findings
        How many findings are looked at.
    repeats
        How many of them are repeats.
    each
        The questions with at least one of these; what came back most often, then newest, first.
    """

    within_days: int
    findings: int
    repeats: int
    each: tuple[Repeat, ...]

    @property
    def share(self) -> float | None:
        """Share of the findings that are repeats; none without a finding."""
        return self.repeats / self.findings if self.findings else None


def finding_counts(findings: Iterable[FindingSeen]) -> FindingCounts:
    """Count what was done about findings."""
    every = list(findings)

    def said(reaction: str) -> int:
        return sum(one.reaction == reaction for one in every)

    closed = sum(not one.is_open and one.reaction != "corrected" for one in every)
    return FindingCounts(
        found=len(every),
        corrected=said("corrected"),
        contained=said("contained"),
        escalated=said("escalated"),
        no_reaction=said(""),
        closed_later=closed,
        open=sum(one.is_open for one in every),
    )


def ageing_of(findings: Iterable[FindingSeen], today: date) -> Ageing:
    """Say how long open findings are open; one that a wrong clock dates after today is 0 days old."""
    still = [one for one in findings if one.is_open]
    days = [days_open(one, today) for one in still]
    return Ageing(
        open=len(still),
        by_age=tuple(
            sum(low <= age and (high is None or age <= high) for age in days) for low, high in AGES
        ),
        overdue=sum(one.is_overdue for one in still),
        no_reaction=sum(not one.reaction for one in still),
        median_days=float(median(days)) if days else None,
        longest_days=max(days, default=None),
    )


def days_open(finding: FindingSeen, today: date) -> int:
    """Give for how many days a finding is open, 0 or more."""
    return max((today - finding.found_on).days, 0)


def repeat_results(
    findings: Iterable[FindingSeen], within_days: int, counted: Collection[str]
) -> RepeatResults:
    """Find the findings that came back.

    Parameters
    ----------
    findings
        Any order; those from before the days that are looked at as well, for what came back.
    within_days
        The window, 1 or more days; found twice on one day by different audits is a repeat too.
    counted
        Ids of the audits whose findings are looked at.

    Notes
    -----
    One audit asks a question once, so that two findings of a question are always of two audits.
    """
    by_ref: dict[str, list[FindingSeen]] = {}
    for one in findings:
        by_ref.setdefault(one.ref, []).append(one)
    each: list[Repeat] = []
    looked_at = repeats = 0
    for ref in sorted(by_ref):
        for chain in _chains(
            sorted(by_ref[ref], key=lambda one: (one.found_on, one.id, one.audit)), within_days
        ):
            looked_at += sum(one.audit in counted for one in chain)
            again = sum(one.audit in counted for one in chain[1:])
            repeats += again
            if again:
                last = chain[-1]
                each.append(Repeat(station=last.station, ref=ref, asked=last.asked, findings=tuple(chain)))
    each.sort(key=lambda one: (-len(one.findings), -one.findings[-1].found_on.toordinal(), one.ref))
    return RepeatResults(within_days=within_days, findings=looked_at, repeats=repeats, each=tuple(each))


def _chains(findings: Sequence[FindingSeen], within_days: int) -> Iterator[list[FindingSeen]]:
    """Part findings of one question, in order of time, where more than the window lies between two."""
    chain = [findings[0]]
    for before, one in pairwise(findings):
        if (one.found_on - before.found_on).days > within_days:
            yield chain
            chain = []
        chain.append(one)
    yield chain
