"""The command as a person at a terminal meets it: what it prints, where, and its exit status."""

from __future__ import annotations

import io
import json
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.fakes import Desk
from tests.quarrels import Quarrel
from walkapp import __version__
from walkapp.actions.bundling import bundle_concerns
from walkapp.cli import main

REPOSITORY = Path(__file__).resolve().parent.parent
CHECKLISTS = REPOSITORY / "checklists"
STREAM = "washer-reservoir"

# The contract of `locate --json` and of each concern in `summary --json`, from the project's own
# description of the command (no outside source).
ANSWER_KEYS = {
    "first_bad_station", "probability", "plain_rule_station", "stations", "none_probability", "next",
    "beyond", "assumptions", "sensitivity", "warnings",
}  # fmt: skip
STATION_KEYS = {
    "station", "checked", "nok", "share", "low95", "high95", "probability_origin", "verdict",
}  # fmt: skip


@dataclass(frozen=True)
class Played:
    """The demo's two tablets and desk, as folders and bundles."""

    desk: Path
    first_bundle: Path
    second_bundle: Path
    desk_bundle: Path


@pytest.fixture(scope="module")
def played(tmp_path_factory, played_demo) -> Played:
    out = tmp_path_factory.mktemp("demo")
    desk_bundle = played_demo(out)
    return Played(out / "desk", out / "tablet-1.zip", out / "tablet-2.zip", desk_bundle)


@pytest.fixture
def counts(tmp_path):
    """Write a table of counts; gives its path."""

    def write(*rows: str, header: str = "station,checked,nok") -> str:
        path = tmp_path / "counts.csv"
        path.write_text("\n".join((header, *rows)) + "\n", encoding="utf-8")
        return str(path)

    return write


LEAK_TEST_MAKES_IT = ("Moulding,20,0", "Welding,20,0", "Leak test,20,9", "Packing,20,11")


def files_of(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def the_one_sentence(capsys) -> str:
    """Give what stands on standard error, which must be one line and no traceback."""
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.endswith("\n")
    assert printed.err.count("\n") == 1
    assert "Traceback" not in printed.err
    return printed.err


# locate


def test_locate_names_the_first_bad_station_in_words(counts, capsys):
    status = main(["locate", counts(*LEAK_TEST_MAKES_IT)])

    printed = capsys.readouterr()
    assert status == 0
    assert printed.out.startswith("The defect starts at Leak test (")
    assert "9 of 20" in printed.out
    assert printed.err == ""


def test_locate_prints_json_with_the_agreed_keys(counts, capsys):
    status = main(["locate", counts(*LEAK_TEST_MAKES_IT), "--json"])

    said = json.loads(capsys.readouterr().out)
    assert status == 0
    assert set(said) == ANSWER_KEYS
    assert [set(station) for station in said["stations"]] == [STATION_KEYS] * 4
    assert set(said["next"] or {"station": 0, "parts": 0, "why": 0}) == {"station", "parts", "why"}
    assert said["assumptions"] == {"detection": 0.9, "false_alarm": 0.005}
    assert said["first_bad_station"] == said["plain_rule_station"] == "Leak test"
    assert said["probability"] > 0.95
    total = said["none_probability"] + sum(s["probability_origin"] for s in said["stations"])
    assert total == pytest.approx(1)


def test_locate_gives_the_exact_interval_of_an_outside_witness(counts, capsys):
    # Clopper-Pearson, worked out by SciPy.
    from scipy.stats import binomtest

    main(["locate", counts(*LEAK_TEST_MAKES_IT), "--json"])

    station = json.loads(capsys.readouterr().out)["stations"][2]
    exact = binomtest(9, 20).proportion_ci(method="exact")
    assert (station["low95"], station["high95"]) == pytest.approx((exact.low, exact.high), abs=1e-9)


def test_locate_shows_the_rates_that_were_given(counts, capsys):
    call = ["locate", counts(*LEAK_TEST_MAKES_IT), "--detection", "0.8", "--false-alarm", "0.01", "--json"]

    assert main(call) == 0

    assert json.loads(capsys.readouterr().out)["assumptions"] == {"detection": 0.8, "false_alarm": 0.01}


def test_locate_without_any_nok_is_a_negative_answer(counts, capsys):
    path = counts("Moulding,20,0", "Welding,20,0")

    assert main(["locate", path]) == 1
    assert "no NOK was seen" in capsys.readouterr().out
    assert main(["locate", path, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["first_bad_station"] is None


@pytest.mark.parametrize(
    ("rows", "named"),
    [
        (("Moulding,20,0", "Welding,-20,0"), ("row 3", "column checked", "negative")),
        (("Moulding,20,0", "Welding,20,-1"), ("row 3", "column nok", "negative")),
        (("Moulding,20,21",), ("row 2", "column nok", "21 NOK of 20")),
        (("Moulding,twenty,0",), ("row 2", "column checked", "'twenty'")),
        (("Moulding,20,0", "Welding,20,none"), ("row 3", "column nok", "'none'")),
        (("Moulding,20",), ("row 2", "2 cells")),
        ((), ("no station",)),
    ],
)
def test_a_mistake_in_the_counts_is_one_sentence_with_row_and_column(counts, capsys, rows, named):
    path = counts(*rows)

    assert main(["locate", path]) == 2

    sentence = the_one_sentence(capsys)
    assert all(words in sentence for words in (path, *named))


@pytest.mark.parametrize("missing", ["station", "checked", "nok"])
def test_a_missing_column_is_named_with_its_row(counts, capsys, missing):
    columns = [name for name in ("station", "checked", "nok") if name != missing]
    path = counts("a,b", header=",".join(columns))

    assert main(["locate", path]) == 2

    sentence = the_one_sentence(capsys)
    assert "row 1" in sentence
    assert f"the column {missing} is missing" in sentence


def test_an_empty_file_of_counts_is_named(tmp_path, capsys):
    path = tmp_path / "empty.csv"
    path.write_bytes(b"")

    assert main(["locate", str(path)]) == 2

    assert "empty" in the_one_sentence(capsys).removeprefix(str(path))


def test_a_file_of_counts_that_is_not_there_is_named(tmp_path, capsys):
    path = tmp_path / "nowhere.csv"

    assert main(["locate", str(path)]) == 2

    assert str(path) in the_one_sentence(capsys)


def test_a_file_that_is_no_text_is_named(tmp_path, capsys):
    path = tmp_path / "counts.csv"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\x00\xff\xfe")

    assert main(["locate", str(path)]) == 2

    assert str(path) in the_one_sentence(capsys)


@pytest.mark.parametrize(("detection", "false_alarm"), [("0.1", "0.1"), ("0.1", "0.2"), ("0", "0")])
def test_detection_must_be_above_false_alarm(counts, capsys, detection, false_alarm):
    call = ["locate", counts(*LEAK_TEST_MAKES_IT), "--detection", detection, "--false-alarm", false_alarm]

    assert main(call) == 2

    sentence = the_one_sentence(capsys)
    assert "--detection" in sentence
    assert "--false-alarm" in sentence


def test_locate_takes_rates_minutes_sorting_and_weight_from_the_table(counts, capsys):
    header = "station,checked,nok,detection,false_alarm,minutes,sorts,weight"
    path = counts("A,20,0,0.7,0.02,5,,1", "B,20,9,,,,,1", "C,20,1,,,,yes,1", header=header)

    assert main(["locate", path, "--json"]) == 0

    said = json.loads(capsys.readouterr().out)
    assert said["assumptions"] == {"detection": 0.7, "false_alarm": 0.02}
    assert said["first_bad_station"] == "B"


def test_locate_knows_incoming_material(counts, capsys):
    assert main(["locate", counts("Granulate,20,9", "Moulding,20,11"), "--incoming"]) == 0

    assert capsys.readouterr().out.startswith("The defect comes in with Granulate (")


def test_locate_says_what_clean_means_as_it_is_told(counts, capsys):
    path = counts("A,20,0", "B,20,9")

    assert main(["locate", path, "--clean-share", "0.05", "--confidence", "0.9", "--detection", "1"]) == 0

    # 45 parts show 95 % reliability with 90 % confidence (success run, tables from memory); 20 are there.
    assert "fewer than 5 % are affected (90 % confidence): A 25." in capsys.readouterr().out


def test_locate_simulates_walks_on_the_stream_of_the_table(counts, capsys):
    call = ["locate", counts(*LEAK_TEST_MAKES_IT), "--simulate", "--walks", "3"]

    assert main(call) == 0
    told = capsys.readouterr().out
    assert main([*call, "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)

    assert [row["share"] for row in rows] == [0.05, 0.1, 0.3, 0.6, 0.95]
    assert all(row["walks"] == 3 and 0 <= row["right"] <= row["named"] <= 3 for row in rows)
    assert "3 for each affected share, seed 1" in told
    assert len(told.splitlines()) == 9


@pytest.mark.parametrize(
    ("option", "value"), [("--walks", "0"), ("--walks", "x"), ("--clean-share", "0"), ("--confidence", "1")]
)
def test_locate_refuses_options_out_of_range(counts, capsys, option, value):
    with pytest.raises(SystemExit) as ended:
        main(["locate", counts(*LEAK_TEST_MAKES_IT), option, value])

    assert ended.value.code == 2
    assert option in the_one_sentence(capsys)


# the window


def test_the_app_is_not_opened_on_checklists_that_are_not_there(tmp_path, capsys):
    store, nowhere = tmp_path / "store", tmp_path / "nowhere"

    assert main(["--store", str(store), "--checklists", str(nowhere)]) == 2

    assert f"{nowhere}: there is no such folder" in the_one_sentence(capsys)
    assert not store.exists()


# validate


def test_validate_tells_every_stream_of_good_checklists(capsys):
    assert main(["validate", str(CHECKLISTS)]) == 0

    lines = capsys.readouterr().out.splitlines()
    folders = sorted(folder.name for folder in CHECKLISTS.iterdir() if folder.is_dir())
    assert sorted(line.split(":")[0] for line in lines if line.endswith(": no mistakes")) == folders


def test_validate_takes_the_ready_made_checklists_when_none_are_named(capsys):
    assert main(["validate"]) == 0
    assert STREAM in capsys.readouterr().out


def test_validate_names_file_line_and_every_mistake(tmp_path, capsys):
    shutil.copytree(CHECKLISTS / STREAM, tmp_path / STREAM)
    path = tmp_path / STREAM / "checks.toml"
    text = path.read_text(encoding="utf-8")
    text = text.replace('\nkind = "attribute"\n', '\nkind = "guess"\n', 1)
    text = text.replace("\nsample = 5\n", '\nsample = "five"\n', 1)
    path.write_text(text, encoding="utf-8")
    lines = text.splitlines()

    assert main(["validate", str(tmp_path)]) == 2

    printed = capsys.readouterr()
    assert printed.out == ""
    assert "Traceback" not in printed.err
    for wrong in ('kind = "guess"', 'sample = "five"'):
        line = str(lines.index(wrong) + 1)
        assert any(
            "checks.toml" in told and re.search(rf"\b{line}\b", told) for told in printed.err.splitlines()
        )


def test_validate_of_a_folder_that_is_not_there_is_one_sentence(tmp_path, capsys):
    assert main(["validate", str(tmp_path / "nowhere")]) == 2
    assert "nowhere" in the_one_sentence(capsys)


# bundle


def test_bundle_writes_the_same_bytes_as_the_demo_did(played, tmp_path, capsys):
    out = tmp_path / "again.zip"

    assert main(["bundle", "--store", str(played.desk), "--out", str(out)]) == 0

    assert out.read_bytes() == played.desk_bundle.read_bytes()
    assert f"{out.stat().st_size:,} bytes" in capsys.readouterr().out


def test_bundle_says_that_copies_are_sent_or_photos_as_they_were_taken(tmp_path, capsys, played_demo):
    played_demo(tmp_path / "demo")  # a store with the originals: the desk has copies only
    store = ["--store", str(tmp_path / "demo" / "tablet-1")]

    assert main(["bundle", *store, "--out", str(tmp_path / "copies.zip")]) == 0
    copies = capsys.readouterr().out.splitlines()
    assert main(["bundle", *store, "--out", str(tmp_path / "originals.zip"), "--originals"]) == 0
    originals = capsys.readouterr().out.splitlines()

    assert copies[1:] == [
        "Mind: 1 photo is sent as a copy without place, serial number and other metadata.",
        "Mind: 1 photo is sent with places covered.",
    ]
    assert originals[1:] == [
        "Mind: 1 photo is as taken, place and serial number included.",
        "Mind: 1 photo is shown uncovered, although people or names were covered in the copy.",
    ]
    serial = b"INVENTED-0815"
    assert serial not in (tmp_path / "copies.zip").read_bytes()
    assert serial in (tmp_path / "originals.zip").read_bytes()


def test_bundle_of_an_unknown_concern_writes_nothing(played, tmp_path, capsys):
    out = tmp_path / "none.zip"

    status = main(["bundle", "--store", str(played.desk), "--out", str(out), "--concern", "no-such"])

    assert status == 2
    assert "no-such" in the_one_sentence(capsys)
    assert not out.exists()


def test_bundle_of_nothing_since_a_late_day_is_refused(played, tmp_path, capsys):
    out = tmp_path / "none.zip"

    status = main(["bundle", "--store", str(played.desk), "--out", str(out), "--since", "2126-01-01"])

    assert status == 2
    the_one_sentence(capsys)
    assert not out.exists()


def test_bundle_of_a_store_that_is_not_there_makes_none(tmp_path, capsys):
    store = tmp_path / "nowhere"

    assert main(["bundle", "--store", str(store), "--out", str(tmp_path / "none.zip")]) == 2

    assert str(store) in the_one_sentence(capsys)
    assert not store.exists()


def test_a_bundle_is_read_across_with_the_checklists_that_are_named(played, capsys):
    main(["summary", str(played.desk_bundle), "--json"])
    alone = json.loads(capsys.readouterr().out)[0]["stages"]["read_across"]["why"]
    main(["summary", str(played.desk_bundle), "--json", "--checklists", str(CHECKLISTS)])
    told = json.loads(capsys.readouterr().out)[0]["stages"]["read_across"]["why"]

    assert "--checklists" in alone
    assert told == "1 of 1 like stations still open."


# merge


def test_merging_in_any_order_and_twice_gives_the_bundle_of_the_desk(played, tmp_path, capsys):
    store, out = str(tmp_path / "store"), tmp_path / "out.zip"
    one, two, fixed = str(played.first_bundle), str(played.second_bundle), str(played.desk_bundle)

    assert main(["merge", "--store", store, two, one, fixed]) == 0
    first = capsys.readouterr()
    assert main(["merge", "--store", store, fixed, two]) == 0
    second = capsys.readouterr()
    assert main(["bundle", "--store", store, "--out", str(out)]) == 0

    assert first.out.startswith(f"{two}: ")
    assert [line.split(": ")[1].split(",")[0] for line in second.out.splitlines()] == ["0 new", "0 new"]
    assert first.err == second.err == ""  # no progress bar where the output is no terminal
    assert out.read_bytes() == played.desk_bundle.read_bytes()


@pytest.mark.parametrize("damage", ["cut short", "one byte changed", "no zip"])
def test_merging_a_broken_bundle_leaves_the_store_as_it_was(played, tmp_path, capsys, damage):
    store, broken = tmp_path / "store", tmp_path / "broken.zip"
    main(["merge", "--store", str(store), str(played.first_bundle)])
    capsys.readouterr()
    before = files_of(store)
    data = bytearray(played.second_bundle.read_bytes())
    if damage == "cut short":
        del data[len(data) // 2 :]
    elif damage == "one byte changed":
        data[len(data) // 3] ^= 0xFF
    else:
        data[:] = b"this is no zip"
    broken.write_bytes(data)

    # The good bundle before the broken one must not go in either.
    status = main(["merge", "--store", str(store), str(played.second_bundle), str(broken)])

    assert status == 2
    assert broken.name in the_one_sentence(capsys)
    assert files_of(store) == before


class PressesCtrlC(io.StringIO):
    """A terminal whose user presses Ctrl-C when something is drawn for the n-th time."""

    def __init__(self, nth: int) -> None:
        super().__init__()
        self.left = nth

    def isatty(self) -> bool:
        return True

    def write(self, words: str) -> int:
        self.left -= 1
        if self.left == 0:
            raise KeyboardInterrupt
        return super().write(words)


def test_a_merge_that_is_stopped_says_so_and_the_same_call_goes_on(played, tmp_path, capsys, monkeypatch):
    bundles = [str(played.first_bundle), str(played.second_bundle)]
    call = ["merge", "--store", str(tmp_path / "store"), *bundles]
    terminal = PressesCtrlC(30)
    with monkeypatch.context() as patched:
        patched.setattr(sys, "stderr", terminal)
        assert main(call) == 130
    said = "no bundle is merged; the same call goes on with the rest"
    assert terminal.getvalue().endswith(f"\nStopped: {said}.\n")
    assert capsys.readouterr().out == ""

    assert main(call) == 0
    assert [line.split(": ")[0] for line in capsys.readouterr().out.splitlines()] == bundles
    assert not list((tmp_path / "store" / "journals").glob("incoming-*"))


def test_any_other_call_that_is_stopped_is_one_sentence(counts, capsys, monkeypatch):
    terminal = PressesCtrlC(1)
    with monkeypatch.context() as patched:
        patched.setattr(sys, "stdout", terminal)
        status = main(["locate", counts(*LEAK_TEST_MAKES_IT)])
    assert (status, capsys.readouterr().err) == (130, "Stopped; everything saved before is kept.\n")


def test_merge_and_summary_show_every_value_of_entries_that_disagree(tmp_path, capsys):
    desk = Desk(tmp_path)
    with desk.store:
        quarrel = Quarrel(desk)
        bundle = bundle_concerns(desk.place, tmp_path / "both.zip").path
    about = "Entries disagree, a person has to settle it: Answers, Leak test, Mounting ear: look and touch"
    capsys.readouterr()

    assert main(["merge", "--store", str(tmp_path / "other"), str(bundle)]) == 0
    merged = capsys.readouterr().out
    main(["summary", str(bundle)])
    summary = capsys.readouterr().out
    main(["summary", "--json", str(bundle)])
    (told,) = json.loads(capsys.readouterr().out)

    for words in (merged, summary):
        lines = words[words.index(about) :].splitlines()
        assert lines[1].startswith("    OK (tablet ") and lines[1].endswith("QE-RT)")
        assert lines[2].startswith("    N/A; ") and lines[2].endswith("SL-KB)  <- counts for now")
    (conflict,) = told["conflicts"]
    assert [value["id"] for value in conflict["values"]] == [quarrel.mine.id, quarrel.theirs.id]


# summary


@pytest.mark.parametrize("source", ["store", "bundle"])
def test_summary_says_in_words_where_the_defect_starts(played, capsys, source):
    call = ["--store", str(played.desk)] if source == "store" else [str(played.desk_bundle)]

    assert main(["summary", *call]) == 0

    printed = capsys.readouterr()
    assert "The defect starts at Leak test" in printed.out
    assert printed.err == ""


def test_summary_prints_the_same_json_for_store_and_bundle(played, capsys):
    assert main(["summary", "--store", str(played.desk), "--json"]) == 0
    of_store = json.loads(capsys.readouterr().out)
    assert main(["summary", str(played.desk_bundle), "--json"]) == 0
    of_bundle = json.loads(capsys.readouterr().out)

    assert of_store == of_bundle
    assert len(of_store) == 1
    assert set(of_store[0]) >= ANSWER_KEYS
    assert all(set(station) == STATION_KEYS for station in of_store[0]["stations"])
    assert of_store[0]["first_bad_station"] == "Leak test"


def test_summary_changes_nothing_in_the_store(played):
    before = files_of(played.desk)

    main(["summary", "--store", str(played.desk)])

    assert files_of(played.desk) == before


def test_summary_wants_either_a_store_or_a_bundle(played, capsys):
    assert main(["summary"]) == 2
    assert "--store" in the_one_sentence(capsys)
    assert main(["summary", str(played.desk_bundle), "--store", str(played.desk)]) == 2
    assert "--store" in the_one_sentence(capsys)


def test_summary_of_a_bundle_that_is_not_there_is_one_sentence(tmp_path, capsys):
    path = tmp_path / "nowhere.zip"

    assert main(["summary", str(path)]) == 2

    assert path.name in the_one_sentence(capsys)


# demo


def test_the_demo_touches_no_folder_that_holds_something_else(tmp_path, capsys):
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")

    assert main(["demo", "--offscreen", "--out", str(tmp_path)]) == 2

    assert str(tmp_path) in the_one_sentence(capsys)
    assert files_of(tmp_path) == {"mine.txt": b"mine"}


# the call itself


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (["--no-such-option"], "--no-such-option"),
        (["validate", "--no-such-option"], "--no-such-option"),
        (["no-such-command"], "no-such-command"),
        (["locate"], "COUNTS.csv"),
        (["locate", "counts.csv", "--detection", "1.5"], "--detection"),
        (["locate", "counts.csv", "--detection", "nan"], "--detection"),
        (["bundle", "--store", "here"], "--out"),
        (["bundle", "--store", "here", "--out", "a.zip", "--since", "2026-02-30"], "--since"),
        (["merge", "--store", "here"], "BUNDLE"),
    ],
)
def test_a_wrong_call_is_one_sentence(capsys, call, named):
    with pytest.raises(SystemExit) as end:
        main(call)

    assert end.value.code == 2
    assert named in the_one_sentence(capsys)


def test_the_module_runs_as_a_program():
    done = subprocess.run(
        [sys.executable, "-m", "walkapp", "--version"],
        cwd=REPOSITORY, capture_output=True, text=True, check=True, timeout=60,
    )  # fmt: skip

    assert done.stdout == f"walkapp {__version__}\n"
    assert done.stderr == ""


# Input without end


def test_a_pipe_of_counts_is_read(tmp_path):
    # As in `walkapp locate <(command)`: a pipe has no size.
    done = subprocess.run(
        [sys.executable, "-m", "walkapp", "locate", "/dev/stdin"],
        input="station,checked,nok\nMoulding,20,0\nLeak test,20,9\n",
        cwd=REPOSITORY, capture_output=True, text=True, timeout=60,
    )  # fmt: skip

    assert done.stdout.startswith("The defect starts at Leak test")


def test_an_endless_device_of_counts_is_refused(capsys):
    assert main(["locate", "/dev/zero"]) == 2

    assert the_one_sentence(capsys) == "/dev/zero: has more than 5000000 bytes; make it smaller.\n"
