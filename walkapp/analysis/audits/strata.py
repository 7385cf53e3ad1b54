"""Answers of audits, counted where they compare: to the same question, in the same week."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from walkapp.analysis.audits.facts import AuditDone, Given

OK = "ok"
NOK = "not_ok"
NOT_APPLICABLE = "not_applicable"

Place = tuple[str, int, int]
"""A question (:attr:`Given.ref`) and a calendar week of ISO 8601: year and number."""


@dataclass(slots=True)
class Answers:
    """How often each answer was given.

    Parameters
    ----------
    ok, nok, not_applicable
        0 or more.
    """

    ok: int = 0
    nok: int = 0
    not_applicable: int = 0

    @property
    def judged(self) -> int:
        """Answers OK or NOK."""
        return self.ok + self.nok

    @property
    def given(self) -> int:
        """All answers."""
        return self.judged + self.not_applicable

    def __add__(self, other: Answers) -> Answers:
        return Answers(self.ok + other.ok, self.nok + other.nok, self.not_applicable + other.not_applicable)

    def __sub__(self, other: Answers) -> Answers:
        return Answers(self.ok - other.ok, self.nok - other.nok, self.not_applicable - other.not_applicable)


def place_of(audit: AuditDone, given: Given) -> Place:
    """Say to which question and in which week an answer was given.

    The week is that in which the audit was begun, so that an audit on paper counts where it was done and
    not where it was typed in, and one that is made up where things were really seen.
    """
    year, week, _ = audit.begun.isocalendar()
    return given.ref, year, week


class Strata:
    """The answers of each group by question and week.

    Parameters
    ----------
    done
        Audits in any order.
    by
        Names the group that an audit belongs to.
    """

    def __init__(self, done: Iterable[AuditDone], by: Callable[[AuditDone], str]) -> None:
        self._groups: dict[Place, dict[str, Answers]] = {}
        self._totals: dict[Place, Answers] = {}
        for audit in done:
            group = by(audit)
            for given in audit.given:
                place = place_of(audit, given)
                for counted in (
                    self._groups.setdefault(place, {}).setdefault(group, Answers()),
                    self._totals.setdefault(place, Answers()),
                ):
                    counted.ok += given.answer == OK
                    counted.nok += given.answer == NOK
                    counted.not_applicable += given.answer == NOT_APPLICABLE

    def __iter__(self) -> Iterator[Place]:
        """Give all places in order."""
        return iter(sorted(self._groups))

    def groups(self, place: Place) -> Mapping[str, Answers]:
        """Give the answers of each group that gave any."""
        return self._groups[place]

    def total(self, place: Place) -> Answers:
        """Give the answers of all groups together."""
        return self._totals[place]

    def others(self, place: Place, group: str) -> Answers:
        """Give the answers of all groups but one, which gave some too."""
        return self._totals[place] - self._groups[place][group]


def in_order(done: Iterable[AuditDone]) -> tuple[AuditDone, ...]:
    """Put audits into the order in which they were begun; those of the same moment by id."""
    return tuple(sorted(done, key=lambda audit: (audit.begun, audit.id)))


def is_between(given: Sequence[Given], place: int) -> bool:
    """Whether the answer before was given at the same station, so that no walking lies between."""
    return place > 0 and given[place].station == given[place - 1].station
