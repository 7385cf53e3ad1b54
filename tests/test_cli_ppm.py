"""``walkapp ppm`` and ``walkapp deliveries`` at a terminal: what they print, their JSON, their exit status.

The clock of a command is that of this machine: the months are long past on every clock.
"""

from __future__ import annotations

import json

import pytest

from tests.deliverers import STREAM, Deliverer, table
from tests.fakes import CHECKLISTS, Desk
from walkapp.cli import main
from walkapp.cli.machine import now
from walkapp.model.records import Deliveries
from walkapp.store import Store


@pytest.fixture
def desk(tmp_path):
    """A desk with one concern, reported in January 2020; its store is closed."""
    made = Desk(tmp_path)
    with made.store:
        made.concern(quantity=35, reported_on="2020-01-10")
    return made


def ppm(desk, *more):
    return main(["ppm", "--store", str(desk.store.folder), "--checklists", str(CHECKLISTS), *more])


def read(desk, path, *more, stream=STREAM):
    where = ["--store", str(desk.store.folder), "--checklists", str(CHECKLISTS)]
    return main(["deliveries", *where, "--stream", stream, str(path), *more])


def kept(desk):
    with Store(desk.store.folder, now=now, new_id=desk.place.new_id, app="t", writable=False) as store:
        return [r for r in store.all_records() if isinstance(r, Deliveries)]


def test_a_table_is_read_and_its_ppm_told(desk, tmp_path, capsys):
    path = table(tmp_path / "in", "month;delivered", "2020-01;50000")

    assert read(desk, path) == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    assert printed.out == (
        f"{path}: recorded; it adds 1, corrects 0, leaves 0 as they are.\n2020-01: 50,000 delivered, new\n"
    )
    assert [(r.month, r.delivered, r.source) for r in kept(desk)] == [("2020-01-01", 50_000, path.name)]

    assert ppm(desk, "--stream", STREAM, "--months", "1200", "--target", "1000") == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "PPM of Washer-fluid reservoir"
    assert (
        lines[1] == "January 2020: 700 ppm, 35 NOK of 50,000 delivered; 487.5 to 973.6 ppm, two-sided 95 %."
    )
    assert lines[2] == "Shown to be below the target of 1,000 ppm (at most 928.1 ppm, one-sided 95 %)."
    (row,) = [line for line in lines if line.startswith("January 2020 ")]
    assert row.split() == [
        "January", "2020", "35", "50,000", "700", "487.5", "to", "973.6,", "two-sided", "95", "%",
        "700", "(1)", "700", "(1)",
    ]  # fmt: skip


def test_a_dry_run_writes_nothing(desk, tmp_path, capsys):
    path = table(tmp_path / "in", "month;delivered", "2020-01;50000")

    assert read(desk, path, "--dry-run") == 0

    assert "nothing is recorded yet; reading it adds 1, corrects 0" in capsys.readouterr().out
    assert kept(desk) == []


def test_the_same_table_again_records_nothing(desk, tmp_path, capsys):
    path = table(tmp_path / "in", "month;delivered", "2020-01;50000")
    read(desk, path)
    before = kept(desk)

    assert read(desk, path) == 0

    assert "adds 0, corrects 0, leaves 1 as it is" in capsys.readouterr().out
    assert kept(desk) == before


def test_all_mistakes_are_told_and_nothing_is_recorded(desk, tmp_path, capsys):
    path = table(tmp_path / "in", "month;delivered", "2020-01;50.000", "soon;5", "2020-02;7")

    assert read(desk, path) == 2

    printed = capsys.readouterr()
    assert printed.out == ""
    assert [line.partition(": ")[0] for line in printed.err.splitlines()] == [
        "deliveries.csv, line 2", "deliveries.csv, line 3",
    ]  # fmt: skip
    assert kept(desk) == []


def test_a_stream_that_is_not_here_is_refused(desk, tmp_path, capsys):
    path = table(tmp_path / "in", "month;delivered", "2020-01;50000")

    assert read(desk, path, stream="no-such") == 2
    assert ppm(desk, "--stream", "no-such") == 2

    assert capsys.readouterr().err.count("There is nothing of a value stream 'no-such' here") == 2


def test_json_tells_every_stream_of_which_something_is_recorded(desk, tmp_path, capsys):
    read(desk, table(tmp_path / "in", "month,delivered,nok", "2020-01,50000,0"))
    capsys.readouterr()

    assert ppm(desk, "--json", "--months", "1200") == 0

    (told,) = json.loads(capsys.readouterr().out)
    assert (told["stream"], told["model"]) == (STREAM, "poisson")
    assert told["year"]["limits"]["sides"] == 1
    assert told["year"]["limits"]["high"] == pytest.approx(59.9146, abs=1e-4)
    month = told["months"][-1]
    assert (month["month"], month["nok"], month["from_concerns"], month["counted_by"]) == (
        "2020-01", 0, 35, "customer",
    )  # fmt: skip


def test_a_part_number_is_told_alone(desk, tmp_path, capsys):
    read(desk, table(tmp_path / "in", "month,part_number,delivered", "2020-01,A-1,50000"))
    capsys.readouterr()

    assert ppm(desk, "--stream", STREAM, "--part-number", "a-1", "--months", "1200") == 0

    assert "PPM of Washer-fluid reservoir, part number a-1" in capsys.readouterr().out


def test_without_deliveries_the_status_says_that_there_is_no_ppm(desk, tmp_path, capsys):
    assert ppm(desk) == 1
    assert "No deliveries are recorded yet, so there is no ppm." in capsys.readouterr().out

    empty = Desk(tmp_path / "empty")
    with empty.store:
        pass
    assert ppm(empty) == 1
    assert capsys.readouterr().out == "No deliveries and no concerns are recorded here yet.\n"
    assert ppm(empty, "--json") == 1
    assert json.loads(capsys.readouterr().out) == []


@pytest.mark.parametrize(
    "call",
    [("--target", "-1"), ("--target", "nan"), ("--target", "x"), ("--months", "0"), ("--months", "1201")],
)
def test_what_cannot_be_asked_is_refused_in_one_sentence(desk, capsys, call):
    with pytest.raises(SystemExit) as stopped:
        ppm(desk, *call)

    assert stopped.value.code == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_texts_from_outside_are_no_commands_of_the_terminal(tmp_path, capsys):
    desk = Desk(tmp_path)
    with desk.store:
        Deliverer(desk).month("2020-01", 5, part="\u202e=1+1<script>")

    assert ppm(desk, "--stream", STREAM, "--part-number", "\u202e=1+1<script>", "--months", "1200") == 0

    printed = capsys.readouterr().out
    assert "\u202e" not in printed
    assert "<U+202E>=1+1<script>" in printed
