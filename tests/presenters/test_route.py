"""Places of the app: kept, found again, and the way back from each."""

from __future__ import annotations

from dataclasses import replace

import pytest

from walkapp.presenters.pages import PAGES, page_class
from walkapp.presenters.route import Route


def at(screen) -> Route:
    return Route(
        screen=screen, concern="c", walk="w", station="s", check="k", study="t", inspector="i", entry="e"
    )


@pytest.mark.parametrize("screen", PAGES)
def test_a_place_is_read_back_as_it_was_kept(desk, screen):
    desk.session.kept.keep_route(at(screen))
    assert desk.session.kept.route() == at(screen)


@pytest.mark.parametrize("screen", PAGES)
def test_every_place_has_a_presenter(desk, screen):
    page = page_class(screen)(desk.session, at(screen))
    assert callable(page.open) and callable(page.watch) and page.state is not None


@pytest.mark.parametrize("place", [{}, {"screen": "nowhere"}, {"screen": 3}, {"by": "QE-RT"}])
def test_a_place_that_says_nothing_usable_is_home(place):
    assert Route.from_place(place) == Route()


@pytest.mark.parametrize("screen", PAGES)
def test_back_leads_home_from_everywhere_in_a_few_steps(screen):
    route, steps = at(screen), 0
    while route.screen != "home":
        route, steps = route.up(), steps + 1
    assert steps <= 6
    assert route.up() == route.up().up() == Route()


@pytest.mark.parametrize(
    "screen, above",
    [
        ("home", Route()),
        ("new_concern", Route()),
        ("concern", Route()),
        ("start_walk", Route(screen="concern", concern="c")),
        ("escalation", Route(screen="concern", concern="c")),
        ("station", Route(screen="concern", concern="c")),
        ("studies", Route(screen="concern", concern="c")),
        ("disputes", Route(screen="concern", concern="c")),
        ("settle", Route(screen="disputes", concern="c")),
        ("new_study", Route(screen="studies", concern="c")),
        ("study", Route(screen="studies", concern="c")),
        ("inspector", Route(screen="study", concern="c", study="t")),
        ("reading", Route(screen="study", concern="c", study="t")),
        ("study_result", Route(screen="study", concern="c", study="t")),
        ("onset", replace(at("answer"), check="")),
        ("dated_count", replace(at("onset"), check="")),
        *(
            (screen, replace(at(screen), screen="station", check=""))
            for screen in (
                "judge",
                "count",
                "measure",
                "reason",
                "note",
                "change",
                "sample",
                "photo",
                "answer",
            )
        ),
    ],
)
def test_back_from_each_screen_leads_one_level_up(desk, screen, above):
    page_class(screen)(desk.session, at(screen)).back()
    assert desk.routes == ([] if screen == "home" else [above])


def test_back_from_the_answer_outside_a_walk_leads_to_the_concern():
    assert Route(screen="answer", concern="c").up() == Route(screen="concern", concern="c")


def test_keeping_a_place_leaves_drafts_and_person_alone(desk):
    desk.session.kept.keep_draft("d", {"words": "half"})
    desk.session.remember_person("QE-AB")
    desk.session.kept.keep_route(Route(screen="concern", concern="c"))
    assert desk.session.kept.draft("d") == {"words": "half"}
    assert desk.store.place()["by"] == "QE-AB"
    desk.session.kept.drop_draft("d")
    assert desk.session.kept.draft("d") == {}
    assert desk.session.kept.route() == Route(screen="concern", concern="c")


@pytest.mark.parametrize("text", ["", "{", "[]", '"x"'])
def test_a_damaged_draft_is_an_empty_one(desk, text):
    desk.store.remember({"draft d": text})
    assert desk.session.kept.draft("d") == {}
