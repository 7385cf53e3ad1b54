"""The pages of the parts that are followed: what they show together, and each one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from walkapp.actions.walking import SeenPart, Walking
from walkapp.presenters.pages import page_class
from walkapp.presenters.route import Route


@pytest.fixture
def desk(tmp_path):
    made = Desk(tmp_path)
    with made.store:
        yield made


def judge(desk, route, tag, station, word, lot=""):
    walking = Walking(desk.place, route.concern, route.walk)
    seen = SeenPart(part=tag, lot=lot)
    walking.judge_part(desk.facts(route), station, "ear-look", word, seen=seen)


def opened(desk, route):
    page = page_class(route.screen)(desk.session, route)
    page.open()
    return page


def test_the_page_says_how_many_turned_where_and_shows_each_part(desk):
    walk = desk.walk()
    for tag in ("A", "B"):
        judge(desk, walk, tag, "welding", "ok")
        judge(desk, walk, tag, "leak-test", "not_ok")
    judge(desk, walk, "C", "leak-test", "not_ok")
    judge(desk, walk, "D", "welding", "not_ok")
    judge(desk, walk, "D", "leak-test", "ok")

    state = opened(desk, Route(screen="followed", concern=walk.concern)).state

    assert (
        state.sentence == "2 of 3 followed parts were OK up to Hot-plate welding and NOK from Leak test on."
    )
    assert [section.name for section in state.sections] == ["contradicting", "parts"]
    assert [row.title for row in state.sections[0].rows] == ["D"]
    assert [(row.title, row.mark) for row in state.sections[1].rows] == [
        ("A", "bad"), ("B", "bad"), ("C", "bad"),
    ]  # fmt: skip


def test_without_a_followed_part_the_page_says_how_to_follow_one(desk):
    walk = desk.walk()

    state = opened(desk, Route(screen="followed", concern=walk.concern)).state

    assert state.sentence == "No part has been followed by its tag yet."
    assert "Scan the code of a part" in state.lines[0]


def test_a_part_has_every_station_by_shape_and_word(desk):
    walk = desk.walk()
    judge(desk, walk, "A", "welding", "ok", lot="0303")
    judge(desk, walk, "A", "leak-test", "not_ok", lot="0304")
    board = opened(desk, Route(screen="followed", concern=walk.concern))

    board.row("parts", "A")
    state = opened(desk, desk.routes[-1]).state

    marks = {row.title.partition("  ")[2]: row.mark for row in state.sections[0].rows}
    assert marks["Hot-plate welding: OK"] == "clean"
    assert marks["Leak test: NOK"] == "bad"
    assert marks["Degating"] == "not_visited"
    assert "2 lots" in state.cautions[0]
    assert "it turned in between" in state.sentence


def test_on_a_walk_a_station_of_the_part_leads_there(desk):
    walk = desk.walk()
    judge(desk, walk, "A", "welding", "ok")
    page = opened(desk, replace(walk, screen="followed_part", entry="A"))

    page.row("stations", "leak-test")

    assert desk.routes[-1] == replace(walk, station="leak-test")


def test_a_part_whose_answers_were_taken_back_is_told_to_be_gone(desk):
    walk = desk.walk()

    page = opened(desk, Route(screen="followed_part", concern=walk.concern, entry="A"))

    assert "No part with this tag" in page.state.problem


def test_the_concerns_page_leads_there(desk):
    walk = desk.walk()
    judge(desk, walk, "A", "welding", "ok")
    judge(desk, walk, "A", "leak-test", "not_ok")

    state = opened(desk, Route(screen="concern", concern=walk.concern)).state

    (row,) = [row for row in state.parts if row.id == "followed"]
    assert row.mark == "bad"
    assert row.subtitle.startswith("1 of 1 followed part")
