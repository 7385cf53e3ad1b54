"""Within one station: which unit differs, and what was measured there."""

from __future__ import annotations

from dataclasses import dataclass, replace

from walkapp.actions.narrowing import (
    MeasuredCharacteristic,
    Narrowing,
    StationUnits,
    left_out_words,
    narrow,
)
from walkapp.actions.reading import concern_facts
from walkapp.analysis.measured_words import (
    indices_in_words,
    limits_in_words,
    mean_in_words,
    outside_in_words,
    shift_in_words,
    spread_in_words,
)
from walkapp.analysis.units import NONE_SHOWN, NOTHING_TO_COMPARE, SOME_DIFFER, UnitComparison, UnitVerdict
from walkapp.analysis.wording import named
from walkapp.errors import InputError, WalkappError
from walkapp.language import msg, tr, trc, trn
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.wording import counts_text, share_range

BY_GROUPING = {
    "cavity": msg("By cavity"),
    "fixture": msg("By fixture"),
    "machine": msg("By machine"),
    "rack": msg("By rack"),
    "line": msg("By line"),
    "unit": msg("By parallel unit"),
    "walk": msg("By walk"),
    "lot": msg("By lot"),
    "shift": msg("By shift"),
}
"""Titles of what parts are divided by."""

NOT_MEASURED = msg("nothing measured")


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitRow:
    """One unit of a grouping.

    Parameters
    ----------
    name
        The unit.
    counts
        NOK of checked, in words.
    interval
        The exact 95 % interval of the share, in words.
    low, share, high
        The same as numbers from 0 to 1, for drawing; none when nothing was checked.
    mark, word
        Shape and word of what is said of it.
    """

    name: str
    counts: str
    interval: str
    low: float | None
    share: float | None
    high: float | None
    mark: str
    word: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitTable:
    """One grouping of the parts of the station.

    Parameters
    ----------
    title
        What it is divided by.
    sentence
        What it says.
    rows
        One a unit; none when there is nothing to compare.
    """

    title: str
    sentence: str
    rows: tuple[UnitRow, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CharacteristicBlock:
    """One characteristic at this station.

    Parameters
    ----------
    characteristic
        Its id.
    title
        What is measured.
    mark
        Shape: ``bad`` with a part out of limits, ``clean`` with none, ``not_visited`` without values.
    lines
        Pairs of label and words.
    onward
        A row that leads to the characteristic along the stream; none when it is measured here only.
    """

    characteristic: str
    title: str
    mark: str
    lines: tuple[tuple[str, str], ...]
    onward: tuple[ListRow, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DetailState:
    """Everything the page of one station's details shows.

    Parameters
    ----------
    title, subtitle
        The station, and the concern.
    counts
        All parts judged here, in words.
    tables
        One for each grouping.
    notes
        What has to be minded with the tables.
    blocks
        One for each characteristic that is measured here.
    problem
        What went wrong; empty when nothing did.
    """

    title: str = ""
    subtitle: str = ""
    counts: str = ""
    tables: tuple[UnitTable, ...] = ()
    notes: tuple[str, ...] = ()
    blocks: tuple[CharacteristicBlock, ...] = ()
    problem: str = ""


class DetailPage(Observed[DetailState]):
    """Presents what is known within one station, over all walks of the concern.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The concern and the station, and the walk it was opened from, if any.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(DetailState())
        self.session = session
        self.route = route

    def open(self) -> None:
        """Read the records and work it out."""

        def run() -> DetailState:
            facts = concern_facts(self.session.place, self.route.concern)
            return detail_state(narrow(facts), self.route.station, facts.concern.what)

        self.session.run_later(run, self._show, self.fail)

    def to_measured(self, characteristic: str) -> None:
        """Go to a characteristic along the stream."""
        self.session.go(replace(self.route, screen="measured", check=characteristic))

    def back(self) -> None:
        """Go back to the first-bad-station view."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error)))


def detail_state(found: Narrowing, station_id: str, what: str) -> DetailState:
    """Put everything that is known within a station into words.

    Raises
    ------
    InputError
        If the checklist has no such station.
    """
    station = found.station(station_id)
    if station is None:
        raise InputError(
            tr(
                "The checklist has no station {station_id}; go back and choose one.",
                station_id=repr(station_id),
            )
        )
    groupings = station.groupings
    return DetailState(
        title=f"{groupings.order}  {groupings.name}",
        subtitle=what,
        counts=counts_words(station),
        tables=tuple(unit_table(said) for said in station.comparisons),
        notes=groupings.notes,
        blocks=tuple(
            characteristic_block(one, groupings.order)
            for one in found.characteristics
            if station_id in one.characteristic.checked_at
        ),
    )


def counts_words(station: StationUnits) -> str:
    """Say how many parts were judged here, and whether there is anything to divide them by."""
    groupings = station.groupings
    if not groupings.checked:
        return tr("No part was judged for this defect here yet.")
    counts = counts_text(groupings.nok, groupings.checked)
    if station.comparisons:
        return tr("All parts judged here: {nok}.", nok=counts)
    return tr(
        "All parts judged here: {nok}. There is nothing to divide them by: the checklist lists no parallel "
        "units here, and they come from one walk.",
        nok=counts,
    )


def unit_table(said: UnitComparison) -> UnitTable:
    """Put one grouping into words."""
    can_compare = said.verdict != NOTHING_TO_COMPARE
    return UnitTable(
        title=tr(BY_GROUPING[said.grouping]),
        sentence=said.sentence,
        rows=tuple(unit_row(unit, said) for unit in said.units) if can_compare else (),
    )


def unit_row(unit: UnitVerdict, said: UnitComparison) -> UnitRow:
    """Put one unit into words."""
    mark, word = "undecided", tr("not shown to differ")
    if unit.name in said.worse:
        mark, word = "bad", tr("worse than the rest")
    elif unit.name in said.better:
        mark, word = "clean", tr("better than the rest")
    elif said.verdict not in (NONE_SHOWN, SOME_DIFFER):
        word = tr("the rest") if len(said.units) == 2 else tr("one of the rest")
    return UnitRow(
        name=unit.name,
        counts=tr("{nok} of {checked}", nok=unit.nok, checked=unit.checked),
        interval=share_range(unit.interval.low, unit.interval.high),
        low=unit.interval.low,
        share=unit.share,
        high=unit.interval.high,
        mark=mark,
        word=word,
    )


def characteristic_block(one: MeasuredCharacteristic, order: int) -> CharacteristicBlock:
    """Put one characteristic at one station into words."""
    characteristic, said, move = one.characteristic, one.at(order), one.move_to(order)
    unit, decimals = characteristic.unit, characteristic.decimals
    limits = next(station.limits for station in characteristic.stations if station.order == order)
    lines = [
        (tr("Limits"), limits_in_words(limits, unit) if limits else ""),
        (tr("Mean"), tr(NOT_MEASURED)),
    ]
    mark = "not_visited"
    if said.count:
        lines[1] = (tr("Mean"), mean_in_words(said, unit, decimals))
        lines.append((tr("Out of limits"), outside_in_words(said)))
        mark = "bad" if said.outside else "clean" if said.outside is not None else mark
        if move is not None:
            lines.append(
                (trc("of a mean", "Shift"), shift_in_words(move, unit, decimals, one.answer.confidence))
            )
            lines.append((tr("Spread"), spread_in_words(move, one.answer.confidence)))
        if said.capability is not None:
            lines += indices_in_words(said.capability)
            lines.append((tr("Indices"), said.capability.why))
    lines.append((tr("Left out"), left_out_words(characteristic)))
    return CharacteristicBlock(
        characteristic=characteristic.id,
        title=characteristic.title,
        mark=mark,
        lines=tuple((label, words) for label, words in lines if words),
        onward=onward_rows(one),
    )


def onward_rows(one: MeasuredCharacteristic) -> tuple[ListRow, ...]:
    """Lead on to the characteristic along the stream, when it is measured at other stations too."""
    many = len(one.characteristic.checked_at)
    if many < 2:
        return ()
    return (
        ListRow(
            id=one.characteristic.id,
            title=tr("Along the stream"),
            subtitle=trn(
                "measured at {count} station: {station_names}",
                "measured at {count} stations: {station_names}",
                many,
                station_names=named(one.station_names),
            ),
        ),
    )
