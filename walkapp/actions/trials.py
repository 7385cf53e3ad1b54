"""Reproduction trials: opened, run in their random order, and what they show.

Everything that a trial is made of lies in the journal of its concern, outside any walk, so that the
runs of several tablets are merged like everything else.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from walkapp.actions.reading import ConcernFacts, concern_facts, last_undoable
from walkapp.actions.undoing import undo_entry
from walkapp.actions.workplace import Workplace
from walkapp.analysis.factorial import RunResult, TrialResult, work_out
from walkapp.analysis.factorial_plan import LETTERS, Design, PlannedRun
from walkapp.analysis.factorial_words import (
    FactorName,
    TrialNames,
    both_text,
    trial_remarks,
    trial_sentence,
)
from walkapp.analysis.wording import counts_text, named
from walkapp.errors import InputError
from walkapp.model.records import Record, Trial, TrialFactor, TrialRun, Withdrawal

RECORDED_TWICE = "the same run was recorded twice"

MOST_DECIMALS = 6
"""Means are written with at most so many decimals."""

_MOST_NAMED = 6
"""More runs than this are not named one by one in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FactorSaid:
    """A factor as a person describes it for a new trial.

    Parameters
    ----------
    name
        What is changed.
    low, high, centre
        Its levels; the centre only for centre runs.
    change
        Id of the change point that is suspected; empty for none.
    """

    name: str
    low: str
    high: str
    centre: str = ""
    change: str = ""


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
    """

    trial: Trial
    factors: tuple[TrialFactor, ...]
    held: tuple[TrialRun, ...]

    @cached_property
    def _plan(self) -> tuple[Design | None, str]:
        places = [factor.order for factor in self.factors]
        if not places or places != list(range(1, len(places) + 1)):
            return None, (
                "Factors of this trial are missing on this tablet; merge the bundle that has them before "
                "any run is made."
            )
        if self.trial.centres and not all(factor.centre for factor in self.factors):
            return (
                None,
                "This trial has centre runs, but not every factor has a centre level; open a new one.",
            )
        try:
            design = Design(
                len(self.factors), self.trial.fraction == "half", self.trial.replicates, self.trial.centres
            )
        except InputError as error:
            return None, f"This trial cannot be run as it is recorded: {error}"
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
        results = [_result_of(run, self.records[run.number][0]) for run in self.planned]
        return work_out(self.design, results, self.trial.seed)

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
        together = (f"{both_text(combination, self.names)} together",) if combination else ()
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
            both = named([f"{run_text(self, r)} by {r.by}" for r in self.records[number]])
            more = "" if len(self.doubled) == 1 else f" So were {runs_text(self.doubled[1:])}."
            return (
                f"Run {number} was recorded twice ({both}): take back the one that is wrong; nothing is "
                f"worked out before that.{more}"
            )
        if self.missing:
            verb = "is" if len(self.missing) == 1 else "are"
            return (
                f"{self.done} of {len(self.planned)} runs are done; effects are worked out when all are. "
                f"{_capital(runs_text(self.missing))} {verb} still to do."
            )
        return trial_sentence(self.result, self.names) if self.result else ""

    @property
    def remarks(self) -> tuple[str, ...]:
        """What else has to be known, the most important first."""
        said = list(trial_remarks(self.result, self.names)) if self.result else []
        if self.uneven:
            verb = "has" if len(self.uneven) == 1 else "have"
            said.append(
                f"{_capital(runs_text(self.uneven))} {verb} another number of parts than the planned "
                f"{self.trial.parts}; every run counts by its share."
            )
        if self.set_aside:
            verb = "record does" if self.set_aside == 1 else "records do"
            said.append(f"{self.set_aside} {verb} not fit the plan of this trial and no run is made of it.")
        if self.trial.invented:
            said.append("Invented for the demo: no real part was made.")
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
    return tuple(
        TrialFacts(
            trial=trial,
            factors=tuple(factors[trial.id][order] for order in sorted(factors[trial.id])),
            held=tuple(runs[trial.id]),
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
        raise InputError("This trial is not in this store, or was taken back; see the list of trials.")
    return found


def open_trial(
    place: Workplace,
    facts: ConcernFacts,
    factors: Sequence[FactorSaid],
    *,
    what: str,
    station: str = "",
    parts: int | None = None,
    measured: str = "",
    unit: str = "",
    is_half: bool = False,
    replicates: int = 1,
    centres: int = 0,
    invented: bool = False,
) -> Trial:
    """Open a trial with its factors, all or nothing.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    factors
        1 to 5, each with a name of its own and two levels.
    what
        What the trial is to show.
    station
        Id of the station where it is run; empty for none.
    parts
        Parts of each run when NOK parts are counted; none when a value is measured.
    measured, unit
        What is measured in each run, and its unit; empty when NOK parts are counted.
    is_half
        Whether half of the combinations are run, for 4 and 5 factors.
    replicates
        How often each combination is run, at least 1.
    centres
        Runs at the centre point; every factor then has a centre level.
    invented
        Whether it is made up for the demo.

    Raises
    ------
    InputError
        If there is no such trial, in one sentence.
    RecordError
        If a value is not allowed.
    """
    design = Design(len(factors), is_half, replicates, centres)
    _check_factors(factors, design)
    if parts is None and not measured:
        raise InputError(
            "Parts of each run: say how many parts are made and checked, or what is measured instead."
        )
    if parts is not None and parts < 1:
        raise InputError("Parts of each run: at least 1 part is made and checked; better 10 or more.")
    concern, trial = facts.concern.concern, place.new_id()
    said: list[tuple[type[Record], Mapping[str, Any]]] = [
        (
            Trial,
            {
                "id": trial,
                "concern": concern,
                "station": station,
                "what": what,
                "response": "value" if parts is None else "nok",
                "parts": parts,
                "measured": measured if parts is None else "",
                "unit_of_measure": unit if parts is None else "",
                "fraction": "half" if is_half else "full",
                "replicates": replicates,
                "centres": centres,
                "seed": trial,
                "invented": invented,
            },
        )
    ]
    said += [
        (
            TrialFactor,
            {
                "concern": concern,
                "trial": trial,
                "order": order,
                "name": factor.name,
                "low": factor.low,
                "high": factor.high,
                "centre": factor.centre if centres else "",
                "change": factor.change,
            },
        )
        for order, factor in enumerate(factors, start=1)
    ]
    return next(made for made in place.add_all(said) if isinstance(made, Trial))


def _check_factors(factors: Sequence[FactorSaid], design: Design) -> None:
    names = [" ".join(factor.name.split()).casefold() for factor in factors]
    for letter, factor, name in zip(LETTERS, factors, names, strict=False):
        if not name:
            raise InputError(f"Factor {letter}: has no name; say what is changed.")
        if names.count(name) > 1:
            raise InputError(
                f"Factor {letter}: {factor.name} is there twice; each factor has its own name."
            )
        levels = [" ".join(level.split()).casefold() for level in (factor.low, factor.high)]
        if not all(levels) or levels[0] == levels[1]:
            raise InputError(
                f"Factor {letter}, {factor.name}: has one level and would show nothing; give it two that "
                "differ."
            )
        if not design.centres:
            continue
        centre = " ".join(factor.centre.split()).casefold()
        if not centre or centre in levels:
            raise InputError(
                f"Factor {letter}, {factor.name}: has no level half-way for the centre runs; give it one, "
                "or plan no centre runs."
            )


def record_run(
    place: Workplace,
    now: TrialFacts,
    number: int,
    *,
    checked: int | None = None,
    nok: int | None = None,
    value: str = "",
    why: str = "",
) -> TrialRun:
    """Record what a run gave, or correct it.

    Parameters
    ----------
    place
        Where to write.
    now
        The trial as it stands.
    number
        Which run, from 1; any that is planned.
    checked, nok
        Parts, when NOK parts are counted.
    value
        The measured value as it was typed, when a value is measured.
    why
        Why an earlier record of the run is corrected; empty for a run that has none.

    Raises
    ------
    InputError
        If there is no such run, it is recorded already and no reason is given, or twice.
    RecordError
        If a value is not allowed.
    """
    if now.trouble:
        raise InputError(now.trouble)
    if not 1 <= number <= len(now.planned):
        raise InputError(f"Run {number} is not planned; this trial has the runs 1 to {len(now.planned)}.")
    if bool(value) != (now.trial.response == "value"):
        wanted = "a measured value" if now.trial.response == "value" else "NOK parts of those checked"
        raise InputError(f"Run {number}: this trial wants {wanted}; enter that.")
    if number in now.doubled:
        raise InputError(f"Run {number} was recorded twice; take back the one that is wrong first.")
    earlier = now.recorded(number)
    if earlier is not None and not why:
        raise InputError(
            f"Run {number} is recorded already ({run_text(now, earlier)}); say why it is corrected."
        )
    corrects = {"replaces": (earlier.id,), "why": why} if earlier is not None else {}
    return place.add(
        TrialRun,
        concern=now.trial.concern,
        trial=now.trial.id,
        run=number,
        checked=checked,
        nok=nok,
        value=value,
        **corrects,
    )


def take_back_record(place: Workplace, now: TrialFacts, record: str) -> Withdrawal:
    """Take back one of several records of the same run.

    Raises
    ------
    InputError
        If it is not a record of a run that was recorded twice.
    """
    of_doubled = {r.id for number in now.doubled for r in now.records[number]}
    if record not in of_doubled:
        raise InputError("This run is not recorded twice any more; look at the trial again.")
    return place.add(Withdrawal, concern=now.trial.concern, replaces=(record,), why=RECORDED_TWICE)


def newest_run(place: Workplace, now: TrialFacts) -> Record | None:
    """Find the entry of this tablet about the trial's runs that :func:`undo_run` takes back; or none."""
    records = place.store.records(now.trial.concern)
    by_id = {record.id: record for record in records}

    def is_of_trial(record: Record | None) -> bool:
        return isinstance(record, TrialRun) and record.trial == now.trial.id

    def belongs(record: Record) -> bool:
        if isinstance(record, Withdrawal):
            return any(is_of_trial(by_id.get(replaced)) for replaced in record.replaces)
        return is_of_trial(record)

    return last_undoable(r for r in records if r.device == place.store.device and belongs(r))


def undo_run(place: Workplace, now: TrialFacts) -> Record:
    """Take back this tablet's newest entry about the runs of a trial.

    Raises
    ------
    InputError
        If there is none.
    """
    entry = newest_run(place, now)
    if entry is None:
        raise InputError("There is no run of this trial that this tablet could take back.")
    return undo_entry(place, entry, place.store.records(now.trial.concern))


def run_text(now: TrialFacts, record: TrialRun) -> str:
    """Say what a run gave."""
    if record.checked is not None and record.nok is not None:
        return counts_text(record.nok, record.checked)
    return f"{record.value} {now.trial.unit_of_measure}".strip()


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
        for word in (map(str, found) if len(found) < 3 else (f"{found[0]} to {found[-1]}",))
    ]
    if len(words) > _MOST_NAMED:
        words = [*words[: _MOST_NAMED - 1], "others"]
    return f"{'run' if len(numbers) == 1 else 'runs'} {named(words)}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _result_of(run: PlannedRun, record: TrialRun) -> RunResult:
    if record.checked is not None and record.nok is not None:
        share = Fraction(record.nok, record.checked)
        return RunResult(run=run, value=share, tally=(record.nok, record.checked))
    return RunResult(run=run, value=Fraction(record.value))
