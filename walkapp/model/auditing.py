"""What a checklist says of layered audits: layers, calendar and questions.

An audit is a short visit to a few stations by one layer of the plant (shift lead, supervisor, manager).
Which audit is due when, and what it asks, follows from these facts and a date alone; it is worked out in
:mod:`walkapp.analysis.audits.plan`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

EVERY = ("shift", "day", "week", "month")
"""How often a layer audits: once in each shift, working day, calendar week (ISO 8601) or month."""

OFTEN = (1, 2, 4)
"""How many times in a round a station or question may come."""

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
"""Days of the week in the order of ISO 8601: Monday is 1."""

DEFAULT_ADDED = 3
DEFAULT_SECONDS = 30
DEFAULT_MAKE_UP_DAYS = 3
DEFAULT_REPEAT_DAYS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkCalendar:
    """On which days work is done.

    Parameters
    ----------
    begins
        First day on which any audit is due; rounds are counted from here.
    time_zone
        Name in the IANA time zone database, such as ``Europe/Berlin``.
    working_days
        Numbers of the weekdays, 1 (Monday) to 7; at least one.
    holidays
        Days on which no work is done though it is a working day.
    extra_days
        Days on which work is done though it is no working day.
    """

    begins: date
    time_zone: str
    working_days: frozenset[int]
    holidays: frozenset[date] = frozenset()
    extra_days: frozenset[date] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditLayer:
    """One layer of the plant, and how it audits.

    Parameters
    ----------
    id
        Unique within the stream.
    name
        What it is called: a role, never a person.
    every
        One of ``EVERY``.
    shifts
        Names of the shifts that it audits in, for a layer that audits every shift; empty for all.
    stations
        Stations that one audit visits, 1 or more; all of them where there are fewer.
    questions
        Questions that it asks at each station, 1 or more; all of them where there are fewer.
    added
        Most questions that one audit asks beyond the plan, because of what was found or fixed lately.
    minutes
        Minutes that one audit may take; told, never enforced.
    make_up_days
        Days after the end of an audit's time within which it can be made up, 0 or more.
    since, until
        First and last day on which it audits; none for no end.
    """

    id: str
    name: str
    every: str
    shifts: tuple[str, ...] = ()
    stations: int = 1
    questions: int = 3
    added: int = DEFAULT_ADDED
    minutes: int = 10
    make_up_days: int = DEFAULT_MAKE_UP_DAYS
    since: date | None = None
    until: date | None = None

    def audits_on(self, day: date) -> bool:
        """Whether it audits on that day at all."""
        return (self.since is None or self.since <= day) and (self.until is None or day <= self.until)


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditQuestion:
    """One question of the audits of a station.

    Parameters
    ----------
    id
        Unique within its station, over all time: a question that changes its meaning gets a new one.
    station
        Id of the station.
    ask
        The question; OK means that things are as they should be.
    how
        How it is judged OK or NOK.
    layers
        Ids of the layers that ask it; empty for all.
    often
        One of ``OFTEN``: how many times it comes in a round of its station.
    special
        Whether it is about a special characteristic.
    seconds
        Time that it takes to look and answer, in seconds, above 0.
    since, until
        First and last day on which it is asked; none for no end. A question is ended, never deleted, so
        that what was asked in the past stays what it was.
    """

    id: str
    station: str
    ask: str
    how: str = ""
    layers: tuple[str, ...] = ()
    often: int = 1
    special: bool = False
    seconds: float = DEFAULT_SECONDS
    since: date | None = None
    until: date | None = None

    def is_for(self, layer: str) -> bool:
        """Whether a layer asks it, on whatever day."""
        return not self.layers or layer in self.layers

    def is_asked_by(self, layer: str, day: date) -> bool:
        """Whether a layer asks it on that day."""
        return (
            self.is_for(layer)
            and (self.since is None or self.since <= day)
            and (self.until is None or day <= self.until)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditScheme:
    """The layered audits of a stream.

    Parameters
    ----------
    calendar
        When work is done.
    layers
        At least one, from the floor upwards.
    questions
        At least one, in the order of the file.
    station_often
        Pairs of a station's id and how many times it comes in a round, one of ``OFTEN``; once where a
        station is not named.
    repeat_days
        A NOK at the same station to the same question within this many days is a repeat finding, 1 or more.
    tells_persons
        Whether what an audit tells may be told apart by who signed (role and initials), or by layer and
        shift alone.
    """

    calendar: WorkCalendar
    layers: tuple[AuditLayer, ...]
    questions: tuple[AuditQuestion, ...]
    station_often: tuple[tuple[str, int], ...] = ()
    repeat_days: int = DEFAULT_REPEAT_DAYS
    tells_persons: bool = False

    def layer(self, layer_id: str) -> AuditLayer | None:
        """Give the layer of that id, or none."""
        return next((layer for layer in self.layers if layer.id == layer_id), None)

    def question(self, station_id: str, question_id: str) -> AuditQuestion | None:
        """Give a question of a station, or none."""
        found = (q for q in self.questions if q.station == station_id and q.id == question_id)
        return next(found, None)
