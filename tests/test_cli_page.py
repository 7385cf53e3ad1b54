"""'walkapp summary --html' as a person at a terminal meets it."""

from __future__ import annotations

import pytest

from tests.fakes import CHECKLISTS, Desk
from tests.test_cli import files_of, the_one_sentence
from walkapp.cli import main


@pytest.fixture
def store(tmp_path):
    """A store with two concerns; gives its folder and the ids."""
    desk = Desk(tmp_path)
    with desk.store:
        ids = desk.concern(), desk.concern(what="Pump rattles (invented)", severity="safety")
    return tmp_path / "store", *ids


def test_the_page_is_written_and_the_call_says_what_it_has_and_what_to_mind(store, tmp_path, capsys):
    folder, first, _ = store
    before, out = files_of(folder), tmp_path / "page.html"

    assert (
        main(["summary", "--store", str(folder), "--html", str(out), "--checklists", str(CHECKLISTS)]) == 0
    )

    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith(f"{out}: 2 concerns, 0 pictures, 2 figures, ")
    assert lines[1].startswith("Mind: Pump rattles (invented): Safety or regulatory class, and nobody has")
    data = out.read_bytes().decode()
    assert "2 entries, 0 pictures, 0 checklists: nothing is damaged or missing." in data
    assert first in data
    assert files_of(folder) == before


def test_one_concern_is_chosen_for_the_page_and_for_the_words(store, tmp_path, capsys):
    folder, first, second = store
    out = tmp_path / "page.html"

    assert main(["summary", "--store", str(folder), "--concern", first, "--html", str(out)]) == 0
    assert capsys.readouterr().out.startswith(f"{out}: 1 concern, ")
    assert second not in out.read_bytes().decode()
    main(["summary", "--store", str(folder), "--concern", second])

    told = capsys.readouterr().out
    assert "Pump rattles" in told
    assert "Cracked" not in told


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        (("--html", "page.pdf"), "choose a name that ends in .html"),
        (("--html", "no-folder/page.html"), "there is no such folder"),
        (("--html", "page.html", "--concern", "x"), "There is no concern 'x' in this store"),
        (("--concern", "x"), "There is no concern 'x' in this store"),
    ],
)  # fmt: skip
def test_what_cannot_be_written_is_said_in_one_sentence(
    store, more, sentence, tmp_path, monkeypatch, capsys
):
    monkeypatch.chdir(tmp_path)

    assert main(["summary", "--store", str(store[0]), *more]) == 2

    assert sentence in the_one_sentence(capsys)
    assert not (tmp_path / "page.html").exists()


def test_a_bundle_has_to_be_merged_first(tmp_path, capsys):
    assert main(["summary", str(tmp_path / "walk.zip"), "--html", str(tmp_path / "page.html")]) == 2

    assert "merge the bundle into one" in the_one_sentence(capsys)
