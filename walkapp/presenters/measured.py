"""One characteristic along the stream: where it leaves tolerance, and where it shifts."""

from __future__ import annotations

from dataclasses import dataclass, replace

from walkapp.actions.narrowing import MeasuredCharacteristic, left_out_words, narrow
from walkapp.actions.reading import concern_facts
from walkapp.analysis.measured_results import Limits, StationValues
from walkapp.analysis.measured_words import (
    answer_sentences,
    limits_in_words,
    mean_in_words,
    number_text,
    outside_in_words,
    shift_in_words,
)
from walkapp.analysis.wording import capital
from walkapp.errors import InputError, WalkappError
from walkapp.language import tr
from walkapp.model.checklist import Stream
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session

MARGIN_SHARE = 0.08
"""Part of the range of values that is left free above and below: a drawing choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredColumn:
    """One station of the drawing; all heights are from 0 (bottom) to 1 (top), none where there is none.

    Parameters
    ----------
    station
        Its id.
    number, name
        Place in the stream, and short name.
    is_measured
        Whether there are values.
    mean, low, high
        The mean and its interval.
    least, greatest
        The least and the greatest part.
    lsl, usl, nominal
        The limits that hold here.
    mark, word
        Shape and word of what stands out here: first out of tolerance, first shift; no shape for "not
        measured", both empty for nothing.
    """

    station: str
    number: str
    name: str
    is_measured: bool
    mean: float | None = None
    low: float | None = None
    high: float | None = None
    least: float | None = None
    greatest: float | None = None
    lsl: float | None = None
    usl: float | None = None
    nominal: float | None = None
    mark: str = ""
    word: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPath:
    """One tagged part in the drawing.

    Parameters
    ----------
    part
        Its tag.
    points
        Number of the column and height, from column to column.
    outside
        For each point, whether it is out of tolerance.
    """

    part: str
    points: tuple[tuple[int, float], ...]
    outside: tuple[bool, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredView:
    """The drawing: the stations from the first to the last measured one, side by side.

    Parameters
    ----------
    columns
        The stations.
    paths
        The tagged parts.
    scale
        Pairs of height and text for the limits, where all stations have the same; empty otherwise.
    """

    columns: tuple[MeasuredColumn, ...] = ()
    paths: tuple[DrawnPath, ...] = ()
    scale: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredLine:
    """What is said of one measured station.

    Parameters
    ----------
    title
        The station.
    mark
        Shape: ``bad`` with a part out of limits, ``clean`` with none.
    words
        Mean, parts out of limits, limits where they are not drawn once for all stations, and shift, a
        line each.
    """

    title: str
    mark: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredState:
    """Everything the page of one characteristic shows.

    Parameters
    ----------
    title, subtitle
        The characteristic, and the concern.
    sentences
        What the values say, the most important first.
    view
        The drawing.
    legend
        What is drawn, in words; empty when nothing is.
    lines
        One a measured station.
    notes
        What was left out or taken together.
    problem
        What went wrong; empty when nothing did.
    """

    title: str = ""
    subtitle: str = ""
    sentences: tuple[str, ...] = ()
    view: MeasuredView = MeasuredView()
    legend: str = ""
    lines: tuple[MeasuredLine, ...] = ()
    notes: tuple[str, ...] = ()
    problem: str = ""


class MeasuredPage(Observed[MeasuredState]):
    """Presents one characteristic, over all walks of the concern.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The concern, the characteristic as ``check``, and walk and station it was opened from, if any.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(MeasuredState())
        self.session = session
        self.route = route

    def open(self) -> None:
        """Read the records and work it out."""

        def run() -> MeasuredState:
            facts = concern_facts(self.session.place, self.route.concern)
            found = narrow(facts).characteristic(self.route.check)
            if found is None:
                wanted = self.route.check
                raise InputError(
                    tr(
                        "The checklist measures no {wanted}; go back and choose a station.",
                        wanted=repr(wanted),
                    )
                )
            return measured_state(found, facts.known_stream(), facts.concern.what)

        self.session.run_later(run, self._show, self.fail)

    def back(self) -> None:
        """Go back to the station's details, or to the first-bad-station view."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error)))


def measured_state(one: MeasuredCharacteristic, stream: Stream, what: str) -> MeasuredState:
    """Put one characteristic along the stream into words and a drawing."""
    characteristic, answer = one.characteristic, one.answer
    view = measured_view(one, stream)
    left_out = left_out_words(characteristic)
    return MeasuredState(
        title=characteristic.title,
        subtitle=what,
        sentences=answer_sentences(answer, characteristic.unit, characteristic.decimals),
        view=view,
        legend=legend_text(view),
        lines=tuple(measured_line(one, said, view) for said in answer.stations if said.count),
        notes=(*(f"{capital(note)}." for note in answer.notes), *filter(None, (left_out,))),
    )


def legend_text(view: MeasuredView) -> str:
    """Say what the drawing shows."""
    if not view.columns:
        return ""
    said = [
        tr(
            "Band: inside the limits. Thick line: mean, its box the 95 % interval of the mean. "
            "Upright line: from the least to the greatest part."
        )
    ]
    if view.paths:
        said.append(tr("Thin lines: the tagged parts, a cross where one is out of tolerance."))
    return " ".join(said)


def measured_line(one: MeasuredCharacteristic, said: StationValues, view: MeasuredView) -> MeasuredLine:
    """Put one measured station into words."""
    characteristic, answer = one.characteristic, one.answer
    unit, decimals = characteristic.unit, characteristic.decimals
    move = one.move_to(said.order)
    limits = one.limits_at(said.order)
    words = [
        mean_in_words(said, unit, decimals),
        outside_in_words(said),
        "" if view.scale else limits_in_words(limits, unit),
        shift_in_words(move, unit, decimals, answer.confidence) if move else "",
    ]
    return MeasuredLine(
        title=f"{said.order}  {said.station}",
        mark="bad" if said.outside else "not_visited" if said.outside is None else "clean",
        words=tuple(capital(text) for text in words if text),
    )


def measured_view(one: MeasuredCharacteristic, stream: Stream) -> MeasuredView:
    """Lay the stations out, from the first to the last one that was measured."""
    measured = [index for index, said in enumerate(one.answer.stations) if said.count]
    if not measured:
        return MeasuredView()
    shown = range(measured[0], measured[-1] + 1)
    bottom, height = _scale(one, [one.answer.stations[index] for index in shown])

    def place(value: float | None) -> float | None:
        return None if value is None else (value - bottom) / height

    def limit(value: object) -> float | None:
        return None if value is None else place(float(value))  # type: ignore[arg-type]

    columns = []
    for index in shown:
        said, limits = one.answer.stations[index], one.limits_at(one.answer.stations[index].order)
        mark, word = _what_stands_out(one, said)
        columns.append(
            MeasuredColumn(
                station=stream.stations[index].id,
                number=str(said.order),
                name=stream.stations[index].short,
                is_measured=said.count > 0,
                mean=place(said.mean),
                low=place(said.mean_interval.low) if said.mean_interval else None,
                high=place(said.mean_interval.high) if said.mean_interval else None,
                least=place(said.low),
                greatest=place(said.high),
                lsl=limit(limits.lsl),
                usl=limit(limits.usl),
                nominal=limit(limits.nominal),
                mark=mark,
                word=word,
            )
        )
    column_of = {one.answer.stations[index].order: number for number, index in enumerate(shown)}
    paths = tuple(
        DrawnPath(
            part=path.part,
            points=tuple((column_of[step.order], (step.value - bottom) / height) for step in path.steps),
            outside=tuple(bool(step.is_outside) for step in path.steps),
        )
        for path in one.answer.paths
        if len(path.steps) > 1
    )
    return MeasuredView(columns=tuple(columns), paths=paths, scale=_common_scale(one, bottom, height))


def _scale(one: MeasuredCharacteristic, shown: list[StationValues]) -> tuple[float, float]:
    values: list[float] = []
    for said in shown:
        limits = one.limits_at(said.order)
        values += [float(limit) for limit in (limits.lsl, limits.usl, limits.nominal) if limit is not None]
        values += [value for value in (said.low, said.high) if value is not None]
        if said.mean_interval is not None:
            values += [said.mean_interval.low, said.mean_interval.high]
    low, high = min(values), max(values)
    margin = MARGIN_SHARE * (high - low) or abs(high) or 1.0
    return low - margin, high - low + 2 * margin


def _common_scale(
    one: MeasuredCharacteristic, bottom: float, height: float
) -> tuple[tuple[float, str], ...]:
    limits = [s.limits for s in one.characteristic.stations if s.limits not in (None, Limits())]
    if not limits or any(other != limits[0] for other in limits):
        return ()
    first = limits[0] or Limits()
    given = ((tr("LSL"), first.lsl), (tr("USL"), first.usl))
    return tuple(
        ((float(value) - bottom) / height, f"{name} {number_text(value)}")
        for name, value in given
        if value is not None
    )


def _what_stands_out(one: MeasuredCharacteristic, said: StationValues) -> tuple[str, str]:
    outside, shift = one.answer.first_outside, one.answer.first_shift
    is_outside = outside is not None and outside.order == said.order
    is_shift = shift is not None and shift.later_order == said.order
    if is_outside and is_shift:
        return "bad", tr("first out of tolerance, first shift")
    if is_outside:
        return "bad", tr("first out of tolerance")
    if is_shift:
        return "undecided", tr("first shift")
    return "", "" if said.count else tr("not measured")
