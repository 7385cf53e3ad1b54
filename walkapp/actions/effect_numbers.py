"""Numbers for an effectiveness check that are on record already: offered, never taken unasked."""

from __future__ import annotations

from dataclasses import dataclass, replace

from walkapp.actions.acting import ActionFacts
from walkapp.actions.onset import date_onset
from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.after_fix import parts_from_after
from walkapp.analysis.effect import MOST_PARTS, PartsJudged
from walkapp.analysis.gather_effect import BothSides, SideParts, gather_sides
from walkapp.analysis.wording import parts_in_words
from walkapp.language import day_said, tr, trn
from walkapp.model.checklist import Station


@dataclass(frozen=True, slots=True, kw_only=True)
class NumbersOnRecord:
    """Parts before and after an action that were counted already.

    Parameters
    ----------
    before, after
        The parts; none where there are none.
    source
        Which parts these are, for the record.
    notes
        What has to be minded of them, a sentence each.
    """

    before: PartsJudged | None
    after: PartsJudged | None
    source: str
    notes: tuple[str, ...]


def numbers_on_record(facts: ConcernFacts, now: ActionFacts) -> NumbersOnRecord | None:
    """Find the parts that were counted before and after an action, at the first bad station and later.

    Parameters
    ----------
    facts
        The concern.
    now
        The action.

    Returns
    -------
    NumbersOnRecord or None
        None when the action is not done, the checklist is not known, no first bad station is named and
        the action has none, or nothing was counted. How they are counted:
        :func:`walkapp.analysis.gather_effect.gather_sides`.
    """
    stream = facts.stream
    if stream is None or not now.done:
        return None
    # Good parts from after the action would blur where and when the defect started.
    dated = date_onset(_until(facts, now.done_on))
    first = dated.first_bad or date_onset(facts).first_bad or stream.station(now.action.station)
    if first is None:
        return None
    interval = dated.onset.interval if dated.onset else None
    good_until = (interval.last_good_day if interval else None) or ""
    sides = gather_sides(
        stream,
        [station for station in stream.stations if station.order >= first.order],
        facts.standing.current,
        facts.concern.defect,
        done_on=now.done_on,
        good_until=good_until,
    )
    before, after = _parts(sides.before), _parts(sides.after)
    if before is None and after is None:
        return None
    return NumbersOnRecord(
        before=before, after=after, source=_source(sides), notes=_notes(sides, good_until)
    )


def _until(facts: ConcernFacts, day: str) -> ConcernFacts:
    """The concern without the parts from after a day."""
    later = {id(record) for record in parts_from_after(facts.standing.current, day)}
    held = tuple(record for record in facts.standing.current if id(record) not in later)
    return replace(facts, standing=replace(facts.standing, current=held))


def _parts(side: SideParts) -> PartsJudged | None:
    is_usable = 0 < side.checked <= MOST_PARTS
    return PartsJudged(checked=side.checked, nok=side.nok) if is_usable else None


def _source(sides: BothSides) -> str:
    said = [_days(side) for side in (sides.before, sides.after) if side.checked]
    days = tr("{before} against {after}", before=said[0], after=said[1]) if len(said) == 2 else said[0]
    return tr("counted at {where}; parts of {days}", where=_where(sides.stations), days=days)


def _days(side: SideParts) -> str:
    first, last = day_said(side.first_day), day_said(side.last_day)
    return first if first == last else tr("{first_day} to {last_day}", first_day=first, last_day=last)


def _where(stations: tuple[Station, ...]) -> str:
    first, later = stations[0].name[:80], len(stations) - 1
    return (
        trn("{first} and {count} later station", "{first} and {count} later stations", later, first=first)
        if later
        else first
    )


def _notes(sides: BothSides, good_until: str) -> tuple[str, ...]:
    said = []
    if good_until and sides.before.checked:
        said.append(
            tr(
                "Parts made up to {good_until}, before it started, are left out.",
                good_until=day_said(good_until),
            )
        )
    if len(sides.stations) > 1:
        said.append(tr("If the same parts were checked at two stations, count them once."))
    if undated := sides.after.undated:
        said.append(
            tr(
                "{undated} after: production day not recorded; counted by the day they were checked.",
                undated=parts_in_words(undated),
            )
        )
    return tuple(said)
