"""A hand that knows nothing of the program and does exactly what practice says.

It reads the step, looks for what is named there, and taps it; what is to be typed, it types.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from tests.fakes import CHECKLISTS
from walkapp.demo.practice import practice_facts
from walkapp.presenters.next_step import Step, Target
from walkapp.presenters.pages import page_class
from walkapp.presenters.practising import Practice
from walkapp.presenters.route import Route

MOST_TAPS = 90
"""A station of 20 parts takes 30."""

Choose = Callable[[Sequence[Target]], Target]


def first(targets: Sequence[Target]) -> Target:
    return targets[0]


def last(targets: Sequence[Target]) -> Target:
    return targets[-1]


def practice_of(desk, *, draws: bool = False) -> Practice:
    """Give practice beside a desk of the tests; its pictures are only drawn where they are looked at."""
    facts = practice_facts(CHECKLISTS)
    if not draws:
        facts = replace(facts, pictures=tuple)
    folder = desk.store.folder.with_name("store-practice")
    return Practice(facts, folder, now=desk.place.now, new_id=desk.place.new_id, app="walkapp test")


# What the kv files call for each thing that is tapped.
_CALLS: dict[str, Callable[[Any], None]] = {
    "back": lambda page: page.back(),
    "start-walk": lambda page: page.start_walk(),
    "record": lambda page: page.record(),
    "cautions-read": lambda page: page.confirm_cautions(),
    "to-answer": lambda page: page.to_answer(),
    "photo": lambda page: page.add("photo"),
    "checked-value": lambda page: page.open_pad("checked"),
    "nok-value": lambda page: page.open_pad("nok"),
}
_ROWS = {"home": "choose", "concern": "continue_walk", "station": "choose_check"}


class BlindHand:
    """The hand, on the pages of practice beside a desk.

    Parameters
    ----------
    desk
        The real records.
    choose
        Which of several things it taps.
    """

    def __init__(self, desk, choose: Choose = first) -> None:
        self.practice = practice_of(desk)
        self.session, self.guide = self.practice.open(desk.session)
        self.session.go = self.go
        self.choose = choose
        self.route = Route()
        self.page: Any = None
        self.trail: list[tuple[str, str]] = []
        self.go(self.session.kept.route())

    def go(self, route: Route) -> None:
        """Show a page, as the window does."""
        self.look_at(route)
        self.page.open()

    def look_at(self, route: Route) -> None:
        """Be on a page that is still blank."""
        self.route = route
        self.page = page_class(route.screen)(self.session, route)
        self.guide.follow(self.page, route)

    @property
    def step(self) -> Step:
        """What practice says now."""
        return self.guide.state.step

    def tap(self) -> None:
        """Do what it says."""
        assert self.guide.state.problem == ""
        assert self.step.targets, f"nothing is said on {self.route}"
        target = self.choose(self.step.targets)
        self.trail.append((self.route.screen, target.label))
        name, screen = target.name, self.route.screen
        if target.typed:
            self.page.fill(name.removeprefix("field-").removesuffix("-words"), target.typed)
        elif name.startswith("row-"):
            getattr(self.page, _ROWS[screen])(name.removeprefix("row-"))
        elif name.startswith("answer-"):
            self.page.answer(name.removeprefix("answer-"))
        elif name.startswith("station-"):
            self.page.to_station(name.removeprefix("station-"))
        elif name.startswith("key-"):
            self.page.press(name.removeprefix("key-"))
        else:
            _CALLS[name](self.page)

    def until(self, is_there: Callable[[], bool], most_taps: int = MOST_TAPS) -> int:
        """Tap until something is so; give how many taps it took."""
        for taps in range(most_taps):
            if is_there():
                return taps
            self.tap()
        raise AssertionError(f"it does not come to an end: {self.trail[-12:]}")

    def finish(self) -> int:
        """Tap until a station is finished."""
        return self.until(lambda: self.step.is_done)
