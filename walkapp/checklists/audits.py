"""From ``audits.toml`` of a checklist folder to the layered audits, noting everything that is wrong."""

from __future__ import annotations

import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from walkapp.checklists.fields import Table, near
from walkapp.language import tr
from walkapp.model.auditing import (
    DEFAULT_ADDED,
    DEFAULT_MAKE_UP_DAYS,
    DEFAULT_REPEAT_DAYS,
    DEFAULT_SECONDS,
    EVERY,
    OFTEN,
    WEEKDAYS,
    AuditLayer,
    AuditQuestion,
    AuditScheme,
    WorkCalendar,
)
from walkapp.model.checklist import Stream
from walkapp.model.ids import is_record_id

MOST_LAYERS, MOST_QUESTIONS, MOST_DAYS_OFF = 12, 5000, 2000
MOST_CHANGES = 500
"""Days on which questions may begin or end: once a week over ten years is no more."""

MOST_IN_ZONE = 60
# no text: a name of the time zone database
_OF_ONE_MACHINE = (
    "localtime",
    "posixrules",
    "posix/",
    "right/",
    "Factory",
)  # no text: a name of the time zone database
"""Beginnings of names in the folder of time zones that no other tablet may have, or has otherwise."""


@dataclass(frozen=True, slots=True)
class _Known:
    """What a question may name."""

    stations: Sequence[str]
    layers: list[str] = field(default_factory=list)


def read_audits(top: Table, stream: Stream | None, stream_file: str) -> AuditScheme | None:
    """Read the layered audits.

    Parameters
    ----------
    top
        The file.
    stream
        The stream that they belong to; none when it could not be read, and nothing is compared then.
    stream_file
        Name of the file with stations and shifts, for those who have to mend one of them.

    Returns
    -------
    AuditScheme or None
        None when something is wrong, which is noted.
    """
    calendar = _read_calendar(top)
    known = _Known([station.id for station in stream.stations] if stream else ())
    layers = tuple(
        _read_layer(table, stream, stream_file) for table in top.tables("layer", most=MOST_LAYERS)
    )
    known.layers.extend(layer.id for layer in layers if layer.id)
    often = _read_stations(top, stream, known, stream_file)
    questions = _read_questions(top, stream, known, stream_file)
    scheme_repeat = top.whole("repeat_days", least=1, most=366, default=DEFAULT_REPEAT_DAYS)
    tells_persons = top.flag("tells_persons")
    top.finish()
    if not layers:
        top.notes.add((), tr("no layer is listed"), tr("add a [[layer]] with id, name and every"))
    if not questions:
        top.notes.add((), tr("no question is listed"), tr("add a [[question]] with station, id and ask"))
    _note_idle_layers(top, layers, questions)
    if calendar is None or top.notes.mistakes:
        return None
    return AuditScheme(
        calendar=calendar,
        layers=layers,
        questions=questions,
        station_often=often,
        repeat_days=scheme_repeat,
        tells_persons=tells_persons,
    )


def _read_calendar(top: Table) -> WorkCalendar | None:
    table = top.table("calendar")
    if table is None:
        if not top.has("calendar"):
            top.notes.add((), tr("there is no calendar"), tr("add [calendar] with begins and time_zone"))
        return None
    begins = table.day("begins", needed=True)
    zone = table.text("time_zone", longest=MOST_IN_ZONE)
    if zone.strip() and len(zone) <= MOST_IN_ZONE and not _is_zone(zone):
        mend = tr('use a name of the IANA time zone database, such as "Europe/Berlin"')
        table.wrong("time_zone", tr('there is no time zone "{zone}"', zone=zone), mend)
    days = table.words("working_days", WEEKDAYS) if table.has("working_days") else WEEKDAYS[:5]
    holidays = table.days("holidays", most=MOST_DAYS_OFF)
    extra = table.days("extra_days", most=MOST_DAYS_OFF)
    for day in sorted(set(holidays) & set(extra)):
        table.wrong(
            "extra_days",
            tr("{day} is a holiday and an extra day", day=day),
            tr("take it out of one of the lists"),
        )
    if table.has("working_days") and not days:
        table.wrong(
            "working_days",
            tr("no working day is listed"),
            tr("list some of {weekdays}", weekdays=", ".join(WEEKDAYS)),
        )
    table.finish()
    if begins is None:
        return None
    return WorkCalendar(
        begins=begins,
        time_zone=zone,
        working_days=frozenset(WEEKDAYS.index(day) + 1 for day in days),
        holidays=frozenset(holidays),
        extra_days=frozenset(extra),
    )


def _is_zone(name: str) -> bool:
    if name.startswith(_OF_ONE_MACHINE):
        return False
    try:
        zoneinfo.ZoneInfo(name)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


def _read_layer(table: Table, stream: Stream | None, stream_file: str) -> AuditLayer:
    every = table.word("every", EVERY)
    known_shifts = tuple(shift.name for shift in stream.shifts) if stream else ()
    shifts: tuple[str, ...] = ()
    if every == "shift":
        shifts = table.words("shifts", known_shifts) if stream else table.texts("shifts", longest=20)
        if stream and not known_shifts:
            mend = tr('add shifts to {stream_file}, or write every = "day"', stream_file=stream_file)
            table.wrong("every", tr("the stream has no shifts"), mend)
    elif every:
        table.refuse(("shifts",), tr('only a layer with every = "shift" has it; take it out'))
    since, until = table.day("since"), table.day("until")
    _note_order(table, since, until)
    layer = AuditLayer(
        id=table.key("id"),
        name=table.text("name", longest=40, is_told=True),
        every=every,
        shifts=shifts,
        stations=table.whole("stations", least=1, most=50, default=1),
        questions=table.whole("questions", least=1, most=50, default=3),
        added=table.whole("added", least=0, most=20, default=DEFAULT_ADDED),
        minutes=table.whole("minutes", least=1, most=480, default=10),
        make_up_days=table.whole("make_up_days", least=0, most=31, default=DEFAULT_MAKE_UP_DAYS),
        since=since,
        until=until,
    )
    table.finish()
    return layer


def _note_order(table: Table, since: date | None, until: date | None) -> None:
    if since is not None and until is not None and until < since:
        table.wrong(
            "until",
            tr("until ({until}) is before since ({since})", until=until, since=since),
            tr("exchange or correct them"),
        )


def _read_stations(
    top: Table, stream: Stream | None, known: _Known, stream_file: str
) -> tuple[tuple[str, int], ...]:
    found: dict[str, int] = {}
    for table in top.tables("station", most=len(known.stations) or 200):
        station = table.key("id")
        _note_unknown_station(table, "id", station, stream, known, stream_file)
        if station and station in found:
            table.wrong(
                "id",
                tr('the station "{station}" is listed twice', station=station),
                tr("list every station once"),
            )
        found[station] = _often(table)
        table.finish()
    return tuple(found.items())


def _often(table: Table, default: int = 1) -> int:
    value = table.whole("often", least=OFTEN[0], most=OFTEN[-1], default=default)
    if value not in OFTEN:
        table.wrong(
            "often", tr("often is {value}", value=value), tr("use {map}", map=", ".join(map(str, OFTEN)))
        )
    return value


def _note_unknown_station(
    table: Table, key: str, station: str, stream: Stream | None, known: _Known, stream_file: str
) -> None:
    if stream and station and station not in known.stations:
        mend = tr(
            "name a station of {stream_file}{near}",
            stream_file=stream_file,
            near=near(station, known.stations),
        )
        table.wrong(key, tr('there is no station "{station}"', station=station), mend)


def _read_questions(
    top: Table, stream: Stream | None, known: _Known, stream_file: str
) -> tuple[AuditQuestion, ...]:
    found: list[AuditQuestion] = []
    first: dict[tuple[str, str], int] = {}
    for place, table in enumerate(top.tables("question", most=MOST_QUESTIONS)):
        station = table.key("station")
        _note_unknown_station(table, "station", station, stream, known, stream_file)
        special = table.flag("special")
        since, until = table.day("since"), table.day("until")
        _note_order(table, since, until)
        question = AuditQuestion(
            id=table.key("id"),
            station=station,
            ask=table.text("ask", longest=200, is_told=True),
            how=table.text("how", longest=600, default="", is_told=True),
            layers=table.words("layers", tuple(known.layers)),
            often=_often(table, default=2 if special else 1),
            special=special,
            seconds=table.number("seconds", least=1, most=3600, default=DEFAULT_SECONDS),
            since=since,
            until=until,
        )
        table.finish()
        if is_record_id(question.id):
            table.wrong(
                "id", tr('id "{id}" looks like that of a record', id=question.id), tr("use a few words")
            )
        here = question.station, question.id
        if here in first and all(here):
            line = table.notes.line(("question", first[here], "id"))
            what = tr(
                'id "{id}" is used twice at {station}, first in line {line}',
                id=question.id,
                station=question.station,
                line=line,
            )
            table.wrong("id", what, tr("give every question of a station an id of its own"))
        first.setdefault(here, place)
        found.append(question)
    changes = {day for q in found for day in (q.since, q.until) if day is not None}
    if len(changes) > MOST_CHANGES:
        what = tr("questions begin and end on {changes} different days", changes=len(changes))
        top.notes.add(("question",), what, tr("use at most {most_changes}", most_changes=MOST_CHANGES))
    return tuple(found)


def _note_idle_layers(top: Table, layers: Sequence[AuditLayer], questions: Sequence[AuditQuestion]) -> None:
    first: dict[str, int] = {}
    for place, layer in enumerate(layers):
        if layer.id in first:
            line = top.notes.line(("layer", first[layer.id], "id"))
            what = tr('id "{id}" is used twice, first in line {line}', id=layer.id, line=line)
            top.notes.add(("layer", place, "id"), what, tr("give every layer its own id"))
        elif layer.id and questions and all(q.layers and layer.id not in q.layers for q in questions):
            what = tr('no question is asked by the layer "{id}"', id=layer.id)
            top.notes.add(
                ("layer", place, "id"), what, tr("add it to the layers of a question, or take it out")
            )
        first.setdefault(layer.id, place)
