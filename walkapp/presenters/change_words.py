"""What is offered to tap when a change point is recorded: data alone, in plain words of our own.

Whoever wants other words changes these lists; no code asks for one of them.
"""

from __future__ import annotations

from collections.abc import Mapping

from walkapp.language import msg, tr_each

CHANGE_WORDS = (
    ("man", msg("Man")),
    ("machine", msg("Machine")),
    ("material", msg("Material")),
    ("method", msg("Method")),
    ("measurement", msg("Measurement")),
    ("environment", msg("Environment")),
)
"""The six kinds of change, as they are stored and as they are shown."""

TOLD_WORDS = (("yes", msg("Yes")), ("no", msg("No")), ("unknown", msg("Not known")))

ANY_STATION = ""

WORDINGS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "man": {
        ANY_STATION: (
            msg("New or other person"),
            msg("Stand-in for a shift"),
            msg("Shift pattern changed"),
            msg("Trained anew"),
        ),
        "test": (msg("Other person judges the parts"),),
    },
    "machine": {
        ANY_STATION: (
            msg("Tool or wear part replaced"),
            msg("Setting changed"),
            msg("Repaired"),
            msg("Serviced or cleaned"),
            msg("Other machine used"),
        ),
        "moulding": (msg("Mould changed or repaired"),),
        "trimming": (msg("Blade or cutter changed"),),
        "joining": (msg("Nest or joining tool changed"),),
        "assembly": (msg("Fixture or hand tool changed"),),
        "test": (msg("Clamp or test fixture changed"),),
        "transport": (msg("Carrier or conveyor changed"),),
    },
    "material": {
        ANY_STATION: (
            msg("New lot"),
            msg("Other supplier"),
            msg("Other grade or type"),
            msg("Reworked parts used"),
        ),
        "moulding": (msg("Share of regrind changed"), msg("Drying changed")),
        "joining": (msg("Other filler or glue"),),
        "packing": (msg("Other packaging"),),
    },
    "method": {
        ANY_STATION: (
            msg("Work instruction changed"),
            msg("Step left out or added"),
            msg("Order of steps changed"),
            msg("Cycle time changed"),
            msg("Rework begun or ended"),
        ),
        "storage": (msg("Other place or rack"), msg("Stored longer or shorter")),
        "transport": (msg("Other way or time of transport"),),
    },
    "measurement": {
        ANY_STATION: (
            msg("Gauge replaced or repaired"),
            msg("Calibrated or set anew"),
            msg("Limits changed"),
            msg("Way of judging changed"),
            msg("Checked more or less often"),
        ),
        "test": (msg("Test program changed"),),
    },
    "environment": {
        ANY_STATION: (
            msg("Warmer or colder"),
            msg("More or less humid"),
            msg("Dust, dirt or oil"),
            msg("Station moved"),
            msg("Light changed"),
        ),
    },
}
"""Frequent wordings for each kind of change: at any station, and before these at one kind of station."""

REASONS = (
    msg("Worn out or broken"),
    msg("Planned"),
    msg("After a fault or complaint"),
    msg("Usual one out of stock"),
    msg("To save time or cost"),
)

INTENTIONS = (
    msg("run as before"),
    msg("run faster"),
    msg("make better parts"),
    msg("cost less"),
    msg("be safer or easier"),
)
"""What a change was meant to do; each ends the sentence "It was meant to ..."."""

NOBODY = msg("nobody")

ROLES = (
    msg("shift lead"),
    msg("maintenance lead"),
    msg("process engineer"),
    msg("quality engineer"),
    NOBODY,
)
"""Roles that often approve a change; "nobody" is an answer, too."""

CORRECTIONS = (msg("mistyped"), msg("more is known now"), msg("wrong station or day"))
"""Why a change point is corrected."""

DAY_NOT_KNOWN = msg("not known")


def wordings(change: str, station_kind: str) -> tuple[str, ...]:
    """Say the frequent wordings of a change, those of the kind of station first.

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
    return tr_each((*known.get(station_kind, ()), *known.get(ANY_STATION, ())))


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
