"""The stream strip: every station at a glance, always in sight."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class StripTile:
    """One station in the strip.

    Parameters
    ----------
    station
        Id of the station.
    number
        Its place in the stream, as text.
    short
        Its short name, at most 14 characters.
    mark
        The shape to draw: ``clean``, ``bad``, ``undecided`` or ``not_visited``.
    word
        The same in words, for example ``clean so far``.
    counts
        ``3 of 20 NOK``, or empty when nothing was checked.
    is_here
        Whether the walk is at this station.
    is_next
        Whether the guide points to it.
    flag
        What the tool says of it: ``first bad`` or, while that is not sure, ``likely first``; empty
        for every other station.
    """

    station: str
    number: str
    short: str
    mark: str
    word: str
    counts: str
    is_here: bool
    is_next: bool
    flag: str
