"""The figure of how old the actions are."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from walkapp.actions import days
from walkapp.actions.acting import ActionFacts, actions_of
from walkapp.actions.action_words import moved_text, status_text
from walkapp.actions.desk import DeskFacts
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.wording import days_text
from walkapp.language import msgn, tr, trn
from walkapp.paper.figures.ageing import AgeingFigure, AgeingRow

MOST_ROWS = 20
"""Actions that are drawn; those that are late or open come first."""

LONGEST_DAYS = 730
"""How far from today the axis goes at most: one wrong year must not press all others together."""


def of_concern(place: Workplace, facts: ConcernFacts) -> tuple[AgeingFigure, ...]:
    """Give the figure of a concern; none where it has no action."""
    today = days.today(place)
    return _figures(actions_of(facts, today), today, tr("Age of the actions"))


def of_stream(place: Workplace, facts: DeskFacts) -> tuple[AgeingFigure, ...]:
    """Give the figure of all concerns of a stream; none where they have no action."""
    today = days.today(place)
    found = [one for concern in facts.concerns for one in actions_of(concern, today)]
    in_order = sorted(found, key=lambda a: (not a.is_late, a.is_closed, a.day, a.id))
    many = len(facts.concerns)
    return _figures(
        in_order,
        today,
        trn("Age of the actions of {count} concern", "Age of the actions of {count} concerns", many),
    )


def _figures(actions: Sequence[ActionFacts], today: date, what: str) -> tuple[AgeingFigure, ...]:
    if not actions:
        return ()
    shown = actions[:MOST_ROWS]
    rows = tuple(_row(one, today) for one in shown)
    all_days = [day for row in rows for day in (row.opened, row.due, row.until)]
    least, most = _shifted(today, -LONGEST_DAYS), _shifted(today, LONGEST_DAYS)
    beyond = any(not least <= day <= most for day in all_days)
    inside = [today.isoformat(), *(min(max(day, least), most) for day in all_days)]
    return (
        AgeingFigure(
            title=_title(actions, today, what),
            notes=tuple(
                filter(
                    None,
                    (
                        trn(
                            "n = {count} action, as recorded on {today}.",
                            "n = {count} actions, as recorded on {today}.",
                            len(actions),
                            today=today,
                        )
                        + " "
                        + tr(
                            "Bar: from the day it was opened to the day it was done, or to today; hatched: "
                            "beyond the day it was due. Diamond: due. Dot: done. Bold: something of it is "
                            "overdue."
                        ),
                        trn(
                            "{count} that follows in the list is not drawn.",
                            "{count} that follow in the list are not drawn.",
                            len(actions) - len(shown),
                        )
                        if len(actions) > len(shown)
                        else "",
                        tr(
                            "Days further from today than {longest_days} days are drawn at the end of "
                            "the axis.",
                            longest_days=LONGEST_DAYS,
                        )
                        if beyond
                        else "",
                    ),
                )
            ),
            rows=rows,
            today=today.isoformat(),
            first=min(inside),
            last=max(inside),
        ),
    )


def _row(one: ActionFacts, today: date) -> AgeingRow:
    opened = one.history[0].at[:10]
    return AgeingRow(
        what=f"{one.action.owner}: {one.action.what}",
        opened=opened,
        due=one.action.due_on,
        until=one.done_on or today.isoformat(),
        is_done=bool(one.done),
        words="; ".join(filter(None, (status_text(one), moved_text(one)))),
        is_late=one.is_late,
    )


def _title(actions: Sequence[ActionFacts], today: date, what: str) -> str:
    late = sum(one.is_late for one in actions)
    done = sum(one.is_closed for one in actions)
    counts = ", ".join(
        trn(*words, many)
        for many, words in (
            (late, msgn("{count} overdue", "{count} overdue")),
            (len(actions) - late - done, msgn("{count} open in time", "{count} open in time")),
            (done, msgn("{count} closed", "{count} closed")),
        )
        if many
    )
    not_done = [one for one in actions if not one.done]
    oldest = max((_age(one, today) for one in not_done), default=-1)
    if oldest < 0:
        return tr("{what}: {counts}", what=what, counts=counts)
    return tr(
        "{what}: {counts}; the oldest that is not done is open for {days}",
        what=what,
        counts=counts,
        days=days_text(oldest),
    )


def _age(one: ActionFacts, today: date) -> int:
    """Give the days since it was opened; 0 where the clock of another tablet is ahead."""
    return max((today - date.fromisoformat(one.history[0].at[:10])).days, 0)


def _shifted(day: date, by: int) -> str:
    """Give the day so many days later, within the calendar."""
    ordinal = min(max(day.toordinal() + by, 1), date.max.toordinal())
    return (date.min + timedelta(days=ordinal - 1)).isoformat()
