"""The call that draws figures, as it is typed."""

from __future__ import annotations

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from walkapp.cli.commands import main


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A store with one concern; gives its folder and the concern's id."""
    folder = tmp_path_factory.mktemp("figure")
    desk = Desk(folder)
    with desk.store:
        floor = Floor(desk)
        floor.count()
        floor.lots()
    return folder / "store", floor.route.concern


def call(kept, *more):
    return main(["figure", "--store", str(kept[0]), *map(str, more)])


def test_one_figure_goes_into_the_file_that_is_named(kept, tmp_path, capsys):
    out = tmp_path / "shares.svg"
    assert call(kept, "--concern", kept[1], "--figure", "share-by-station", "--out", out) == 0
    assert out.read_bytes().startswith(b"<?xml")
    assert capsys.readouterr().out.startswith(f"{out}: NOK parts by station; the first bad station is")


def test_all_figures_go_into_a_folder_and_what_is_missing_is_said(kept, tmp_path, capsys):
    assert call(kept, "--concern", kept[1], "--out", tmp_path / "all") == 0
    names = sorted(path.name for path in (tmp_path / "all").iterdir())
    assert names == [
        "defects-over-time.png", "p-chart.png", "pareto-by-station.png", "share-by-station.png",
    ]  # fmt: skip
    told = capsys.readouterr().out
    assert "Not drawn: measured-by-station: no characteristic was measured yet." in told
    assert "Not drawn: action-ageing: no action is recorded yet." in told


def test_a_kind_that_is_named_twice_is_written_once(kept, tmp_path, capsys):
    kind = ("--figure", "pareto-by-defect")
    assert call(kept, "--stream", "washer-reservoir", *kind, *kind, "--out", tmp_path / "one.svg") == 0
    assert [path.name for path in tmp_path.iterdir()] == ["one.svg"]
    assert capsys.readouterr().out.count("\n") == 1


def test_those_of_a_stream_go_beside_each_other(kept, tmp_path):
    said = ("--stream", "washer-reservoir", "--figure", "pareto-by-station", "--figure", "pareto-by-defect")
    assert call(kept, *said, "--out", tmp_path / "s.pdf") == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "s-pareto-by-defect.pdf", "s-pareto-by-station.pdf",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--stream", "nope", "--out", "x.png"), "There is nothing of a value stream 'nope' here"),
        (("--concern", "nope", "--out", "x.png"), "There is no concern 'nope' in this store"),
        (
            ("--stream", "washer-reservoir", "--figure", "pie", "--out", "x.png"),
            "There is no figure 'pie'; name one of: pareto-by-station, pareto-by-defect",
        ),
        (
            ("--stream", "washer-reservoir", "--out", "x.doc"),
            "x.doc: a name that ends in .pdf, .png or .svg",
        ),
        (
            ("--stream", "washer-reservoir", "--figure", "action-ageing", "--out", "x.png"),
            "No figure can be drawn of these records yet: action-ageing: no action is recorded yet.",
        ),
        (
            ("--stream", "washer-reservoir", "--figure", "pareto-by-defect", "--out", "no/where/x.png"),
            "no/where/x.png: cannot be written: the folder is not there",
        ),
    ],
)
def test_what_is_wrong_is_one_sentence_and_writes_nothing(kept, tmp_path, monkeypatch, capsys, more, said):
    monkeypatch.chdir(tmp_path)
    assert call(kept, *more) == 2
    error = capsys.readouterr().err
    assert error.startswith(said) and error.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_neither_concern_nor_stream_is_refused(kept, tmp_path, capsys):
    with pytest.raises(SystemExit) as stopped:
        call(kept, "--out", tmp_path / "x.png")
    assert stopped.value.code == 2
    assert "one of the arguments --concern --stream is required" in capsys.readouterr().err
