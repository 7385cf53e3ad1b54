"""The figure of the ppm by month."""

from __future__ import annotations

import math
from collections.abc import Iterator

from walkapp.actions.days import today
from walkapp.actions.desk import DeskFacts
from walkapp.actions.ppm import LONG, SHORT, Rolling, StreamPpm, ppm_of
from walkapp.actions.ppm_months import MonthPpm
from walkapp.actions.ppm_telling import span_words
from walkapp.actions.workplace import Workplace
from walkapp.analysis.ppm_words import MODEL, nok_words, ppm_number, ppm_words
from walkapp.language import tr, whole_text
from walkapp.paper.figures.ppm import PpmFigure, PpmPoint


def of_stream(place: Workplace, facts: DeskFacts) -> tuple[PpmFigure, ...]:
    """Give the figure of a stream; none while no deliveries are recorded."""
    found = ppm_of(facts, today(place))
    return (ppm_figure(found),) if found.latest is not None else ()


def ppm_figure(found: StreamPpm) -> PpmFigure:
    """Give the ppm of the months that are shown.

    Parameters
    ----------
    found
        The ppm of a stream, of at least one month with deliveries.
    """
    months = found.told_months[::-1]
    first = next(i for i, one in enumerate(months) if one.delivered is not None)
    return PpmFigure(
        title=_title(found),
        notes=tuple(_notes(found, months[first:])),
        points=tuple(_point(found, one) for one in months[first:]),
        target=found.target,
    )


def _title(found: StreamPpm) -> str:
    stream = (
        tr("{stream}, part number {part}", stream=found.facts.name, part=found.part_number)
        if found.part_number
        else found.facts.name
    )
    year = found.year
    if year is None or year.rate is None or year.rate.ppm is None:
        return tr("PPM by month: {stream}", stream=stream)
    return tr(
        "PPM by month: {stream}; {ppm} over {span}",
        stream=stream,
        ppm=ppm_words(year.rate),
        span=span_words(year),
    )


def _notes(found: StreamPpm, months: tuple[MonthPpm, ...]) -> Iterator[str]:
    rates = [one.rate for one in months if one.rate is not None]
    delivered, nok = sum(rate.delivered for rate in rates), sum(rate.nok for rate in rates)
    counts = tr(
        "n = {delivered} parts delivered in {rates} of {months} months, {nok}.",
        delivered=whole_text(delivered),
        rates=len(rates),
        months=len(months),
        nok=nok_words(nok, is_least=any(rate.is_least for rate in rates)),
    )
    lines = (
        tr("Solid line: the last {long} months together; dashed: the last {short}.", long=LONG, short=SHORT)
        if found.target is None
        else tr(
            "Solid line: the last {long} months together; dashed: the last {short}; dash-dotted: the "
            "target, {target} ppm.",
            long=LONG,
            short=SHORT,
            target=ppm_number(found.target),
        )
    )
    yield " ".join((counts, lines))
    yield (
        tr(
            "Diamond: bar of two-sided limits. Ring: no NOK part, bar up to the one-sided limit. "
            "Triangle: at least so many, since a quantity is not recorded; only the lower, "
            "one-sided limit is known. An arrow ends a bar that goes beyond the axis. {model}",
            model=tr(MODEL),
        )
    )
    if len(rates) < len(months):
        yield tr("Hatched: no deliveries are recorded, so there is no ppm.")
    if found.at_odds:
        yield tr("Some months are recorded twice with different numbers; the newer record counts.")


def _point(found: StreamPpm, one: MonthPpm) -> PpmPoint:
    limits = one.rate.limits if one.rate else None
    is_upper = limits is not None and limits.sides == 1 and not math.isinf(limits.high)
    return PpmPoint(
        month=one.month.isoformat()[:7],
        delivered=one.delivered,
        ppm=one.rate.ppm if one.rate else None,
        low=None if limits is None or is_upper else limits.low,
        high=None if limits is None or math.isinf(limits.high) else limits.high,
        short=_ppm(found.rolling(SHORT, one.month)),
        long=_ppm(found.rolling(LONG, one.month)),
    )


def _ppm(rolling: Rolling | None) -> float | None:
    return rolling.rate.ppm if rolling and rolling.rate else None
