"""What lies outside any walk: the records of a concern, or those of a book, read alike.

A page of pictures, of entries that disagree, or of what is covered works for both. An audit book, or the
desk book of a stream, has no record that opened it: what it is about follows from its id and its records.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.errors import ChecklistError, InputError
from walkapp.language import month_words, tr
from walkapp.model.checklist import Stream
from walkapp.model.ids import book_id, desk_book_id, is_book, is_desk_book, month_of_book
from walkapp.model.records import AuditMissed, AuditStart, Deliveries, Record, SuccessFactor
from walkapp.model.standing import Conflict, Standing, standing_of


@dataclass(frozen=True, slots=True, kw_only=True)
class BookFacts:
    """What holds in an audit book, or in the desk book of a stream.

    Parameters
    ----------
    id
        Its id.
    what
        What it is about: "Audits of", the stream and the month; or the desk of the stream.
    stream
        The value stream, with the checklist of the newest audit that is here; none when nobody has it.
    standing
        The records that hold.
    """

    id: str
    what: str
    stream: Stream | None
    standing: Standing

    @property
    def conflicts(self) -> tuple[Conflict, ...]:
        """Corrections that contradict each other."""
        return self.standing.conflicts


Facts = ConcernFacts | BookFacts
"""What is known of a concern or of a book."""


@dataclass(frozen=True)
class OutsideWalks:
    """What of a concern, or of a book, was recorded outside any walk.

    Parameters
    ----------
    facts
        The concern, or the book.
    """

    facts: Facts

    @cached_property
    def current(self) -> tuple[Record, ...]:
        """The records outside any walk that hold."""
        return tuple(r for r in self.facts.standing.current if not r.walk)


def facts_of(place: Workplace, some_id: str) -> Facts:
    """Read everything known of a concern or of a book, whichever it is.

    Raises
    ------
    InputError
        If the store has no such concern, or no record of such a book.
    """
    if is_desk_book(some_id):
        return _desk_facts(place, some_id)
    return book_facts(place, some_id) if is_book(some_id) else concern_facts(place, some_id)


def book_facts(place: Workplace, book: str) -> BookFacts:
    """Read everything known of an audit book.

    Raises
    ------
    InputError
        If the store has no record of it.
    """
    standing = place.audit_book(book).standing
    if book not in place.store.concerns():
        raise InputError(tr("There are no such audits in this store; merge a bundle that has them."))
    month = month_of_book(book)
    stream_id = stream_of_book(book, standing.current)
    stream = _stream_of(place, stream_id, standing.current)
    name = stream.name if stream else stream_id
    return BookFacts(
        id=book,
        what=", ".join(
            filter(
                None,
                (
                    tr("Audits of {name}", name=name) if name else tr("Audits"),
                    month_words(month) if month else "",
                ),
            )
        ),
        stream=stream,
        standing=standing,
    )


def desk_standing(place: Workplace, book: str) -> Standing:
    """Give what holds in a desk book; nothing where no record of it is here."""
    return standing_of([r for r in place.store.records(book) if not r.walk])


def stream_of_desk(book: str, records: Iterable[Record]) -> str:
    """Give the id of the stream whose desk book it is; empty while no record here tells."""
    named = (r.stream for r in records if isinstance(r, (Deliveries, SuccessFactor)))
    return next((stream for stream in dict.fromkeys(named) if desk_book_id(stream) == book), "")


def _desk_facts(place: Workplace, book: str) -> BookFacts:
    standing = desk_standing(place, book)
    if book not in place.store.concerns():
        raise InputError(tr("Nothing is kept of such a value stream here; merge a bundle that has it."))
    stream_id = stream_of_desk(book, standing.current)
    stream = None
    with suppress(ChecklistError):
        stream = place.streams().get(stream_id)
    name = stream.name if stream else stream_id
    return BookFacts(
        id=book,
        what=", ".join(filter(None, (tr("Deliveries and success factors"), name))),
        stream=stream,
        standing=standing,
    )


def stream_of_book(book: str, records: Iterable[Record]) -> str:
    """Give the id of the stream whose book it is; empty while no record here tells.

    A record from elsewhere may claim any stream: only the one that gives the id of this very book counts.
    """
    month = month_of_book(book)
    named = (r.stream for r in records if isinstance(r, (AuditStart, AuditMissed)))
    streams = (stream for stream in dict.fromkeys(named) if month and book_id(stream, month) == book)
    return next(streams, "")


def books_of(place: Workplace, stream: str = "", *, since: date | None = None) -> tuple[str, ...]:
    """Give the ids of the audit books that are here, the oldest first; no record is read.

    Parameters
    ----------
    place
        Where the records are.
    stream
        Only those of this value stream; all when empty.
    since
        Only those of the month of this day and later ones; all when none.
    """
    begins = since.replace(day=1) if since is not None else date.min
    found: Iterator[tuple[str, date]] = (
        (one, month)
        for one in place.store.concerns()
        if (month := month_of_book(one)) is not None and month >= begins
    )
    return tuple(one for one, month in found if not stream or book_id(stream, month) == one)


def _stream_of(place: Workplace, stream_id: str, records: Iterable[Record]) -> Stream | None:
    if not stream_id:
        return None
    starts = [r for r in records if isinstance(r, AuditStart) and r.stream == stream_id]
    for start in reversed(starts):
        with suppress(ChecklistError):
            kept = place.kept_stream(stream_id, start.checklist)
            if kept is not None:
                return kept
    with suppress(ChecklistError):
        return place.streams().get(stream_id)
    return None
