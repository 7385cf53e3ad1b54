"""Actions, whether they worked, and what is asked afterwards so that they last."""

from __future__ import annotations

from typing import ClassVar

from walkapp.errors import RecordError
from walkapp.model.records.base import Record, check_in_order, check_nok_of
from walkapp.model.schema import choice, day, decimal, key, record_id, record_kind, text, whole

AIMS = ("containment", "corrective", "preventive")
"""What an action is for: to hold bad parts back, to take the cause away, to keep it from elsewhere."""


@record_kind
class Action(Record):
    """Something to be done. Its first record's id is the action's id, through all corrections."""

    kind: ClassVar[str] = "action"
    title: ClassVar[str] = "Actions: what is to be done, by whom and until when"

    action: str = record_id("Id of the action")
    aim: str = choice("What it is for", AIMS)
    what: str = text("What is to be done", longest=400)
    owner: str = text("Role or initials of who sees to it, never a name", longest=40)
    due_on: str = day("Until when")
    station: str = key("Id of the station, when it is one", default="")
    change: str = record_id("Id of the change point that it undoes or mends", default="")
    criterion: str = text("When it counts as effective, in words", longest=200, default="")
    at_most: str = decimal("Greatest share of NOK parts afterwards, 0 to 1", default="")
    check_on: str = day("When its effect is checked", default="")

    def _check_together(self) -> None:
        check_in_order(self.due_on, self.check_on, "due_on and check_on")
        if not 0 <= float(self.at_most or 0) < 1:
            raise RecordError("at_most must be from 0 to below 1")


@record_kind
class ActionDone(Record):
    """An action was carried out."""

    kind: ClassVar[str] = "action_done"
    title: ClassVar[str] = "Actions done: when, and what shows it"

    action: str = record_id("Id of the action")
    done_on: str = day("When it was done")
    evidence: str = text("What shows that it was done", longest=400)


@record_kind
class EffectCheck(Record):
    """Whether an action worked: NOK parts before against after."""

    kind: ClassVar[str] = "effect_check"
    title: ClassVar[str] = "Effectiveness checks: NOK parts before an action against after"

    action: str = record_id("Id of the action")
    checked_on: str = day("When it was checked")
    before_checked: int = whole("Parts checked from before the action", least=1, most=1_000_000)
    before_nok: int = whole("Parts of them that were NOK", least=0, most=1_000_000)
    after_checked: int = whole("Parts checked from after the action", least=1, most=1_000_000)
    after_nok: int = whole("Parts of them that were NOK", least=0, most=1_000_000)
    source: str = text("Which parts these were: lots, days", longest=200, default="")

    def _check_together(self) -> None:
        check_nok_of(self.before_nok, self.before_checked)
        check_nok_of(self.after_nok, self.after_checked)


@record_kind
class WatchQuestion(Record):
    """A question that layered audits ask for a while, so that a fix lasts."""

    kind: ClassVar[str] = "watch_question"
    title: ClassVar[str] = "Verification questions: what layered audits ask after a fix"

    action: str = record_id("Id of the action")
    station: str = key("Id of the station where it is asked")
    question: str = text("The question; yes or OK means that the fix is in place", longest=200)
    from_on: str = day("First day on which it is asked")
    until_on: str = day("Last day on which it is asked")

    def _check_together(self) -> None:
        check_in_order(self.from_on, self.until_on, "from_on and until_on")
