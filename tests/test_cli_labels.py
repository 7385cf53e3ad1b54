"""The call that prints labels of stations."""

from __future__ import annotations

from tests.paper.printed import pages_of
from walkapp.cli import main


def test_the_call_tells_the_file_and_for_what_distance_it_is_made(tmp_path, capsys):
    out = tmp_path / "labels.pdf"

    assert main(["labels", "--stream", "washer-reservoir", "--out", str(out)]) == 0

    told = capsys.readouterr()
    assert told.err == ""
    assert told.out.startswith(f"{out}: 8 labels, 2 pages\n")
    assert "0.6 m" in told.out
    assert "Leak test" in pages_of(out.read_bytes())[0].text


def test_a_stream_that_is_not_there_is_told_with_those_that_are(tmp_path, capsys):
    out = tmp_path / "labels.pdf"

    assert main(["labels", "--stream", "gone", "--out", str(out)]) == 2

    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "pump-bracket, washer-reservoir" in said
    assert not out.exists()


def test_nothing_is_written_over_something_else(tmp_path, capsys):
    out = tmp_path / "notes.pdf"
    out.write_text("mine", encoding="utf-8")

    assert main(["labels", "--stream", "washer-reservoir", "--out", str(out)]) == 2

    assert capsys.readouterr().err.count("\n") == 1
    assert out.read_text(encoding="utf-8") == "mine"
