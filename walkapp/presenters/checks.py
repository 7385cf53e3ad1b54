"""The pages on which one check is answered: judging parts and counting them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Protocol, TypeVar

from walkapp.actions.reading import WalkFacts
from walkapp.actions.walking import count_of
from walkapp.model.checklist import Check
from walkapp.model.records import Answer
from walkapp.presenters.counting import stepped, typed, typing_problem
from walkapp.presenters.frame import FrameState, Sight, UnitChoice, WalkPage, units_of
from walkapp.presenters.held import held_at, is_used
from walkapp.presenters.judging import LimitPair, limit_pair
from walkapp.presenters.pad import (
    PadState,
    pad_of,
    press,
    typed_before,
)
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.presenters.station import progress_words
from walkapp.presenters.wording import how_text


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckHead:
    """What every check page says about the check.

    Parameters
    ----------
    title
        What to do.
    how
        How it is judged.
    progress
        How far it is, in words.
    units
        The parallel units to choose from.
    limits
        The newest limit samples, where parts are judged for the defect of the concern.
    """

    title: str = ""
    how: str = ""
    progress: str = ""
    units: UnitChoice = UnitChoice()
    limits: LimitPair = LimitPair()


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgeState:
    """Judging parts one by one, or answering a question.

    Parameters
    ----------
    frame, head
        What surrounds the page, and what it says of the check.
    given
        The answer given last: ``ok``, ``not_ok``, ``not_applicable``, or empty.
    is_question
        Whether one answer is wanted instead of one for each part.
    """

    frame: FrameState = FrameState()
    head: CheckHead = CheckHead()
    given: str = ""
    is_question: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CountState:
    """Counting parts.

    Parameters
    ----------
    frame, head
        What surrounds the page, and what it says of the check.
    checked, nok
        The counts on disk for the chosen unit.
    pad
        The pad while a number is typed; none while it is closed.
    pad_for
        ``checked`` or ``nok`` while the pad is open; empty otherwise.
    """

    frame: FrameState = FrameState()
    head: CheckHead = CheckHead()
    checked: int = 0
    nok: int = 0
    pad: PadState | None = None
    pad_for: str = ""


CountChange = Callable[[int, int], tuple[int, int]]
"""From parts checked and NOK to the new two numbers."""


class _WithHead(Protocol):
    @property
    def frame(self) -> FrameState: ...
    @property
    def head(self) -> CheckHead: ...


C = TypeVar("C", bound=_WithHead)


class CheckPage(WalkPage[C]):
    """What the pages of all check kinds have in common."""

    def __init__(self, session: Session, route: Route, blank: C) -> None:
        super().__init__(session, route, blank)
        self._unit = route.unit
        self._is_taken_up = False

    def set_aside(self) -> None:
        """Say that the check does not apply; asks for the reason."""
        self.session.go(replace(self.route, screen="reason"))

    def to_judging(self) -> None:
        """Open the page that says how a part is judged; it leads back to this check and unit."""
        self.session.go(replace(self.route, unit=self._unit).down("judging"))

    def _here(self) -> Route:
        return replace(self.route, unit=self._unit)

    def _show_held(self, route: Route) -> None:
        super()._show_held(route)
        if route.unit and route.unit != self._unit:
            self.choose_unit(route.unit)

    def choose_unit(self, name: str) -> None:
        """Say which parallel unit made the next parts; the same once more unsays it."""
        self._unit = "" if name == self._unit else name
        # A restart opens with the same unit chosen, else the next parts would belong to none.
        here = replace(self.route, unit=self._unit)
        self.session.run_later(lambda: self.session.kept.keep_route(here), lambda _: None, self.fail)
        units = replace(self.state.head.units, chosen=self._unit)
        state: Any = self.state
        self._show(replace(state, head=replace(self.state.head, units=units)))

    def _take_up(self) -> dict[str, str]:
        """Give what was in hand when the page was left, the first time that the page is read."""
        kept = {} if self._is_taken_up else self.session.kept.in_hand(self.route)
        self._is_taken_up = True
        units = self.station().units
        if units is not None and kept.get("unit") in units.names:
            self._unit = kept["unit"]
        return kept

    def _head(self, check: Check, sight: Sight) -> CheckHead:
        station = self.station()
        _, progress = progress_words(check, sight.walk.progress(station, check.id))
        how = how_text(check, sight.walk.stream, sight.walk.facts.concern)
        has_units = check.kind in ("attribute", "count", "measurement")
        units = units_of(station, self._unit) if has_units else UnitChoice()
        facts = sight.walk.facts
        judges_parts = check.kind in ("attribute", "count") and check.finds == facts.concern.defect
        limits = limit_pair(self.session.thumbnails, facts) if judges_parts else LimitPair()
        return CheckHead(title=check.title, how=how, progress=progress, units=units, limits=limits)


class JudgePage(CheckPage[JudgeState]):
    """Presents an attribute check or a question."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route, JudgeState())

    def answer(self, word: str) -> None:
        """Record an answer; N/A asks for its reason first."""
        if word == "not_applicable":
            self.set_aside()
            return
        station, check, unit = self.route.station, self.route.check, self._unit

        def entry(walk: WalkFacts) -> object:
            if self.check().kind == "question":
                return self._walking.answer_question(walk, station, check, word)
            seen = held_at(self.session, self.route).seen
            made = self._walking.judge_part(walk, station, check, word, unit=unit, seen=seen)
            is_used(self.session, self.route)
            return made

        self._record(entry)

    def _view(self, sight: Sight, frame: FrameState) -> JudgeState:
        check = self.check()
        latest = sight.walk.progress(self.station(), check.id).latest
        return JudgeState(
            frame=frame,
            head=self._head(check, sight),
            given=latest.answer if isinstance(latest, Answer) else "",
            is_question=check.kind == "question",
        )


class CountPage(CheckPage[CountState]):
    """Presents a count check."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route, CountState())

    def in_hand(self) -> dict[str, str]:
        """Give the number that is being typed."""
        if self.state.pad is None or not self.state.pad.text:
            return {}
        return {"typed": self.state.pad.text, "for": self.state.pad_for, "unit": self._unit}

    def step(self, which: str, by: int) -> None:
        """Add or take away one part of ``checked`` or ``nok``; each step is on disk at once.

        One more NOK part than were checked means one more checked part.
        """

        self._change(lambda checked, nok: stepped(checked, nok, which, by))

    def open_pad(self, which: str) -> None:
        """Type ``checked`` or ``nok`` instead."""
        self._show(replace(self.state, pad=PadState(is_whole=True), pad_for=which))

    def press(self, key: str) -> None:
        """Press a key of the open pad; ``enter`` records the number."""
        if self.state.pad is None:
            return
        if key == "close":
            self._show(replace(self.state, pad=None, pad_for=""))
            return
        pad = press(self.state.pad, key)
        if key != "enter" or pad.value is None:
            self._show(replace(self.state, pad=pad))
            return
        number, which = int(pad.value), self.state.pad_for
        if problem := typing_problem(self.state.checked, self.state.nok, which, number):
            self._refuse(problem)
            return
        self._show(replace(self.state, pad=None, pad_for=""))
        self._change(lambda checked, nok: typed(checked, nok, which, number))

    def choose_unit(self, name: str) -> None:
        """Count for another parallel unit; the same once more counts for none."""
        super().choose_unit(name)
        self.open()

    def _refuse(self, problem: str) -> None:
        frame = replace(self.state.frame, problem=problem)
        self._show(replace(self.state, pad=PadState(is_whole=True), frame=frame))

    def _change(self, change: CountChange) -> None:
        station, check, unit = self.route.station, self.route.check, self._unit

        def entry(walk: WalkFacts) -> object:
            old = count_of(walk, station, check, unit)
            before = (old.checked, old.nok) if old else (0, 0)
            after = change(*before)
            if after == before:
                return None
            return self._walking.count(walk, station, check, *after, unit=unit)

        self._record(entry)

    def _view(self, sight: Sight, frame: FrameState) -> CountState:
        check, kept = self.check(), self._take_up()
        count = count_of(sight.walk, self.route.station, check.id, self._unit)
        pad = pad_of(kept.get("typed", ""), is_whole=True)
        is_typing = bool(pad.text) and kept.get("for") in ("checked", "nok")
        return CountState(
            frame=replace(frame, problem=typed_before(pad.text)) if is_typing else frame,
            head=self._head(check, sight),
            checked=count.checked if count else 0,
            nok=count.nok if count else 0,
            pad=pad if is_typing else None,
            pad_for=kept["for"] if is_typing else "",
        )
