"""When audits are due: working days, shifts across midnight and clock changes, weeks and months.

A day of work begins with the earliest shift of the site and lasts until that shift begins again, so that
what a night shift does after midnight belongs to the day on which it began. Times are local; with the time
zone they become moments that are right on the nights on which the clock changes too.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo

from walkapp.model.auditing import AuditLayer, AuditScheme, WorkCalendar
from walkapp.model.checklist import Shift, Stream

LONGEST_DAYS = 60 * 366
"""Days after the beginning of a calendar for which a plan is made; a period that they cut is not due."""

_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditSlot:
    """One audit that is due: its place in the plan.

    Parameters
    ----------
    stream, layer
        Ids of the value stream and of the layer.
    day
        Day on which its shift begins, its working day, the Monday of its week or the first of its month.
    shift
        Name of its shift; empty for a layer that does not audit every shift.
    number
        Which audit of its line it is, from 0: of its layer or, where that audits every shift, of its layer
        in that shift.
    first_on, last_on
        First and last working day of its period; the same day for a shift and for a day.
    """

    stream: str
    layer: str
    day: date
    shift: str
    number: int
    first_on: date
    last_on: date

    @property
    def key(self) -> tuple[str, date, str]:
        """What tells it from the other audits of the stream: layer, day and shift."""
        return self.layer, self.day, self.shift


class AuditCalendar:
    """The audits of a stream in order of time, layer by layer; a memory of what follows from its facts.

    Parameters
    ----------
    stream
        Has audits.
    """

    def __init__(self, stream: Stream) -> None:
        if stream.audits is None:
            raise ValueError(f"the stream {stream.id!r} has no audits")
        self.stream = stream
        self.scheme: AuditScheme = stream.audits
        self._lines: dict[tuple[str, str], _Line] = {}

    def shifts_of(self, layer: AuditLayer) -> tuple[str, ...]:
        """Give the shifts in which a layer audits, in the order of the day; one empty name without shifts.

        Each has a line of audits of its own, so that every shift sees every station.
        """
        if layer.every != "shift":
            return ("",)
        chosen = (s for s in self.stream.shifts if not layer.shifts or s.name in layer.shifts)
        return tuple(shift.name for shift in sorted(chosen, key=lambda shift: shift.begins))

    def slots(self, layer: AuditLayer, first: date, last: date) -> tuple[AuditSlot, ...]:
        """Give the audits of a layer whose period has a working day from `first` to `last`.

        Parameters
        ----------
        layer
            One of the scheme's.
        first, last
            Both included. Before the calendar begins, and :data:`LONGEST_DAYS` after that, none is due.

        Notes
        -----
        Audits are counted from the first day of the calendar. So holidays and shifts are changed ahead
        of time: a change in the past would give all later audits another number.
        """
        names = self.shifts_of(layer)
        lines = (self._line(layer, shift).between(first, last) for shift in names)
        found = [slot for line in lines for slot in line]
        return tuple(sorted(found, key=lambda slot: (slot.first_on, names.index(slot.shift))))

    def slot(self, layer: AuditLayer, day: date, shift: str) -> AuditSlot | None:
        """Give the audit of a layer for a day of the plan (see :class:`AuditSlot`), or none."""
        end = day + timedelta(days=31) if layer.every in ("week", "month") and day.year < 9999 else day
        found = (slot for slot in self.slots(layer, day, end) if (slot.day, slot.shift) == (day, shift))
        return next(found, None)

    def count_before(self, layer: AuditLayer, shift: str, day: date) -> int:
        """Give how many audits of a line begin before a day: the number of the first one from then on."""
        return self._line(layer, shift).count_before(day)

    def opens_at(self, slot: AuditSlot, zone: tzinfo) -> datetime:
        """Give the moment from which an audit may be begun (see :func:`moment_of`)."""
        shift = self._shift(slot.shift)
        begins = time.fromisoformat(shift.begins) if shift else day_begins(self.stream)
        return moment_of(slot.first_on, begins, zone)

    def due_at(self, slot: AuditSlot, zone: tzinfo) -> datetime:
        """Give the moment until which an audit is to be signed: its shift or period ends."""
        shift = self._shift(slot.shift)
        if shift is None:
            return moment_of(slot.last_on + _ONE_DAY, day_begins(self.stream), zone)
        day = slot.last_on if shift.begins < shift.ends else slot.last_on + _ONE_DAY
        return moment_of(day, time.fromisoformat(shift.ends), zone)

    def _shift(self, name: str) -> Shift | None:
        return next((shift for shift in self.stream.shifts if shift.name == name), None)

    def _line(self, layer: AuditLayer, shift: str) -> _Line:
        if (layer.id, shift) not in self._lines:
            self._lines[layer.id, shift] = _Line(self._walk(layer, shift))
        return self._lines[layer.id, shift]

    def _walk(self, layer: AuditLayer, name: str) -> Iterator[AuditSlot]:
        """Go through all audits of a line from the first day of the calendar on."""
        calendar, shift, number = self.scheme.calendar, self._shift(name), 0
        period: list[date] = []
        for count in range(LONGEST_DAYS):
            day = calendar.begins + timedelta(days=count)
            if period and _period(layer.every, day) != _period(layer.every, period[0]):
                yield AuditSlot(
                    stream=self.stream.id,
                    layer=layer.id,
                    day=_period(layer.every, period[0]),
                    shift=name,
                    number=number,
                    first_on=period[0],
                    last_on=period[-1],
                )
                number, period = number + 1, []
            works = shift_works_on(calendar, shift, day) if shift else works_on(calendar, day)
            if works and layer.audits_on(day):
                period.append(day)


class _Line:
    """The audits of one layer, or of one shift of it, as far as they have been asked for."""

    def __init__(self, walk: Iterator[AuditSlot]) -> None:
        self._walk = walk
        self._slots: list[AuditSlot] = []
        self._first_days: list[date] = []
        self._last_days: list[date] = []

    def between(self, first: date, last: date) -> Iterator[AuditSlot]:
        """Give those whose period has a working day from `first` to `last`, or spans these days."""
        self._reach(last)
        for place in range(bisect_left(self._last_days, first), bisect_right(self._first_days, last)):
            yield self._slots[place]

    def count_before(self, day: date) -> int:
        """Give how many begin before a day."""
        self._reach(day)
        return bisect_left(self._first_days, day)

    def _reach(self, day: date) -> None:
        """Go on until one begins after the day."""
        while not self._slots or self._first_days[-1] <= day:
            slot = next(self._walk, None)
            if slot is None:
                return
            self._slots.append(slot)
            self._first_days.append(slot.first_on)
            self._last_days.append(slot.last_on)


def works_on(calendar: WorkCalendar, day: date) -> bool:
    """Say whether work is done on a day."""
    if day in calendar.extra_days:
        return True
    return day.isoweekday() in calendar.working_days and day not in calendar.holidays


def shift_works_on(calendar: WorkCalendar, shift: Shift, day: date) -> bool:
    """Say whether a shift begins on a day.

    It does on its own weekdays where it has any, else on working days; on no holiday,
    and on each extra day.
    """
    if not shift.days or day in calendar.extra_days:
        return works_on(calendar, day)
    return day.isoweekday() in shift.days and day not in calendar.holidays


def day_begins(stream: Stream) -> time:
    """Give the local time at which a day of work begins: that of its earliest shift, else midnight."""
    return time.fromisoformat(min((shift.begins for shift in stream.shifts), default="00:00"))


def day_of_work(stream: Stream, moment: datetime) -> date:
    """Give the day of work of a moment with its time zone: before its day begins, the day before."""
    day, zone = moment.date(), moment.tzinfo
    assert zone is not None
    if day in (date.min, date.max) or moment >= moment_of(day, day_begins(stream), zone):
        return day
    return day - _ONE_DAY


def moment_of(day: date, at: time, zone: tzinfo) -> datetime:
    """Turn a local time into a moment.

    Parameters
    ----------
    day, at
        Local date and time of day.
    zone
        The time zone.

    Returns
    -------
    datetime
        With the offset of the zone at that moment, and no zone, because Python reckons with two times of
        one zone as if the clock never changed. A time that comes twice, as the clock is set back, is the
        first of both. A time that is skipped, as the clock is set on, becomes the moment of the change; so
        spans that follow each other by the clock neither overlap nor leave a gap.

    References
    ----------
    PEP 495, for what ``fold`` means.
    """
    first = datetime.combine(day, at, zone)
    again = first.astimezone(UTC).astimezone(zone)
    if again.replace(tzinfo=None) == first.replace(tzinfo=None):
        return _with_offset(first)
    # Skipped: read with the offset of before it lies after the change, with that of after it before.
    low = first.replace(fold=1).astimezone(UTC)
    high = first.astimezone(UTC)
    offset = low.astimezone(zone).utcoffset()
    while high - low > timedelta(seconds=1):
        middle = low + (high - low) // 2
        if middle.astimezone(zone).utcoffset() == offset:
            low = middle
        else:
            high = middle
    return _with_offset(high.replace(microsecond=0).astimezone(zone))


def _with_offset(moment: datetime) -> datetime:
    return moment.replace(tzinfo=timezone(moment.utcoffset() or timedelta(0)), fold=0)


def _period(every: str, day: date) -> date:
    """Give the day by which the plan calls the period that a day lies in."""
    if every == "week":
        return day - timedelta(days=day.isoweekday() - 1)
    return day.replace(day=1) if every == "month" else day
