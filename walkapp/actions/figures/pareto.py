"""The figures that put stations, defects and units in the order of their NOK parts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate

from walkapp.actions.desk import DeskFacts
from walkapp.actions.narrowing import narrow
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.gather import gather_tallies
from walkapp.analysis.gather_units import LOT, SHIFT, WALK, StationGroupings
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.units import Grouping
from walkapp.analysis.wording import by_grouping, named, percent, share_range, unit_label
from walkapp.files import safe_name
from walkapp.language import msg, tr, trn, whole_text
from walkapp.paper.figures.pareto import ParetoFigure, ParetoRow

MOST_ROWS = 12
"""Rows of their own; all others together are one more."""

MOST_STATIONS = 6
"""Stations whose units are put in order: those with the most NOK parts."""

MOST_NAMED = 3
"""How many that share the highest share are named."""

STATION, DEFECT, UNIT = "pareto-by-station", "pareto-by-defect", "pareto-by-unit"


@dataclass(frozen=True, slots=True)
class Counted:
    """What was counted of one station, defect or unit.

    Parameters
    ----------
    what
        Its name.
    checked, nok
        Parts; ``0 <= nok <= checked``.
    """

    what: str
    checked: int
    nok: int


def stations_of_concern(_place: Workplace, facts: ConcernFacts) -> tuple[ParetoFigure, ...]:
    """Put the stations of a concern in order; none where no part was NOK."""
    found = [Counted(one.station, one.checked, one.nok) for one in facts.locate(thorough=False).stations]
    return pareto(found, by=tr("by station"), name=STATION, notes=(tr(WHERE_FOUND),))


def units_of_concern(_place: Workplace, facts: ConcernFacts) -> tuple[ParetoFigure, ...]:
    """Put the parallel units of each station in order; none where no unit is known of a NOK part."""
    stations = (station.groupings for station in facts.once(narrow).stations)
    found = [(station, grouping) for station in stations for grouping in _by_units(station)]
    most = sorted(found, key=lambda pair: -_nok(pair[1]))[:MOST_STATIONS]
    kept = sorted(most, key=lambda pair: pair[0].order)
    return tuple(figure for pair in kept for figure in _of_units(*pair))


def stations_of_stream(_place: Workplace, facts: DeskFacts) -> tuple[ParetoFigure, ...]:
    """Put the stations of a stream in order, over all its concerns."""
    counts: dict[str, Counted] = {}
    for concern in facts.concerns:
        for station, name, checked, nok in _counts(concern):
            so_far = counts.get(station, Counted(name, 0, 0))
            counts[station] = Counted(so_far.what, so_far.checked + checked, so_far.nok + nok)
    order = [station.id for station in facts.known.stations] if facts.known else []
    places = {station: place for place, station in enumerate(order)}
    found = sorted(counts, key=lambda station: (places.get(station, len(order)), station))
    return pareto(
        [counts[station] for station in found],
        by=_of_concerns(tr("by station"), facts),
        name=STATION,
        notes=(tr(WHERE_FOUND), tr(AT_EACH), *_left_out(facts)),
    )


def defects_of_stream(_place: Workplace, facts: DeskFacts) -> tuple[ParetoFigure, ...]:
    """Put the defects of a stream in order, over all its concerns."""
    names = {defect.id: defect.name for defect in facts.known.defects} if facts.known else {}
    counts: dict[str, Counted] = {}
    for concern in facts.concerns:
        defect = concern.concern.defect
        so_far = counts.get(defect, Counted(names.get(defect, defect), 0, 0))
        for _, _, checked, nok in _counts(concern):
            so_far = Counted(so_far.what, so_far.checked + checked, so_far.nok + nok)
        counts[defect] = so_far
    return pareto(
        [counts[defect] for defect in sorted(counts)],
        by=_of_concerns(tr("by defect"), facts),
        name=DEFECT,
        notes=(tr(AT_EACH), *_left_out(facts)),
    )


WHERE_FOUND = msg("A count says where NOK parts were found, not where they become NOK.")
AT_EACH = msg("A part that was checked at several stations, or for several concerns, counts each time.")


def pareto(
    counted: Iterable[Counted], *, by: str, name: str, notes: Sequence[str] = ()
) -> tuple[ParetoFigure, ...]:
    """Put counts in the order of their NOK parts.

    Parameters
    ----------
    counted
        Equal counts keep this order.
    by
        What is counted apart and where, such as "by station".
    name
        Name of the figure.
    notes
        What has to be minded beyond how many were checked.

    Returns
    -------
    tuple of ParetoFigure
        One, or none where nothing was NOK.
    """
    checked = [one for one in counted if one.checked]
    ranked = sorted(checked, key=lambda one: -one.nok)
    total = sum(one.nok for one in ranked)
    if not total:
        return ()
    shown = list(ranked if len(ranked) <= MOST_ROWS + 1 else ranked[:MOST_ROWS])
    rest = ranked[len(shown) :]
    if rest:
        shown.append(
            Counted(
                trn("{count} other", "{count} others", len(rest)),
                sum(one.checked for one in rest),
                sum(one.nok for one in rest),
            )
        )
    first = ranked[0]
    tied = [one for one in ranked if one.nok == first.nok]
    values = {"by": by, "nok": whole_text(first.nok), "total": whole_text(total)}
    return (
        ParetoFigure(
            title=tr("NOK parts {by}: {first} has {nok} of {total}", first=first.what, **values)
            if len(tied) == 1
            else trn(
                "NOK parts {by}: {count} of them has {nok} of {total}",
                "NOK parts {by}: {count} of them have {nok} of {total} each",
                len(tied),
                **values,
            ),
            notes=(
                tr(
                    "n = {what} parts checked, {total} of them NOK. Limits: exact, two-sided "
                    "95 % (Clopper-Pearson).",
                    what=whole_text(sum(one.checked for one in ranked)),
                    total=whole_text(total),
                ),
                *_compared(ranked),
                *notes,
            ),
            rows=tuple(
                ParetoRow(
                    what=one.what,
                    nok=one.nok,
                    words=_words(one),
                    together=together / total,
                    is_rest=bool(rest) and place == len(shown) - 1,
                )
                for place, (one, together) in enumerate(
                    zip(shown, accumulate(one.nok for one in shown), strict=True)
                )
            ),
            name=name,
        ),
    )


def _words(one: Counted) -> str:
    limits = proportion_interval(one.nok, one.checked)
    share = percent(one.nok / one.checked) if 0 < one.nok < one.checked else f"{100 * (one.nok > 0)} %"
    return tr(
        "{nok} of {checked}: {share} ({low})",
        nok=whole_text(one.nok),
        checked=whole_text(one.checked),
        share=share,
        low=share_range(limits.low, limits.high),
    )


def _compared(ranked: Sequence[Counted]) -> tuple[str, ...]:
    """Say whether the counts may be compared; nothing where there is one alone."""
    if len(ranked) < 2:
        return ()
    least, most = min(ranked, key=lambda one: one.checked), max(ranked, key=lambda one: one.checked)
    if least.checked == most.checked:
        return (tr("As many parts were checked in each row, so the counts compare."),)
    top = max(one.nok / one.checked for one in ranked)
    highest = [one.what for one in ranked if one.nok / one.checked == top][:MOST_NAMED]
    values = {
        "least": whole_text(least.checked),
        "most": whole_text(most.checked),
        "highest": named(highest),
    }
    return (
        tr(
            "Not as many parts were checked in each row ({least} to {most}): compare the shares, not the "
            "counts. The highest share is that of {highest}.",
            **values,
        )
        if len(highest) == 1
        else tr(
            "Not as many parts were checked in each row ({least} to {most}): compare the shares, not the "
            "counts. The highest shares are those of {highest}.",
            **values,
        ),
    )


def _counts(concern: ConcernFacts) -> list[tuple[str, str, int, int]]:
    """Give id, name, checked and NOK of every station; nothing where the checklist is not here."""
    if concern.stream is None:
        return []
    tallies = gather_tallies(concern.stream, concern.origin_records, concern.concern.defect)
    return [
        (station.id, station.name, tally.checked, tally.nok)
        for station, tally in zip(concern.stream.stations, tallies, strict=True)
    ]


def _of_concerns(by: str, facts: DeskFacts) -> str:
    return trn("{by}, of {count} concern", "{by}, of {count} concerns", len(facts.concerns), by=by)


def _left_out(facts: DeskFacts) -> tuple[str, ...]:
    many = sum(concern.stream is None for concern in facts.concerns)
    if not many:
        return ()
    return (
        trn(
            "{count} concern is left out: the checklist is not here.",
            "{count} concerns are left out: the checklist is not here.",
            many,
        ),
    )


def _by_units(station: StationGroupings) -> list[Grouping]:
    return [one for one in station.groupings if one.name not in (WALK, LOT, SHIFT) and _nok(one)]


def _nok(grouping: Grouping) -> int:
    return sum(unit.nok for unit in grouping.units)


def _of_units(station: StationGroupings, grouping: Grouping) -> tuple[ParetoFigure, ...]:
    found = [
        Counted(
            unit_label(grouping.name, unit.name),
            unit.checked,
            unit.nok,
        )
        for unit in grouping.units
    ]
    unknown = station.checked - sum(unit.checked for unit in grouping.units)
    note = (
        trn(
            "{count} more part was checked here and is not known {by_grouping}.",
            "{count} more parts were checked here and are not known {by_grouping}.",
            unknown,
            by_grouping=by_grouping(grouping.name),
        )
        if unknown > 0
        else ""
    )
    return pareto(
        found,
        by=tr("{by_grouping} at {station}", by_grouping=by_grouping(grouping.name), station=station.name),
        name=f"{UNIT}-{safe_name(station.station)}",
        notes=tuple(filter(None, (note, tr(UNITS_DIFFER)))),
    )


UNITS_DIFFER = msg(
    "Whether one differs from the others is tested exactly on the page of the station; a "
    "count alone does not show it."
)
