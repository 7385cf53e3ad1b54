"""What a kv file shows goes through a catalogue."""

from __future__ import annotations

import re

import pytest

from tests.languages.extraction import PROGRAM

SHOWN = ("text", "title", "subtitle", "detail", "label", "hint", "hint_text", "words")
"""Properties of which a person reads the value."""

LITERAL = r"'[^']*'|\"[^\"]*\""
COMPARED = re.compile(
    rf"\btr[nc]?\((?:{LITERAL})|(?:==|!=|\bin)\s*(?:{LITERAL})|(?:{LITERAL})\s*:|\.\w+\((?:{LITERAL})|\[(?:{LITERAL})\]"
)
"""Texts of a catalogue, and names that are compared, looked up or handed to the program."""


def bare(source: str) -> list[str]:
    """Give the texts of a kv file that are shown and come from no catalogue."""
    found = []
    for line in source.splitlines():
        said = re.match(r"\s*(\w+):\s*(.+)", line)
        if said and said[1] in SHOWN:
            left = COMPARED.sub("", said[2])
            found += [text for text in re.findall(LITERAL, left) if re.search(r"[^\W\d_]{2,}", text)]
    return found


@pytest.mark.parametrize(
    "path", sorted(PROGRAM.rglob("*.kv")), ids=lambda path: path.relative_to(PROGRAM).as_posix()
)
def test_no_text_of_a_page_stands_outside_the_catalogues(path):
    assert bare(path.read_text()) == []


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("    detail: 'given' if self.is_framed else ' '", ["'given'"]),
        ("    text: tr('Parts') if root.pad_for == 'checked' else \"Parts NOK\"", ['"Parts NOK"']),
        ("    text: tr('Parts') if root.pad_for == 'checked' else tr(\"Parts NOK\")", []),
        ("    text: {'checked': tr('Parts')}.get(root.pad_for, '')", []),
        ("    text: root.words('leave')", []),
        ("    test_name: 'answer-ok'", []),
    ],
)
def test_the_reader_finds_what_is_planted(line, found):
    assert bare(line) == found
