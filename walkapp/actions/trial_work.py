"""Reproduction trials: opened, run, corrected and taken back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from walkapp.actions.reading import ConcernFacts
from walkapp.actions.reasons import RECORDED_TWICE
from walkapp.actions.trials import TrialFacts, run_text
from walkapp.actions.undoing import newest_entry, undo_entry
from walkapp.actions.workplace import Workplace
from walkapp.analysis.factorial_plan import LETTERS, Design
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.records import Record, Trial, TrialFactor, TrialRun, Withdrawal


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
            tr("Parts of each run: say how many parts are made and checked, or what is measured instead.")
        )
    if parts is not None and parts < 1:
        raise InputError(tr("Parts of each run: at least 1 part is made and checked; better 10 or more."))
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
            raise InputError(tr("Factor {letter}: has no name; say what is changed.", letter=letter))
        if names.count(name) > 1:
            raise InputError(
                tr(
                    "Factor {letter}: {factor} is there twice; each factor has its own name.",
                    letter=letter,
                    factor=factor.name,
                )
            )
        levels = [" ".join(level.split()).casefold() for level in (factor.low, factor.high)]
        if not all(levels) or levels[0] == levels[1]:
            raise InputError(
                tr(
                    "Factor {letter}, {factor}: has one level and would show nothing; give it "
                    "two that differ.",
                    letter=letter,
                    factor=factor.name,
                )
            )
        if not design.centres:
            continue
        centre = " ".join(factor.centre.split()).casefold()
        if not centre or centre in levels:
            raise InputError(
                tr(
                    "Factor {letter}, {factor}: has no level half-way for the centre runs; give "
                    "it one, or plan no centre runs.",
                    letter=letter,
                    factor=factor.name,
                )
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
        raise InputError(
            tr(
                "Run {number} is not planned; this trial has the runs 1 to {planned}.",
                number=number,
                planned=len(now.planned),
            )
        )
    if bool(value) != (now.trial.response == "value"):
        wanted = (
            tr("a measured value") if now.trial.response == "value" else tr("NOK parts of those checked")
        )
        raise InputError(
            tr("Run {number}: this trial wants {wanted}; enter that.", number=number, wanted=wanted)
        )
    if number in now.doubled:
        raise InputError(
            tr("Run {number} was recorded twice; take back the one that is wrong first.", number=number)
        )
    earlier = now.recorded(number)
    if earlier is not None and not why:
        raise InputError(
            tr(
                "Run {number} is recorded already ({run}); say why it is corrected.",
                number=number,
                run=run_text(now, earlier),
            )
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
        raise InputError(tr("This run is not recorded twice any more; look at the trial again."))
    return place.add(Withdrawal, concern=now.trial.concern, replaces=(record,), why=RECORDED_TWICE)


def newest_run(place: Workplace, now: TrialFacts) -> Record | None:
    """Find the entry of this tablet about the trial's runs that :func:`undo_run` takes back; or none."""

    def is_of_trial(record: Record) -> bool:
        return isinstance(record, TrialRun) and record.trial == now.trial.id

    return newest_entry(place, now.trial.concern, (TrialRun,), is_of_trial)


def undo_run(place: Workplace, now: TrialFacts) -> Record:
    """Take back this tablet's newest entry about the runs of a trial.

    Raises
    ------
    InputError
        If there is none.
    """
    entry = newest_run(place, now)
    if entry is None:
        raise InputError(tr("There is no run of this trial that this tablet could take back."))
    return undo_entry(place, entry, place.store.records(now.trial.concern))
