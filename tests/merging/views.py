"""Everything that a user can see of a store, in one value that can be compared."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from walkapp.actions.audits.book import Finding
from walkapp.actions.books import Facts as AnyFacts
from walkapp.actions.books import book_facts, books_of
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.disputes import Dispute, disputes_of
from walkapp.actions.reading import all_concerns
from walkapp.actions.summaries import summarise, summary_to_json
from walkapp.actions.workplace import Workplace
from walkapp.analysis.results import OriginAnswer
from walkapp.model.records import Photo, Record
from walkapp.model.standing import Standing
from walkapp.store import Store


@dataclass(frozen=True)
class Facts:
    """What a store holds.

    Parameters
    ----------
    records
        Every record, in the order in which the store gives them.
    standings
        What holds in each concern, and every conflict with all its heads.
    disputes
        The conflicts in words, of concerns and of audit books.
    books
        What holds in each audit book, and how each of its findings stands.
    missing
        Running numbers that are missing, by tablet.
    photos, checklists
        Names of the files that are kept; without pictures that were taken back, which stay where they
        were taken and no longer go round.
    """

    records: tuple[Record, ...]
    standings: tuple[Standing, ...]
    disputes: tuple[tuple[Dispute, ...], ...]
    books: tuple[tuple[Standing, tuple[Finding, ...]], ...]
    missing: dict[str, Any]
    photos: tuple[str, ...]
    checklists: tuple[str, ...]


@dataclass(frozen=True)
class View:
    """What a user can see.

    Parameters
    ----------
    facts
        What the store holds.
    answers
        Where each defect starts; none where that cannot be said.
    summary
        The summary as JSON.
    bundle
        Bytes of the bundle of the whole store; empty where there is nothing to write.
    """

    facts: Facts
    answers: tuple[OriginAnswer | None, ...]
    summary: str
    bundle: bytes


def facts_of(place: Workplace) -> Facts:
    """Look at what a store holds; nothing is worked out from it."""
    store = place.store
    concerns = all_concerns(place)
    books = [book_facts(place, book) for book in books_of(place)]
    return Facts(
        records=tuple(store.all_records()),
        standings=tuple(one.standing for one in concerns),
        disputes=tuple(disputes_of(place, one) for one in (*concerns, *books)),
        books=tuple((one.standing, place.audit_book(one.id).findings) for one in books),
        missing=store.missing_numbers(),
        photos=tuple(
            name for name in store.photo_names() if name not in _taken_back(store, (*concerns, *books))
        ),
        checklists=store.checklist_digests(),
    )


def _taken_back(store: Store, concerns: Iterable[AnyFacts]) -> set[str]:
    holds = {r.file_name for one in concerns for r in one.standing.current if isinstance(r, Photo)}
    return {r.file_name for r in store.all_records() if isinstance(r, Photo)} - holds


def view_of(place: Workplace, folder: Path) -> View:
    """Look at a store and at all that is worked out from it; a bundle is written into `folder`."""
    summaries = summarise(place, thorough=False)
    out = folder / "view.zip"
    return View(
        facts=facts_of(place),
        answers=tuple(one.answer for one in summaries),
        summary=json.dumps([summary_to_json(one) for one in summaries]),
        bundle=bundle_concerns(place, out).path.read_bytes() if place.store.concerns() else b"",
    )
