"""Printed audits as pdfium reads them: all is there, in order, on the page, and nothing overlaps."""

from __future__ import annotations

import hashlib
import logging
import os
import re
import subprocess
import sys
from pathlib import Path

import matplotlib as mpl
import pypdfium2
import pypdfium2.raw as pdfium_c
import pytest
from hypothesis import Phase, given, settings

from tests.paper.papers import CYRILLIC, GERMAN, GREEK, POLISH, endless, made_up, paper, question, station
from tests.paper.printed import faults_of, pages_of
from walkapp.paper.audit_page import print_audits
from walkapp.paper.drawing import letters_of, printable

REPOSITORY = Path(__file__).parents[2]


def text_of(data: bytes) -> str:
    """Give all text of a PDF with its lines joined."""
    return " ".join(" ".join(page.text.split()) for page in pages_of(data))


@pytest.fixture(scope="module")
def long_paper():
    return print_audits([endless()])


def test_an_endless_audit_has_all_its_questions_in_order_on_numbered_pages(long_paper):
    pages = pages_of(long_paper.data)

    assert len(pages) == long_paper.pages[0] > 10
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page.text
        assert "W" * 40 in page.text
    numbers = [
        int(text)
        for page in pages
        for text, bounds in page.lines
        if bounds[0] < 56 and re.fullmatch(r"\d+", text.strip())
    ]
    assert numbers == list(range(1, 61))


def test_nothing_of_an_endless_audit_is_off_the_page_or_over_something_else(long_paper):
    for page in pages_of(long_paper.data):
        assert faults_of(page) == []


def test_the_witness_finds_what_is_off_the_page_or_over_something_else():
    from walkapp.paper.drawing import A4, Page, draw
    from walkapp.paper.flow import Rule, Words

    marks = (
        Words(x=50, y=100, text="one text", size=10),
        Words(x=60, y=104, text="another", size=10),
        Words(x=560, y=300, text="too far to the right", size=10),
        Words(x=50, y=500, text="crossed out", size=10),
        Rule(x=40, y=497, length=80),
    )

    (seen,) = pages_of(draw([Page(width=A4[0], height=A4[1], marks=marks)], "bad"))

    assert {fault.partition(":")[0] for fault in faults_of(seen)} == {
        "off the page",
        "over each other",
        "crossed",
    }


# A failing example is shown as it was drawn up: to make it smaller takes hundreds of drawings.
@settings(max_examples=6, deadline=None, phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(made_up())
def test_whatever_the_texts_are_nothing_is_cut_off_or_overlaps(described):
    pages = pages_of(print_audits([described]).data)

    assert [fault for page in pages for fault in faults_of(page)] == []
    found = letters("".join(page.text for page in pages))
    for here in described.stations:
        for asked in here.questions:
            assert letters(printable(asked.how)) in found


def letters(text: str) -> str:
    """Keep letters and digits: a hyphen at the end of a line is taken for that of a broken word."""
    return re.sub(r"\W", "", text)


@pytest.mark.parametrize("words", [POLISH, GERMAN, GREEK, CYRILLIC, "$a_1$ \\alpha {b}^2 office flow"])
def test_letters_of_many_languages_and_signs_of_formulas_can_be_copied(words):
    printed = print_audits([paper(station(questions=[question(ask=words)]))])

    assert words in text_of(printed.data)
    assert not printed.has_numbers


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ("中文", "<U+4E2D><U+6587>"),
        ("a\u202eb", "a<U+202E>b"),
        ("אב", "<U+05D0><U+05D1>"),
        ("😀", "<U+1F600>"),
    ],
)
def test_a_letter_that_cannot_be_printed_stands_by_its_number_and_that_is_told(words, shown):
    printed = print_audits([paper(station(questions=[question(ask=words)]))])

    assert shown in text_of(printed.data)
    assert printed.has_numbers


@given(made_up())
@settings(max_examples=10, deadline=None)
def test_every_letter_that_is_printed_has_a_sign_in_both_cuts(described):
    for text in (described.title, described.which, *described.cautions):
        assert all(letters_of(bold).has(letter) for letter in printable(text) for bold in (False, True))


def test_letters_without_a_sign_would_be_found():
    assert not letters_of(False).has("中")
    assert letters_of(True).has("ż")


def test_a_page_names_the_hazards_before_the_questions_and_cautions_before_all():
    text = text_of(print_audits([paper()]).data)

    order = ["Keep to the walkways.", "Moulding", "Hot parts.", "Guards closed?", "Role and initials"]
    assert [text.index(words) for words in order] == sorted(text.index(words) for words in order)


def test_the_heading_of_a_station_stands_again_where_its_questions_go_on():
    printed = print_audits([paper(station(questions=[question(number=n + 1) for n in range(12)]))])

    first, second, *_ = pages_of(printed.data)
    assert "Moulding, continued" not in first.text
    assert "Moulding, continued" in second.text and "Hot parts." in second.text


def test_hazards_too_long_to_stand_again_are_pointed_to():
    many = [question(number=n + 1) for n in range(12)]
    printed = print_audits([paper(station(hazards=("Clamps close with force. " * 8,) * 5, questions=many))])

    last = pages_of(printed.data)[-1].text
    assert "What can hurt here stands on a page before this one" in last


def test_several_audits_begin_on_pages_of_their_own_and_are_numbered_apart():
    printed = print_audits([paper(which="Early"), paper(which="Late")])

    pages = pages_of(printed.data)
    assert printed.pages == (1, 1)
    assert ["Early" in page.text for page in pages] == [True, False]
    assert all("page 1 of 1" in page.text for page in pages)


def test_no_letter_is_smaller_than_nine_points(long_paper):
    document = pypdfium2.PdfDocument(long_paper.data)
    sizes = set()
    for page in document:
        for thing in page.get_objects(filter=[pdfium_c.FPDF_PAGEOBJ_TEXT]):
            size = pdfium_c.c_float()
            assert pdfium_c.FPDFTextObj_GetFontSize(thing, size)
            sizes.add(round(size.value, 2))
    document.close()

    assert min(sizes) >= 9


def test_everything_is_black_on_white():
    document = pypdfium2.PdfDocument(print_audits([paper()]).data)
    image = document[0].render(scale=1).to_pil().convert("RGB")
    document.close()

    assert all(red == green == blue for _, (red, green, blue) in image.getcolors(maxcolors=100_000))


def test_the_same_audit_gives_the_same_bytes_in_another_process_too():
    program = (
        "import hashlib, sys\n"
        "from tests.paper.papers import endless, paper\n"
        "from walkapp.paper.audit_page import print_audits\n"
        "print(hashlib.sha256(print_audits([paper(*endless().stations[:1])]).data).hexdigest())\n"
    )
    described = paper(*endless().stations[:1])
    here = hashlib.sha256(print_audits([described]).data).hexdigest()

    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=REPOSITORY, capture_output=True, text=True, timeout=120, check=True,
        env={**os.environ, "PYTHONPATH": str(REPOSITORY), "PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"},
    )  # fmt: skip

    assert done.stdout.strip() == here
    assert hashlib.sha256(print_audits([described]).data).hexdigest() == here


def test_drawing_changes_nothing_of_the_library_and_heeds_no_settings_of_other_plots():
    plain = print_audits([paper()]).data
    with mpl.rc_context({"text.usetex": True, "pdf.fonttype": 3, "font.size": 40, "lines.linewidth": 9}):
        before, level = dict(mpl.rcParams), logging.getLogger("matplotlib").level

        drawn = print_audits([paper()]).data

        assert dict(mpl.rcParams) == before
        assert logging.getLogger("matplotlib").level == level
    assert drawn == plain


def test_the_first_page_ever_drawn_tells_nothing_on_standard_error(tmp_path):
    locked = tmp_path / "locked"
    locked.write_text("a file where a folder is wanted", encoding="utf-8")
    program = (
        "import sys\n"
        "from tests.paper.papers import paper\n"
        "from walkapp.paper.audit_page import print_audits\n"
        "print_audits([paper()])\n"
        "sys.exit('pyplot' if 'matplotlib.pyplot' in sys.modules else 0)\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=REPOSITORY, capture_output=True, text=True, timeout=120,
        env={**os.environ, "PYTHONPATH": str(REPOSITORY), "MPLCONFIGDIR": str(locked)},
    )  # fmt: skip

    assert (done.returncode, done.stderr, done.stdout) == (0, "", "")
