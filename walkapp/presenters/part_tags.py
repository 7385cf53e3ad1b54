"""Tags of parts that are measured at several stations, so that their values are compared part by part."""

from __future__ import annotations

import re
from dataclasses import dataclass

from walkapp.actions.reading import WalkFacts
from walkapp.language import tr
from walkapp.model.checklist import Check
from walkapp.model.records import Measurement

MOST_TAGS = 99
"""Highest number of a tag."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TagChoice:
    """The tag of the next part, for parts that are followed from station to station.

    Parameters
    ----------
    is_offered
        Whether parts can be tagged here: the characteristic is measured at other stations too.
    tag
        ``P1``, ``P2`` ..., or what was scanned; empty while parts are not tagged.
    is_held
        Whether it was scanned or typed: it is not counted up then.
    """

    is_offered: bool = False
    tag: str = ""
    is_held: bool = False

    @property
    def words(self) -> str:
        """What the key says."""
        return (
            (tr("Part {tag}", tag=self.tag) if self.tag else tr("Part not tagged"))
            if self.is_offered
            else ""
        )


def tag_of(walk: WalkFacts, check: Check, tags: bool | None, number: int | None) -> str:
    """Give the tag of the next part.

    Parameters
    ----------
    walk
        The walk as it stands.
    check
        The measurement.
    tags
        Whether parts are tagged; none for what this walk did last: at this check or, before its first
        value, at other stations that measure the same. Nobody's parts are tagged unasked: parts that were
        only thought to be the same ones would be compared part by part.
    number
        Number of the part; none for the next one after the last tagged here that has no value here yet.

    Returns
    -------
    str
        ``P1``, ``P2`` ...; empty for no tag, or where the characteristic is measured at one station only.
    """
    stations = {station.id for station in walk.stream.measured_at(check.measures)}
    if len(stations) < 2:
        return ""
    same = [
        r
        for r in walk.current
        if isinstance(r, Measurement)
        and (station := walk.stream.station(r.station)) is not None
        and (measured := station.check(r.check)) is not None
        and measured.measures == check.measures
    ]
    here = [r for r in same if r.station == check.station]
    if tags is None:
        tags = bool((here or same) and (here or same)[-1].part)
    if not tags:
        return ""
    used = [found for r in here if (found := tag_number(r.part)) is not None]
    after = range(used[-1] + 1 if used else 1, MOST_TAGS)
    return f"P{number or next((free for free in after if free not in used), MOST_TAGS)}"


def tag_number(tag: str) -> int | None:
    """Give the number of a tag that this page has given; none for any other.

    Examples
    --------
    >>> tag_number("P12"), tag_number("ear 7")
    (12, None)
    """
    return int(tag[1:]) if re.fullmatch(r"P[0-9]{1,2}", tag) else None
