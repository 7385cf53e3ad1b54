"""One characteristic measured along the stream: where it leaves tolerance, and where it shifts.

Neighbouring stations are compared by the same tagged parts where there are at least two, otherwise as
separate samples; the two are never mixed. All p-values and intervals are two-sided. As there are several
neighbours to compare, the p-values that a station is named by are corrected (Holm), and intervals that
hold together are given beside the single ones (Bonferroni). Holm's correction finds a little more than
those intervals show.

That no shift is shown does not show that there is none: look at how wide the interval is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from walkapp.analysis.capability import capability
from walkapp.analysis.many import holm
from walkapp.analysis.means import (
    CONFIDENCE,
    check_confidence,
    mean_interval,
    paired_shift,
    paired_spread_change,
    separate_shift,
    separate_spread_change,
)
from walkapp.analysis.measured_results import (
    Departure,
    Limits,
    MeanPath,
    MeasuredAnswer,
    MeasuredStation,
    Move,
    PartPath,
    StationValues,
    Step,
)
from walkapp.analysis.moments import Number, exact, moments_of
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.wording import named, parts_in_words
from walkapp.language import tr, trn

LEAST_PAIRS = 2
"""Tagged parts that must have been measured at both stations to compare by pairs."""


@dataclass(frozen=True, slots=True)
class _Part:
    tag: str
    value: Fraction
    group: str
    readings: int


@dataclass(frozen=True, slots=True)
class _Limits:
    lsl: Fraction | None
    usl: Fraction | None
    nominal: Fraction | None

    @property
    def are_given(self) -> bool:
        return self.lsl is not None or self.usl is not None

    def is_below(self, value: Fraction) -> bool:
        return self.lsl is not None and value < self.lsl

    def is_above(self, value: Fraction) -> bool:
        return self.usl is not None and value > self.usl

    def is_outside(self, value: Fraction) -> bool:
        return self.is_below(value) or self.is_above(value)


@dataclass(frozen=True, slots=True)
class _Place:
    """A station with the parts measured there."""

    station: MeasuredStation
    limits: _Limits
    values: tuple[Fraction, ...]
    parts: tuple[_Part, ...]

    def tagged(self) -> dict[str, Fraction]:
        return {part.tag: part.value for part in self.parts if part.tag}


def follow_measurements(
    stations: Sequence[MeasuredStation],
    *,
    lsl: Number | None = None,
    usl: Number | None = None,
    nominal: Number | None = None,
    confidence: float = CONFIDENCE,
) -> MeasuredAnswer:
    """Work out what one characteristic does along the stream.

    Parameters
    ----------
    stations
        In stream order, each order once; any number, also without readings. All values are of one
        characteristic, in one unit.
    lsl, usl, nominal
        Lower and upper limit and nominal value of all stations that have no limits of their own; each
        may be missing, `lsl` is below `usl`.
    confidence
        Of all intervals, above 0 and below 1; a change is named when its corrected p is at most the
        rest.

    Returns
    -------
    MeasuredAnswer
        Where a tag has several readings at one station, their mean is the part's value there, and
        its group is that of the first reading.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Examples
    --------
    >>> from walkapp.analysis.measured_results import Reading
    >>> def station(order, name, *values):
    ...     readings = (Reading(value=v, part=f"P{i}") for i, v in enumerate(values))
    ...     return MeasuredStation(order=order, name=name, readings=tuple(readings))
    >>> found = follow_measurements(
    ...     [station(1, "Moulding", 10.1, 10.2, 10.0, 10.3), station(2, "Welding", 10.2, 10.2, 10.1, 10.3),
    ...      station(3, "Leak test", 10.9, 11.1, 10.8, 11.2)], lsl=9.5, usl=11.0)
    >>> found.first_outside.why
    'Leak test: 2 of 4 parts outside; 8 values before, all inside'
    >>> move = found.largest_shift
    >>> move.later, round(move.shift.value, 2), move.is_paired, round(move.shift_p_corrected, 4)
    ('Leak test', 0.8, True, 0.0016)
    """
    if any(earlier.order >= later.order for earlier, later in pairwise(stations)):
        raise ValueError("stations must be in stream order, each order once")
    check_confidence(confidence)
    common = _limits(Limits(lsl=lsl, usl=usl, nominal=nominal))
    places = [_place(station, common) for station in stations]
    moves = _corrected(list(_moves(places, confidence)), confidence)
    shifts = [move for move in moves if is_shown(move.shift_p_corrected, confidence)]
    spreads = [move for move in moves if is_shown(move.spread_p_corrected, confidence)]
    paths = _paths(places)
    return MeasuredAnswer(
        stations=tuple(_station_values(place, confidence) for place in places),
        moves=tuple(moves),
        first_outside=_departure(places),
        first_shift=shifts[0] if shifts else None,
        largest_shift=max(shifts, key=lambda move: abs(move.shift.value), default=None),
        first_spread_change=spreads[0] if spreads else None,
        largest_spread_change=max(spreads, key=_spread_factor, default=None),
        paths=paths,
        mean_path=_mean_path(places),
        confidence=confidence,
        notes=tuple(_notes(places, moves)),
    )


def _limits(given: Limits) -> _Limits:
    found = _Limits(*(None if it is None else exact(it) for it in (given.lsl, given.usl, given.nominal)))
    if found.lsl is not None and found.usl is not None and found.lsl >= found.usl:
        raise ValueError(f"lsl must be below usl, not {given.lsl!r} and {given.usl!r}")
    return found


def _place(station: MeasuredStation, common: _Limits) -> _Place:
    values = tuple(exact(reading.value) for reading in station.readings)
    readings_of: dict[str | int, list[int]] = {}
    for index, reading in enumerate(station.readings):
        # An untagged reading is a part of its own.
        readings_of.setdefault(reading.part or index, []).append(index)
    parts = tuple(
        _Part(
            tag=station.readings[indices[0]].part,
            value=sum((values[index] for index in indices), Fraction(0)) / len(indices),
            group=station.readings[indices[0]].group,
            readings=len(indices),
        )
        for indices in readings_of.values()
    )
    limits = common if station.limits is None else _limits(station.limits)
    return _Place(station, limits, values, parts)


def _station_values(place: _Place, confidence: float) -> StationValues:
    parts, limits = place.parts, place.limits
    said = StationValues(
        order=place.station.order,
        station=place.station.name,
        readings=len(place.values),
        count=len(parts),
        tagged=sum(1 for part in parts if part.tag),
        repeated=sum(1 for part in parts if part.readings > 1),
    )
    if limits.are_given:
        below = sum(1 for part in parts if limits.is_below(part.value))
        above = sum(1 for part in parts if limits.is_above(part.value))
        said = replace(
            said,
            below=below,
            above=above,
            outside=below + above,
            outside_interval=(
                proportion_interval(below + above, len(parts), confidence) if parts else None
            ),
            readings_outside=sum(1 for value in place.values if limits.is_outside(value)),
            capability=capability(
                [part.value for part in parts],
                [part.group for part in parts],
                lsl=limits.lsl,
                usl=limits.usl,
                confidence=confidence,
            ),
        )
    if not parts:
        return said
    found = moments_of([part.value for part in parts])
    return replace(
        said,
        mean=float(found.mean),
        low=float(found.low),
        high=float(found.high),
        standard_deviation=found.standard_deviation,
        mean_interval=mean_interval([part.value for part in parts], confidence),
        from_nominal=None if limits.nominal is None else float(found.mean - limits.nominal),
    )


def _moves(places: Sequence[_Place], confidence: float) -> Iterator[Move]:
    measured = [index for index, place in enumerate(places) if place.parts]
    for first, second in pairwise(measured):
        earlier, later = places[first], places[second]
        between = places[first + 1 : second]
        before, after = earlier.tagged(), later.tagged()
        common = [tag for tag in before if tag in after]
        is_paired = len(common) >= LEAST_PAIRS
        if is_paired:
            samples = [before[tag] for tag in common], [after[tag] for tag in common]
            shift, spread = paired_shift(*samples), paired_spread_change(*samples)
        else:
            samples = [part.value for part in earlier.parts], [part.value for part in later.parts]
            shift, spread = separate_shift(*samples), separate_spread_change(*samples)
        yield Move(
            earlier_order=earlier.station.order,
            earlier=earlier.station.name,
            later_order=later.station.order,
            later=later.station.name,
            not_measured_between=tuple(place.station.name for place in between),
            is_paired=is_paired,
            common_parts=len(common),
            unused_earlier=len(earlier.parts) - len(common) if is_paired else 0,
            unused_later=len(later.parts) - len(common) if is_paired else 0,
            shift=shift,
            spread=spread,
            shift_interval=shift.interval(confidence),
            spread_interval=spread.interval(confidence),
            why=(
                tr("{common} tagged parts measured at both", common=len(common))
                if is_paired
                else tr(
                    "separate samples: {samples} and {samples2}",
                    samples=len(samples[0]),
                    samples2=parts_in_words(len(samples[1])),
                )
            ),
        )


def _corrected(moves: Sequence[Move], confidence: float) -> list[Move]:
    shifts = _holm_of([move.shift.p for move in moves])
    spreads = _holm_of([move.spread.p for move in moves])

    def joint(chances: Sequence[float | None]) -> float:
        looks = sum(1 for p in chances if p is not None)
        return 1.0 - (1.0 - confidence) / max(1, looks)

    return [
        replace(
            move,
            shift_p_corrected=shift_p,
            spread_p_corrected=spread_p,
            shift_interval_joint=move.shift.interval(joint(shifts)),
            spread_interval_joint=move.spread.interval(joint(spreads)),
        )
        for move, shift_p, spread_p in zip(moves, shifts, spreads, strict=True)
    ]


def _holm_of(chances: Sequence[float | None]) -> list[float | None]:
    corrected = iter(holm([p for p in chances if p is not None]))
    return [None if p is None else next(corrected) for p in chances]


def is_shown(corrected: float | None, confidence: float) -> bool:
    """Say whether a change is named.

    Parameters
    ----------
    corrected
        Its p after correction; none when nothing can be said.
    confidence
        That of the answer.
    """
    return corrected is not None and corrected <= 1.0 - confidence


def _spread_factor(move: Move) -> float:
    ratio = move.spread.ratio
    return max(ratio, 1.0 / ratio) if ratio else 0.0


def _departure(places: Sequence[_Place]) -> Departure | None:
    inside = 0
    unmeasured: list[str] = []
    for place in places:
        outside = [part for part in place.parts if place.limits.is_outside(part.value)]
        name = place.station.name
        if outside:
            why = tr(
                "{name}: {outside} of {parts} outside; ",
                name=name,
                outside=len(outside),
                parts=parts_in_words(len(place.parts)),
            )
            why += (
                trn("{count} value before, inside", "{count} values before, all inside", inside)
                if inside
                else tr("nothing measured before")
            )
            if unmeasured:
                why += tr("; not measured: {unmeasured}", unmeasured=named(unmeasured))
            return Departure(
                order=place.station.order,
                station=name,
                outside=len(outside),
                count=len(place.parts),
                parts=tuple(part.tag for part in outside if part.tag),
                inside_before=inside,
                not_measured_before=tuple(unmeasured),
                why=why,
            )
        inside += len(place.parts) if place.limits.are_given else 0
        unmeasured = [] if place.parts else [*unmeasured, name]
    return None


def _paths(places: Sequence[_Place]) -> tuple[PartPath, ...]:
    steps: dict[str, list[Step]] = {}
    ends: dict[str, tuple[Fraction, Fraction]] = {}
    for place in places:
        for tag, value in place.tagged().items():
            ends[tag] = ends.get(tag, (value, value))[0], value
            steps.setdefault(tag, []).append(
                Step(
                    order=place.station.order,
                    station=place.station.name,
                    value=float(value),
                    is_outside=place.limits.is_outside(value) if place.limits.are_given else None,
                )
            )
    return tuple(
        PartPath(
            part=tag,
            steps=tuple(way),
            moved=float(ends[tag][1] - ends[tag][0]) if len(way) > 1 else None,
            left_tolerance=next((step.station for step in way if step.is_outside), None),
        )
        for tag, way in steps.items()
    )


def _mean_path(places: Sequence[_Place]) -> MeanPath | None:
    values = [place.tagged() for place in places]
    followed = {tag for tag in {tag for at in values for tag in at} if sum(tag in at for at in values) > 1}
    on_the_way = [(place, at) for place, at in zip(places, values, strict=True) if followed & at.keys()]
    complete = [tag for tag in sorted(followed) if all(tag in at for _, at in on_the_way)]
    if not complete:
        return None
    return MeanPath(
        parts=len(complete),
        steps=tuple(
            Step(
                order=place.station.order,
                station=place.station.name,
                value=float(sum((at[tag] for tag in complete), Fraction(0)) / len(complete)),
            )
            for place, at in on_the_way
        ),
    )


def _notes(places: Sequence[_Place], moves: Sequence[Move]) -> Iterator[str]:
    for place in places:
        repeated = sum(1 for part in place.parts if part.readings > 1)
        if repeated:
            many = tr(
                "{repeated} measured more than once, the mean counts", repeated=parts_in_words(repeated)
            )
            yield f"{place.station.name}: {many}"
        parts = sum(1 for part in place.parts if place.limits.is_outside(part.value))
        single = sum(1 for value in place.values if place.limits.is_outside(value))
        if single and not parts:
            yield trn(
                "{station}: {count} single reading outside, hidden in the mean of a part",
                "{station}: {count} single readings outside, hidden in the mean of a part",
                single,
                station=place.station.name,
            )
    for move in moves:
        names = tr("{earlier} and {later}", earlier=move.earlier, later=move.later)
        if move.unused_earlier or move.unused_later:
            unused = tr(
                "{unused_earlier} and {unused_later}",
                unused_earlier=move.unused_earlier,
                unused_later=parts_in_words(move.unused_later),
            )
            yield tr("{names}: compared by tagged parts, {unused} left out", names=names, unused=unused)
        if move.common_parts and not move.is_paired:
            yield tr("{names}: compared as separate samples although 1 part is in both", names=names)
