"""Which stations an audit visits and what it asks there: the same on every tablet, from facts and a date.

The audits of a layer, or of one shift of it, are numbered from the first day of the calendar. Audit after
audit takes the next turn of a round over the stations, and each visit of a station takes the next turn of
a round over its questions (see :mod:`walkapp.analysis.rota`). Where the list of stations or questions
changes, on a day that the checklist names, everything in it comes once, what never came first and then what
has waited longest; after that a new round begins. The list of the first day of its period is an audit's, so
that what lies before a change is as it was.

What an audit asks beyond the plan, because of what was found or fixed lately, is another matter: it depends
on the records that a tablet has, only ever adds to the plan, and is the business of
:mod:`walkapp.analysis.audits.extra`.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from walkapp.analysis.audits.calendar import AuditCalendar, AuditSlot
from walkapp.analysis.rota import Item, Rota
from walkapp.analysis.seeded import in_seeded_order
from walkapp.model.auditing import AuditLayer, AuditQuestion
from walkapp.model.checklist import Station, Stream


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One station of an audit.

    Parameters
    ----------
    station
        The station.
    questions
        What is asked there, in the order of the checklist.
    """

    station: Station
    questions: tuple[AuditQuestion, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """How often something comes, as the plan of a day guarantees.

    Parameters
    ----------
    station
        Id of the station.
    question
        Id of the question; empty for the station itself.
    audits
        It comes at least once in any so many audits of the layer, or of its shift, that follow each other,
        for as long as the lists of stations and questions stay as they are. For the bound over a change of
        the lists see :class:`walkapp.analysis.rota.Rota`.
    """

    station: str
    question: str
    audits: int


class _Line:
    """A rota of the plan, and the days on which its list changes, as far as they have been asked for.

    Parameters
    ----------
    begins
        First day of the calendar.
    listed
        What each question puts into the list, for as long as it is asked: its station, or itself.
    """

    def __init__(self, begins: date, listed: Iterable[tuple[str, AuditQuestion]]) -> None:
        self.rota = Rota()
        changes: dict[date, list[tuple[str, int]]] = {begins: []}
        for key, question in listed:
            since = max(question.since or begins, begins)
            until = question.until or date.max
            if since <= until:
                changes.setdefault(since, []).append((key, 1))
                if until < date.max:
                    changes.setdefault(until + timedelta(days=1), []).append((key, -1))
        self._changes = deque(sorted(changes.items(), key=lambda change: change[0]))
        self._listed: Counter[str] = Counter()

    def lists_until(self, day: date) -> Iterator[tuple[date, Counter[str]]]:
        """Take the next lists out, each with its first day, up to a day; what counts 0 is not listed."""
        while self._changes and self._changes[0][0] <= day:
            since, changes = self._changes.popleft()
            for key, more in changes:
                self._listed[key] += more
            yield since, self._listed


class AuditPlan:
    """The plan of a stream's audits; a memory of what only follows from the checklist.

    Parameters
    ----------
    stream
        Has audits.

    Attributes
    ----------
    calendar
        When the audits are due.
    """

    def __init__(self, stream: Stream) -> None:
        self.calendar = AuditCalendar(stream)
        self.stream = stream
        self.scheme = self.calendar.scheme
        self._at_station: dict[str, list[AuditQuestion]] = {}
        for question in self.scheme.questions:
            self._at_station.setdefault(question.station, []).append(question)
        self._stations = {station.id: station for station in stream.stations}
        self._often = dict(self.scheme.station_often)
        self._station_lines: dict[tuple[str, str], _Line] = {}
        self._question_lines: dict[tuple[str, str, str], _Line] = {}
        self._station_items: dict[str, tuple[Item, ...]] = {}
        self._question_items: dict[tuple[str, str, str], tuple[Item, ...]] = {}

    def visits(self, slot: AuditSlot) -> tuple[Visit, ...]:
        """Give the stations of an audit with their questions, in the order in which they are walked.

        Returns
        -------
        tuple of Visit
            As many stations as the layer says, or all that have questions for it; at each as many questions
            as it says, or all that there are.
        """
        layer = self._layer(slot)
        rota = self._station_rota(layer, slot)
        found = []
        for station_id in rota.turn(slot.number):
            times = rota.times_before(station_id, slot.number)
            asked = set(self._question_rota(layer, slot, station_id).turn(times))
            questions = tuple(q for q in self._at_station[station_id] if q.id in asked)
            found.append(Visit(station=self._stations[station_id], questions=questions))
        return tuple(sorted(found, key=lambda visit: visit.station.order))

    def promises(self, slot: AuditSlot) -> tuple[Promise, ...]:
        """Say how often each station and question comes, by the rounds in force at an audit.

        Returns
        -------
        tuple of Promise
            Every station that has questions for the layer, in stream order, each before its questions.
        """
        layer = self._layer(slot)
        rota = self._station_rota(layer, slot)
        stations = rota.round_at(slot.number)
        found: list[Promise] = []
        for station in self.stream.stations:
            if station.id not in stations.keys:
                continue
            wait = stations.longest_wait(station.id)
            found.append(Promise(station=station.id, question="", audits=wait))
            visit = rota.times_before(station.id, slot.number)
            questions = self._question_rota(layer, slot, station.id).round_at(visit)
            found += [
                Promise(station=station.id, question=q.id, audits=wait * questions.longest_wait(q.id))
                for q in self._at_station[station.id]
                if q.id in questions.keys
            ]
        return tuple(found)

    def _layer(self, slot: AuditSlot) -> AuditLayer:
        layer = self.scheme.layer(slot.layer)
        if layer is None:
            raise ValueError(f"there is no layer {slot.layer!r}")
        return layer

    def _station_rota(self, layer: AuditLayer, slot: AuditSlot) -> Rota:
        """Give the rota of the layer, or of its shift, with all changes until the audit's period begins."""
        shift = slot.shift
        if (layer.id, shift) not in self._station_lines:
            mine = [question for question in self.scheme.questions if question.is_for(layer.id)]
            listed = [(question.station, question) for question in mine]
            self._station_lines[layer.id, shift] = _Line(self.scheme.calendar.begins, listed)
            self._station_items[layer.id] = self._in_order(
                {q.station for q in mine}, ("stations", self.stream.id, layer.id), self._often
            )
        line = self._station_lines[layer.id, shift]
        shifts = self.calendar.shifts_of(layer)
        for day, listed_now in line.lists_until(slot.first_on):
            items = [item for item in self._station_items[layer.id] if listed_now[item.key]]
            # Each shift begins elsewhere, so that the shifts of one day see different stations.
            ahead = shifts.index(shift) * len(items) // len(shifts)
            first = self.calendar.count_before(layer, shift, day)
            line.rota.change(first, (*items[ahead:], *items[:ahead]), layer.stations)
        return line.rota

    def _question_rota(self, layer: AuditLayer, slot: AuditSlot, station: str) -> Rota:
        """Give the rota whose turns are the visits of the station by the layer, in that shift."""
        place = layer.id, slot.shift, station
        if place not in self._question_lines:
            mine = {q.id: q for q in self._at_station[station] if q.is_for(layer.id)}
            self._question_lines[place] = _Line(self.scheme.calendar.begins, mine.items())
            often = {key: question.often for key, question in mine.items()}
            seed = ("questions", self.stream.id, layer.id, slot.shift, station)
            self._question_items[place] = self._in_order(mine, seed, often)
        line, visits = self._question_lines[place], self._station_rota(layer, slot)
        for day, listed in line.lists_until(slot.first_on):
            items = [item for item in self._question_items[place] if listed[item.key]]
            first = visits.times_before(station, self.calendar.count_before(layer, slot.shift, day))
            line.rota.change(first, items, layer.questions)
        return line.rota

    @staticmethod
    def _in_order(keys: Iterable[str], seed: tuple[str, ...], often: Mapping[str, int]) -> tuple[Item, ...]:
        return tuple(Item(key=key, often=often.get(key, 1)) for key in in_seeded_order(tuple(keys), seed))
