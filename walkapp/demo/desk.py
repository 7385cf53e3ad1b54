"""What the demo's desk keeps of the stream: a year of deliveries, and success factors, all made up."""

from __future__ import annotations

from walkapp.actions.deliveries import record_deliveries
from walkapp.actions.desk import desk_facts
from walkapp.actions.indicators.factors import state_factor
from walkapp.demo.tablets import SCENARIO, Tablet, read_scenario


def keep_at_desk(desk: Tablet) -> None:
    """Record the deliveries month by month, and what has to go right.

    Parameters
    ----------
    desk
        The desk's tablet; its clock is set to when this is recorded.
    """
    story = read_scenario("-desk")
    desk.clock.time = story["starts"]
    for said in story["deliveries"]:
        record_deliveries(desk.place, desk_facts(desk.place, SCENARIO), **said)
    for said in story["factor"]:
        state_factor(desk.place, desk_facts(desk.place, SCENARIO), **said)
