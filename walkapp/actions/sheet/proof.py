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
from walkapp.analysis.wording import CHANGE_WORDS, GROUPING_WORDS, percent
from walkapp.language import day_said, msg, tr, trn, whole_text
from walkapp.paper.sheet_content import SheetEntry, SheetPart

NOT_BEGUN = msg("Cause not proved: the on/off confirmation is missing.")

ONSET_UNKNOWN = msg("When it started is not known: no lot with a production day was counted.")

UNLIKELY = 0.05
"""Changes that are less probable than this as the cause are only named; a choice of ours."""

MOST_NAMED = 6
"""How many of them."""


def cause_part(facts: ConcernFacts) -> SheetPart:
    """Gather what is known of the cause of a concern."""
    tried = sorted(facts.once(confirmations_of), key=lambda one: not one.proves)
    entries = [_confirmation(one) for one in tried]
    if lost := without_confirmation(facts):
        entries.append(SheetEntry(text=lost_text(lost), state="undecided", words=tr("not counted")))
    trials = [_trial(one) for one in reversed(trials_of(facts))]
    if facts.stream is None:
        entries += trials
    else:
        found = date_onset(facts)
        # A trial comes before the changes that hardly count, and those stay together.
        entries += (*_onset(found), *_suspects(found), *trials, *_unlikely(found), *_units(facts))
        entries += [SheetEntry(text=tr("Mind: {warning}", warning=warning)) for warning in found.warnings]
    state, sentence = _verdict(tried)
    return part_of(
        name="cause",
        title=tr("What causes it?"),
        state=state,
        sentence=sentence,
        entries=entries,
    )


def _verdict(tried: list[ConfirmationFacts]) -> tuple[str, str]:
    if not tried:
        return "undecided", tr(NOT_BEGUN)
    first = tried[0]
    worst = next((one for one in tried if one.verdict == CONTRADICTED), None)
    if first.proves:
        said = tr("Cause proved by switching it on and off: {what}.", what=first.record.what)
        if worst is None:
            return "clean", said
        return "undecided", tr(
            "{said} Mind: another confirmation contradicts “{what}”.", said=said, what=worst.record.what
        )
    if worst is not None:
        return "bad", tr(
            "Cause not proved: the on/off confirmation contradicts “{what}”.", what=worst.record.what
        )
    return "undecided", tr("Cause not proved: the on/off confirmation does not show it yet.")


_SHAPES = {PROVED: "clean", CONTRADICTED: "bad"}


def _confirmation(one: ConfirmationFacts) -> SheetEntry:
    record = one.record
    # How likely it is by chance comes first: it is the proof, and what comes later may have no room.
    chances = chance_lines(one.answer)
    others = (line for line in one.lines if line not in chances)
    return SheetEntry(
        text=tr("on is {on}; off is {off}", on=record.on, off=record.off),
        state=_SHAPES.get(one.verdict, "undecided"),
        words=tr("switched on and off, invented") if record.invented else tr("switched on and off"),
        detail=(
            one.sentence,
            *chances,
            *others,
            *(tr("Mind: {problem}", problem=problem) for problem in one.problems),
        ),
    )


def _onset(found: DatedOnset) -> Iterator[SheetEntry]:
    onset = found.onset
    if onset is None:
        yield SheetEntry(text=tr(ONSET_UNKNOWN), state="not_visited", words=tr("not known"))
        return
    is_known = onset.first_bad is not None
    words = tr("not dated") if not is_known else tr("dated") if onset.is_sure else tr("most likely")
    yield SheetEntry(
        text=tr("Since when: {sentence}", sentence=found.sentence),
        state="clean" if is_known and onset.is_sure else "undecided",
        words=words,
    )


def _suspects(found: DatedOnset) -> Iterator[SheetEntry]:
    for suspect in _likely(found):
        same, station = found.changes[suspect.change.id], found.stations[suspect.change.id]
        point = same[0]
        purpose = meant_to(same)
        yield SheetEntry(
            text=tr(
                "Suspect {rank}: {what} ({station})",
                rank=suspect.rank,
                what=point.what,
                station=station.name,
            ),
            state="undecided",
            words=tr("{probability} of being the cause", probability=percent(suspect.probability)),
            detail=(
                tr(
                    "{kind}, {day}; {timing}.",
                    kind=tr(CHANGE_WORDS[point.change]),
                    day=day_said(point.changed_on) or tr("day not known"),
                    timing=timing_words(suspect),
                ),
                *((tr("Meant to: {purpose}.", purpose=purpose),) if purpose else ()),
            ),
        )
    if not found.ranking.suspects:
        yield SheetEntry(
            text=tr("No change point is recorded."), state="not_visited", words=tr("no suspect")
        )


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
        more = len(others) - MOST_NAMED
        yield SheetEntry(
            text=tr("{names}; and {more} more", names=names, more=whole_text(more)) if more > 0 else names,
            state="not_visited",
            words=trn(
                "{count} recorded change, below {unlikely}",
                "{count} recorded changes, each below {unlikely}",
                len(others),
                unlikely=percent(UNLIKELY),
            ),
        )
    yield SheetEntry(
        text=tr(
            "None of the recorded changes: {none_probability}.",
            none_probability=percent(found.ranking.none_probability),
        )
    )


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
                text=tr("Within {first}: {sentence}", first=first, sentence=said.sentence),
                state="undecided",
                words=tr(
                    "one {grouping} differs", grouping=tr(GROUPING_WORDS.get(said.grouping, said.grouping))
                ),
            )


def _trial(now: TrialFacts) -> SheetEntry:
    shown = now.makes_a_difference
    is_done = now.result is not None
    words = (
        tr("makes a difference") if shown else tr("no difference shown") if is_done else tr("not finished")
    )
    effects = now.result.effects if now.result is not None else ()
    return SheetEntry(
        text=tr("Trial to make the defect: {what}", what=now.trial.what),
        state="clean" if shown else "undecided",
        words=words,
        detail=(
            now.sentence,
            *(effect_text(now, effect) for effect in effects if effect.contrast.is_shown),
            *(tr("Mind: {remark}", remark=remark) for remark in now.remarks[:2]),
        ),
    )
