"""What the desk knows of a value stream: its concerns, and what its desk book holds."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import TypeVar

from walkapp.actions.books import desk_standing, stream_of_desk
from walkapp.actions.reading import ConcernFacts, all_concerns
from walkapp.actions.workplace import Workplace
from walkapp.errors import ChecklistError, InputError
from walkapp.language import tr
from walkapp.model.checklist import Stream
from walkapp.model.ids import desk_book_id, is_desk_book
from walkapp.model.records import Record
from walkapp.model.standing import Standing

R = TypeVar("R", bound=Record)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeskFacts:
    """What is known of one value stream at the desk.

    Parameters
    ----------
    stream
        Id of the value stream.
    known
        The stream with its newest checklist; none when nobody has it here.
    concerns
        Its concerns, newest first.
    standing
        What holds in its desk book.
    """

    stream: str
    known: Stream | None
    concerns: tuple[ConcernFacts, ...]
    standing: Standing

    @property
    def name(self) -> str:
        """Name of the stream, or its id while the checklist is not here."""
        return self.known.name if self.known else self.stream

    @property
    def book(self) -> str:
        """Id of its desk book: it stands where records of a concern have the concern's."""
        return desk_book_id(self.stream)

    def kept(self, kind: type[R]) -> tuple[R, ...]:
        """Give the records of one kind of the desk book that hold, the oldest first."""
        return tuple(
            r
            for r in self.standing.current
            if isinstance(r, kind) and getattr(r, "stream", "") == self.stream
        )


def desk_streams(place: Workplace, concerns: Sequence[ConcernFacts] | None = None) -> tuple[str, ...]:
    """Give the ids of the streams that have a concern, a desk book or a checklist here, sorted.

    Parameters
    ----------
    place
        Where the records are.
    concerns
        All concerns, where they were read already.
    """
    found = {facts.concern.stream for facts in (all_concerns(place) if concerns is None else concerns)}
    with suppress(ChecklistError):  # home says what is wrong with the checklists
        found.update(place.streams())
    # A stream of which nothing came back has deliveries and no concern.
    for book in filter(is_desk_book, place.store.concerns()):
        found.add(stream_of_desk(book, desk_standing(place, book).current))
    return tuple(sorted(found - {""}))


def desk_facts(place: Workplace, stream: str, concerns: Sequence[ConcernFacts] | None = None) -> DeskFacts:
    """Read what is known of a stream; parameters as for :func:`desk_streams`.

    Raises
    ------
    InputError
        If neither a checklist nor a record of such a stream is here.
    """
    everything = all_concerns(place) if concerns is None else concerns
    own = tuple(facts for facts in everything if facts.concern.stream == stream)
    standing = desk_standing(place, desk_book_id(stream))
    known = None
    with suppress(ChecklistError):  # the records are read all the same
        known = place.streams().get(stream)
    known = known or next((facts.stream for facts in own if facts.stream is not None), None)
    if known is None and not own and not standing.current:
        raise InputError(
            tr(
                "There is nothing of a value stream {stream} here; see 'walkapp summary'.",
                stream=repr(stream),
            )
        )
    return DeskFacts(stream=stream, known=known, concerns=own, standing=standing)
