"""The sheet of a concern as it is printed: read with pdfium, whatever its texts are."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import lru_cache

import pypdfium2
import pypdfium2.raw as pdfium_c
import pytest
from hypothesis import HealthCheck, given, settings
from PIL import Image

from tests.paper import sheets
from tests.paper.printed import faults_of, overlaps_of, pages_of, sticking_out_of
from walkapp.paper.drawing import Page, draw
from walkapp.paper.flow import Picture, Plot, Words
from walkapp.paper.sheet_content import SheetContent, SheetStage
from walkapp.paper.sheet_page import MARGIN, lay_out, picture_sheet, print_sheet
from walkapp.paper.sheet_text import FLOOR

A3_ACROSS = (1190.55, 841.89)


@lru_cache(maxsize=8)
def drawn(content: SheetContent) -> tuple[Page, bytes]:
    """Lay out and draw a sheet; the same one once for all tests."""
    page = lay_out(content)
    return page, draw([page], "made up")


def faults(content: SheetContent) -> list[str]:
    """List what is off the page, over something else, or smaller than the floor."""
    page, data = drawn(content)
    (seen,) = pages_of(data)
    plots = [mark for mark in page.marks if isinstance(mark, Plot)]
    # The lines of a figure lie under its texts on purpose; where its texts lie is looked at all the same.
    paths = tuple(
        path for path in seen.paths if not any(_inside(path, plot, seen.size[1]) for plot in plots)
    )
    small = [mark for mark in page.marks if isinstance(mark, Words) and mark.size < FLOOR]
    return [
        *faults_of(replace(seen, paths=paths)),
        *sticking_out_of(seen, MARGIN - 2),
        *(f"too small: {mark.text!r}" for mark in small),
    ]


def _inside(bounds, plot: Plot, height: float) -> bool:
    left, bottom, right, top = bounds
    slack = 1.5
    return (
        left >= plot.x - slack
        and right <= plot.x + plot.width + slack
        and top <= height - plot.y + slack
        and bottom >= height - plot.y - plot.height - slack
    )


def words_of(content: SheetContent) -> str:
    (seen,) = pages_of(drawn(content)[1])
    return " ".join(seen.text.split())


def sizes_of(data: bytes) -> set[float]:
    """Give the sizes of all letters on the page, as pdfium reads them."""
    document = pypdfium2.PdfDocument(data)
    try:
        words = document[0].get_textpage()
        return {
            round(pdfium_c.FPDFText_GetFontSize(words.raw, n), 2)
            for n in range(words.count_chars())
            if pdfium_c.FPDFText_GetUnicode(words.raw, n) > 32
        }
    finally:
        document.close()


def test_a_sheet_is_one_a3_page_on_its_side_whose_text_can_be_selected():
    (seen,) = pages_of(print_sheet(sheets.content()).data)

    assert seen.size == pytest.approx(A3_ACROSS, abs=0.01)
    for words in (
        "Cracked mounting ears (invented)",
        "Leak test (98 %)",
        "Did it work?",
        "PE-KL, due 2026-03-06",
    ):
        assert words in " ".join(seen.text.split())


@pytest.mark.parametrize(
    "content",
    [sheets.content(), sheets.empty(), sheets.endless(), sheets.of_stations(20), sheets.of_stations(1)],
    ids=["short", "empty", "endless", "twenty stations", "one station"],
)
def test_nothing_is_cut_off_or_lies_over_something_else(content):
    assert faults(content) == []


@pytest.mark.parametrize("many", [2, 9, 10, 13, 24, 60])
def test_any_number_of_stations_finds_room(many):
    assert faults(sheets.of_stations(many)) == []


@given(content=sheets.contents())
@settings(max_examples=5, deadline=None, suppress_health_check=list(HealthCheck))
def test_whatever_the_records_say_nothing_overflows(content):
    assert faults(content) == []


@pytest.mark.parametrize("content", [sheets.endless(), sheets.of_stations(20)])
def test_no_letter_is_smaller_than_the_floor_so_that_a4_can_be_read(content):
    smallest = min(sizes_of(drawn(content)[1]))

    assert smallest >= FLOOR - 0.01
    assert smallest * 0.707 >= 6


def test_short_texts_stand_in_larger_letters():
    few, many = (
        max(mark.size for mark in _body(content)) for content in (sheets.content(), sheets.endless())
    )

    assert few > many == FLOOR


def _body(content: SheetContent) -> list[Words]:
    """Give the texts of the entries of all parts."""
    return [
        mark
        for mark in drawn(content)[0].marks
        if isinstance(mark, Words) and ("overdue" in mark.text or "Entry" in mark.text)
    ]


def test_the_words_of_all_stages_stand_whole_in_letters_of_one_size():
    words = ("zabezpieczone", "przyczyna udowodniona", "nieprzeniesione na inne linie", "d", "e", "f")
    stages = tuple(SheetStage(word=word, is_reached=False, why="") for word in words)

    marks = drawn(sheets.content(stages=stages))[0].marks

    sizes = [mark.size for mark in marks if isinstance(mark, Words) and mark.text in words]
    assert len(sizes) == len(words) and len(set(sizes)) == 1
    assert sizes[0] < 12


def test_a_shortened_part_says_how_much_more_there_is():
    entries = [sheets.entry(f"Action {n} " + "that takes some words " * 6) for n in range(1, 61)]
    content = sheets.content(parts=(sheets.part("actions", *entries, left_out=140),))

    said = words_of(content)

    shown = {int(n) for n in re.findall(r"Action (\d+) ", said)}
    (more,) = re.findall(r"and (\d+) more \(in the store\)", said)
    assert shown == set(range(1, len(shown) + 1))
    assert len(shown) + int(more) == 200


def test_every_part_says_how_much_of_it_is_in_the_store_however_little_room_there_is():
    said = words_of(sheets.endless())

    counted = re.findall(r"and (\d+) more \(in the store\)|\(\+(\d+) in the store\)", said)

    # Sixty entries of each part are here, and 300 are not.
    assert len(counted) == len(sheets.PARTS)
    assert all(300 < int(one or other) <= 360 for one, other in counted)


def test_a_shortened_action_still_says_who_sees_to_it_and_until_when():
    entries = [
        sheets.entry(f"Action {n} " + "word " * 400, detail=(f"OW-{n:02}, due 2026-04-{n:02}", "more"))
        for n in range(1, 9)
    ]
    content = sheets.content(parts=(sheets.part("containment", *entries), sheets.part("actions", *entries)))

    said = words_of(content)

    for n in range(1, 9):
        assert f"OW-{n:02}, due 2026-04-{n:02}" in said
    assert "... (more in the store)" in said


def test_warnings_stand_on_the_sheet_in_full_however_long_the_rest_is():
    content = sheets.endless()

    said = words_of(content)

    for warning in content.warnings:
        assert " ".join(warning.split()) in said


def test_the_first_bad_station_is_marked_with_words():
    assert "3 first bad" in words_of(sheets.content())
    assert "5 most likely first bad" in words_of(sheets.of_stations(8))


def test_of_a_very_long_stream_the_stations_around_the_first_bad_one_are_drawn_and_the_rest_is_counted():
    said = words_of(sheets.of_stations(60))

    assert "Station 31" in said
    assert "Station 60" not in said
    assert re.search(r"NOK parts by station \(\d+ of 60 stations\)", said)
    assert "Stations that are not drawn here: 18 before these, 18 after them" in said


def test_a_picture_that_cannot_be_shown_says_so_in_its_place():
    said = words_of(
        sheets.content(pictures=(sheets.no_picture("Crack"), sheets.picture("OK limit sample")))
    )

    assert "Not on this tablet" in said
    assert "Crack" in said


def test_pictures_keep_their_sides_to_each_other():
    content = sheets.content(pictures=(sheets.picture(size=(300, 900)), sheets.picture(size=(900, 300))))

    shapes = [mark.height / mark.width for mark in drawn(content)[0].marks if isinstance(mark, Picture)]

    assert shapes == pytest.approx([3, 1 / 3])


def test_the_same_content_gives_the_same_bytes():
    content = sheets.content()

    assert print_sheet(content).data == print_sheet(content).data
    assert picture_sheet(content, dots=60).data == picture_sheet(content, dots=60).data


def test_the_picture_of_a_sheet_shows_the_whole_page():
    image = Image.open(io.BytesIO(picture_sheet(sheets.content(), dots=60).data))

    assert image.size == pytest.approx((992, 701), abs=1)
    assert image.convert("L").getextrema() == (0, 255)


def test_four_pictures_full_of_detail_keep_the_file_small():
    noise = sheets.jpeg(1000, 750, noise=True)
    pictures = [sheets.picture(f"Picture {n}", data=noise, width_px=1000, height_px=750) for n in range(4)]

    data = print_sheet(sheets.content(pictures=tuple(pictures))).data

    assert len(data) < 3_000_000


def test_letters_that_cannot_be_printed_stand_by_their_number():
    printed = print_sheet(sheets.content(title="中 cracked"))

    assert printed.has_numbers
    assert "<U+4E2D> cracked" in " ".join(pages_of(printed.data)[0].text.split())
    assert not print_sheet(sheets.content()).has_numbers


def test_texts_are_never_taken_for_formulas():
    assert "$\\frac{1}{2}$ <script>" in words_of(sheets.content(title="$\\frac{1}{2}$ <script>"))


def test_what_is_not_known_is_said_in_its_place():
    (seen,) = pages_of(print_sheet(sheets.empty()).data)

    said = " ".join(seen.text.split())

    assert "First bad station: cannot be worked out" in said
    assert "How to judge: not said" in said
    assert "No picture was taken in yet." in said
    assert overlaps_of(seen) == []
