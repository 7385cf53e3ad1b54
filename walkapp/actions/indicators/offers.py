"""Success factors that are offered: data alone, in plain words of our own, common practice, no source.

Whoever wants other words or targets changes the list; no code asks for one of them, except that each
indicator has one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from walkapp.language import msg, tr


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A success factor that is offered: common practice, no source. Nothing is recorded before a tap.

    Parameters
    ----------
    indicator
        Id of the indicator.
    factor, target, when_off, owner
        As in :class:`walkapp.model.records.SuccessFactor`; `factor` and `when_off` as they stand in the
        catalogues.
    is_start
        Whether it belongs to the set that a team may begin with.
    """

    indicator: str
    factor: str
    target: str
    when_off: str
    owner: str
    is_start: bool = False

    def said(self) -> dict[str, str]:
        """Say what a record of it holds, without the stream: its words as the person reads them."""
        names = ("indicator", "target", "owner")
        words = {name: tr(getattr(self, name)) for name in ("factor", "when_off")}
        return {**{name: getattr(self, name) for name in names}, **words}


_OFFERS = (
    Offer(
        indicator="ppm",
        factor=msg("The customer gets good parts"),
        target="50",
        when_off=msg(
            "Go through the concerns of these months: which cause brought most NOK parts, and "
            "what holds it back now"
        ),
        owner="QM",
    ),
    Offer(
        indicator="customer-reports",
        factor=msg("What is wrong is found before it leaves the plant"),
        target="1",
        when_off=msg(
            "For each report, say at which station it should have been found, and add a check there"
        ),
        owner="QE",
    ),
    Offer(
        indicator="days-since-escape",
        factor=msg("No bad part gets past us"),
        target="90",
        when_off=msg(
            "Check the containment at the last station before dispatch, every shift, until it holds"
        ),
        owner="SL",
        is_start=True,
    ),
    Offer(
        indicator="days-to-contain",
        factor=msg("Suspect parts are held back at once"),
        target="2",
        when_off=msg("Name one person for each open containment, and ask for help to sort today"),
        owner="SL",
        is_start=True,
    ),
    Offer(
        indicator="days-to-origin",
        factor=msg("The first bad station is found on the floor, and soon"),
        target="5",
        when_off=msg("Walk the stream again where the tablet says that parts tell most"),
        owner="QE",
    ),
    Offer(
        indicator="days-to-fix",
        factor=msg("Causes are taken away, and soon"),
        target="30",
        when_off=msg("Look at the oldest open concern: what holds up its corrective action"),
        owner="TL",
    ),
    Offer(
        indicator="overdue-actions",
        factor=msg("What was promised is done"),
        target="0",
        when_off=msg("Each owner says what is missing, and a new day; who cannot, hands it on"),
        owner="TL",
        is_start=True,
    ),
    Offer(
        indicator="actions-in-time",
        factor=msg("Promised days are kept"),
        target="90",
        when_off=msg("Before a day is promised, ask who does it and with what"),
        owner="TL",
    ),
    Offer(
        indicator="effective-fixes",
        factor=msg("What we change works"),
        target="80",
        when_off=msg("Prove the cause by switching it on and off before the next fix"),
        owner="QE",
        is_start=True,
    ),
    Offer(
        indicator="cause-proved",
        factor=msg("We prove a cause before we call it one"),
        target="80",
        when_off=msg("Plan an on/off confirmation for each concern that has none"),
        owner="QE",
    ),
    Offer(
        indicator="safety-untold",
        factor=msg("Safety comes first: who must know is told"),
        target="0",
        when_off=msg("Tell by the rules of site and customer today, and record who was told"),
        owner="QM",
        is_start=True,
    ),
    Offer(
        indicator="audits-done",
        factor=msg("Fixes last, because we go and look"),
        target="95",
        when_off=msg("Ask each layer what kept it from its audits, and take one thing away"),
        owner="PM",
        is_start=True,
    ),
    Offer(
        indicator="audit-conformity",
        factor=msg("Work is done as agreed"),
        target="90",
        when_off=msg("Take the question with most NOK, and see at the station why it cannot be kept"),
        owner="SL",
    ),
    Offer(
        indicator="repeat-findings",
        factor=msg("What was found once does not come back"),
        target="10",
        when_off=msg("Open an action for each question that came back, with a day and an owner"),
        owner="SL",
    ),
    Offer(
        indicator="open-finding-age",
        factor=msg("Findings are put right while they are fresh"),
        target="14",
        when_off=msg("See to the oldest finding first, at its station"),
        owner="SL",
    ),
)

OFFERS: Mapping[str, Offer] = {offer.indicator: offer for offer in _OFFERS}
"""One for each indicator, by its id."""

START: Sequence[Offer] = tuple(offer for offer in _OFFERS if offer.is_start)
"""What a team may begin with."""
