"""From the records of a stream to the facts that its indicators are worked out from.

What several indicators need is gathered once, and nothing before an indicator asks for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property

from walkapp.actions.acting import EFFECTIVE, ActionFacts, actions_of
from walkapp.actions.audits.book import Finding
from walkapp.actions.audits.figures import finding_seen
from walkapp.actions.audits.findings import closed_findings, open_findings
from walkapp.actions.audits.gathering import audits_done
from walkapp.actions.audits.reading import zone_of
from walkapp.actions.audits.states import IN_TIME, planned_between
from walkapp.actions.books import books_of
from walkapp.actions.confirmations import confirmations_of
from walkapp.actions.containment import KINDS as CONTAINING
from walkapp.actions.containment import containment_of
from walkapp.actions.days import day_of, today
from walkapp.actions.desk import DeskFacts
from walkapp.actions.indicators.days_of import (
    day_in,
    done_on,
    first_words,
    late_times,
    named_on,
    opened_on,
    report_days,
)
from walkapp.actions.ppm import ppm_of
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.findings import repeat_results
from walkapp.analysis.indicators.cases import (
    ACTION,
    AUDITS,
    CONCERN,
    DELIVERIES,
    FINDING,
    Counted,
    Event,
    Lasting,
    MonthParts,
    Source,
)
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.auditing import DEFAULT_REPEAT_DAYS
from walkapp.model.records import Sorting

AUDIT_DAYS = 112
"""Days of audits that are read: eight weeks, and the eight before."""

YEAR_DAYS = 366
"""The same for figures of a year, month by month."""

RECENT_DAYS = 400
"""Days up to that one of which it is worked out how long concerns took: half a year and the half before."""


@dataclass(frozen=True)
class StreamCases:
    """The facts of a value stream as they are known on a day (`walkapp.analysis.indicators.cases.Cases`).

    Parameters
    ----------
    place
        Where the records are; its clock shows the day.
    desk
        The stream.
    on
        The day; what the records date after it does not count.
    audit_days
        Days up to that one of which audits are read.
    """

    place: Workplace
    desk: DeskFacts
    on: date
    audit_days: int = AUDIT_DAYS

    @cached_property
    def _latest(self) -> date:
        """The last day that may be told: today.

        What is dated later, by a wrong clock or a slip, counts as of today, so that it hides nothing. On an
        earlier day what came later is not known.
        """
        return self.on if today(self.place) == self.on else date.max

    def _by_now(self, day: date) -> date:
        return min(day, self._latest)

    @cached_property
    def _begun(self) -> Mapping[str, date]:
        """The day of each concern: that of the report, or else that on which it was opened."""
        begun = {
            facts.id: self._by_now(day_of(facts.concern.reported_on) or opened_on(facts))
            for facts in self.desk.concerns
        }
        return {one: day for one, day in begun.items() if day <= self.on}

    @cached_property
    def _concerns(self) -> tuple[ConcernFacts, ...]:
        """The concerns, by id."""
        return tuple(sorted((f for f in self.desk.concerns if f.id in self._begun), key=lambda f: f.id))

    @property
    def _recent(self) -> tuple[ConcernFacts, ...]:
        """Those that began in the last :data:`RECENT_DAYS` days."""
        return tuple(f for f in self._concerns if (self.on - self._begun[f.id]).days <= RECENT_DAYS)

    @cached_property
    def _actions(self) -> tuple[tuple[ConcernFacts, ActionFacts], ...]:
        return tuple((facts, action) for facts in self._concerns for action in actions_of(facts, self.on))

    @cached_property
    def known_since(self) -> date | None:
        """First day on which anything of the stream was recorded; none while nothing is."""
        said = [self._by_now(opened_on(facts)) for facts in self._concerns]
        said += [self._by_now(day_in(record.at)) for record in self.desk.standing.current]
        said += [self.audited_since] if self.audited_since else []
        return min(said, default=None)

    @cached_property
    def audited_since(self) -> date | None:
        """Day of the first audit that was begun; none while there is none."""
        for book in books_of(self.place, self.desk.stream):
            days = [
                date.fromisoformat(start.day)
                for start in self.place.audit_book(book).starts
                if start.stream == self.desk.stream
            ]
            if days:
                return min(days)
        return None

    @cached_property
    def reports(self) -> Sequence[Event]:
        """Concerns that the customer reported, and escapes."""
        return tuple(
            Event(day=day, source=_concern_source(facts))
            for facts in self._concerns
            for day in map(self._by_now, report_days(facts))
            if day <= self.on
        )

    @cached_property
    def containing(self) -> Sequence[Lasting]:
        """Each recent concern from the report until it was contained."""
        return tuple(self._lasting(facts, self._contained_on(facts)) for facts in self._recent)

    @cached_property
    def finding_origin(self) -> Sequence[Lasting]:
        """Each recent concern from the report until its first bad station was named."""
        return tuple(self._lasting(facts, facts.once(named_on)) for facts in self._recent)

    @cached_property
    def fixing(self) -> Sequence[Lasting]:
        """Each concern from the report until all its corrective actions were done."""
        return tuple(self._lasting(facts, self._fixed_on.get(facts.id)) for facts in self._concerns)

    @cached_property
    def untold(self) -> Sequence[Lasting]:
        """Each safety-class concern from the report until somebody was told."""
        return tuple(
            self._lasting(facts, min(map(day_in, (r.told_at for r in facts.escalations)), default=None))
            for facts in self._concerns
            if facts.concern.severity == "safety"
        )

    @cached_property
    def concerns_known(self) -> Sequence[date]:
        """The day of each concern."""
        return tuple(self._begun[facts.id] for facts in self._concerns)

    @cached_property
    def actions_known(self) -> Sequence[date]:
        """The day on which each action was opened."""
        days = (self._by_now(day_in(one.history[0].at)) for _, one in self._actions)
        return tuple(day for day in days if day <= self.on)

    @cached_property
    def overdue(self) -> Sequence[Lasting]:
        """Each time that an action, or the check of its effect, was overdue."""
        return tuple(
            late
            for facts, one in self._actions
            for late in late_times(one, _action_source(facts, one), self._latest)
        )

    @cached_property
    def actions_due(self) -> Sequence[Counted]:
        """Actions by the day on which they were first due; a hit was done by then."""
        found = []
        for facts, one in self._actions:
            due, done = date.fromisoformat(one.due_dates[0]), done_on(one, self._latest)
            is_in_time = done is not None and done <= due
            if due < self.on or (due == self.on and is_in_time):
                found.append(Counted(day=due, is_hit=is_in_time, source=_action_source(facts, one)))
        return tuple(found)

    @cached_property
    def effects(self) -> Sequence[Counted]:
        """Effect checks made or overdue; a hit showed that the action worked."""
        found = []
        for facts, one in self._actions:
            done = done_on(one, self._latest)
            days = [self._by_now(date.fromisoformat(check.checked_on)) for check in one.checks]
            checked = [check for check, day in zip(one.checks, days, strict=True) if day <= self.on]
            day = days[len(checked) - 1] if checked else day_of(one.action.check_on)
            if done is None or done > self.on or day is None or (not checked and day >= self.on):
                continue
            is_hit = bool(checked) and replace(one, checks=tuple(checked)).status == EFFECTIVE
            found.append(Counted(day=day, is_hit=is_hit, source=_action_source(facts, one)))
        return tuple(found)

    @cached_property
    def fixed(self) -> Sequence[Counted]:
        """Concerns that were fixed; a hit had its cause proved."""
        return tuple(
            Counted(
                day=day,
                is_hit=any(tried.proves for tried in confirmations_of(facts)),
                source=_concern_source(facts),
            )
            for facts in self._concerns
            if (day := self._fixed_on.get(facts.id)) is not None and day <= self.on
        )

    @cached_property
    def audits(self) -> Sequence[Counted]:
        """Audits of the plan whose time is over; a hit was done in time."""
        stream = self.desk.known
        if stream is None or stream.audits is None:
            return ()
        now, zone = self.place.now(), zone_of(stream)
        return tuple(
            Counted(
                day=planned.due.astimezone(zone).date(), is_hit=planned.state == IN_TIME, source=_AUDITS
            )
            for planned in planned_between(self.place, stream, self._audits_from, self.on)
            if planned.due <= now
        )

    @cached_property
    def answers(self) -> Sequence[Counted]:
        """Answers OK and NOK of audits; a hit is OK."""
        return tuple(
            Counted(day=audit.day, is_hit=given.answer == "ok", source=_AUDITS)
            for audit in audits_done(self.place, self.desk.stream, self._audits_from, self.on)
            for given in audit.given
            if given.answer in ("ok", "not_ok")
        )

    @cached_property
    def findings(self) -> Sequence[Lasting]:
        """Findings of audits until they were put right."""
        return tuple(
            Lasting(
                begins=(begins := self._by_now(date.fromisoformat(one.found_on))),
                ends=max(self._by_now(closed), begins) if (closed := day_of(one.closed_on)) else None,
                source=_finding_source(one),
            )
            for one in self._findings
        )

    @cached_property
    def found_again(self) -> Sequence[Counted]:
        """Findings of audits; a hit was found before."""
        scheme = self.desk.known.audits if self.desk.known else None
        within = scheme.repeat_days if scheme else DEFAULT_REPEAT_DAYS
        seen = [finding_seen(one, self.on) for one in self._findings]
        repeats = repeat_results(seen, within, {one.audit for one in seen})
        again = {one.id for chain in repeats.each for one in chain.findings[1:]}
        return tuple(
            Counted(
                day=self._by_now(date.fromisoformat(one.found_on)),
                is_hit=one.answer.id in again,
                source=_finding_source(one),
            )
            for one in self._findings
        )

    @cached_property
    def deliveries(self) -> Sequence[MonthParts]:
        """Months with parts delivered, of the last two years."""
        source = Source(kind=DELIVERIES)
        return tuple(
            MonthParts(
                month=one.month, delivered=one.delivered, nok=one.nok, is_least=one.is_least, source=source
            )
            for one in ppm_of(self.desk, self.on).months
            if one.delivered
        )

    @cached_property
    def _findings(self) -> tuple[Finding, ...]:
        """All findings, however old, by id."""
        place, stream = self.place, self.desk.stream
        every = (*open_findings(place, stream), *closed_findings(place, stream))
        found = (one for one in every if self._by_now(date.fromisoformat(one.found_on)) <= self.on)
        return tuple(sorted(found, key=lambda one: one.answer.id))

    @property
    def _audits_from(self) -> date:
        return date.fromordinal(max(self.on.toordinal() - self.audit_days + 1, 1))

    @cached_property
    def _fixed_on(self) -> Mapping[str, date]:
        """When the last corrective action of each concern was done that has them all done."""
        done: dict[str, list[date | None]] = {}
        for facts, one in self._actions:
            if one.action.aim == "corrective":
                done.setdefault(facts.id, []).append(done_on(one, self._latest))
        return {
            concern: max(known)
            for concern, days in done.items()
            if (known := [day for day in days if day is not None]) and len(known) == len(days)
        }

    def _contained_on(self, facts: ConcernFacts) -> date | None:
        """The day of the last entry of a containment that holds; none while it does not."""
        if not containment_of(self.place, facts).is_contained:
            return None
        said = first_words(facts)
        days = [
            date.fromisoformat(record.sorted_on) if isinstance(record, Sorting) else said[record.id]
            for record in facts.standing.current
            if isinstance(record, CONTAINING)
        ]
        return max(days)

    def _lasting(self, facts: ConcernFacts, ends: date | None) -> Lasting:
        begins = self._begun[facts.id]
        over = max(self._by_now(ends), begins) if ends else None
        return Lasting(begins=begins, ends=over, source=_concern_source(facts))


def stream_cases(
    place: Workplace, desk: DeskFacts, on: date | None = None, *, audit_days: int = AUDIT_DAYS
) -> StreamCases:
    """Give the facts of a stream as they are known on a day.

    Parameters
    ----------
    place
        Where the records are.
    desk
        The stream.
    on
        The day; today when none.
    audit_days
        Days up to that one of which audits are read.

    Raises
    ------
    InputError
        If the day is still to come.
    """
    now = today(place)
    if on is not None and on > now:
        raise InputError(tr("The day {on} is still to come; choose today or an earlier day.", on=on))
    if on is not None and on < now:
        evening = datetime.combine(on + timedelta(days=1), datetime.min.time(), place.now().tzinfo)
        place = replace(place, now=lambda: evening)
    return StreamCases(place=place, desk=desk, on=on or now, audit_days=audit_days)


_AUDITS = Source(kind=AUDITS)


def _concern_source(facts: ConcernFacts) -> Source:
    since = facts.concern.reported_on or opened_on(facts).isoformat()
    return Source(kind=CONCERN, concern=facts.id, what=facts.what, since=since)


def _action_source(facts: ConcernFacts, one: ActionFacts) -> Source:
    return Source(
        kind=ACTION, concern=facts.id, entry=one.id, what=one.action.what, since=one.action.due_on
    )


def _finding_source(one: Finding) -> Source:
    return Source(
        kind=FINDING,
        concern=one.start.concern,
        entry=one.answer.id,
        what=one.answer.asked,
        since=one.found_on,
    )
