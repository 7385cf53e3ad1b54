"""Findings of audits: which are overdue, which are still open, and what was put right lately."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from walkapp.actions.audits.book import FINDING_OVERDUE, Finding
from walkapp.actions.audits.findings import closed_findings, days_open, open_findings, status_text, strays
from walkapp.actions.audits.reading import asked_words, stream_of
from walkapp.actions.books import book_facts, books_of
from walkapp.actions.days import today
from walkapp.actions.workplace import Workplace
from walkapp.analysis.wording import capital, days_text
from walkapp.errors import ChecklistError
from walkapp.language import day_said, tr, trn
from walkapp.presenters.board import BoardPage, BoardState, Section
from walkapp.presenters.bundle_writing import write_audits_bundle
from walkapp.presenters.disputes import disagreeing_text
from walkapp.presenters.rows import ListRow
from walkapp.visible import in_short

MOST_OPEN = 60
"""Rows of open findings that are shown: more than a person scrolls."""

LOOKED_AT_DAYS = 365
"""Days for which audits are looked at at first."""

MOST_CLOSED = 10
"""Rows of findings that were put right lately."""


class FindingsPage(BoardPage):
    """Presents the findings of a stream, or of all streams: what is overdue on top.

    Years of audits take long to read: those of the last year are looked at, and older ones when asked for.
    """

    _looks_at_all = False

    def _view(self) -> BoardState:
        place, stream = self.session.place, self.route.stream
        on = today(place)
        since = None if self._looks_at_all else months_ago(on)
        found = open_findings(place, stream, since=since)
        shown = found[:MOST_OPEN]
        late = [one for one in shown if one.status(on) == FINDING_OVERDUE]
        unsaid = [one for one in shown if one.reaction is None]
        rest = [one for one in shown if one not in late and one not in unsaid]
        closed = closed_findings(place, stream, since=since)
        older = _older(place, stream, since)
        sections = (
            _section(place, "late", tr("Overdue"), late, on),
            _section(place, "unsaid", tr("Nobody said yet what was done"), unsaid, on),
            _section(place, "open", tr("Open"), rest, on),
            Section(
                name="disagree",
                title=tr("Entries that disagree"),
                rows=tuple(_disputes(place, stream, since)),
            ),
            _section(place, "closed", tr("Put right lately"), closed[:MOST_CLOSED], on),
            Section(name="more", rows=tuple(_more(older, can_bundle=bool(stream and (found or closed))))),
        )
        more, lost = len(found) - len(shown), strays(place, stream, since=since)
        notes = (
            trn(
                "{count} older month of audits not looked at.",
                "{count} older months of audits not looked at.",
                older,
            )
            if older
            else "",
            trn(
                "{count} more open finding: those above come first.",
                "{count} more open findings: those above come first.",
                more,
            )
            if more
            else "",
            tr("{lost} NOK of audits that are not here: merge the bundles that have them.", lost=lost)
            if lost
            else "",
        )
        return BoardState(
            title=tr("Findings"),
            subtitle=_stream_name(place, stream) or tr("All value streams"),
            mark=_mark_of_all(found, closed, on),
            sentence=f"{_standing(found, closed, on, is_whole=not older)}.",
            sections=tuple(section for section in sections if section.rows),
            notes=tuple(filter(None, notes)),
        )

    def row(self, section: str, row: str) -> None:
        """Open a finding, or the entries of an audit book that disagree, or do what else a row says."""
        if row == "older":
            self._looks_at_all = True
            self.open()
        elif row == "bundle":
            self._bundle()
        elif section == "disagree":
            self.session.go(self.route.down("disputes", concern=row))
        else:
            book, _, finding = row.partition(" ")
            self.session.go(self.route.down("finding", concern=book, entry=finding))

    def _bundle(self) -> None:
        def run() -> BoardState:
            words = write_audits_bundle(self.session, self.route.stream)
            return replace(self._look(), saved=words)

        self.session.run_later(run, self._show, self.fail)


def _more(older: int, *, can_bundle: bool) -> Iterator[ListRow]:
    if older:
        words = trn(
            "{count} older month not looked at yet.", "{count} older months not looked at yet.", older
        )
        yield ListRow(id="older", title=tr("Look at older audits"), subtitle=words)
    if can_bundle:
        words = tr("Writes one file with all audits of this value stream.")
        yield ListRow(id="bundle", title=tr("Write a bundle of the audits"), subtitle=words)


def months_ago(on: date) -> date:
    """Give the first day from which audits are looked at, unless older ones are asked for."""
    return date.fromordinal(max(on.toordinal() - LOOKED_AT_DAYS, 1))


def _older(place: Workplace, stream: str, since: date | None) -> int:
    return len(books_of(place, stream)) - len(books_of(place, stream, since=since))


def _section(place: Workplace, name: str, title: str, found: Sequence[Finding], on: date) -> Section:
    return Section(name=name, title=title, rows=tuple(finding_row(place, one, on) for one in found))


def finding_row(place: Workplace, finding: Finding, on: date) -> ListRow:
    """Put a finding into two lines: what was asked; how it stands, who sees to it, since when and where."""
    status = status_text(finding, on)
    reaction = finding.reaction
    said = (
        capital(status),
        reaction.owner if reaction and finding.is_open(on) else "",
        open_words(finding, on) or tr("found {found_on}", found_on=day_said(finding.found_on)),
        station_name(place, finding),
    )
    return ListRow(
        id=row_id(finding),
        title=in_short(asked_words(place, finding.start, finding.answer)),
        subtitle=", ".join(filter(None, said)),
        mark=mark_of(finding, on),
    )


def open_words(finding: Finding, on: date) -> str:
    """Say for how long a finding is open; nothing once it is not."""
    if not finding.is_open(on):
        return ""
    days = days_open(finding, on)
    return tr("open for {days}", days=days_text(days)) if days else tr("found today")


def row_id(finding: Finding) -> str:
    """Name a finding in a row: its audit book, then its id."""
    return f"{finding.start.concern} {finding.answer.id}"


def mark_of(finding: Finding, on: date) -> str:
    """Give the shape of how a finding stands."""
    if finding.status(on) == FINDING_OVERDUE:
        return "bad"
    if not finding.is_open(on):
        return "clean"
    return "undecided" if finding.reaction is None or finding.others else "not_visited"


def station_name(place: Workplace, finding: Finding) -> str:
    """Give the name of the station of a finding; its id where no checklist here has it."""
    stream = stream_of(place, finding.start)
    station = stream.station(finding.answer.station) if stream else None
    return station.name if station else finding.answer.station


def findings_row(place: Workplace, stream: str = "") -> ListRow:
    """Make the row that leads to the findings of a stream, or of all streams."""
    on = today(place)
    since = months_ago(on)
    found = open_findings(place, stream, since=since)
    closed = closed_findings(place, stream, since=since)
    older = _older(place, stream, since)
    words = _standing(found, closed, on, is_whole=not older)
    if found and found[0].status(on) == FINDING_OVERDUE:
        asked = in_short(asked_words(place, found[0].start, found[0].answer), 60)
        words = f"{words}: {asked}, {status_text(found[0], on)}"
    if older:
        words = trn(
            "{words}; {count} older month not looked at",
            "{words}; {count} older months not looked at",
            older,
            words=words,
        )
    return ListRow(
        id="findings",
        title=tr("Findings"),
        subtitle=words,
        mark=_mark_of_all(found, closed, on) or "not_visited",
    )


def _disputes(place: Workplace, stream: str, since: date | None) -> Iterator[ListRow]:
    for book in books_of(place, stream, since=since):
        if count := len(place.audit_book(book).standing.conflicts):
            yield ListRow(
                id=book,
                title=disagreeing_text(count),
                subtitle=tr(
                    "{what}: look at all values and decide which one holds.",
                    what=book_facts(place, book).what,
                ),
                mark="undecided",
            )


def _stream_name(place: Workplace, stream: str) -> str:
    try:
        found = place.streams().get(stream)
    except ChecklistError:
        found = None
    return found.name if found else stream


def _mark_of_all(found: Sequence[Finding], closed: Sequence[Finding], on: date) -> str:
    marks = [mark_of(one, on) for one in (*found, *closed[:1])]
    return next((mark for mark in ("bad", "undecided", "not_visited", "clean") if mark in marks), "")


def _standing(found: Sequence[Finding], closed: Sequence[Finding], on: date, *, is_whole: bool) -> str:
    """Say how many findings are open, without a full stop."""
    if not found and not is_whole:
        return tr("No open finding of the last {looked_at_days} days", looked_at_days=LOOKED_AT_DAYS)
    if not found and not closed:
        return tr("No finding yet")
    if not found:
        return trn("No open finding; {count} put right", "No open finding; {count} put right", len(closed))
    late = sum(one.status(on) == FINDING_OVERDUE for one in found)
    if late:
        return trn(
            "{late} of {count} open finding overdue",
            "{late} of {count} open findings overdue",
            len(found),
            late=late,
        )
    return trn("{count} open finding, none overdue", "{count} open findings, none overdue", len(found))
