"""What leaves in a bundle: records, copies of pictures, checklists and the computed answers."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from walkapp.actions.books import books_of
from walkapp.actions.keys import signer_of
from walkapp.actions.leaving import pictures_to_send
from walkapp.actions.outputs import refuse_practice
from walkapp.actions.reading import ConcernFacts, concern_facts, records_of
from walkapp.actions.workplace import Workplace
from walkapp.bundle import BundleFacts, FirstBadRow, write_bundle
from walkapp.checklists import digest_of
from walkapp.errors import InputError
from walkapp.language import in_english, tr
from walkapp.model.ids import is_book
from walkapp.model.records import AuditStart, Record, WalkStart
from walkapp.store import Store


def bundle_concerns(
    place: Workplace,
    out: Path,
    *,
    concern: str | None = None,
    audits_of: str | None = None,
    since: date | None = None,
    originals: bool = False,
) -> BundleFacts:
    """Write records of concerns and books, photos, checklists and the computed answers into one bundle.

    It is signed when the tablet has a key that can be used; `BundleFacts.signed` tells.

    Parameters
    ----------
    place
        Where the records are.
    out
        The zip to write; an older file of that name is replaced in one step.
    concern
        Only this concern, audit book or desk book; all when none. A concern goes without the audits and the
        desk book of its stream.
    audits_of
        Only the audit books of this value stream.
    since
        Only concerns and books in which anything was recorded on or after this date (each whole, so
        that its answer can be worked out again from the bundle alone: with one entry of that day the
        audits of a whole month go along). An entry that a tablet made after one of that date counts as
        well, whatever its clock said.
    originals
        Whether to send photos as they were taken, place and serial number included, instead of copies
        without (see :mod:`walkapp.actions.leaving`).

    Raises
    ------
    InputError
        If there is no such concern, audit book or audits, or nothing to write, or the store is practice.
    BundleError
        If the file cannot be written.
    """
    refuse_practice(place.store)
    if concern is not None:
        ids = [concern]
    else:
        ids = list(place.store.concerns() if audits_of is None else books_of(place, audits_of))
    chosen = ids if since is None else _recorded_since(place.store, ids, since)
    records: list[Record] = []
    rows: list[FirstBadRow] = []
    for concern_id in sorted(chosen):
        records.extend(records_of(place.store, concern_id))
        if is_book(concern_id):
            continue  # Audits, or what the desk keeps, have no first bad station.
        try:
            with in_english():
                rows.extend(_rows(concern_facts(place, concern_id)))
        except InputError:
            # The concern's own record is damaged or not here yet: nothing is worked out, all goes on.
            if concern_id == concern and not records:
                concern_facts(place, concern_id)  # says so in the language of the person
    if not records:
        raise InputError(
            tr(
                "There is nothing to bundle: {why_nothing}.",
                why_nothing=_why_nothing(concern, audits_of, since),
            )
        )
    checklists = dict(_sound_checklists(place.store, records))
    signer, _ = signer_of(place.store)
    with tempfile.TemporaryDirectory() as folder:
        leaving = pictures_to_send(place.store, records, Path(folder), originals=originals)
        written = write_bundle(
            out, records=records, rows=rows, photos=leaving.files, checklists=checklists, signer=signer
        )
    return replace(written, photo_notes=leaving.notes)


def _why_nothing(concern: str | None, audits_of: str | None, since: date | None) -> str:
    if since is not None:
        return tr("nothing was recorded since that date")
    if audits_of is not None:
        return tr("this store has no audit of the value stream {audits_of}", audits_of=repr(audits_of))
    return tr("this store has no such book") if concern is not None else tr("this store has no record yet")


def _sound_checklists(store: Store, records: Iterable[Record]) -> Iterator[tuple[str, Mapping[str, bytes]]]:
    """As with pictures; a damaged one would get the whole bundle refused where it is merged."""
    for digest in sorted({r.checklist for r in records if isinstance(r, (WalkStart, AuditStart))}):
        files = store.checklist(digest)
        if files is not None and digest_of(files) == digest:
            yield digest, files


def _recorded_since(store: Store, concerns: Iterable[str], since: date) -> list[str]:
    """Choose the concerns with an entry of that day or later, or one made after such an entry.

    A clock that went back must not hide an entry: on one tablet the running numbers tell what came later.
    """
    first: dict[str, int] = {}
    last: dict[str, dict[str, int]] = {}
    for record in store.all_records():
        numbers = last.setdefault(record.concern, {})
        numbers[record.device] = max(numbers.get(record.device, 0), record.number)
        if datetime.fromisoformat(record.at).date() >= since:
            first[record.device] = min(first.get(record.device, record.number), record.number)
    return [
        concern
        for concern in concerns
        if any(number >= first.get(device, number + 1) for device, number in last.get(concern, {}).items())
    ]


def _rows(facts: ConcernFacts) -> Iterable[FirstBadRow]:
    """One row a station; none when nobody has the checklist, since nothing can be worked out."""
    if facts.stream is None:
        return ()
    answer = facts.locate(thorough=False)
    return tuple(
        FirstBadRow(
            concern=facts.concern.concern,
            defect=facts.concern.defect,
            stream=facts.concern.stream,
            station_order=verdict.order,
            station=verdict.station,
            checked=verdict.checked,
            nok=verdict.nok,
            share=verdict.share,
            low95=verdict.interval.low if verdict.interval else None,
            high95=verdict.interval.high if verdict.interval else None,
            probability_origin=verdict.probability_origin,
            verdict=verdict.verdict,
            first_bad_station=answer.first_bad_station or "",
        )
        for verdict in answer.stations
    )
