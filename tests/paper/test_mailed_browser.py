"""The page to be mailed in a real browser: nothing of it runs or leaves; it fits telephone and paper."""

from __future__ import annotations

from dataclasses import replace

import pypdfium2
import pytest

from tests.paper import sheets
from tests.paper.browser import measured, needs_browser, printed
from tests.paper.figures import many_stations, share_row, shares
from tests.paper.mailed_pages import HOSTILE, Read, concern, dispute, page, with_texts
from walkapp.paper.mailed.page import as_html

pytestmark = needs_browser

WIDTHS = (360, 1280)
A4_PT = (595, 842)

CONTROL = b"""<!DOCTYPE html><title>control</title><p>x</p><script>parent.hacked=1</script>
<img src="x" onerror="parent.broken=1"><div style="width:5000px">too wide</div>"""


def hostile_page() -> bytes:
    """Every text is hostile, and so are the stations of the figure."""
    turns = iter(HOSTILE * 40)
    bare = concern(
        sheets.content(warnings=("w", "w"), pictures_note="n"),
        figures=(),
        disputes=(dispute("1", "2", "3"),),
    )
    said = with_texts(page(bare, concern(sheets.empty())), lambda _: f"x: {next(turns)}")
    rows = [share_row(text[:200], 20, 3, "bad", 0.1) for text in HOSTILE]
    first, second = said.concerns
    return as_html(replace(said, concerns=(replace(first, figures=(shares(*rows),)), second)))


def endless_page() -> bytes:
    figure = many_stations(60, "A station of the longest name that a checklist may give to one")
    whole = sheets.endless()
    parts = tuple(replace(part, entries=part.entries[:4]) for part in whole.parts)
    return as_html(page(concern(replace(whole, parts=parts), figures=(figure,))))


@pytest.fixture(scope="module")
def pages(mailed_demo) -> dict[str, bytes]:
    *_, written = mailed_demo
    return {
        "demo": written.path.read_bytes(),
        "hostile": hostile_page(),
        "endless": endless_page(),
        "empty": as_html(page(concern(sheets.empty()))),
        "control": CONTROL,
    }


@pytest.fixture(scope="module")
def looked(pages, tmp_path_factory):
    return measured(tmp_path_factory.mktemp("browser"), pages, WIDTHS)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["demo", "hostile", "endless", "empty"])
def test_the_page_fits_the_window_and_nothing_of_it_runs(looked, name, width):
    seen = looked[name, width]

    assert (seen["wide"], seen["off"], seen["ran"]) == (0, [], False)
    assert seen["smallest"] >= 15


@pytest.mark.parametrize("width", WIDTHS)
def test_a_page_that_runs_and_is_too_wide_is_noticed(looked, width):
    seen = looked["control", width]

    assert seen["ran"]
    assert seen["wide"] > 3000
    assert any("too wide" in one for one in seen["off"])


@pytest.mark.parametrize("name", ["demo", "hostile", "endless"])
def test_the_browser_reads_the_texts_that_were_meant(looked, pages, name):
    meant = [text for text in Read(pages[name]).texts if text != looked[name, 1280]["title"]]

    told = " ".join(looked[name, 1280]["text"].split())

    assert len(meant) > 100
    assert [text for text in meant if " ".join(text.split()) not in told] == []


def test_the_pictures_of_the_demo_are_seen(looked):
    assert looked["demo", 360]["images"] == looked["demo", 1280]["images"] == 4


def test_on_paper_it_is_a4_with_all_texts_and_no_request_leaves(pages, tmp_path):
    file = tmp_path / "page.html"
    file.write_bytes(pages["hostile"])

    pdf, asked = printed(tmp_path, file)

    assert asked == []
    document = pypdfium2.PdfDocument(pdf)
    assert {tuple(round(side) for side in one.get_size()) for one in document} == {A4_PT}
    words = " ".join("".join(one.get_textpage().get_text_range().split()) for one in document)
    assert "<script>document.title='hacked'</script>" in words
    assert "Whatisnotknown?" in words


def test_a_request_that_leaves_is_noticed(tmp_path):
    file = tmp_path / "page.html"
    file.write_text('<!DOCTYPE html><img src="http://127.0.0.1:9/gone.png">', encoding="utf-8")

    _, asked = printed(tmp_path, file)

    assert "http://127.0.0.1:9/gone.png" in asked
