"""The page that writes a page to be mailed: what it says before and after. All invented."""

from __future__ import annotations

from tests.fakes import Queue
from tests.quarrels import Quarrel
from walkapp.presenters.concern_parts import part_rows
from walkapp.presenters.desk.mailed import SENTENCE, WRITING, MailedPage
from walkapp.presenters.route import Route


def opened(desk, concern):
    page = MailedPage(desk.session, Route(screen="mailed", concern=concern))
    page.open()
    return page


def test_the_concern_leads_to_it_and_back(desk):
    route = desk.walk()

    (row,) = [r for r in part_rows(desk.place, desk.facts(route).facts) if r.id == "mailed"]
    page = opened(desk, route.concern)
    page.back()

    assert row.title == "Page to mail"
    assert desk.routes[-1] == Route(screen="concern", concern=route.concern)


def test_the_page_is_written_and_what_it_lacks_is_listed(desk, tmp_path):
    page = opened(desk, desk.concern())
    assert f"It is written into {tmp_path / 'bundles'}." in page.state.lines

    page.press("write")

    (path,) = (tmp_path / "bundles").iterdir()
    assert page.state.saved.startswith(f"On disk: {path.name}, 1 concern, 0 pictures, 1 figure, ")
    (section,) = page.state.sections
    assert section.title == "What the page says is not known"
    (walks,) = [row for row in section.rows if row.id == "start_walk" and "station" in row.subtitle]
    assert (walks.title, walks.subtitle) == ("First bad station", "No station was visited yet.")
    page.row(section.name, walks.id)
    assert desk.routes[-1].screen == "start_walk"
    assert (page.state.sentence, page.state.problem) == (SENTENCE, "")
    assert len(desk.records) == 1


def test_while_it_is_drawn_no_tap_waits_and_it_cannot_be_written_twice(desk, tmp_path):
    page = opened(desk, desk.concern())
    desk.session.aside = waiting = Queue()

    page.press("write")

    assert (page.state.sentence, page.state.saved) == (WRITING, "")
    assert [button.is_off for button in page.state.buttons] == [True]
    waiting.run()
    assert page.state.saved
    assert [button.is_off for button in page.state.buttons] == [False]


def test_a_file_in_the_way_is_said_and_it_can_be_tried_again(desk, tmp_path):
    page = opened(desk, desk.concern())
    (tmp_path / "bundles").write_text("in the way", encoding="utf-8")

    page.press("write")
    assert "cannot be made" in page.state.problem
    assert (page.state.sentence, page.state.saved) == (SENTENCE, "")
    (tmp_path / "bundles").unlink()
    page.press("write")

    assert page.state.problem == ""
    assert page.state.saved


def test_what_has_to_be_minded_is_said_before_anything_is_written(desk):
    quarrel = Quarrel(desk)
    safety = desk.concern(severity="safety")

    assert opened(desk, quarrel.concern).state.cautions == (
        "1 dispute not settled: the page tells all values.",
    )
    (caution,) = opened(desk, safety).state.cautions
    assert caution.startswith("Safety or regulatory class")
