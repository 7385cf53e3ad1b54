"""The search page: results as they are typed, where they lead, and what it says while it still reads."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.fakes import Desk, Queue, run_now
from tests.floors import Floor
from walkapp.actions.lessons import record_lesson
from walkapp.actions.searching import ASK
from walkapp.presenters.home import HomePage
from walkapp.presenters.route import Route
from walkapp.presenters.search import READING, SearchPage
from walkapp.presenters.store_check import index_in_background


@pytest.fixture
def floor(desk):
    made = Floor(desk)
    made.count()
    made.change("Harder clamp pads", day=22)
    made.walking.note("leak-test", "Größe der Pads: Ø 4 mm")
    record_lesson(desk.place, made.facts, worked="Ask about pads first")
    return made


def opened(desk):
    page = SearchPage(desk.session, Route(screen="search"))
    page.open()
    return page


def test_home_leads_to_the_search_and_back_leads_home(desk):
    HomePage(desk.session, Route()).search()
    assert desk.routes == [Route(screen="search")]

    opened(desk).back()
    assert desk.routes[-1] == Route()


def test_results_come_as_they_are_typed_and_lead_to_their_page(floor):
    page = opened(floor.desk)
    assert (page.state.told, page.state.rows) == (ASK, ())

    page.type("pa")
    assert [row.title for row in page.state.rows] == [
        "Ask about pads first", "Größe der Pads: Ø 4 mm", "Harder clamp pads",
    ]  # fmt: skip
    page.type("pads harder")

    assert page.state.told == "1 entry found."
    (row,) = page.state.rows
    assert row.subtitle == "Change point, Leak test, 2026-03-03\nCracked mounting ears (invented)"
    page.choose(row.id)
    assert floor.desk.routes[-1] == Route(screen="onset", concern=floor.route.concern)
    page.type("lesson")
    page.choose("result-0")
    assert len(floor.desk.routes) == 1


@pytest.mark.parametrize(
    "question, screen", [("first", "lessons"), ("größe", "concern"), ("cracked mounting", "concern")]
)
def test_a_result_leads_to_the_page_of_its_kind_or_to_its_concern(floor, question, screen):
    page = opened(floor.desk)
    page.type(question)

    page.choose("result-0")

    assert floor.desk.routes[-1] == Route(screen=screen, concern=floor.route.concern)


def test_what_was_looked_for_is_there_again_and_finds_what_is_new(floor):
    opened(floor.desk).type("pads")
    floor.walking.note("welding", "no pads here")

    page = opened(floor.desk)

    assert (page.state.words, page.state.told, page.state.reading) == ("pads", "4 entries found.", "")


def test_while_records_are_still_read_the_page_says_so_and_then_finds_more(tmp_path):
    aside = Queue()
    desk = Desk(tmp_path)
    with desk.store:
        Floor(desk).walking.note("leak-test", "harder pads")
        desk.session.aside = aside
        page = opened(desk)
        page.type("pads")
        assert (page.state.told, page.state.reading) == ("Nothing found.", READING)

        aside.run()

        assert (page.state.told, page.state.reading) == ("1 entry found.", "")


def test_of_several_questions_that_wait_only_the_last_is_asked(tmp_path):
    waiting = Queue()
    desk = Desk(tmp_path, run_later=waiting)
    with desk.store:
        page = opened(desk)
        waiting.run()
        for words in ("p", "pa", "pad"):
            page.type(words)
        assert len(waiting.waiting) == 2 * 3

        shown = []
        page.watch(lambda state: shown.append((state.words, state.told)))
        waiting.run()

        assert {words for words, _ in shown} == {"pad"}
        assert {told for _, told in shown} == {ASK, "Nothing found."}
        assert desk.session.kept.draft("search") == {"words": "pad"}


def test_records_whose_concern_is_not_here_lead_nowhere(desk, tmp_path):
    other = Desk(tmp_path / "other", seed=4)
    with other.store:
        note = Floor(other).walking.note("leak-test", "zebra")
    desk.store.merge([note], name="other", photos={}, checklists={})
    page = opened(desk)
    page.type("zebra")

    (row,) = page.state.rows
    assert (row.id, row.subtitle.split("\n")[1]) == ("", "the concern itself is not here yet")


def test_the_index_is_built_in_the_background_and_takes_no_memory_while_nobody_searches(floor):
    index_in_background(floor.desk.session, run_later=run_now, failed=pytest.fail)

    assert floor.desk.store.search_file.is_file()
    assert floor.desk.session.finder._index is None
    assert floor.desk.session.finder.find("pads").total == 3


def test_the_background_leaves_the_index_to_somebody_who_searches(floor):
    page = opened(floor.desk)
    index_in_background(floor.desk.session, run_later=run_now, failed=pytest.fail)
    page.type("pads")

    assert page.state.told == "3 entries found."


def test_the_first_page_opens_without_reading_the_code_of_the_search():
    program = (
        "import sys, walkapp.presenters.home, walkapp.presenters.store_check\n"
        "print(sorted({'sqlite3', 'walkapp.search', 'walkapp.actions.searching'} & set(sys.modules)))\n"
    )

    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60)

    assert (done.stdout, done.stderr) == ("[]\n", "")
