"""Every figure stays inside its area, whatever it says; read back by pdfium and by its pixels."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.paper.figures import (
    WORDS,
    faults_on_paper,
    ink_at_the_border,
    many_stations,
    picture_of,
    share_row,
    shares,
    words_on_paper,
)
from walkapp.paper.figures import Area, as_pdf, as_png, as_svg, plot_in, style
from walkapp.paper.library import drawing_settings

HOSTILE = "=1+1 <script>alert(1)</script> $\\frac{1}{0}$ --> مرحبا 中文 \x07 " + "long" * 50
FOUR = shares(
    share_row("Moulding", 20, 0, "clean", 0.01),
    share_row("Hot-plate welding of the upper and the lower half", 20, 1, "undecided", 0.07),
    share_row("Leak test", 20, 12, "bad", 0.92),
    share_row("Packing", 0, 0, "not_visited", 0.0),
    title="NOK parts by station; the first bad station is most likely Leak test (92 %)",
)


@pytest.mark.parametrize("size", [(842, 595), (300, 230), (120, 400), (70, 50)])
@pytest.mark.parametrize(
    "figure",
    [
        many_stations(40, "Station with a name that no page is wide enough for, number"),
        shares(share_row(HOSTILE), title=HOSTILE * 4, notes=(HOSTILE,) * 6),
    ],
    ids=["forty stations", "hostile texts"],
)
def test_nothing_is_off_the_page_and_no_text_lies_over_another(figure, size):
    assert faults_on_paper(figure, *size) == []


TEXTS = st.text(st.characters(codec="utf-8"), max_size=60) | st.sampled_from(["", "W" * 200, "i " * 400])


@settings(max_examples=8)
@given(
    names=st.lists(TEXTS, min_size=1, max_size=15),
    title=TEXTS,
    notes=st.lists(TEXTS, max_size=5),
    width=st.integers(1, 900),
    height=st.integers(1, 600),
)
def test_any_texts_in_any_area_stay_inside_it(names, title, notes, width, height):
    figure = shares(*map(share_row, names), title=title, notes=tuple(notes))
    picture = picture_of(figure, width, height)
    assert picture.size == (width, height)
    assert ink_at_the_border(picture) == 0


def test_letters_get_smaller_before_anything_is_cut():
    said = words_on_paper(many_stations(30), 420, 300)
    assert all(f"Station {number}" in said for number in range(1, 31))
    assert "..." not in said


def test_what_is_too_long_ends_in_three_dots():
    figure = shares(share_row(), title="reservoirs with a crack " * 60, notes=("counted twice " * 90,))
    said = words_on_paper(figure, 300, 220)
    assert said.count("...") == 2
    assert "reservoirs with a crack" in said
    assert "Leak test" in said


def test_the_name_of_the_first_bad_station_stays_where_others_have_no_room():
    said = words_on_paper(many_stations(40), 220, 120)
    assert "Station 21" in said
    assert said.count("Station") < 40


def test_nothing_counted_at_all_is_said_and_not_drawn():
    rows = [share_row(f"Station {n}", 0, 0, "not_visited", 1 / 24) for n in range(24)]
    figure = shares(*rows, notes=("n = 0 parts checked.",))
    said = words_on_paper(figure)
    assert said.count("not visited") == 24
    assert "n = 0 parts checked." in said
    empty = picture_of(figure, 560, 400)
    assert style.RED not in colours_of(empty)


def test_formulas_and_foreign_letters_are_shown_as_they_are():
    said = words_on_paper(shares(share_row("$x^2$ <b>"), title="100 % & $\\frac$ \u202eabc"), 600, 300)
    assert "$x^2$ <b>" in said
    assert "100 % & $\\frac$ <U+202E>abc" in said


@pytest.mark.parametrize("draw", [as_pdf, as_svg], ids=["PDF", "SVG"])
def test_the_same_figure_gives_the_same_bytes(draw):
    first = draw(FOUR, width=500, height=300)
    as_png(many_stations(3), width=300, height=200)
    assert draw(FOUR, width=500, height=300) == first


def test_an_svg_holds_no_script_and_fetches_nothing():
    text = as_svg(shares(share_row(HOSTILE), title=HOSTILE), width=500, height=300)
    root = ET.fromstring(text)
    links = [
        value
        for element in root.iter()
        for name, value in element.attrib.items()
        if name.endswith(("href", "src")) and not value.startswith("#")
    ]
    kinds = {element.tag.rpartition("}")[2] for element in root.iter()}
    assert links == []
    assert not kinds & {"script", "image", "foreignObject", "a"}
    assert not re.search(r"url\((?!#)", text)


def test_several_figures_share_a_page_without_touching():
    with drawing_settings():
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure as Canvas

        canvas = Canvas(figsize=(10, 5), dpi=72, facecolor="white")
        FigureCanvasAgg(canvas)
        for left in (10, 370):
            plot_in(FOUR, canvas, Area(left=left, bottom=10, width=340, height=340))
        canvas.canvas.draw()
        page = Image.frombytes("RGBA", (720, 360), bytes(canvas.canvas.buffer_rgba())).convert("L")
    assert page.crop((352, 0, 368, 360)).getextrema() == (255, 255)


def test_every_state_has_a_shape_a_filling_and_a_word_of_its_own():
    shapes = [style.MARKERS[state]["marker"] for state in WORDS]
    fillings = [style.HATCHES[state] for state in WORDS]
    assert len(set(shapes)) == len(set(fillings)) == len(set(WORDS.values())) == 4
    said = words_on_paper(FOUR)
    assert all(word in said for word in WORDS.values())


def test_the_states_look_different_without_colour():
    looks = {picture_of(shares(share_row(state=state))).convert("1").tobytes() for state in WORDS}
    assert len(looks) == 4


@pytest.mark.parametrize("name", ["INK", "FAINT", "BLUE", "RED"])
def test_colours_can_be_read_on_white(name):
    # Relative luminance and contrast: Web Content Accessibility Guidelines 2.1, "contrast ratio" (4.5:1
    # is its level AA for text), from memory.
    code = getattr(style, name)
    channels = [int(code[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    assert 1.05 / (luminance + 0.05) >= 4.5


def colours_of(picture):
    return {f"#{r:02x}{g:02x}{b:02x}" for _, (r, g, b) in picture.convert("RGB").getcolors(1 << 24)}
