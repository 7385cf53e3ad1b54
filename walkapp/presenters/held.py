"""The part that the next entry at a station is about: scanned or typed, shown, and let go by one tap.

It lies with the place in the store and is no record, so that it is there again after a restart. A tag is
for one entry; a lot stays until another one is scanned, or another station is worked at.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from walkapp.actions.parts_followed import followed_of, look_words
from walkapp.actions.reading import WalkFacts
from walkapp.actions.walking import NO_PART, SeenPart
from walkapp.analysis.wording import capital
from walkapp.language import msg, tr
from walkapp.model.records import PartSeen, Record
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session

if TYPE_CHECKING:
    from walkapp.actions.scanning import TakenLabel  # it reads pictures: pages of a walk do without

# no text: the name of a draft
_NOTE = "held part"
LET_GO = msg("tap to let go")
MOST_ON_KEY = 14
"""Letters of a tag on its key; the line above the page has all of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScanKeys:
    """The keys for scanning that a page of a walk has.

    Parameters
    ----------
    is_offered
        Whether there are any.
    held
        The part, or its lot, that the next entry is about; empty for none.
    detail
        What a tap on it does, and what has to be minded, in a few words.
    mark
        ``clean``; ``bad`` for a part that the concern is not about; ``undecided`` where something has to be
        minded; empty while nothing is held.
    mind
        The same in a whole sentence; empty for nothing.
    words
        What is held, in a whole sentence; empty where the key says it all.
    """

    is_offered: bool = False
    held: str = ""
    detail: str = ""
    mark: str = ""
    mind: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What is held.

    Parameters
    ----------
    seen
        Tag and lot.
    other_part, mind
        What has to be minded about its label, a sentence each; empty for nothing.
    """

    seen: SeenPart = NO_PART
    other_part: str = ""
    mind: str = ""


def held_at(session: Session, route: Route) -> Held:
    """Give what is held at the station of a walk; nothing at any other."""
    kept = session.kept.draft(_NOTE)
    if (kept.get("walk"), kept.get("station")) != (route.walk, route.station) or not route.walk:
        return Held()
    seen = SeenPart(
        part=kept.get("part", "")[:40],
        lot=kept.get("lot", "")[:60],
        read_by="code" if kept.get("read_by") == "code" else "typed",
    )
    return Held(seen=seen, other_part=kept.get("other_part", ""), mind=kept.get("mind", ""))


def hold(session: Session, route: Route, taken: TakenLabel) -> None:
    """Hold what a label says; a label without a lot leaves the lot that is held."""
    before = held_at(session, route).seen
    _keep(
        session,
        route,
        Held(
            seen=replace(taken.seen, lot=taken.seen.lot or before.lot),
            other_part=taken.other_part,
            mind=taken.mind,
        ),
    )


def let_go(session: Session) -> None:
    """Hold nothing any more."""
    session.kept.drop_draft(_NOTE)


def is_used(session: Session, route: Route) -> None:
    """An entry was made about the part: its tag is let go, its lot stays."""
    held = held_at(session, route)
    if not held.seen.lot:
        let_go(session)
    else:
        _keep(session, route, Held(seen=replace(held.seen, part="")))


def take_up_again(session: Session, route: Route, walk: WalkFacts, entry: Record | None) -> None:
    """After an undo, hold the part again that the entry was about: it is likely to be answered anew."""
    if entry is None or getattr(entry, "station", "") != route.station:
        return
    seen = seen_of(walk, entry)
    if seen is not None:
        _keep(session, route, Held(seen=SeenPart(part=seen.part, lot=seen.lot, read_by=seen.read_by)))


def seen_of(walk: WalkFacts, entry: Record) -> PartSeen | None:
    """Give what says which part an entry was about; none where nothing does."""
    return next(
        (r for r in reversed(walk.current) if isinstance(r, PartSeen) and r.about == entry.id), None
    )


def scan_keys(session: Session, route: Route, walk: WalkFacts) -> ScanKeys:
    """Say what the keys for scanning show at a station of a walk."""
    held = held_at(session, route)
    seen = held.seen
    if not (seen.part or seen.lot):
        return ScanKeys(is_offered=True)
    shown = (
        tr("Part {end_of}", end_of=_end_of(seen.part))
        if seen.part
        else tr("Lot {end_of}", end_of=_end_of(seen.lot))
    )
    again = _seen_here(walk, route, seen.part) if seen.part else ""
    mind = held.other_part or again or held.mind
    return ScanKeys(
        is_offered=True,
        held=shown,
        detail=tr("OTHER PART NUMBER") if held.other_part else tr("read the note") if mind else tr(LET_GO),
        mark="bad" if held.other_part else "undecided" if mind else "clean",
        mind=mind,
        # Only where the key does not say it all: a low window has no line to spare.
        words=tr("The next entry is about {held}.", held=held_words(seen))
        if shown != capital(held_words(seen))
        else "",
    )


def held_words(seen: SeenPart) -> str:
    """Name a part and its lot.

    Examples
    --------
    >>> held_words(SeenPart(part="EAR-7", lot="0303"))
    'part EAR-7 of lot 0303'
    """
    if not seen.part:
        return tr("lot {lot}", lot=seen.lot)
    return (
        tr("part {part} of lot {lot}", part=seen.part, lot=seen.lot)
        if seen.lot
        else tr("part {part}", part=seen.part)
    )


def _end_of(text: str) -> str:
    """Shorten a long text for a key: its end tells parts apart."""
    return text if len(text) <= MOST_ON_KEY else f"...{text[-(MOST_ON_KEY - 3) :]}"


def _seen_here(walk: WalkFacts, route: Route, tag: str) -> str:
    part = followed_of(walk.facts).of_tag(tag, route.walk)
    looks = [
        look
        for stop in (part.stops if part else ())
        if stop.station.id == route.station
        for look in stop.looks
        if look.entry.check == route.check
    ]
    if not looks:
        return ""
    return tr(
        "The part {tag} was looked at here before: {look}. Another answer counts as one more part.",
        tag=tag,
        look=look_words(looks[-1]),
    )


def _keep(session: Session, route: Route, held: Held) -> None:
    session.kept.keep_draft(
        _NOTE,
        {
            "walk": route.walk,
            "station": route.station,
            "part": held.seen.part,
            "lot": held.seen.lot,
            "read_by": held.seen.read_by,
            "other_part": held.other_part,
            "mind": held.mind,
        },
    )
