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
from walkapp.language import day_text, decimal_text, msg, msgn, tr, trn, whole_text

T = TypeVar("T")

SPAN_WORDS = {
    1: msg("of the last week"),
    4: msg("of the last four weeks"),
    8: msg("of the last eight weeks"),
    26: msg("of the last half year"),
}
"""Spans up to today that have a name, by their weeks, as they stand behind what is counted."""

NO_SHIFT = msg("Not by shift")
"""What stands for the layers that do not audit every shift, where shifts are told apart."""

HERE_ONLY = msg("By the records here: audits of a tablet that is not merged yet count as not done.")

GO_AND_SEE = msg("Prompts to go and see, each with what else may explain it; never a judgement of anybody.")


def span_words(span: Span) -> str:
    """Name the days that are told where they have a name, to stand behind what is counted.

    Examples
    --------
    >>> from datetime import date
    >>> span_words(Span(first=date(2026, 2, 2), last=date(2026, 3, 29), weeks=8))
    'of the last eight weeks'
    >>> span_words(Span(first=date(2026, 2, 2), last=date(2026, 3, 28)))
    'of these days'
    """
    return tr(SPAN_WORDS[span.weeks]) if span.weeks in SPAN_WORDS else tr("of these days")


def headline(counted: Completion, span: Span) -> str:
    """Say what matters most: how many of the audits whose time is over were done, and how."""
    days = span_words(span)
    if not counted.due:
        return tr("No audit {days} was due yet", days=days)
    if not counted.over:
        return tr(
            "No audit {days} is over yet; {due} due, {done} of them done",
            days=days,
            due=counted.due,
            done=counted.done,
        )
    done = tr(
        "{over_in_time} of {audits} {days} done in time",
        over_in_time=counted.over_in_time,
        audits=trn("{count} audit", "{count} audits", counted.over),
        days=days,
    )
    return ", ".join((done, *outcome_words(counted)))


def outcome_words(counted: Completion) -> tuple[str, ...]:
    """Say how those stand whose time is over and that were not done in time; nothing of which is none."""
    unsigned = counted.over - counted.over_done - counted.missed - counted.not_finished
    said = (
        (counted.late, msgn("{count} late", "{count} late")),
        (counted.made_up, msgn("{count} made up later", "{count} made up later")),
        (counted.missed, msgn("{count} missed", "{count} missed")),
        (counted.not_finished, msgn("{count} not finished", "{count} not finished")),
        (unsigned, msgn("{count} still to be signed", "{count} still to be signed")),
    )
    return tuple(trn(*words, count) for count, words in said if count)


def completion_notes(found: AuditFigures) -> Iterator[str]:
    """Say what else belongs to the headline, a sentence each."""
    counted = found.completion.all
    if early := counted.due - counted.over:
        done = counted.in_time - counted.over_in_time
        yield trn(
            "Time not over yet: {count} more audit, {done} of them done.",
            "Time not over yet: {count} more audits, {done} of them done.",
            early,
            done=done,
        )
    if counted.missed:
        yield tr(
            "A reason is recorded for {missed_with_reason} of {missed} missed.",
            missed_with_reason=counted.missed_with_reason,
            missed=counted.missed,
        )
    if counted.on_paper:
        yield tr(
            "Done on paper and typed in: {audits}.",
            audits=trn("{count} audit", "{count} audits", counted.on_paper),
        )
    if found.beyond_plan:
        audits = trn("{count} audit", "{count} audits", found.beyond_plan)
        yield tr("Outside the plan as it is now, so not counted as done: {audits}.", audits=audits)
    if found.done_twice:
        yield tr(
            "Begun more than once, counted by the better one: {audits}.",
            audits=trn("{count} audit", "{count} audits", found.done_twice),
        )
    if found.without_signature:
        audits = trn("{count} audit", "{count} audits", found.without_signature)
        yield tr("Answered in part or without signature: {audits}; the answers count below.", audits=audits)


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
    said = (
        tr("{over_in_time} of {over} in time", over_in_time=counted.over_in_time, over=counted.over)
        if counted.over
        else ""
    )
    told = ", ".join(filter(None, (said, *outcome_words(counted))))
    return "; ".join(filter(None, (told, tr("{early} not over yet", early=early) if early else "")))


def visits_words(one: StationVisits) -> str:
    """Say in one line how often a station was visited."""
    planned = one.planned
    last = tr("last visited {last_on}", last_on=one.last_on) if one.last_on else tr("not visited")
    said = (
        tr(
            "{over_done} of {visits} done",
            over_done=planned.over_done,
            visits=trn("{count} planned visit", "{count} planned visits", planned.over),
        )
        if planned.over
        else ""
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
    beside = tr("{count} N/A", count=whole_text(found.not_applicable)) if found.not_applicable else ""
    if found.share is None or found.interval is None:
        return ", ".join(filter(None, (tr("never judged"), beside)))
    shares = f"{share_from(found.share)}; {share_range(found.interval.low, found.interval.high)}"
    return ", ".join(
        filter(
            None,
            (tr("{ok} of {judged} OK ({shares})", ok=found.ok, judged=found.judged, shares=shares), beside),
        )
    )


def repeats_words(found: RepeatResults) -> str:
    """Say how many findings came back."""
    if not found.findings:
        return tr("No finding")
    return trn(
        "{count} of {findings} is a repeat: NOK in another audit, same station and question, within {days} "
        "before",
        "{count} of {findings} are repeats: NOK in another audit, same station and question, within {days} "
        "before",
        found.repeats,
        findings=trn("{count} finding", "{count} findings", found.findings),
        days=trn("{count} day", "{count} days", found.within_days),
    )


def repeat_lines(found: AuditFigures, repeat: Repeat) -> Iterator[str]:
    """Tell each finding of one that came back: its day, whose audit it was, what was done."""
    for one in repeat.findings:
        yield f"{day_text(one.found_on)}, {found.group_name(one.layer, one.shift)}: {_state_words(one)}"


def repeat_words(found: AuditFigures, repeat: Repeat) -> str:
    """Say in one line how often something came back, and how the last one stands."""
    first, last = repeat.findings[0], repeat.findings[-1]
    return tr(
        "NOK {findings} times, {found_on} to {found_on2}; the last: {group_name}, {state}",
        findings=len(repeat.findings),
        found_on=first.found_on,
        found_on2=last.found_on,
        group_name=found.group_name(last.layer, last.shift),
        state=_state_words(last),
    )


def _state_words(one: FindingSeen) -> str:
    said = tr(REACTION_WORDS.get(one.reaction, NO_REACTION))
    if one.reaction == "corrected":
        return said
    if not one.is_open:
        return tr("{said}, put right since", said=said)
    return tr("{said}, overdue", said=said) if one.is_overdue else tr("{said}, open", said=said)


def findings_words(found: FindingCounts) -> str:
    """Say what was done about the findings of these days."""
    if not found.found:
        return tr("No finding in these days")
    said = (
        (found.closed_later, msgn("{count} put right since", "{count} put right since")),
        (found.open, msgn("{count} open", "{count} open")),
    )
    rest = [trn(*words, count) for count, words in said if count]
    corrected = tr(
        "{corrected} of {findings} corrected on the spot",
        corrected=found.corrected,
        findings=trn("{count} finding", "{count} findings", found.found),
    )
    return ", ".join((corrected, *rest))


def ageing_words(found: Ageing) -> str:
    """Say how many findings are open, and how long."""
    if not found.open:
        return tr("No finding is open")
    ages = ", ".join(
        tr("{count} for {age}", count=count, age=age_words(low, high))
        for (low, high), count in zip(AGES, found.by_age, strict=True)
        if count
    )
    told = [
        trn("{count} finding open: {ages}", "{count} findings open: {ages}", found.open, ages=ages),
        trn("{count} overdue", "{count} overdue", found.overdue) if found.overdue else "",
        trn("{count} without a reaction", "{count} without a reaction", found.no_reaction)
        if found.no_reaction
        else "",
    ]
    return "; ".join(filter(None, told))


def age_words(low: int, high: int | None) -> str:
    """Name days that are counted together.

    Examples
    --------
    >>> age_words(8, 30), age_words(31, None)
    ('8 to 30 days', 'over 30 days')
    """
    return (
        trn("over {count} day", "over {count} days", low - 1)
        if high is None
        else tr("{low} to {high} days", low=low, high=high)
    )


def middle_words(found: Ageing) -> str:
    """Say how long the open findings are open; nothing while none is."""
    if found.median_days is None or found.longest_days is None:
        return ""
    return tr(
        "Days open: median {median_days}, longest {longest_days}",
        median_days=decimal_text(f"{found.median_days:g}"),
        longest_days=found.longest_days,
    )


def figures_lines(found: AuditFigures) -> Iterator[str]:
    """Tell everything for a terminal, the sentence that matters most first."""
    stream = found.stream
    yield tr(
        "{stream}, {first} to {last}", stream=stream.name, first=found.span.first, last=found.span.last
    )
    yield f"{headline(found.completion.all, found.span)}."
    yield from completion_notes(found)
    yield tr(HERE_ONLY)
    completion = found.completion
    if completion.all.due:
        yield ""
        yield tr("Completion.")
        yield tr(CENSUS)
        yield from _rows(tr("By layer"), _named(found.layer_names, completion.by_layer), completion_words)
        if set(completion.by_shift) != {""}:
            yield from _rows(
                tr("By shift"), _named({"": tr(NO_SHIFT)}, completion.by_shift), completion_words
            )
        yield from _rows(tr("By week (ISO)"), completion.by_week.items(), completion_words)
        visits = ((found.station_name(one.station), one) for one in least_visited(found))
        yield from _rows(tr("By station, least visited first"), visits, visits_words)
    if found.conformity.all.answers:
        yield ""
        yield tr("Conformity: {conformity}.", conformity=conformity_words(found.conformity.all))
        yield tr(INTERVAL_NOTE)
        by_station = [(found.station_name(s), one) for s, one in found.conformity.by_station.items()]
        yield from _rows(
            tr("By layer"), _named(found.layer_names, found.conformity.by_layer), conformity_words
        )
        yield from _rows(tr("By station"), by_station, conformity_words)
        questions = ((question_words(found, one), one.conformity) for one in found.conformity.by_question)
        yield from _rows(tr("By question"), questions, conformity_words)
    if often := not_applicable_lines(found):
        yield ""
        yield tr("Often N/A: see whether the question fits the station.")
        yield from (f"  {line}" for line in often)
    yield ""
    yield tr("Findings: {findings}.", findings=findings_words(found.findings))
    if found.findings.found:
        yield f"{repeats_words(found.repeats)}."
    for repeat in found.repeats.each:
        yield f"  {found.station_name(repeat.station)}: {in_one_line(repeat.asked)}"
        yield from (f"    {line}" for line in repeat_lines(found, repeat))
    yield tr("Whenever found: {ageing}.", ageing=ageing_words(found.ageing))
    if middle := middle_words(found.ageing):
        yield f"{middle}."
    yield from _prompt_lines(tr("Layers that disagree"), found.disagreements)
    yield from _prompt_lines(tr("Worth going to see"), found.prompts)


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
        tr(
            "{question} N/A in {not_applicable} of {answers}",
            question=question_words(found, one),
            not_applicable=one.conformity.not_applicable,
            answers=trn("{count} answer", "{count} answers", one.conformity.answers),
        )
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
    yield f"{title}. {tr(GO_AND_SEE)}"
    for one in told:
        first, *others = prompt_words(one)
        yield f"  {first}"
        yield from (f"    {line}" for line in others)
