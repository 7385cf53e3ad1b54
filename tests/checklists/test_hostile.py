"""Checklists made to wait for ever, to fill the memory, or to be told in millions of sentences.

No test here is timed: without its bound each of these takes minutes to days, or gives many megabytes.
"""

import os
from datetime import date, timedelta

import pytest

from tests.soak.hostile.seeds import CHECKS_TOML, STREAM, STREAM_TOML
from walkapp.analysis.audits.plan import AuditPlan
from walkapp.checklists import load_streams, parse_stream
from walkapp.errors import ChecklistError

CHECK = '[[check]]\nstation = "{}"\nid = "c{}"\nkind = "measurement"\ntitle = "t"\nunit = "mm"\nlsl = 1\n'


def mistakes_of(stream=STREAM_TOML, checks=CHECKS_TOML):
    with pytest.raises(ChecklistError) as caught:
        parse_stream(STREAM, {"stream.toml": stream.encode(), "checks.toml": checks.encode()})
    lines = str(caught.value).split("\n")
    assert all(line.isprintable() and len(line) < 600 for line in lines)
    assert len(lines) <= 103
    return lines


@pytest.mark.parametrize("part", ["a", '"a"', "'a'", "a-b_c"])
@pytest.mark.parametrize("form", ["{} = 1\n", "[{}]\n", "x = {{ {} = 1 }}\n"])
def test_a_key_of_a_hundred_thousand_parts_is_not_parsed(part, form):
    # 20,000 parts take the parser of the standard library a minute, twice as many eight times as long.
    deep = form.format(f"{part} . " * 100_000 + part)

    line = STREAM_TOML.count("\n") + 1
    words = "a key has too many parts; mend the line."
    assert mistakes_of(STREAM_TOML + deep) == [f"small-line/stream.toml, line {line}: {words}"]


def test_points_in_texts_are_no_parts_of_keys():
    text = "1.2.3.4.5.6.7.8.9." + "a. " * 30
    stream = STREAM_TOML.replace('"Site rules come first."', f'"{text}"')

    assert parse_stream(STREAM, {"stream.toml": stream.encode(), "checks.toml": CHECKS_TOML.encode()})


@pytest.mark.parametrize("nested", ["[" * 900_000, "{a=" * 300_000, "[{a=" * 200_000])
def test_deep_nesting_is_refused(nested):
    (line,) = mistakes_of(f"x = {nested}\n{STREAM_TOML}")

    assert line.startswith("small-line/stream.toml: this is not TOML: ")


@pytest.mark.parametrize("station", ["press", "wrong-{}"])
def test_thousands_of_checks_are_not_compared_with_each_other(station):
    checks = "".join(CHECK.format(station.format(number), number) for number in range(9_000))

    assert mistakes_of(checks=checks) == [
        "small-line/checks.toml, line 1: there are 9000 tables headed [[check]]; list at most 2000."
    ]


@pytest.mark.parametrize(
    ("more", "what"),
    [
        ('[[station]]\nid = "s{0}"\nname = "n{0}"\nkind = "test"\n',
         "there are 15003 tables headed [[station]]; list at most 200."),
        ('[[defect]]\nid = "s{0}"\nname = "n{0}"\n',
         "there are 15001 tables headed [[defect]]; list at most 100."),
    ],
)  # fmt: skip
def test_thousands_of_stations_or_defects_are_refused_in_one_sentence(more, what):
    (line,) = mistakes_of(STREAM_TOML + "".join(more.format(number) for number in range(15_000)))

    assert line.endswith(f": {what}")


def test_after_a_hundred_mistakes_no_more_are_told():
    lines = mistakes_of("".join(f"k{number} = 1\n" for number in range(60_000)) + STREAM_TOML)

    assert len(lines) == 101
    assert lines[-1].endswith(": there are more than 100 mistakes; mend the others first.")


def test_a_near_word_is_looked_for_a_hundred_times_at_most():
    # 2,000 wrong names against 190 right ones take a quarter of a minute.
    stations = "".join(
        f'[[station]]\nid = "station-number-{n}"\nname = "n{n}"\nkind = "test"\n' for n in range(190)
    )
    checks = "".join(CHECK.format(f"station-numbr-{n}", n) for n in range(2_000))

    assert any(
        "(did you mean station-number-" in line for line in mistakes_of(STREAM_TOML + stations, checks)
    )


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('["Site rules come first."]', "[" + '"a",' * 240_000 + "]",
         "cautions holds 240000 entries; list at most 100."),
        ('["1", "2"]', "[" + ",".join(f'"{n}"' for n in range(90_000)) + "]",
         "names holds 90000 entries; list at most 100."),
    ],
)  # fmt: skip
def test_a_list_of_thousands_is_refused(old, new, words):
    assert old in STREAM_TOML

    assert mistakes_of(STREAM_TOML.replace(old, new))[0].endswith(words)


@pytest.mark.parametrize(
    "number", ["0." + "1" * 900_000, "1e-900000", "0." + "0" * 40 + "1", "1." + "0" * 31]
)
def test_a_limit_with_endless_digits_is_refused(number):
    lines = mistakes_of(checks=CHECKS_TOML.replace("lsl = 200", f"lsl = {number}"))

    assert lines[0].endswith("use at most 30 digits.")


@pytest.mark.parametrize(
    "number", ["1e999", "-1e999", "nan", "inf", "-inf", "1e999999999999999999999", "0x" + "f" * 900_000]
)
def test_a_limit_that_is_no_number_to_compare_with_is_refused(number):
    lines = mistakes_of(checks=CHECKS_TOML.replace("lsl = 200", f"lsl = {number}"))

    assert lines[0].endswith("use a number below 1,000,000,000,000.")


def test_a_key_and_an_id_of_a_million_letters_are_told_in_a_short_sentence():
    mistakes_of("a" * 1_000_000 + " = 1\n" + STREAM_TOML)
    mistakes_of(STREAM_TOML.replace('id = "crack"', f'id = "{"a" * 900_000}"'))


@pytest.mark.parametrize("letter", ["\x00", "\x1b", "\x85", "\u202e", "\u2066", "\u200f"])
def test_an_unseen_character_in_a_text_is_refused(letter):
    escaped = f"\\u{ord(letter):04x}"

    (line,) = mistakes_of(STREAM_TOML.replace('"Small line"', f'"Small{escaped} line"'))

    assert line.endswith(f": name holds the unseen character U+{ord(letter):04X}; take it out.")


def test_a_pipe_among_the_files_is_refused_without_waiting(tmp_path):
    (tmp_path / STREAM).mkdir()
    os.mkfifo(tmp_path / STREAM / "stream.toml")

    with pytest.raises(ChecklistError) as caught:
        load_streams(tmp_path)

    assert str(caught.value) == f"{tmp_path / STREAM / 'stream.toml'}: it is no plain file; take it out."


def test_a_link_to_an_endless_device_is_refused_without_reading(tmp_path):
    (tmp_path / STREAM).mkdir()
    (tmp_path / STREAM / "stream.toml").symlink_to("/dev/zero")

    with pytest.raises(ChecklistError) as caught:
        load_streams(tmp_path)

    assert "it is no plain file; take it out." in str(caught.value)


def test_the_name_of_a_folder_cannot_command_the_terminal(tmp_path):
    folder = tmp_path / "\x1b[2J\u202e"
    folder.mkdir()
    (folder / "stream.toml").write_text(STREAM_TOML, encoding="utf-8")
    (folder / "checks.toml").write_text(CHECKS_TOML, encoding="utf-8")

    with pytest.raises(ChecklistError) as caught:
        load_streams(tmp_path)

    assert str(caught.value).startswith(
        "<U+001B>[2J<U+202E>: the folder's name cannot be the id of a stream; "
    )


# audits.toml

LAYER = '[[layer]]\nid = "lead"\nname = "Lead"\nevery = "day"\n'
ASKED = '[[question]]\nstation = "press"\nid = "q"\nask = "Closed?"\n'
CALENDAR = '[calendar]\nbegins = 2026-03-02\ntime_zone = "UTC"\n'
ONE_QUESTION = '[[question]]\nstation = "press"\nid = "q{0}"\nask = "?"\n'


def audit_mistakes(audits):
    with pytest.raises(ChecklistError) as caught:
        parse_stream(
            STREAM,
            {
                "stream.toml": STREAM_TOML.encode(),
                "checks.toml": CHECKS_TOML.encode(),
                "audits.toml": audits.encode(),
            },
        )
    lines = str(caught.value).split("\n")
    assert all(line.isprintable() and len(line) < 600 for line in lines)
    assert len(lines) <= 103
    return [line.partition(": ")[2] for line in lines]


def audit_file(calendar="", layer="", question=""):
    return CALENDAR + calendar + LAYER + layer + ASKED + question


@pytest.mark.parametrize(
    ("audits", "words"),
    [
        (audit_file(calendar="holidays = [" + "2026-04-06," * 60_000 + "]\n"),
         "holidays holds 60000 entries; list at most 2000."),
        (audit_file(calendar="extra_days = [" + "[]," * 200_000 + "]\n"),
         "extra_days holds 200000 entries; list at most 2000."),
        (audit_file(calendar="working_days = [" + '"mon",' * 150_000 + "]\n"),
         "working_days holds 150000 entries; list at most 100."),
        (audit_file(question="layers = [" + '"lead",' * 100_000 + "]\n"),
         "layers holds 100000 entries; list at most 100."),
        (audit_file() + LAYER * 13_000, "there are 13001 tables headed [[layer]]; list at most 12."),
        (audit_file() + "".join(ONE_QUESTION.format(n) for n in range(14_000)),
         "there are 14001 tables headed [[question]]; list at most 5000."),
        (audit_file() + '[[station]]\nid = "press"\n' * 30_000,
         "there are 30000 tables headed [[station]]; list at most 3."),
        (CALENDAR.replace("UTC", "a" * 10_000) + LAYER + ASKED,
         "time_zone has 10000 characters; shorten it to at most 60."),
        (CALENDAR.replace("UTC", "../" * 20 + "etc/passwd") + LAYER + ASKED,
         "time_zone has 70 characters; shorten it to at most 60."),
        (audit_file(layer="x" * 500_000 + " = 1\n"), "xxx"),
        (audit_file(question="seconds = 1e-900000\n"), "seconds is 1E-900000; use at most 30 digits."),
        (audit_file(question="often = 9" + "9" * 4_000 + "\n"), "often is a number of more than 40 digits"),
    ],
)  # fmt: skip
def test_audits_of_thousands_are_refused_in_short_sentences(audits, words):
    assert any(line.startswith(words) for line in audit_mistakes(audits))


@pytest.mark.parametrize("nested", ["[" * 900_000, "{a=" * 300_000])
def test_deep_nesting_in_audits_is_refused(nested):
    audit_mistakes(audit_file() + f"x = {nested}\n")


def test_thousands_of_wrong_dates_are_told_a_hundred_times_at_most():
    lines = audit_mistakes(audit_file(calendar="holidays = [" + "0001-01-01," * 2_000 + "]\n"))

    assert lines[0] == "holidays is 0001-01-01; use a year from 2000 to 2199."
    assert lines[-1] == "there are more than 100 mistakes; mend the others first."


def test_lists_that_change_on_thousands_of_days_are_refused():
    days = (date(2026, 3, 2) + timedelta(days=number) for number in range(501))
    questions = "".join(ONE_QUESTION.format(n) + f"since = {day}\n" for n, day in enumerate(days))

    assert audit_mistakes(audit_file() + questions) == [
        "questions begin and end on 501 different days; use at most 500."
    ]


def test_the_plan_of_the_largest_file_is_worked_out_only_as_far_as_it_is_asked_for():
    days = [date(2026, 3, 2) + timedelta(days=40 * number) for number in range(480)]
    questions = "".join(
        ONE_QUESTION.format(n) + f"often = {(1, 2, 4)[n % 3]}\nsince = {days[n % 480]}\n"
        for n in range(4_900)
    )
    files = {
        "stream.toml": STREAM_TOML,
        "checks.toml": CHECKS_TOML,
        "audits.toml": audit_file() + questions,
    }
    stream = parse_stream(STREAM, {name: text.encode() for name, text in files.items()})
    plan = AuditPlan(stream)
    layer = plan.scheme.layers[0]

    for day in (date(2026, 3, 2), date(2070, 3, 2)):
        (slot,) = plan.calendar.slots(layer, day, day + timedelta(days=2))[:1]
        assert len(plan.visits(slot)[0].questions) == 3
