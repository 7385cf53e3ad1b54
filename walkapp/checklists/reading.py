"""From the files of a checklist folder to a stream, or to the list of everything wrong."""

from __future__ import annotations

import contextlib
import functools
import re
from collections.abc import Mapping
from dataclasses import replace

from walkapp.checklists.audits import read_audits
from walkapp.checklists.documents import document
from walkapp.checklists.fields import StopReadingError, Table, Translations, near
from walkapp.errors import ChecklistError, Mistake
from walkapp.files import sha256_of_files
from walkapp.language import decimal_text, tr
from walkapp.model.auditing import WEEKDAYS, AuditScheme
from walkapp.model.checklist import (
    CHECK_KINDS,
    DEFAULT_DETECTION,
    DEFAULT_FALSE_ALARM,
    DEFAULT_SAMPLE,
    DEFAULT_SECONDS,
    OUTSIDE_SHIFTS,
    STATION_KINDS,
    UNIT_KINDS,
    Check,
    Defect,
    ParallelUnits,
    Shift,
    Station,
    Stream,
)

STREAM_FILE, CHECKS_FILE, AUDITS_FILE = "stream.toml", "checks.toml", "audits.toml"
MOST_STATIONS, MOST_CHECKS, MOST_SHIFTS, MOST_DEFECTS = 200, 2000, 24, 100
MOST_IN_TIME = 20
MOST_IN_TEXT = 600

MOST_REMEMBERED = 8
"""Checklists that were read last and need not be taken apart again: that takes longest of all."""

MOST_IN_SHORT = 14
OF_SHORT = " (short)"
"""Stands behind the name of a station in the file of a language, where the name there is too long."""

_TIME = re.compile(r"(?:[01][0-9]|2[0-3]):[0-5][0-9]", re.ASCII)
_TRANSLATION_FILE = re.compile(r"[a-z]{2}\.toml", re.ASCII)
_LIMITS = ("lsl", "usl", "nominal", "plausible_low", "plausible_high")
_JUDGING = ("finds", "detection", "false_alarm")
_WITH_LIMITS = ("measurement", "setting")
_WITH_PARTS = ("attribute", "count", "measurement")


def parse_stream(folder_name: str, files: Mapping[str, bytes], *, language: str = "") -> Stream:
    """Read a checklist.

    Parameters
    ----------
    folder_name
        Name of its folder, which is the id of the stream.
    files
        Content by file name: ``stream.toml`` and ``checks.toml``, perhaps ``audits.toml``, and for further
        languages ``de.toml`` and so on; nothing else.
    language
        Code of the language that texts for people are wanted in, such as ``de`` or ``es_MX``. What has no
        translation is as it stands in the first files.

    Returns
    -------
    Stream
        With its digest. The same files may give the same object, which nobody can change.

    Raises
    ------
    ChecklistError
        With every mistake in all files; nothing was loaded.
    """
    name = translation_file(language)
    wanted = name if name in files else ""
    return _parsed(folder_name, tuple(sorted(files.items())), wanted)


def translation_file(language: str) -> str:
    """Name the file that holds the texts of a checklist in a language; countries share one."""
    return f"{language.partition('_')[0]}.toml"


def translations(folder_name: str, files: Mapping[str, bytes]) -> dict[str, tuple[str, ...]]:
    """Read the checklist once more in each further language that it has.

    Returns
    -------
    dict of str to tuple of str
        The texts that have no translation, by the name of the file that should have it.

    Raises
    ------
    ChecklistError
        With every mistake in the files of the languages.
    """
    mistakes: list[Mistake] = []
    missing = {}
    for name in sorted(filter(_TRANSLATION_FILE.fullmatch, files)):
        try:
            missing[name] = tuple(_read(folder_name, files, name)[1])
        except ChecklistError as error:
            mistakes += error.mistakes
    if mistakes:
        raise ChecklistError(mistakes)
    return missing


@functools.lru_cache(maxsize=MOST_REMEMBERED)
def _parsed(folder_name: str, named: tuple[tuple[str, bytes], ...], wanted: str) -> Stream:
    return _read(folder_name, dict(named), wanted)[0]


def _read(folder_name: str, files: Mapping[str, bytes], wanted: str) -> tuple[Stream, list[str]]:
    """Read the files in the language of the file `wanted`; give the stream and what is not translated."""
    mistakes = _wrong_files(folder_name, files)
    told, told_part = None, document(folder_name, wanted, files, mistakes) if wanted else None
    if told_part is not None:
        told = Translations(told_part.all_texts(longest=MOST_IN_TEXT))
    stream_part = document(folder_name, STREAM_FILE, files, mistakes, told)
    checks_part = document(folder_name, CHECKS_FILE, files, mistakes, told)
    stream: Stream | None = None
    if stream_part is not None:
        with contextlib.suppress(StopReadingError):
            stream = _read_stream(folder_name, stream_part)
        mistakes += stream_part.notes.mistakes
    checks: dict[str, list[Check]] | None = None
    if checks_part is not None:
        with contextlib.suppress(StopReadingError):
            checks = _read_checks(checks_part, stream)
        mistakes += checks_part.notes.mistakes
    if stream is not None and stream_part is not None and checks is not None:
        mistakes += _defects_without_check(stream, checks, stream_part)
    audits: AuditScheme | None = None
    audits_part = document(folder_name, AUDITS_FILE, files, mistakes, told)
    if audits_part is not None:
        with contextlib.suppress(StopReadingError):
            audits = read_audits(audits_part, stream, STREAM_FILE)
        mistakes += audits_part.notes.mistakes
    if told is not None and told_part is not None:
        if not mistakes:
            told_part.only_known(told.used, told.missing)
        mistakes += told_part.notes.mistakes
    if mistakes or stream is None or checks is None:
        raise ChecklistError(mistakes)
    stations = tuple(replace(s, checks=tuple(checks.get(s.id, ()))) for s in stream.stations)
    whole = replace(stream, stations=stations, audits=audits, digest=sha256_of_files(files))
    return whole, told.missing if told is not None else []


def _wrong_files(folder_name: str, files: Mapping[str, bytes]) -> list[Mistake]:
    wanted = (STREAM_FILE, CHECKS_FILE)
    missing = [
        Mistake(
            f"{folder_name}/{name}",
            0,
            tr("the file is missing"),
            tr("add it; a ready-made folder shows how"),
        )
        for name in wanted
        if name not in files
    ]
    extra = [
        Mistake(
            f"{folder_name}/{name}",
            0,
            tr("the file has no meaning here"),
            tr("take it out or rename it{near}", near=near(name, (*wanted, AUDITS_FILE))),
        )
        for name in files
        if name not in (*wanted, AUDITS_FILE) and not _TRANSLATION_FILE.fullmatch(name)
    ]
    return missing + extra


def _read_stream(folder_name: str, top: Table) -> Stream:
    if not re.fullmatch(r"[a-z][a-z0-9-]{0,39}", folder_name, re.ASCII):
        top.notes.mistakes.append(
            Mistake(
                folder_name,
                0,
                tr("the folder's name cannot be the id of a stream"),
                tr(
                    "rename it with small letters, digits and dashes, a letter first, at most 40 characters"
                ),
            )
        )
    stream = Stream(
        id=folder_name,
        name=top.text("name", longest=60, is_told=True),
        product=top.text("product", longest=80, is_told=True),
        version=top.text("version", longest=20),
        invented=top.flag("invented"),
        cautions=top.texts("cautions", longest=300, is_told=True),
        shifts=_read_shifts(top),
        defects=tuple(_read_defect(table) for table in top.tables("defect", most=MOST_DEFECTS)),
        stations=_read_stations(top),
    )
    top.finish()
    if not stream.defects:
        top.notes.add((), tr("no defect is listed"), tr("add a [[defect]] with id and name"))
    if len(stream.stations) < 2:
        top.notes.add((), tr("fewer than two stations are listed"), tr("add a [[station]] for each"))
    _note_twins(top, "defect", [defect.id for defect in stream.defects])
    _note_twins(top, "station", [station.id for station in stream.stations])
    _note_twins(top, "station", [station.name for station in stream.stations], key="name")
    _note_twins(top, "shifts", [shift.name for shift in stream.shifts], key="name", one="shift")
    return stream


def _note_twins(top: Table, array: str, ids: list[str], *, key: str = "id", one: str = "") -> None:
    first: dict[str, int] = {}
    for place, found in enumerate(ids):
        if found in first:
            line = top.notes.line((array, first[found], key))
            what = tr(
                '{key} "{found}" is used twice, first in line {line}', key=key, found=found, line=line
            )
            top.notes.add(
                (array, place, key), what, tr("give every {what} its own {key}", what=one or array, key=key)
            )
        elif found:
            first[found] = place


def _read_shifts(top: Table) -> tuple[Shift, ...]:
    tables = top.tables("shifts", most=MOST_SHIFTS)
    shifts: list[Shift] = []
    sound: list[Shift] = []
    for table in tables:
        shift = Shift(
            name=table.text("name", longest=20),
            begins=_time(table, "from"),
            ends=_time(table, "to"),
            days=frozenset(WEEKDAYS.index(day) + 1 for day in table.words("days", WEEKDAYS)),
        )
        table.finish()
        shifts.append(shift)
        if shift.name == OUTSIDE_SHIFTS:
            table.wrong(
                "name",
                tr('a shift cannot be called "{shift}"', shift=shift.name),
                tr("give it another name"),
            )
        if not shift.begins or not shift.ends:
            continue
        if shift.begins == shift.ends:
            what = tr('shift "{shift}" begins and ends at {begins}', shift=shift.name, begins=shift.begins)
            table.wrong("to", what, tr("let it end at another time than it begins"))
            continue
        for earlier in sound:
            if shift.overlaps(earlier):
                what = tr("shift {span} overlaps {span2}", span=_span(shift), span2=_span(earlier))
                table.wrong("from", what, tr("let one begin when the other ends, or later"))
        sound.append(shift)
    return tuple(shifts)


def _time(table: Table, key: str) -> str:
    """Take a time of day; gives an empty text when it is none."""
    value = table.text(key, longest=MOST_IN_TIME)
    if _TIME.fullmatch(value):
        return value
    if value.strip() and len(value) <= MOST_IN_TIME:  # what is missing, empty or too long is told already
        table.wrong(
            key,
            tr('{key} is "{value}"', key=key, value=value),
            tr('write a time from "00:00" to "23:59", such as "06:00"'),
        )
    return ""


def _span(shift: Shift) -> str:
    return tr('"{shift}" ({begins} to {ends})', shift=shift.name, begins=shift.begins, ends=shift.ends)


def _read_defect(table: Table) -> Defect:
    defect = Defect(
        id=table.key("id"),
        name=table.text("name", longest=60, is_told=True),
        how=table.text("how", longest=600, default="", is_told=True),
    )
    table.finish()
    return defect


def _read_stations(top: Table) -> tuple[Station, ...]:
    stations: list[Station] = []
    has_incoming = False
    for place, table in enumerate(top.tables("station", most=MOST_STATIONS)):
        kind = table.word("kind", STATION_KINDS)
        if kind == "incoming" and place == 0:
            has_incoming = True
        elif kind == "incoming":
            table.wrong(
                "kind", tr("incoming material is not the first station"), tr("move it to the front")
            )
        name = table.text("name", longest=40, is_told=True)
        stations.append(
            Station(
                order=place + (0 if has_incoming else 1),
                id=table.key("id"),
                name=name,
                short=table.text("short", longest=MOST_IN_SHORT, default="", is_told=True)
                or _short(table, name),
                kind=kind,
                minutes=table.number("minutes", least=0, most=240, default=1.0),
                hazards=table.texts("hazards", longest=300, is_told=True),
                units=_read_units(table),
                sorts=table.flag("sorts"),
            )
        )
        table.finish()
    return tuple(stations)


def _short(table: Table, name: str) -> str:
    """Give the short name of a station that has none: its name, or what a language has for it."""
    if len(name) <= MOST_IN_SHORT:
        return name
    if told := table.translation_beside("name", OF_SHORT, longest=MOST_IN_SHORT):
        return told
    if not table.has("short"):
        mend = (
            tr('add short = "..." of at most 14')
            if table.notes.translations is None
            else tr('add "...{of_short}" = "..." of at most 14 beside its translation', of_short=OF_SHORT)
        )
        table.wrong("name", tr("name has {name} characters", name=len(name)), mend)
    return name[:MOST_IN_SHORT]


def _read_units(station: Table) -> ParallelUnits | None:
    table = station.table("units")
    if table is None:
        return None
    kind = table.word("kind", UNIT_KINDS)
    names = table.texts("names", longest=20)
    if len(names) < 2:
        table.wrong(
            "names", tr("fewer than two names are listed"), tr("list two or more, or take units out")
        )
    if len(set(names)) < len(names):
        table.wrong("names", tr("a name is listed twice"), tr("list every name once"))
    table.finish()
    return ParallelUnits(kind=kind, names=names)


def _read_checks(top: Table, stream: Stream | None) -> dict[str, list[Check]]:
    tables = top.tables("check", most=MOST_CHECKS)
    top.finish()
    found: dict[str, list[Check]] = {}
    first: dict[tuple[str, str], int] = {}
    measured: list[tuple[int, Check]] = []
    for place, table in enumerate(tables):
        check = _read_check(table, stream)
        here = check.station, check.id
        if here in first and all(here):
            line = table.notes.line(("check", first[here], "id"))
            what = tr(
                'id "{id}" is used twice at {station}, first in line {line}',
                id=check.id,
                station=check.station,
                line=line,
            )
            table.wrong("id", what, tr("give every check of a station an id of its own"))
        first.setdefault(here, place)
        found.setdefault(check.station, []).append(check)
        _note_mixed_characteristic(check, table, measured)
        if check.measures:
            measured.append((place, check))
    return found


def _note_mixed_characteristic(check: Check, table: Table, earlier: list[tuple[int, Check]]) -> None:
    """Values of one characteristic are compared with each other: one unit, and one check a station."""
    same = [
        (place, other) for place, other in earlier if check.measures and other.measures == check.measures
    ]
    twins = [(place, other) for place, other in same if other.station == check.station]
    if twins and twins[0][1].id != check.id:  # twins of one id are told already
        line = table.notes.line(("check", twins[0][0], "id"))
        key = "characteristic" if table.has("characteristic") else "id"
        what = tr(
            '{station} measures the characteristic "{measures}" twice, first in line {line}',
            station=check.station,
            measures=check.measures,
            line=line,
        )
        table.wrong(key, what, tr("give one of the two checks another characteristic"))
    elif same and check.unit and same[0][1].unit and same[0][1].unit != check.unit:
        place, first = same[0]
        line = table.notes.line(("check", place, "unit"))
        what = tr(
            'unit is "{unit}", but the characteristic "{measures}" is measured in "{unit2}" '
            "at {station}, line {line}",
            unit=check.unit,
            measures=check.measures,
            unit2=first.unit,
            station=first.station,
            line=line,
        )
        table.wrong("unit", what, tr("use one unit, or give this check a characteristic of its own"))


def _read_check(table: Table, stream: Stream | None) -> Check:
    station = table.key("station")
    stations = [s.id for s in stream.stations] if stream else []
    if stream and station and station not in stations:
        mend = tr(
            "name a station of {stream_file}{near}", stream_file=STREAM_FILE, near=near(station, stations)
        )
        table.wrong("station", tr('there is no station "{station}"', station=station), mend)
    kind = table.word("kind", CHECK_KINDS)
    check = Check(
        id=table.key("id"),
        station=station,
        kind=kind,
        title=table.text("title", longest=60, is_told=True),
        how=table.text("how", longest=600, default="", is_told=True),
        special=table.flag("special"),
    )
    if kind in _WITH_PARTS:
        check = _with_parts(check, table, stream)
    elif kind:
        table.refuse(
            (*_JUDGING, "sample", "seconds_per_part"),
            tr("a {kind} judges no parts; take it out", kind=kind),
        )
    if kind in _WITH_LIMITS:
        check = _with_limits(check, table)
    elif kind:
        table.refuse((*_LIMITS, "unit"), tr("only measurements and settings have it; take it out"))
    if kind == "measurement":
        check = replace(check, characteristic=table.key("characteristic", default=""))
    elif kind:
        table.refuse(("characteristic",), tr("only measurements have it; take it out"))
    if kind:
        table.finish()
    return check


def _with_parts(check: Check, table: Table, stream: Stream | None) -> Check:
    finds = table.key("finds", default="")
    defects = [d.id for d in stream.defects] if stream else []
    if stream and finds and finds not in defects:
        mend = tr(
            "name a defect of {stream_file}{near}", stream_file=STREAM_FILE, near=near(finds, defects)
        )
        table.wrong("finds", tr('there is no defect "{finds}"', finds=finds), mend)
    detection = table.number("detection", least=0, most=1, default=DEFAULT_DETECTION)
    false_alarm = table.number("false_alarm", least=0, most=1, default=DEFAULT_FALSE_ALARM)
    if detection <= false_alarm:
        what = tr(
            "detection ({detection}) is not above false_alarm ({false_alarm})",
            detection=decimal_text(f"{detection:g}"),
            false_alarm=decimal_text(f"{false_alarm:g}"),
        )
        key = "detection" if table.has("detection") else "false_alarm"
        table.wrong(key, what, tr("a check that finds anything calls more bad parts NOK than good ones"))
    seconds = table.number("seconds_per_part", least=0.1, most=36_000, default=DEFAULT_SECONDS)
    return replace(
        check,
        finds=finds,
        sample=table.whole("sample", least=1, most=100_000, default=DEFAULT_SAMPLE),
        detection=detection,
        false_alarm=false_alarm,
        rates_known=table.has("detection") and table.has("false_alarm"),
        seconds=seconds,
    )


def _with_limits(check: Check, table: Table) -> Check:
    unit = table.text("unit", longest=20)
    lsl, usl, nominal, low, high = (table.decimal(key) for key in _LIMITS)
    if lsl is None and usl is None:
        table.notes.add(table.path, tr("neither lsl nor usl is given"), tr("add at least one limit"))
    if lsl is not None and usl is not None and lsl >= usl:
        table.wrong(
            "lsl",
            tr("lsl ({lsl}) is not below usl ({usl})", lsl=lsl, usl=usl),
            tr("exchange or correct the limits"),
        )
    elif nominal is not None and not replace(check, lsl=lsl, usl=usl).is_within_limits(nominal):
        table.wrong(
            "nominal",
            tr("nominal ({nominal}) is outside the limits", nominal=nominal),
            tr("correct it or the limits"),
        )
    if low is not None and high is not None and low >= high:
        mend = tr("exchange or correct them")
        table.wrong(
            "plausible_low",
            tr("plausible_low ({low}) is not below plausible_high ({high})", low=low, high=high),
            mend,
        )
        low = high = None  # no limit can lie within it; one sentence is enough
    plausible = replace(check, plausible_low=low, plausible_high=high)
    for key, limit in (("lsl", lsl), ("usl", usl)):
        if limit is not None and not plausible.is_plausible(limit):
            mend = tr("widen plausible_low and plausible_high so that they enclose the limits")
            table.wrong(
                key, tr("{key} ({limit}) is outside the plausible range", key=key, limit=limit), mend
            )
    return replace(plausible, unit=unit, lsl=lsl, usl=usl, nominal=nominal)


def _defects_without_check(stream: Stream, checks: Mapping[str, list[Check]], top: Table) -> list[Mistake]:
    """A defect that no check finds could never be located."""
    found = {check.finds for some in checks.values() for check in some}
    return [
        Mistake(
            top.notes.file,
            top.notes.line(("defect", place, "id")),
            tr('no check finds the defect "{id}"', id=defect.id),
            tr('add finds = "{id}" to a check in {checks_file}', id=defect.id, checks_file=CHECKS_FILE),
        )
        for place, defect in enumerate(stream.defects)
        if defect.id and defect.id not in found
    ]
