"""Narrowing a concern down: to a unit within a station, and to what measurements do along the stream."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.gather_measured import Characteristic, gather_characteristics
from walkapp.analysis.gather_units import StationGroupings, gather_groupings
from walkapp.analysis.measured import follow_measurements
from walkapp.analysis.measured_results import Limits, MeasuredAnswer, Move, StationValues
from walkapp.analysis.measured_words import (
    answer_sentences,
    indices_in_words,
    mean_in_words,
    outside_in_words,
)
from walkapp.analysis.results import Interval
from walkapp.analysis.units import NOTHING_TO_COMPARE, UnitComparison, compare_units
from walkapp.language import tr, trn

SEED = 1
"""Where the exact test of many units would take too long, the same records still give the same words."""


# Gathering is cheap and done for all; the tests are costly and done for what is looked at.


@dataclass(frozen=True, kw_only=True)
class StationUnits:
    """How the units of one station compare.

    Parameters
    ----------
    groupings
        The parts of the station as they were divided, with what has to be minded.
    """

    groupings: StationGroupings

    @cached_property
    def comparisons(self) -> tuple[UnitComparison, ...]:
        """One for each grouping."""
        return compare_units(self.groupings.groupings, chance=random.Random(SEED))


@dataclass(frozen=True, kw_only=True)
class MeasuredCharacteristic:
    """What one characteristic does along the stream.

    Parameters
    ----------
    characteristic
        Its values as gathered.
    """

    characteristic: Characteristic

    @cached_property
    def answer(self) -> MeasuredAnswer:
        """What the values say; its stations are those of the stream, in order."""
        return follow_measurements(self.characteristic.stations)

    def limits_at(self, order: int) -> Limits:
        """Give the limits of the station of that place in the stream; without any where none are given."""
        stations = self.characteristic.stations
        return next(one.limits for one in stations if one.order == order) or Limits()

    @property
    def is_followed(self) -> bool:
        """Whether it was measured at two or more stations."""
        return bool(self.answer.moves)

    @property
    def station_names(self) -> tuple[str, ...]:
        """Names of the stations whose checklist measures it, in stream order."""
        return self.characteristic.station_names

    def at(self, order: int) -> StationValues:
        """Give what the values of a station say."""
        return next(said for said in self.answer.stations if said.order == order)

    def move_to(self, order: int) -> Move | None:
        """Give the change against the station measured before; none for the first one."""
        return next((move for move in self.answer.moves if move.later_order == order), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Narrowing:
    """Everything that narrows a concern down beyond its first bad station.

    Parameters
    ----------
    stations
        One for each station, in stream order.
    characteristics
        One for each characteristic of the checklist, in the order of the stream.
    """

    stations: tuple[StationUnits, ...]
    characteristics: tuple[MeasuredCharacteristic, ...]

    def station(self, station: str) -> StationUnits | None:
        """Give the station of that id, or none."""
        return next((found for found in self.stations if found.groupings.station == station), None)

    def characteristic(self, characteristic: str) -> MeasuredCharacteristic | None:
        """Give the characteristic of that id, or none."""
        found = (one for one in self.characteristics if one.characteristic.id == characteristic)
        return next(found, None)


def narrow(facts: ConcernFacts) -> Narrowing:
    """Compare the units of every station, and follow every characteristic along the stream.

    Parameters
    ----------
    facts
        The concern with the records of all its walks.

    Raises
    ------
    InputError
        If the checklist of the stream is not known.
    """
    stream, records = facts.known_stream(), facts.origin_records
    return Narrowing(
        stations=tuple(
            StationUnits(groupings=found)
            for found in gather_groupings(stream, records, facts.concern.defect)
        ),
        characteristics=tuple(
            MeasuredCharacteristic(characteristic=found)
            for found in gather_characteristics(stream, records)
        ),
    )


def narrowing_lines(found: Narrowing) -> tuple[str, ...]:
    """Tell it for a terminal: what was compared and what was measured; nothing for what was not."""
    return (*_unit_lines(found), *_measured_lines(found))


def _unit_lines(found: Narrowing) -> Iterator[str]:
    compared = [
        (station.groupings, [said for said in station.comparisons if said.verdict != NOTHING_TO_COMPARE])
        for station in found.stations
    ]
    if any(said for _, said in compared):
        yield tr("Within the stations:")
    for groupings, said in compared:
        yield from (f"  {groupings.name}: {comparison.sentence}" for comparison in said)
        if said:
            yield from (f"  {groupings.name}: {note}" for note in groupings.notes)


def _measured_lines(found: Narrowing) -> Iterator[str]:
    for one in found.characteristics:
        characteristic, answer = one.characteristic, one.answer
        unit, decimals = characteristic.unit, characteristic.decimals
        measured = [said for said in answer.stations if said.count]
        if not measured:
            continue
        yield tr("Measured: {characteristic}", characteristic=characteristic.title)
        yield from (f"  {sentence}" for sentence in answer_sentences(answer, unit, decimals))
        for said in measured:
            told = [mean_in_words(said, unit, decimals), outside_in_words(said)]
            if said.capability is not None:
                told += [f"{name} {words}" for name, words in indices_in_words(said.capability)]
                told.append(said.capability.why)
            yield f"  {said.station}: {'; '.join(filter(None, told))}."
        if characteristic.left_out:
            yield f"  {left_out_words(characteristic)}"


def left_out_words(characteristic: Characteristic) -> str:
    """Say how many values are left out, and why; empty when none is."""
    many = characteristic.left_out
    if not many:
        return ""
    return trn(
        "{count} value is left out: recorded in another unit than {unit}.",
        "{count} values are left out: recorded in another unit than {unit}.",
        many,
        unit=characteristic.unit,
    )


def narrowing_to_json(found: Narrowing) -> dict[str, Any]:
    """Turn it into JSON values: ``units``, one for each grouping, and ``measured``, one for each
    characteristic that has a value.
    """
    return {
        "units": [
            _comparison_to_json(station, said) for station in found.stations for said in station.comparisons
        ],
        "measured": [
            _measured_to_json(one)
            for one in found.characteristics
            if any(said.count for said in one.answer.stations)
        ],
    }


def _comparison_to_json(station: StationUnits, said: UnitComparison) -> dict[str, Any]:
    return {
        "station_order": station.groupings.order,
        "station": station.groupings.name,
        "grouping": said.grouping,
        "checked": said.checked,
        "nok": said.nok,
        "verdict": said.verdict,
        "worse": list(said.worse),
        "better": list(said.better),
        "p": said.test.p,
        "p_adjusted": said.p_adjusted,
        "method": said.test.method,
        "units": [
            {
                "unit": unit.name,
                "checked": unit.checked,
                "nok": unit.nok,
                "share": unit.share,
                "low95": unit.interval.low,
                "high95": unit.interval.high,
                "p": unit.p,
                "p_adjusted": unit.p_adjusted,
                "against_rest": unit.direction,
            }
            for unit in said.units
        ],
        "never_checked": list(said.never_checked),
        "sentence": said.sentence,
        "notes": list(station.groupings.notes),
    }


def _measured_to_json(one: MeasuredCharacteristic) -> dict[str, Any]:
    characteristic, answer = one.characteristic, one.answer
    outside, shift = answer.first_outside, answer.first_shift
    return {
        "characteristic": characteristic.id,
        "title": characteristic.title,
        "unit_of_measure": characteristic.unit,
        "first_out_of_tolerance": outside.station if outside else None,
        "first_shift": shift.later if shift else None,
        "stations": [_values_to_json(said) for said in answer.stations if said.count],
        "moves": [_move_to_json(move) for move in answer.moves],
        "left_out": characteristic.left_out,
        "sentences": list(answer_sentences(answer, characteristic.unit, characteristic.decimals)),
        "notes": list(answer.notes),
    }


def _values_to_json(said: StationValues) -> dict[str, Any]:
    found = said.capability
    indices = ("cp", "cpk", "pp", "ppk")
    values: dict[str, Any] = {
        "station_order": said.order,
        "station": said.station,
        "parts": said.count,
        "tagged": said.tagged,
        "mean": said.mean,
        **_limits_to_json("mean_", said.mean_interval),
        "standard_deviation": said.standard_deviation,
        "low": said.low,
        "high": said.high,
        "out_of_limits": said.outside,
        **_limits_to_json("out_of_limits_", said.outside_interval),
    }
    for name in indices:
        index = getattr(found, name) if found else None
        values[name] = index.value if index else None
        values |= _limits_to_json(f"{name}_", index.interval if index else None)
    return values | {"why": found.why if found else ""}


def _move_to_json(move: Move) -> dict[str, Any]:
    return {
        "earlier": move.earlier,
        "later": move.later,
        "not_measured_between": list(move.not_measured_between),
        "same_parts": move.is_paired,
        "shift": move.shift.value,
        **_limits_to_json("shift_", move.shift_interval),
        "shift_p_corrected": move.shift_p_corrected,
        "spread_ratio": move.spread.ratio,
        **_limits_to_json("spread_", move.spread_interval),
        "spread_p_corrected": move.spread_p_corrected,
        "why": move.why,
    }


def _limits_to_json(before: str, interval: Interval | None) -> dict[str, float | None]:
    return {
        f"{before}low95": interval.low if interval else None,
        f"{before}high95": interval.high if interval else None,
    }
