"""The page of one action: how it stands, what shows it, and what comes next."""

from __future__ import annotations

from collections.abc import Iterator

from walkapp.actions.acting import EFFECTIVE, GONE, ActionFacts, actions_of
from walkapp.actions.action_words import advice_before, cautions_of, moved_text, status_text, what_text
from walkapp.actions.days import today
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.analysis.effect import EFFECTIVE as WORKED
from walkapp.analysis.effect import WORSE, share_text
from walkapp.analysis.wording import capital
from walkapp.language import day_said, msg, tr, trn
from walkapp.model.records import ChangePoint, EffectCheck, Record
from walkapp.presenters.actions import ACTION_KINDS, AIM_TITLES, entry_in_short, mark_of
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.rows import ListRow
from walkapp.visible import in_short

TAKEN_FOR_GRANTED = msg(
    "Taken for granted: parts before and after were judged alike and picked without looking; "
    "NOK is what the check called NOK."
)

MOST_SHOWN = 20
"""Rows of one kind; a bundle may bring any number."""


class ActionPage(BoardPage):
    """Presents one action."""

    kinds = ACTION_KINDS

    def _view(self) -> BoardState:
        facts = concern_facts(self.session.place, self.route.concern)
        found = actions_of(facts, today(self.session.place))
        now = next((one for one in found if one.id == self.route.entry), None)
        if now is None:
            return BoardState(title=tr("Action"), subtitle=facts.concern.what, sentence=tr(GONE))

        return BoardState(
            title=in_short(what_text(now)),
            subtitle=tr(AIM_TITLES[now.action.aim], owner=now.action.owner),
            cautions=cautions_of(now),
            mark=mark_of(now),
            sentence=capital(status_text(now)),
            lines=tuple(_lines(facts, now)),
            sections=tuple(_sections(facts, now)),
            notes=(tr(TAKEN_FOR_GRANTED),) if now.checks else (),
            buttons=_buttons(now),
        )

    def _is_here(self, entry: Record) -> bool:
        return getattr(entry, "action", "") == self.route.entry

    def _in_short(self, entry: Record) -> str:
        return entry_in_short(entry)


def _lines(facts: ConcernFacts, now: ActionFacts) -> Iterator[str]:
    action = now.action
    if in_short(what_text(now)) != what_text(now):
        yield what_text(now)
    moved = moved_text(now)
    due = tr("Due {due_on}", due_on=day_said(action.due_on))
    yield f"{due}: {moved}" if moved else due
    if action.station:
        yield tr("At {station_name}", station_name=station_name(facts, action.station))
    if action.change:
        change = next(
            (r for r in facts.standing.current if isinstance(r, ChangePoint) and r.id == action.change),
            None,
        )
        yield tr("Mends the change: {change}", change=change.what if change else tr("one that is not here"))
    wanted = filter(
        None,
        (
            action.criterion,
            tr("at most {share} NOK", share=share_text(now.at_most)) if now.at_most is not None else "",
            tr("to be checked on {check_on}", check_on=day_said(action.check_on))
            if action.check_on
            else "",
        ),
    )
    if said := "; ".join(wanted):
        yield tr("Effective when: {said}", said=said)


def station_name(facts: ConcernFacts, station: str) -> str:
    """Give the name of a station, or its id when the checklist does not have it."""
    found = facts.stream.station(station) if facts.stream else None
    return found.name if found else station


def _sections(facts: ConcernFacts, now: ActionFacts) -> Iterator[Section]:
    if now.checks:
        checks = tuple(_check_row(now, check) for check in reversed(now.checks[-MOST_SHOWN:]))
        yield Section(name="effect", title=tr("Effect"), rows=checks)
    elif now.action.check_on or now.at_most is not None:
        yield Section(name="effect", title=tr("Effect"), words=advice_before(None, now.at_most))
    rows = [
        ListRow(
            id="action_done",
            title=tr("Done on {done_on}, {by}", done_on=day_said(r.done_on), by=r.by),
            subtitle=r.evidence,
            mark="clean",
        )
        for r in now.done[-MOST_SHOWN:]
    ]
    if now.pictures:
        rows.append(
            ListRow(
                id="evidence",
                title=trn("{count} picture", "{count} pictures", len(now.pictures)),
                subtitle=tr("Evidence of this action."),
            )
        )
    if rows:
        yield Section(name="done", title=tr("What shows it"), rows=tuple(rows))
    if now.questions:
        asked = tuple(
            ListRow(
                id="",
                title=question.question,
                subtitle=tr(
                    "{station_name}, {from_on} to {until_on}",
                    station_name=station_name(facts, question.station),
                    from_on=day_said(question.from_on),
                    until_on=day_said(question.until_on),
                ),
            )
            for question in now.questions[-MOST_SHOWN:]
        )
        yield Section(name="questions", title=tr("Asked by layered audits"), rows=asked)
    elif now.gives_question:
        yield Section(
            name="questions",
            title=tr("So that it lasts"),
            words=tr("Let the layered audits ask for some weeks whether it is still in place."),
        )


def _check_row(now: ActionFacts, check: EffectCheck) -> ListRow:
    effect = now.effect_of(check)
    mark = {WORKED: "clean", WORSE: "bad"}.get(effect.verdict, "undecided")
    source = f"{capital(check.source)}."
    return ListRow(
        id="",
        title=f"{day_said(check.checked_on)}: {effect.sentence}",
        subtitle="\n".join((*effect.lines, source) if check.source else effect.lines),
        mark=mark,
    )


def _buttons(now: ActionFacts) -> tuple[BoardButton, ...]:
    others = (
        BoardButton(name="evidence", text=tr("Picture")),
        BoardButton(name="correct_action", text=tr("Correct")),
    )
    if not now.done:
        return (*others, BoardButton(name="action_done", text=tr("Done"), tone="strong"))
    is_shown = now.status == EFFECTIVE
    check = BoardButton(
        name="effect_check", text=tr("Effect check"), tone="plain" if is_shown else "strong"
    )
    if not now.gives_question:
        return (*others, check)
    asks = is_shown and not now.questions
    question = BoardButton(
        name="watch_question", text=tr("Verification question"), tone="strong" if asks else "plain"
    )
    return (*others, question, check)
