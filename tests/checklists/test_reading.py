"""From two files to a stream, or to one plain sentence for every mistake.

The sentences are part of what a supervisor sees, so they are compared whole. Lines were counted by
hand in the two smallest files below; what TOML allows is TOML 1.0.0 as :mod:`tomllib` reads it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from walkapp.checklists import digest_of, load_streams, parse_stream, stream_files
from walkapp.errors import ChecklistError, Mistake
from walkapp.model.checklist import (
    DEFAULT_DETECTION,
    DEFAULT_FALSE_ALARM,
    DEFAULT_SAMPLE,
    DEFAULT_SECONDS,
    ParallelUnits,
    Shift,
    Stream,
)

READY_MADE = Path(__file__).parents[2] / "checklists"
READY_MADE_IDS = ("pump-bracket", "washer-reservoir")

# The smallest checklist that has one of everything. Invented.
STREAM = """\
name = "Line"
product = "Part"
version = "1"
cautions = ["Site rules come first."]
[[defect]]
id = "crack"
name = "Crack"
[[station]]
id = "moulding"
name = "Moulding"
kind = "moulding"
minutes = 0
hazards = ["Hot parts."]
units = { kind = "cavity", names = ["one", "two"] }
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
[[check]]
station = "moulding"
id = "wall"
kind = "measurement"
title = "Wall"
unit = "mm"
lsl = 2.40
nominal = 2.50
usl = 2.60
plausible_low = 1.0
plausible_high = 5.0
[[check]]
station = "dock"
id = "photo"
kind = "photo"
title = "Photo"
"""


def pair(stream: str | bytes = STREAM, checks: str | bytes = CHECKS) -> dict[str, bytes]:
    """Make the files of a folder; without arguments they are valid."""
    texts = {"stream.toml": stream, "checks.toml": checks}
    return {name: text if isinstance(text, bytes) else text.encode() for name, text in texts.items()}


def mistakes_of(files: Mapping[str, bytes], folder_name: str = "line") -> list[str]:
    """Give every sentence about a folder that is not valid."""
    with pytest.raises(ChecklistError) as caught:
        parse_stream(folder_name, files)
    return [str(mistake) for mistake in caught.value.mistakes]


@dataclass(frozen=True, slots=True)
class Wrong:
    """One change that makes the smallest checklist wrong, and the only sentence about it."""

    name: str
    old: str
    new: str
    sentence: str

    def files(self) -> dict[str, bytes]:
        """Make the files with the change."""
        assert (STREAM + CHECKS).count(self.old) == 1, "the change must be at one place"
        return pair(STREAM.replace(self.old, self.new), CHECKS.replace(self.old, self.new))


ID_FORM = "use small letters, digits and dashes, a letter first, at most 40 characters"
WALL = 'id = "wall"\n'
LOOK = 'id = "look"\n'
PHOTO = 'title = "Photo"\n'
STATION_WORDS = (
    "incoming, moulding, trimming, joining, assembly, test, packing, storage, transport, dock, other"
)
ENCLOSE = "widen plausible_low and plausible_high so that they enclose the limits"

SINGLE_MISTAKES = (
    Wrong(
        "TOML without an equals sign",
        'product = "Part"',
        'product "Part"',
        "line/stream.toml, line 2: this is not TOML: "
        "Expected '=' after a key in a key/value pair at column 9; mend the line.",
    ),
    Wrong(
        "key written twice",
        'version = "1"\n',
        'version = "1"\nversion = "2"\n',
        "line/stream.toml, line 4: this is not TOML: Cannot overwrite a value at column 14; mend the line.",
    ),
    Wrong(
        "number for a text",
        'version = "1"',
        "version = 2.50",
        "line/stream.toml, line 3: version is 2.50; write a text in quotes.",
    ),
    Wrong(
        "date for a text",
        'version = "1"',
        "version = 2026-03-01",
        "line/stream.toml, line 3: version is 2026-03-01; write a text in quotes.",
    ),
    Wrong(
        "true for a text",
        'version = "1"',
        "version = true",
        "line/stream.toml, line 3: version is true; write a text in quotes.",
    ),
    Wrong(
        "text for a list",
        'hazards = ["Hot parts."]',
        'hazards = "Hot parts."',
        'line/stream.toml, line 13: hazards is "Hot parts."; write a list such as ["one", "two"].',
    ),
    Wrong(
        "long text for a list is shown in part",
        'hazards = ["Hot parts."]',
        f'hazards = "{"h" * 60}"',
        f'line/stream.toml, line 13: hazards is "{"h" * 36}...; write a list such as ["one", "two"].',
    ),
    Wrong(
        "number in a list of texts",
        'hazards = ["Hot parts."]',
        'hazards = ["Hot parts.", 4]',
        "line/stream.toml, line 13: hazards holds 4; write every entry as a text in quotes.",
    ),
    Wrong(
        "text for a flag",
        LOOK,
        LOOK + 'special = "yes"\n',
        'line/checks.toml, line 4: special is "yes"; write true or false.',
    ),
    Wrong(
        "whole number for a flag",
        LOOK,
        LOOK + "special = 1\n",
        "line/checks.toml, line 4: special is 1; write true or false.",
    ),
    Wrong(
        "text for a number",
        "minutes = 0",
        'minutes = "0"',
        'line/stream.toml, line 12: minutes is "0"; write a number.',
    ),
    Wrong(
        "bool for a number",
        "minutes = 0",
        "minutes = true",
        "line/stream.toml, line 12: minutes is true; write a number.",
    ),
    Wrong(
        "bool for a whole number",
        LOOK,
        LOOK + "sample = false\n",
        "line/checks.toml, line 4: sample is false; write a whole number.",
    ),
    Wrong(
        "broken number for a whole number",
        LOOK,
        LOOK + "sample = 2.0\n",
        "line/checks.toml, line 4: sample is 2.0; write a whole number.",
    ),
    Wrong(
        "list for a number",
        "minutes = 0",
        "minutes = [0]",
        "line/stream.toml, line 12: minutes is a list; write a number.",
    ),
    Wrong(
        "text for a table",
        'units = { kind = "cavity", names = ["one", "two"] }',
        'units = "two"',
        'line/stream.toml, line 14: units is "two"; write a table.',
    ),
    Wrong(
        "number for a text that may be absent",
        LOOK,
        LOOK + "how = 3\n",
        "line/checks.toml, line 4: how is 3; write a text in quotes.",
    ),
    Wrong(
        "number for an id that may be absent",
        PHOTO,
        PHOTO + '[[check]]\nstation = "dock"\nid = "b"\nkind = "count"\ntitle = "B"\nfinds = 3\n',
        "line/checks.toml, line 28: finds is 3; write a text in quotes.",
    ),
    Wrong(
        "unknown key near a known one",
        'hazards = ["Hot parts."]',
        'hazard = ["Hot parts."]',
        "line/stream.toml, line 13: hazard is not a key that is known here; "
        "take it out or rename it (did you mean hazards?).",
    ),
    Wrong(
        "unknown key near none",
        'hazards = ["Hot parts."]',
        "xyz = 1",
        "line/stream.toml, line 13: xyz is not a key that is known here; take it out or rename it.",
    ),
    Wrong(
        "unknown key of the whole stream",
        'version = "1"',
        'version = "1"\ncaution = []',
        "line/stream.toml, line 4: caution is not a key that is known here; "
        "take it out or rename it (did you mean cautions?).",
    ),
    Wrong(
        "unknown key within units",
        '"two"] }',
        '"two"], name = 1 }',
        "line/stream.toml, line 14: name is not a key that is known here; "
        "take it out or rename it (did you mean names?).",
    ),
    Wrong(
        "unknown table of the checks",
        '[[check]]\nstation = "dock"\n',
        '[[checks]]\n[[check]]\nstation = "dock"\n',
        "line/checks.toml, line 18: checks is not a key that is known here; "
        "take it out or rename it (did you mean check?).",
    ),
    Wrong(
        "missing key of the whole stream",
        'version = "1"\n',
        "",
        "line/stream.toml, line 1: version is missing; add version = a text in quotes.",
    ),
    Wrong(
        "missing key of a station",
        'name = "Dock"\n',
        "",
        "line/stream.toml, line 15: name is missing; add name = a text in quotes.",
    ),
    Wrong(
        "missing key of a check",
        'title = "Wall"\n',
        "",
        "line/checks.toml, line 7: title is missing; add title = a text in quotes.",
    ),
    Wrong(
        "missing unit",
        'unit = "mm"\n',
        "",
        "line/checks.toml, line 7: unit is missing; add unit = a text in quotes.",
    ),
    Wrong(
        "measurement without limits",
        "lsl = 2.40\nnominal = 2.50\nusl = 2.60\n",
        "",
        "line/checks.toml, line 7: neither lsl nor usl is given; add at least one limit.",
    ),
    Wrong(
        "two defects of one id",
        'name = "Crack"\n',
        'name = "Crack"\n[[defect]]\nid = "crack"\nname = "Other"\n',
        'line/stream.toml, line 9: id "crack" is used twice, first in line 6; '
        "give every defect its own id.",
    ),
    Wrong(
        "two stations of one name",
        'name = "Dock"',
        'name = "Moulding"',
        'line/stream.toml, line 17: name "Moulding" is used twice, first in line 10; '
        "give every station its own name.",
    ),
    Wrong(
        "two checks of one id",
        WALL,
        LOOK,
        'line/checks.toml, line 9: id "look" is used twice at moulding, first in line 3; '
        "give every check of a station an id of its own.",
    ),
    Wrong(
        "id with a capital letter",
        LOOK,
        'id = "Look"\n',
        f'line/checks.toml, line 3: id is "Look"; {ID_FORM}.',
    ),
    Wrong(
        "id with a digit first",
        LOOK,
        'id = "1look"\n',
        f'line/checks.toml, line 3: id is "1look"; {ID_FORM}.',
    ),
    Wrong(
        "id with a letter beyond ASCII",
        LOOK,
        'id = "prüfen"\n',
        f'line/checks.toml, line 3: id is "prüfen"; {ID_FORM}.',
    ),
    Wrong(
        "id of 41 characters",
        LOOK,
        f'id = "{"a" * 41}"\n',
        f'line/checks.toml, line 3: id is "{"a" * 36}...; {ID_FORM}.',
    ),
    Wrong("empty id", LOOK, 'id = ""\n', f'line/checks.toml, line 3: id is ""; {ID_FORM}.'),
    Wrong(
        "lsl above usl",
        "lsl = 2.40",
        "lsl = 2.70",
        "line/checks.toml, line 13: lsl (2.70) is not below usl (2.60); exchange or correct the limits.",
    ),
    Wrong(
        "lsl equal to usl",
        "lsl = 2.40",
        "lsl = 2.6",
        "line/checks.toml, line 13: lsl (2.6) is not below usl (2.60); exchange or correct the limits.",
    ),
    Wrong(
        "nominal outside",
        "nominal = 2.50",
        "nominal = 2.61",
        "line/checks.toml, line 14: nominal (2.61) is outside the limits; correct it or the limits.",
    ),
    Wrong(
        "nominal outside the only limit",
        "lsl = 2.40\nnominal = 2.50\n",
        "nominal = 2.7\n",
        "line/checks.toml, line 13: nominal (2.7) is outside the limits; correct it or the limits.",
    ),
    Wrong(
        "lsl outside the plausible range",
        "plausible_low = 1.0",
        "plausible_low = 2.45",
        f"line/checks.toml, line 13: lsl (2.40) is outside the plausible range; {ENCLOSE}.",
    ),
    Wrong(
        "usl outside the plausible range",
        "plausible_high = 5.0",
        "plausible_high = 2.5",
        f"line/checks.toml, line 15: usl (2.60) is outside the plausible range; {ENCLOSE}.",
    ),
    Wrong(
        "detection not above false_alarm",
        LOOK,
        LOOK + "detection = 0.1\nfalse_alarm = 0.1\n",
        "line/checks.toml, line 4: detection (0.1) is not above false_alarm (0.1); "
        "a check that finds anything calls more bad parts NOK than good ones.",
    ),
    Wrong(
        "false_alarm above the usual detection",
        LOOK,
        LOOK + "false_alarm = 0.95\n",
        "line/checks.toml, line 4: detection (0.9) is not above false_alarm (0.95); "
        "a check that finds anything calls more bad parts NOK than good ones.",
    ),
    Wrong(
        "detection above 1",
        LOOK,
        LOOK + "detection = 90\n",
        "line/checks.toml, line 4: detection is 90; use a number from 0 to 1.",
    ),
    Wrong(
        "sample of none",
        LOOK,
        LOOK + "sample = 0\n",
        "line/checks.toml, line 4: sample is 0; use a whole number from 1 to 100000.",
    ),
    Wrong(
        "no time for a part",
        LOOK,
        LOOK + "seconds_per_part = 0\n",
        "line/checks.toml, line 4: seconds_per_part is 0; use a number from 0.1 to 36000.",
    ),
    Wrong(
        "walking backwards",
        "minutes = 0",
        "minutes = -1",
        "line/stream.toml, line 12: minutes is -1; use a number from 0 to 240.",
    ),
    Wrong(
        "infinite limit",
        "lsl = 2.40",
        "lsl = -inf",
        "line/checks.toml, line 13: lsl is -Infinity; use a number below 1,000,000,000,000.",
    ),
    Wrong(
        "limit that is no number",
        "nominal = 2.50",
        "nominal = nan",
        "line/checks.toml, line 14: nominal is NaN; use a number below 1,000,000,000,000.",
    ),
    Wrong(
        "infinite minutes",
        "minutes = 0",
        "minutes = inf",
        "line/stream.toml, line 12: minutes is Infinity; use a number below 1,000,000,000,000.",
    ),
    Wrong(
        "limit beyond all measure",
        "usl = 2.60\nplausible_low = 1.0\nplausible_high = 5.0\n",
        "usl = 1e12\n",
        "line/checks.toml, line 15: usl is 1E+12; use a number below 1,000,000,000,000.",
    ),
    Wrong(
        "check at an unknown station near a known one",
        'station = "dock"',
        'station = "docks"',
        'line/checks.toml, line 19: there is no station "docks"; '
        "name a station of stream.toml (did you mean dock?).",
    ),
    Wrong(
        "check at an unknown station near none",
        'station = "dock"',
        'station = "xyz"',
        'line/checks.toml, line 19: there is no station "xyz"; name a station of stream.toml.',
    ),
    Wrong(
        "unknown defect",
        PHOTO,
        PHOTO + '[[check]]\nstation = "dock"\nid = "b"\nkind = "count"\ntitle = "B"\nfinds = "cracks"\n',
        'line/checks.toml, line 28: there is no defect "cracks"; '
        "name a defect of stream.toml (did you mean crack?).",
    ),
    Wrong(
        "unknown kind of check",
        'kind = "photo"',
        'kind = "foto"',
        'line/checks.toml, line 21: kind is "foto"; '
        "use one of attribute, count, measurement, setting, photo, question (did you mean photo?).",
    ),
    Wrong(
        "unknown kind of station",
        'kind = "dock"',
        'kind = "shop"',
        f'line/stream.toml, line 18: kind is "shop"; use one of {STATION_WORDS}.',
    ),
    Wrong(
        "unknown kind of unit",
        'kind = "cavity"',
        'kind = "cavities"',
        'line/stream.toml, line 14: kind is "cavities"; '
        "use one of cavity, fixture, machine, rack, line (did you mean cavity?).",
    ),
    Wrong(
        "limit of a photo",
        PHOTO,
        PHOTO + "lsl = 1\n",
        "line/checks.toml, line 23: lsl does not belong here; "
        "only measurements and settings have it; take it out.",
    ),
    Wrong(
        "sample of a photo",
        PHOTO,
        PHOTO + "sample = 1\n",
        "line/checks.toml, line 23: sample does not belong here; a photo judges no parts; take it out.",
    ),
    Wrong(
        "unit of an attribute",
        LOOK,
        LOOK + 'unit = "mm"\n',
        "line/checks.toml, line 4: unit does not belong here; "
        "only measurements and settings have it; take it out.",
    ),
    Wrong(
        "incoming material that is not first",
        'kind = "dock"',
        'kind = "incoming"',
        "line/stream.toml, line 18: incoming material is not the first station; move it to the front.",
    ),
    Wrong(
        "defect that no check finds",
        'name = "Crack"\n',
        'name = "Crack"\n[[defect]]\nid = "leak"\nname = "Leak"\n',
        'line/stream.toml, line 9: no check finds the defect "leak"; '
        'add finds = "leak" to a check in checks.toml.',
    ),
    Wrong(
        "twin unit names",
        '["one", "two"]',
        '["one", "two", "one"]',
        "line/stream.toml, line 14: a name is listed twice; list every name once.",
    ),
    Wrong(
        "single unit",
        '["one", "two"]',
        '["one"]',
        "line/stream.toml, line 14: fewer than two names are listed; list two or more, or take units out.",
    ),
    Wrong(
        "short name that is too long",
        'name = "Dock"\n',
        'name = "Dock"\nshort = "Customer\'s dock"\n',
        "line/stream.toml, line 18: short has 15 characters; shorten it to at most 14.",
    ),
    Wrong(
        "long name without a short one",
        'name = "Dock"\n',
        'name = "Customer\'s dock"\n',
        'line/stream.toml, line 17: name has 15 characters; add short = "..." of at most 14.',
    ),
    Wrong(
        "title of 61 characters",
        'title = "Look"',
        f'title = "{"x" * 61}"',
        "line/checks.toml, line 5: title has 61 characters; shorten it to at most 60.",
    ),
    Wrong(
        "empty text",
        'title = "Look"',
        'title = " "',
        "line/checks.toml, line 5: title is empty; write what it says, or take the key out.",
    ),
    # U+202E RIGHT-TO-LEFT OVERRIDE, Unicode Standard Annex #9.
    Wrong(
        "unseen character that turns the text round",
        'title = "Look"',
        'title = "Lo\u202eok"',
        "line/checks.toml, line 5: title holds the unseen character U+202E; take it out.",
    ),
    Wrong(
        "control character",
        'title = "Look"',
        'title = "Lo\\u0007ok"',
        "line/checks.toml, line 5: title holds the unseen character U+0007; take it out.",
    ),
)


@pytest.mark.parametrize("wrong", SINGLE_MISTAKES, ids=[wrong.name for wrong in SINGLE_MISTAKES])
def test_a_single_mistake_is_told_in_one_whole_sentence(wrong: Wrong) -> None:
    assert mistakes_of(wrong.files()) == [wrong.sentence]


DOCK_WALL = """\
[[check]]
station = "dock"
id = "wall"
kind = "measurement"
title = "Wall"
unit = "mm"
usl = 3
"""


def test_the_characteristic_is_the_id_of_the_check_unless_it_says_another() -> None:
    more = DOCK_WALL.replace('id = "wall"', 'id = "seen"\ncharacteristic = "wall"')
    stream = parse_stream("line", pair(checks=CHECKS + more))

    moulding, dock = stream.stations
    assert [check.measures for check in (*moulding.checks, *dock.checks)] == ["", "wall", "", "wall"]
    assert stream.measured_at("wall") == (moulding, dock)
    assert stream.measured_at("look") == stream.measured_at("") == ()
    assert (dock.measuring("wall").id, dock.measuring("wall").usl) == ("seen", 3)


def test_one_characteristic_in_two_units_is_told_and_other_limits_are_not() -> None:
    assert len(parse_stream("line", pair(checks=CHECKS + DOCK_WALL)).measured_at("wall")) == 2
    assert mistakes_of(pair(checks=CHECKS + DOCK_WALL.replace('"mm"', '"cm"'))) == [
        (
            'line/checks.toml, line 28: unit is "cm", but the characteristic "wall" is measured in "mm" at '
            "moulding, line 12; use one unit, or give this check a characteristic of its own."
        )
    ]


@pytest.mark.parametrize("key", ["", 'characteristic = "wall"\n'])
def test_a_characteristic_measured_twice_at_a_station_is_told(key: str) -> None:
    first, second = ("rim", "wall") if not key else ("wall", "rim")
    wall = CHECKS.replace(WALL, f'id = "{first}"\n' + ('characteristic = "wall"\n' if not key else ""))
    again = DOCK_WALL.replace('"dock"', '"moulding"').replace(WALL, f'id = "{second}"\n' + key)

    (sentence,) = mistakes_of(pair(checks=wall + again))

    assert 'moulding measures the characteristic "wall" twice, first in line 9' in sentence
    assert sentence.endswith("give one of the two checks another characteristic.")


def test_only_a_measurement_has_a_characteristic() -> None:
    checks = CHECKS.replace(LOOK, LOOK + 'characteristic = "wall"\n')

    assert mistakes_of(pair(checks=checks)) == [
        (
            "line/checks.toml, line 4: characteristic does not belong here; "
            "only measurements have it; take it out."
        )
    ]


def test_a_plausible_range_that_is_empty_is_told_once() -> None:
    checks = CHECKS.replace("plausible_low = 1.0", "plausible_low = 5")

    assert mistakes_of(pair(checks=checks)) == [
        (
            "line/checks.toml, line 16: plausible_low (5) is not below plausible_high (5.0); "
            "exchange or correct them."
        )
    ]


def with_shifts(*shifts: str) -> dict[str, bytes]:
    """Make the files with these shifts, from line 5 of the first."""
    lines = "".join(f"  {{ {shift} }},\n" for shift in shifts)
    return pair(STREAM.replace("[[defect]]", f"shifts = [\n{lines}]\n[[defect]]"))


EARLY = 'name = "early", from = "06:00", to = "14:00"'
LATE = 'name = "late", from = "14:00", to = "22:00"'
NIGHT = 'name = "night", from = "22:00", to = "06:00"'
AT_SHIFTS = "line/stream.toml, line 5: "


def test_shifts_are_read_in_their_order_and_are_optional() -> None:
    assert parse_stream("line", pair()).shifts == ()
    stream = parse_stream("line", with_shifts(EARLY, LATE, NIGHT))

    assert stream.shifts == (
        Shift(name="early", begins="06:00", ends="14:00"),
        Shift(name="late", begins="14:00", ends="22:00"),
        Shift(name="night", begins="22:00", ends="06:00"),
    )
    headed = "".join(f"[[shifts]]\n{shift}\n".replace(", ", "\n") for shift in (EARLY, LATE, NIGHT))
    assert parse_stream("line", pair(STREAM + headed)).shifts == stream.shifts


@pytest.mark.parametrize(
    ("time", "name"),
    [
        ("05:59:59.999", "night"),
        ("06:00:00", "early"),
        ("13:59:59", "early"),
        ("14:00:00", ""),
        ("21:59:59", ""),
        ("22:00:00", "night"),
        ("23:59:60", "night"),  # A leap second is a valid RFC 3339 time.
        ("00:00:00", "night"),
    ],
)
@pytest.mark.parametrize("offset", ["Z", "+01:00", "-05:00"])
def test_the_shift_of_a_moment_goes_by_the_time_that_was_recorded(
    time: str, name: str, offset: str
) -> None:
    stream = parse_stream("line", with_shifts(EARLY, NIGHT))

    shift = stream.shift_of(f"2026-03-03T{time}{offset}")

    assert (shift.name if shift else "") == name


FORM = 'write a time from "00:00" to "23:59", such as "06:00"'
MEND_OVERLAP = "let one begin when the other ends, or later"


@pytest.mark.parametrize(
    ("shifts", "sentence"),
    [
        ((EARLY.replace("06:00", "6:00"),), f'from is "6:00"; {FORM}.'),
        ((LATE.replace("22:00", "24:00"),), f'to is "24:00"; {FORM}.'),
        ((LATE.replace("22:00", "22:60"),), f'to is "22:60"; {FORM}.'),
        ((LATE.replace('"22:00"', "22:00:00"),), "to is 22:00:00; write a text in quotes."),
        ((LATE.replace("22:00", "2" * 21),), "to has 21 characters; shorten it to at most 20."),
        ((LATE.replace("22:00", ""),), "to is empty; write what it says, or take the key out."),
        (('name = "early", from = "06:00"',), "to is missing; add to = a text in quotes."),
        (
            (EARLY.replace("14:00", "06:00"),),
            'shift "early" begins and ends at 06:00; let it end at another time than it begins.',
        ),
        (
            (EARLY, LATE.replace("late", "early")),
            'name "early" is used twice, first in line 5; give every shift its own name.',
        ),
        (
            (EARLY, LATE.replace('"14:00"', '"13:59"')),
            f'shift "late" (13:59 to 22:00) overlaps "early" (06:00 to 14:00); {MEND_OVERLAP}.',
        ),
        (  # over midnight, and one within the other
            (NIGHT, 'name = "extra", from = "01:00", to = "02:00"'),
            f'shift "extra" (01:00 to 02:00) overlaps "night" (22:00 to 06:00); {MEND_OVERLAP}.',
        ),
        (
            ('name = "extra", from = "01:00", to = "02:00"', NIGHT),
            f'shift "night" (22:00 to 06:00) overlaps "extra" (01:00 to 02:00); {MEND_OVERLAP}.',
        ),
        (
            (EARLY.replace("early", "outside every shift"),),
            'a shift cannot be called "outside every shift"; give it another name.',
        ),
        (
            (EARLY + ', until = "x"',),
            "until is not a key that is known here; take it out or rename it.",
        ),
        ((EARLY,) * 25, "there are 25 tables headed [[shifts]]; list at most 24."),
    ],
)
def test_a_mistake_in_a_shift_is_told_in_one_whole_sentence(shifts: tuple[str, ...], sentence: str) -> None:
    assert mistakes_of(with_shifts(*shifts)) == [AT_SHIFTS + sentence]


minutes = st.integers(0, 24 * 60 - 1)


def clock(minute: int) -> str:
    """Write a minute of the day."""
    return f"{minute // 60:02}:{minute % 60:02}"


@given(times=st.tuples(minutes, minutes, minutes, minutes))
@settings(deadline=None)
def test_shifts_overlap_when_they_share_a_minute(times: tuple[int, int, int, int]) -> None:
    # Brute force: every minute of the day, walked from the beginning to the end of the shift.
    def walked(begin: int, end: int) -> set[str]:
        length = (end - begin) % (24 * 60)
        return {clock((begin + minute) % (24 * 60)) for minute in range(length)}

    a, b, c, d = times
    if a == b or c == d:
        return
    one = Shift(name="one", begins=clock(a), ends=clock(b))
    other = Shift(name="other", begins=clock(c), ends=clock(d))

    assert {clock(minute) for minute in range(24 * 60) if one.holds(clock(minute))} == walked(a, b)
    assert one.overlaps(other) == bool(walked(a, b) & walked(c, d))


def test_the_ready_made_reservoir_names_its_three_shifts() -> None:
    stream = parse_stream("washer-reservoir", stream_files(READY_MADE / "washer-reservoir"))

    assert [shift.name for shift in stream.shifts] == ["early", "late", "night"]
    assert all(stream.shift_of(f"2026-03-03T{hour:02}:00:00+01:00") for hour in range(24))


def test_a_file_that_is_not_utf_8_is_told_with_its_line() -> None:
    files = pair(checks=CHECKS.replace('title = "Wall"', 'title = "Wände"').encode("latin-1"))

    assert mistakes_of(files) == [
        "line/checks.toml, line 11: the text is not UTF-8; save the file with UTF-8 encoding."
    ]


def test_two_stations_of_one_id_are_told_with_the_first_line() -> None:
    files = pair(STREAM.replace('id = "dock"', 'id = "moulding"'), CHECKS.replace('"dock"', '"moulding"'))

    assert mistakes_of(files) == [
        (
            'line/stream.toml, line 16: id "moulding" is used twice, first in line 9; '
            "give every station its own id."
        ),
    ]


def test_a_stream_without_defects_is_told() -> None:
    stream = STREAM.replace('[[defect]]\nid = "crack"\nname = "Crack"\n', "")

    assert mistakes_of(pair(stream, CHECKS.replace('finds = "crack"\n', ""))) == [
        "line/stream.toml, line 1: no defect is listed; add a [[defect]] with id and name."
    ]


def test_a_stream_of_one_station_is_told() -> None:
    stream = STREAM[: STREAM.rindex("[[station]]")]

    assert mistakes_of(pair(stream, CHECKS[: CHECKS.rindex("[[check]]")])) == [
        "line/stream.toml, line 1: fewer than two stations are listed; add a [[station]] for each."
    ]


def test_a_single_table_where_many_belong_is_told() -> None:
    checks = '[check]\nstation = "dock"\n'

    assert mistakes_of(pair(checks=checks)) == [
        "line/checks.toml, line 1: check is a table; write tables headed [[check]].",
        (
            'line/stream.toml, line 6: no check finds the defect "crack"; '
            'add finds = "crack" to a check in checks.toml.'
        ),
    ]


@pytest.mark.parametrize("name", ["stream.toml", "checks.toml"])
def test_a_missing_file_is_told(name: str) -> None:
    files = pair()
    del files[name]

    assert mistakes_of(files) == [
        f"line/{name}: the file is missing; add it; a ready-made folder shows how."
    ]


def test_an_empty_folder_misses_both_files() -> None:
    assert mistakes_of({}) == [
        "line/checks.toml: the file is missing; add it; a ready-made folder shows how.",
        "line/stream.toml: the file is missing; add it; a ready-made folder shows how.",
    ]


def test_a_file_without_meaning_is_told_with_the_nearest_name() -> None:
    assert mistakes_of({**pair(), "check.toml": b"", "0.txt": b""}) == [
        "line/0.txt: the file has no meaning here; take it out or rename it.",
        (
            "line/check.toml: the file has no meaning here; "
            "take it out or rename it (did you mean checks.toml?)."
        ),
    ]


def test_a_file_above_the_largest_size_is_told_and_not_read() -> None:
    filler = b"# " + b"x" * 1_048_576

    assert mistakes_of(pair(checks=filler)) == [
        "line/checks.toml: the file has 1048578 bytes; shorten it to at most 1048576."
    ]


def test_a_folder_name_that_is_no_id_is_told() -> None:
    assert mistakes_of(pair(), "My Line") == [
        (
            "My Line: the folder's name cannot be the id of a stream; "
            "rename it with small letters, digits and dashes, a letter first, at most 40 characters."
        ),
    ]


def test_nesting_without_end_is_a_mistake_and_not_a_crash() -> None:
    files = pair(checks="a = " + "[" * 100_000)

    (sentence,) = mistakes_of(files)

    assert sentence.startswith("line/checks.toml")
    assert "this is not TOML" in sentence


@pytest.mark.parametrize("number", ["0x" + "f" * 5000, "1e9999999999999999999", "1" + "0" * 400])
@pytest.mark.parametrize("key", ["sample", "detection", "title", "lsl", "special"])
def test_numbers_beyond_all_measure_are_mistakes_and_not_crashes(key: str, number: str) -> None:
    lines = [line for line in CHECKS.splitlines(keepends=True) if not line.startswith(f"{key} =")]
    place = lines.index(WALL) + 1
    checks = "".join([*lines[:place], f"{key} = {number}\n", *lines[place:]])

    sentences = mistakes_of(pair(checks=checks))

    assert any(sentence.startswith("line/checks.toml") for sentence in sentences)


def test_all_mistakes_are_told_at_once_sorted_by_file_and_line() -> None:
    stream = STREAM.replace("minutes = 0", "minutes = -5").replace('version = "1"', "version = 1")
    checks = CHECKS.replace("lsl = 2.40", "lsl = 3").replace(LOOK, 'id = "Look"\nsampel = 4\n')

    sentences = mistakes_of({**pair(stream, checks), "notes.txt": b""})

    assert sentences == [
        f'line/checks.toml, line 3: id is "Look"; {ID_FORM}.',
        (
            "line/checks.toml, line 4: sampel is not a key that is known here; "
            "take it out or rename it (did you mean sample?)."
        ),
        "line/checks.toml, line 14: lsl (3) is not below usl (2.60); exchange or correct the limits.",
        "line/notes.txt: the file has no meaning here; take it out or rename it.",
        "line/stream.toml, line 3: version is 1; write a text in quotes.",
        "line/stream.toml, line 12: minutes is -5; use a number from 0 to 240.",
    ]


def test_the_text_of_the_error_is_one_line_for_each_mistake() -> None:
    error = ChecklistError(
        [Mistake("b", 2, "w", "m"), Mistake("a", 0, "w", "m"), Mistake("b", 1, "w", "m")]
    )

    assert str(error) == "a: w; m.\nb, line 1: w; m.\nb, line 2: w; m."


def test_the_smallest_checklist_is_read_as_it_was_written() -> None:
    stream = parse_stream("line", pair())

    assert (stream.id, stream.name, stream.product, stream.version) == ("line", "Line", "Part", "1")
    assert (stream.cautions, stream.invented) == (("Site rules come first.",), False)
    assert [defect.id for defect in stream.defects] == ["crack"]
    moulding, dock = stream.stations
    assert (moulding.order, moulding.kind, moulding.minutes) == (1, "moulding", 0.0)
    assert moulding.units == ParallelUnits(kind="cavity", names=("one", "two"))
    assert (dock.order, dock.short, dock.minutes, dock.hazards, dock.units) == (2, "Dock", 1.0, (), None)
    assert [check.id for check in moulding.checks] == ["look", "wall"]
    assert [check.id for check in dock.checks] == ["photo"]


def test_limits_keep_the_digits_that_were_written() -> None:
    wall = parse_stream("line", pair()).stations[0].checks[1]

    assert (str(wall.lsl), str(wall.nominal), str(wall.usl)) == ("2.40", "2.50", "2.60")
    assert (wall.plausible_low, wall.plausible_high) == (Decimal("1.0"), Decimal("5.0"))


def test_a_check_without_rates_has_the_usual_ones_and_says_so() -> None:
    look = parse_stream("line", pair()).stations[0].checks[0]

    assert (look.detection, look.false_alarm) == (DEFAULT_DETECTION, DEFAULT_FALSE_ALARM)
    assert (look.sample, look.seconds, look.rates_known) == (DEFAULT_SAMPLE, DEFAULT_SECONDS, False)


@pytest.mark.parametrize(
    ("rates", "known"),
    [
        ("detection = 0.8\nfalse_alarm = 0.01\n", True),
        ("detection = 0.8\n", False),
        ("false_alarm = 0.01\n", False),
    ],
)
def test_rates_are_known_when_both_are_written(rates: str, known: bool) -> None:
    look = parse_stream("line", pair(checks=CHECKS.replace(LOOK, LOOK + rates))).stations[0].checks[0]

    assert look.rates_known is known


def test_a_station_says_whether_parts_are_sorted_out_there() -> None:
    stream = parse_stream("line", pair(STREAM.replace('kind = "dock"', 'kind = "dock"\nsorts = true')))

    assert [station.sorts for station in stream.stations] == [False, True]


def test_incoming_material_becomes_station_zero() -> None:
    stream = parse_stream("line", pair(STREAM.replace('kind = "moulding"', 'kind = "incoming"')))

    assert [station.order for station in stream.stations] == [0, 1]


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace("\n", "\r\n"),
        lambda text: "\ufeff" + text,
        lambda text: text + "\n# a remark\n",
    ],
    ids=["CRLF", "byte order mark", "remark"],
)
def test_line_ends_byte_order_mark_and_remarks_change_nothing_but_the_digest(
    change: Callable[[str], str],
) -> None:
    plain = parse_stream("line", pair())

    changed = parse_stream("line", pair(change(STREAM), change(CHECKS)))

    assert changed.digest != plain.digest
    assert (changed.stations, changed.defects) == (plain.stations, plain.defects)


def test_mistakes_in_a_file_with_crlf_have_the_same_lines() -> None:
    checks = CHECKS.replace("lsl = 2.40", "lsl = 3")

    assert mistakes_of(pair(checks=checks.replace("\n", "\r\n"))) == mistakes_of(pair(checks=checks))


def test_texts_are_composed_as_unicode_wants_it() -> None:
    # Unicode Standard Annex #15: A + U+0308 COMBINING DIAERESIS composes to U+00C4 in NFC.
    stream = parse_stream("line", pair(STREAM.replace('"Line"', '"A\u0308"')))

    assert stream.name == "\u00c4"


@pytest.mark.parametrize("stream_id", READY_MADE_IDS)
def test_each_ready_made_checklist_loads(stream_id: str) -> None:
    stream = parse_stream(stream_id, stream_files(READY_MADE / stream_id))

    assert stream.invented
    for defect in stream.defects:
        assert any(station.finders(defect.id) for station in stream.stations)


def test_loading_the_ready_made_folder_gives_every_stream_sorted_by_id() -> None:
    assert tuple(stream.id for stream in load_streams(READY_MADE)) == READY_MADE_IDS


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    folder.mkdir(parents=True)
    for name, data in files.items():
        (folder / name).write_bytes(data)


def test_a_missing_checklist_folder_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "nowhere"

    with pytest.raises(ChecklistError) as caught:
        load_streams(folder)

    assert str(caught.value) == f"{folder}: there is no such folder; check the name."


def test_a_file_in_place_of_the_checklist_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")

    with pytest.raises(ChecklistError) as caught:
        load_streams(tmp_path / "file")

    (mistake,) = caught.value.mistakes
    assert (mistake.file, mistake.mend) == (str(tmp_path / "file"), "name a folder that can be read")


@pytest.mark.parametrize("name", ["loose.toml", ".hidden/stream.toml"])
def test_a_checklist_folder_without_streams_is_told(tmp_path: Path, name: str) -> None:
    (tmp_path / name).parent.mkdir(exist_ok=True)
    (tmp_path / name).write_bytes(b"")

    with pytest.raises(ChecklistError) as caught:
        load_streams(tmp_path)

    assert str(caught.value) == (
        f"{tmp_path}: no value stream is in this folder; "
        "add a folder for each value stream, with stream.toml and checks.toml."
    )


def test_mistakes_of_every_folder_are_told_and_nothing_is_loaded(tmp_path: Path) -> None:
    write_folder(tmp_path / "good", pair())
    write_folder(tmp_path / "one", pair(STREAM.replace("minutes = 0", "minutes = -5")))
    write_folder(tmp_path / "two", {"stream.toml": STREAM.encode()})

    with pytest.raises(ChecklistError) as caught:
        load_streams(tmp_path)

    assert [str(mistake) for mistake in caught.value.mistakes] == [
        "one/stream.toml, line 12: minutes is -5; use a number from 0 to 240.",
        "two/checks.toml: the file is missing; add it; a ready-made folder shows how.",
    ]


def test_hidden_files_of_a_folder_are_left_out(tmp_path: Path) -> None:
    write_folder(tmp_path / "line", {**pair(), ".swap": b"\xff"})

    assert stream_files(tmp_path / "line") == pair()


def test_the_digest_is_the_hash_of_names_lengths_and_contents() -> None:
    # FIPS 180-4 SHA-256, by hashlib; the layout is written out by hand.
    expected = hashlib.sha256(b"a\x002\x00xyb\x000\x00").hexdigest()

    assert digest_of({"b": b"", "a": b"xy"}) == expected


def test_the_digest_is_the_same_for_the_same_files_in_any_order(tmp_path: Path) -> None:
    files = pair()
    write_folder(tmp_path / "line", files)

    backwards = dict(reversed(files.items()))

    assert digest_of(backwards) == digest_of(files) == load_streams(tmp_path)[0].digest


@given(
    st.dictionaries(st.sampled_from(["a", "ab", "b"]), st.binary(max_size=4)),
    st.dictionaries(st.sampled_from(["a", "ab", "b"]), st.binary(max_size=4)),
)
def test_digests_are_equal_only_for_equal_files(one: dict[str, bytes], other: dict[str, bytes]) -> None:
    assert (digest_of(one) == digest_of(other)) == (one == other)


# Bytes that mean something to TOML are tried more often than chance would.
DAMAGE = st.sampled_from(list(b"\"'[]{}=.#,\\\n\r\t -+_0e\x00\x7f\x80\xc3\xff")) | st.integers(0, 255)
EDITS = st.lists(
    st.tuples(st.floats(0, 1), st.sampled_from(["replace", "insert", "delete", "cut"]), DAMAGE),
    min_size=1,
    max_size=4,
)


def damaged(data: bytes, edits: list[tuple[float, str, int]]) -> bytes:
    """Damage bytes: a place from 0 to 1, what is done there, and the byte to do it with."""
    for where, action, byte in edits:
        place = int(where * len(data))
        if action == "replace":
            data = data[:place] + bytes([byte]) + data[place + 1 :]
        elif action == "insert":
            data = data[:place] + bytes([byte]) + data[place:]
        elif action == "delete":
            data = data[:place] + data[place + 1 + byte :]
        else:
            data = data[:place]
    return data


@settings(deadline=None, max_examples=200)
@given(st.sampled_from(READY_MADE_IDS), st.sampled_from(["stream.toml", "checks.toml"]), EDITS)
def test_damaged_files_give_a_stream_or_a_list_of_mistakes(
    stream_id: str, name: str, edits: list[tuple[float, str, int]]
) -> None:
    files = stream_files(READY_MADE / stream_id)
    files[name] = damaged(files[name], edits)

    try:
        outcome: Stream | ChecklistError = parse_stream(stream_id, files)
    except ChecklistError as error:
        outcome = error

    if isinstance(outcome, ChecklistError):
        lines = files[name].count(b"\n") + 1
        assert outcome.mistakes
        assert all(mistake.line <= lines for mistake in outcome.mistakes if mistake.file.endswith(name))
    else:
        assert outcome.digest == digest_of(files)
