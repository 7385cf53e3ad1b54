"""The pages of figures: what is listed, what is drawn when, and what is put on disk."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk, Queue
from tests.floors import Floor
from walkapp.presenters.concern_parts import part_rows
from walkapp.presenters.desk.figure import GONE, FigurePage
from walkapp.presenters.desk.figures import AllFiguresPage, FiguresPage
from walkapp.presenters.desk.start import DeskPage
from walkapp.presenters.route import Route


def figure_page(desk, concern, name="share-by-station", size=(300, 220)) -> FigurePage:
    page = FigurePage(desk.session, Route(screen="figure", concern=concern, entry=name))
    page.fit(*size, 12.0)
    page.open()
    return page


@pytest.fixture
def floor(desk):
    made = Floor(desk)
    made.count()
    made.lots()
    return made


def test_the_list_names_what_can_be_drawn_and_why_the_rest_cannot(floor):
    desk = floor.desk
    page = FiguresPage(desk.session, Route(screen="figures", concern=floor.route.concern))
    page.open()
    drawn, missing = page.state.sections
    assert page.state.sentence == "4 figures can be drawn of these records."
    assert [row.id for row in drawn.rows] == [
        "share-by-station", "defects-over-time", "pareto-by-station", "p-chart",
    ]  # fmt: skip
    assert drawn.rows[1].title.startswith("NOK at Leak test by production day; the first bad day is")
    assert [(row.id, row.title) for row in missing.rows] == [
        ("", "Measured by station"), ("", "NOK parts by parallel unit"), ("", "Age of the actions"),
        ("", "Values over time"),
    ]  # fmt: skip
    assert missing.rows[0].subtitle == "no characteristic was measured yet"
    page.row("drawn", "defects-over-time")
    assert desk.routes[-1].screen == "figure" and desk.routes[-1].entry == "defects-over-time"
    assert desk.routes[-1].up().screen == "figures"


def test_the_desk_and_the_page_of_a_concern_lead_to_the_figures(floor):
    desk = floor.desk
    board = DeskPage(desk.session, Route(screen="desk"))
    board.open()
    assert "all_figures" in [row.id for section in board.state.sections for row in section.rows]
    assert "figures" in [row.id for row in part_rows(desk.place, floor.facts)]

    page = AllFiguresPage(desk.session, Route(screen="all_figures"))
    page.open()
    streams, concerns = page.state.sections
    assert [row.title for row in streams.rows] == ["Pump bracket", "Washer-fluid reservoir"]
    page.row("streams", "washer-reservoir")
    of_stream = desk.routes[-1]
    assert (of_stream.stream, of_stream.concern) == ("washer-reservoir", "")
    page.row("concerns", concerns.rows[0].id)
    assert (desk.routes[-1].stream, desk.routes[-1].concern) == ("", floor.route.concern)

    listed = FiguresPage(desk.session, of_stream)
    listed.open()
    assert [row.id for row in listed.state.sections[0].rows] == [
        "pareto-by-station", "pareto-by-defect", "audit-completion", "audit-completion-by-shift",
    ]  # fmt: skip
    listed.back()
    assert desk.routes[-1].screen == "all_figures"
    page.back()
    assert desk.routes[-1].screen == "desk"


def test_a_list_of_a_stream_that_nothing_led_to_goes_back_to_the_list_of_all(desk):
    page = FiguresPage(desk.session, Route(screen="figures", stream="washer-reservoir"))
    page.open()
    page.back()
    assert desk.routes[-1] == Route(screen="all_figures")


def test_the_words_are_there_before_the_picture_which_has_the_size_of_the_page(floor):
    aside = Queue()
    floor.desk.session.aside = aside
    page = figure_page(floor.desk, floor.route.concern)
    assert page.state.sentence.startswith("NOK parts by station; the first bad station is")
    assert any(note.startswith("n = 40 parts checked at 2 of 8 stations.") for note in page.state.notes)
    assert page.state.picture is None and page.state.waiting.startswith("Being drawn")
    aside.run()
    assert page.state.picture.size == (300, 220) and page.state.waiting == ""


def test_one_picture_is_drawn_at_a_time_and_only_the_last_size_counts(floor):
    aside = Queue()
    floor.desk.session.aside = aside
    page = figure_page(floor.desk, floor.route.concern)
    for width in range(301, 320):
        page.fit(width, 220, 12.0)
    assert len(aside.waiting) == 1
    drawn = []
    page.watch(lambda state: drawn.append(state.picture and state.picture.size))
    aside.run()
    assert [size for size in dict.fromkeys(drawn) if size] == [(300, 220), (319, 220)]
    page.fit(319, 220, 12.0)
    assert aside.waiting == []


def test_the_next_figure_comes_without_going_back_and_is_remembered(floor):
    page = figure_page(floor.desk, floor.route.concern)
    assert (page.state.has_before, page.state.has_after, page.state.subtitle) == (
        False, True, "Figure 1 of 4",
    )  # fmt: skip
    page.after()
    assert page.state.picture.key == "defects-over-time"
    assert floor.desk.session.kept.route().entry == "defects-over-time"
    for _ in range(3):
        page.after()
    assert page.state.subtitle == "Figure 4 of 4" and not page.state.has_after
    page.before()
    page.before()
    assert page.state.picture.key == "defects-over-time"


def test_a_figure_left_while_it_is_drawn_never_shows_as_another(floor):
    aside = Queue()
    floor.desk.session.aside = aside
    page = figure_page(floor.desk, floor.route.concern)
    page.after()
    shown = []
    page.watch(lambda state: shown.append((state.sentence, state.picture and state.picture.caption)))
    aside.run()
    assert all(caption in (None, sentence) for sentence, caption in shown)
    assert page.state.picture.key == "defects-over-time"


def test_larger_is_larger_and_back_again(floor):
    page = figure_page(floor.desk, floor.route.concern)
    page.zoom()
    assert page.state.picture.size == (480, 352) and page.state.is_large
    page.zoom()
    assert page.state.picture.size == (300, 220) and not page.state.is_large


@pytest.mark.parametrize("form", ["pdf", "png"])
def test_a_figure_is_written_into_the_folder_of_bundles(floor, form):
    page = figure_page(floor.desk, floor.route.concern)
    page.write(form)
    (path,) = floor.desk.session.bundles.iterdir()
    assert path.suffix == f".{form}" and path.name.startswith("share-by-station-Cracked-mounting-ears")
    assert page.state.saved == f"On disk: {path.name} in {path.parent}"
    first = path.read_bytes()
    page.write(form)
    assert path.read_bytes() == first and page.state.problem == ""


def test_what_cannot_be_written_is_said_and_nothing_is_lost(floor):
    floor.desk.session.bundles.write_text("a file where the folder should be")
    page = figure_page(floor.desk, floor.route.concern)
    page.write("pdf")
    assert "cannot be made" in page.state.problem and page.state.saved == ""
    assert page.state.picture is not None


def test_a_figure_that_is_gone_says_so(floor):
    page = figure_page(floor.desk, floor.route.concern, name="action-ageing")
    assert page.state.problem == GONE and page.state.picture is None
    page.write("pdf")
    page.zoom()
    page.after()
    assert not floor.desk.session.bundles.exists()
    page.back()
    assert floor.desk.routes[-1] == Route(screen="figures", concern=floor.route.concern)


def test_a_safety_class_concern_is_cautioned_on_list_and_figure(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        concern = desk.concern(severity="safety")
        page = FiguresPage(desk.session, Route(screen="figures", concern=concern))
        page.open()
        shown = figure_page(desk, concern)
        assert "escalation" in page.state.cautions[0]
        assert shown.state.cautions == page.state.cautions
        assert "nobody has recorded who was told" in shown.state.notes[0]


def test_a_concern_that_is_not_here_is_said_on_the_page(desk):
    for kind, name in ((FiguresPage, "figures"), (FigurePage, "figure")):
        page = kind(
            desk.session, replace(Route(screen=name), concern="01234567-89ab-7def-8123-456789abcdef")
        )
        page.open()
        assert "There is no concern" in page.state.problem
