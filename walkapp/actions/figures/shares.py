"""The figure of the shares by station."""

from __future__ import annotations

from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.results import OriginAnswer
from walkapp.analysis.wording import VERDICT_MARKS, percent
from walkapp.language import tr, whole_text
from walkapp.paper.figures.shares import ShareRow, SharesFigure


def of_concern(_place: Workplace, facts: ConcernFacts) -> tuple[SharesFigure, ...]:
    """Give the figure of a concern."""
    return (shares_figure(facts.locate(thorough=False)),)


def shares_figure(answer: OriginAnswer) -> SharesFigure:
    """Give the shares of NOK parts by station and where the defect starts.

    Parameters
    ----------
    answer
        What the origin computation said.
    """
    parts = sum(one.checked for one in answer.stations)
    visited = sum(one.checked > 0 for one in answer.stations)
    counted = tr(
        "n = {parts} parts checked at {visited} of {stations} stations.",
        parts=whole_text(parts),
        visited=visited,
        stations=len(answer.stations),
    )
    absent = percent(answer.none_probability)
    return SharesFigure(
        title=_title(answer),
        notes=(
            " ".join((counted, tr("Limits: exact, two-sided 95 % (Clopper-Pearson)."))),
            tr("Probability that the defect is not present in this stream: {absent}.", absent=absent),
        ),
        rows=tuple(
            ShareRow(
                station=one.station,
                checked=one.checked,
                nok=one.nok,
                low=one.interval.low if one.interval else None,
                high=one.interval.high if one.interval else None,
                origin=one.probability_origin,
                state=VERDICT_MARKS[one.verdict],
                verdict=tr(one.verdict),
            )
            for one in answer.stations
        ),
    )


def _title(answer: OriginAnswer) -> str:
    if answer.first_bad_station is None or answer.probability is None:
        return tr("NOK parts by station; the first bad station is not known yet")
    named = f"{answer.first_bad_station} ({percent(answer.probability)})"
    return (
        tr("NOK parts by station; the first bad station is {named}", named=named)
        if answer.is_sure
        else tr("NOK parts by station; the first bad station is most likely {named}", named=named)
    )
