"""PPM of a stream: what came back of what was delivered, month by month."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from walkapp.actions.books import facts_of
from walkapp.actions.days import today
from walkapp.actions.deliveries import newest_together, take_back_together
from walkapp.actions.desk import desk_facts, desk_streams
from walkapp.actions.ppm import LONG, SHORT, StreamPpm, ppm_of
from walkapp.actions.ppm_months import MonthPpm, part_key, parts_of
from walkapp.actions.ppm_telling import (
    WHERE_FROM,
    cautions_of,
    lines_of,
    month_line,
    month_notes,
    record_origin,
    record_words,
    rolling_words,
    sentence_of,
    short_line,
)
from walkapp.actions.reading import ConcernFacts, all_concerns
from walkapp.actions.workplace import Workplace
from walkapp.analysis.ppm import against_target
from walkapp.analysis.ppm_words import MODEL, target_words
from walkapp.analysis.wording import capital
from walkapp.errors import ChecklistError, InputError
from walkapp.language import day_said, month_words, msg, tr, trn
from walkapp.model.ids import desk_book_id
from walkapp.model.records import Deliveries, Record
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section, section_of
from walkapp.presenters.disputes import dispute_rows
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session

MONTHS = 13
"""Months that are shown: a year, and the same month of the year before."""

MOST_CHOICES = 8
"""Value streams or part numbers that are offered."""

ALL_PARTS = "all"
FIGURE = "ppm-by-month"
MARKS = {
    "shown_below": "clean",
    "shown_above": "bad",
    "above": "undecided",
    "not_shown": "undecided",
    "unknown": "not_visited",
}
"""Shape of how a rate stands against its target."""

AGAINST_WORDS = {
    "shown_below": msg("shown to be below the target"),
    "shown_above": msg("shown to be above the target"),
    "above": msg("above the target, with 95 % confidence not shown to be"),
    "not_shown": msg("not shown to be below the target"),
}
"""The same in words; without a ppm there is nothing to say."""


def stream_ppm(place: Workplace, route: Route) -> StreamPpm:
    """Work out what a page about deliveries shows.

    Parameters
    ----------
    place
        Where the records are.
    route
        Its stream; its `unit` is the part number, empty for all parts.

    Raises
    ------
    InputError
        If there is nothing of such a stream here.
    """
    facts = desk_facts(place, route.stream)
    return ppm_of(facts, today(place), part_number=route.unit, months=MONTHS)


class DeliveriesPage(BoardPage):
    """A page about deliveries; "undo" takes back what was typed in or read from a file last."""

    kinds = (Deliveries,)

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route)
        self._stand_in(route.stream)

    def undo(self) -> None:
        """Take back the newest entry of this tablet, with all that came from the same file."""
        self.act(lambda: take_back_together(self.session.place, self.route.concern), tr("Taken back"))

    def _stand_in(self, stream: str) -> None:
        """Be the page of this stream: its desk book stands where a concern's id would."""
        if stream:
            self.route = replace(self.route, stream=stream, concern=desk_book_id(stream))

    def _in_short(self, entry: Record) -> str:
        together = newest_together(self.session.place, self.route.concern)
        if not isinstance(entry, Deliveries):
            return tr("Entry taken back")
        if len(together) > 1:
            return trn(
                "{count} entry of {source}",
                "{count} entries of {source}",
                len(together),
                source=entry.source,
            )
        return _month_of(entry)


class PpmPage(DeliveriesPage):
    """Presents the ppm of a stream."""

    def choose(self, word: str) -> None:
        """Show another value stream."""
        self.session.go(Route(screen="ppm", stream=word))

    def row(self, section: str, row: str) -> None:
        """Go to a month, to entries that disagree, or to another part number."""
        match section:
            case "months":
                self.session.go(replace(self.route, screen="ppm_month", day=row))
            case "parts":
                number = "" if row == ALL_PARTS else self._parts[int(row)]
                self.session.go(replace(self.route, unit=number))
            case _:
                self.session.go(self.route.down(row))

    def press(self, button: str) -> None:
        """Type in a month, read a table, or look at the figure."""
        if button == "figure":
            self.session.go(self.route.down("figure", concern="", entry=FIGURE))
        else:
            self.session.go(replace(self.route, screen=button, day="", entry=""))

    _parts: tuple[str, ...] = ()

    def _view(self) -> BoardState:
        place = self.session.place
        concerns = all_concerns(place)
        streams = desk_streams(place, concerns)
        self._stand_in(self.route.stream or _first_stream(place, concerns, streams))
        if not self.route.stream:
            return BoardState(
                title=tr("PPM"),
                sentence=tr("There is no value stream here yet."),
                lines=(tr("Start walkapp with --checklists and the folder of the value streams."),),
            )
        facts = desk_facts(place, self.route.stream, concerns)
        found = ppm_of(facts, today(place), part_number=self.route.unit, months=MONTHS)
        self._parts = found.part_numbers[:MOST_CHOICES]
        against = found.against()
        return BoardState(
            title=tr("PPM"),
            subtitle=_about(found),
            cautions=cautions_of(found),
            mark=MARKS[against.state] if against else "",
            sentence=sentence_of(found),
            lines=lines_of(found),
            choices=_stream_choices(place, streams, self.route.stream),
            chosen=self.route.stream,
            sections=tuple(self._sections(found)),
            notes=(tr(WHERE_FROM), tr(MODEL)),
            buttons=(
                BoardButton(name="deliveries", text=tr("Type in a month"), tone="strong"),
                BoardButton(name="deliveries_file", text=tr("Read a CSV")),
                *_figure_button(found),
            ),
        )

    def _sections(self, found: StreamPpm) -> Iterator[Section]:
        if found.facts.standing.conflicts:
            book = facts_of(self.session.place, found.facts.book)
            yield Section(name="disputes", rows=dispute_rows(book))
        if found.has_records:
            rows = [month_row(found, one) for one in found.months]
            yield section_of("months", tr("Month by month"), rows)
        if len(found.part_numbers) > 1 or found.part_number:
            yield Section(name="parts", title=tr("Part number"), rows=tuple(_part_rows(found)))


class PpmMonthPage(DeliveriesPage):
    """Presents one month: what is recorded of it, and which concerns count in it."""

    def row(self, section: str, row: str) -> None:
        """Correct a record of deliveries, or go to a concern."""
        if section == "deliveries":
            self.session.go(self.route.down("deliveries", entry=row))
        else:
            self.session.go(Route(screen="concern", concern=row))

    def press(self, button: str) -> None:
        """Type in what is not recorded yet."""
        self.session.go(self.route.down(button, entry=""))

    def _view(self) -> BoardState:
        found = stream_ppm(self.session.place, self.route)
        month = _day_of(self.route.day)
        one = found.month(month)
        rate = one.rate
        against = against_target(rate, found.target) if found.target is not None and rate else None
        return BoardState(
            title=tr("PPM, {month}", month=month_words(month)),
            subtitle=_about(found),
            mark=MARKS[against.state] if against else "",
            sentence=f"{capital(month_line(one))}.",
            lines=(*((f"{target_words(against, rate)}.",) if against else ()), *month_notes(found, one)),
            sections=tuple(_month_sections(one)),
            notes=(tr(WHERE_FROM), tr(MODEL)),
            buttons=(
                BoardButton(
                    name="deliveries",
                    text=tr("Another part number") if one.deliveries else tr("Type in this month"),
                    tone="plain" if one.deliveries else "strong",
                ),
            ),
        )


def _month_sections(one: MonthPpm) -> Iterator[Section]:
    if one.deliveries:
        yield section_of(
            "deliveries", tr("Recorded; tap to correct"), [_record_row(one, r) for r in one.deliveries]
        )
    rows = [_concern_row(facts) for facts in one.concerns]
    rows += [_concern_row(facts, is_counted=False) for facts in one.unnamed]
    if rows:
        title = tr("Concerns of this month")
        if one.counted_by == "customer":
            title = tr("Concerns of this month; the customer's own count stands for them")
        yield section_of("concerns", title, rows)


def _record_row(one: MonthPpm, record: Deliveries) -> ListRow:
    state, mark = "", ""
    if record in one.at_odds:
        state, mark = tr("Does not count: a newer entry says something else."), "caution"
    elif record not in one.counted:
        state = tr("Does not count beside all parts.")
    subtitle = " ".join(filter(None, (state, record_origin(record))))
    return ListRow(id=record.id, title=record_words(record), subtitle=subtitle, mark=mark)


def _concern_row(facts: ConcernFacts, *, is_counted: bool = True) -> ListRow:
    concern = facts.concern
    if concern.quantity is not None:
        parts = trn("{count} part", "{count} parts", concern.quantity)
    else:
        parts = trn(
            "quantity not recorded, counts as {count} part at least",
            "quantity not recorded, counts as {count} parts at least",
            parts_of(facts),
        )
    day = (
        tr("reported {reported_on}", reported_on=day_said(concern.reported_on))
        if concern.reported_on
        else tr("day of report not recorded")
    )
    number = concern.part_number or tr("no part number")
    counted = "" if is_counted else tr("not counted here")
    told = "; ".join(filter(None, (f"{parts}, {day}, {number}", counted)))
    return ListRow(id=facts.id, title=facts.what, subtitle=told)


def month_row(found: StreamPpm, one: MonthPpm) -> ListRow:
    """Give the row of a month: its ppm, and below it the counts, the limits and the rolling values."""
    rolling = (rolling_words(found.rolling(span, one.month), span) for span in (SHORT, LONG))
    notes = len(month_notes(found, one))
    below = "; ".join(
        filter(None, (*rolling, trn("{count} note", "{count} notes", notes) if notes else ""))
    )
    mark, words = "not_visited", ""
    if one.at_odds:
        mark, words = "caution", tr("entries disagree")
    elif one.rate is not None:
        state = against_target(one.rate, found.target).state if found.target is not None else ""
        mark, words = MARKS.get(state, ""), tr(AGAINST_WORDS.get(state, ""))
    return ListRow(
        id=one.month.isoformat(),
        title=", ".join(filter(None, (f"{month_words(one.month)}: {short_line(one)}", words))),
        subtitle="\n".join(filter(None, (capital(month_line(one)), below))),
        mark=mark,
    )


def _figure_button(found: StreamPpm) -> tuple[BoardButton, ...]:
    """Lead to the figure, which shows all parts of the stream."""
    can_be_drawn = found.latest is not None and not found.part_number
    return (BoardButton(name="figure", text=tr("Figure")),) if can_be_drawn else ()


def _part_rows(found: StreamPpm) -> Iterator[ListRow]:
    shown = found.part_numbers[:MOST_CHOICES]
    chosen = part_key(found.part_number)
    rows = [(ALL_PARTS, tr("All parts"), not chosen)]
    rows += [(str(i), number, part_key(number) == chosen) for i, number in enumerate(shown)]
    left = len(found.part_numbers) - len(shown)
    for row, (name, title, is_chosen) in enumerate(rows):
        more = (
            trn(
                "{count} more; 'walkapp ppm --part-number' tells it",
                "{count} more; 'walkapp ppm --part-number' tells them",
                left,
            )
            if left and row == len(rows) - 1
            else ""
        )
        yield ListRow(
            id=name,
            title=title,
            subtitle="; ".join(filter(None, (tr("shown now") if is_chosen else "", more))),
            mark="clean" if is_chosen else "",
        )


def _first_stream(place: Workplace, concerns: tuple[ConcernFacts, ...], streams: tuple[str, ...]) -> str:
    """Choose the stream that is shown first: one with deliveries, then one with a concern, then any."""
    books = set(place.store.concerns())
    begun = [stream for stream in streams if desk_book_id(stream) in books]
    begun += [facts.concern.stream for facts in concerns]
    return next(iter((*begun, *streams)), "")


def _stream_choices(place: Workplace, streams: tuple[str, ...], chosen: str) -> tuple[tuple[str, str], ...]:
    if len(streams) < 2:
        return ()
    try:
        known = place.streams()
    except ChecklistError:
        known = {}
    shown = streams[:MOST_CHOICES]
    if chosen not in shown:
        shown = (*shown[:-1], chosen)
    return tuple((one, known[one].name if one in known else one) for one in shown)


def _about(found: StreamPpm) -> str:
    part = (
        tr("part number {part_number}", part_number=found.part_number)
        if found.part_number
        else tr("all parts")
    )
    return f"{found.facts.name}, {part}"


def _day_of(day: str) -> date:
    try:
        return date.fromisoformat(day).replace(day=1)
    except ValueError:
        raise InputError(tr("There is no such month; go back and choose one.")) from None


def _month_of(entry: Deliveries) -> str:
    return month_words(date.fromisoformat(entry.month))
