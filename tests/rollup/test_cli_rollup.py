"""The call ``walkapp rollup``: what it prints, what it writes, and how it ends."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tests.rollup.world import PLANTS, write_world
from walkapp.actions.rollup import roll_up
from walkapp.bundle.cells import restore
from walkapp.cli import main
from walkapp.rollup import questions

REPOSITORY = Path(__file__).resolve().parent.parent.parent


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("plants")
    write_world(made)
    return made


def test_all_questions_are_told_with_what_to_mind(folder, capsys):
    status = main(["rollup", str(folder), "--on", "2026-04-15"])

    told = capsys.readouterr().out
    assert status == 0
    assert told.startswith("12 bundles of 4 plants, ")
    assert "Caution: Nobody has recorded who was told of a safety-class concern" in told
    for question in questions().values():
        assert f"\n{question.name}: {question.what}" in told
        assert question.mind in told
    assert "(Clopper-Pearson)" in told


def test_json_has_the_same_names_and_exact_limits(folder, capsys):
    status = main(["rollup", str(folder), "--question", "counts", "--json"])

    told = json.loads(capsys.readouterr().out)
    assert status == 0
    assert list(told) == [
        "bundles", "plants", "rows", "hashes_checked", "cautions", "left_out", "asked_with", "answers",
    ]  # fmt: skip
    assert told["plants"] == sorted([*PLANTS, "not said"])
    row = next(row for row in told["answers"][0]["rows"] if row["nok"] == 0)
    assert row["low95"] == 0.0
    # The exact upper end for none of n is 1 - 0.025^(1/n).
    assert row["high95"] == pytest.approx(1 - 0.025 ** (1 / row["checked"]), abs=1e-12)


def test_csv_is_harmless_for_a_spreadsheet_and_reads_back(folder, capsys):
    main(["rollup", str(folder), "--question", "first_bad_station", "--csv"])
    told = capsys.readouterr()
    table = list(csv.DictReader(io.StringIO(told.out, newline="")))

    assert "Caution: " in told.err
    texts = {text for row in table for text in row.values()}
    assert not [text for text in texts if text.startswith(("=", "+", "-", "@"))]
    assert "'=Welding" in texts
    assert "=Welding" in {restore(text) for text in texts}


def test_a_file_is_written_whole_and_a_bundle_is_never_written_over(folder, tmp_path, capsys):
    out = tmp_path / "counts.csv"
    assert main(["rollup", str(folder), "--question", "counts", "--csv", "--out", str(out)]) == 0
    assert out.read_text().startswith("plant,stream,defect,station,check_id,")
    bundle = sorted(folder.rglob("*.zip"))[0]
    before = bundle.read_bytes()

    status = main(["rollup", str(folder), "--question", "counts", "--csv", "--out", str(bundle)])

    assert status == 2
    assert "is there already and is no text" in capsys.readouterr().err
    assert bundle.read_bytes() == before


def test_the_status_says_that_a_bundle_was_left_out(folder, tmp_path, capsys):
    for path in sorted(folder.rglob("*.zip"))[:2]:
        (tmp_path / path.name).write_bytes(path.read_bytes())
    (tmp_path / "torn.zip").write_bytes(b"PK\x03\x04 torn")

    status = main(["rollup", str(tmp_path), "--question", "safety"])

    assert status == 1
    assert "torn.zip: torn.zip: breaks off" in capsys.readouterr().out


@pytest.mark.parametrize(
    "words, sentence",
    [
        (["rollup"], "Name the folder that holds the bundles"),
        (["rollup", "nowhere"], "there is no such folder"),
        (["rollup", ".", "--question", "x;=1"], "There is no question 'x;=1'"),
        (["rollup", ".", "--csv"], "name one question with --question NAME"),
        (["rollup", "tests/rollup"], "holds no bundle (*.zip)"),
    ],
)
def test_a_wrong_call_is_told_in_one_sentence(words, sentence, capsys, monkeypatch):
    monkeypatch.chdir(REPOSITORY)

    status = main(words)

    told = capsys.readouterr().err
    assert status == 2
    assert sentence in told
    assert told.count("\n") == 1


def test_the_questions_are_listed_with_their_sql(capsys):
    assert main(["rollup", "--questions"]) == 0
    listed = capsys.readouterr().out
    assert main(["rollup", "--questions", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)

    assert [one["question"] for one in told] == list(questions())
    for one in told:
        assert f"{one['question']}" in listed
        assert "SELECT" in one["sql"]


def test_without_the_library_one_sentence_says_how_to_get_it(folder):
    program = (
        "import sys; sys.modules['duckdb'] = None\n"
        "from walkapp.cli import main\n"
        "sys.exit(main(['rollup', sys.argv[1]]))\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", program, str(folder)],
        cwd=REPOSITORY, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip

    assert done.returncode == 2
    assert done.stderr.startswith("The roll-up of many bundles needs the library duckdb")
    assert "pip install 'walkapp[rollup]'" in done.stderr


def test_stopping_leaves_nothing_behind(folder, tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))

    def stop(done, total):
        if done > total // 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        roll_up(folder, values={}, progress=stop)

    assert list(tmp_path.iterdir()) == []


def test_progress_rises_and_ends_at_the_whole(folder):
    told = []

    roll_up(folder, ["safety"], values={}, progress=lambda *numbers: told.append(numbers))

    assert told == sorted(told)
    assert told[-1][0] <= told[-1][1]
    assert told[-1][0] > told[-1][1] * 9 // 10
