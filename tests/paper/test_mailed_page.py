"""The page to be mailed: what it says and in which order, whatever its texts are."""

from __future__ import annotations

import base64
import io
import re
from dataclasses import dataclass
from itertools import pairwise

from hypothesis import example, given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.paper import sheets
from tests.paper.figures import share_row, shares
from tests.paper.mailed_pages import HOSTILE, Read, concern, dispute, page, texts, with_texts
from walkapp.paper.mailed.markup import Markup, element, joined, shown
from walkapp.paper.mailed.page import POLICY, as_html
from walkapp.paper.mailed.style import EDGE, INK, PAPER, TINTS
from walkapp.paper.sheet_content import SheetGap
from walkapp.visible import visible


def read(*concerns, **more) -> Read:
    return Read(as_html(page(*concerns, **more)))


def said(one: Read) -> str:
    return " ".join(" ".join(one.texts).split())


def several(*some):
    """Give examples that are tried whatever else is made up."""

    def decorate(test):
        for text in some:
            test = example(text=text)(test)
        return test

    return decorate


# texts


@settings(max_examples=60)
@given(text=st.text())
def test_any_text_comes_out_as_it_is_seen_and_never_as_markup(text):
    inside = Read(element("p", text).code.encode("utf-8"))
    around = Read(element("img", alt=text).code.encode("utf-8"))

    assert inside.structure == [("p",), ("/p",)]
    assert "".join(piece for _, piece in inside.pieces) == visible(text, keep="\n")
    assert around.structure == [("img", "alt")]
    assert around.values[0][2] == visible(text, keep="\n")


def test_markup_is_put_together_from_markup_and_texts():
    assert joined(Markup("<b>x</b>"), "<b>y</b>").code == "<b>x</b>&lt;b&gt;y&lt;/b&gt;"


BARE = page(
    concern(
        sheets.content(
            warnings=("A warning",),
            pictures=(sheets.picture(), sheets.no_picture()),
            pictures_note="2 more pictures.",
            parts=tuple(sheets.part(name, sheets.entry(), left_out=3) for name in sheets.PARTS),
        ),
        figures=(),
        figures_note=("No figure.",),
        disputes=(dispute("3 of 20 NOK", "4 of 20 NOK", left_out=1),),
        disputes_left_out=2,
    ),
    concern(sheets.empty()),
    warnings=("A warning for all",),
    left_out=("Something.",),
)
"""Every part of a page but its figures."""


PLAIN = Read(as_html(with_texts(BARE, lambda _: "x: y")))


@settings(max_examples=40)
@given(text=texts)
@several(*HOSTILE)
def test_texts_from_outside_change_nothing_but_the_texts(text):
    # The "x: " is the one thing that has a meaning in a text: a label before a colon has a cell of its own.
    seen = Read(as_html(with_texts(BARE, lambda _: f"x: {text}")))

    assert seen.structure == PLAIN.structure
    assert visible(f"x: {text}", keep="\n") in seen.texts
    assert visible(text, keep="\n") in {piece for _, piece in seen.pieces}
    assert all(shown(one) == one for one in seen.texts)
    assert seen.comments == []


def test_nothing_in_a_page_can_run_or_fetch():
    hostile = with_texts(BARE, lambda _: HOSTILE[0] + HOSTILE[1] + HOSTILE[8])
    rows = [share_row(text, 20, 3, "bad", 0.1) for text in HOSTILE[:11]]
    first = hostile.concerns[0]
    seen = read(concern(first.content, figures=(shares(*rows),), stations=first.stations))

    tags = {tag for tag, *_ in seen.structure}
    assert tags.isdisjoint(
        {"script", "link", "iframe", "object", "embed", "form", "base", "image", "style/"}
    )
    assert not [name for _, name, _ in seen.values if name.startswith("on")]
    addresses = [value for _, name, value in seen.values if name in ("href", "src", "xlink:href", "action")]
    assert addresses
    assert all(one.startswith(("#", "data:image/jpeg;base64,")) for one in addresses)
    assert ("meta", "content", POLICY) in seen.values
    styles = [value for _, name, value in seen.values if name == "style"]
    styles += [text for tag, text in seen.pieces if tag == "style"]
    fetched = [one for one in styles for target in re.findall(r"url\(([^)]*)", one) if target[:1] != "#"]
    assert fetched == []
    assert not any("@import" in one for one in styles)


def test_a_title_that_is_markup_stays_a_title():
    seen = read(title="</title><script>x</script>")

    assert ("title", "</title><script>x</script>") in seen.pieces
    assert ("h1", "</title><script>x</script>") in seen.pieces


# order and content


def test_the_page_tells_the_warning_and_the_answer_before_all_else():
    one = concern(sheets.content(warnings=("Safety or regulatory: nobody has recorded who was told.",)))

    told = said(read(one))

    order = (
        "Cracked mounting ears (invented)", "Made on", "Caution: Safety or regulatory",
        "First bad station: Leak test (98 %)", "What is the problem?", "Where does it start?",
        "How sure is that?", "What was seen?", "What causes it?", "Can bad parts still get out?",
        "What is done, by whom, until when?", "Did it work?", "What did we learn?",
        "Where else could it happen?", "How far is the work?", "What is not known?",
        "What does this rest on?", "Records: 80 of 1 tablet".removeprefix("Records: "), "fetches nothing",
    )  # fmt: skip
    places = [told.index(words) for words in order[1:]]
    assert all(before < after for before, after in pairwise(places))


def test_a_station_tells_counts_share_limits_probability_and_verdict_by_shape_and_word():
    seen = read()

    labels = [value for tag, name, value in seen.values if (tag, name) == ("td", "data-label")]
    assert labels[:6] == ["Checked", "NOK", "Share NOK", "95 % limits", "Starts here", "Verdict"]
    told = said(seen)
    assert "3. Leak test (first bad) 20 3 15.0 % 3 % to 38 % 98 % bad" in told
    assert "Not present in this stream <0.1 %" in told
    assert "exact, two-sided 95 % (Clopper-Pearson)" in told
    code = as_html(page()).decode()
    assert code.count('aria-hidden="true"><path d="M2.5 2.5 13.5 13.5M13.5 2.5 2.5 13.5"') >= 2


def test_a_table_is_one_for_those_who_hear_it_too():
    seen = read()

    heads = [one for one in seen.structure if one[0] == "th"]
    assert all("scope" in one for one in heads)
    assert ("caption", "dir") in seen.structure
    assert ("html", "lang", "en") in seen.values


def test_pictures_have_words_and_one_that_is_not_here_says_why():
    one = concern(sheets.content(pictures=(sheets.picture("NOK limit sample", "White line"),
                                           sheets.no_picture("Crack"))))  # fmt: skip

    seen = read(one)

    (source,) = [value for tag, name, value in seen.values if (tag, name) == ("img", "src")]
    kept = Image.open(io.BytesIO(base64.b64decode(source.removeprefix("data:image/jpeg;base64,"))))
    assert kept.size == (400, 300)
    assert ("img", "alt", "NOK limit sample: White line") in seen.values
    assert "Not on this tablet" in said(seen)


def test_entries_that_disagree_are_told_with_all_values_and_which_one_counts():
    one = concern(disputes=(dispute("3 of 20 NOK", "4 of 20 NOK", left_out=2),), disputes_left_out=5)

    told = said(read(one))

    assert "Count at Leak test 3 of 20 NOK (tablet 7c9ec7, QE-RT) ; counted until it is settled" in told
    assert "4 of 20 NOK (tablet 7c9ec7, QE-RT) 2 more values in the store." in told
    assert "5 more in the store." in told


def test_what_is_left_out_is_said():
    parts = (sheets.part("actions", sheets.entry(), left_out=40),)
    one = concern(
        sheets.content(parts=parts, pictures_note="4 more pictures in the store."),
        figures_note=("No figure “NOK parts by parallel unit”: nothing of it.",),
    )

    told = said(read(one, left_out=("3 older concerns not on this page.",)))

    for words in ("40 more in the store.", "4 more pictures in the store.", "NOK parts by parallel unit",
                  "3 older concerns not on this page."):  # fmt: skip
        assert words in told


def test_without_gaps_the_page_does_not_pretend_to_know_everything():
    told = said(read(concern(sheets.content(gaps=()))))

    assert "Nothing that this page asks for is missing from the records." in told


def test_a_concern_of_which_nothing_is_known_has_no_table_and_no_figure():
    seen = read(concern(sheets.empty()))

    assert {"table", "figure", "img"}.isdisjoint(tag for tag, *_ in seen.structure)
    assert "The value stream is not shown." in said(seen)


def test_several_concerns_are_listed_first_and_each_has_its_place():
    one, two = (
        concern(),
        concern(sheets.content(title="Pump rattles", gaps=(SheetGap(about="x", words="w"),))),
    )

    seen = read(one, two, title="2 concerns")

    targets = [value for tag, name, value in seen.values if (tag, name) == ("a", "href")]
    ids = [value for tag, name, value in seen.values if (tag, name) == ("h2", "id")]
    assert targets == ["#concern-1", "#concern-2"]
    assert ids == ["concern-1", "concern-2"]


# figures


def test_letters_that_figures_share_are_in_the_page_once_and_everything_referred_to_is_there():
    one = concern(
        figures=(sheets.content().shares, shares(share_row("Test", 10, 3, "bad", 0.9), title="Two"))
    )

    seen = read(one)

    ids = [value for _, name, value in seen.values if name == "id"]
    used = {value[1:] for tag, name, value in seen.values if (tag, name) == ("use", "href")}
    used |= {found for _, _, value in seen.values for found in re.findall(r"url\(#([^)]+)\)", value)}
    assert len(ids) == len(set(ids))
    assert used
    assert used <= set(ids)
    assert [value for tag, name, value in seen.values if (tag, name) == ("svg", "aria-label")] == [
        sheets.content().shares.title, "Two",
    ]  # fmt: skip


def test_a_figure_tells_its_title_and_notes_as_text_and_its_drawing_has_none():
    figure = shares(share_row("Test", 10, 3, "bad", 0.9), title="The title", notes=("n = 10 parts.",))

    seen = read(concern(figures=(figure,)))

    assert ("b", "The title") in seen.pieces
    assert ("li", "n = 10 parts.") in seen.pieces
    assert not [text for tag, text in seen.pieces if tag in ("svg", "g", "path", "defs") and text.strip()]


def test_a_drawing_that_holds_something_unknown_becomes_a_picture():
    @dataclass(frozen=True)
    class Odd:
        name: str = "odd"
        title: str = "Pixels"
        notes: tuple[str, ...] = ()

        def plot(self, plane):
            plane.axes()[0][0].imshow([[0, 1], [1, 0]])

    seen = read(concern(sheets.content(pictures=()), figures=(Odd(),)))

    (source,) = [value for tag, name, value in seen.values if (tag, name) == ("img", "src")]
    kept = Image.open(io.BytesIO(base64.b64decode(source.removeprefix("data:image/png;base64,"))))
    assert kept.size == (1080, 600)
    assert ("img", "alt", "Pixels") in seen.values


# the file


def test_the_same_page_gives_the_same_bytes():
    assert as_html(page()) == as_html(page())
    assert as_html(page()).startswith(b"<!DOCTYPE html>")


def test_ink_and_paper_have_a_contrast_of_seven_to_one():
    # Relative luminance and contrast: Web Content Accessibility Guidelines 2.2, from memory.
    def light(code):
        parts = [int(code[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    pairs = [(INK, PAPER), (EDGE, PAPER), ("#1d3f66", PAPER), *TINTS.values()]
    contrasts = {pair: (light(pair[1]) + 0.05) / (light(pair[0]) + 0.05) for pair in pairs}

    assert {pair: found for pair, found in contrasts.items() if found < 7} == {}
