"""Layered audits in words and shapes: which audit, how it stands, what was answered, what is offered.

The lists of offered words are data alone; no code asks for one of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

from walkapp.actions.audits.book import REACTION_WORDS, Finding
from walkapp.actions.audits.reading import AuditFacts
from walkapp.actions.audits.states import (
    BEGUN,
    DONE,
    IN_TIME,
    LATE,
    MADE_UP,
    MISSED,
    OPEN,
    TO_COME,
    UNFINISHED,
    PlannedAudit,
)
from walkapp.analysis.audits.calendar import AuditSlot
from walkapp.analysis.wording import capital
from walkapp.language import day_said, day_words, month_words, msg, tr, trn, weekday_words
from walkapp.model.records import AuditAnswer, AuditReaction, AuditSigned, AuditStart, Photo, Record
from walkapp.presenters.wording import ANSWER_WORDS

STATE_MARKS: Mapping[str, str] = {
    TO_COME: "not_visited",
    OPEN: "next",
    BEGUN: "undecided",
    IN_TIME: "clean",
    LATE: "caution",
    MADE_UP: "caution",
    MISSED: "bad",
    UNFINISHED: "bad",
}
"""Shape of each state of an audit; its word always stands beside it."""

ANSWER_MARKS = {"ok": "clean", "not_ok": "bad", "not_applicable": "not_applicable", "": "open"}
"""Shape of each answer, and of a question without one."""

REACTION_CHOICES = (
    ("corrected", msg("Corrected on the spot")),
    ("contained", msg("Contained: held back until it is right")),
    ("escalated", msg("Escalated: handed upwards")),
)

DONE_WORDINGS: Mapping[str, tuple[str, ...]] = {
    "corrected": (
        msg("Put right and looked at again"),
        msg("Set back to the sheet"),
        msg("Replaced"),
        msg("Cleaned and tidied"),
        msg("Person shown how"),
    ),
    "contained": (
        msg("Station stopped, parts held"),
        msg("Parts since the last OK held and marked"),
        msg("Parts sorted before they go on"),
        msg("Taken out of use and marked"),
    ),
    "escalated": (
        msg("Shift lead told"),
        msg("Maintenance told"),
        msg("Quality told"),
        msg("Station stopped and told"),
    ),
}
"""Frequent wordings of what was found and done, for each reaction."""

NOT_APPLICABLE_REASONS = (
    msg("equipment not running"),
    msg("not made in this shift"),
    msg("not allowed by site rules"),
    msg("nobody here who may show it"),
)

MISSED_REASONS = (
    msg("line did not run"),
    msg("no one of this layer on site"),
    msg("called to something urgent"),
    msg("station locked or blocked"),
    msg("forgotten"),
)

A_DAY = timedelta(days=1)

MOST_REASON_DAYS = 6
"""Within so many days a weekday says which day is meant."""


def moment_words(moment: datetime, now: datetime) -> str:
    """Write a moment as short as it stays clear from now: time, weekday and time, or day and time.

    Parameters
    ----------
    moment
        In the time zone that it is told in.
    now
        The present, in any zone.

    Examples
    --------
    >>> now = datetime(2026, 3, 9, 6, 30, tzinfo=UTC)
    >>> [moment_words(now + timedelta(hours=hours), now) for hours in (7, 24, 24 * 30)]
    ['13:30', 'Tuesday 06:30', 'Wed 8 Apr 2026 06:30']
    """
    days = abs((moment.date() - _in_zone(now, moment).date()).days)
    at = f"{moment:%H:%M}"
    if days == 0:
        return at
    if days <= MOST_REASON_DAYS:
        return f"{weekday_words(moment)} {at}"
    return f"{day_words(moment.date(), with_year=True)} {at}"


def left_words(due: datetime, now: datetime) -> str:
    """Say how much time is left: never more than there is.

    Parameters
    ----------
    due
        In the time zone that it is told in, after `now`.
    now
        The present, in any zone.

    Examples
    --------
    >>> now = datetime(2026, 3, 9, 6, 30, tzinfo=UTC)
    >>> [left_words(now + timedelta(minutes=left), now) for left in (0.5, 40, 130, 4 * 24 * 60)]
    ['less than 1 min left', '40 min left', '2 h 10 min left', 'due Friday 06:30']
    """
    left = _left(due, now)
    if left >= A_DAY:
        return tr("due {moment}", moment=moment_words(due, now))
    return tr("{span} left", span=span_words(left))


def _left(due: datetime, now: datetime) -> timedelta:
    # By UTC: the difference of two times of one zone leaves a clock change out.
    return due.astimezone(UTC) - now.astimezone(UTC)


def span_words(span: timedelta) -> str:
    """Write a span of time, cut off to minutes.

    Examples
    --------
    >>> span_words(timedelta(seconds=50)), span_words(timedelta(minutes=65)), span_words(timedelta(days=2))
    ('less than 1 min', '1 h 5 min', '48 h')
    """
    hours, minutes = divmod(int(span.total_seconds()) // 60, 60)
    said = (
        tr("{hours} h", hours=hours) if hours else "",
        tr("{minutes} min", minutes=minutes) if minutes else "",
    )
    return " ".join(filter(None, said)) or tr("less than 1 min")


def slot_words(every: str, slot: AuditSlot, *, with_year: bool = False) -> str:
    """Say which shift, day, week or month an audit is of.

    Parameters
    ----------
    every
        How often its layer audits.
    slot
        Its place in the plan.
    with_year
        Whether the year is said of days too.
    """
    day = day_words(slot.day, with_year=with_year)
    if every == "shift":
        return tr("{shift} shift, {day}", shift=slot.shift, day=day)
    if every == "week":
        week, first_on = slot.day.isocalendar().week, day_words(slot.first_on)
        if slot.last_on == slot.first_on:
            return tr("week {week}, {day}", week=week, day=first_on)
        last_on = day_words(slot.last_on, with_year=with_year)
        return tr("week {week}, {first_on} to {last_on}", week=week, first_on=first_on, last_on=last_on)
    return month_words(slot.day) if every == "month" else day


def planned_title(planned: PlannedAudit, *, with_year: bool = False) -> str:
    """Name an audit of the plan: layer, then shift, day, week or month."""
    words = slot_words(planned.layer.every, planned.slot, with_year=with_year)
    return f"{planned.layer.name}: {words}"


def audit_title(facts: AuditFacts, planned: PlannedAudit | None) -> str:
    """Name an audit that is begun; by its record alone where its plan is not here."""
    if planned is not None:
        return planned_title(planned, with_year=True)
    start = facts.start
    day = day_said(start.day)
    when = tr("{shift} shift, {day}", shift=start.shift, day=day) if start.shift else day
    return f"{start.layer}: {when}"


def state_words(planned: PlannedAudit, now: datetime, device: str) -> str:
    """Say how an audit of the plan stands, with the time that is left.

    Parameters
    ----------
    planned
        The audit.
    now
        The present.
    device
        Id of this tablet.
    """
    state, facts = planned.state, planned.audits[0] if planned.audits else None
    if state == TO_COME:
        return tr("To come, from {moment}", moment=moment_words(planned.opens, now))
    if state == OPEN:
        left = left_words(planned.due, now)
        is_far = _left(planned.due, now) >= A_DAY
        return tr("Open, {left}", left=left) if is_far else tr("Due now, {left}", left=left)
    if state == MISSED:
        if planned.can_be_made_up(now):
            return tr(
                "Missed, can be made up until {moment}", moment=moment_words(planned.make_up_until, now)
            )
        return (
            tr("Missed: {reason}", reason=planned.missed.reason)
            if planned.missed
            else tr("Missed, nobody said why")
        )
    assert facts is not None
    more = tr("also on another tablet") if len(planned.audits) > 1 else ""
    if state in DONE:
        nok = facts.count("not_ok")
        signed = tr("signed {moment}", moment=moment_words(_in_zone(signed_at(facts), planned.due), now))
        found = tr("{nok} NOK", nok=nok) if nok else ""
        paper = tr("on paper") if facts.start.is_paper else ""
        return _listed(capital(tr(state)), paper, signed, found, more)
    answered = (
        tr("{answers} of {asked} answered", answers=len(facts.answers), asked=len(facts.asked))
        if facts.is_whole
        else ""
    )
    if state == UNFINISHED:
        return _listed(tr("Not finished"), answered, more)
    where = tr("Begun here") if facts.start.device == device else tr("Begun on another tablet")
    if now < planned.due:
        left = left_words(planned.due, now)
    else:
        left = tr(
            "its time is over, finish it by {moment}", moment=moment_words(planned.make_up_until, now)
        )
    return _listed(where, answered, left, more)


def _listed(*words: str) -> str:
    return ", ".join(filter(None, words))


def if_signed_words(planned: PlannedAudit, facts: AuditFacts, now: datetime) -> str:
    """Say what an audit will count as when it is signed now."""
    if facts.begun_at >= planned.due:
        return tr("It was begun after its time was over: it counts as made up.")
    signed = datetime.fromisoformat(facts.start.paper_until) if facts.start.is_paper else now
    if signed < planned.due:
        return tr("It counts as done in time.")
    return tr(
        "Its time was over at {moment}: it counts as done late.", moment=moment_words(planned.due, now)
    )


def signed_at(facts: AuditFacts) -> datetime:
    """Give when an audit was signed; when it was begun where it was not."""
    return facts.signed_at or facts.begun_at


def counts_words(facts: AuditFacts) -> str:
    """Count the answers of an audit."""
    given = ", ".join(f"{facts.count(word)} {tr(ANSWER_WORDS[word])}" for word in ANSWER_WORDS)
    return trn("{count} question: {given}", "{count} questions: {given}", len(facts.asked), given=given)


def reaction_words(finding: Finding) -> str:
    """Say what was done about a NOK, who sees to the rest and until when, and what shows it."""
    reaction = finding.reaction
    said = []
    if reaction is not None:
        said.append(f"{tr(REACTION_WORDS[reaction.reaction])}: {reaction.what}")
        if reaction.owner:
            said.append(
                tr("{owner} until {due_on}", owner=reaction.owner, due_on=day_said(reaction.due_on))
            )
    if finding.closed is not None:
        said.append(tr("closed on {closed_on}", closed_on=day_said(finding.closed.closed_on)))
    if finding.pictures:
        said.append(trn("{count} picture", "{count} pictures", len(finding.pictures)))
    return "; ".join(said)


def answer_words(facts: AuditFacts, ref: str) -> str:
    """Say what was answered to a question, and what was done about it."""
    given = facts.answers.get(ref)
    if given is None:
        return tr("not answered")
    word = tr(ANSWER_WORDS[given.answer])
    if given.answer == "not_applicable":
        return f"{word}: {given.reason}"
    finding = finding_of(facts, ref)
    if finding is None:
        return word
    done = reaction_words(finding)
    return _listed(word, "" if finding.reaction else tr(NOT_SAID), done)


NOT_SAID = msg("what was done is still to be said")


def finding_of(facts: AuditFacts, ref: str) -> Finding | None:
    """Give the finding of a question, or none where it is not NOK."""
    return next((finding for finding in facts.findings if finding.answer.ref == ref), None)


def entry_in_short(entry: Record | None, facts: AuditFacts) -> str:
    """Say in two or three words what an entry of an audit was; nothing for none."""
    match entry:
        case AuditAnswer():
            name = next((one.station_name for one in facts.asked if one.ref == entry.ref), entry.station)
            return tr("{what} at {short}", what=tr(ANSWER_WORDS[entry.answer]), short=name)
        case AuditReaction():
            return tr("reaction: {reaction}", reaction=tr(REACTION_WORDS[entry.reaction]))
        case AuditSigned():
            return tr("signature")
        case AuditStart():
            return tr("that it was begun")
        case Photo():
            return tr("picture")
        case _:
            return ""


def _in_zone(moment: datetime, like: datetime) -> datetime:
    """Tell a moment in the zone of another; at the ends of time, as it was written."""
    try:
        return moment.astimezone(like.tzinfo)
    except OverflowError:
        return moment
