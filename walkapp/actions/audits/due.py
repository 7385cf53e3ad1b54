"""Which audits are due on a day, how each of them stands, and what it asks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from walkapp.actions.acting import watch_questions
from walkapp.actions.audits.reading import Asked, audit_facts, audited_streams, questions_of, zone_of
from walkapp.actions.audits.states import OVER, PlannedAudit, planned_between, recent_answers
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.calendar import day_of_work
from walkapp.analysis.audits.extra import Extra, extras_of
from walkapp.errors import InputError
from walkapp.language import msg, tr
from walkapp.model.auditing import AuditScheme
from walkapp.model.checklist import Stream
from walkapp.model.ids import month_of_book

FOLDER, KEPT = msg("checklists folder"), msg("checklist of the newest audit")
"""Where the plan of a stream was read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DueAudit:
    """One audit that is due, and what it asks.

    Parameters
    ----------
    planned
        The audit, and how it stands.
    asked
        The questions of the plan, station by station in stream order; of an audit that is begun what it
        asks by the checklist that it was begun with.
    added
        Questions beyond the plan: what was added when it was begun; of one that is not begun what would be
        added by the records of this store, as they are now. None for one that was not done.
    """

    planned: PlannedAudit
    asked: tuple[Asked, ...]
    added: tuple[Asked, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamDue:
    """The audits of one stream that are due on a day.

    Parameters
    ----------
    stream
        The stream.
    source
        Where its plan was read: ``FOLDER`` or ``KEPT``.
    day
        The day of work.
    audits
        By when they are due, then in the order of the layers.
    """

    stream: Stream
    source: str
    day: date
    audits: tuple[DueAudit, ...]


def audits_due(
    place: Workplace, day: date | None = None, *, stream: str = "", layer: str = ""
) -> tuple[StreamDue, ...]:
    """Give the audits of the plan whose period holds a day, to come or past; how each stands is as of now.

    Parameters
    ----------
    place
        Where the records are. Without a checklists folder the plan of each stream is that of the checklist
        that the store keeps with the newest audit of it.
    day
        The day of work; today's of each stream when none.
    stream, layer
        Only those of this stream and of this layer; all when empty.

    Returns
    -------
    tuple of StreamDue
        Every stream with audits, by id, also where none is due.

    Raises
    ------
    ChecklistError
        With every mistake of the checklists folder.
    InputError
        If no stream has audits, or none has that id or such a layer.
    """
    source = FOLDER if place.checklists is not None else KEPT
    streams = planning_streams(place)
    if not streams:
        raise InputError(
            tr(
                "No checklist here has audits; name a folder with --checklists in which a stream "
                "has audits.toml."
            )
        )
    chosen = [one for one in streams if stream in ("", one.id)]
    if not chosen:
        raise InputError(
            tr(
                "There are no audits of a stream {stream}; the streams with audits are {what}.",
                stream=repr(stream),
                what=", ".join(one.id for one in streams),
            )
        )
    layers = dict.fromkeys(known.id for one in chosen for known in _scheme(one).layers)
    if layer and layer not in layers:
        raise InputError(
            tr(
                "There is no layer {layer}; the layers are {layers}.",
                layer=repr(layer),
                layers=", ".join(layers),
            )
        )
    return tuple(_due_in(place, one, source, day, layer) for one in chosen)


def planning_streams(place: Workplace) -> tuple[Stream, ...]:
    """Give the streams by whose checklists audits are planned: those of the folder, else those kept.

    Raises
    ------
    ChecklistError
        With every mistake of the checklists folder.
    """
    return audited_streams(place) if place.checklists is not None else kept_streams(place)


def kept_streams(place: Workplace) -> tuple[Stream, ...]:
    """Give each stream that was audited, by id, with the checklist that is kept with its newest audit."""
    found: dict[str, Stream] = {}
    passed: set[tuple[str, str]] = set()
    # The id of a book begins with its month, and its end follows from the stream.
    read: set[str] = set()
    for book in sorted(filter(month_of_book, place.store.concerns()), reverse=True):
        if book[-17:] in read:
            continue
        for start in reversed(place.audit_book(book).starts):
            if start.stream in found or (start.stream, start.checklist) in passed:
                continue
            kept = place.kept_stream(start.stream, start.checklist)
            if kept is not None and kept.audits is not None:
                found[start.stream] = kept
                read.add(book[-17:])
            passed.add((start.stream, start.checklist))
    return tuple(found[stream] for stream in sorted(found))


def _due_in(place: Workplace, stream: Stream, source: str, day: date | None, layer: str) -> StreamDue:
    today = day_of_work(stream, place.now().astimezone(zone_of(stream)))
    on = day or today
    planned = planned_between(place, stream, on, on, layer=layer)
    answers = recent_answers(place, stream, max(on, today)) if planned else ()
    watched = watch_questions(place, stream.id) if planned else ()
    audits = []
    for one in planned:
        if one.audits:
            begun = one.audits[0]
            asked = audit_facts(place, begun.book, begun.start.id).asked
        else:
            extras: Sequence[Extra] = ()
            if one.state not in OVER:
                visits = place.audit_plan(stream).visits(one.slot)
                begun_on = max(one.slot.first_on, on, today)
                extras = extras_of(stream, one.layer, visits, begun_on, answers, watched)
            why = {extra.ref: extra.why for extra in extras}
            of_plan = questions_of(place, stream, one.slot, why, watched)
            asked = tuple(replace(a, why=why.get(a.ref, "")) for a in of_plan)
        audits.append(
            DueAudit(
                planned=one,
                asked=tuple(a for a in asked if not a.why),
                added=tuple(a for a in asked if a.why),
            )
        )
    return StreamDue(stream=stream, source=source, day=on, audits=tuple(audits))


def _scheme(stream: Stream) -> AuditScheme:
    assert stream.audits is not None
    return stream.audits


def count_due(found: Sequence[StreamDue]) -> int:
    """Say how many audits are due in all streams."""
    return sum(len(one.audits) for one in found)
