"""The page of one finding of an audit: what was found, what was done about it, and what is next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date

from walkapp.actions.audits.book import REACTION_WORDS, Finding
from walkapp.actions.audits.doing import FINDING_KINDS, close_finding
from walkapp.actions.audits.findings import (
    earlier_findings,
    find_finding,
    repeat_days_of,
    said_before,
    status_text,
)
from walkapp.actions.audits.reading import asked_words, stream_of
from walkapp.actions.days import today
from walkapp.analysis.audits.extra import OK_AGAIN
from walkapp.analysis.wording import capital, days_text
from walkapp.errors import InputError
from walkapp.language import day_said, msg, tr, trn
from walkapp.model.records import AuditReaction, FindingClosed, Photo, Record
from walkapp.presenters.action_forms import WORK_CAUTION
from walkapp.presenters.audits.findings import mark_of, open_words, row_id, station_name
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.form import FormField, FormPage
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.wording import moment_text
from walkapp.visible import in_short

"""What was done about a NOK, in words."""

MOST_SHOWN = 10
"""Rows of one kind; a bundle may bring any number."""

REPEATS = msg(
    "A NOK to the same question at the same station within {days} is a repeat finding. For so "
    "long audits may ask it beyond their plan, until it was OK {ok_again} times."
)
DISAGREE = msg(
    "Tablets say different things of what was done. Until it is said once more, the one that "
    "leaves something to do counts."
)


class FindingPage(BoardPage):
    """Presents one finding: the entry of its route."""

    kinds = FINDING_KINDS
    _finding: Finding | None = None

    def _view(self) -> BoardState:
        place, on = self.session.place, today(self.session.place)
        try:
            found = self._finding = _find(self)
        except InputError as error:
            self._finding = None
            return BoardState(title=tr("Finding"), sentence=str(error))
        status = status_text(found, on)
        stream = stream_of(place, found.start)
        station = stream.station(found.answer.station) if stream else None
        layer = stream.audits.layer(found.start.layer) if stream and stream.audits else None
        audit = (layer.name if layer else found.start.layer, day_said(found.start.day), found.start.shift)
        repeat_days = repeat_days_of(place, found)
        earlier = earlier_findings(place, found, repeat_days)
        hazards = station.hazards if station else ()
        return BoardState(
            title=station_name(place, found),
            subtitle=tr("Finding of the audit: {filter}", filter=", ".join(filter(None, audit))),
            cautions=(*hazards, tr(WORK_CAUTION)) if found.is_open(on) else (),
            mark=mark_of(found, on),
            sentence=capital(status),
            lines=(asked_words(place, found.start, found.answer), *_lines(found, earlier, on)),
            sections=tuple(_sections(found, said_before(place, found), earlier)),
            notes=(tr(REPEATS, days=days_text(repeat_days), ok_again=OK_AGAIN),),
            buttons=_buttons(found, on),
        )

    def row(self, section: str, row: str) -> None:
        """Open the audit, an earlier finding, the pictures, or the form on which it is said once more."""
        if section == "earlier":
            # Sideways: "back" leads to where this finding was chosen.
            book, _, entry = row.partition(" ")
            self.session.go(replace(self.route, concern=book, entry=entry, station="", check=""))
        else:
            self.press(row)

    def press(self, button: str) -> None:
        """Open a page about this finding; "back" leads here again."""
        # The finding alone says which question it is about.
        self.session.go(self.route.down(button, station="", check=""))

    def _is_here(self, entry: Record) -> bool:
        about = entry.about if isinstance(entry, Photo) else getattr(entry, "finding", "")
        return self._finding is not None and about in self._finding.ids

    def _in_short(self, entry: Record) -> str:
        if isinstance(entry, AuditReaction):
            return tr("a correction") if entry.replaces else tr("what was done")
        return tr("put right") if isinstance(entry, FindingClosed) else tr("a picture")


def _find(page: BoardPage | FormPage) -> Finding:
    return find_finding(page.session.place, page.route.concern, page.route.entry)


def _lines(found: Finding, earlier: tuple[Finding, ...], on: date) -> Iterator[str]:
    when = day_said(found.found_on) if found.start.is_paper else moment_text(found.answer.at)
    said = (
        tr("NOK, found {when} by {who}", when=when, who=found.start.paper_by or found.answer.by),
        tr("on paper") if found.start.is_paper else "",
        open_words(found, on),
    )
    yield ", ".join(filter(None, said))
    if earlier:
        before = earlier[0]
        ago = (date.fromisoformat(found.found_on) - date.fromisoformat(before.found_on)).days
        yield (
            trn(
                "Repeat finding: NOK as well on {found_on}, {count} day before",
                "Repeat finding: NOK as well on {found_on}, {count} days before",
                ago,
                found_on=day_said(before.found_on),
            )
            if ago
            else tr(
                "Repeat finding: NOK as well on {found_on}, the same day",
                found_on=day_said(before.found_on),
            )
        )
    if found.others:
        yield tr(DISAGREE)
    yield _next(found, on)


def _next(found: Finding, on: date) -> str:
    reaction = found.reaction
    if not found.is_open(on):
        return tr("Next: nothing is left to do about this finding.")
    if reaction is None:
        return tr("Next: say what was done, and who sees to the rest until when.")
    return tr(
        "Next: {owner} puts it right until {due_on}; then say here what shows it.",
        owner=reaction.owner,
        due_on=day_said(reaction.due_on),
    )


def _sections(
    found: Finding, before: tuple[AuditReaction, ...], earlier: tuple[Finding, ...]
) -> Iterator[Section]:
    said = [_reaction_row(r, mark="") for r in (found.reaction,) if r]
    said += [_reaction_row(r, mark="undecided", row="reaction") for r in found.others[-MOST_SHOWN:]]
    said += [_reaction_row(r, mark="", was=True) for r in before[:MOST_SHOWN]]
    if said:
        title = tr("What was done: tablets disagree") if found.others else tr("What was done")
        yield Section(name="done", title=title, rows=tuple(said))
    shows = []
    if found.closed is not None:
        title = tr(
            "Put right on {closed_on}, {by}", closed_on=day_said(found.closed.closed_on), by=found.closed.by
        )
        shows.append(ListRow(id="", title=title, subtitle=found.closed.evidence, mark="clean"))
    if found.pictures:
        title = trn("{count} picture", "{count} pictures", len(found.pictures))
        shows.append(ListRow(id="evidence", title=title, subtitle=tr("Evidence of this finding.")))
    if shows:
        yield Section(name="shows", title=tr("What shows it"), rows=tuple(shows))
    if earlier:
        rows = tuple(
            ListRow(
                id=row_id(one),
                title=tr("NOK on {found_on}", found_on=day_said(one.found_on)),
                subtitle=tr(
                    "By {what}: {done_about}",
                    what=one.start.paper_by or one.answer.by,
                    done_about=_done_about(one),
                ),
            )
            for one in earlier[:MOST_SHOWN]
        )
        yield Section(name="earlier", title=tr("Found before"), rows=rows)
    yield Section(
        name="audit",
        rows=(
            ListRow(id="audit_list", title=tr("The audit"), subtitle=tr("All its questions and answers.")),
        ),
    )


def _done_about(finding: Finding) -> str:
    reaction = finding.reaction
    if reaction is None:
        return tr("nothing said yet")
    return f"{tr(REACTION_WORDS[reaction.reaction])}, {reaction.what}"


def _reaction_row(reaction: AuditReaction, *, mark: str, row: str = "", was: bool = False) -> ListRow:
    words = tr(REACTION_WORDS[reaction.reaction])
    owner = (
        tr("{owner}, until {due_on}", owner=reaction.owner, due_on=day_said(reaction.due_on))
        if reaction.owner
        else ""
    )
    said = f"{reaction.by}, {moment_text(reaction.at)}"
    return ListRow(
        id=row,
        title=tr("Before: {words}", words=words) if was else capital(words),
        subtitle="\n".join(
            (
                in_short(reaction.what, 200),
                ". ".join(filter(None, (owner, tr("Said by {said}", said=said)))),
            )
        ),
        mark=mark,
    )


def _buttons(found: Finding, on: date) -> tuple[BoardButton, ...]:
    picture = BoardButton(name="evidence", text=tr("Picture"))
    if found.reaction is None:
        return picture, BoardButton(name="reaction", text=tr("Say what was done"), tone="strong")
    if found.closed is not None:
        return (picture,)
    if found.others:
        # What holds has to be settled first.
        again = BoardButton(name="reaction", text=tr("Say it once more"), tone="strong")
        return picture, BoardButton(name="close_finding", text=tr("Put right")), again
    correct = BoardButton(name="reaction", text=tr("Correct"))
    if not found.is_open(on):
        return picture, correct
    return picture, correct, BoardButton(name="close_finding", text=tr("Put right"), tone="strong")


class CloseFindingForm(FormPage):
    """Records that a finding is put right for good, and what shows it."""

    title = msg("Put right")
    do = msg("Record: it is put right")
    is_in_walk = False
    _finding: Finding | None = None

    def _first_values(self) -> dict[str, str]:
        self._finding = _find(self)
        return {"closed_on": today(self.session.place).isoformat()}

    def _cautions(self) -> tuple[str, ...]:
        return (
            (
                tr(
                    "Look at it before you record this: {asked}",
                    asked=asked_words(self.session.place, self._finding.start, self._finding.answer),
                ),
            )
            if self._finding
            else ()
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="closed_on",
                label=tr("Put right on"),
                form="day",
                options=self._days(),
                is_required=True,
            ),
            FormField(
                name="evidence",
                label=tr("What shows it"),
                hint=tr(
                    "What was changed, and where it can be seen; add pictures on the page of the finding"
                ),
                lines=2,
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        close_finding(self.session.place, _find(self), values["closed_on"], values["evidence"])
        return self.route.up()
