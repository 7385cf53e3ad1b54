"""Nothing in a text from outside hides, reorders, or commands the terminal."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest

from tests.builders import CONCERN, make
from walkapp.bundle import write_bundle
from walkapp.cli import main
from walkapp.errors import BundleError, ChecklistError, Mistake
from walkapp.model.records import Concern
from walkapp.visible import visible, visible_json

REPOSITORY = Path(__file__).resolve().parent.parent

# The marks that change the direction of writing (CVE-2021-42574), and characters of no width.
UNSEEN = (
    "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c"
    "\u200b\u200c\u200d\u2060\ufeff\u00ad"
)


@pytest.mark.parametrize(
    "letter", [*UNSEEN, "\x00", "\x07", "\x1b", "\x7f", "\x9b", "\u2028", "\ud800", "\u3164"]
)
def test_a_character_that_cannot_be_seen_gets_a_mark(letter):
    assert visible(f"a{letter}b") == f"a<U+{ord(letter):04X}>b"


@pytest.mark.parametrize("letter", ["\n", "\t", "\u00a0", "\u3000", "\u2009"])
def test_line_breaks_and_wide_blanks_become_a_blank(letter):
    assert visible(f"a{letter}b") == "a b"


def test_line_breaks_stay_where_several_lines_are_shown():
    assert visible("a\n\tb", keep="\n") == "a\n b"


@pytest.mark.parametrize("text", ["Prüfstand 3: Ohr weiß", "עברית", "日本語", "Ω ±0,5 mm", "🔧", "e\u0301"])
def test_what_can_be_seen_stays(text):
    assert visible(text) == text


def test_whatever_the_letter_the_result_is_one_printable_line():
    shown = visible("".join(map(chr, (*range(0x3000), *range(0xD000, 0x10000), *range(0xE0000, 0xE0200)))))

    assert {
        c for c in set(shown) if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp", "Co", "Cn")
    } == set()


def test_escaped_json_has_the_same_values():
    value = {f"a{UNSEEN}": ["\x7f\x9b\x1b", "\ud800", "\U000e0041", "ü", "two\nlines"]}
    text = visible_json(json.dumps(value, ensure_ascii=False, indent=2))

    assert json.loads(text) == value
    assert all(line.isprintable() for line in text.split("\n"))


def test_an_error_is_one_line_whatever_it_names():
    assert str(BundleError("a\nb\x1b]0;x\x07.zip: is empty.")) == "a b<U+001B>]0;x<U+0007>.zip: is empty."


def test_each_mistake_of_a_checklist_is_one_line():
    error = ChecklistError(
        [Mistake("b\u202e.toml", 2, "wrong\nkey", "mend it"), Mistake("a.toml", 0, "x", "y")]
    )

    assert str(error) == "a.toml: x; y.\nb<U+202E>.toml, line 2: wrong key; mend it."


@pytest.fixture
def bundle(tmp_path):
    """A bundle whose one text tries everything that a record may hold."""
    what = f"ear\nThe defect starts at Moulding (>99.9 %).{UNSEEN}"
    concern = make(
        Concern, id=CONCERN, walk="", number=1, stream="x", defect="y", what=what, severity="function"
    )  # fmt: skip
    path = tmp_path / "walk.zip"
    write_bundle(path, records=[concern], rows=[], photos={}, checklists={})
    return path


def test_a_text_of_a_bundle_cannot_add_a_line_to_the_summary(bundle, capsys):
    main(["summary", str(bundle)])

    printed = capsys.readouterr().out
    assert printed.startswith("Not signed.\n\near The defect starts at Moulding (>99.9 %).<U+202A>")
    assert all(line.isprintable() for line in printed.split("\n"))


def test_the_json_of_a_summary_is_harmless_on_a_terminal_and_exact(bundle, capsys):
    main(["summary", "--json", str(bundle)])

    printed = capsys.readouterr().out
    assert all(line.isprintable() for line in printed.split("\n"))
    assert "\\u202e" in printed
    assert json.loads(printed)[0]["what"].endswith(UNSEEN)


def test_a_name_of_a_file_cannot_command_the_terminal(tmp_path, capsys):
    evil = tmp_path / "\x1b[2J\x1b]0;x\x07\u202egpj.zip"
    evil.write_bytes(b"PK")

    assert main(["summary", str(evil)]) == 2
    assert main(["merge", "--store", str(tmp_path / "\x1b[31m"), str(evil)]) == 2
    with pytest.raises(SystemExit):
        main(["summary", "one.zip", str(evil)])

    said = capsys.readouterr().err
    assert said.count("\n") == 3
    assert all(line.isprintable() for line in said.splitlines())
    assert "<U+001B>[2J<U+001B>]0;x<U+0007><U+202E>gpj.zip" in said


def test_a_name_that_is_no_text_and_a_terminal_without_the_letter_stop_nothing(tmp_path):
    # Linux allows any bytes in names; an old terminal knows only ASCII.
    folder = os.fsencode(tmp_path) + b"/\xff\xfc"
    os.mkdir(folder)  # noqa: PTH102 - a name that is no text
    store = os.fsdecode(folder) + "/none"
    call = [sys.executable, "-m", "walkapp", "bundle", "--store", store, "--out", "ü.zip"]

    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run(call, cwd=REPOSITORY, env=environment, capture_output=True, timeout=60)

    assert done.returncode == 2
    assert b"<U+DCFF><U+DCFC>/none: there is no such store" in done.stderr
    assert b"Traceback" not in done.stderr


def test_an_answer_with_letters_that_the_terminal_lacks_is_printed(tmp_path):
    (tmp_path / "counts.csv").write_text("station,checked,nok\nPrüfung,20,9\n", encoding="utf-8")

    done = subprocess.run(
        [sys.executable, "-m", "walkapp", "locate", str(tmp_path / "counts.csv")],
        cwd=REPOSITORY, env={**os.environ, "PYTHONIOENCODING": "ascii"}, capture_output=True, timeout=60,
    )  # fmt: skip

    assert b"Traceback" not in done.stderr
    assert b"Pr\\xfcfung" in done.stdout
