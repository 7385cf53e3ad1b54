"""Reproduction trials: their plan, the runs that are done, and what they show.

Everything that a trial is made of lies in the journal of its concern, outside any walk, so that the
runs of several tablets are merged like everything else.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache

from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.factorial import RunResult, TrialResult, work_out
from walkapp.analysis.factorial_plan import Design, PlannedRun
from walkapp.analysis.factorial_words import (
    FactorName,
    TrialNames,
    both_text,
    trial_remarks,
    trial_sentence,
)
from walkapp.analysis.wording import counts_text, named
from walkapp.errors import InputError
from walkapp.language import decimal_text, tr, trn
from walkapp.model.records import Trial, TrialFactor, TrialRun

MOST_DECIMALS = 6
"""Means are written with at most so many decimals."""

_MOST_NAMED = 6
"""More runs than this are not named one by one in a sentence."""


@dataclass(frozen=True)
class TrialFacts:
    """Everything known of one trial.

    Parameters
    ----------
    trial
        The record that opened it.
    factors
        Its factors in their order, one for each place.
    held
        All its runs that hold, sorted by id.
    disputed
        Numbers of the runs that were corrected differently on two tablets.
    """

    trial: Trial
    factors: tuple[TrialFactor, ...]
    held: tuple[TrialRun, ...]
    disputed: tuple[int, ...] = ()

    @cached_property
    def _plan(self) -> tuple[Design | None, str]:
        places = [factor.order for factor in self.factors]
        if not places or places != list(range(1, len(places) + 1)):
            return None, tr(
                "Factors of this trial are missing on this tablet; merge the bundle that has "
                "them before any run is made."
            )
        if self.trial.centres and not all(factor.centre for factor in self.factors):
            return (
                None,
                tr("This trial has centre runs, but not every factor has a centre level; open a new one."),
            )
        try:
            design = Design(
                len(self.factors), self.trial.fraction == "half", self.trial.replicates, self.trial.centres
            )
        except InputError as error:
            return None, tr("This trial cannot be run as it is recorded: {error}", error=error)
        return design, ""

    @property
    def design(self) -> Design | None:
        """How it is planned; none when that cannot be, see `trouble`."""
        return self._plan[0]

    @property
    def trouble(self) -> str:
        """Why it cannot be run, in one sentence; empty when it can."""
        return self._plan[1]

    @cached_property
    def planned(self) -> tuple[PlannedRun, ...]:
        """All runs in their random order; none while there is trouble."""
        return self.design.order(self.trial.seed) if self.design is not None else ()

    @cached_property
    def records(self) -> Mapping[int, tuple[TrialRun, ...]]:
        """The records that count, by the number of the run; usually one each."""
        found: dict[int, list[TrialRun]] = defaultdict(list)
        for record in self.held:
            if record.run <= len(self.planned) and bool(record.value) == (self.trial.response == "value"):
                found[record.run].append(record)
        return {number: tuple(found[number]) for number in sorted(found)}

    @property
    def set_aside(self) -> int:
        """How many records do not fit the plan and are not counted."""
        return len(self.held) - sum(map(len, self.records.values()))

    @property
    def doubled(self) -> tuple[int, ...]:
        """Numbers of the runs that have two or more records which do not correct each other."""
        return tuple(number for number, records in self.records.items() if len(records) > 1)

    @cached_property
    def missing(self) -> tuple[int, ...]:
        """Numbers of the runs that are still to do."""
        return tuple(run.number for run in self.planned if run.number not in self.records)

    @property
    def done(self) -> int:
        """How many runs are done."""
        return len(self.records)

    @property
    def next_run(self) -> PlannedRun | None:
        """The run that comes next in the random order; none after the last."""
        return self.planned[self.missing[0] - 1] if self.missing else None

    def recorded(self, number: int) -> TrialRun | None:
        """Give the record of a run; none when there is none, or more than one."""
        found = self.records.get(number, ())
        return found[0] if len(found) == 1 else None

    @property
    def uneven(self) -> tuple[int, ...]:
        """Numbers of the runs with another number of parts than planned."""
        if self.trial.response != "nok":
            return ()
        return tuple(
            number
            for number, records in self.records.items()
            if any(record.checked != self.trial.parts for record in records)
        )

    @cached_property
    def names(self) -> TrialNames:
        """How factors and response are called."""
        typed = [len(r.value.partition(".")[2]) for r in self.held if r.value]
        return TrialNames(
            factors=tuple(
                FactorName(name=factor.name, low=factor.low, high=factor.high, centre=factor.centre)
                for factor in self.factors
            ),
            unit=self.trial.unit_of_measure,
            decimals=min(MOST_DECIMALS, max(typed, default=0) + 1),
        )

    @cached_property
    def result(self) -> TrialResult | None:
        """What it shows; none before every run is recorded once."""
        if self.design is None or self.missing or self.doubled:
            return None
        results = (_result_of(run, self.records[run.number][0]) for run in self.planned)
        return _worked_out(self.design, tuple(results), self.trial.seed)

    @property
    def makes_a_difference(self) -> bool:
        """Whether it shows that a factor, or two together, make a difference."""
        return bool(self.what_differs)

    @property
    def what_differs(self) -> tuple[str, ...]:
        """What is shown to make a difference, in words; nothing before all runs are done."""
        result = self.result
        if result is None:
            return ()
        combination = result.shown_combination
        together = (tr("{both} together", both=both_text(combination, self.names)),) if combination else ()
        return (*together, *(self.names.term(effect.term) for effect in result.shown))

    @property
    def changes_shown(self) -> frozenset[str]:
        """Ids of the change points whose factors are shown to make a difference, alone or together."""
        if self.result is None:
            return frozenset()
        places = {place for effect in self.result.shown for place in effect.term.places}
        if (combination := self.result.shown_combination) is not None:
            places |= set(combination.places)
        return frozenset(self.factors[place].change for place in places if self.factors[place].change)

    @property
    def sentence(self) -> str:
        """How it stands, in one or two sentences."""
        if self.trouble:
            return self.trouble
        if self.doubled:
            number = self.doubled[0]
            both = named(
                [tr("{run} by {by}", run=run_text(self, r), by=r.by) for r in self.records[number]]
            )
            told = tr(
                "Run {number} was recorded twice ({both}): take back the one that is wrong; "
                "nothing is worked out before that.",
                number=number,
                both=both,
            )
            if len(self.doubled) == 1:
                return told
            return " ".join((told, tr("Recorded twice as well: {runs}.", runs=runs_text(self.doubled[1:]))))
        if self.missing:
            return tr(
                "{done} of {planned} runs are done; effects are worked out when all are. Still to do: "
                "{runs}.",
                done=self.done,
                planned=len(self.planned),
                runs=runs_text(self.missing),
            )
        return trial_sentence(self.result, self.names) if self.result else ""

    @property
    def remarks(self) -> tuple[str, ...]:
        """What else has to be known, the most important first."""
        said = list(trial_remarks(self.result, self.names)) if self.result else []
        if self.disputed:
            said.append(
                tr(
                    "Corrected differently on two tablets: {runs}; one entry of each counts until a person "
                    "settles it.",
                    runs=runs_text(self.disputed),
                )
            )
        if self.uneven:
            said.append(
                tr(
                    "Another number of parts than the planned {parts}: {runs}; every run counts by its "
                    "share.",
                    runs=runs_text(self.uneven),
                    parts=self.trial.parts,
                )
            )
        if self.set_aside:
            said.append(
                trn(
                    "{count} record does not fit the plan of this trial and no run is made of it.",
                    "{count} records do not fit the plan of this trial and no run is made of it.",
                    self.set_aside,
                )
            )
        if self.trial.invented:
            said.append(tr("Invented for the demo: no real part was made."))
        return tuple(said)


def trials_of(facts: ConcernFacts) -> tuple[TrialFacts, ...]:
    """Give all trials of a concern, the newest last."""
    factors: dict[str, dict[int, TrialFactor]] = defaultdict(dict)
    runs: dict[str, list[TrialRun]] = defaultdict(list)
    for record in facts.standing.current:
        # They are sorted by id; should one place have two factors, every tablet takes the same one.
        if isinstance(record, TrialFactor):
            factors[record.trial].setdefault(record.order, record)
        elif isinstance(record, TrialRun):
            runs[record.trial].append(record)
    disputed: dict[str, set[int]] = defaultdict(set)
    for conflict in facts.conflicts:
        if isinstance(conflict.shown, TrialRun):
            disputed[conflict.shown.trial].add(conflict.shown.run)
    return tuple(
        TrialFacts(
            trial=trial,
            factors=tuple(factors[trial.id][order] for order in sorted(factors[trial.id])),
            held=tuple(runs[trial.id]),
            disputed=tuple(sorted(disputed[trial.id])),
        )
        for trial in facts.standing.current
        if isinstance(trial, Trial)
    )


def trial_facts(place: Workplace, concern: str, trial: str) -> TrialFacts:
    """Read one trial.

    Raises
    ------
    InputError
        If the store has no such trial.
    """
    found = next((t for t in trials_of(concern_facts(place, concern)) if t.trial.id == trial), None)
    if found is None:
        raise InputError(tr("This trial is not in this store, or was taken back; see the list of trials."))
    return found


def run_text(now: TrialFacts, record: TrialRun) -> str:
    """Say what a run gave."""
    if record.checked is not None and record.nok is not None:
        return counts_text(record.nok, record.checked)
    return f"{decimal_text(record.value)} {now.trial.unit_of_measure}".strip()


def runs_text(numbers: Sequence[int]) -> str:
    """Name runs by their numbers, those in a row as a range.

    Examples
    --------
    >>> runs_text([3]), runs_text([2, 3, 4, 7]), runs_text([1, 2])
    ('run 3', 'runs 2 to 4 and 7', 'runs 1 and 2')
    """
    ranges: list[list[int]] = []
    for number in numbers:
        if ranges and number == ranges[-1][-1] + 1:
            ranges[-1].append(number)
        else:
            ranges.append([number])
    words = [
        word
        for found in ranges
        for word in (
            map(str, found)
            if len(found) < 3
            else (tr("{found} to {found2}", found=found[0], found2=found[-1]),)
        )
    ]
    if len(words) > _MOST_NAMED:
        words = [*words[: _MOST_NAMED - 1], tr("others")]
    return trn("run {runs}", "runs {runs}", len(numbers), runs=named(words))


@lru_cache(maxsize=64)
def _worked_out(design: Design, results: tuple[RunResult, ...], seed: str) -> TrialResult:
    """Work a trial out once; every page that shows it asks again."""
    return work_out(design, results, seed)


def _result_of(run: PlannedRun, record: TrialRun) -> RunResult:
    if record.checked is not None and record.nok is not None:
        share = Fraction(record.nok, record.checked)
        return RunResult(run=run, value=share, tally=(record.nok, record.checked))
    return RunResult(run=run, value=Fraction(record.value))
