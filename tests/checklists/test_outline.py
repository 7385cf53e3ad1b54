"""The line of every key, checked against lines counted by hand and against what tomllib reads."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from walkapp.checklists.outline import Outline, Path

# Each case: a document (TOML 1.0.0), and the lines of its paths as counted by hand. A key within a
# value has the line where the value begins.
HAND_COUNTED: dict[str, tuple[str, dict[Path, int]]] = {
    "comments and blank lines": (
        '# first\n\n  # [not.a.table]\na = 1 # b = 2\n\nc = "# no comment" # one\nd = 4\n',
        {("a",): 4, ("c",): 6, ("d",): 7},
    ),
    "no line break at the end": ("a = 1\nb = 2", {("a",): 1, ("b",): 2}),
    "comment at the end without a line break": ("a = 1\nb = [] # end", {("a",): 1, ("b",): 2}),
    "quoted keys": (
        '"a.b" = 1\n\'c = d\' = 2\n"e\\"f" = 3\n"\\u00e4" = 4\n\'\' = 5\n"#" = 6\n',
        {("a.b",): 1, ("c = d",): 2, ('e"f',): 3, ("ä",): 4, ("",): 5, ("#",): 6},
    ),
    "dotted keys": (
        'a.b.c = 1\na . "d.e" = 2\n3.14 = 3\n',
        {("a",): 1, ("a", "b"): 1, ("a", "b", "c"): 1, ("a", "d.e"): 2, ("3",): 3, ("3", "14"): 3},
    ),
    "multi-line basic strings": (
        'a = """\nb = 1\n[c]\n"" \\" \\\\"""\nd = """x"""""\ne = """"y" """\nf = """"""\ng = ""\nh = 1\n',
        {("a",): 1, ("d",): 5, ("e",): 6, ("f",): 7, ("g",): 8, ("h",): 9},
    ),
    "multi-line literal strings": (
        "a = '''\nb = 1\n# \\''''\nc = '''x'''''\nd = ''''''\ne = ''\nf = '\\'\ng = 1\n",
        {("a",): 1, ("c",): 4, ("d",): 5, ("e",): 6, ("f",): 7, ("g",): 8},
    ),
    "brackets and quotes within strings": (
        'a = "]}[{\'"\nb = \']}[{"\'\nc = "\\"\\\\"\nd = 1\n',
        {("a",): 1, ("b",): 2, ("c",): 3, ("d",): 4},
    ),
    "multi-line arrays": (
        'a = [\n  1, # ]\n  "]",\n  [2,\n 3],\n]\nb = [\n]\nc = [ """\n]\n""" ]\nd = 1\n',
        {("a",): 1, ("b",): 7, ("c",): 9, ("d",): 12},
    ),
    "inline tables": (
        'a = { b = 1, c = { d = "}" } }\ne = [ { f = 1 },\n { f = 2 } ]\ng = 1\n',
        {("a",): 1, ("a", "b"): 1, ("a", "c", "d"): 1, ("e", 1, "f"): 2, ("g",): 4},
    ),
    "tables": (
        'a = 1\n[b] # here\nc = 1\n[ d . "e" ]\nf = 1\n  [b.g]\n  h = 1\n',
        {
            ("a",): 1,
            ("b",): 2,
            ("b", "c"): 3,
            ("d",): 4,
            ("d", "e"): 4,
            ("d", "e", "f"): 5,
            ("b", "g"): 6,
            ("b", "g", "h"): 7,
        },
    ),
    "arrays of tables": (
        "[[a]]\nb = 1\n[[ a ]]\n[[a]] # third\nb = 3\nc.d = 4\n",
        {("a", 0): 1, ("a", 0, "b"): 2, ("a", 1): 3, ("a", 2): 4, ("a", 2, "b"): 5, ("a", 2, "c", "d"): 6},
    ),
    "nested arrays of tables": (
        "[[a]]\n[[a.b]]\nc = 1\n[[a.b]]\n[a.b.d]\ne = 1\n[[a]]\n[[a.b]]\nc = 2\n[a.f]\ng = 1\n",
        {
            ("a", 0): 1,
            ("a", 0, "b", 0): 2,
            ("a", 0, "b", 0, "c"): 3,
            ("a", 0, "b", 1): 4,
            ("a", 0, "b", 1, "d"): 5,
            ("a", 0, "b", 1, "d", "e"): 6,
            ("a", 1): 7,
            ("a", 1, "b", 0): 8,
            ("a", 1, "b", 0, "c"): 9,
            ("a", 1, "f"): 10,
            ("a", 1, "f", "g"): 11,
        },
    ),
}


@pytest.mark.parametrize("case", HAND_COUNTED)
def test_lines_are_those_counted_by_hand(case: str) -> None:
    text, expected = HAND_COUNTED[case]
    tomllib.loads(text)  # the outline is only promised for what tomllib accepts

    outline = Outline(text)

    assert {path: outline.line_of(path) for path in expected} == expected


def test_carriage_returns_removed_by_the_caller_leave_the_lines_as_they_are() -> None:
    text = 'a = """\r\nb\r\n"""\r\n\r\n[[c]]\r\nd = 1 # e\r\n'.replace("\r\n", "\n")

    outline = Outline(text)

    assert dict(outline.lines) == {("a",): 1, ("c",): 5, ("c", 0): 5, ("c", 0, "d"): 6}


def test_an_absent_key_has_the_line_of_what_is_around_it() -> None:
    outline = Outline("a = 1\n\n[[b]]\nc = 1\n")

    assert outline.line_of(("b", 0, "missing")) == 3
    assert outline.line_of(("b", 0, "c", "deeper", 7)) == 4
    assert outline.line_of(("missing",)) == 1
    assert outline.line_of(()) == 1


@pytest.mark.parametrize("text", ["", "\n\n", "# only a remark", "\t \n"])
def test_a_document_without_keys_has_no_lines(text: str) -> None:
    assert dict(Outline(text).lines) == {}


BARE = st.sampled_from(["a", "b", "id", "x-1", "y_2", "7"])
QUOTED = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=6)
VALUES = st.sampled_from(
    [
        "1",
        "true",
        "-2.5e3",
        "2026-03-01",
        '"a # b"',
        '"[ \\" ]"',
        "'\\'",
        '""',
        '"""\nx = 1\n[y]\n"""',
        "'''\n# z\n''''",
        "[]",
        "[1, # one ]\n 2,\n]",
        "[[1], ['[']]",
        '[\n"""\n]"""\n]',
    ]
)
TABLE_NAMES = st.sampled_from(["t", "u", "v w"])
FILLING = st.sampled_from(["", "\n", "# [r]\n", "  \n# k = 1\n\n"])


def written(key: str) -> str:
    """Write a key the way TOML wants it: bare where that is allowed, else as a basic string."""
    if key and all(letter.isascii() and (letter.isalnum() or letter in "-_") for letter in key):
        return key
    return '"' + key.replace("\\", "\\\\").replace('"', '\\"') + '"'


@st.composite
def documents(draw: st.DrawFn) -> tuple[str, dict[Path, int]]:
    """Write a document line by line, noting the line of every path while writing it."""
    text, lines = "", {}

    def write_pairs(table: Path) -> None:
        nonlocal text
        for key in draw(st.lists(BARE | QUOTED, max_size=4, unique=True)):
            text += draw(FILLING)
            lines[(*table, key)] = text.count("\n") + 1
            text += f"{written(key)} = {draw(VALUES)}{draw(st.sampled_from(['', ' # e']))}\n"

    def write_header(header: str, table: Path) -> None:
        nonlocal text
        text += draw(FILLING)
        for length in range(1, len(table) + 1):
            lines.setdefault(table[:length], text.count("\n") + 1)
        text += header + "\n"
        write_pairs(table)

    write_pairs(())
    # These names are longer than any generated key, so that nothing is defined twice.
    for name in draw(st.lists(TABLE_NAMES, max_size=2, unique=True)):
        table = f"table of {name}"
        write_header(f"[{written(table)}]", (table,))
    for name in draw(st.lists(TABLE_NAMES, max_size=2, unique=True)):
        array = f"array of {name}"
        for place in range(draw(st.integers(1, 3))):
            write_header(f"[[{written(array)}]]", (array, place))
            for inner in range(draw(st.integers(0, 2))):
                path = (array, place, "inner entries", inner)
                write_header(f'[[{written(array)}."inner entries"]]', path)
    return text, lines


def paths_of(value: Mapping[str, Any], path: Path = ()) -> Iterator[Path]:
    """Give every path of a parsed document: keys, and entries of arrays of tables."""
    for key, inner in value.items():
        yield (*path, key)
        if isinstance(inner, dict):
            yield from paths_of(inner, (*path, key))
        elif isinstance(inner, list) and inner and all(isinstance(entry, dict) for entry in inner):
            for place, entry in enumerate(inner):
                yield (*path, key, place)
                yield from paths_of(entry, (*path, key, place))


@settings(deadline=None, max_examples=200)
@given(documents())
def test_every_path_that_tomllib_reads_has_its_line(document: tuple[str, dict[Path, int]]) -> None:
    text, lines = document
    assert set(paths_of(tomllib.loads(text))) == set(lines)

    outline = Outline(text)

    assert dict(outline.lines) == lines
