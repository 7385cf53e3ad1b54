"""When audits are due: working days, shifts across midnight and clock changes, weeks and months.

A day of work begins with the earliest shift of the site and lasts until that shift begins again, so that
what a night shift does after midnight belongs to the day on which it began. Times are local; with the time
zone they become moments that are right on the nights on which the clock changes too.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from walkapp.model.auditing import AuditLayer, AuditScheme, WorkCalendar
from walkapp.model.checklist import Shift, Stream

LONGEST_DAYS = 60 * 366
"""Days after the beginning of a calendar for which a plan is made."""

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
        Which audit of its layer it is, from 0.
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
        self._made: dict[str, _Made] = {}

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
        made = self._made.setdefault(layer.id, _Made(self._walk(layer)))
        made.reach(last)
        return tuple(
            made.slots[place]
            for place in range(bisect_left(made.last_days, first), len(made.slots))
            if made.slots[place].first_on <= last
        )

    def slot(self, layer: AuditLayer, day: date, shift: str) -> AuditSlot | None:
        """Give the audit of a layer for a day of the plan (see :class:`AuditSlot`), or none."""
        end = day + timedelta(days=31) if layer.every in ("week", "month") and day.year < 9999 else day
        found = (slot for slot in self.slots(layer, day, end) if (slot.day, slot.shift) == (day, shift))
        return next(found, None)

    def count_before(self, layer: AuditLayer, day: date) -> int:
        """Give how many audits of a layer begin before a day: the number of the first one from then on."""
        made = self._made.setdefault(layer.id, _Made(self._walk(layer)))
        made.reach(day)
        return bisect_left(made.first_days, day)

    def opens_at(self, slot: AuditSlot, zone: tzinfo) -> datetime:
        """Give the moment from which an audit may be begun, in the zone."""
        shift = self._shift(slot)
        begins = time.fromisoformat(shift.begins) if shift else day_begins(self.stream)
        return moment_of(slot.first_on, begins, zone)

    def due_at(self, slot: AuditSlot, zone: tzinfo) -> datetime:
        """Give the moment until which an audit is to be signed, in the zone: its shift or period ends."""
        shift = self._shift(slot)
        if shift is None:
            return moment_of(slot.last_on + _ONE_DAY, day_begins(self.stream), zone)
        day = slot.last_on if shift.begins < shift.ends else slot.last_on + _ONE_DAY
        return moment_of(day, time.fromisoformat(shift.ends), zone)

    def _shift(self, slot: AuditSlot) -> Shift | None:
        return next((shift for shift in self.stream.shifts if shift.name == slot.shift), None)

    def _walk(self, layer: AuditLayer) -> Iterator[AuditSlot]:
        """Go through all audits of a layer from the first day of the calendar on."""
        calendar, number = self.scheme.calendar, 0
        shifts = [s for s in self.stream.shifts if not layer.shifts or s.name in layer.shifts]
        shifts.sort(key=lambda shift: shift.begins)
        period: list[date] = []

        def made(day: date, shift: str, days: list[date]) -> AuditSlot:
            return AuditSlot(
                stream=self.stream.id, layer=layer.id, day=day, shift=shift, number=number,
                first_on=days[0], last_on=days[-1],
            )  # fmt: skip

        for count in range(LONGEST_DAYS):
            day = calendar.begins + timedelta(days=count)
            if period and _period(layer.every, day) != _period(layer.every, period[0]):
                yield made(_period(layer.every, period[0]), "", period)
                number, period = number + 1, []
            if not layer.audits_on(day):
                continue
            if layer.every == "shift":
                for shift in shifts:
                    if shift_works_on(calendar, shift, day):
                        yield made(day, shift.name, [day])
                        number += 1
            elif works_on(calendar, day):
                period.append(day)


class _Made:
    """The audits of one layer as far as they have been asked for."""

    def __init__(self, walk: Iterator[AuditSlot]) -> None:
        self._walk = walk
        self.slots: list[AuditSlot] = []
        self.first_days: list[date] = []
        self.last_days: list[date] = []

    def reach(self, day: date) -> None:
        """Go on until an audit begins after the day."""
        while not self.slots or self.first_days[-1] <= day:
            slot = next(self._walk, None)
            if slot is None:
                return
            self.slots.append(slot)
            self.first_days.append(slot.first_on)
            self.last_days.append(slot.last_on)


def works_on(calendar: WorkCalendar, day: date) -> bool:
    """Say whether work is done on a day."""
    if day in calendar.extra_days:
        return True
    return day.isoweekday() in calendar.working_days and day not in calendar.holidays


def shift_works_on(calendar: WorkCalendar, shift: Shift, day: date) -> bool:
    """Say whether a shift begins on a day: on its own weekdays where it has any, else on working days."""
    if not shift.days or day in calendar.extra_days:
        return works_on(calendar, day)
    return day.isoweekday() in shift.days and day not in calendar.holidays


def day_begins(stream: Stream) -> time:
    """Give the local time at which a day of work begins: that of its earliest shift, else midnight."""
    return time.fromisoformat(min((shift.begins for shift in stream.shifts), default="00:00"))


def day_of_work(stream: Stream, moment: datetime) -> date:
    """Give the day of work of a local moment: before the day's first shift begins, the day before."""
    day = moment.date()
    return day if moment.time() >= day_begins(stream) or day == date.min else day - _ONE_DAY


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
        In the zone. A time that comes twice, as the clock is set back, is the first of both. A time that
        is skipped, as the clock is set on, becomes the moment of the change; so spans that follow each
        other by the clock neither overlap nor leave a gap.

    References
    ----------
    PEP 495, for what ``fold`` means.
    """
    first = datetime.combine(day, at, zone)
    again = first.astimezone(UTC).astimezone(zone)
    if again.replace(tzinfo=None) == first.replace(tzinfo=None):
        return first
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
    return high.replace(microsecond=0).astimezone(zone)


def _period(every: str, day: date) -> date:
    """Give the day by which the plan calls the period that a day lies in."""
    if every == "week":
        return day - timedelta(days=day.isoweekday() - 1)
    return day.replace(day=1) if every == "month" else day
