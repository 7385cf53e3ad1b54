"""The reproduction trials of a concern, and the runs of one in their random order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.trial_work import newest_run, take_back_record, undo_run
from walkapp.actions.trials import TrialFacts, run_text, trial_facts, trials_of
from walkapp.actions.workplace import Workplace
from walkapp.analysis.factorial_plan import PlannedRun
from walkapp.language import day_said, msg, tr, tr_each, trn
from walkapp.model.records import Record, Trial, TrialRun
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.rows import ListRow
from walkapp.presenters.wording import moment_text, parts_in_words

TRIAL_CAUTIONS = (
    msg("Running equipment, hot parts: only qualified people change settings; site rules come first."),
    msg("Mark every trial part, keep it apart and scrap it: none may get to a customer."),
)

RELEASED_CAUTION = msg(
    "Safety-related or released settings: the responsible people and the customer's requirements decide."
)

NO_TRIALS = msg(
    "No trial yet. A trial sets the suspected factors low and high on purpose, in a random "
    "order, and shows which of them makes the defect."
)

MOST_ROWS = 40
"""Runs shown of those still to do, and of those done; more would only be scrolled past."""


class TrialsPage(BoardPage):
    """Presents the trials of a concern."""

    kinds = (Trial,)

    def press(self, button: str) -> None:
        """Open the form for a new trial."""
        self.session.go(replace(self.route, screen=button, entry=""))

    def row(self, section: str, row: str) -> None:
        """Open a trial."""
        self.session.go(replace(self.route, screen="trial", entry=row))

    def _view(self) -> BoardState:
        facts = concern_facts(self.session.place, self.route.concern)
        trials = trials_of(facts)
        return BoardState(
            title=tr("Reproduction trials"),
            subtitle=facts.concern.what,
            sentence="" if trials else tr(NO_TRIALS),
            sections=(Section(name="trials", rows=tuple(trial_row(t) for t in reversed(trials))),),
            buttons=(BoardButton(name="new_trial", text=tr("New trial"), tone="strong"),),
        )

    def _look(self) -> BoardState:
        state = super()._look()
        trials = trials_of(concern_facts(self.session.place, self.route.concern))
        # Whoever would take a trial back takes its runs back first, so that no tap loses them all.
        own = [t for t in trials if t.trial.device == self.session.place.store.device]
        return state if own and not own[-1].held else replace(state, undo="")

    def _in_short(self, entry: Record) -> str:
        return tr("the new trial")


class TrialPage(BoardPage):
    """Presents one trial: what to set for the next run, and the runs in their order."""

    def press(self, button: str) -> None:
        """Enter the next run, or show what the trial shows."""
        if button != "enter":
            self.session.go(replace(self.route, screen=button))
            return

        def next_run() -> str:
            found = self._read().next_run
            return str(found.number) if found else ""

        self.session.run_later(next_run, lambda run: self._to_run(run) if run else self.open(), self.fail)

    def row(self, section: str, row: str) -> None:
        """Enter or correct a run; take back one of two records of the same run."""
        if section == "twice":
            self.act(lambda: take_back_record(self.session.place, self._read(), row), tr("Taken back"))
        else:
            self._to_run(row)

    def undo(self) -> None:
        """Take back the newest entry about this trial's runs that this tablet made."""
        self.act(lambda: undo_run(self.session.place, self._read()), tr("Taken back"))

    def _to_run(self, run: str) -> None:
        self.session.go(replace(self.route, screen="trial_run", number=run))

    def _read(self) -> TrialFacts:
        return trial_facts(self.session.place, self.route.concern, self.route.entry)

    def _view(self) -> BoardState:
        now = self._read()
        return trial_state(now, newest_run(self.session.place, now))


def trials_row(_: Workplace, facts: ConcernFacts) -> ListRow:
    """Lead from the concern to its trials."""
    trials = trials_of(facts)
    if not trials:
        said = tr("None yet: make the defect on purpose to prove its cause.")
    else:
        said = trn(
            "{count} trial, the newest: {sentence}",
            "{count} trials, the newest: {sentence}",
            len(trials),
            sentence=trials[-1].sentence,
        )
    mark = trial_mark(trials[-1]) if trials else "not_visited"
    return ListRow(id="trials", title=tr("Reproduction trials"), subtitle=said, mark=mark)


def trial_row(now: TrialFacts) -> ListRow:
    """Put a trial into two lines."""
    when = day_said(now.trial.at[:10])
    if now.trial.invented:
        when = tr("{what}, invented for the demo", what=when)
    return ListRow(
        id=now.trial.id,
        title=now.trial.what,
        subtitle=f"{when}: {now.sentence}",
        mark=trial_mark(now),
    )


def trial_mark(now: TrialFacts) -> str:
    """Give the shape of how a trial stands: a cross when the defect was made on purpose."""
    if now.makes_a_difference:
        return "bad"
    return "undecided" if now.held or now.trouble else "not_visited"


def size_text(now: TrialFacts) -> str:
    """Say how large a trial is."""
    trial = now.trial
    if trial.parts is not None:
        each = tr("{parts} each", parts=parts_in_words(trial.parts))
    else:
        each = tr("{measured} measured in each", measured=trial.measured)
    runs = trn("{count} run", "{count} runs", len(now.planned))
    half = tr("half of the combinations") if trial.fraction == "half" else ""
    return ", ".join(filter(None, (runs, each, half)))


def trial_state(now: TrialFacts, undoable: Record | None = None) -> BoardState:
    """Put a trial into words."""
    next_run, is_open = now.next_run, not now.trouble
    todo = [now.planned[number - 1] for number in now.missing]
    sentence = now.sentence
    lines: tuple[str, ...] = now.remarks
    if next_run is not None:
        # A run recorded twice has to be seen first, but does not stop the others.
        lines = (now.sentence, *now.remarks)
        sentence = tr(
            "Run {number} of {planned} is next. Set {setting}.",
            number=next_run.number,
            planned=len(now.planned),
            setting=setting_text(now, next_run),
        )
    buttons = []
    if next_run is not None:
        buttons.append(
            BoardButton(name="enter", text=tr("Enter run {number}", number=next_run.number), tone="strong")
        )
    buttons.append(
        BoardButton(
            name="trial_result",
            text=tr("What it shows"),
            tone="plain" if next_run is not None else "strong",
            is_off=now.result is None,
        )
    )
    return BoardState(
        title=now.trial.what,
        subtitle=tr(
            "{size}, opened by {by}, {at}",
            size=size_text(now),
            by=now.trial.by,
            at=moment_text(now.trial.at),
        ),
        cautions=tr_each(TRIAL_CAUTIONS) if is_open and todo else (),
        mark="" if next_run is not None else trial_mark(now),
        sentence=sentence,
        lines=lines,
        sections=tuple(_sections(now, todo)) if is_open else (),
        buttons=tuple(buttons),
        can_undo=True,
        undo=undo_text(undoable),
    )


def setting_text(now: TrialFacts, run: PlannedRun) -> str:
    """Say what to set for a run."""
    return now.names.setting(run.levels)


def _sections(now: TrialFacts, todo: Sequence[PlannedRun]) -> list[Section]:
    sections = []
    if now.doubled:
        rows = tuple(
            ListRow(
                id=record.id,
                title=tr("Run {number}: {run}", number=number, run=run_text(now, record)),
                subtitle=tr(
                    "By {by}, {at}. Tap to take this one back.", by=record.by, at=moment_text(record.at)
                ),
                mark="undecided",
            )
            for number in now.doubled
            for record in now.records[number]
        )
        sections.append(
            Section(name="twice", title=tr("Recorded twice: take one back"), rows=rows[:MOST_ROWS])
        )
    if todo:
        rows = tuple(
            ListRow(
                id=str(run.number),
                title=tr("Run {number}", number=run.number),
                subtitle=setting_text(now, run),
            )
            for run in todo[:MOST_ROWS]
        )
        sections.append(Section(name="todo", title=tr("Still to do, in this random order"), rows=rows))
    done = [(number, record) for number in now.records if (record := now.recorded(number)) is not None]
    if done:
        rows = tuple(
            ListRow(
                id=str(number),
                title=tr("Run {number}: {run}", number=number, run=run_text(now, record)),
                subtitle=setting_text(now, now.planned[number - 1]),
            )
            for number, record in reversed(done[-MOST_ROWS:])
        )
        sections.append(Section(name="done", title=tr("Done: tap to correct"), rows=rows))
    return sections


def undo_text(entry: Record | None) -> str:
    """Say in two or three words what "undo" would take back; empty for nothing."""
    if entry is None:
        return ""
    return tr("run {run}", run=entry.run) if isinstance(entry, TrialRun) else tr("a run taken back")
