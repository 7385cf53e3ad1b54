"""Parts from after a fix: they say whether it worked, not where and when the defect started."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from walkapp.model.records import (
    Action,
    ActionDone,
    Answer,
    Count,
    DatedCount,
    EffectCheck,
    Measurement,
    Record,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FixDays:
    """When corrective actions were done.

    Parameters
    ----------
    worked
        The first day, ISO 8601, on which one was done of which the newest effectiveness check says that
        it worked; empty for none. Parts from after it say nothing of where and when the defect started.
    unchecked
        The first day on which one was done whose effect was not checked yet; empty for none. Whether parts
        from after it still show the defect where it started is not known.
    """

    worked: str
    unchecked: str


def fix_days(records: Iterable[Record]) -> FixDays:
    """Find when corrective actions were done, from the records that hold, in any order."""
    held = tuple(records)
    checks: dict[str, EffectCheck] = {}
    for record in held:
        if isinstance(record, EffectCheck):
            newest = checks.get(record.action)
            if newest is None or (record.checked_on, record.id) > (newest.checked_on, newest.id):
                checks[record.action] = record
    worked, unchecked = [], []
    for action, day in _corrective_done(held):
        check = checks.get(action.action)
        if check is None or check.checked_on < day:
            unchecked.append(day)
        elif _worked(action, check):
            worked.append(day)
    return FixDays(worked=min(worked, default=""), unchecked=min(unchecked, default=""))


def corrective_days(records: Iterable[Record]) -> tuple[str, ...]:
    """Give the days on which corrective actions were done, ISO 8601, each once, the first one first."""
    return tuple(sorted({day for _, day in _corrective_done(records)}))


def _corrective_done(records: Iterable[Record]) -> list[tuple[Action, str]]:
    """Corrective actions that were done, with the last day that was said for each."""
    corrective: dict[str, Action] = {}
    done: dict[str, str] = {}
    for record in records:
        if isinstance(record, Action) and record.aim == "corrective":
            corrective[record.action] = record
        elif isinstance(record, ActionDone):
            done[record.action] = max(record.done_on, done.get(record.action, ""))
    return [(action, done[name]) for name, action in corrective.items() if done.get(name)]


def _worked(action: Action, check: EffectCheck) -> bool:
    # Late: the first page asks for all concerns, and few have a fix.
    from walkapp.analysis.effect import BETTER, EFFECTIVE, PartsJudged, judge_effect

    answer = judge_effect(
        PartsJudged(checked=check.before_checked, nok=check.before_nok),
        PartsJudged(checked=check.after_checked, nok=check.after_nok),
        float(action.at_most) if action.at_most else None,
    )
    return answer.verdict in (EFFECTIVE, BETTER)


def parts_from_after(records: Iterable[Record], day: str) -> tuple[Record, ...]:
    """Find the records of parts that are from after a day.

    Parameters
    ----------
    records
        The records that hold, in any order.
    day
        ISO 8601; empty for no day, and then there are none.

    Returns
    -------
    tuple of Record
        In the order given. A part is from its production day or, where that is not known or in doubt, from
        the day on which it was checked.
    """
    if not day:
        return ()
    # Late, as above.
    from walkapp.analysis.gather_dated import samples_by_walk

    held = tuple(records)
    by_station: dict[str, list[Record]] = {}
    for record in held:
        by_station.setdefault(getattr(record, "station", ""), []).append(record)
    made = {station: samples_by_walk(here) for station, here in by_station.items()}

    def is_later(record: Record) -> bool:
        match record:
            case DatedCount():
                return record.made_on > day
            case Answer() | Count() | Measurement():
                known, _ = made[record.station].get(record.walk, ("", ""))
                return (known or record.at[:10]) > day
        return False

    return tuple(record for record in held if is_later(record))
