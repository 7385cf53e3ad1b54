"""Answers of audits, counted where they compare: to the same question, in the same week."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from walkapp.analysis.audit_facts import AuditDone, Given

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

    def add(self, other: Answers) -> None:
        """Count those of another too."""
        self.ok += other.ok
        self.nok += other.nok
        self.not_applicable += other.not_applicable


Stratum = Mapping[str, Answers]
"""The answers of one place, for each group that gave any."""


def place_of(audit: AuditDone, given: Given) -> Place:
    """Say to which question and in which week an answer was given.

    The week is that in which the audit was begun, so that an audit on paper counts where it was done and
    not where it was typed in, and one that is made up where things were really seen.
    """
    year, week, _ = audit.begun.isocalendar()
    return given.ref, year, week


def strata_of(done: Iterable[AuditDone], by: Callable[[AuditDone], str]) -> dict[Place, dict[str, Answers]]:
    """Count the answers of each group by question and week.

    Parameters
    ----------
    done
        Audits in any order.
    by
        Names the group that an audit belongs to.
    """
    found: dict[Place, dict[str, Answers]] = {}
    for audit in done:
        group = by(audit)
        for given in audit.given:
            counted = found.setdefault(place_of(audit, given), {}).setdefault(group, Answers())
            counted.ok += given.answer == OK
            counted.nok += given.answer == NOK
            counted.not_applicable += given.answer == NOT_APPLICABLE
    return found


def total_of(stratum: Stratum, leave_out: str | None = None) -> Answers:
    """Count the answers of all groups of a place together, or of all but one."""
    total = Answers()
    for group, answers in stratum.items():
        if group != leave_out:
            total.add(answers)
    return total


def in_order(done: Iterable[AuditDone]) -> tuple[AuditDone, ...]:
    """Put audits into the order in which they were begun; those of the same moment by id."""
    return tuple(sorted(done, key=lambda audit: (audit.begun, audit.id)))


def is_between(given: Sequence[Given], place: int) -> bool:
    """Whether the answer before was given at the same station, so that no walking lies between."""
    return place > 0 and given[place].station == given[place - 1].station
