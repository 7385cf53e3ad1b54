"""An audit on paper: printed for the day without a tablet, and typed in later."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from walkapp.actions.audits.page import in_words
from walkapp.actions.audits.paper import (
    PaperFacts,
    Papers,
    paper_name,
    papers_to_print,
    why_not_typed_in,
    write_papers,
)
from walkapp.actions.audits.states import TO_COME, PlannedAudit
from walkapp.actions.audits.typing_in import PaperReader, paper_reader, type_in
from walkapp.actions.days import day_of
from walkapp.actions.outputs import make_folder
from walkapp.actions.workplace import NOBODY
from walkapp.errors import InputError
from walkapp.language import day_words, msg, tr, trn
from walkapp.presenters.audits.begin import PlannedForm
from walkapp.presenters.audits.sight import planned_here
from walkapp.presenters.board import BoardButton, BoardPage, BoardState
from walkapp.presenters.form import FormField
from walkapp.presenters.route import Route
from walkapp.presenters.wording import moment_text

COUNTS_BY = msg(
    "Once typed in, it counts as done in time, late or made up by the times on the page, "
    "whose word is all there is, and stays marked as done on paper."
)

SIX_DIGITS = 6

DAYS_OFFERED = 2


class AuditPrintPage(BoardPage):
    """Presents the way over paper for one audit of the plan: write the page, type the answers in later."""

    def press(self, button: str) -> None:
        """Write the page, or type in what stands on one."""
        if button == "write":
            self._write()
        else:
            self.session.go(self.route.down(button))

    def _write(self) -> None:
        waiting = tr("Writing the page; the first time this takes some seconds.")
        self._show(replace(self.state, problem="", saved="", sentence=waiting))

        def prepare() -> tuple[Papers, PlannedAudit]:
            stream, planned = planned_here(self.session.place, self.route)
            return papers_to_print(self.session.place, stream, (planned,)), planned

        def draw(prepared: tuple[Papers, PlannedAudit]) -> None:
            # No tap has to wait for the drawing.
            self.session.aside(lambda: self._to_disk(*prepared), self._say_written, self.fail)

        self.session.run_later(prepare, draw, self.fail)

    def _to_disk(self, papers: Papers, planned: PlannedAudit) -> PaperFacts:
        folder = self.session.bundles
        make_folder(folder)
        return write_papers(papers, folder / paper_name(planned))

    def _say_written(self, facts: PaperFacts) -> None:
        pages, questions = (
            trn("{count} page", "{count} pages", facts.pages),
            trn("{count} question", "{count} questions", facts.questions),
        )
        saved = " ".join(
            (
                tr(
                    "On disk: {path}, {pages}, {questions}.",
                    path=facts.path.name,
                    pages=pages,
                    questions=questions,
                ),
                *facts.notes,
            )
        )
        self.session.run_later(lambda: replace(self._look(), saved=saved), self._show, self.fail)

    def _view(self) -> BoardState:
        place = self.session.place
        stream, planned = planned_here(place, self.route)
        papers = papers_to_print(place, stream, (planned,))
        return BoardState(
            title=tr("Audit on paper"),
            subtitle=f"{planned.layer.name}: {in_words(planned.layer, planned.slot)}",
            sentence=tr("Print the page where no tablet is at hand, and type the answers in later."),
            lines=(
                tr("To be begun from {opens} on.", opens=moment_text(planned.opens.isoformat())),
                tr("To be signed until {due}.", due=moment_text(planned.due.isoformat())),
                trn(
                    "Asks {count} question, the same as on a tablet.",
                    "Asks {count} questions, the same as on a tablet.",
                    papers.questions,
                ),
                tr("The PDF is written into {bundles}.", bundles=self.session.bundles),
            ),
            notes=(tr(COUNTS_BY), *(why for why in (why_not_typed_in(planned, place.now()),) if why)),
            buttons=(
                BoardButton(name="write", text=tr("Write the page"), tone="strong"),
                BoardButton(
                    name="audit_paper",
                    text=tr("Type in a page"),
                    is_off=bool(planned.audits) or planned.state == TO_COME,
                ),
            ),
        )


class AuditPaperForm(PlannedForm):
    """Asks what stands on a page that was filled in, then leads to its questions."""

    title = msg("Type in an audit done on paper")
    do = msg("Go on to its answers")
    _reader: PaperReader | None = None

    def _first_values(self) -> dict[str, str]:
        place = self.session.place
        stream, planned = self._read()
        if planned.audits:
            raise InputError(tr("This audit is begun or done already; open it from the list."))
        self._reader = paper_reader(place, stream, planned)
        is_one_day = planned.slot.first_on == planned.slot.last_on
        day = planned.slot.first_on.isoformat() if is_one_day else ""
        by = "" if place.by == NOBODY else place.by
        return {"begun_on": day, "signed_on": day, "by": by}

    def _words(self) -> tuple[str, ...]:
        if self._planned is None:
            return ()
        layer = self._planned.layer
        return (
            f"{layer.name}: {in_words(layer, self._planned.slot)}",
            tr(COUNTS_BY),
        )

    def _fields(self) -> tuple[FormField, ...]:
        days = self._plan_days()
        return (
            FormField(
                name="check",
                label=tr("Check number, at the top of the page"),
                form="whole",
                hint=self._known() or tr("Six digits such as 614 926"),
                is_required=True,
            ),
            FormField(
                name="numbers",
                label=tr("Numbers with a plus, in their order"),
                hint=tr("Only when the page is not known without them; such as 4821 0937"),
            ),
            FormField(
                name="paper_by",
                label=tr("Role and initials on the page"),
                hint=tr("For example SL-AB; no name"),
                is_required=True,
            ),
            FormField(name="begun_on", label=tr("Begun on"), form="day", options=days, is_required=True),
            FormField(name="begun_at", label=tr("Begun at"), hint=tr("Such as 06:40"), is_required=True),
            FormField(name="signed_on", label=tr("Signed on"), form="day", options=days, is_required=True),
            FormField(name="signed_at", label=tr("Signed at"), hint=tr("Such as 06:55"), is_required=True),
            FormField(
                name="by",
                label=tr("Your own role and initials"),
                hint=tr("Who types it in; no name"),
                is_required=True,
            ),
        )

    def _plan_days(self) -> tuple[tuple[str, str], ...]:
        """Offer the first days on which the audit may have been done; any other can be typed."""
        if self._planned is None:
            return ()
        first = self._planned.slot.first_on.toordinal()
        days = (date.fromordinal(min(first + n, date.max.toordinal())) for n in range(DAYS_OFFERED))
        return tuple((day.isoformat(), day_words(day)) for day in days)

    def _known(self) -> str:
        """Say, once the check number is typed, whether the page asks what this tablet knows."""
        check = "".join(self._values.get("check", "").split())
        if self._reader is None or len(check) < SIX_DIGITS:
            return ""
        try:
            added = self._reader.added(check, self._values.get("numbers", ""))
        except InputError as error:
            return str(error)
        asked = len(self._reader.asked(added))
        return trn(
            "The page is known: {count} question, {added} of them beyond the plan.",
            "The page is known: {count} questions, {added} of them beyond the plan.",
            asked,
            added=len(added),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        assert self._reader is not None
        self.session.remember_person(values["by"])
        start = type_in(
            self._reader,
            by=values["paper_by"],
            begun=(self._day(tr("Begun on"), values["begun_on"]), values["begun_at"]),
            signed=(self._day(tr("Signed on"), values["signed_on"]), values["signed_at"]),
            check=values["check"],
            numbers=values["numbers"],
        )
        return replace(self.route, screen="audit", concern=start.concern, entry=start.id, through="")

    def _day(self, label: str, text: str) -> date:
        day = day_of(text)
        if day is None:
            raise InputError(
                tr("{label}: {text} is no date; write it such as 2026-03-09.", label=label, text=repr(text))
            )
        return day
