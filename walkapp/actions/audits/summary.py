"""One line for each value stream whose audits are recorded, for the summary of everything."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress

from walkapp.actions.audits.figures import ageing_in_short, completion_in_short, last_weeks
from walkapp.actions.audits.telling import ageing_words, headline
from walkapp.actions.books import book_facts, books_of
from walkapp.actions.workplace import Workplace
from walkapp.errors import ChecklistError
from walkapp.language import tr
from walkapp.model.checklist import Stream

WEEKS = 4


def audit_summary_lines(place: Workplace) -> Iterator[str]:
    """Tell how many audits of the last four weeks were done, and which findings are open.

    Parameters
    ----------
    place
        Where the records are. Without a folder of checklists the plan is that of the newest audit's
        checklist.

    Returns
    -------
    iterator of str
        A line for each stream with an audit that was begun; nothing where there is none.
    """
    for stream in recorded_streams(place):
        span = last_weeks(place, stream, WEEKS)
        done = headline(completion_in_short(place, stream, span), span)
        still = ageing_words(ageing_in_short(place, stream))
        yield tr(
            "Audits of {stream}, by the records here: {done}. {still}.",
            stream=stream.name,
            done=done,
            still=still,
        )


def recorded_streams(place: Workplace) -> tuple[Stream, ...]:
    """Give the streams of which an audit was begun and a checklist with audits is known, by id.

    Parameters
    ----------
    place
        Where the records are. The checklist is that of the folder, or else that of the newest audit.
    """
    found: dict[str, Stream] = {}
    for book in books_of(place):
        if place.audit_book(book).starts and (stream := book_facts(place, book).stream) is not None:
            found[stream.id] = stream
    with suppress(ChecklistError):
        found |= {name: stream for name, stream in place.streams().items() if name in found}
    return tuple(found[name] for name in sorted(found) if found[name].audits is not None)
