"""The recorded changes and the counted days on one line of time, against the onset."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from walkapp.actions.onset import DatedOnset
from walkapp.language import tr


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedDay:
    """A production day of which parts were counted.

    Parameters
    ----------
    day
        ISO 8601.
    checked, nok
        Parts of all its lots.
    """

    day: str
    checked: int
    nok: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeOnLine:
    """A recorded change.

    Parameters
    ----------
    number
        Its place among the suspects, from 1; each has its own.
    kind
        One of the six kinds of change.
    day
        ISO 8601; empty when it is not known.
    what
        What changed.
    """

    number: int
    kind: str
    day: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeLine:
    """What happened when.

    Parameters
    ----------
    days
        The counted days in the order of time.
    changes
        The ranked changes, the most suspect first.
    last_good_day
        The onset lies after the parts of this day were made; none when it is open how long before.
    bad_from_day
        The onset lies at the latest on this day; none when no onset is known.
    probability
        Probability that it lies between the two if it lies in the counted days at all; at least 0.95.
    first_bad_day
        The most probable first bad day; none when none is named.
    """

    days: tuple[CountedDay, ...]
    changes: tuple[ChangeOnLine, ...]
    last_good_day: str | None = None
    bad_from_day: str | None = None
    probability: float | None = None
    first_bad_day: str | None = None

    @property
    def undated(self) -> tuple[ChangeOnLine, ...]:
        """The changes whose day is not known."""
        return tuple(change for change in self.changes if not change.day)


def time_line(found: DatedOnset) -> TimeLine:
    """Put counted days, onset and changes on one line.

    Parameters
    ----------
    found
        When the defect started, and the suspects.
    """
    onset = found.onset
    days: dict[str, CountedDay] = {}
    for row in onset.rows if onset else ():
        so_far = days.get(row.day, CountedDay(day=row.day, checked=0, nok=0))
        days[row.day] = CountedDay(
            day=row.day, checked=so_far.checked + row.checked, nok=so_far.nok + row.nok
        )
    interval = onset.interval if onset else None
    is_dated = interval is not None and interval.bad_from_day is not None
    points = (found.changes[suspect.change.id][0] for suspect in found.ranking.suspects)
    return TimeLine(
        days=tuple(days[day] for day in sorted(days)),
        changes=tuple(
            ChangeOnLine(number=number, kind=point.change, day=point.changed_on, what=point.what)
            for number, point in enumerate(points, start=1)
        ),
        last_good_day=interval.last_good_day if interval else None,
        bad_from_day=interval.bad_from_day if interval else None,
        probability=interval.probability if interval and is_dated else None,
        first_bad_day=onset.first_bad_day if onset and is_dated else None,
    )


def time_line_to_json(line: TimeLine) -> dict[str, Any]:
    """Turn it into JSON values; none where nothing is known."""
    return {
        "unit": tr("day (ISO 8601)"),
        "days": [{"day": day.day, "checked": day.checked, "nok": day.nok} for day in line.days],
        "interval": {
            "last_good_day": line.last_good_day,
            "bad_from_day": line.bad_from_day,
            "probability": line.probability,
        },
        "first_bad_day": line.first_bad_day,
        "changes": [
            {"number": change.number, "kind": change.kind, "day": change.day or None, "what": change.what}
            for change in line.changes
        ],
    }
