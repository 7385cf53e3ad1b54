"""What a reproduction trial shows: effects on one scale, their probabilities, and how two factors act."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from walkapp.actions.trial_work import newest_run, undo_run
from walkapp.actions.trials import TrialFacts, trial_facts
from walkapp.analysis.factorial import Contrast, TrialResult
from walkapp.analysis.factorial_plan import LETTERS
from walkapp.analysis.factorial_words import (
    both_text,
    chance_text,
    parts_text,
    taken_for_granted,
    verdict,
)
from walkapp.errors import WalkappError
from walkapp.language import tr
from walkapp.presenters.interaction_plot import PlotView, interaction_plot
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.presenters.trials import size_text, trial_mark, undo_text


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectRow:
    """One effect of the trial.

    Parameters
    ----------
    name
        The factor, or the factors together.
    size
        How large it is, with sign and unit.
    chance
        How probable it is by chance, in words.
    mark, word
        Shape and words of the verdict.
    start, end
        The bar on the scale that all rows share, from 0 to 1; no effect is at 0.5.
    """

    name: str
    size: str
    chance: str
    mark: str
    word: str
    start: float
    end: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialResultState:
    """Everything the page shows.

    Parameters
    ----------
    title, subtitle
        The trial.
    mark
        Shape of what it shows.
    sentence
        What it shows.
    remarks
        What else has to be known.
    rows
        The effects, on one scale.
    scale
        The two ends of that scale, in words; empty while there is nothing to draw.
    factors
        The factors to choose from for the plot: letter and name.
    across, lines
        Letters of the two chosen factors.
    plot
        The plot of the two; none with one factor.
    notes
        What the probabilities are, and what cannot be told apart.
    undo
        What "undo" would take back, in words; empty when there is nothing.
    saved
        What was last put on disk.
    problem
        What went wrong; empty when nothing did.
    """

    title: str = ""
    subtitle: str = ""
    mark: str = ""
    sentence: str = ""
    remarks: tuple[str, ...] = ()
    rows: tuple[EffectRow, ...] = ()
    scale: tuple[str, str] = ("", "")
    factors: tuple[tuple[str, str], ...] = ()
    across: str = ""
    lines: str = ""
    plot: PlotView | None = None
    notes: tuple[str, ...] = ()
    undo: str = ""
    saved: str = ""
    problem: str = ""


class TrialResultPage(Observed[TrialResultState]):
    """Presents what a trial shows.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The concern and the trial (``entry``).
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(TrialResultState())
        self.session = session
        self.route = route
        self._now: TrialFacts | None = None

    def open(self) -> None:
        """Work it out."""
        self.session.run_later(self._look, self._show, self.fail)

    def choose(self, role: str, letter: str) -> None:
        """Choose the factor along the axis (``across``) or that of the two lines (``lines``).

        The one that was chosen for the other changes places with it.
        """
        across, lines = self.state.across, self.state.lines
        if role == "across":
            lines = across if letter == lines else lines
            across = letter
        else:
            across = lines if letter == across else across
            lines = letter
        if self._now is not None:
            self._show(_with_plot(self.state, self._now, across, lines))

    def undo(self) -> None:
        """Take back the newest run of this trial that this tablet recorded."""

        def run() -> TrialResultState:
            undo_run(self.session.place, self._read())
            return replace(self._look(), saved=tr("Taken back"))

        self.session.run_later(run, self._show, self.fail)

    def to_runs(self) -> None:
        """Go to the runs, to correct one."""
        self.session.go(self.route.up())

    def back(self) -> None:
        """Go back to the trial."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error), saved=""))

    def _read(self) -> TrialFacts:
        return trial_facts(self.session.place, self.route.concern, self.route.entry)

    def _look(self) -> TrialResultState:
        now = self._now = self._read()
        return replace(result_state(now), undo=undo_text(newest_run(self.session.place, now)))


def result_state(now: TrialFacts) -> TrialResultState:
    """Put into words what a trial shows."""
    result = now.result
    state = TrialResultState(
        title=tr("What the trial shows"),
        subtitle=f"{now.trial.what} ({size_text(now)})",
        mark=trial_mark(now),
        sentence=now.sentence,
        remarks=now.remarks,
    )
    if result is None or now.design is None:
        return state
    named_contrasts = _contrasts(now, result)
    widest = max(abs(contrast.size) for _, contrast in named_contrasts) or Fraction(1)
    across, lines = _first_pair(result)
    state = replace(
        state,
        rows=tuple(_row(now, name, contrast, widest) for name, contrast in named_contrasts),
        scale=_scale(now, widest),
        factors=tuple(zip(LETTERS, (f.name for f in now.names.factors), strict=False)),
        notes=(*taken_for_granted(now.design, now.trial.response == "nok"), *_alias_notes(now)),
    )
    return _with_plot(state, now, across, lines)


def _contrasts(now: TrialFacts, result: TrialResult) -> list[tuple[str, Contrast]]:
    found = [(now.names.term(effect.term), effect.contrast) for effect in result.effects]
    if result.combination is not None:
        both = both_text(result.combination, now.names)
        found.append((tr("{both}, against all others", both=both), result.combination.contrast))
    if result.curvature is not None:
        found.append((tr("Centre against corners"), result.curvature))
    return found


def _row(now: TrialFacts, name: str, contrast: Contrast, widest: Fraction) -> EffectRow:
    end = float((contrast.size / widest + 1) / 2)
    return EffectRow(
        name=name,
        size=now.names.size(contrast),
        chance="; ".join(filter(None, (chance_text(contrast), parts_text(contrast)))),
        mark="bad" if contrast.is_shown else "undecided",
        word=verdict(contrast),
        start=min(0.5, end),
        end=max(0.5, end),
    )


def _scale(now: TrialFacts, widest: Fraction) -> tuple[str, str]:
    if now.trial.response == "nok":
        text = f"{float(widest * 100):.0f}"
        return f"−{text}", tr("+{text} percentage points", text=text)
    return now.names.value(-widest), now.names.value(widest, "+")


def _first_pair(result: TrialResult) -> tuple[str, str]:
    """Choose two factors that the plot starts with: the shown pair, or else the first two."""
    if result.combination is None:
        return "", ""
    pairs = [effect.term.places for effect in result.shown if len(effect.term.places) == 2]
    shown = result.shown_combination
    first, second = shown.places if shown is not None else pairs[0] if pairs else (0, 1)
    return LETTERS[first], LETTERS[second]


def _alias_notes(now: TrialFacts) -> tuple[str, ...]:
    if now.design is None or not now.design.is_half:
        return ()
    legend = ", ".join(
        f"{letter} {factor.name}" for letter, factor in zip(LETTERS, now.names.factors, strict=False)
    )
    return (
        tr(
            "Half of the combinations: {alias_words}. Here {legend}.",
            alias_words="; ".join(now.design.alias_words),
            legend=legend,
        ),
    )


def _with_plot(state: TrialResultState, now: TrialFacts, across: str, lines: str) -> TrialResultState:
    if now.result is None or not across or not lines:
        return replace(state, plot=None)
    response = tr("NOK share") if now.trial.response == "nok" else now.trial.measured
    plot = interaction_plot(now.result, now.names, LETTERS.index(across), LETTERS.index(lines), response)
    return replace(state, across=across, lines=lines, plot=plot)
