"""The actions of a concern: what is overdue, what is to be done, and what is closed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from walkapp.actions.acting import (
    DONE,
    EFFECT_DUE,
    EFFECTIVE,
    NOT_EFFECTIVE,
    ActionFacts,
    Overdue,
    actions_of,
    strays,
)
from walkapp.actions.action_words import moved_text, status_text, stray_text, what_text
from walkapp.actions.days import today
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.effect import WORSE
from walkapp.analysis.wording import capital
from walkapp.language import msg, tr, trn
from walkapp.model.records import Action, ActionDone, EffectCheck, Record, WatchQuestion
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.rows import ListRow
from walkapp.visible import in_short

AIM_WORDS = {
    "containment": msg("containment"),
    "corrective": msg("corrective"),
    "preventive": msg("preventive"),
}
"""What actions are for, inside a line."""

AIM_TITLES = {
    "containment": msg("Containment action, {owner}"),
    "corrective": msg("Corrective action, {owner}"),
    "preventive": msg("Preventive action, {owner}"),
}
"""The same, with who sees to it."""

ACTION_KINDS: tuple[type[Record], ...] = (Action, ActionDone, EffectCheck, WatchQuestion)
"""The entries that "undo" on the pages of actions takes back."""

MOST_ROWS = 60
"""More rows than a person scrolls; the command line tells all."""

ENTRY_WORDS = {
    ActionDone: msg("done"),
    EffectCheck: msg("effect check"),
    WatchQuestion: msg("verification question"),
}


class ActionsPage(BoardPage):
    """Presents the actions of a concern, the overdue ones on top."""

    kinds = ACTION_KINDS

    def _view(self) -> BoardState:
        facts = concern_facts(self.session.place, self.route.concern)
        found, lost = actions_of(facts, today(self.session.place)), len(strays(facts))
        shown = found[:MOST_ROWS]
        sections = (
            _section("late", tr("Overdue"), [now for now in shown if now.is_late]),
            _section("to-do", tr("To do"), [now for now in shown if not (now.is_late or now.is_closed)]),
            _section("closed", tr("Closed"), [now for now in shown if now.is_closed]),
        )
        more = len(found) - len(shown)
        notes = (
            trn(
                "{count} more action: 'walkapp summary' tells all of them.",
                "{count} more actions: 'walkapp summary' tells all of them.",
                more,
            )
            if more
            else "",
            stray_text(lost) if lost else "",
        )
        return BoardState(
            title=tr("Actions"),
            subtitle=facts.concern.what,
            mark=_mark_of_all(found),
            sentence=_sentence(found),
            sections=tuple(section for section in sections if section.rows),
            notes=tuple(filter(None, notes)),
            buttons=(BoardButton(name="new_action", text=tr("New action"), tone="strong"),),
        )

    def row(self, section: str, row: str) -> None:
        """Open an action."""
        self.session.go(replace(self.route, screen="action", entry=row))

    def _in_short(self, entry: Record) -> str:
        return entry_in_short(entry)


def entry_in_short(entry: Record) -> str:
    """Say in two or three words what an entry about an action was."""
    if isinstance(entry, Action):
        return tr("a correction") if entry.replaces else tr("an action")
    return tr(ENTRY_WORDS[type(entry)]) if type(entry) in ENTRY_WORDS else tr("what was taken back")


def _section(name: str, title: str, found: Sequence[ActionFacts]) -> Section:
    return Section(name=name, title=title, rows=tuple(action_row(now) for now in found))


def action_row(now: ActionFacts) -> ListRow:
    """Put an action into two lines."""
    status = status_text(now)
    details = (capital(status), tr(AIM_WORDS[now.action.aim]), now.action.owner)
    moved = moved_text(now)
    return ListRow(
        id=now.id,
        title=in_short(what_text(now)),
        subtitle=", ".join((*details, moved) if moved else details),
        mark=mark_of(now),
    )


def mark_of(now: ActionFacts) -> str:
    """Give the shape of how an action stands."""
    if now.is_late or (now.effect is not None and now.effect.verdict == WORSE):
        return "bad"
    if now.status == EFFECTIVE or (now.status == DONE and now.action.aim != "corrective"):
        return "clean"
    return "undecided" if now.status in (DONE, EFFECT_DUE, NOT_EFFECTIVE) else "not_visited"


def _mark_of_all(found: Sequence[ActionFacts]) -> str:
    marks = [mark_of(now) for now in found]
    return next((mark for mark in ("bad", "not_visited", "undecided", "clean") if mark in marks), "")


def _sentence(found: Sequence[ActionFacts]) -> str:
    if not found:
        return tr("No action yet. Say what is to be done, by whom and until when.")
    return f"{_how_many(found)}."


def _how_many(found: Sequence[ActionFacts]) -> str:
    late = sum(now.is_late for now in found)
    to_do = sum(not now.is_closed for now in found)
    if late:
        return trn(
            "{late} of {count} action overdue", "{late} of {count} actions overdue", len(found), late=late
        )
    if to_do:
        return trn(
            "{to_do} of {count} action to do, none overdue",
            "{to_do} of {count} actions to do, none overdue",
            len(found),
            to_do=to_do,
        )
    return tr("All actions closed")


def actions_row(place: Workplace, facts: ConcernFacts) -> ListRow:
    """Make the row of a concern's page that leads to its actions."""
    found = actions_of(facts, today(place))
    words = _how_many(found)
    if found and found[0].is_late:
        words = f"{words}: {in_short(what_text(found[0]), 60)}, {status_text(found[0])}"
    return ListRow(
        id="actions",
        title=tr("Actions"),
        subtitle=words if found else tr("None yet."),
        mark=_mark_of_all(found) or "not_visited",
    )


def overdue_rows(overdue: Sequence[Overdue]) -> tuple[ListRow, ...]:
    """Make the row of the home page for what is overdue: how many, and the worst; none when nothing is."""
    if not overdue:
        return ()
    count, worst = sum(len(one.actions) for one in overdue), overdue[0].worst
    where = in_short(overdue[0].facts.concern.what, 60)
    others = len(overdue) - 1
    return (
        ListRow(
            id=overdue[0].facts.concern.concern,
            title=trn(
                "{count} action overdue, longest: {action}",
                "{count} actions overdue, longest: {action}",
                count,
                action=in_short(what_text(worst), 60),
            ),
            subtitle=f"{worst.action.owner}, {status_text(worst)}. {where}"
            + (
                trn("; {count} other concern too", "; {count} other concerns too", others) if others else ""
            ),
            mark="bad",
        ),
    )
