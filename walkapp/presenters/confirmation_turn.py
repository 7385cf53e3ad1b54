"""One turn of an on/off confirmation while it runs: parts counted, or values typed one after another."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal

from walkapp.actions.confirmations import ConfirmationFacts, confirmation_called, entry_text
from walkapp.actions.reading import concern_facts
from walkapp.actions.switching import (
    count_turn,
    measure_turn,
    newest_turn_entry,
    take_back_turn_entry,
)
from walkapp.analysis.on_off import ON
from walkapp.analysis.on_off_words import STATE_WORDS
from walkapp.errors import InputError, WalkappError
from walkapp.language import tr, trn
from walkapp.model.records import ConfirmationTurn, Record
from walkapp.presenters.confirmation import STATE_SHAPES, in_short
from walkapp.presenters.counting import stepped, typed, typing_problem
from walkapp.presenters.observe import Observed
from walkapp.presenters.pad import PadState, pad_of, press, receive, typed_before
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session

MOST_SHOWN = 12
"""How many of the newest values are shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnState:
    """Everything the page of a turn shows.

    Parameters
    ----------
    what
        What is switched.
    title, shape
        Which turn, and on or off.
    level
        What on or off means here.
    ask
        What has to be made sure before parts are judged.
    how
        What is counted or measured.
    is_counted
        Whether NOK parts are counted; otherwise values are typed.
    checked, nok
        The counts on disk.
    values
        The newest values on disk, newest first, in words.
    many
        How many values are on disk, in words.
    unit
        Unit of the values.
    pad
        What was typed so far; none while the pad of a count is closed.
    pad_for
        ``checked`` or ``nok`` while the pad of a count is open; empty otherwise.
    received
        What a gauge sent and what it became, where that is to be looked at first.
    undo, saved, problem
        What "undo" would take back, what was just put on disk, what went wrong.
    """

    what: str = ""
    title: str = ""
    shape: str = ""
    level: str = ""
    ask: str = ""
    how: str = ""
    is_counted: bool = True
    checked: int = 0
    nok: int = 0
    values: str = ""
    many: str = ""
    unit: str = ""
    pad: PadState | None = None
    pad_for: str = ""
    received: str = ""
    undo: str = ""
    saved: str = ""
    problem: str = ""


class TurnPage(Observed[TurnState]):
    """Presents one turn.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The concern, the confirmation as ``entry``, and the ``turn``.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(TurnState())
        self.session = session
        self.route = route
        self._taking: PadState | None = None
        self._is_taken_up = False

    def open(self) -> None:
        """Read the records and show the turn."""
        self._later(lambda _: None)

    def in_hand(self) -> dict[str, str]:
        """Give the number that is being typed."""
        pad = self.state.pad
        return {"typed": pad.text, "for": self.state.pad_for} if pad is not None and pad.text else {}

    def step(self, which: str, by: int) -> None:
        """Add or take away one part of ``checked`` or ``nok``; each step is on disk at once."""
        self._count(lambda checked, nok: stepped(checked, nok, which, by))

    def open_pad(self, which: str) -> None:
        """Type ``checked`` or ``nok`` instead."""
        self._show(replace(self.state, pad=PadState(is_whole=True), pad_for=which))

    def press(self, key: str) -> None:
        """Press a key of the pad; ``enter`` records the number, ``close`` puts the pad away."""
        state = self.state
        if state.pad is None:
            return
        if key == "close":
            self._show(replace(state, pad=None, pad_for=""))
            return
        pad = press(state.pad, key)
        if key != "enter" or pad.value is None:
            self._show(replace(state, pad=pad, problem="", received=""))
            return
        if not state.is_counted:
            self._take(pad)
            return
        number, which = int(pad.value), state.pad_for
        if problem := typing_problem(state.checked, state.nok, which, number):
            self._show(replace(state, pad=PadState(is_whole=True), problem=problem))
            return
        self._count(lambda checked, nok: typed(checked, nok, which, number))

    def take_text(self, text: str) -> None:
        """Put what a gauge has sent on the pad; its Enter records it where Enter on the pad would."""
        if self.state.is_counted or self.state.pad is None:
            return
        try:
            received = receive(self.state.pad, text, self.state.unit)
        except InputError as error:
            self.fail(error)
            return
        self._show(replace(self.state, pad=received.pad, problem="", received=received.words))
        if received.is_as_typed:
            self.press("enter")

    def _take(self, pad: PadState) -> None:
        # The pad is free at once: a second Enter finds nothing, and what is typed next is not lost.
        self._taking = pad
        value = format(pad.value or Decimal(0), "f")
        self._show(replace(self.state, pad=PadState(), problem="", received=""))
        self._later(lambda found: measure_turn(self.session.place, found, self._number, value))

    def done(self) -> None:
        """Leave the turn: it is time to switch over."""

        def run() -> Route:
            if self._find().turn(self._number) is None:
                raise InputError(tr("Record first what came out of this turn; then switch over."))
            return self.route.up()

        self.session.run_later(run, self.session.go, self.fail)

    def undo(self) -> None:
        """Take back the newest entry of this tablet in this confirmation."""
        self._later(lambda found: take_back_turn_entry(self.session.place, found), tr("Taken back"))

    def back(self) -> None:
        """Go back to the confirmation; every entry is on disk."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong; a value that could not be recorded stands on the pad again."""
        state = replace(self.state, problem=str(error), saved="")
        if self._taking is not None and state.pad is not None and not state.pad.text:
            state = replace(state, pad=self._taking)
        self._taking = None
        self._show(state)

    def _show_read(self, state: TurnState) -> None:
        """Show what was read from disk, with what was typed meanwhile."""
        self._taking = None
        if not state.is_counted and self.state.pad is not None and self.state.pad.text:
            state = replace(state, pad=self.state.pad, received=self.state.received)
        self._show(state)

    @property
    def _number(self) -> int:
        if not (self.route.number.isascii() and self.route.number.isdigit()):
            raise InputError(tr("This page has lost its turn; go back and start the turn once more."))
        return int(self.route.number)

    def _find(self) -> ConfirmationFacts:
        return confirmation_called(concern_facts(self.session.place, self.route.concern), self.route.entry)

    def _take_up(self, state: TurnState) -> TurnState:
        """Put on the pad what was being typed when the page was left, the first time that it is read."""
        if self._is_taken_up:
            return state
        self._is_taken_up = True
        kept = self.session.kept.in_hand(self.route)
        pad, which = pad_of(kept.get("typed", ""), is_whole=state.is_counted), kept.get("for", "")
        if not pad.text or (which in ("checked", "nok")) != state.is_counted:
            return state
        return replace(state, pad=pad, pad_for=which, problem=state.problem or typed_before(pad.text))

    def _count(self, change: Callable[[int, int], tuple[int, int]]) -> None:
        def work(found: ConfirmationFacts) -> Record | None:
            turn = found.turn(self._number)
            count = turn.count if turn is not None else None
            before = (count.checked or 0, count.nok or 0) if count is not None else (0, 0)
            after = change(*before)
            return None if after == before else count_turn(self.session.place, found, self._number, *after)

        self._later(work)

    def _later(self, work: Callable[[ConfirmationFacts], Record | None], saved: str = "") -> None:
        def run() -> TurnState:
            made = work(self._find())
            found = self._find()
            newest = newest_turn_entry(self.session.place, found)
            words = saved
            if not words and isinstance(made, ConfirmationTurn):
                words = tr("On disk: {entry}", entry=entry_text(made))
            state = replace(turn_state(found, self._number), undo=in_short(newest), saved=words)
            return self._take_up(state)

        self.session.run_later(run, self._show_read, self.fail)


def turn_state(found: ConfirmationFacts, number: int) -> TurnState:
    """Put a turn into words.

    Raises
    ------
    InputError
        If the turn is neither on record nor the next one.
    """
    record, turn, state = found.record, found.turn(number), found.state_of(number)
    is_on = state == ON
    level = record.on if is_on else record.off
    count = turn.count if turn is not None else None
    values = turn.values if turn is not None else ()
    is_counted = record.response == "nok"
    many = (
        trn("{count} value so far", "{count} values so far", len(values)) if values else tr("No value yet")
    )
    problem = (
        tr(
            "Turn {number} {problem}; go back and say first what holds.",
            number=number,
            problem=turn.problem,
        )
        if turn
        else ""
    )
    return TurnState(
        what=record.what,
        title=tr("Turn {number}: {state_words}", number=number, state_words=tr(STATE_WORDS[state])),
        shape=STATE_SHAPES[is_on],
        level=level,
        ask=tr("Is it really switched, and settled? Mark these parts, so that none gets to a customer."),
        how=tr("Every part of this turn that is judged, OK or NOK.") if is_counted else record.measured,
        is_counted=is_counted,
        checked=(count.checked or 0) if count is not None else 0,
        nok=(count.nok or 0) if count is not None else 0,
        values="  ".join(reversed(values[-MOST_SHOWN:])),
        many="" if is_counted else many,
        unit=record.unit_of_measure,
        pad=None if is_counted else PadState(),
        problem=problem if turn is not None and turn.problem else "",
    )
