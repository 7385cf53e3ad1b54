"""What is offered to tap when a change point is recorded: data alone, in plain words of our own.

Whoever wants other words changes these lists; no code asks for one of them.
"""

from __future__ import annotations

from collections.abc import Mapping

CHANGE_WORDS = (
    ("man", "Man"),
    ("machine", "Machine"),
    ("material", "Material"),
    ("method", "Method"),
    ("measurement", "Measurement"),
    ("environment", "Environment"),
)
"""The six kinds of change, as they are stored and as they are shown."""

TOLD_WORDS = (("yes", "Yes"), ("no", "No"), ("unknown", "Not known"))

ANY_STATION = ""

WORDINGS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "man": {
        ANY_STATION: (
            "New or other person",
            "Stand-in for a shift",
            "Shift pattern changed",
            "Trained anew",
        ),
        "test": ("Other person judges the parts",),
    },
    "machine": {
        ANY_STATION: (
            "Tool or wear part replaced",
            "Setting changed",
            "Repaired",
            "Serviced or cleaned",
            "Other machine used",
        ),
        "moulding": ("Mould changed or repaired",),
        "trimming": ("Blade or cutter changed",),
        "joining": ("Nest or joining tool changed",),
        "assembly": ("Fixture or hand tool changed",),
        "test": ("Clamp or test fixture changed",),
        "transport": ("Carrier or conveyor changed",),
    },
    "material": {
        ANY_STATION: (
            "New lot",
            "Other supplier",
            "Other grade or type",
            "Reworked parts used",
        ),
        "moulding": ("Share of regrind changed", "Drying changed"),
        "joining": ("Other filler or glue",),
        "packing": ("Other packaging",),
    },
    "method": {
        ANY_STATION: (
            "Work instruction changed",
            "Step left out or added",
            "Order of steps changed",
            "Cycle time changed",
            "Rework begun or ended",
        ),
        "storage": ("Other place or rack", "Stored longer or shorter"),
        "transport": ("Other way or time of transport",),
    },
    "measurement": {
        ANY_STATION: (
            "Gauge replaced or repaired",
            "Calibrated or set anew",
            "Limits changed",
            "Way of judging changed",
            "Checked more or less often",
        ),
        "test": ("Test program changed",),
    },
    "environment": {
        ANY_STATION: (
            "Warmer or colder",
            "More or less humid",
            "Dust, dirt or oil",
            "Station moved",
            "Light changed",
        ),
    },
}
"""Frequent wordings for each kind of change: at any station, and before these at one kind of station."""

REASONS = (
    "Worn out or broken",
    "Planned",
    "After a fault or complaint",
    "Usual one out of stock",
    "To save time or cost",
)

INTENTIONS = (
    "run as before",
    "run faster",
    "make better parts",
    "cost less",
    "be safer or easier",
)
"""What a change was meant to do; each ends the sentence "It was meant to ..."."""

ROLES = (
    "shift lead",
    "maintenance lead",
    "process engineer",
    "quality engineer",
    "nobody",
)
"""Roles that often approve a change; "nobody" is an answer, too."""

CORRECTIONS = ("mistyped", "more is known now", "wrong station or day")
"""Why a change point is corrected."""

DAY_NOT_KNOWN = "not known"


def wordings(change: str, station_kind: str) -> tuple[str, ...]:
    """Give the frequent wordings of a change, those of the kind of station first.

    Parameters
    ----------
    change
        Kind of change; empty, or one that is not known, has none.
    station_kind
        Kind of the station.

    Examples
    --------
    >>> wordings("machine", "trimming")[:2]
    ('Blade or cutter changed', 'Tool or wear part replaced')
    """
    known = WORDINGS.get(change, {})
    return (*known.get(station_kind, ()), *known.get(ANY_STATION, ()))


def joined(common: str, own: str) -> str:
    """Make one text of a wording that was tapped and of the person's own words; either may be empty.

    Examples
    --------
    >>> joined("New lot", "0224-1"), joined("New lot", ""), joined("", "Pads")
    ('New lot: 0224-1', 'New lot', 'Pads')
    """
    return ": ".join(filter(None, (common, own)))


def taken_apart(what: str, offered: tuple[str, ...]) -> tuple[str, str]:
    """Find the wording that was tapped and the own words in what :func:`joined` made.

    Examples
    --------
    >>> taken_apart("New lot: 0224-1", ("New lot",)), taken_apart("Pads", ("New lot",))
    (('New lot', '0224-1'), ('', 'Pads'))
    """
    common, _, own = what.partition(": ")
    return (common, own) if common in offered else ("", what)
