"""Which stations an audit visits and what it asks there: the same on every tablet, from facts and a date.

The audits of a layer, or of one shift of it, are numbered from the first day of the calendar. Audit after
audit takes the next turn of a round over the stations, and each visit of a station takes the next turn of
a round over its questions (see :mod:`walkapp.analysis.rota`). Where the list of stations or questions
changes, on a day that the checklist names, a new round begins on that day with what has waited longest;
what lies before is as it was.

What an audit asks beyond the plan, because of what was found or fixed lately, is another matter: it depends
on the records that a tablet has, only ever adds to the plan, and is the business of
:mod:`walkapp.analysis.audit_extra`.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from walkapp.analysis.audit_calendar import AuditCalendar, AuditSlot
from walkapp.analysis.rota import Item, Round, build_round
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
        for as long as the lists of stations and questions stay as they are.
    """

    station: str
    question: str
    audits: int


@dataclass(frozen=True)
class _Stretch:
    """A round that is in force from one turn on.

    Parameters
    ----------
    first
        Number of the turn with which it begins.
    items
        What comes in it.
    round
        The round.
    """

    first: int
    items: frozenset[Item]
    round: Round


class _Rota:
    """Rounds that follow each other as the list of items changes."""

    def __init__(self, stretches: Sequence[_Stretch]) -> None:
        self._stretches = stretches
        self._firsts = [stretch.first for stretch in stretches]

    def turn(self, number: int) -> tuple[str, ...]:
        """Give the keys of a turn."""
        at = bisect_right(self._firsts, number) - 1
        return self._stretches[at].round.turn(number - self._firsts[at]) if at >= 0 else ()

    def round_at(self, number: int) -> Round:
        """Give the round that is in force in a turn."""
        at = bisect_right(self._firsts, number) - 1
        return self._stretches[at].round if at >= 0 else Round(())

    def times_before(self, key: str, number: int) -> int:
        """How many times a key came before a turn."""
        times = 0
        for place, stretch in enumerate(self._stretches):
            if stretch.first >= number:
                break
            end = self._firsts[place + 1] if place + 1 < len(self._firsts) else number
            times += stretch.round.times_before(key, min(end, number) - stretch.first)
        return times


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
        self._station_rotas: dict[tuple[str, str], _Rota] = {}
        self._question_rotas: dict[tuple[str, str, str], _Rota] = {}

    def visits(self, slot: AuditSlot) -> tuple[Visit, ...]:
        """Give the stations of an audit with their questions, in the order in which they are walked.

        Returns
        -------
        tuple of Visit
            As many stations as the layer says, or all that have questions for it; at each as many questions
            as it says, or all that there are.
        """
        layer = self._layer(slot)
        rota = self._station_rota(layer, slot.shift)
        found = []
        for station_id in rota.turn(slot.number):
            times = rota.times_before(station_id, slot.number)
            asked = set(self._question_rota(layer, slot.shift, station_id).turn(times))
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
        rota = self._station_rota(layer, slot.shift)
        stations = rota.round_at(slot.number)
        found: list[Promise] = []
        for station in self.stream.stations:
            if station.id not in stations.keys:
                continue
            wait = stations.longest_wait(station.id)
            found.append(Promise(station=station.id, question="", audits=wait))
            visit = rota.times_before(station.id, slot.number)
            questions = self._question_rota(layer, slot.shift, station.id).round_at(visit)
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

    def _station_rota(self, layer: AuditLayer, shift: str) -> _Rota:
        if (layer.id, shift) not in self._station_rotas:
            shifts = self.calendar.shifts_of(layer)
            stretches: list[_Stretch] = []
            for day in self._changes(layer, self.scheme.questions):
                stations = {q.station for q in self.scheme.questions if q.is_asked_by(layer.id, day)}
                order = in_seeded_order(tuple(stations), ("stations", self.stream.id, layer.id))
                # Each shift begins elsewhere, so that the shifts of one day see different stations.
                ahead = shifts.index(shift) * len(order) // len(shifts)
                items = [
                    Item(key=key, often=self._often.get(key, 1)) for key in (*order[ahead:], *order[:ahead])
                ]
                _begin(stretches, self.calendar.count_before(layer, shift, day), items, layer.stations)
            self._station_rotas[layer.id, shift] = _Rota(stretches)
        return self._station_rotas[layer.id, shift]

    def _question_rota(self, layer: AuditLayer, shift: str, station: str) -> _Rota:
        """Give the rota whose turns are the visits of the station by the layer, in that shift."""
        if (layer.id, shift, station) not in self._question_rotas:
            rota = self._station_rota(layer, shift)
            known = {question.id: question for question in self._at_station[station]}
            stretches: list[_Stretch] = []
            for day in self._changes(layer, self._at_station[station]):
                asked = tuple(q.id for q in known.values() if q.is_asked_by(layer.id, day))
                order = in_seeded_order(asked, ("questions", self.stream.id, layer.id, shift, station))
                items = [Item(key=key, often=known[key].often) for key in order]
                first = rota.times_before(station, self.calendar.count_before(layer, shift, day))
                _begin(stretches, first, items, layer.questions)
            self._question_rotas[layer.id, shift, station] = _Rota(stretches)
        return self._question_rotas[layer.id, shift, station]

    def _changes(self, layer: AuditLayer, questions: Sequence[AuditQuestion]) -> list[date]:
        """Give the days on which what a layer asks may change, from the first day of the calendar on."""
        begins = self.scheme.calendar.begins
        mine = [q for q in questions if not q.layers or layer.id in q.layers]
        days = {q.since for q in mine if q.since} | {
            q.until + timedelta(days=1) for q in mine if q.until and q.until < date.max
        }
        return [begins, *sorted(day for day in days if day > begins)]


def _begin(stretches: list[_Stretch], first: int, items: Sequence[Item], per_turn: int) -> None:
    """Let a round over the items be in force from turn `first` on, with what waited longest in front."""
    if stretches and stretches[-1].first == first:
        stretches.pop()  # it was never in force
    if stretches and stretches[-1].items == frozenset(items):
        return
    ends = [*(stretch.first for stretch in stretches), first][1:]

    def last_turn(item: Item) -> int:
        came = (
            stretch.first + last
            for stretch, end in zip(stretches, ends, strict=True)
            if (last := stretch.round.last_before(item.key, end - stretch.first)) >= 0
        )
        return max(came, default=-1)

    found = build_round(sorted(items, key=last_turn), per_turn)
    stretches.append(_Stretch(first, frozenset(items), found))
