"""Typing in an audit that was done on paper: which questions the paper asks, and when it was done.

The paper may have been printed days before, or on a tablet with other records. The plan is the same on
every tablet; what was added is told by the numbers on the paper, and the check number proves that nothing
is missing and nothing else is asked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timezone
from itertools import islice, product

from walkapp.actions.acting import watch_questions
from walkapp.actions.audits.doing import OnPaper, begin_on_paper
from walkapp.actions.audits.page import added_number, check_number
from walkapp.actions.audits.paper import asked_on_paper
from walkapp.actions.audits.reading import Asked, questions_of, zone_of
from walkapp.actions.audits.states import PlannedAudit, planned_audit
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.calendar import moment_of
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.checklist import Stream
from walkapp.model.records import AuditStart, WatchQuestion

_MOST_TRIED = 1000
"""Ways to read the numbers on a paper that are tried; each is right by chance once in a million."""

_NUMBER = re.compile(r"[0-9]{4}", re.ASCII)
_SIX_DIGITS = re.compile(r"[0-9]{6}", re.ASCII)


@dataclass(frozen=True, kw_only=True)
class PaperReader:
    """Finds out what a paper of an audit asks, from the numbers on it.

    Parameters
    ----------
    place, stream, planned
        The audit, as this tablet plans it.
    here
        What this tablet would add if the page were printed now.
    known
        All that could be added to an audit of the stream, by the number that stands for it on paper.
    watched
        The verification questions that are known here.
    """

    place: Workplace
    stream: Stream
    planned: PlannedAudit
    here: tuple[str, ...]
    known: Mapping[str, tuple[str, ...]]
    watched: tuple[WatchQuestion, ...]

    def asked(self, added: Iterable[str]) -> tuple[Asked, ...]:
        """Give what the audit asks, with what was added."""
        return questions_of(self.place, self.stream, self.planned.slot, added, self.watched)

    def added(self, check: str, numbers: str = "") -> tuple[str, ...]:
        """Find what was printed beyond the plan.

        Parameters
        ----------
        check
            The check number of the paper; blanks mean nothing.
        numbers
            The numbers with a plus on it, in their order, parted by blanks or commas; without any the
            paper may ask the plan alone, or what this tablet would add now.

        Returns
        -------
        tuple of str
            As :attr:`AuditAnswer.ref` has it; with it this tablet asks the questions of the paper.

        Raises
        ------
        InputError
            If a number is not known here, or the paper asks something else.
        """
        digits = "".join(check.split())
        if not _SIX_DIGITS.fullmatch(digits):
            raise InputError(
                tr(
                    "Check number: {check} is not six digits such as 614 926; copy it again.",
                    check=repr(check),
                )
            )
        typed = self._numbers(numbers)
        ways: Iterable[Sequence[str]] = (
            islice(product(*(self.known[number] for number in typed)), _MOST_TRIED)
            if typed
            else (self.here, ())
        )
        planned = {one.ref for one in self.asked(())}
        for way in ways:
            if check_number(self.planned.slot, (one.ref for one in self.asked(way))) == digits:
                return tuple(ref for ref in dict.fromkeys(way) if ref not in planned)
        raise InputError(
            tr(
                "Check number: it does not belong to these questions; compare layer, day, shift "
                "and all numbers with a plus on the paper, and if they agree use the checklist "
                "that it was printed with (the paper tells how its SHA-256 begins; here it is "
                "{digest}).",
                digest=self.stream.digest[:8],
            )
        )

    def _numbers(self, text: str) -> tuple[str, ...]:
        found = text.replace(",", " ").replace("+", " ").split()
        for number in found:
            if not _NUMBER.fullmatch(number):
                raise InputError(
                    tr(
                        "Numbers with a plus: {number} is not four digits such as 4821; copy it again.",
                        number=repr(number),
                    )
                )
            if number not in self.known:
                raise InputError(
                    tr(
                        "Numbers with a plus: {number} is not known here; copy it again, or "
                        "merge the records of the tablet that printed the page first.",
                        number=number,
                    )
                )
        return tuple(found)


def paper_reader(place: Workplace, stream: Stream, planned: PlannedAudit) -> PaperReader:
    """Gather what is needed to find out what a paper of an audit asks."""
    watched = watch_questions(place, stream.id)
    questions = stream.audits.questions if stream.audits else ()
    refs = [f"{q.station}/{q.id}" for q in questions] + [f"{q.station}/{q.id}" for q in watched]
    known: dict[str, tuple[str, ...]] = {}
    for ref in sorted(set(refs)):
        number = added_number(ref)
        known[number] = (*known.get(number, ()), ref)
    here = tuple(one.ref for one in asked_on_paper(place, stream, planned) if one.why)
    return PaperReader(place=place, stream=stream, planned=planned, here=here, known=known, watched=watched)


def type_in(
    reader: PaperReader,
    *,
    by: str,
    begun: tuple[date, str],
    signed: tuple[date, str],
    check: str,
    numbers: str = "",
) -> AuditStart:
    """Begin to type in an audit that was done on paper.

    Parameters
    ----------
    reader
        For the audit.
    by
        Role and initials on the paper.
    begun, signed
        Day and local time of the stream, as written on the paper.
    check, numbers
        As for :meth:`PaperReader.added`.

    Returns
    -------
    AuditStart
        The audit, to be answered and signed like any other.

    Raises
    ------
    InputError
        As :meth:`PaperReader.added` and :func:`walkapp.actions.audits.doing.begin_on_paper` do.
    """
    added = reader.added(check, numbers)
    place, stream, slot = reader.place, reader.stream, reader.planned.slot
    planned = planned_audit(place, stream, slot.layer, slot.day, slot.shift)
    began = _read_moment(stream, begun, after=planned.opens)
    paper = OnPaper(by=by, begun=began, signed=_read_moment(stream, signed, after=began), added=added)
    return begin_on_paper(place, stream, planned, paper)


def _read_moment(stream: Stream, written: tuple[date, str], *, after: datetime) -> datetime:
    """Read a local time; one that comes twice in a night as the second, where the first is too early."""
    try:
        first = _local_moment(stream, *written)
        offset = first.astimezone(zone_of(stream)).replace(fold=1).utcoffset()
    except OverflowError:  # at the ends of the calendar
        raise InputError(
            tr(
                "{written} {written2} cannot be when it was; mend the date.",
                written=written[0],
                written2=written[1],
            )
        ) from None
    second = first.replace(tzinfo=timezone(offset)) if offset is not None else first
    return second if first < after <= second else first


def _local_moment(stream: Stream, day: date, time: str) -> datetime:
    """Read a local time that was typed from a paper, in the stream's time zone.

    Raises
    ------
    InputError
        If it is no time of day.
    """
    try:
        at = datetime.strptime(time, "%H:%M").time()  # noqa: DTZ007 (the zone follows)
    except ValueError:
        raise InputError(tr("{time} is no time of day; write it such as 06:40.", time=repr(time))) from None
    return moment_of(day, at, zone_of(stream))
