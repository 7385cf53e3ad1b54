"""The figures of what was measured, one for each characteristic."""

from __future__ import annotations

from collections.abc import Sequence

from walkapp.actions.narrowing import MeasuredCharacteristic, left_out_words, narrow
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.measured_results import Limits, MeasuredAnswer, StationValues
from walkapp.analysis.measured_words import answer_sentences, limits_in_words
from walkapp.analysis.moments import Number
from walkapp.analysis.wording import parts_in_words
from walkapp.files import safe_name
from walkapp.language import msg, tr, whole_text
from walkapp.paper.figures.measured import MOST_STACKED, WIDEST, MeasuredFigure, MeasuredRow

KIND = "measured-by-station"

MOST_PATHS = 30
"""Tagged parts whose way is drawn; more of them would hide each other."""

MOST_SENTENCES = 3
"""How many of the sentences about shifts stand below."""


FAR_APART = msg(
    "Some values are too far apart for one axis and lie beyond its ends: look for a slip of typing."
)


def of_concern(_place: Workplace, facts: ConcernFacts) -> tuple[MeasuredFigure, ...]:
    """Give a figure for each characteristic that was measured, in the order of the stream."""
    measured = [
        one for one in facts.once(narrow).characteristics if any(s.count for s in one.answer.stations)
    ]
    return tuple(measured_figure(one) for one in measured)


def measured_figure(one: MeasuredCharacteristic) -> MeasuredFigure:
    """Draw one characteristic along the stream.

    Parameters
    ----------
    one
        Measured at one station at least.
    """
    characteristic, answer = one.characteristic, one.answer
    places = [place for place, said in enumerate(answer.stations) if said.count]
    shown = answer.stations[places[0] : places[-1] + 1]
    limits = [one.limits_at(said.order) for said in shown]
    differ = len({(given.lsl, given.usl, given.nominal) for given in limits if given != Limits()}) > 1
    rows = tuple(_row(one, said, given, differ) for said, given in zip(shown, limits, strict=True))
    row_of = {said.order: y for y, said in enumerate(shown)}
    followed = [path for path in answer.paths if len(path.steps) > 1]
    paths = (
        tuple(tuple((row_of[step.order], step.value) for step in path.steps) for path in followed)
        if len(followed) <= MOST_PATHS
        else ()
    )
    return MeasuredFigure(
        title=_title(characteristic.title, answer),
        notes=tuple(filter(None, _notes(one, rows, limits, differ=differ, followed=len(followed)))),
        axis=f"{characteristic.title} ({characteristic.unit or tr('no unit given')})",
        rows=rows,
        paths=paths,
        name=f"{KIND}-{safe_name(characteristic.id)}",
    )


def _row(one: MeasuredCharacteristic, said: StationValues, given: Limits, differ: bool) -> MeasuredRow:
    values, outside = _parts(one, said, given)
    first = one.answer.first_outside
    is_first = first is not None and first.order == said.order
    interval = said.mean_interval
    return MeasuredRow(
        station=said.station,
        values=values,
        outside=outside,
        mean=said.mean,
        low=interval.low if interval else None,
        high=interval.high if interval else None,
        lsl=_number(given.lsl),
        usl=_number(given.usl),
        nominal=_number(given.nominal),
        words=_words(one, said, given if differ else None, is_first),
        is_first=is_first,
    )


def _number(limit: Number | None) -> float | None:
    return None if limit is None else float(limit)


def _parts(
    one: MeasuredCharacteristic, said: StationValues, given: Limits
) -> tuple[tuple[float, ...], tuple[bool, ...]]:
    """Give the value of every part of a station, and whether it is out of tolerance: tagged ones first."""
    tagged = [
        (step.value, bool(step.is_outside))
        for path in one.answer.paths
        for step in path.steps
        if step.order == said.order
    ]
    station = next(s for s in one.characteristic.stations if s.order == said.order)
    others = [
        (
            float(reading.value),
            (given.lsl is not None and reading.value < given.lsl)
            or (given.usl is not None and reading.value > given.usl),
        )
        for reading in station.readings
        if not reading.part
    ]
    parts = tagged + others
    return tuple(value for value, _ in parts), tuple(is_outside for _, is_outside in parts)


def _words(one: MeasuredCharacteristic, said: StationValues, given: Limits | None, is_first: bool) -> str:
    if not said.count:
        return tr("not measured") if said.station in one.station_names else tr("no check measures it")
    words = [f"n = {whole_text(said.count)}"]
    if said.outside is not None:
        outside = whole_text(said.outside)
        words.append(
            tr("{outside} out, the first", outside=outside)
            if is_first
            else tr("{outside} out", outside=outside)
        )
    else:
        words.append(tr("no limits"))
    if given is not None and given != Limits():
        words.append(limits_in_words(given, one.characteristic.unit))
    return "; ".join(words)


def _title(what: str, answer: MeasuredAnswer) -> str:
    first = answer.first_outside
    if first is not None:
        return tr(
            "{what}: first out of tolerance at {station} ({outside} of {count})",
            what=what,
            station=first.station,
            outside=whole_text(first.outside),
            count=parts_in_words(first.count),
        )
    held = [said.outside is not None for said in answer.stations if said.count]
    if not any(held):
        return tr("{what} by station; there are no limits to hold it against", what=what)
    if all(held):
        return tr("{what} by station; none of the measured parts was out of tolerance", what=what)
    return tr(
        "{what} by station; none of the parts measured where there are limits was out of tolerance",
        what=what,
    )


def _notes(
    one: MeasuredCharacteristic,
    rows: Sequence[MeasuredRow],
    limits: Sequence[Limits],
    *,
    differ: bool,
    followed: int,
) -> tuple[str, ...]:
    characteristic, answer = one.characteristic, one.answer
    measured = [said for said in answer.stations if said.count]
    values = sum(said.readings for said in measured)
    parts = sum(said.count for said in measured)
    common = next((given for given in limits if given != Limits()), None)
    limits_told = "" if differ or common is None else f"{limits_in_words(common, characteristic.unit)}."
    each = [tr("Ring: a part; cross: a part out of tolerance.")]
    if any(len(row.values) > MOST_STACKED for row in rows):
        each.append(
            tr("Bars, hatched where out of tolerance: how many parts have about that value, where many do.")
        )
    if followed:
        each.append(
            tr("Thin lines: the same tagged parts.")
            if followed <= MOST_PATHS
            else tr(
                "The ways of {followed} tagged parts are not drawn: too many.",
                followed=whole_text(followed),
            )
        )
    counts = {"parts": whole_text(parts), "measured": len(measured), "stations": len(answer.stations)}
    diamond = tr(
        "Diamond below the parts: their mean with its 95 % interval (t, two-sided, each station by itself)."
    )
    return (
        tr(
            "n = {parts} measured parts at {measured} of {stations} stations; a part measured at several "
            "stations counts at each.",
            **counts,
        )
        if values == parts
        else tr(
            "n = {parts} measured parts at {measured} of {stations} stations ({values} readings; the mean "
            "of a part counts); a part measured at several stations counts at each.",
            values=whole_text(values),
            **counts,
        ),
        " ".join(filter(None, (limits_told, diamond))),
        " ".join(each),
        tr(FAR_APART) if _are_far_apart(rows) else "",
        *answer_sentences(answer, characteristic.unit, characteristic.decimals)[:MOST_SENTENCES],
        left_out_words(characteristic),
    )


def _are_far_apart(rows: Sequence[MeasuredRow]) -> bool:
    values = [value for row in rows for value in row.values]
    return not max(values) - min(values) <= WIDEST
