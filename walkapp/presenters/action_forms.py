"""The forms around an action: saying what is to be done, correcting it, done, and what audits ask."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta

from walkapp.actions.acting import ActionFacts, actions_of, find_action
from walkapp.actions.action_records import NOT_DONE, ask_for_a_while, correct_action, open_action, say_done
from walkapp.actions.action_words import advice_before, what_text
from walkapp.actions.days import today
from walkapp.actions.onset import date_onset
from walkapp.actions.reading import ConcernFacts, all_concerns, concern_facts
from walkapp.actions.workplace import NOBODY
from walkapp.analysis.effect import share_text
from walkapp.analysis.readings import plain_number
from walkapp.errors import InputError
from walkapp.language import decimal_text, msg, tr, tr_choices, trc, trn
from walkapp.model.records import Action, ChangePoint
from walkapp.presenters.form import FormField, FormPage, as_options
from walkapp.presenters.route import Route
from walkapp.visible import in_short

AIM_CHOICES = (
    ("containment", msg("Containment: hold bad parts back")),
    ("corrective", msg("Corrective: take the cause away")),
    ("preventive", msg("Preventive: keep it from elsewhere")),
)
SHARES = ("5", "1", "0.5", "0.1")
DUE_DAYS = (
    (0, msg("today")),
    (1, msg("tomorrow")),
    (3, msg("+3 days")),
    (7, msg("+1 week")),
    (14, msg("+2 weeks")),
)
CHECK_DAYS = ((7, msg("+1 week")), (14, msg("+2 weeks")), (28, msg("+4 weeks")))
WATCH_WEEKS = (4, 8, 12)
DEFAULT_WEEKS = 8
MOST_OWNERS, MOST_CHANGES = 6, 8
LONGEST_QUESTION = 200
LONGEST_SHARE = 14

WORK_CAUTION = msg(
    "Work on equipment by your site's rules and by qualified people only. Safety-related "
    "parts: the customer's requirements come first."
)


class ActionForm(FormPage):
    """A form about actions; it holds what is known of the concern while it is open."""

    is_in_walk = False
    _facts: ConcernFacts | None = None
    _action: ActionFacts | None = None
    _owners: tuple[str, ...] = ()

    def _read(self) -> tuple[ConcernFacts, ActionFacts | None]:
        """Read the concern, and the action that the form is about, if any."""
        place = self.session.place
        facts = concern_facts(place, self.route.concern)
        found = actions_of(facts, today(place)) if self.route.entry else ()
        now = find_action(found, self.route.entry) if self.route.entry else None
        self._facts, self._action = facts, now
        return facts, now

    def _read_action(self) -> tuple[ConcernFacts, ActionFacts]:
        facts, now = self._read()
        return facts, now or find_action((), "")

    def _read_done(self) -> tuple[ConcernFacts, ActionFacts]:
        facts, now = self._read_action()
        if not now.done:
            raise InputError(tr(NOT_DONE))
        return facts, now

    def _to_action(self, action: str) -> Route:
        return Route(screen="action", concern=self.route.concern, entry=action)

    def _day_choices(self, start: str, steps: Iterable[tuple[int, str]]) -> tuple[tuple[str, str], ...]:
        return tuple((day, words) for steps_, words in steps if (day := days_after(start, steps_)))

    @property
    def _today(self) -> str:
        return today(self.session.place).isoformat()


class NewActionForm(ActionForm):
    """Records something to be done."""

    title = msg("New action")
    do = msg("Record this action")

    def _first_values(self) -> dict[str, str]:
        facts, _ = self._read()
        self._owners = tuple(roles_used(self.session.place.by, (*all_concerns(self.session.place), facts)))
        return {}

    def _cautions(self) -> tuple[str, ...]:
        return (tr(WORK_CAUTION),)

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="aim",
                label=tr("What it is for"),
                form="choice",
                options=tr_choices(AIM_CHOICES),
                is_required=True,
            ),
            FormField(name="what", label=tr("What is to be done"), lines=2, is_required=True),
            FormField(
                name="owner",
                label=tr("Who sees to it"),
                form="offered",
                options=as_options(self._owners),
                hint=tr("Role or initials, never a name"),
                is_required=True,
            ),
            FormField(
                name="due_on",
                label=tr("Until when"),
                form="day",
                options=self._day_choices(self._today, tr_choices(DUE_DAYS)),
                is_required=True,
            ),
            FormField(name="station", label=tr("Station"), form="choice", options=self._stations()),
            *self._change_field(),
            FormField(
                name="at_most",
                label=tr("Effective when at most so many % are NOK"),
                form="offered",
                options=tuple((share, f"{share} %") for share in map(decimal_text, SHARES)),
                hint=self._share_hint(),
            ),
            FormField(name="criterion", label=tr("Or in words: when it is effective")),
            FormField(
                name="check_on",
                label=tr("Effect check on"),
                form="day",
                options=self._day_choices(self._values.get("due_on", ""), tr_choices(CHECK_DAYS)),
                hint=tr("Not before it is due"),
            ),
        )

    def _stations(self) -> tuple[tuple[str, str], ...]:
        stream = self._facts.stream if self._facts else None
        named = tuple((s.id, s.name) for s in stream.stations) if stream else ()
        return (("", trc("no station", "None")), *named)

    def _change_field(self) -> tuple[FormField, ...]:
        held = self._facts.standing.current if self._facts else ()
        changes = [r for r in held if isinstance(r, ChangePoint)][-MOST_CHANGES:]
        chosen = self._values.get("change", "")
        if chosen and all(r.id != chosen for r in changes):
            changes += [r for r in held if isinstance(r, ChangePoint) and r.id == chosen]
        if not changes:
            return ()
        named = tuple((r.id, in_short(r.what, 50)) for r in reversed(changes))
        return (
            FormField(
                name="change",
                label=tr("Which change it mends or undoes"),
                form="choice",
                options=(("", trc("no change point", "None")), *named),
            ),
        )

    def _share_hint(self) -> str:
        try:
            share = as_share(self._values.get("at_most", ""))
            return advice_before(None, float(share)) if share else ""
        except (InputError, ValueError):
            return ""

    def _said(self, values: Mapping[str, str]) -> dict[str, str]:
        return {**values, "at_most": as_share(values["at_most"])}

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts, _ = self._read()
        return self._to_action(open_action(self.session.place, facts, **self._said(values)).action)


class CorrectActionForm(NewActionForm):
    """Corrects an action; why is asked, and what it said before stays on record."""

    title = msg("Correct this action")
    do = msg("Record the correction")

    def _first_values(self) -> dict[str, str]:
        _, now = self._read_action()
        super()._first_values()
        said = now.action
        names = ("aim", "what", "owner", "due_on", "station", "change", "criterion", "check_on")
        share = share_text(float(said.at_most)).removesuffix(" %") if said.at_most else ""
        return {**{name: getattr(said, name) for name in names}, "at_most": share}

    def _fields(self) -> tuple[FormField, ...]:
        why = FormField(
            name="why",
            label=tr("Why it is corrected"),
            hint=tr("A moved due date stays visible"),
            is_required=True,
        )
        return (*super()._fields(), why)

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts, now = self._read_action()
        correct_action(self.session.place, facts, now, **self._said(values))
        return self._to_action(now.id)


class ActionDoneForm(ActionForm):
    """Records that an action was done, or corrects that."""

    title = msg("Done")
    do = msg("Record: it is done")

    def _first_values(self) -> dict[str, str]:
        _, now = self._read_action()
        if now.done:
            return {"done_on": now.done_on, "evidence": now.done[-1].evidence}
        return {"done_on": self._today}

    def _fields(self) -> tuple[FormField, ...]:
        fields = [
            FormField(
                name="done_on", label=tr("Done on"), form="day", options=self._days(), is_required=True
            ),
            FormField(
                name="evidence",
                label=tr("What shows it"),
                hint=tr("For example what was fitted, and where it can be seen; add pictures afterwards"),
                lines=2,
                is_required=True,
            ),
        ]
        if self._action and self._action.done:
            fields.append(FormField(name="why", label=tr("Why it is corrected"), is_required=True))
        return tuple(fields)

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts, now = self._read_action()
        say_done(self.session.place, facts, now, **values)
        return self._to_action(now.id)


class WatchQuestionForm(ActionForm):
    """Lets layered audits ask for a while whether a fix is still in place."""

    title = msg("Verification question")
    do = msg("Let the audits ask this")

    def _first_values(self) -> dict[str, str]:
        facts, now = self._read_done()
        first = date_onset(facts).first_bad if facts.stream and not now.action.station else None
        return {
            "question": proposed_question(now),
            "station": now.action.station or (first.id if first else ""),
            "from_on": self._today,
            "until_on": days_after(self._today, 7 * DEFAULT_WEEKS),
        }

    def _fields(self) -> tuple[FormField, ...]:
        stream = self._facts.stream if self._facts else None
        begins = self._values.get("from_on", "")
        return (
            FormField(
                name="question",
                label=tr("What the audits ask"),
                hint=tr("Yes or OK means: the fix is in place. Proposed; change it as you like"),
                lines=2,
                is_required=True,
            ),
            FormField(
                name="station",
                label=tr("Where"),
                form="choice",
                options=tuple((s.id, s.name) for s in stream.stations) if stream else (),
                is_required=True,
            ),
            FormField(
                name="from_on",
                label=tr("From"),
                form="day",
                options=self._day_choices(self._today, tr_choices(DUE_DAYS[:2])),
                is_required=True,
            ),
            FormField(
                name="until_on",
                label=tr("Until"),
                form="day",
                options=self._day_choices(
                    begins,
                    ((7 * weeks, trn("{count} week", "{count} weeks", weeks)) for weeks in WATCH_WEEKS),
                ),
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts, now = self._read_done()
        ask_for_a_while(self.session.place, facts, now, **values)
        return self._to_action(now.id)


def proposed_question(now: ActionFacts) -> str:
    """Word the question that asks whether an action is still in place."""
    head, tail = tr("Still in place: "), "?"
    return f"{head}{in_short(what_text(now).rstrip('.!? '), LONGEST_QUESTION - len(head + tail))}{tail}"


def roles_used(own: str, concerns: Iterable[ConcernFacts]) -> Iterator[str]:
    """Give the roles that actions were given to, the latest first, and this tablet's own person."""
    actions = {r.id: r for facts in concerns for r in facts.standing.current if isinstance(r, Action)}
    owners = [actions[one].owner for one in sorted(actions, reverse=True)]
    if own != NOBODY:
        owners.append(own)
    yield from list(dict.fromkeys(owners))[:MOST_OWNERS]


def days_after(start: str, days: int) -> str:
    """Give the day so many days after another; empty when that is no date, or after the year 9999.

    Examples
    --------
    >>> days_after("2026-02-27", 3), days_after("soon", 3)
    ('2026-03-02', '')
    """
    try:
        return (date.fromisoformat(start) + timedelta(days=days)).isoformat()
    except (ValueError, OverflowError):
        return ""


def as_share(percent: str) -> str:
    """Write a typed percentage as a share with all its digits; nothing when nothing was typed.

    Raises
    ------
    InputError
        If it is no number from 0 to below 100.

    Examples
    --------
    >>> as_share("0,5"), as_share("5 %"), as_share("")
    ('0.005', '0.05', '')
    """
    if not percent.replace("%", "").strip():
        return ""
    number = plain_number(percent.removesuffix("%"))
    if number is None or not 0 <= number < 100 or len(percent) > LONGEST_SHARE:
        raise InputError(
            tr("Effective when at most so many % are NOK: must be a number below 100 such as 1 or 0.5.")
        )
    share = number / 100
    return f"{share:f}"
