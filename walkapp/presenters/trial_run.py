"""The page on which one run of a reproduction trial is entered or corrected."""

from __future__ import annotations

from dataclasses import dataclass, replace

from walkapp.actions.trial_work import record_run
from walkapp.actions.trials import TrialFacts, run_text, trial_facts
from walkapp.analysis.wording import counts_text
from walkapp.errors import InputError, WalkappError
from walkapp.language import msg, tr, tr_each
from walkapp.presenters.counting import typing_problem
from walkapp.presenters.form import as_options
from walkapp.presenters.observe import Observed
from walkapp.presenters.pad import PadState, pad_of, press, receive
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.visible import visible

REASONS = (msg("typed wrong"), msg("counted or measured again"), msg("wrong run"))
"""Why a run is corrected; offered to tap."""

MOST_PARTS = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialRunState:
    """Everything the page shows.

    Parameters
    ----------
    title, subtitle
        Which run, and of which trial.
    settings
        What to set, a line for each factor.
    caution
        That it is not this run's turn; empty when it is.
    corrects
        What is on disk for this run, in words; empty when nothing is.
    reasons
        Why it may be corrected; none when nothing is on disk.
    why
        The chosen reason; empty for none.
    is_counted
        Whether parts are counted; otherwise a value is measured.
    checked, nok
        The counts so far, not on disk yet.
    pad
        What was typed so far; for counts none while the pad is closed.
    pad_for
        ``checked`` or ``nok`` while the pad is open for a count; empty otherwise.
    received
        What a gauge sent and what it became, where that is to be looked at first.
    unit
        Unit of the measured value.
    do
        Words of the button that records a count; empty for a measured value.
    problem
        What went wrong; empty when nothing did.
    """

    title: str = ""
    subtitle: str = ""
    settings: tuple[str, ...] = ()
    caution: str = ""
    corrects: str = ""
    reasons: tuple[tuple[str, str], ...] = ()
    why: str = ""
    is_counted: bool = True
    checked: int = 0
    nok: int = 0
    pad: PadState | None = None
    pad_for: str = ""
    received: str = ""
    unit: str = ""
    do: str = ""
    problem: str = ""


class TrialRunPage(Observed[TrialRunState]):
    """Presents one run of a trial.

    What is entered is kept as a draft at every tap; one tap on the button at the foot puts it on disk as
    the run's record.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The concern, the trial (``entry``) and the number of the run (``run``).
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(TrialRunState())
        self.session = session
        self.route = route
        self._is_recording = False

    def open(self) -> None:
        """Show the run, with what was entered before."""

        def run() -> TrialRunState:
            return run_state(self._read(), self._number(), self.session.kept.draft(self._draft_name))

        self.session.run_later(run, self._show, self.fail)

    def step(self, which: str, by: int) -> None:
        """Add or take away one part of ``checked`` or ``nok``.

        One more NOK part than were checked means one more checked part.
        """
        checked, nok = self.state.checked, self.state.nok
        if which == "nok":
            nok = max(nok + by, 0)
            checked = max(checked, nok)
        else:
            checked = max(checked + by, nok, 1)
        self._count(min(checked, MOST_PARTS), min(nok, MOST_PARTS))

    def open_pad(self, which: str) -> None:
        """Type ``checked`` or ``nok`` instead."""
        self._show(replace(self.state, pad=PadState(is_whole=True), pad_for=which, problem=""))

    def press(self, key: str) -> None:
        """Press a key of the pad; ``enter`` takes the count over, or records the measured value.

        With nothing typed it closes the pad of a count, as ``close`` does whatever was typed.
        """
        if self.state.pad is None:
            return
        if key == "close":
            self._close_pad()
            return
        pad = press(self.state.pad, key)
        if not self.state.is_counted:
            self._type(pad, "" if key != "enter" else self.state.received)
            if key == "enter":
                self.record()
            return
        if key != "enter":
            self._show(replace(self.state, pad=pad))
            self._keep_draft()
        elif pad.value is None:
            self._close_pad()
        else:
            self._take(int(pad.value))

    def _close_pad(self) -> None:
        self._show(replace(self.state, pad=None, pad_for="", problem=""))
        self._keep_draft()

    def take_text(self, text: str) -> None:
        """Put what a gauge has sent on the pad; its Enter records it where Enter on the pad would."""
        if self.state.is_counted or self.state.pad is None:
            return
        try:
            received = receive(self.state.pad, text, self.state.unit)
        except InputError as error:
            self.fail(error)
            return
        self._type(received.pad, received.words)
        if received.is_as_typed:
            self.record()

    def _type(self, pad: PadState, received: str) -> None:
        self._show(replace(self.state, pad=pad, received=received, problem=""))
        self._keep_draft()

    def choose_why(self, why: str) -> None:
        """Say why the run is corrected."""
        self._show(replace(self.state, why=why, problem=""))
        self._keep_draft()

    def record(self) -> None:
        """Put the run on disk and go back to the trial."""
        state = self.state
        if self._is_recording:
            return
        if not state.is_counted and (state.pad is None or state.pad.value is None):
            self._show(replace(state, problem=tr("Type the measured value first.")))
            return
        if state.reasons and not state.why:
            self._show(replace(state, problem=tr("This run is on disk already: tap why it is corrected.")))
            return

        def run() -> Route:
            typed = state.pad.value if state.pad else None
            record_run(
                self.session.place,
                self._read(),
                self._number(),
                checked=state.checked if state.is_counted else None,
                nok=state.nok if state.is_counted else None,
                value="" if state.is_counted or typed is None else format(typed, "f"),
                why=state.why,
            )
            self.session.kept.drop_draft(self._draft_name)
            return self.route.up()

        def done(route: Route) -> None:
            self._is_recording = False
            self.session.go(route)

        self._is_recording = True
        self.session.run_later(run, done, self.fail)

    def back(self) -> None:
        """Go back to the trial; what was entered stays."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._is_recording = False
        self._show(replace(self.state, problem=str(error)))

    def _take(self, typed: int) -> None:
        which, checked, nok = self.state.pad_for, self.state.checked, self.state.nok
        problem = typing_problem(checked, nok, which, typed)
        if not problem and which == "checked" and not typed:
            problem = tr("A run has at least 1 part; type how many.")
        elif not problem and typed > MOST_PARTS:
            problem = tr("A run has at most {most_parts} parts; type fewer.", most_parts=MOST_PARTS)
        if problem:
            self._show(replace(self.state, pad=PadState(is_whole=True), problem=problem))
            return
        self._show(replace(self.state, pad=None, pad_for="", problem=""))
        self._count(*((typed, nok) if which == "checked" else (checked, typed)))

    def _count(self, checked: int, nok: int) -> None:
        self._show(_with_button(replace(self.state, checked=checked, nok=nok, problem="")))
        self._keep_draft()

    def _keep_draft(self) -> None:
        state = self.state
        values = {"why": state.why}
        if state.is_counted:
            values |= {"checked": str(state.checked), "nok": str(state.nok)}
            if state.pad is not None:
                values |= {"typed": state.pad.text, "for": state.pad_for}
        elif state.pad is not None:
            values["value"] = state.pad.text
        self.session.run_later(
            lambda: self.session.kept.keep_draft(self._draft_name, values), lambda _: None, self.fail
        )

    def _number(self) -> int:
        run = self.route.number
        if not (run.isascii() and run.isdigit() and len(run) < 5):
            raise InputError(tr("This run is not planned; go back to the trial and choose one."))
        return int(run)

    def _read(self) -> TrialFacts:
        return trial_facts(self.session.place, self.route.concern, self.route.entry)

    @property
    def _draft_name(self) -> str:
        return " ".join(self.route.to_place().values())


def run_state(now: TrialFacts, number: int, draft: dict[str, str]) -> TrialRunState:
    """Put a run into words.

    Raises
    ------
    InputError
        If it is not planned.
    """
    if not 1 <= number <= len(now.planned):
        raise InputError(now.trouble or tr("This run is not planned; go back to the trial and choose one."))
    run, earlier = now.planned[number - 1], now.recorded(number)
    is_counted = now.trial.response == "nok"
    checked, nok = now.trial.parts or 1, 0
    if earlier is not None and earlier.checked is not None and earlier.nok is not None:
        checked, nok = earlier.checked, earlier.nok
    if draft.get("checked", "").isdigit() and draft.get("nok", "").isdigit():
        checked, nok = int(draft["checked"]), int(draft["nok"])
    typed, which = pad_of(draft.get("typed", ""), is_whole=True), draft.get("for", "")
    is_typing = is_counted and bool(typed.text) and which in ("checked", "nok")
    due = now.next_run
    caution = ""
    if due is not None and number != due.number and number in now.missing:
        caution = tr(
            "Run {number} comes next in the random order. Enter run {number2} only if it was "
            "made already: runs out of order prove less.",
            number=due.number,
            number2=number,
        )
    return _with_button(
        TrialRunState(
            title=tr("Run {number} of {planned} at the centre", number=number, planned=len(now.planned))
            if run.is_centre
            else tr("Run {number} of {planned}", number=number, planned=len(now.planned)),
            subtitle=now.trial.what,
            settings=tuple(
                f"{factor.name}: {factor.level(level)}"
                for factor, level in zip(now.names.factors, run.levels, strict=True)
            ),
            caution=caution,
            corrects=tr("On disk: {run}. Why is it corrected?", run=run_text(now, earlier))
            if earlier
            else "",
            reasons=as_options(tr_each(REASONS)) if earlier else (),
            why=draft.get("why", "") if earlier else "",
            is_counted=is_counted,
            checked=checked,
            nok=nok,
            pad=(typed if is_typing else None) if is_counted else pad_of(draft.get("value", "")),
            pad_for=which if is_typing else "",
            unit=visible(now.trial.unit_of_measure),
        )
    )


def _with_button(state: TrialRunState) -> TrialRunState:
    """Say on the button what it records; a measured value has the pad's own key."""
    counts = counts_text(state.nok, state.checked)
    do = tr("Record {counts}", counts=counts) if state.is_counted else ""
    return replace(state, do=do)
