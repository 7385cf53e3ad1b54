"""The catalogues are whole: no text of the program is missing in one, and none is in it for nothing."""

from __future__ import annotations

import gettext
import re
import string

import pytest

from tests.languages.catalogues import CODES, as_bytes, compiled, path_of, read, untranslated, updated
from tests.languages.extraction import PROGRAM, in_kv, in_python
from tests.languages.tables import modules, unsaid
from tests.languages.unmarked import unmarked

EXEMPT = (
    "demo", "language.py", "languages", "model/records", "paper/mailed/style.py", "rollup/settling.py",
    "rollup/shapes.py", "rollup/tables.py", "search/fts.py",
)  # fmt: skip
"""The demo's invented records and Table Schema are English, the languages name themselves, the rest is SQL
and a style sheet."""


def placeholders(text: str) -> list[str]:
    return sorted(name for _, name, _, _ in string.Formatter().parse(text) if name is not None)


@pytest.mark.parametrize("code", CODES)
def test_no_text_is_missing_in_a_catalogue_and_none_is_there_for_nothing(code):
    # `python -m tests.languages` brings the catalogues up to date.
    fresh = updated(code)

    assert as_bytes(fresh).decode() == path_of(code).read_text()
    assert compiled(fresh) == path_of(code).with_suffix(".mo").read_bytes()


@pytest.mark.parametrize("code", CODES)
def test_every_text_is_translated(code):
    assert untranslated(read(code)) == []


@pytest.mark.parametrize("code", CODES)
def test_each_translation_puts_in_the_same_values(code):
    wrong = []
    for message in read(code):
        if not message.id:
            continue
        ids = message.id if isinstance(message.id, tuple) else (message.id,)
        texts = message.string if isinstance(message.string, tuple) else (message.string,)
        allowed = {tuple(placeholders(one)) for one in ids}
        # A plural that stands for exactly one number may leave the number out.
        allowed |= {tuple(n for n in one if n != "count") for one in allowed if len(texts) > 1}
        wrong += [(ids[0], text) for text in texts if tuple(placeholders(text)) not in allowed]
    assert wrong == []


@pytest.mark.parametrize("code", CODES)
def test_what_is_read_is_what_translators_wrote(code):
    with path_of(code).with_suffix(".mo").open("rb") as file:
        spoken = gettext.GNUTranslations(file)
    for message in read(code):
        if not message.id:
            continue
        if isinstance(message.id, tuple):
            said = {spoken.ngettext(*message.id, n) for n in range(200)}
            assert said == set(message.string)
        elif message.context:
            assert spoken.pgettext(message.context, message.id) == message.string
        else:
            assert spoken.gettext(message.id) == message.string


@pytest.mark.parametrize("code", CODES)
def test_a_translation_begins_and_ends_as_the_text_does(code):
    wrong = []
    for message in read(code):
        if not message.id:
            continue
        one = message.id[0] if isinstance(message.id, tuple) else message.id
        for text in message.string if isinstance(message.string, tuple) else (message.string,):
            ends = [re.search(r"[ \n]*$", t)[0] for t in (one, text)]
            starts = [re.search(r"^[ \n]*", t)[0] for t in (one, text)]
            full_stop = [t.rstrip().endswith(".") for t in (one, text)]
            if ends[0] != ends[1] or starts[0] != starts[1] or (full_stop[0] and not full_stop[1]):
                wrong.append((one, text))
    assert wrong == []


@pytest.mark.parametrize(
    "path", sorted(PROGRAM.rglob("*.py")), ids=lambda path: path.relative_to(PROGRAM).as_posix()
)
def test_no_text_for_people_stands_outside_the_catalogues(path):
    if path.relative_to(PROGRAM).as_posix().startswith(EXEMPT):
        return
    assert unmarked(path.read_text()) == []


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ('a = "Say this."', ["Say this."]),
        ('a = f"{n} of {m}"', ["{} of {}"]),
        ('a = tr("Say this.")', []),
        ('a = tr("Say {what}.", what="that one")', ["that one"]),
        ('a = tr("Say {what}.", what=f"{x} there")', ["{} there"]),
        ('"""Docstring."""', []),
        ('raise ValueError("it is wrong")', []),
        ('a = b == "two words"', []),
        ('a = "a seed for chance"  # no text: a seed', []),
        ('a = "plain"', []),
    ],
)
def test_the_search_finds_what_is_planted(source, found):
    assert [text for _, text in unmarked(source)] == found


def test_texts_are_found_in_python_and_in_kv():
    python = 'a = tr("A {b}.", b=trn("{count} c", "{count} cs", n)); d = trc("e", "F")\ng = msg("H" "i")'
    kv = "<A>:\n    text: tr('It\\'s') if root.x else tr(\"Two\")\n"

    assert [(m.context, m.one, m.many) for m in in_python(python, "")] == [
        ("", "A {b}.", ""), ("e", "F", ""), ("", "Hi", ""), ("", "{count} c", "{count} cs")
    ]  # fmt: skip
    assert [m.one for m in in_kv(kv)] == ["It's", "Two"]


def test_no_page_or_command_shows_a_kept_text_without_saying_it():
    found = []
    for path in modules("presenters", "screens", "cli", "devices"):
        place = path.relative_to(PROGRAM.parent).as_posix()
        found += [f"{place}:{line} {name}" for line, name in unsaid(path.read_text())]
    assert found == []


@pytest.mark.parametrize(
    ("use", "found"),
    [
        ("a = {'b': NOTE}", []),
        ("def f():\n    return NOTE", [(3, "NOTE")]),
        ("def f():\n    return tr(NOTE)", []),
        ("def f():\n    return State(notes=(NOTE,))", [(3, "NOTE")]),
        ("def f():\n    return tr('{note} Go on.', note=NOTE)", [(3, "NOTE")]),
        ("def f():\n    return tr('{note} Go on.', note=tr(NOTE))", []),
        ("def f(a):\n    return a == NOTE", []),
    ],
)
def test_a_kept_text_that_is_not_said_is_found(use, found):
    assert unsaid(f"NOTE = msg('Said later.')\n{use}") == found
