"""The call that prints an audit: path, pages and questions, and one sentence for whatever is wrong."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.clipboards import Clipboard
from tests.fakes import CHECKLISTS
from tests.paper.printed import pages_of
from walkapp.cli import main

REPOSITORY = Path(__file__).resolve().parent.parent
STREAM = ("--stream", "washer-reservoir")


@pytest.fixture
def store(tmp_path) -> Path:
    board = Clipboard(tmp_path)
    with board.desk.store:
        board.find_nok()
    return tmp_path / "store"


def call(store, out, *more, on="2026-03-09", layer="supervisor", stream=STREAM):
    return main(
        ["paper", "--store", str(store), "--on", on, "--layer", layer, *stream, *more, "--out", str(out)]
    )


def test_the_call_tells_the_file_its_pages_and_questions(store, tmp_path, capsys):
    out = tmp_path / "audit.pdf"

    assert call(store, out, on="2085-01-01") == 0

    printed = capsys.readouterr()
    assert printed.err == ""
    assert printed.out == (
        f"{out}: 2 pages, 6 questions\n"
        "Supervisor, Monday 2085-01-01: 6 questions of the plan, 0 beyond it, 2 pages\n"
    )
    assert len(pages_of(out.read_bytes())) == 2


def test_without_a_shift_the_file_has_all_shifts_of_the_day(store, tmp_path, capsys):
    out = tmp_path / "audit.pdf"

    assert call(store, out, layer="shift-lead", on="2085-01-01") == 0
    told = capsys.readouterr().out.splitlines()
    assert [line.partition(",")[2].partition(",")[0] for line in told[1:]] == [
        " early shift",
        " late shift",
        " night shift",
    ]

    assert call(store, out, "--shift", "late", layer="shift-lead", on="2085-01-01") == 0
    assert len(capsys.readouterr().out.splitlines()) == 2


def test_a_page_that_cannot_be_typed_in_any_more_is_minded(store, tmp_path, capsys):
    assert call(store, tmp_path / "a.pdf", "--shift", "early", layer="shift-lead") == 0

    assert (
        "Mind: Shift lead, early shift, Monday 2026-03-09: This audit is begun or"
        in capsys.readouterr().out
    )


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"layer": "nobody"}, "There is no layer 'nobody' in washer-reservoir; name one of: shift-lead, "),
        ({"on": "2026-03-14"}, "no audit on Saturday 2026-03-14; the next one is on Monday 2026-03-16."),
        ({"stream": ("--checklists", str(CHECKLISTS))}, "name one with --stream: pump-bracket, "),
        ({"stream": ("--stream", "none")}, "There are no audits of a stream 'none'; name one of: "),
        ({"stream": (*STREAM, "--shift", "noon")}, "has no shift 'noon'; leave the shift out"),
        ({"stream": (*STREAM, "--checklists", "/nowhere")}, "/nowhere"),
    ],
)  # fmt: skip
def test_bad_input_is_one_sentence_and_no_file(store, tmp_path, capsys, more, words):
    out = tmp_path / "audit.pdf"

    assert call(store, out, **more) == 2

    printed = capsys.readouterr()
    assert printed.out == ""
    assert words in printed.err
    assert len(printed.err.splitlines()) == 1
    assert not out.exists()


def test_a_folder_that_is_not_there_is_told(store, tmp_path, capsys):
    assert call(store, tmp_path / "none" / "a.pdf") == 2
    assert "the folder is not there; make it or choose another" in capsys.readouterr().err

    assert call(tmp_path / "no store", tmp_path / "a.pdf") == 2
    assert "there is no such store" in capsys.readouterr().err


def test_a_date_that_is_none_is_told(store, tmp_path, capsys):
    with pytest.raises(SystemExit) as stopped:
        call(store, tmp_path / "a.pdf", on="tomorrow")

    assert stopped.value.code == 2
    assert "'tomorrow' must be a date such as 2026-03-02" in capsys.readouterr().err


def test_the_library_that_draws_is_loaded_only_when_a_page_is_drawn(store, tmp_path):
    program = (
        "import sys\n"
        "from walkapp.cli import main\n"
        "import walkapp.presenters.audits.paper, walkapp.actions.audits.typing_in, walkapp.app\n"
        "call = sys.argv[1:]\n"
        "early = 'matplotlib' in sys.modules\n"
        "status = main([*call, '--layer', 'nobody']), 'matplotlib' in sys.modules\n"
        "drawn = main([*call, '--layer', 'supervisor']), 'matplotlib' in sys.modules\n"
        "seen = early, status, drawn\n"
        "sys.exit(0 if seen == (False, (2, False), (0, True)) else str(seen))\n"
    )
    words = ["paper", "--store", store, "--on", "2085-01-01", *STREAM, "--out", tmp_path / "a.pdf"]

    done = subprocess.run(
        [sys.executable, "-c", program, *map(str, words)],
        cwd=REPOSITORY, capture_output=True, text=True, timeout=120,
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
