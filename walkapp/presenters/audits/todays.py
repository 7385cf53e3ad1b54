"""Today's audits: which are due, how much time is left, what can be made up, and what is done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

from walkapp.actions.audits.book import books_between
from walkapp.actions.audits.reading import audited_streams, zone_of
from walkapp.actions.audits.states import BEGUN, DONE, MISSED, TO_COME, PlannedAudit, todays_audits
from walkapp.actions.workplace import Workplace
from walkapp.errors import ChecklistError, InputError, WalkappError
from walkapp.language import day_words, msg, tr, tr_choices, trn
from walkapp.model.checklist import Stream
from walkapp.model.records import AuditStart
from walkapp.presenters.audits.sight import audit_here, place_in_plan, planned_here
from walkapp.presenters.audits.words import (
    STATE_MARKS,
    planned_title,
    state_words,
)
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section, section_of
from walkapp.presenters.pages import PAGES
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow

ALL_LAYERS = msg("All layers")

NO_AUDITS = msg("No value stream has layered audits yet.")
HOW_TO_ADD = msg("Who keeps the checklists adds audits.toml to a folder, as the ready-made folders show.")

GROUPS = (msg("To do now"), msg("Can be made up"), msg("Later"), msg("Done"), msg("Not done"))
"""Headings of the audits, in the order in which they matter."""

LEFT, MORE = "left", "more"
"""Names of the sections of other rows; those of the groups are called by their number."""

LEADS_TO = (("findings", msg("Findings")), ("audit_results", msg("Results")))
"""Pages on all audits of a stream."""


class AuditsPage(BoardPage):
    """Presents today's audits of all streams that have any."""

    def open(self) -> None:
        """Read the plans and the records; cautions of stations are to be confirmed anew from here."""
        self.session.cautions_read = ""
        super().open()

    def choose(self, word: str) -> None:
        """Show the audits of one layer, or of all; this tablet keeps to it."""
        self.act(lambda: self.session.kept.keep_layer(word), "")

    def row(self, section: str, row: str) -> None:
        """Open an audit, or a page on all audits of a stream."""
        kind, stream = section.split(" ")
        if kind == MORE:
            self.session.go(self.route.down(row, stream=stream))
        elif kind == LEFT:
            book, audit = row.split(" ")
            self.session.go(Route(screen="audit", concern=book, entry=audit, stream=stream))
        else:
            layer, day, shift = row.split(" ", 2)
            route = Route(screen="audit_begin", stream=stream, layer=layer, day=day, shift=shift)
            self.session.run_later(lambda: self._way_to(route), self.session.go, self.fail)

    def _way_to(self, route: Route) -> Route:
        _, planned = planned_here(self.session.place, route)
        return way_to(self.session.place, planned)

    def press(self, button: str) -> None:
        """Open a page on all audits of the only stream that has any."""
        page, stream = button.split(" ")
        self.session.go(self.route.down(page, stream=stream))

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong; of many mistakes in the checklists the first."""
        if not isinstance(error, ChecklistError):
            super().fail(error)
            return
        words = trn(
            "The checklists have {count} mistake, so that nobody can tell which audits are due. "
            "It is in {mistake} 'walkapp validate' lists every mistake.",
            "The checklists have {count} mistakes, so that nobody can tell which audits are due. "
            "The first is in {mistake} 'walkapp validate' lists every mistake.",
            len(error.mistakes),
            mistake=error.mistakes[0],
        )
        super().fail(InputError(words))

    def _view(self) -> BoardState:
        place = self.session.place
        streams = audited_streams(place)
        if not streams:
            return BoardState(title=tr("Audits"), sentence=tr(NO_AUDITS), lines=(tr(HOW_TO_ADD),))
        choices = _layers(streams)
        wanted = self.session.kept.layer()
        chosen = wanted if wanted in dict(choices) else ""
        found = [
            (stream, todays_audits(place, stream, layer=chosen))
            for stream in streams
            if chosen in ("", *dict(_scheme_layers(stream)))
        ]
        now = place.now()
        local = now.astimezone(zone_of(streams[0]))
        everything = [planned for _, audits in found for planned in audits]
        todo = sum(planned.can_be_done for planned in everything)
        as_of = f"{day_words(local.date())}, {local:%H:%M}"
        return BoardState(
            title=tr("Audits"),
            subtitle=trn(
                "As of {as_of}: {count} to do now", "As of {as_of}: {count} to do now", todo, as_of=as_of
            ),
            sentence="" if todo else _nothing_due(everything, now),
            choices=choices,
            chosen=chosen,
            sections=(
                *self._planned(found, now),
                *(section for stream, _ in found for section in self._left(stream, chosen)),
                *_more(streams),
            ),
            buttons=tuple(
                BoardButton(name=f"{page} {streams[0].id}", text=text)
                for page, text in _pages()
                if len(streams) == 1
            ),
        )

    def _planned(
        self, found: Sequence[tuple[Stream, Sequence[PlannedAudit]]], now: datetime
    ) -> Iterator[Section]:
        device = self.session.place.store.device
        for number, group in enumerate(GROUPS):
            heading = tr(group)
            for stream, audits in found:
                rows = [
                    ListRow(
                        id=" ".join((one.slot.layer, one.slot.day.isoformat(), one.slot.shift)),
                        title=planned_title(one),
                        subtitle=state_words(one, now, device),
                        mark=STATE_MARKS[one.state],
                    )
                    for one in audits
                    if _group(one, now) == group
                ]
                if rows:
                    title = f"{heading}: {stream.name}" if len(found) > 1 else heading
                    yield section_of(f"{number} {stream.id}", title, rows)

    def _left(self, stream: Stream, layer: str) -> Iterator[Section]:
        """Audits of this tablet that still go on, though the checklist as it is now does not plan them."""
        place = self.session.place
        today = place.now().date()
        rows = []
        for book in books_between(place, stream.id, today - timedelta(days=31), today):
            for start in book.starts:
                if (start.stream, start.device) != (stream.id, place.store.device):
                    continue
                if layer in ("", start.layer) and not _is_planned(place, stream, start):
                    audit = audit_here(place, Route(concern=start.concern, entry=start.id))
                    if audit.can_answer:
                        rows.append(
                            ListRow(
                                id=f"{start.concern} {start.id}",
                                title=audit.title,
                                subtitle=tr(
                                    "Begun here, {answers} of {asked} answered",
                                    answers=len(audit.facts.answers),
                                    asked=len(audit.facts.asked),
                                ),
                                mark=STATE_MARKS[BEGUN],
                            )
                        )
        if rows:
            title = tr("Begun with an older checklist: {stream}", stream=stream.name)
            yield section_of(f"{LEFT} {stream.id}", title, rows)


def way_to(place: Workplace, planned: PlannedAudit) -> Route:
    """Give the page that an audit of the plan is opened on, as it stands now.

    Parameters
    ----------
    place
        Where the records are.
    planned
        The audit.

    Returns
    -------
    Route
        Where it is begun, or gone on with where one stopped; what was recorded of one that is done or
        begun elsewhere; why it was missed; or, while it is still to come, its page on paper.
    """
    in_plan = place_in_plan(planned)
    if planned.audits:
        own = [facts for facts in planned.audits if facts.start.device == place.store.device]
        goes_on = bool(own) and planned.state == BEGUN
        facts = own[0] if goes_on else planned.audits[0]
        screen = "audit" if goes_on else "audit_list"
        return Route(screen=screen, concern=facts.book, entry=facts.start.id, **in_plan)
    if planned.state == TO_COME:
        return Route(screen="audit_print", **in_plan)
    is_over = planned.state == MISSED and not planned.can_be_made_up(place.now())
    return Route(screen="audit_missed" if is_over else "audit_begin", **in_plan)


def _group(planned: PlannedAudit, now: datetime) -> str:
    if planned.can_be_done:
        return GROUPS[0]
    if planned.can_be_made_up(now):
        return GROUPS[1]
    if planned.state == TO_COME:
        return GROUPS[2]
    return GROUPS[3] if planned.state in DONE else GROUPS[4]


def _nothing_due(audits: Sequence[PlannedAudit], now: datetime) -> str:
    late = sum(planned.can_be_made_up(now) for planned in audits)
    if not late:
        return tr("No audit is due now.")
    return trn(
        "No audit is due now; {count} can be made up.", "No audit is due now; {count} can be made up.", late
    )


def _is_planned(place: Workplace, stream: Stream, start: AuditStart) -> bool:
    layer = stream.audits.layer(start.layer) if stream.audits is not None else None
    if layer is None:
        return False
    calendar = place.audit_plan(stream).calendar
    return calendar.slot(layer, date.fromisoformat(start.day), start.shift) is not None


def _pages() -> Iterator[tuple[str, str]]:
    yield from ((page, text) for page, text in tr_choices(LEADS_TO) if page in PAGES)


def _more(streams: Sequence[Stream]) -> Iterator[Section]:
    """Lead to the pages on all audits of each stream, where buttons could not say which one is meant."""
    for stream in streams if len(streams) > 1 else ():
        rows = [ListRow(id=page, title=text, subtitle=tr("Of all its audits.")) for page, text in _pages()]
        if rows:
            yield section_of(f"{MORE} {stream.id}", stream.name, rows)


def _scheme_layers(stream: Stream) -> Iterator[tuple[str, str]]:
    assert stream.audits is not None
    yield from ((layer.id, layer.name) for layer in stream.audits.layers)


def _layers(streams: Sequence[Stream]) -> tuple[tuple[str, str], ...]:
    """Offer the layers of all streams, each once; nothing where there is only one."""
    named = {layer: name for stream in reversed(streams) for layer, name in _scheme_layers(stream)}
    ordered = dict.fromkeys(layer for stream in streams for layer, _ in _scheme_layers(stream))
    if len(ordered) < 2:
        return ()
    return (("", tr(ALL_LAYERS)), *((layer, named[layer]) for layer in ordered))
