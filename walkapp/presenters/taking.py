"""What a scanned or typed text does on the page that it was meant for.

A camera, a picture, a hand scanner and a person who types all end here. A label is from outside: it opens a
page or names a part, and never answers anything.
"""

from __future__ import annotations

from dataclasses import replace

from walkapp.actions.parts_followed import followed_of
from walkapp.actions.reading import WalkFacts, concern_facts, walk_facts
from walkapp.actions.scanning import (
    Label,
    StationLabel,
    station_in,
    taken_label,
    understand,
)
from walkapp.errors import InputError
from walkapp.language import msg, tr
from walkapp.model.checklist import Station
from walkapp.presenters.form import draft_name
from walkapp.presenters.held import hold
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session

CHECK_PAGES = ("judge", "count", "measure")
SCAN_PAGES = ("scan", "scan_picture", "scan_type")

PAGES_WITHOUT_PART = msg(
    "Only a station's label means something here; scan the code of a part on a walk, at the "
    "station where you look at it."
)


def meant_for(route: Route) -> Route:
    """Give the page that a scan was asked for from: the pages for scanning lie above it."""
    while route.screen in SCAN_PAGES:
        route = route.up()
    return route


def take_text(session: Session, route: Route, text: str, *, kind: str = "", read_by: str = "code") -> Route:
    """Do what a text means on a page.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page that it is meant for.
    text, kind
        What was read, as for :func:`walkapp.actions.scanning.understand`.
    read_by
        ``code`` or ``typed``.

    Returns
    -------
    Route
        Where to be now: the page itself, with another unit perhaps, or another place.

    Raises
    ------
    InputError
        If the text is nothing that can be used here; one sentence says why.
    """
    found = understand(session.place, text, kind)
    if isinstance(found, StationLabel):
        return _to_station(session, route, found)
    if not route.concern:
        raise InputError(tr(PAGES_WITHOUT_PART))
    if not route.walk:
        return _to_part(session, route, found)
    if not route.station:
        raise InputError(tr("Choose the station first, then scan the part."))
    walk = walk_facts(session.place, route.concern, route.walk)
    station = walk.stream.station(route.station)
    if station is None:
        raise InputError(tr("The checklist has no such station; choose one in the strip."))
    if route.screen in ("sample", "count") and (filled := _into_the_lot(session, route, found)):
        return filled
    return _for_the_next_entry(session, route, walk, station, found, read_by)


def _to_station(session: Session, route: Route, label: StationLabel) -> Route:
    if not route.walk:
        return Route(screen="at_station", stream=label.stream, station=label.station, concern=route.concern)
    walk = walk_facts(session.place, route.concern, route.walk)
    station = station_in(walk, label)
    return Route(screen="station", concern=route.concern, walk=route.walk, station=station.id)


def _to_part(session: Session, route: Route, label: Label) -> Route:
    tag = label.plain or label.serial
    part = followed_of(concern_facts(session.place, route.concern)).of_tag(tag) if tag else None
    if part is None:
        raise InputError(
            tr(
                "No part with this tag was looked at for this concern; scan it on a walk, at the "
                "station where you look at it."
            )
        )
    return route.down("followed_part", entry=part.key)


def _into_the_lot(session: Session, route: Route, label: Label) -> Route | None:
    """Fill in the form for the lot, from there or from the page that counts; none for a parallel unit."""
    lot = label.lot or label.plain
    if not lot or (route.screen == "count" and label.plain):
        return None
    form = replace(route, screen="sample") if route.screen == "sample" else route.down("sample")
    filled = {"lot": lot} | ({"made_on": label.made_on} if label.made_on else {})
    session.kept.keep_draft(draft_name(form), {**session.kept.draft(draft_name(form)), **filled})
    return form


def _for_the_next_entry(
    session: Session, route: Route, walk: WalkFacts, station: Station, label: Label, read_by: str
) -> Route:
    taken = taken_label(walk, station, label, read_by=read_by)
    if taken.unit:
        if route.screen not in CHECK_PAGES:
            raise InputError(
                tr("This is {unit}; open the check first, then scan it once more.", unit=taken.unit)
            )
        return replace(route, unit=taken.unit)
    if route.screen == "count":
        raise InputError(
            tr("Parts are counted here and not told apart; scan their lot, or open another check.")
        )
    if route.screen in CHECK_PAGES:
        check = station.check(route.check)
        if check is None:
            raise InputError(tr("The station has no such check; go back and choose one."))
        if check.kind not in ("attribute", "measurement"):
            raise InputError(
                tr("This is asked of the station and not of a part; open a check of parts first.")
            )
        hold(session, route, taken)
        return route
    here = Route(screen="station", concern=route.concern, walk=route.walk, station=station.id)
    hold(session, here, taken)
    return way_to_check(here, walk, station)


def way_to_check(here: Route, walk: WalkFacts, station: Station) -> Route:
    """Give the page on which a part is judged at a station; that of the station where it is to be chosen.

    The cautions of a station come first, whatever was scanned.
    """
    if station.hazards and station.id not in walk.hazards_read:
        return here
    finders = [
        c for c in station.finders(walk.facts.concern.defect) if c.kind in ("attribute", "measurement")
    ]
    of_parts = [c for c in station.checks if c.kind in ("attribute", "measurement")]
    chosen = next((group for group in (finders, of_parts) if len(group) == 1), None)
    if chosen is None:
        return here
    screen = "judge" if chosen[0].kind == "attribute" else "measure"
    return replace(here, screen=screen, check=chosen[0].id)
