"""The pages on which one check is answered: judging parts, counting them, taking a value."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Protocol, TypeVar

from walkapp.actions.reading import WalkFacts
from walkapp.actions.walking import count_of
from walkapp.errors import InputError, WalkappError
from walkapp.language import decimal_text, tr
from walkapp.model.checklist import Check
from walkapp.model.records import Answer, Measurement, Setting
from walkapp.presenters.counting import stepped, typed, typing_problem
from walkapp.presenters.frame import FrameState, Sight, UnitChoice, WalkPage, units_of, with_frame
from walkapp.presenters.held import held_at, is_used
from walkapp.presenters.judging import LimitPair, limit_pair
from walkapp.presenters.pad import (
    PadState,
    ToleranceView,
    pad_of,
    press,
    receive,
    tolerance_view,
    typed_before,
)
from walkapp.presenters.session import Route, Session
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


@dataclass(frozen=True, slots=True, kw_only=True)
class TagChoice:
    """The tag of the next part, for parts that are followed from station to station.

    Parameters
    ----------
    is_offered
        Whether parts can be tagged here: the characteristic is measured at other stations too.
    tag
        ``P1``, ``P2`` ..., or what was scanned; empty while parts are not tagged.
    is_held
        Whether it was scanned or typed: it is not counted up then.
    """

    is_offered: bool = False
    tag: str = ""
    is_held: bool = False

    @property
    def words(self) -> str:
        """What the key says."""
        return (
            (tr("Part {tag}", tag=self.tag) if self.tag else tr("Part not tagged"))
            if self.is_offered
            else ""
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureState:
    """Taking a value: a characteristic or a process setting.

    Parameters
    ----------
    frame, head
        What surrounds the page, and what it says of the check.
    pad
        What was typed so far.
    tolerance
        The value against its limits while it is typed.
    values
        The values taken here, newest first, in words.
    ask_again
        The question put when a value can hardly be true; empty otherwise.
    received
        What an instrument sent or was pasted, and what it became, where that is to be looked at first.
    is_refused
        Whether that was refused; then it says why.
    can_paste
        Whether there may be something to paste.
    unit_of_measure
        Unit of the value.
    is_choosing_unit
        Whether units and tag are shown instead of the pad, for windows that have no room for both.
    tag
        The tag of the next part.
    """

    frame: FrameState = FrameState()
    head: CheckHead = CheckHead()
    pad: PadState = PadState()
    tolerance: ToleranceView | None = None
    values: str = ""
    ask_again: str = ""
    received: str = ""
    is_refused: bool = False
    can_paste: bool = False
    unit_of_measure: str = ""
    is_choosing_unit: bool = False
    tag: TagChoice = TagChoice()

    @property
    def unit_words(self) -> str:
        """The chosen parallel unit, or a question for it, and the tag; empty when none is to choose."""
        units, tag = self.head.units, self.tag
        if not units.names:
            return tag.words
        if not tag.tag:
            asked = tr("{which} Part?", which=units.question) if tag.is_offered else units.question
            return units.chosen or asked
        return f"{units.chosen}, {tag.tag}" if units.chosen else f"{tag.words}. {units.question}"

    @property
    def panel_words(self) -> str:
        """What leads to the units, and to what can be pasted, in windows that have no room for them."""
        if not self.can_paste:
            return self.unit_words
        return tr("{unit_words}, paste", unit_words=self.unit_words) if self.unit_words else tr("Paste")


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
        self.session.run_later(lambda: self.session.remember_route(here), lambda _: None, self.fail)
        units = replace(self.state.head.units, chosen=self._unit)
        state: Any = self.state
        self._show(replace(state, head=replace(self.state.head, units=units)))

    def _take_up(self) -> dict[str, str]:
        """Give what was in hand when the page was left, the first time that the page is read."""
        kept = {} if self._is_taken_up else self.session.in_hand(self.route)
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


class MeasurePage(CheckPage[MeasureState]):
    """Presents a measurement or a process setting."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route, MeasureState())
        self._tags: bool | None = None
        self._number: int | None = None
        self._taking: MeasureState | None = None

    def open(self) -> None:
        """Read the records and show the page."""
        self.look_at_clipboard()
        super().open()

    def look_at_clipboard(self) -> None:
        """Offer to paste where there may be something; called when the person may have copied it."""
        clipboard = self.session.devices.clipboard
        can_paste = clipboard is not None and clipboard.has_text()
        if can_paste != self.state.can_paste:
            self._show(replace(self.state, can_paste=can_paste))

    def paste(self) -> None:
        """Put what was copied elsewhere on the pad, as if it were typed; only Enter records it."""
        clipboard = self.session.devices.clipboard
        self._receive(clipboard.text() if clipboard is not None else "")

    def take_text(self, text: str) -> None:
        """Put what a gauge has sent on the pad; its Enter records it where Enter on the pad would.

        What cannot be a value is what a hand scanner read: the tag of the part, or a station's label.
        """
        if not may_be_value(text):
            super().take_text(text)
            return
        is_pad_shown = not self.state.is_choosing_unit
        if self._receive(text) and is_pad_shown:
            self.press("enter")

    def in_hand(self) -> dict[str, str]:
        """Give the value that is being typed, its unit, and which part it was said to belong to."""
        said = {"typed": self.state.pad.text, "part": "" if self._number is None else str(self._number)}
        if self._tags is not None:
            said["tags"] = "yes" if self._tags else "no"
        said = {name: text for name, text in said.items() if text}
        return {**said, "unit": self._unit} if said else {}

    def press(self, key: str) -> None:
        """Press a key of the pad.

        ``enter`` records the value, ``set_aside`` asks why there is none, and ``unit`` shows the
        parallel units to choose from, or the pad again.

        A value that can hardly be true is asked for once more. A value out of tolerance is never
        refused: that is what the walk is looking for.
        """
        if key == "set_aside":
            self.set_aside()
            return
        if key == "unit":
            self._show(replace(self.state, is_choosing_unit=not self.state.is_choosing_unit))
            return
        try:
            check = self.check()
        except InputError as error:
            self.fail(error)
            return
        pad = press(self.state.pad, key)
        if key != "enter" or pad.value is None:
            self._type(check, pad, "")
            return
        question = tr(
            "{pad} {unit} is hardly possible here. Press Enter again to keep it.",
            pad=pad.shown,
            unit=check.unit,
        )
        if not check.is_plausible(pad.value) and self.state.ask_again != question:
            self._show(replace(self.state, ask_again=question))
            return
        self._take(check, pad.value)

    def choose_unit(self, name: str) -> None:
        """Say which parallel unit the next values belong to; the pad comes back."""
        super().choose_unit(name)
        self._show(replace(self.state, is_choosing_unit=False))

    def switch_tags(self) -> None:
        """Tag the next parts, or stop doing so."""
        if self.state.tag.is_held:
            self.let_go()
        else:
            self._retag(not self.state.tag.tag, None)

    def step_tag(self, by: int) -> None:
        """Say that another part than the next one is measured; the count goes on from there."""
        if self.state.tag.tag and not self.state.tag.is_held:
            number = tag_number(self.state.tag.tag) or 1
            self._retag(True, min(max(number + by, 1), MOST_TAGS))

    def _tag(self, check: Check, walk: WalkFacts) -> TagChoice:
        if len(walk.stream.measured_at(check.measures)) < 2:
            return TagChoice()
        held = held_at(self.session, self.route).seen.part
        tag = held or tag_of(walk, check, self._tags, self._number)
        return TagChoice(is_offered=True, tag=tag, is_held=bool(held))

    def _show_held(self, route: Route) -> None:
        super()._show_held(route)
        if self._sight is not None:
            self._show(replace(self.state, tag=self._tag(self.check(), self._sight.walk)))

    def _retag(self, tags: bool, number: int | None) -> None:
        try:
            check = self.check()
        except InputError as error:
            self.fail(error)
            return
        if self._sight is not None:
            self._tags, self._number = tags, number
            tag = replace(self.state.tag, tag=tag_of(self._sight.walk, check, tags, number))
            self._show(replace(self.state, tag=tag))

    def _receive(self, text: str) -> bool:
        """Put a text on the pad; say whether it is there as if it had been typed."""
        try:
            check = self.check()
            received = receive(self.state.pad, text, check.unit, limits_of(check))
        except InputError as error:
            self._show(replace(self.state, received=str(error), is_refused=True, is_choosing_unit=False))
            return False
        self._type(check, received.pad, received.words)
        return received.is_as_typed

    def _type(self, check: Check, pad: PadState, received: str) -> None:
        state = with_frame(self.state, replace(self.state.frame, problem=""))
        tolerance = tolerance_of(check, pad.text)
        self._show(
            replace(
                state,
                pad=pad,
                tolerance=tolerance,
                ask_again="",
                received=received,
                is_refused=False,
                is_choosing_unit=False,
            )
        )

    def _take(self, check: Check, value: Decimal) -> None:
        # The pad is free at once: a second Enter finds nothing, and what is typed next is not lost.
        self._taking = self.state
        self._type(check, PadState(), "")
        station, unit, text = self.route.station, self._unit, format(value, "f")
        tags, number = self._tags, self._number
        self._number = None

        def entry(walk: WalkFacts) -> object:
            if check.kind == "setting":
                return self._walking.read_setting(walk, station, check, text)
            # Only now: an earlier value may not have been on disk when the key was pressed.
            part = tag_of(walk, check, tags, number)
            seen = held_at(self.session, self.route).seen
            made = self._walking.measure(walk, station, check, text, part=part, unit=unit, seen=seen)
            is_used(self.session, self.route)
            return made

        self._record(entry)

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong; a value that could not be recorded stands on the pad again."""
        taken, self._taking = self._taking, None
        if taken is not None and not self.state.pad.text:
            self._show(replace(self.state, pad=taken.pad, tolerance=taken.tolerance))
        super().fail(error)

    def _with_typed(self, state: MeasureState) -> MeasureState:
        self._taking, now = None, self.state
        state = replace(state, can_paste=now.can_paste)
        if not now.pad.text:
            return state
        typed = {
            name: getattr(now, name) for name in ("pad", "tolerance", "ask_again", "received", "is_refused")
        }
        return replace(state, **typed)

    def _view(self, sight: Sight, frame: FrameState) -> MeasureState:
        check, kept = self.check(), self._take_up()
        if kept:
            self._tags = {"yes": True, "no": False}.get(kept.get("tags", ""))
            self._number = tag_number(f"P{kept.get('part', '')}")
        pad = pad_of(kept.get("typed", ""))
        taken = [
            f"{r.part} {decimal_text(r.value)}".lstrip()
            if isinstance(r, Measurement)
            else decimal_text(r.actual)
            for r in sight.walk.at_station(self.route.station)
            if isinstance(r, Measurement | Setting) and r.check == check.id
        ]
        return MeasureState(
            frame=frame,
            head=self._head(check, sight),
            tag=self._tag(check, sight.walk),
            pad=pad,
            tolerance=tolerance_of(check, pad.text),
            ask_again=typed_before(pad.text) if pad.text else "",
            values="  ".join(reversed(taken[-12:])),
            unit_of_measure=check.unit,
        )


MOST_TAGS = 99
"""Highest number of a tag."""


def tag_of(walk: WalkFacts, check: Check, tags: bool | None, number: int | None) -> str:
    """Give the tag of the next part.

    Parameters
    ----------
    walk
        The walk as it stands.
    check
        The measurement.
    tags
        Whether parts are tagged; none for what this walk did last: at this check or, before its first
        value, at other stations that measure the same. Nobody's parts are tagged unasked: parts that were
        only thought to be the same ones would be compared part by part.
    number
        Number of the part; none for the next one after the last tagged here that has no value here yet.

    Returns
    -------
    str
        ``P1``, ``P2`` ...; empty for no tag, or where the characteristic is measured at one station only.
    """
    stations = {station.id for station in walk.stream.measured_at(check.measures)}
    if len(stations) < 2:
        return ""
    same = [
        r
        for r in walk.current
        if isinstance(r, Measurement)
        and (station := walk.stream.station(r.station)) is not None
        and (measured := station.check(r.check)) is not None
        and measured.measures == check.measures
    ]
    here = [r for r in same if r.station == check.station]
    if tags is None:
        tags = bool((here or same) and (here or same)[-1].part)
    if not tags:
        return ""
    used = [found for r in here if (found := tag_number(r.part)) is not None]
    after = range(used[-1] + 1 if used else 1, MOST_TAGS)
    return f"P{number or next((free for free in after if free not in used), MOST_TAGS)}"


def tag_number(tag: str) -> int | None:
    """Give the number of a tag that this page has given; none for any other.

    Examples
    --------
    >>> tag_number("P12"), tag_number("ear 7")
    (12, None)
    """
    return int(tag[1:]) if re.fullmatch(r"P[0-9]{1,2}", tag) else None


def limits_of(check: Check) -> tuple[Decimal | None, ...]:
    """Give everything that a value of the check is compared with; none where there is none."""
    return check.lsl, check.usl, check.plausible_low, check.plausible_high


_VALUE = re.compile(r"[+\-\N{MINUS SIGN}]?\s?[0-9.,]+(?:[eE][+-]?[0-9]{1,2})?[^0-9]*|.*[;\t].*", re.DOTALL)


def may_be_value(text: str) -> bool:
    """Say whether a text that was sent may be a value: a number with what stands behind it, or fields.

    A tag of digits alone may be one too, so that it is never taken for a tag here: the page for scanning
    takes it.

    Examples
    --------
    >>> may_be_value("+0012.340 mm"), may_be_value("4711"), may_be_value("EAR-0042"), may_be_value("24-07A")
    (True, True, False, False)
    """
    return _VALUE.fullmatch(text.strip("\r\n\t \x00\x02\x03\x04")) is not None


def tolerance_of(check: Check, text: str) -> ToleranceView:
    """Set what is typed against the limits of the check."""
    return tolerance_view(text, check.lsl, check.usl, check.nominal, check.unit)
