"""What audits say, in words and as JSON values."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TypeVar

from walkapp.actions.audits.book import NO_REACTION, REACTION_WORDS
from walkapp.actions.audits.figures import AuditFigures, Span
from walkapp.analysis.audits.completion import CENSUS, Completion, StationVisits
from walkapp.analysis.audits.conformity import INTERVAL_NOTE, Conformity, QuestionConformity
from walkapp.analysis.audits.facts import Prompt
from walkapp.analysis.audits.findings import AGES, Ageing, FindingCounts, FindingSeen, Repeat, RepeatResults
from walkapp.analysis.wording import in_one_line, share_from, share_range

T = TypeVar("T")

SPAN_WORDS = {1: "week", 4: "four weeks", 8: "eight weeks", 26: "half year"}
"""Spans up to today that have a name, by their weeks."""

NO_SHIFT = "Not by shift"
"""What stands for the layers that do not audit every shift, where shifts are told apart."""

HERE_ONLY = "By the records here: audits of a tablet that is not merged yet count as not done."

GO_AND_SEE = "Prompts to go and see, each with what else may explain it; never a judgement of anybody."


def count_words(count: int, one: str) -> str:
    """Count things in words.

    Examples
    --------
    >>> count_words(1, "audit"), count_words(3, "audit")
    ('1 audit', '3 audits')
    """
    return f"{count} {one}{'' if count == 1 else 's'}"


def span_words(span: Span) -> str:
    """Name the days that are told where they have a name, to stand behind what is counted.

    Examples
    --------
    >>> from datetime import date
    >>> span_words(Span(first=date(2026, 2, 2), last=date(2026, 3, 29), weeks=8))
    ' of the last eight weeks'
    >>> span_words(Span(first=date(2026, 2, 2), last=date(2026, 3, 28)))
    ' of these days'
    """
    return f" of the last {SPAN_WORDS[span.weeks]}" if span.weeks in SPAN_WORDS else " of these days"


def headline(counted: Completion, span: Span) -> str:
    """Say what matters most: how many of the audits whose time is over were done, and how."""
    days = span_words(span)
    if not counted.due:
        return f"No audit{days} was due yet"
    if not counted.over:
        return f"No audit{days} is over yet; {counted.due} due, {counted.done} of them done"
    done = f"{counted.over_in_time} of {count_words(counted.over, 'audit')}{days} done in time"
    return ", ".join((done, *outcome_words(counted)))


def outcome_words(counted: Completion) -> tuple[str, ...]:
    """Say how those stand whose time is over and that were not done in time; nothing of which is none."""
    unsigned = counted.over - counted.over_done - counted.missed - counted.not_finished
    said = (
        (counted.late, "late"),
        (counted.made_up, "made up later"),
        (counted.missed, "missed"),
        (counted.not_finished, "not finished"),
        (unsigned, "still to be signed"),
    )
    return tuple(f"{count} {words}" for count, words in said if count)


def completion_notes(found: AuditFigures) -> Iterator[str]:
    """Say what else belongs to the headline, a sentence each."""
    counted = found.completion.all
    if early := counted.due - counted.over:
        done = counted.in_time - counted.over_in_time
        yield f"Time not over yet: {count_words(early, 'more audit')}, {done} of them done."
    if counted.missed:
        yield f"A reason is recorded for {counted.missed_with_reason} of {counted.missed} missed."
    if counted.on_paper:
        yield f"Done on paper and typed in: {count_words(counted.on_paper, 'audit')}."
    if found.beyond_plan:
        audits = count_words(found.beyond_plan, "audit")
        yield f"Outside the plan as it is now, so not counted as done: {audits}."
    if found.done_twice:
        yield f"Begun more than once, counted by the better one: {count_words(found.done_twice, 'audit')}."
    if found.without_signature:
        audits = count_words(found.without_signature, "audit")
        yield f"Answered in part or without signature: {audits}; the answers count below."


def completion_words(counted: Completion) -> str:
    """Say in one line how audits, or visits of a station, were done.

    Examples
    --------
    >>> from walkapp.analysis.audits.completion import OUTCOMES
    >>> figures = dict.fromkeys(("missed_with_reason", "on_paper"), 0)
    >>> states = {**dict.fromkeys(OUTCOMES, 0), "in_time": 7, "missed": 2, "open": 1}
    >>> completion_words(Completion(due=10, **states, **figures, over=8, over_in_time=6))
    '6 of 8 in time, 2 missed; 2 not over yet'
    """
    early = counted.due - counted.over
    said = f"{counted.over_in_time} of {counted.over} in time" if counted.over else ""
    told = ", ".join(filter(None, (said, *outcome_words(counted))))
    return "; ".join(filter(None, (told, f"{early} not over yet" if early else "")))


def visits_words(one: StationVisits) -> str:
    """Say in one line how often a station was visited."""
    planned = one.planned
    last = f"last visited {one.last_on}" if one.last_on else "not visited"
    said = (
        f"{planned.over_done} of {count_words(planned.over, 'planned visit')} done" if planned.over else ""
    )
    return ", ".join(filter(None, (said, last)))


def least_visited(found: AuditFigures) -> tuple[StationVisits, ...]:
    """Give the stations of the plan, the one with the smallest share of its planned visits done first."""

    def share(one: StationVisits) -> tuple[float, int]:
        planned = one.planned
        return (planned.over_done / planned.over if planned.over else 2.0, -planned.over)

    return tuple(sorted((one for one in found.completion.by_station if one.planned.due), key=share))


def conformity_words(found: Conformity) -> str:
    """Say in one line how often things were as they should be.

    Examples
    --------
    >>> from walkapp.analysis.audits.conformity import conformity_of
    >>> conformity_words(conformity_of(["ok"] * 16 + ["not_ok"] * 4 + ["not_applicable"]))
    '16 of 20 OK (80 %; 56 % to 95 %), 1 N/A'
    """
    beside = f"{found.not_applicable} N/A" if found.not_applicable else ""
    if found.share is None or found.interval is None:
        return f"never judged, {beside}"
    shares = f"{share_from(found.share)}; {share_range(found.interval.low, found.interval.high)}"
    return ", ".join(filter(None, (f"{found.ok} of {found.judged} OK ({shares})", beside)))


def repeats_words(found: RepeatResults) -> str:
    """Say how many findings came back."""
    if not found.findings:
        return "No finding"
    verb = "is a repeat" if found.repeats == 1 else "are repeats"
    return (
        f"{found.repeats} of {count_words(found.findings, 'finding')} {verb}: NOK in another audit, same "
        f"station and question, within {count_words(found.within_days, 'day')} before"
    )


def repeat_lines(found: AuditFigures, repeat: Repeat) -> Iterator[str]:
    """Tell each finding of one that came back: its day, whose audit it was, what was done."""
    for one in repeat.findings:
        yield f"{one.found_on}, {found.group_name(one.layer, one.shift)}: {_state_words(one)}"


def repeat_words(found: AuditFigures, repeat: Repeat) -> str:
    """Say in one line how often something came back, and how the last one stands."""
    first, last = repeat.findings[0], repeat.findings[-1]
    return (
        f"NOK {len(repeat.findings)} times, {first.found_on} to {last.found_on}; the last: "
        f"{found.group_name(last.layer, last.shift)}, {_state_words(last)}"
    )


def _state_words(one: FindingSeen) -> str:
    said = REACTION_WORDS.get(one.reaction, NO_REACTION)
    if one.reaction == "corrected":
        return said
    return (
        f"{said}, {'overdue' if one.is_overdue else 'open'}" if one.is_open else f"{said}, put right since"
    )


def findings_words(found: FindingCounts) -> str:
    """Say what was done about the findings of these days."""
    if not found.found:
        return "No finding in these days"
    said = (
        (found.closed_later, "put right since"),
        (found.open, "open"),
    )
    rest = [f"{count} {words}" for count, words in said if count]
    corrected = f"{found.corrected} of {count_words(found.found, 'finding')} corrected on the spot"
    return ", ".join((corrected, *rest))


def ageing_words(found: Ageing) -> str:
    """Say how many findings are open, and how long."""
    if not found.open:
        return "No finding is open"
    ages = ", ".join(
        f"{count} for {age_words(low, high)}"
        for (low, high), count in zip(AGES, found.by_age, strict=True)
        if count
    )
    late = f"; {found.overdue} overdue" if found.overdue else ""
    silent = f"; {found.no_reaction} without a reaction" if found.no_reaction else ""
    return f"{count_words(found.open, 'finding')} open: {ages}{late}{silent}"


def age_words(low: int, high: int | None) -> str:
    """Name days that are counted together.

    Examples
    --------
    >>> age_words(8, 30), age_words(31, None)
    ('8 to 30 days', 'over 30 days')
    """
    return f"over {low - 1} days" if high is None else f"{low} to {high} days"


def middle_words(found: Ageing) -> str:
    """Say how long the open findings are open; nothing while none is."""
    if found.median_days is None or found.longest_days is None:
        return ""
    return f"Days open: median {found.median_days:g}, longest {found.longest_days}"


def figures_lines(found: AuditFigures) -> Iterator[str]:
    """Tell everything for a terminal, the sentence that matters most first."""
    stream = found.stream
    yield f"{stream.name}, {found.span.first} to {found.span.last}"
    yield f"{headline(found.completion.all, found.span)}."
    yield from completion_notes(found)
    yield HERE_ONLY
    completion = found.completion
    if completion.all.due:
        yield ""
        yield "Completion."
        yield CENSUS
        yield from _rows("By layer", _named(found.layer_names, completion.by_layer), completion_words)
        if set(completion.by_shift) != {""}:
            yield from _rows("By shift", _named({"": NO_SHIFT}, completion.by_shift), completion_words)
        yield from _rows("By week (ISO)", completion.by_week.items(), completion_words)
        visits = ((found.station_name(one.station), one) for one in least_visited(found))
        yield from _rows("By station, least visited first", visits, visits_words)
    if found.conformity.all.answers:
        yield ""
        yield f"Conformity: {conformity_words(found.conformity.all)}."
        yield INTERVAL_NOTE
        by_station = [(found.station_name(s), one) for s, one in found.conformity.by_station.items()]
        yield from _rows("By layer", _named(found.layer_names, found.conformity.by_layer), conformity_words)
        yield from _rows("By station", by_station, conformity_words)
        questions = ((question_words(found, one), one.conformity) for one in found.conformity.by_question)
        yield from _rows("By question", questions, conformity_words)
    if often := not_applicable_lines(found):
        yield ""
        yield "Often N/A: see whether the question fits the station."
        yield from (f"  {line}" for line in often)
    yield ""
    yield f"Findings: {findings_words(found.findings)}."
    if found.findings.found:
        yield f"{repeats_words(found.repeats)}."
    for repeat in found.repeats.each:
        yield f"  {found.station_name(repeat.station)}: {in_one_line(repeat.asked)}"
        yield from (f"    {line}" for line in repeat_lines(found, repeat))
    yield f"Whenever found: {ageing_words(found.ageing)}."
    if middle := middle_words(found.ageing):
        yield f"{middle}."
    yield from _prompt_lines("Layers that disagree", found.disagreements)
    yield from _prompt_lines("Worth going to see", found.prompts)


def _named(names: Mapping[str, str], parts: Mapping[str, T]) -> list[tuple[str, T]]:
    return [(names.get(key, key), part) for key, part in parts.items()]


def _rows(title: str, rows: Iterable[tuple[str, T]], words: Callable[[T], str]) -> Iterator[str]:
    yield f"{title}:"
    for name, one in rows:
        yield f"  {name}: {words(one)}"


def question_words(found: AuditFigures, one: QuestionConformity) -> str:
    """Name a question and its station."""
    return f"{found.station_name(one.station)}: {in_one_line(one.asked)}"


def not_applicable_lines(found: AuditFigures) -> tuple[str, ...]:
    """Tell the questions that did not apply often, the most often first."""
    often = [one for one in found.conformity.by_question if one.is_often_not_applicable]
    often.sort(key=lambda one: (-(one.conformity.share_not_applicable or 0.0), one.ref))
    return tuple(
        f"{question_words(found, one)} N/A in {one.conformity.not_applicable} of "
        f"{count_words(one.conformity.answers, 'answer')}"
        for one in often
    )


def prompt_words(prompt: Prompt) -> tuple[str, ...]:
    """Say what is worth going to see: where and what in one line, then how it was worked out."""
    return (in_one_line(f"{prompt.where}: {prompt.sentence}"), *map(in_one_line, prompt.lines))


def _prompt_lines(title: str, prompts: Iterable[Prompt]) -> Iterator[str]:
    told = list(prompts)
    if not told:
        return
    yield ""
    yield f"{title}. {GO_AND_SEE}"
    for one in told:
        first, *others = prompt_words(one)
        yield f"  {first}"
        yield from (f"    {line}" for line in others)
