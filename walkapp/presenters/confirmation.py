"""One on/off confirmation: what to do now, the turns so far, and what they prove."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from walkapp.actions.confirmations import ConfirmationFacts, TurnFacts, confirmation_called, entry_text
from walkapp.actions.reading import concern_facts
from walkapp.actions.switching import newest_turn_entry, take_back_turn_entry
from walkapp.analysis.on_off import ON
from walkapp.analysis.on_off_words import STATE_WORDS, on_off_notes
from walkapp.analysis.wording import rounded
from walkapp.errors import WalkappError
from walkapp.language import decimal_text, tr, tr_each, trn
from walkapp.model.records import ConfirmationTurn, Record
from walkapp.presenters.confirmations import PROOF_MARKS, SWITCH_CAUTIONS
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.wording import counts_text, percent

STATE_SHAPES = {True: "chosen", False: "open"}
"""A filled square for on, an empty one for off."""

MARGIN_SHARE = 0.08
"""Part of the range of values that is left free above and below: a drawing choice."""

SCALE_TOPS = (Fraction(1, 10), Fraction(1, 5), Fraction(1, 2), Fraction(1))
"""Where the scale of the shares may end: the first one that holds them all."""

MOST_POINTS = 60
"""More values of one turn are not drawn: they would lie on each other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnBar:
    """One turn in the drawing; heights are from 0 (bottom) to 1 (top).

    Parameters
    ----------
    name
        Its number.
    shape, word
        Whether it was on or off.
    is_on
        The same.
    is_counted
        Whether NOK parts were counted: then a bar is drawn, otherwise the values.
    height
        Where the share NOK, or the mean, lies on the scale; none for a turn that does not count.
    points
        Where the values lie.
    figure
        NOK of checked, or the mean, in words.
    share
        The share NOK in words; empty for values.
    """

    name: str
    shape: str
    word: str
    is_on: bool
    is_counted: bool
    height: float | None = None
    points: tuple[float, ...] = ()
    figure: str = ""
    share: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmationState:
    """Everything the page shows.

    Parameters
    ----------
    title, subtitle
        What is switched, and the concern.
    cautions
        What has to be minded while switching.
    now, now_shape, now_words
        Which turn comes next, on or off as a shape, and what that means; empty when there is none.
    mark, sentence
        What the turns prove.
    bars, scale
        The drawing, and what it shows.
    warnings
        What does not count, and why.
    lines
        The figures behind the sentence.
    turns
        The turns; a tap leads to correcting one, or to saying which entry holds.
    notes
        What is taken for granted.
    go_on
        Words of the button that goes on with the newest turn; empty for none.
    start, start_tone
        Words of the button that starts the next turn, empty for none; and its tone.
    undo, saved, problem
        What "undo" would take back, what was just put on disk, what went wrong.
    """

    title: str = ""
    subtitle: str = ""
    cautions: tuple[str, ...] = ()
    now: str = ""
    now_shape: str = ""
    now_words: str = ""
    mark: str = ""
    sentence: str = ""
    bars: tuple[TurnBar, ...] = ()
    scale: str = ""
    warnings: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    turns: tuple[ListRow, ...] = ()
    notes: tuple[str, ...] = ()
    go_on: str = ""
    start: str = ""
    start_tone: str = "strong"
    undo: str = ""
    saved: str = ""
    problem: str = ""


class ConfirmationPage(Observed[ConfirmationState]):
    """Presents one on/off confirmation.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The concern, and the confirmation as ``entry``.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(ConfirmationState())
        self.session = session
        self.route = route

    def open(self) -> None:
        """Read the records and work it out."""
        self._later(lambda _: "")

    def start(self) -> None:
        """Start the next turn."""
        self._go_to_turn(lambda found: found.next_number)

    def go_on(self) -> None:
        """Go on with the newest turn."""
        self._go_to_turn(lambda found: found.turns[-1].number if found.turns else None)

    def turn(self, number: str) -> None:
        """Correct a turn, or say which of its entries holds."""

        def run() -> Route:
            turn = self._find().turn(int(number))
            if turn is not None and turn.in_dispute:
                return Route(screen="disputes", concern=self.route.concern)
            screen = "settle_turn" if turn is not None and turn.problem else "correct_turn"
            return replace(self.route, screen=screen, number=number)

        self.session.run_later(run, self.session.go, self.fail)

    def undo(self) -> None:
        """Take back the newest entry of this tablet in this confirmation."""

        def take_back(found: ConfirmationFacts) -> str:
            take_back_turn_entry(self.session.place, found)
            return tr("Taken back")

        self._later(take_back)

    def back(self) -> None:
        """Go back to the list."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error), saved=""))

    def _go_to_turn(self, number_of: Callable[[ConfirmationFacts], int | None]) -> None:
        def run() -> Route:
            number = number_of(self._find())
            if number is None:
                return self.route
            return replace(self.route, screen="confirmation_turn", number=str(number))

        self.session.run_later(run, self.session.go, self.fail)

    def _find(self) -> ConfirmationFacts:
        return confirmation_called(concern_facts(self.session.place, self.route.concern), self.route.entry)

    def _later(self, work: Callable[[ConfirmationFacts], str]) -> None:
        def run() -> ConfirmationState:
            saved = work(self._find())
            facts = concern_facts(self.session.place, self.route.concern)
            found = confirmation_called(facts, self.route.entry)
            newest = newest_turn_entry(self.session.place, found)
            state = confirmation_state(found, facts.concern.what)
            return replace(state, undo=in_short(newest), saved=saved)

        self.session.run_later(run, self._show, self.fail)


def in_short(entry: Record | None) -> str:
    """Say in a few words what "undo" would take back."""
    if entry is None:
        return ""
    return entry_text(entry) if isinstance(entry, ConfirmationTurn) else tr("an entry taken out")


def confirmation_state(found: ConfirmationFacts, what: str) -> ConfirmationState:
    """Put a confirmation into words and a drawing."""
    record, answer, number = found.record, found.answer, found.next_number
    now, is_now_on = _what_now(found)
    newest = found.turns[-1] if found.turns else None
    return ConfirmationState(
        title=record.what,
        subtitle=tr("{what} (invented for the demo)", what=what) if record.invented else what,
        cautions=tr_each(SWITCH_CAUTIONS),
        now=now,
        now_shape=STATE_SHAPES[is_now_on] if now else "",
        now_words=(record.on if is_now_on else record.off) if now else "",
        mark=PROOF_MARKS[found.verdict] if found.turns else "",
        sentence=found.sentence if found.turns else "",
        bars=turn_bars(found),
        scale=_scale_words(found),
        warnings=found.problems,
        lines=found.lines,
        turns=tuple(_row(found, turn) for turn in found.turns),
        notes=on_off_notes(answer),
        go_on=tr("Go on with turn {number}", number=newest.number) if newest and not newest.problem else "",
        start=tr(
            "Start turn {number}: {state_words}",
            number=number,
            state_words=tr(STATE_WORDS[found.next_state]),
        )
        if number
        else "",
        start_tone="plain" if found.proves else "strong",
    )


def _what_now(found: ConfirmationFacts) -> tuple[str, bool]:
    """Say what to do now, and whether the cause is on then; nothing when no turn is left."""
    if found.proves:
        # More turns on would only make more bad parts.
        return tr("Proved: leave it OFF"), False
    if not found.next_number:
        return "", False
    return tr(
        "Turn {next_number}: {state_words}",
        next_number=found.next_number,
        state_words=tr(STATE_WORDS[found.next_state]),
    ), found.next_state == ON


def _row(found: ConfirmationFacts, turn: TurnFacts) -> ListRow:
    record = found.record
    level = record.on if turn.state == ON else record.off
    if turn.problem:
        return ListRow(
            id=str(turn.number),
            title=tr("Turn {number} does not count", number=turn.number),
            subtitle=tr("It {problem}. Tap to say what holds.", problem=turn.problem),
            mark="undecided",
        )
    return ListRow(
        id=str(turn.number),
        title=tr(
            "Turn {number}: {state_words}, {level}",
            number=turn.number,
            state_words=tr(STATE_WORDS[turn.state]),
            level=level,
        ),
        subtitle=tr("{figure}. Tap to correct.", figure=_figure(found, turn)),
        mark=STATE_SHAPES[turn.state == ON],
    )


def _figure(found: ConfirmationFacts, turn: TurnFacts) -> str:
    if (count := turn.count) is not None:
        return counts_text(count.nok or 0, count.checked or 0)
    many = len(turn.values)
    return trn(
        "{count} value, mean {mean}", "{count} values, mean {mean}", many, mean=_mean_text(found, turn)
    )


def _mean_text(found: ConfirmationFacts, turn: TurnFacts) -> str:
    unit = found.record.unit_of_measure
    mean = rounded(float(turn.turn.level), found.decimals_of_mean)
    return f"{mean} {unit}" if unit else mean


def turn_bars(found: ConfirmationFacts) -> tuple[TurnBar, ...]:
    """Lay the turns out for the drawing."""
    values = [v for turn in found.turns if not turn.problem for v in turn.turn.values]
    low, high = (min(values), max(values)) if values else (0, 1)
    margin = float(high - low) * MARGIN_SHARE or 1.0
    bottom, height = float(low) - margin, float(high - low) + 2 * margin
    bars = []
    for turn in found.turns:
        is_on = turn.state == ON
        bar = TurnBar(
            name=f"{turn.number}",
            shape=STATE_SHAPES[is_on],
            word=tr(STATE_WORDS[turn.state]),
            is_on=is_on,
            is_counted=found.record.response == "nok",
        )
        if turn.problem:
            bar = replace(bar, shape="undecided", word="?", figure=tr("does not count"))
        elif (count := turn.count) is not None:
            share = float(turn.turn.level)
            exact = "0 %" if not count.nok else "100 %" if count.nok == count.checked else percent(share)
            bar = replace(
                bar,
                height=share / float(_top(found)),
                figure=tr("{nok} of {checked}", nok=count.nok, checked=count.checked),
                share=exact,
            )
        else:
            bar = replace(
                bar,
                height=(float(turn.turn.level) - bottom) / height,
                points=tuple((float(v) - bottom) / height for v in turn.turn.values[:MOST_POINTS]),
                figure=_mean_text(found, turn),
            )
        bars.append(bar)
    return tuple(bars)


def _top(found: ConfirmationFacts) -> Fraction:
    """Give the share at which the scale ends."""
    most = max((turn.turn.level for turn in found.turns if turn.count), default=Fraction(1))
    return next(top for top in SCALE_TOPS if top >= most)


def _scale_words(found: ConfirmationFacts) -> str:
    if not found.turns:
        return ""
    if found.record.response == "nok":
        return tr(
            "Share NOK by turn, 0 to {what} %. Filled: on. Empty: off.",
            what=decimal_text(f"{100 * float(_top(found)):.0f}"),
        )
    return tr(
        "{measured} by turn: each value, and the mean as a line. Filled: on. Empty: off.",
        measured=found.record.measured,
    )
