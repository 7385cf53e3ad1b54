"""Containment, actions, results, lessons and read-across, as the sheet says them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from walkapp.actions.acting import EFFECTIVE, ActionFacts, actions_of, strays
from walkapp.actions.action_words import cautions_of, moved_text, status_text, stray_text, what_text
from walkapp.actions.containment import ContainmentFacts, containment_of
from walkapp.actions.containment_telling import balance_words
from walkapp.actions.days import today
from walkapp.actions.lessons import QUESTIONS, lessons_of
from walkapp.actions.read_across import STATUS_WORDS, Candidate, read_across_of
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.sheet.made import part_of
from walkapp.actions.workplace import Workplace
from walkapp.analysis.effect import EFFECTIVE as WORKED
from walkapp.analysis.effect import WORSE
from walkapp.analysis.stages import VERIFIED, Stage
from walkapp.analysis.wording import AIM_WORDS
from walkapp.language import day_said, tr, trn, whole_text
from walkapp.paper.sheet_content import SheetEntry, SheetPart


def sheet_parts(place: Workplace, facts: ConcernFacts, stages: Sequence[Stage]) -> tuple[SheetPart, ...]:
    """Gather the parts of a concern that come after its cause, in the order of the questions."""
    found = actions_of(facts, today(place))
    return (
        containment_part(containment_of(place, facts)),
        actions_part(facts, found),
        results_part(stages, found),
        lessons_part(facts),
        read_across_part(place, facts),
    )


def containment_part(found: ContainmentFacts) -> SheetPart:
    """Say whether a bad part can still get out."""
    entries = list(_contained(found)) if found.is_begun else []
    return part_of(
        name="containment",
        title=tr("Can bad parts still get out?"),
        state="clean" if found.is_contained else "bad" if found.is_begun else "not_visited",
        sentence=found.why if found.is_begun else tr("Not contained: nothing of it is recorded yet."),
        entries=entries,
    )


def _contained(found: ContainmentFacts) -> Iterator[SheetEntry]:
    account = found.account
    balance = balance_words(account.total)
    yield SheetEntry(
        text=account.sentence,
        state="clean" if account.total.is_done and not account.unaccounted else "undecided",
        words=tr("balance"),
        detail=tuple(filter(None, (balance, account.found_sentence, account.expected_sentence))),
    )
    for point in found.clean_points:
        yield SheetEntry(
            text=tr(
                "Good from {point} on (certified by {approved_by})",
                point=point.name,
                approved_by=point.point.approved_by,
            ),
            state="clean" if point.holds else "bad",
            words=tr("clean point holds") if point.holds else tr("clean point does not hold"),
            detail=(*point.against, point.support.sentence, *point.cautions),
        )
    since = found.since_escape
    yield SheetEntry(
        text=since[1],
        state="undecided" if found.escapes else "clean" if since[0] is not None else "not_visited",
        words=trn("{count} escape", "{count} escapes", len(found.escapes))
        if found.escapes
        else tr("no escape recorded"),
    )
    for one in found.stocks:
        if not one.balance.is_done:
            yield SheetEntry(
                text=tr("{one}: {located} found", one=one.name, located=whole_text(one.balance.located)),
                state="undecided",
                words=tr("open"),
                detail=tuple(filter(None, (balance_words(one.balance),))),
            )
    for warning in found.warnings:
        yield SheetEntry(text=tr("Mind: {warning}", warning=warning))
    if done := [one for one in found.stocks if one.balance.is_done]:
        yield SheetEntry(
            text="; ".join(
                tr("{one}: {located} found", one=one.name, located=whole_text(one.balance.located))
                for one in done
            ),
            state="clean",
            words=trn("{count} place done", "{count} places done", len(done)),
        )


def actions_part(facts: ConcernFacts, found: Sequence[ActionFacts]) -> SheetPart:
    """Say what is being done, by whom and until when; the overdue ones first."""
    late, closed = sum(one.is_late for one in found), sum(one.is_closed for one in found)
    entries = [_action(one) for one in found]
    if lost := len(strays(facts)):
        entries.append(SheetEntry(text=stray_text(lost), state="undecided", words=tr("not counted")))
    if not found:
        state, sentence = "not_visited", tr("No action is recorded yet.")
    else:
        state = "bad" if late else "clean" if closed == len(found) else "undecided"
        values = {
            "late": whole_text(late),
            "open": whole_text(len(found) - closed),
            "closed": whole_text(closed),
        }
        sentence = (
            trn(
                "{count} action: {open} open ({late} overdue), {closed} closed.",
                "{count} actions: {open} open ({late} overdue), {closed} closed.",
                len(found),
                **values,
            )
            if late
            else trn(
                "{count} action: none overdue, {open} open, {closed} closed.",
                "{count} actions: none overdue, {open} open, {closed} closed.",
                len(found),
                **values,
            )
        )
    return part_of(
        name="actions",
        title=tr("What is done, by whom, until when?"),
        state=state,
        sentence=sentence,
        entries=entries,
    )


def _action(now: ActionFacts) -> SheetEntry:
    action = now.action
    said = (
        tr(AIM_WORDS[action.aim]),
        action.owner,
        tr("due {due_on}", due_on=day_said(action.due_on)),
        moved_text(now),
    )
    criterion = tr("Effective when: {criterion}", criterion=action.criterion) if action.criterion else ""
    is_worse = now.effect is not None and now.effect.verdict == WORSE
    return SheetEntry(
        text=what_text(now),
        state="bad" if now.is_late or is_worse else "clean" if now.is_closed else "undecided",
        words=status_text(now),
        detail=tuple(filter(None, (", ".join(filter(None, said)), criterion))),
    )


def results_part(stages: Sequence[Stage], found: Sequence[ActionFacts]) -> SheetPart:
    """Say whether what was done worked: NOK before and after each action whose effect was checked."""
    verified = next(stage for stage in stages if stage.name == VERIFIED)
    checked = [one for one in found if one.effect is not None]
    # What did not work leads: it is what the team has to see.
    checked.sort(key=lambda one: one.status == EFFECTIVE)
    entries = [entry for one in checked for entry in _result(one)]
    waiting = sum(one.action.aim == "corrective" and one.effect is None for one in found)
    if waiting and checked:
        entries.append(
            SheetEntry(
                text=trn(
                    "{count} corrective action has no check of the effect yet.",
                    "{count} corrective actions have no check of the effect yet.",
                    waiting,
                )
            )
        )
    is_bad = any(one.effect is not None and one.effect.verdict == WORSE for one in checked)
    return part_of(
        name="results",
        title=tr("Did it work?"),
        state="clean"
        if verified.is_reached
        else "bad"
        if is_bad
        else "undecided"
        if found
        else "not_visited",
        sentence=verified.why if verified.is_reached else tr("Not verified. {why}", why=verified.why),
        entries=entries,
    )


def _result(now: ActionFacts) -> Iterator[SheetEntry]:
    effect = now.effect
    if effect is None:
        return
    shapes = {WORKED: "clean", WORSE: "bad"}
    check = now.checks[-1]
    source = f" ({check.source})" if check.source else ""
    yield SheetEntry(
        text=what_text(now),
        state=shapes.get(effect.verdict, "undecided"),
        words=tr(
            "{status}, checked on {checked_on}",
            status=tr(now.status),
            checked_on=day_said(check.checked_on),
        ),
        detail=(f"{effect.sentence}{source}", *effect.lines, *cautions_of(now)),
    )


def lessons_part(facts: ConcernFacts) -> SheetPart:
    """Say what was learned; what is to change in how the team works leads."""
    lessons = lessons_of(facts)
    entries = [
        SheetEntry(text=f"{answer} ({lesson.by}, {day_said(lesson.at[:10])})", words=tr(QUESTIONS[name]))
        for name in ("to_change", "did_not_work", "worked")
        for lesson in reversed(lessons)
        if (answer := getattr(lesson, name))
    ]
    return part_of(
        name="lessons",
        title=tr("What did we learn?"),
        state="clean" if lessons else "not_visited",
        sentence=trn("{count} lesson.", "{count} lessons.", len(lessons))
        if lessons
        else tr("No lesson is written down yet."),
        entries=entries,
    )


def read_across_part(place: Workplace, facts: ConcernFacts) -> SheetPart:
    """Say where else the same could happen, and what is known there."""
    found = read_across_of(place, facts)
    affected = any(one.status == "affected" or one.is_overdue for one in found.candidates)
    begun = any(one.latest is not None for one in found.candidates)
    state = "clean" if found.is_complete else "bad" if affected else "undecided" if begun else "not_visited"
    return part_of(
        name="read_across",
        title=tr("Where else could it happen?"),
        state=state,
        sentence=found.why if found.is_complete else tr("Not read across. {why}", why=found.why),
        entries=[_candidate(one) for one in found.candidates],
    )


_LIKE = {
    "clean": "clean",
    "fixed": "clean",
    "does_not_apply": "clean",
    "affected": "bad",
    "to_check": "undecided",
}


def _candidate(one: Candidate) -> SheetEntry:
    said = one.latest
    detail: tuple[str, ...] = ()
    if said is not None:
        due = (
            tr("until {due_on}", due_on=day_said(said.due_on)) if said.due_on and not one.is_settled else ""
        )
        detail = tuple(filter(None, (said.words, ", ".join(filter(None, (said.owner, due))))))
    if one.others:
        detail = (
            *detail,
            trn(
                "{count} further record of this station says so too or otherwise.",
                "{count} further records of this station say so too or otherwise.",
                len(one.others),
            ),
        )
    return SheetEntry(
        text=f"{one.station_name}, {one.stream_name}",
        state=_LIKE.get(one.status, "not_visited"),
        words=tr("overdue, {status_words}", status_words=tr(STATUS_WORDS[one.status]))
        if one.is_overdue
        else tr(STATUS_WORDS[one.status]),
        detail=detail,
    )
