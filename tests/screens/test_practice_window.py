"""Practice in a real window, by real touches: what is named is there, and nothing is covered."""

from __future__ import annotations

import random

import pytest

from tests.fakes import CHECKLISTS, Desk
from tests.screens.layout_check import problems
from tests.screens.test_keys_window import Typist
from walkapp.actions.reading import concern_facts, concern_ids
from walkapp.app import practice_beside, window_app
from walkapp.demo.practice import practice_facts
from walkapp.demo.tour import TouchWalk
from walkapp.language import ENGLISH
from walkapp.model.records import Answer
from walkapp.presenters.next_step import ANEW, LEAVE
from walkapp.presenters.route import Route
from walkapp.presenters.settings import LANGUAGE, THEME
from walkapp.screens import look

pytestmark = pytest.mark.window

SIZES = {
    "lying": ({"size": (1280, 800)}, 149),
    "standing": ({"size": (800, 1280), "density": 1.33}, 189),
    "low": ({"size": (1024, 600)}, 170),
    "large-type": ({"size": (1024, 600), "fontscale": 1.3}, 170),
}
"""Windows, and the true pixels an inch of their glass."""


@pytest.fixture(scope="module")
def facts():
    """What is practised; its pictures are drawn once."""
    return practice_facts(CHECKLISTS)


class Glass:
    """A person who never saw the program, in front of a tablet on which nothing was recorded yet."""

    def __init__(self, tmp_path, drive, facts, which="lying", language=ENGLISH.code):
        sizes, self.pixels_per_inch = SIZES[which]
        self.desk = Desk(tmp_path)
        self.desk.session.settings.set_to(LANGUAGE, language)
        folder = self.desk.store.folder
        beside = practice_beside(
            folder, lambda: facts, now=self.desk.place.now, new_id=self.desk.place.new_id
        )
        app = window_app(self.desk.place, self.desk.pictures, bundles=tmp_path / "bundles", practice=beside)
        self.hand = drive(app, **sizes)
        self.walk = TouchWalk(None, self.hand, self.desk.pictures)
        self.walk.settle()

    @property
    def app(self):
        return self.hand.app

    def enter(self):
        self.walk.tap("row-practise")
        self.hand.until(lambda: self.hand.has("practice-word"))
        self.walk.settle()

    def labels(self):
        """Give what is named beside the page to be tapped."""
        return [line.text for line in self.hand.find("practice-targets").children[::-1]]

    def follow(self, chance):
        """Tap one of the things that are named, after looking that its words are really there."""
        step = self.app.practising.step
        assert self.labels() == [target.label for target in step.targets]
        target = chance.choice(step.targets)
        beside = self.hand.find("practice-plate")
        on_page = [w for w in self.hand.widgets() if getattr(w, "text", "") and not is_within(w, beside)]
        is_beside = target.name in (LEAVE, ANEW)
        assert is_beside or any(target.label in widget.text for widget in on_page), target
        if target.typed:
            self.walk.write(target.name.removeprefix("field-").removesuffix("-words"), target.typed)
        else:
            self.walk.tap(target.name)

    @property
    def problems(self):
        return problems(self.hand.window, pixels_per_inch=self.pixels_per_inch)


@pytest.fixture
def glass(tmp_path, drive, facts):
    made = Glass(tmp_path, drive, facts)
    yield made
    made.desk.store.close()


def is_within(widget, around):
    while widget.parent is not None and widget.parent is not widget:
        if widget is around:
            return True
        widget = widget.parent
    return widget is around


def files(folder):
    return {path: path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def test_who_only_taps_what_is_named_finishes_a_station_and_comes_to_a_real_walk(glass):
    before = files(glass.desk.store.folder)
    glass.enter()
    chance, wrong, seen = random.Random(3), {}, []
    for _ in range(60):
        where = glass.app.page.name, glass.app.practising.step.do
        if where not in seen:
            seen.append(where)
            wrong |= {where: found} if (found := glass.problems) else {}
            assert glass.hand.find("practice-word").text == "Practice"
            assert glass.hand.find("not-real").text == "Nothing here is real."
            assert glass.hand.find("practice-mark").shape == "practice"
        if glass.app.practising.step.is_done:
            break
        glass.follow(chance)

    assert glass.app.practising.step.is_done, seen
    assert wrong == {}
    place = glass.app.session.place
    answers = [r for r in place.store.all_records() if isinstance(r, Answer)]
    assert len(answers) == 20
    assert concern_facts(place, concern_ids(place)[0]).walks
    assert files(glass.desk.store.folder) == before

    glass.walk.tap("leave-practice")
    assert not glass.hand.has("practice-word")
    assert glass.app.session.place.store is glass.desk.store
    assert files(glass.desk.store.folder) == before
    assert glass.problems == []
    glass.walk.tap("new-concern")
    assert glass.app.route == Route(screen="new_concern")


@pytest.mark.parametrize(
    ("which", "language"),
    [("standing", "en"), ("low", "de"), ("large-type", "es"), ("large-type", "pl"), ("standing", "pl")],
)
def test_what_is_said_covers_nothing_on_other_tablets(tmp_path, drive, facts, which, language):
    glass = Glass(tmp_path, drive, facts, which, language)
    with glass.desk.store:
        assert glass.problems == []
        glass.enter()
        chance, wrong = random.Random(1), {}
        while not glass.app.practising.step.part:
            wrong |= {glass.app.page.name: found} if (found := glass.problems) else {}
            glass.follow(chance)
        wrong |= {glass.app.page.name: found} if (found := glass.problems) else {}
        glass.hand.turn(glass.hand.window.size[::-1])
        wrong |= {"turned": found} if (found := glass.problems) else {}

        assert wrong == {}


def test_a_keyboard_alone_does_what_is_named_and_leaves_practice(glass):
    typist = Typist(glass.hand, glass.walk)
    typist.tap("row-practise")
    glass.hand.until(lambda: glass.hand.has("practice-word"))
    glass.walk.settle()
    for _ in range(2):
        (target, *_) = glass.app.practising.step.targets
        before = glass.app.page.name
        typist.tap(target.name)
        assert glass.app.page.name != before

    typist.tap(ANEW)
    glass.hand.until(lambda: glass.app.page.name == "home")
    glass.walk.settle()
    typist.tap(LEAVE)

    assert not glass.hand.has("practice-word")


def test_begun_anew_it_is_at_its_first_page_again(glass):
    glass.enter()
    first = glass.labels()
    glass.walk.tap(glass.app.practising.step.targets[0].name)
    assert glass.app.page.name == "concern"

    glass.walk.tap("practice-anew")
    glass.hand.until(lambda: glass.app.page.name == "home")
    glass.walk.settle()

    assert glass.labels() == first
    assert len(list(glass.app.session.place.store.all_records())) == 3  # the concern and two limit samples


def test_practice_is_left_and_opened_again_where_it_was_and_looks_as_the_tablet_is_set(glass):
    glass.enter()
    glass.walk.tap(glass.app.practising.step.targets[0].name)
    glass.walk.tap("leave-practice")
    glass.desk.session.settings.set_to(THEME, "dark")
    glass.walk.tap("tablet")
    glass.walk.tap("practise")
    glass.hand.until(lambda: glass.hand.has("practice-word"))
    glass.walk.settle()

    assert glass.app.page.name == "concern"
    assert look.THEME is look.DARK

    for _ in range(2):  # to the first page of practice, and out of it
        assert glass.hand.back()
        glass.walk.settle()
    assert not glass.hand.has("practice-word")
    assert glass.app.route == Route(screen="tablet")
    assert look.THEME is look.DARK
    glass.hand.back()
    assert not glass.hand.back()  # nothing is left to be left but the app


def test_what_is_typed_in_practice_stays_above_the_keyboard(tmp_path, drive, facts):
    glass = Glass(tmp_path, drive, facts, "low")
    with glass.desk.store:
        glass.enter()
        while glass.app.route.screen != "start_walk":
            glass.walk.tap(glass.app.practising.step.targets[0].name)
        glass.app.keyboard_px = lambda: 300
        glass.walk.tap("field-by-words")
        glass.hand.wait(0.5)
        field = glass.hand.find("field-by-words")

        assert field.focus
        assert field.to_window(*field.pos)[1] >= 300

        field.focus = False
        glass.app.keyboard_px = lambda: 0
        glass.hand.wait(0.5)
        assert tuple(glass.app.surroundings.pos) == (0, 0)
        assert tuple(glass.app.surroundings.size) == (1024, 600)
