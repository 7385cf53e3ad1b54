# ruff: noqa: E501 (whole sentences beside what brings them about are easier to compare)
"""From ``audits.toml`` to the layered audits, or to one plain sentence for every mistake.

The sentences are part of what a supervisor sees, so they are compared whole. Lines were counted by hand in
the smallest file below.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from walkapp.analysis.audits.plan import AuditPlan
from walkapp.checklists import digest_of, load_streams, parse_stream, stream_files
from walkapp.errors import ChecklistError
from walkapp.model.auditing import AuditLayer, AuditQuestion, WorkCalendar

READY_MADE = Path(__file__).parents[2] / "checklists"

STREAM = """\
name = "Line"
product = "Part"
version = "1"
cautions = ["Site rules come first."]
shifts = [{ name = "day", from = "06:00", to = "14:00" }, { name = "night", from = "22:00", to = "06:00" }]
[[defect]]
id = "crack"
name = "Crack"
[[station]]
id = "moulding"
name = "Moulding"
kind = "moulding"
[[station]]
id = "dock"
name = "Dock"
kind = "dock"
"""
CHECKS = """\
[[check]]
station = "moulding"
id = "look"
kind = "attribute"
title = "Look"
finds = "crack"
"""
# The smallest audits with one of everything. Invented.
AUDITS = """\
repeat_days = 14
tells_persons = true
[calendar]
begins = 2026-03-02
time_zone = "Europe/Berlin"
working_days = ["mon", "sat"]
holidays = [2026-04-06]
extra_days = [2026-04-07]
[[layer]]
id = "lead"
name = "Shift lead"
every = "shift"
shifts = ["night"]
stations = 2
questions = 4
added = 0
minutes = 15
make_up_days = 1
since = 2026-03-03
until = 2026-12-31
[[layer]]
id = "manager"
name = "Manager"
every = "month"
[[station]]
id = "moulding"
often = 4
[[question]]
station = "moulding"
id = "guards"
ask = "Guards closed?"
how = "Look only."
layers = ["lead"]
often = 4
special = true
seconds = 12.5
since = 2026-03-09
until = 2026-06-30
[[question]]
station = "dock"
id = "guards"
ask = "Guards closed?"
special = true
[[question]]
station = "dock"
id = "label"
ask = "Label readable?"
"""


def read(audits=AUDITS, stream=STREAM, checks=CHECKS):
    files = {"stream.toml": stream, "checks.toml": checks, "audits.toml": audits}
    return parse_stream("line", {name: text.encode() for name, text in files.items() if text is not None})


def mistakes(audits, **more):
    with pytest.raises(ChecklistError) as caught:
        read(audits, **more)
    return str(caught.value).split("\n")


def changed(old, new):
    assert AUDITS.count(old) == 1, old
    return AUDITS.replace(old, new)


# What is read


def test_every_key_is_read():
    scheme = read().audits

    assert scheme.calendar == WorkCalendar(
        begins=date(2026, 3, 2),
        time_zone="Europe/Berlin",
        working_days=frozenset({1, 6}),
        holidays=frozenset({date(2026, 4, 6)}),
        extra_days=frozenset({date(2026, 4, 7)}),
    )
    assert scheme.layers[0] == AuditLayer(
        id="lead",
        name="Shift lead",
        every="shift",
        shifts=("night",),
        stations=2,
        questions=4,
        added=0,
        minutes=15,
        make_up_days=1,
        since=date(2026, 3, 3),
        until=date(2026, 12, 31),
    )
    assert scheme.questions[0] == AuditQuestion(
        id="guards",
        station="moulding",
        ask="Guards closed?",
        how="Look only.",
        layers=("lead",),
        often=4,
        special=True,
        seconds=12.5,
        since=date(2026, 3, 9),
        until=date(2026, 6, 30),
    )
    assert (scheme.repeat_days, scheme.tells_persons) == (14, True)
    assert scheme.station_often == (("moulding", 4),)


def test_what_is_not_written_has_its_usual_value():
    scheme = read().audits

    assert scheme.layers[1] == AuditLayer(id="manager", name="Manager", every="month")
    assert (scheme.questions[1].often, scheme.questions[2].often) == (2, 1)
    short = AUDITS.replace("repeat_days = 14\ntells_persons = true\n", "").replace(
        'working_days = ["mon", "sat"]\nholidays = [2026-04-06]\nextra_days = [2026-04-07]\n', ""
    )
    scheme = read(short).audits
    assert (scheme.repeat_days, scheme.tells_persons) == (30, False)
    assert scheme.calendar.working_days == frozenset({1, 2, 3, 4, 5})


def test_a_stream_without_audits_has_none_and_keeps_its_digest():
    files = {"stream.toml": STREAM.encode(), "checks.toml": CHECKS.encode()}

    plain, audited = read(None), read()

    assert plain.audits is None
    # What digests were before there was a third file: the bundles of older versions name them.
    assert plain.digest == digest_of(files)
    assert audited.digest == digest_of({**files, "audits.toml": AUDITS.encode()}) != plain.digest


@pytest.mark.parametrize("stream", load_streams(READY_MADE), ids=lambda stream: stream.id)
def test_the_ready_made_audits_have_a_plan(stream):
    plan = AuditPlan(stream)

    for one in plan.scheme.layers:
        slots = plan.calendar.slots(one, date(2026, 3, 2), date(2026, 4, 30))
        assert slots
        assert all(visit.questions for slot in slots for visit in plan.visits(slot))


def test_the_ready_made_files_are_read_unchanged():
    for folder in READY_MADE.iterdir():
        if folder.is_dir():
            assert parse_stream(folder.name, stream_files(folder)).audits is not None


# What is wrong


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("repeat_days = 14", "repeat_days = 0", "line 1: repeat_days is 0; use a whole number from 1 to 366."),
        ("tells_persons = true", 'tells_persons = "yes"', 'line 2: tells_persons is "yes"; write true or false.'),
        ("begins = 2026-03-02\n", "", ("line 3: begins is missing; add begins = a date such as 2026-03-02, "
         "without quotes.")),
        ("begins = 2026-03-02", 'begins = "2026-03-02"', ('line 4: begins is "2026-03-02"; write a date such as '
         "2026-03-02, without quotes.")),
        ("begins = 2026-03-02", "begins = 2026-03-02T06:00:00+01:00", ("line 4: begins is 2026-03-02 06:00:00+01:00; "
         "write a date such as 2026-03-02, without quotes, without a time.")),
        ("begins = 2026-03-02", "begins = 06:00:00", ("line 4: begins is 06:00:00; write a date such as 2026-03-02, "
         "without quotes.")),
        ("begins = 2026-03-02", "begins = 0001-01-01", "line 4: begins is 0001-01-01; use a year from 2000 to 2199."),
        ("begins = 2026-03-02", "begins = 9999-12-31", "line 4: begins is 9999-12-31; use a year from 2000 to 2199."),
        ('"Europe/Berlin"', '"Europe/Berln"', ('line 5: there is no time zone "Europe/Berln"; use a name of the IANA '
         'time zone database, such as "Europe/Berlin".')),
        ('["mon", "sat"]', "[]", "line 6: no working day is listed; list some of mon, tue, wed, thu, fri, sat, sun."),
        ('["mon", "sat"]', '["mon", "mon"]', 'line 6: working_days holds "mon" twice; list it once.'),
        ('["mon", "sat"]', '["mon", "sa"]', ('line 6: working_days holds "sa"; use mon, tue, wed, thu, fri, sat, sun '
         "(did you mean sat?).")),
        ("[2026-04-06]", '["2026-04-06"]', ('line 7: holidays holds "2026-04-06"; write every entry as a date such as '
         "2026-03-02, without quotes.")),
        ("[2026-04-06]", "2026-04-06", "line 7: holidays is 2026-04-06; write a list such as [2026-03-02]."),
        ("[2026-04-07]", "[2026-04-06]", ("line 8: 2026-04-06 is a holiday and an extra day; take it out of one of the "
         "lists.")),
        ('id = "lead"', 'id = "Lead"', ('line 10: id is "Lead"; use small letters, digits and dashes, a letter first, '
         "at most 40 characters.")),
        ('every = "shift"', 'every = "hour"', 'line 12: every is "hour"; use one of shift, day, week, month.'),
        ('shifts = ["night"]', 'shifts = ["nigt"]', ('line 13: shifts holds "nigt"; use day, night (did you mean '
         "night?).")),
        ('every = "shift"', 'every = "day"', ('line 13: shifts does not belong here; only a layer with every = "shift" '
         "has it; take it out.")),
        ("stations = 2", "stations = 0", "line 14: stations is 0; use a whole number from 1 to 50."),
        ("questions = 4", "questions = 51", "line 15: questions is 51; use a whole number from 1 to 50."),
        ("added = 0", "added = -1", "line 16: added is -1; use a whole number from 0 to 20."),
        ("minutes = 15", "minutes = 1.5", "line 17: minutes is 1.5; write a whole number."),
        ("make_up_days = 1", "make_up_days = 32", "line 18: make_up_days is 32; use a whole number from 0 to 31."),
        ("until = 2026-12-31", "until = 2026-03-01", ("line 20: until (2026-03-01) is before since (2026-03-03); "
         "exchange or correct them.")),
        ('id = "manager"', 'id = "lead"', ('line 22: id "lead" is used twice, first in line 10; give every layer its '
         "own id.")),
        ("[[station]]\nid = \"moulding\"", "[[station]]\nid = \"mouldin\"", ('line 26: there is no station "mouldin"; '
         "name a station of stream.toml (did you mean moulding?).")),
        ("[[station]]\n", '[[station]]\nid = "moulding"\n[[station]]\n', ('line 28: the station "moulding" is listed '
         "twice; list every station once.")),
        ("often = 4\n[[question]]", "often = 3\n[[question]]", "line 27: often is 3; use 1, 2, 4."),
        ('layers = ["lead"]', 'layers = ["boss"]', 'line 33: layers holds "boss"; use lead, manager.'),
        ("seconds = 12.5", "seconds = 0", "line 36: seconds is 0; use a number from 1 to 3600."),
        ('id = "label"', 'id = "guards"', ('line 46: id "guards" is used twice at dock, first in line 41; give every '
         "question of a station an id of its own.")),
        ('ask = "Label readable?"', 'ask = " "', "line 47: ask is empty; write what it says, or take the key out."),
        ('ask = "Label readable?"', 'ask = "Label?"\nanswer = "ok"', ("line 48: answer is not a key that is known here; "
         "take it out or rename it.")),
        ('ask = "Label readable?"', f'ask = "{"a" * 201}"', ("line 47: ask has 201 characters; shorten it to at most "
         "200.")),
        ('id = "label"', 'id = "a19c937d-7a49-7000-8000-0000000f4249"', ('line 46: id '
         '"a19c937d-7a49-7000-8000-0000000f4249" looks like that of a record; use a few words.')),
    ],
)  # fmt: skip
def test_a_mistake_is_told_with_its_line_and_how_to_mend_it(old, new, sentence):
    assert f"line/audits.toml, {sentence}" in mistakes(changed(old, new))


def test_a_single_mistake_is_told_alone():
    assert mistakes(changed("repeat_days = 14", "repeat_days = 0")) == [
        "line/audits.toml, line 1: repeat_days is 0; use a whole number from 1 to 366."
    ]


def test_all_mistakes_of_all_files_are_told_at_once():
    wrong = (
        AUDITS.replace("2026-04-06", '"x"').replace("often = 4", "often = 3").replace('"dock"', '"docks"')
    )

    found = mistakes(wrong, checks=CHECKS.replace("attribute", "atribute"))

    # A check of no known kind finds no defect either, which line 7 of stream.toml names.
    assert [line.partition(": ")[0] for line in found] == [
        "line/audits.toml, line 7", "line/audits.toml, line 27", "line/audits.toml, line 34",
        "line/audits.toml, line 40", "line/audits.toml, line 45", "line/checks.toml, line 4",
        "line/stream.toml, line 7",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("audits", "sentences"),
    [
        ("", ["line 1: no layer is listed; add a [[layer]] with id, name and every.",
              "line 1: no question is listed; add a [[question]] with station, id and ask.",
              "line 1: there is no calendar; add [calendar] with begins and time_zone."]),
        (AUDITS.partition("[[question]]")[0],
         ["line 1: no question is listed; add a [[question]] with station, id and ask."]),
    ],
)  # fmt: skip
def test_what_is_missing_altogether_is_told(audits, sentences):
    assert mistakes(audits) == [f"line/audits.toml, {sentence}" for sentence in sentences]


def test_a_layer_for_which_there_is_no_question_is_told():
    only_lead = AUDITS.replace("special = true\n[[question]]", 'layers = ["lead"]\n[[question]]').replace(
        'ask = "Label readable?"', 'ask = "Label readable?"\nlayers = ["lead"]'
    )

    assert mistakes(only_lead) == [
        (
            'line/audits.toml, line 22: no question is asked by the layer "manager"; add it to the layers of a '
            "question, or take it out."
        )
    ]


def test_a_layer_of_shifts_needs_shifts():
    without = STREAM.replace(STREAM.splitlines()[4] + "\n", "")

    found = mistakes(AUDITS.replace('shifts = ["night"]\n', ""), stream=without)

    assert found == [
        'line/audits.toml, line 12: the stream has no shifts; add shifts to stream.toml, or write every = "day".'
    ]


def test_a_layer_that_nobody_could_read_is_not_offered():
    found = mistakes(AUDITS.replace('id = "lead"\n', "").replace('id = "manager"\n', ""))

    assert 'line/audits.toml, line 31: layers holds "lead"; take it out.' in found


def test_a_stream_that_cannot_be_read_hides_no_mistake_of_its_audits():
    found = mistakes(changed("repeat_days = 14", "repeat_days = 0"), stream="name = \n")

    assert "line/audits.toml, line 1: repeat_days is 0; use a whole number from 1 to 366." in found
    assert not any("there is no station" in line for line in found)


@pytest.mark.parametrize(
    "zone",
    ["../../etc/passwd", "/etc/passwd", "Europe/", "Europe", "..", "zone.tab", "tzdata.zi", "localtime",
     "posixrules", "right/Europe/Berlin", "posix/Europe/Berlin", "Factory", "europe berlin", "CON", "+01:00",
     "Europe/Berlin\\u0000", "Europe\\\\Berlin", "a/" * 29],
)  # fmt: skip
def test_what_is_no_time_zone_on_every_tablet_is_refused(zone):
    found = mistakes(changed('"Europe/Berlin"', f'"{zone}"'))

    assert any("line 5: there is no time zone" in line for line in found)


@pytest.mark.parametrize(
    "zone", ["UTC", "America/Argentina/Buenos_Aires", "Etc/GMT+5", "Australia/Lord_Howe"]
)
def test_other_time_zones_are_taken(zone):
    assert read(changed('"Europe/Berlin"', f'"{zone}"')).audits.calendar.time_zone == zone


# Any file

WORDS = (
    "[]", "{}", "true", "1", "-1", "1e400", '"x"', '""', "2026-03-02", "2026-03-02T06:00:00Z", "06:00:00",
    "[[1]]", "[2026-03-02, 2026-03-02T00:00:00]", '["lead", 1]', "{ a = { b = [1] } }", "0001-01-01",
    "9999-12-31", '"2026-03-02"', "[{}]", '"\\u202e"', "99999999999999999999",
)  # fmt: skip


@settings(max_examples=60)
@given(st.lists(st.tuples(st.integers(0, 46), st.sampled_from(WORDS)), min_size=1, max_size=4))
def test_whatever_stands_there_is_read_or_told_with_its_line(changes):
    lines = AUDITS.splitlines()
    for place, word in changes:
        if "=" in lines[place]:
            lines[place] = f"{lines[place].partition('=')[0]}= {word}"

    try:
        stream = read("\n".join(lines))
    except ChecklistError as error:
        assert all(line.startswith("line/audits.toml, line ") for line in str(error).split("\n"))
        assert all(line.endswith(".") and line.isprintable() for line in str(error).split("\n"))
    else:
        AuditPlan(stream)


@given(st.permutations(range(3)))
@settings(max_examples=6)
def test_the_order_of_the_tables_does_not_matter_for_what_is_read(order):
    head, *questions = AUDITS.split("[[question]]\n")
    mixed = "[[question]]\n".join([head, *(questions[place] for place in order)])

    assert set(read(mixed).audits.questions) == set(read().audits.questions)
