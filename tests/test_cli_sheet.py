"""The call that prints the sheet of a concern: the file, what is missing, one sentence for each fault."""

from __future__ import annotations

import re

import pytest
from PIL import Image

from tests.fakes import CHECKLISTS, Desk
from tests.paper.printed import pages_of
from walkapp.cli import main


@pytest.fixture
def made(tmp_path):
    """Make a store with one concern; give its folder and the concern's id."""
    desk = Desk(tmp_path)
    with desk.store:
        concern = desk.concern()
    return tmp_path / "store", concern


def call(made, out, *more, concern=""):
    store, own = made
    return main(["sheet", "--store", str(store), "--concern", concern or own, *more, "--out", str(out)])


def test_the_call_writes_one_page_and_tells_what_is_missing(made, tmp_path, capsys):
    out = tmp_path / "sheet.pdf"

    assert call(made, out, "--checklists", str(CHECKLISTS)) == 0

    lines = capsys.readouterr().out.splitlines()
    assert re.fullmatch(rf"{re.escape(str(out))}: First bad station: not known yet; [\d,]+ bytes", lines[0])
    assert "Missing: No lesson is written down yet." in lines
    (page,) = pages_of(out.read_bytes())
    assert "Cracked mounting ears (invented)" in page.text
    assert "Store: Checked 1 entry, 0 pictures" in " ".join(page.text.split())


def test_the_name_of_the_file_says_that_a_png_is_wanted(made, tmp_path):
    out = tmp_path / "sheet.PNG"

    assert call(made, out, "--checklists", str(CHECKLISTS)) == 0

    with Image.open(out) as image:
        assert image.size == pytest.approx((2480, 1754), abs=1)


def test_without_checklists_the_sheet_is_made_and_says_what_cannot_be_worked_out(made, tmp_path, capsys):
    out = tmp_path / "sheet.pdf"

    assert call(made, out) == 0

    assert "First bad station: cannot be worked out" in capsys.readouterr().out
    (page,) = pages_of(out.read_bytes())
    assert "First bad station: cannot be worked out" in " ".join(page.text.split())


@pytest.mark.parametrize(
    ("name", "concern", "told"),
    [
        ("sheet.txt", "", "choose a name that ends in .pdf or .png"),
        ("sheet", "", "choose a name that ends in .pdf or .png"),
        ("nowhere/sheet.pdf", "", "there is no such folder; make it"),
        ("sheet.pdf", "no-such-concern", "There is no concern 'no-such-concern' in this store"),
        ("taken.pdf", "", "is there already and is no PDF; choose another name"),
    ],
)
def test_what_is_wrong_is_one_sentence_and_nothing_is_written(made, tmp_path, capsys, name, concern, told):
    (tmp_path / "taken.pdf").write_text("a checklist", encoding="utf-8")

    assert call(made, tmp_path / name, concern=concern) == 2

    said = capsys.readouterr().err
    assert told in said
    assert said.count("\n") == 1
    assert {one.name for one in tmp_path.iterdir()} == {"store", "taken.pdf"}
    assert (tmp_path / "taken.pdf").read_text(encoding="utf-8") == "a checklist"


def test_the_same_records_on_the_same_day_give_the_same_file(made, tmp_path):
    for name in ("one.pdf", "two.pdf"):
        assert call(made, tmp_path / name, "--checklists", str(CHECKLISTS)) == 0

    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()
