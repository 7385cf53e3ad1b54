"""Writing a bundle from the window: of one concern, or of the audits of a value stream."""

from __future__ import annotations

from walkapp.actions.books import books_of
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.copies import make_missing_copies
from walkapp.actions.keys import written_text
from walkapp.language import tr, trn
from walkapp.presenters.session import Session


def write_concern_bundle(session: Session, concern: str) -> str:
    """Write the bundle of a concern; say where it is, the eight digits to compare, and who signed it."""
    make_missing_copies(session.place, concern)
    return _write(session, f"walk-{concern[-6:]}", concern=concern)


def write_audits_bundle(session: Session, stream: str) -> str:
    """Write the bundle of all audits of a value stream; say the same."""
    for book in books_of(session.place, stream):
        make_missing_copies(session.place, book)
    return _write(session, f"audits-{stream}", audits_of=stream)


def _write(session: Session, name: str, *, concern: str | None = None, audits_of: str | None = None) -> str:
    session.bundles.mkdir(parents=True, exist_ok=True)
    stamp = session.place.now().strftime("%Y%m%d-%H%M%S")
    out = session.bundles / f"{name}-{session.place.store.device[-6:]}-{stamp}.zip"
    facts = bundle_concerns(session.place, out, concern=concern, audits_of=audits_of)
    words = tr(
        "Bundle written: {path}, {records}, {photos}. Compare these 8 digits where it is merged: {digest}.",
        path=facts.path,
        records=trn("{count} record", "{count} records", facts.record_count),
        photos=trn("{count} photo", "{count} photos", facts.photo_count),
        digest=facts.digest[:8],
    )
    return " ".join(filter(None, (words, written_text(session.place.store, facts), *facts.photo_notes)))
