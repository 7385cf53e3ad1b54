"""The page on which a value is taken: a measurement or a process setting."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from decimal import Decimal

from walkapp.actions.reading import WalkFacts
from walkapp.errors import InputError, WalkappError
from walkapp.language import decimal_text, tr
from walkapp.model.checklist import Check
from walkapp.model.records import Measurement, Setting
from walkapp.presenters.checks import CheckHead, CheckPage
from walkapp.presenters.frame import FrameState, Sight, with_frame
from walkapp.presenters.held import held_at, is_used
from walkapp.presenters.pad import (
    PadState,
    ToleranceView,
    pad_of,
    press,
    receive,
    tolerance_view,
    typed_before,
)  # fmt: skip
from walkapp.presenters.part_tags import MOST_TAGS, TagChoice, tag_number, tag_of
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session


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
