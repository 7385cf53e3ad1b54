"""What causes the defect, as the sheet says it: what is proved, what is suspected, since when."""

from __future__ import annotations

from collections.abc import Iterator

from walkapp.actions.confirmations import (
    ConfirmationFacts,
    confirmations_of,
    lost_text,
    without_confirmation,
)
from walkapp.actions.narrowing import narrow
from walkapp.actions.onset import DatedOnset, date_onset
from walkapp.actions.onset_words import meant_to, timing_words
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.sheet.made import part_of
from walkapp.actions.trial_telling import effect_text
from walkapp.actions.trials import TrialFacts, trials_of
from walkapp.analysis.on_off import CONTRADICTED, PROVED
from walkapp.analysis.on_off_words import chance_lines
from walkapp.analysis.suspects import Suspect
from walkapp.analysis.wording import percent
from walkapp.paper.sheet_content import SheetEntry, SheetPart

NOT_BEGUN = "Cause not proved: the on/off confirmation is missing."

ONSET_UNKNOWN = "When it started is not known: no lot with a production day was counted."

UNLIKELY = 0.05
"""Changes that are less probable than this as the cause are only named; a choice of ours."""

MOST_NAMED = 6
"""How many of them."""


def cause_part(facts: ConcernFacts) -> SheetPart:
    """Gather what is known of the cause of a concern."""
    tried = sorted(confirmations_of(facts), key=lambda one: not one.proves)
    entries = [_confirmation(one) for one in tried]
    if lost := without_confirmation(facts):
        entries.append(SheetEntry(text=lost_text(lost), state="undecided", words="not counted"))
    trials = [_trial(one) for one in reversed(trials_of(facts))]
    if facts.stream is None:
        entries += trials
    else:
        found = date_onset(facts)
        # A trial comes before the changes that hardly count, and those stay together.
        entries += (*_onset(found), *_suspects(found), *trials, *_unlikely(found), *_units(facts))
        entries += [SheetEntry(text=f"Mind: {warning}") for warning in found.warnings]
    state, sentence = _verdict(tried)
    return part_of(
        name="cause",
        title="What causes it?",
        state=state,
        sentence=sentence,
        entries=entries,
        noun=("finding", "findings"),
    )


def _verdict(tried: list[ConfirmationFacts]) -> tuple[str, str]:
    if not tried:
        return "undecided", NOT_BEGUN
    first = tried[0]
    worst = next((one for one in tried if one.verdict == CONTRADICTED), None)
    if first.proves:
        said = f"Cause proved by switching it on and off: {first.record.what}."
        if worst is None:
            return "clean", said
        return "undecided", f"{said} Mind: another confirmation contradicts “{worst.record.what}”."
    if worst is not None:
        return "bad", f"Cause not proved: the on/off confirmation contradicts “{worst.record.what}”."
    return "undecided", "Cause not proved: the on/off confirmation does not show it yet."


_SHAPES = {PROVED: "clean", CONTRADICTED: "bad"}


def _confirmation(one: ConfirmationFacts) -> SheetEntry:
    record = one.record
    invented = ", invented" if record.invented else ""
    # How likely it is by chance comes first: it is the proof, and what comes later may have no room.
    chances = chance_lines(one.answer)
    others = (line for line in one.lines if line not in chances)
    return SheetEntry(
        text=f"on is {record.on}; off is {record.off}",
        state=_SHAPES.get(one.verdict, "undecided"),
        words=f"switched on and off{invented}",
        detail=(one.sentence, *chances, *others, *(f"Mind: {problem}" for problem in one.problems)),
    )


def _onset(found: DatedOnset) -> Iterator[SheetEntry]:
    onset = found.onset
    if onset is None:
        yield SheetEntry(text=ONSET_UNKNOWN, state="not_visited", words="not known")
        return
    is_known = onset.first_bad is not None
    words = "not dated" if not is_known else "dated" if onset.is_sure else "most likely"
    yield SheetEntry(
        text=f"Since when: {found.sentence}",
        state="clean" if is_known and onset.is_sure else "undecided",
        words=words,
    )


def _suspects(found: DatedOnset) -> Iterator[SheetEntry]:
    for suspect in _likely(found):
        same, station = found.changes[suspect.change.id], found.stations[suspect.change.id]
        point = same[0]
        purpose = meant_to(same)
        yield SheetEntry(
            text=f"Suspect {suspect.rank}: {point.what} ({station.name})",
            state="undecided",
            words=f"{percent(suspect.probability)} of being the cause",
            detail=(
                f"{point.change}, {point.changed_on or 'day not known'}; {timing_words(suspect)}.",
                *((f"Meant to: {purpose}.",) if purpose else ()),
            ),
        )
    if not found.ranking.suspects:
        yield SheetEntry(text="No change point is recorded.", state="not_visited", words="no suspect")


def _likely(found: DatedOnset) -> tuple[Suspect, ...]:
    return tuple(one for one in found.ranking.suspects if one.probability >= UNLIKELY)


def _unlikely(found: DatedOnset) -> Iterator[SheetEntry]:
    """Tell of the changes that hardly count in one entry, and of what none of the changes explains."""
    suspects = found.ranking.suspects
    if not suspects:
        return
    others = suspects[len(_likely(found)) :]
    if others:
        names = "; ".join(found.changes[one.change.id][0].what for one in others[:MOST_NAMED])
        more = f"; and {len(others) - MOST_NAMED:,} more" if len(others) > MOST_NAMED else ""
        yield SheetEntry(
            text=f"{names}{more}",
            state="not_visited",
            words=f"{len(others):,} recorded change{'' if len(others) == 1 else 's'}, each below "
            f"{percent(UNLIKELY)}",
        )
    yield SheetEntry(text=f"None of the recorded changes: {percent(found.ranking.none_probability)}.")


def _units(facts: ConcernFacts) -> Iterator[SheetEntry]:
    """Tell which cavity, machine or fixture of the first bad station differs, where one is shown to."""
    answer = facts.quick_answer
    first = answer.first_bad_station if answer else None
    stations = facts.stream.stations if facts.stream else ()
    station = next((one for one in stations if one.name == first), None)
    compared = narrow(facts).station(station.id) if station else None
    for said in compared.comparisons if compared else ():
        if said.worse or said.better:
            yield SheetEntry(
                text=f"Within {first}: {said.sentence}", state="undecided", words=f"{said.grouping} differs"
            )


def _trial(now: TrialFacts) -> SheetEntry:
    shown = now.makes_a_difference
    is_done = now.result is not None
    words = "makes a difference" if shown else "no difference shown" if is_done else "not finished"
    effects = now.result.effects if now.result is not None else ()
    return SheetEntry(
        text=f"Trial to make the defect: {now.trial.what}",
        state="clean" if shown else "undecided",
        words=words,
        detail=(
            now.sentence,
            *(effect_text(now, effect) for effect in effects if effect.contrast.is_shown),
            *(f"Mind: {remark}" for remark in now.remarks[:2]),
        ),
    )
