"""What is said of the demo's records in a terminal, on paper and in figures all comes from the catalogues.

The roll-up is left out: it shows the names of tables and columns, which are the same in every language.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from html import unescape
from itertools import combinations
from pathlib import Path
from unittest.mock import patch

import pytest

from tests.fakes import CHECKLISTS
from tests.languages.disguise import bare_figures, bare_words, disguise, of_people
from walkapp.actions.figures.catalogue import OF_A_CONCERN, OF_A_STREAM
from walkapp.checklists import load_streams
from walkapp.cli import main
from walkapp.cli.parser import BAD_INPUT
from walkapp.demo.tablets import SCENARIO, read_scenario
from walkapp.language import day_said, decimal_text, tr
from walkapp.languages import LANGUAGES

STREAM = "washer-reservoir"

# Letters of factors, and of their effects together.
EFFECTS = {"".join(chosen) for size in (2, 3) for chosen in combinations("ABC", size)}

STUBS = {
    "pdf": b"%PDF-1.4\n",
    "png": b"\x89PNG\r\n\x1a\n",
    "svg": b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"/>',
}


def keys() -> list[str]:
    """Names that stand in files and calls and are the same in every language, the longest first."""
    found = {*OF_A_CONCERN, *OF_A_STREAM, "Europe/Berlin", *(f"{code}.toml" for code in LANGUAGES)}
    for stream in load_streams(CHECKLISTS):
        found |= {stream.id, *(station.id for station in stream.stations)}
        found |= {check.id for station in stream.stations for check in station.checks}
        found |= {layer.id for layer in stream.audits.layers} if stream.audits else set()
    return sorted(found, key=lambda key: -len(key))


class Teller:
    """Runs calls of the command and keeps what they print, and the texts of what they draw."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.desk, self.folder, self._capsys = folder / "desk", folder, capsys
        self._keys = re.compile("|".join(rf"(?<![\w-]){re.escape(key)}(?![\w-])" for key in keys()))
        self.drawn: list[str] = []

    def __call__(self, *arguments: str | Path) -> list[str]:
        """Give the lines of one call; those that are drawn are in `drawn`."""
        status = main([str(argument) for argument in arguments])
        told = self._capsys.readouterr()
        # A call that only says what is wrong with it says too little to be looked at.
        assert status != BAD_INPUT, told.err
        return [*told.out.splitlines(), *told.err.splitlines()]

    def bare(self, lines: list[str]) -> list[tuple[list[str], str]]:
        """Give the lines with words that came from no catalogue and from nobody, or with days and decimals
        as records hold them.
        """
        found = []
        for line in lines:
            left = re.sub(rf"{re.escape(str(self.folder))}\S*|station:\S+", "", unescape(line))
            figures = bare_figures(left)
            # Ids and digests: hexadecimal digits.
            left = re.sub(r"\b[0-9a-f]{4,}(-[0-9a-f]{4,})*\b", "", left)
            words = [word for word in bare_words(self._keys.sub("", left)) if word not in EFFECTS]
            if words or figures:
                found.append(([*words, *figures], line))
        return found


@pytest.fixture
def teller(tmp_path, played_demo, capsys) -> Iterator[Teller]:
    from matplotlib.figure import Figure
    from matplotlib.text import Text

    played_demo(tmp_path, with_audits=True)
    capsys.readouterr()
    made = Teller(tmp_path, capsys)

    def keep_texts(self: Figure, out, *, format: str = "pdf", **options: object) -> None:
        made.drawn += [text.get_text() for text in self.findobj(Text) if text.get_visible()]
        if hasattr(out, "write"):
            out.write(STUBS[format])

    last: datetime = read_scenario("-fix")["until"]
    with (
        disguise(),
        patch.object(Figure, "savefig", keep_texts),
        patch("matplotlib.backends.backend_pdf.PdfPages.savefig", lambda self, page: page.savefig(None)),
        patch("walkapp.cli.records.now", lambda: last),
    ):
        yield made


def test_the_calls_say_nothing_that_no_catalogue_knows(teller):
    counts, deliveries = teller.folder / "counts.csv", teller.folder / "deliveries.csv"
    counts.write_text("station,checked,nok\n1,20,0\n2,20,3\n3,10,5\n")
    deliveries.write_text("month,delivered\n2026-01,1000\n2026-02,1200\n")
    desk, new = teller.desk, teller.folder / "new"
    store = ("--store", desk)
    calls: list[tuple[str | Path, ...]] = [
        ("summary", *store, "--checklists", CHECKLISTS),
        ("summary", *store),
        ("summary", teller.folder / f"{SCENARIO}.zip"),
        *(("due", *store, "--on", day) for day in ("2026-03-02", "2026-03-20", "2026-04-01", "2026-03-22")),
        ("audits", *store),
        ("audits", *store, "--from", "2026-02-01", "--to", "2026-03-10"),
        ("search", *store, of_people("crack")),
        ("search", *store, "2026"),
        ("keys", *store),
        ("check", *store),
        ("ppm", *store),
        ("ppm", *store, "--target", "50", "--stream", STREAM),
        ("indicators", *store),
        ("validate",),
        ("locate", counts),
        ("bundle", *store, "--out", teller.folder / "all.zip"),
        ("merge", "--store", new, *(teller.folder / f"tablet-{number}.zip" for number in (1, 2, 3, 4))),
        ("merge", "--store", new, teller.folder / "all.zip"),
        ("deliveries", *store, "--stream", STREAM, "--dry-run", deliveries),
    ]
    told = {" ".join(map(str, call)): teller(*call) for call in calls}

    assert all(told.values())
    assert sum(map(len, told.values())) > 400
    assert [found for lines in told.values() for found in teller.bare(lines)] == []


def test_paper_and_figures_say_nothing_that_no_catalogue_knows(teller):
    store = ("--store", teller.desk)
    concern = re.search("[0-9a-f]{8}-[0-9a-f-]{27}", " ".join(teller("summary", *store))).group()
    out = teller.folder / "out"
    lines = [
        *teller("sheet", *store, "--concern", concern, "--checklists", CHECKLISTS, "--out", f"{out}.pdf"),
        *teller("figure", *store, "--stream", STREAM, "--out", out),
        *teller("labels", "--stream", STREAM, "--out", teller.folder / "labels.pdf"),
        *teller(
            "paper", *store, "--on", "2026-03-30", "--layer", "shift-lead", "--out", teller.folder / "p.pdf"
        ),
        *teller("summary", *store, "--html", teller.folder / "page.html", "--checklists", CHECKLISTS),
    ]
    page = (teller.folder / "page.html").read_text(encoding="utf-8")
    body = re.sub(r"<style>.*?</style>", "", page[page.index("<body") :], flags=re.S)
    # What a reader sees or hears: text, and the texts of attributes.
    shown = [
        *re.findall(r">([^<>]+)<", body),
        *re.findall(r'(?:alt|aria-label|data-label)="([^"]*)"', body),
    ]

    assert (len(teller.drawn) > 400, len(shown) > 200) == (True, True)
    assert teller.bare([*lines, *teller.drawn, *shown]) == []


def test_a_word_that_no_catalogue_knows_is_seen(teller):
    """The tests above can fail: for a bare word, one put into a text, one made small or large, and for a
    figure as a record holds it.
    """

    def planted(words: str) -> list[list[str]]:
        """Let the check of the store say these words, and give what is found bare in the call."""
        with patch("walkapp.cli.records.check_lines", lambda report: [words]):
            return [found for found, _ in teller.bare(teller("check", "--store", teller.desk))]

    assert planted(tr("Nothing found.")) == []
    assert planted(of_people("Moulding")) == []
    assert planted("4 entries") == [["entries"]]
    assert planted(tr("Checked {looked_at}: nothing is damaged or missing.", looked_at="entries")) == [
        ["entries"]
    ]
    assert planted(tr("Nothing found.").lower()) != []
    assert planted(tr("overdue").capitalize()) != []
    assert planted(tr("until {due_on}", due_on="2026-03-09")) == [["2026-03-09"]]
    assert planted(f"{of_people('Torque')}: 12.5") == [["12.5"]]
    assert planted(tr("until {due_on}", due_on=day_said("2026-03-09"))) == []
    assert planted(f"{of_people('Torque')}: {decimal_text('12.5')}") == []
