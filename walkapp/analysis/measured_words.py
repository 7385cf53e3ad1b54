"""Measured values in words: means, shifts, limits and indices, the same for window and terminal.

Means and shifts have one decimal more than the values were typed with. Intervals are rounded outwards
and indices cut off, so that nothing looks surer or better than it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_FLOOR, Decimal

from walkapp.analysis.capability import Capability, Index
from walkapp.analysis.measured import is_shown
from walkapp.analysis.measured_results import Limits, MeasuredAnswer, Move, StationValues
from walkapp.analysis.results import Interval
from walkapp.analysis.wording import (
    named,
    p_in_words,
    parts_in_words,
    percent,
    rounded,
    share_range,
    value_range,
)
from walkapp.language import decimal_text, msg, tr, whole_text

INDEX_DECIMALS = 2


def mean_in_words(said: StationValues, unit: str, decimals: int) -> str:
    """Write how many parts were measured at a station, and their mean with its interval.

    Parameters
    ----------
    said
        What the values of the station say.
    unit
        Unit of the values.
    decimals
        Decimals that the values were typed with.

    Examples
    --------
    >>> from walkapp.analysis.measured import follow_measurements
    >>> from walkapp.analysis.measured_results import MeasuredStation, Reading
    >>> readings = tuple(Reading(value=Decimal(v)) for v in ("2.52", "2.49", "2.50"))
    >>> found = follow_measurements([MeasuredStation(order=1, name="Moulding", readings=readings)])
    >>> mean_in_words(found.stations[0], "mm", 2)
    '3 parts, mean 2.503 mm (95 % interval 2.465 to 2.542)'
    """
    if said.mean is None:
        return tr("nothing measured")
    mean = tr(
        "{count}, mean {mean} {unit}",
        count=parts_in_words(said.count),
        mean=rounded(said.mean, decimals + 1),
        unit=unit,
    )
    if said.mean_interval is None:
        why = tr("all values are equal") if said.count > 1 else tr("it takes two parts")
        return tr("{mean} (no interval: {why})", mean=mean, why=why)
    return f"{mean} ({_interval(said.mean_interval, decimals + 1)})"


def outside_in_words(said: StationValues) -> str:
    """Write how many parts of a station are out of limits; empty when that cannot be said."""
    if not said.count or said.outside is None or said.outside_interval is None:
        return ""
    interval = said.outside_interval
    sides = [
        tr(words, many=whole_text(many))
        for many, words in ((said.below, msg("{many} below LSL")), (said.above, msg("{many} above USL")))
        if many
    ]
    values = {
        "outside": whole_text(said.outside),
        "parts": parts_in_words(said.count),
        "confidence": percent(interval.confidence),
        "share": share_range(interval.low, interval.high),
    }
    if not sides:
        return tr("{outside} of {parts} out of limits (exact {confidence} interval {share})", **values)
    return tr(
        "{outside} of {parts} out of limits: {sides} (exact {confidence} interval {share})",
        sides=named(sides),
        **values,
    )


def shift_in_words(move: Move, unit: str, decimals: int, confidence: float) -> str:
    """Write what has changed against the station measured before.

    Parameters
    ----------
    move
        The change.
    unit, decimals
        As for :func:`mean_in_words`.
    confidence
        That of the answer.
    """
    if move.shift_p_corrected is None:
        verdict = tr("nothing can be said ({why})", why=move.shift.why)
    elif is_shown(move.shift_p_corrected, confidence):
        verdict = tr("the mean has shifted")
    else:
        verdict = tr("no shift is shown")
    return f"{verdict}: {_shift_size(move, unit, decimals)}"


def _shift_size(move: Move, unit: str, decimals: int) -> str:
    details = [
        _interval(move.shift_interval, decimals + 1) if move.shift_interval else "",
        tr("the same {common_parts} tagged parts", common_parts=move.common_parts)
        if move.is_paired
        else tr(
            "{earlier_count} and {later_count} parts, not the same ones",
            earlier_count=move.shift.earlier_count,
            later_count=move.shift.later_count,
        ),
        ""
        if move.shift_p_corrected is None
        else tr(
            "{shift_p_corrected} after correction", shift_p_corrected=p_in_words(move.shift_p_corrected)
        ),
    ]
    text = tr(
        "{signed} {unit} against {earlier} ({filter})",
        signed=_signed(move.shift.value, decimals + 1),
        unit=unit,
        earlier=move.earlier,
        filter="; ".join(filter(None, details)),
    )
    if move.not_measured_between:
        between = named(move.not_measured_between)
        return tr("{shift}; not measured between: {between}", shift=text, between=between)
    return text


def spread_in_words(move: Move, confidence: float) -> str:
    """Write how the spread has changed; empty when nothing can be said."""
    if move.spread.ratio is None or move.spread_p_corrected is None or move.spread_interval is None:
        return ""
    shown = is_shown(move.spread_p_corrected, confidence)
    interval = _interval(move.spread_interval, 2)
    return tr(
        "{ratio} times that of {station} ({interval}): {verdict} ({p} after correction)",
        ratio=rounded(move.spread.ratio, 2),
        station=move.earlier,
        interval=interval,
        verdict=tr("the spread has changed") if shown else tr("no change is shown"),
        p=p_in_words(move.spread_p_corrected),
    )


def limits_in_words(limits: Limits, unit: str) -> str:
    """Write the limits with all digits that they were given with.

    Examples
    --------
    >>> limits_in_words(Limits(lsl=Decimal("2.40"), usl=Decimal("2.60")), "mm")
    'LSL 2.40 mm, USL 2.60 mm'
    """
    given = (("LSL", limits.lsl), ("USL", limits.usl), (tr("nominal"), limits.nominal))
    return ", ".join(f"{name} {number_text(value)} {unit}" for name, value in given if value is not None)


def number_text(value: object) -> str:
    """Write a limit or a typed value with the digits it has, and a true minus sign."""
    written = f"{value:f}" if isinstance(value, Decimal) else str(value)
    return decimal_text(written.replace("-", "−"))


def indices_in_words(found: Capability) -> tuple[tuple[str, str], ...]:
    """Write the indices that there are: pairs of name, and value with interval."""
    indices = ((tr("Cp"), found.cp), (tr("Cpk"), found.cpk), (tr("Pp"), found.pp), (tr("Ppk"), found.ppk))
    return tuple((name, _index(index)) for name, index in indices if index is not None)


def _index(index: Index) -> str:
    value = rounded(index.value, INDEX_DECIMALS, ROUND_FLOOR)
    return f"{value} ({_interval(index.interval, INDEX_DECIMALS)})"


def answer_sentences(answer: MeasuredAnswer, unit: str, decimals: int) -> tuple[str, ...]:
    """Say what the values of one characteristic say along the stream, the most important first.

    Parameters
    ----------
    answer
        What was found.
    unit, decimals
        As for :func:`mean_in_words`.
    """
    return tuple(_sentences(answer, unit, decimals))


def _sentences(answer: MeasuredAnswer, unit: str, decimals: int) -> Iterator[str]:
    measured = [said for said in answer.stations if said.count]
    if not measured:
        yield tr("Nothing was measured yet.")
        return
    if answer.first_outside is not None:
        yield tr("First out of tolerance at {why}.", why=answer.first_outside.why)
    elif any(said.outside is not None for said in measured):
        many = len(measured)
        yield (
            tr("No part was out of tolerance at the {many} stations where it was measured.", many=many)
            if many > 1
            else tr("No part was out of tolerance at {station}.", station=measured[0].station)
        )
    first, largest = answer.first_shift, answer.largest_shift
    if first is not None:
        yield tr(
            "The mean shifts first at {later}: {shift_size}.",
            later=first.later,
            shift_size=_shift_size(first, unit, decimals),
        )
        if largest is not None and largest is not first:
            yield tr(
                "It shifts most at {later}: {shift_size}.",
                later=largest.later,
                shift_size=_shift_size(largest, unit, decimals),
            )
    elif len(measured) > 1:
        yield (
            tr(
                "No shift of the mean is shown from station to station; that does not show that "
                "there is none."
            )
        )
    else:
        yield tr(
            "Measured at {station} only: a shift shows where two stations are measured.",
            station=measured[0].station,
        )
    if answer.first_spread_change is not None:
        move = answer.first_spread_change
        yield tr(
            "The spread changes first at {later}: {spread}.",
            later=move.later,
            spread=spread_in_words(move, answer.confidence),
        )


def _signed(value: float, decimals: int) -> str:
    text = rounded(value, decimals)
    return f"+{text}" if value > 0 and any(digit in text for digit in "123456789") else text


def _interval(interval: Interval, decimals: int) -> str:
    written = value_range(interval.low, interval.high, decimals)
    return tr("{confidence} interval {written}", confidence=percent(interval.confidence), written=written)
