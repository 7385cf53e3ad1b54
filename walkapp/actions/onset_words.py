"""When the defect started, and the suspects, in words and as JSON values."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from walkapp.actions.onset import DatedOnset
from walkapp.actions.time_line import time_line, time_line_to_json
from walkapp.analysis.onset import OnsetRow
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.suspects import TIME_UNKNOWN, Suspect
from walkapp.analysis.wording import CHANGE_WORDS, TOLD_WORDS, percent, share_range
from walkapp.language import day_said, msg, tr, trn
from walkapp.model.records import ChangePoint

ONSET_UNKNOWN = msg("the onset is not known")
"""What is said of the timing of a change whose day is known."""


def timing_words(suspect: Suspect) -> str:
    """Say how many days before the onset a change was made, or why that is not said."""
    if suspect.days_before is None:
        is_of_onset = suspect.timing == TIME_UNKNOWN and suspect.change.when
        return tr(ONSET_UNKNOWN) if is_of_onset else tr(suspect.timing)
    fewest, most = suspect.days_before
    if most == 0:
        return tr("on the latest day of the onset")
    days = trn("{count} day", "{count} days", most)
    if fewest == most:
        return tr("{days} before the onset", days=days)
    return tr("{fewest} to {days} before the onset", fewest=fewest, days=days)


def reason(found: DatedOnset, suspect: Suspect) -> str:
    """Say why a change is a suspect or none, what it was meant to do, and if the customer was told."""
    same = found.changes[suspect.change.id]
    said = [
        suspect.why,
        tr("Meant to: {aim}.", aim=meant_to(same) or tr("not recorded")),
        tr("Customer told: {told}.", told=told(same)),
    ]
    if len(same) > 1:
        said.append(tr("Recorded on {same} tablets.", same=len(same)))
    return " ".join(said)


def meant_to(same: Sequence[ChangePoint]) -> str:
    """Say what a change was meant to do, in the words of all its records; empty when none says it."""
    return " / ".join(dict.fromkeys(point.meant_to for point in same if point.meant_to))


def approved_by(same: Sequence[ChangePoint]) -> str:
    """Say which role approved a change, in the words of all its records; empty when none says it."""
    return " / ".join(dict.fromkeys(point.approved_by for point in same if point.approved_by))


def told(same: Sequence[ChangePoint]) -> str:
    """Say whether the customer was told: yes, no, not known, or that the records disagree."""
    known = {point.customer_told for point in same} - {"unknown"}
    if len(known) > 1:
        return tr("yes and no, the records disagree")
    return tr(TOLD_WORDS[known.pop() if known else "unknown"])


def onset_lines(found: DatedOnset) -> tuple[str, ...]:
    """Tell it for a terminal; nothing while there is neither a row nor a recorded change."""
    if found.onset is None and not found.ranking.suspects:
        return ()
    return (
        tr("When it started:"),
        f"  {found.sentence}",
        *(f"  {line}" for line in _row_lines(found)),
        tr("What changed, the most suspect first:"),
        *(f"  {line}" for line in _suspect_lines(found)),
        *(f"  {tr('Mind: {warning}', warning=warning)}" for warning in found.warnings),
    )


def _row_lines(found: DatedOnset) -> Iterator[str]:
    if found.onset is None:
        return
    for place, row in enumerate(found.onset.rows):
        interval = proportion_interval(row.nok, row.checked)
        shares = share_range(interval.low, interval.high)
        yield (
            tr(
                "{row_name}: {nok} of {checked} NOK ({shares}), starts here {probability}: {word}",
                row_name=row_name(row),
                nok=row.nok,
                checked=row.checked,
                shares=shares,
                probability=percent(row.probability),
                word=found.word(place),
            )
        )
    yield tr(
        "Not in these rows: {none_probability}", none_probability=percent(found.onset.none_probability)
    )


def _suspect_lines(found: DatedOnset) -> Iterator[str]:
    for suspect in found.ranking.suspects:
        same, station = found.changes[suspect.change.id], found.stations[suspect.change.id]
        point, role = same[0], approved_by(same)
        told = tr(
            "{rank}. {what} ({kind}, {station}, {day}; {timing}): {probability}. {reason}",
            rank=suspect.rank,
            what=point.what,
            kind=tr(CHANGE_WORDS[point.change]),
            station=station.name,
            day=day_said(point.changed_on) or tr("day not known"),
            timing=timing_words(suspect),
            probability=percent(suspect.probability),
            reason=reason(found, suspect),
        )
        yield " ".join((told, tr("Approved by: {role}.", role=role))) if role else told
    yield tr(
        "None of the recorded changes: {none_probability}",
        none_probability=percent(found.ranking.none_probability),
    )


def row_name(row: OnsetRow) -> str:
    """Name a row by lot and day, or by the day alone."""
    day = day_said(row.day)
    return day if row.label == row.day else tr("lot {row} of {day}", row=row.label, day=day)


def onset_to_json(found: DatedOnset) -> dict[str, Any]:
    """Turn it into JSON values; numbers unrounded, none where nothing is known."""
    onset = found.onset
    interval = onset.interval if onset else None
    return {
        "counted_at": found.station.name if found.station else None,
        "first_bad_day": onset.first_bad_day if onset else None,
        "first_bad_lot": (
            onset.rows[onset.first_bad].label if onset and onset.first_bad is not None else None
        ),
        "probability": onset.probability if onset else None,
        "is_sure": onset.is_sure if onset else False,
        "last_good_day": interval.last_good_day if interval else None,
        "bad_from_day": interval.bad_from_day if interval else None,
        "none_probability": onset.none_probability if onset else None,
        "rows": [_row_to_json(found, place, row) for place, row in enumerate(onset.rows if onset else ())],
        "suspects": [_suspect_to_json(found, suspect) for suspect in found.ranking.suspects],
        "none_of_the_changes": found.ranking.none_probability,
        "time_line": time_line_to_json(time_line(found)),
        "sentence": found.sentence,
        "warnings": list(found.warnings),
        "assumptions": list(found.assumptions),
    }


def _row_to_json(found: DatedOnset, place: int, row: OnsetRow) -> dict[str, Any]:
    interval = proportion_interval(row.nok, row.checked)
    return {
        "lot": "" if row.label == row.day else row.label,
        "day": row.day,
        "checked": row.checked,
        "nok": row.nok,
        "low95": interval.low,
        "high95": interval.high,
        "probability_onset": row.probability,
        "verdict": found.word(place),
    }


def _suspect_to_json(found: DatedOnset, suspect: Suspect) -> dict[str, Any]:
    same, station = found.changes[suspect.change.id], found.stations[suspect.change.id]
    point = same[0]
    fewest, most = suspect.days_before or (None, None)
    return {
        "rank": suspect.rank,
        "what": point.what,
        "kind": point.change,
        "station_order": station.order,
        "station": station.name,
        "changed_on": point.changed_on or None,
        "meant_to": meant_to(same) or None,
        "approved_by": approved_by(same) or None,
        "customer_told": told(same),
        "records": len(same),
        "timing": suspect.timing,
        "days_before_low": fewest,
        "days_before_high": most,
        "probability": suspect.probability,
        "probability_station": suspect.station_probability,
        "why": reason(found, suspect),
    }
