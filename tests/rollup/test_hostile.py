"""A bundle that is damaged or wants to do harm is left out and named; the rest counts without it."""

from __future__ import annotations

import signal
import subprocess
import sys
import zipfile
from datetime import date
from pathlib import Path

import pytest

from tests.builders import CONCERN, make
from tests.bundle.samples import Forger
from tests.rollup.plants import write_plant
from walkapp.actions.rollup import roll_up
from walkapp.bundle import open_bundle
from walkapp.errors import InputError
from walkapp.model.records import Concern, Count, Deliveries, Note

REPOSITORY = Path(__file__).resolve().parent.parent.parent
VALUES = {"on": date(2026, 4, 15), "within": 30}


def records(number=0, **fields):
    concern = {"id": CONCERN, "walk": "", "number": 1, "stream": "washer", "defect": "crack", "what": "x"}
    count = {"station": "weld", "check": "look", "checked": 30, "nok": 2, **fields}
    return [make(Concern, severity="function", **concern), make(Count, 100 + number, **count)]


@pytest.fixture
def folder(tmp_path):
    """A folder with one good bundle; the bad one lies before it by name."""
    write_plant(tmp_path, "A", "good", records())
    return tmp_path


def forged(folder, change):
    """Write a second good bundle and change it."""
    path = write_plant(folder, "A", "bad", records(1))
    forger = Forger.of(path)
    change(forger)
    forger.save(path)


def asked(folder, **more):
    found = roll_up(folder, ["counts"], values=VALUES, **more)
    return [row["checked"] for row in found.answers[0].rows], found.left_out


def set_cell(old, new):
    """Change the count's table, so that the descriptor agrees."""
    return lambda forger: forger.replace("count.csv", forger.members["count.csv"].replace(old, new))


def drop_hash(forger):
    forger.members["count.csv"] = forger.members["count.csv"].replace(b",30,2", b",31,2")


def add_outside(forger):
    forger.replace("../evil.csv", b"id\r\n")


def bomb(forger):
    forger.replace("note.csv", b"a" * 60_000_000)


CASES = {
    "another hash": (drop_hash, "bad.zip: count.csv: is not the file that is listed: its SHA-256 differs"),
    "a path out": (add_outside, "bad.zip: ../evil.csv: is not a file that belongs in a bundle"),
    "a table too large": (bomb, "bad.zip: note.csv: has 60000000 bytes, at most 50000000 are read"),
    "no number": (set_cell(b",30,2", b",3x,2"), "count.csv, row 2, column checked: must be a whole number"),
    "more NOK than parts": (set_cell(b",30,2", b",30,31"), "count.csv, row 2: nok must not be above"),
    "a number too large": (set_cell(b",30,2", b",99999999999999999,2"), "checked: must be a whole number"),
    "no station": (set_cell(b",weld,", b",We ld,"), "column station: must be small letters"),
    "no id": (set_cell(b"\n0", b"\n'0"), "bad.zip: count.csv, row 2, column id: must be a record id"),
    "no time": (set_cell(b"T06:20", b"T25:20"), "bad.zip: count.csv, row 2, column at: must be a time"),
    "a cell too many": (set_cell(b",30,2", b",30,2,,"), "bad.zip: count.csv, row 2: has 16 cells, not 14"),
    "a row too short": (set_cell(b",30,2,", b""), "bad.zip: count.csv, row 2: has 11 cells, not 14"),
    "an open quotation mark": (set_cell(b",30,2,", b',30,2,"'), "bad.zip: count.csv, row 2: is not CSV"),
    "a break within a text": (set_cell(b",30,2,", b',30,2,"a\r\nb"'), "unit: holds the control character"),
    "a control character": (set_cell(b",30,2,", b",30,2,\x1f"), "count.csv: holds control characters"),
    "not UTF-8": (set_cell(b",30,2,", b",30,2,\xff"), "bad.zip: count.csv: is not UTF-8"),
    "another column": (set_cell(b",unit\r", b",size\r"), "column size: is not a column"),
    "no table at all": (lambda forger: forger.replace("count.csv", b""), "column names are missing"),
    "an unknown format": (
        lambda forger: forger.set_descriptor({**forger.descriptor(), "walkapp": {"format": 99}}),
        "made by a newer version, update walkapp",
    ),
}  # fmt: skip


@pytest.mark.parametrize("change, sentence", CASES.values(), ids=CASES)
def test_a_bad_bundle_is_left_out_in_one_sentence_and_the_rest_counts(folder, change, sentence):
    forged(folder, change)

    counted, left_out = asked(folder)

    assert counted == [30]
    assert [one.path for one in left_out] == ["A/bad.zip"]
    assert sentence in left_out[0].why
    assert "\n" not in left_out[0].why


def test_what_is_no_zip_is_left_out(folder):
    (folder / "A" / "bad.zip").write_bytes(b"not a zip")

    assert asked(folder)[0] == [30]
    assert "is not a zip file" in asked(folder)[1][0].why


def test_an_open_quotation_mark_swallows_no_row_of_the_next_bundle(folder):
    # All are read in one go: "best" lies between a mark that opens and one that closes.
    write_plant(folder, "A", "best", records(2))
    for name, number, end in (("bad", 1, b',30,2,"x'), ("closing", 3, b',30,2,x"')):
        path = write_plant(folder, "A", name, records(number))
        forger = Forger.of(path)
        set_cell(b",30,2,", end)(forger)
        forger.save(path)

    counted, left_out = asked(folder)

    assert [one.path for one in left_out] == ["A/bad.zip"]
    assert counted == [90]  # the mark that closes nothing is a letter as any other, for both readers
    with open_bundle(folder / "A" / "closing.zip") as bundle:
        assert len(bundle.records) == 2


def test_without_the_check_of_the_hashes_damage_can_go_unseen_and_that_is_said(folder):
    forged(folder, drop_hash)

    found = roll_up(folder, ["counts"], values=VALUES, check_hashes=False)

    assert [row["checked"] for row in found.answers[0].rows] == [61]
    assert not found.hashes_checked


def test_rows_that_end_with_a_line_feed_alone_are_read_as_by_the_reader_of_bundles(folder):
    forged(folder, lambda f: f.replace("count.csv", f.members["count.csv"].replace(b"\r\n", b"\n")))

    assert asked(folder) == ([60], ())


def test_a_bundle_without_the_tables_that_are_asked_for_brings_no_rows(folder):
    write_plant(folder, "B", "empty", [])
    write_plant(folder, "B", "notes", [make(Note, 300, station="weld", words="=1+1")])

    assert asked(folder) == ([30], ())


def test_when_no_bundle_can_be_read_that_is_an_error_and_no_empty_answer(tmp_path):
    (tmp_path / "bad.zip").write_bytes(b"PK")

    with pytest.raises(
        InputError, match=r"None of the 1 bundles can be read; the first: bad\.zip: is not a zip"
    ):
        roll_up(tmp_path, ["counts"], values=VALUES)


def test_the_database_reads_nothing_outside_its_folder_and_fetches_nothing(tmp_path):
    from walkapp.rollup import DuckDB

    secret = tmp_path / "secret.csv"
    secret.write_text("a\n1\n")
    (tmp_path / "room").mkdir()
    with DuckDB(tmp_path / "room") as database:
        for text in (
            f"SELECT * FROM read_csv('{secret}')", f"SELECT * FROM '{secret}'", "INSTALL httpfs",
            "LOAD httpfs", "SELECT * FROM read_csv('http://localhost/x.csv')",
            f"COPY (SELECT 1) TO '{tmp_path}/out.csv'",
            "SET enable_external_access = true", "SELECT * FROM secret",
        ):  # fmt: skip
            with pytest.raises(InputError):
                database.rows(text)
        flags = database.rows(
            "SELECT current_setting('autoinstall_known_extensions'), "
            "current_setting('autoload_known_extensions')"
        )

    assert flags == [(False, False)]
    assert not (tmp_path / "out.csv").exists()


def test_a_picture_is_not_looked_at_but_its_name_is(folder):
    def misname(forger):
        forger.replace(f"photos/{'a' * 64}.jpg", b"\xff\xd8")

    forged(folder, misname)

    assert "is named by another SHA-256" in asked(folder)[1][0].why


def test_deliveries_in_the_book_of_another_stream_count_nowhere(tmp_path):
    stray = make(Deliveries, 5, walk="", stream="washer", month="2026-03-01", delivered=9)
    write_plant(tmp_path, "A", "one", [*records(), stray])

    found = roll_up(tmp_path, ["ppm"], values=VALUES)

    assert [row["delivered"] for row in found.answers[0].rows] == [None]


def test_the_zip_itself_is_not_written_to(folder):
    before = (folder / "A" / "good.zip").read_bytes()

    asked(folder)

    assert (folder / "A" / "good.zip").read_bytes() == before
    assert zipfile.is_zipfile(folder / "A" / "good.zip")


def test_ctrl_c_stops_a_long_question_at_once(tmp_path):
    program = (
        "import signal, sys; from pathlib import Path; from walkapp.rollup import DuckDB\n"
        # A shell may have started the tests deaf to it.
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "with DuckDB(Path(sys.argv[1])) as database:\n"
        "    print('asking', flush=True)\n"
        "    database.rows('SELECT COUNT(*) FROM range(100000000) a, range(1000) b "
        "WHERE a.range * b.range % 7 = 3')\n"
    )
    asking = subprocess.Popen(
        [sys.executable, "-c", program, str(tmp_path)],
        cwd=REPOSITORY, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert asking.stdout is not None
    assert asking.stdout.readline() == "asking\n"

    asking.send_signal(signal.SIGINT)
    try:
        _, told = asking.communicate(timeout=60)
    finally:
        asking.kill()

    assert told.rstrip().endswith("KeyboardInterrupt")
