"""The success factors of a stream, a sentence each, what is behind one, and what may watch a new one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import replace

from walkapp.actions.desk import DeskFacts, desk_facts, desk_streams
from walkapp.actions.indicators.board import (
    NOT_READABLE,
    FactorFacts,
    IndicatorBoard,
    factor_facts,
    indicator_board,
)
from walkapp.actions.indicators.factors import (
    factors_of,
    follow_factor,
    read_target,
    state_offers,
    words_of_factor,
)
from walkapp.actions.indicators.gathering import YEAR_DAYS, StreamCases, stream_cases
from walkapp.actions.indicators.months import figure_name, month_lines
from walkapp.actions.indicators.offers import START, Offer
from walkapp.actions.indicators.telling import (
    OFFERED,
    cautions_of,
    figure_words,
    head_words,
    headline,
    to_do_words,
)
from walkapp.actions.reading import ConcernFacts, all_concerns
from walkapp.actions.undoing import take_back
from walkapp.actions.workplace import Workplace
from walkapp.analysis.indicators.cases import ACTION, AUDITS, CONCERN, DELIVERIES, FINDING, Source
from walkapp.analysis.indicators.fixed_set import INDICATORS, Indicator
from walkapp.analysis.indicators.reading import NO_DATA, NOT_SHOWN, OFF_TARGET, ON_TARGET
from walkapp.analysis.indicators.words import HERE, MET, NOTES, TOLD, basis_text, target_words, value_text
from walkapp.analysis.wording import capital
from walkapp.errors import ChecklistError, InputError
from walkapp.language import day_said, day_text, msg, tr, tr_each, trn
from walkapp.model.ids import desk_book_id
from walkapp.model.records import Record, SuccessFactor
from walkapp.presenters.board import MOST_ROWS, BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.disputes import disagreeing_text
from walkapp.presenters.pages import PAGES
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.visible import in_short

MARKS = {
    OFF_TARGET: "bad",
    NOT_READABLE: "caution",
    NOT_SHOWN: "undecided",
    NO_DATA: "not_visited",
    ON_TARGET: "clean",
}
"""Shape of how a factor stands."""

KIND_WORDS = {
    CONCERN: msg("Concern"),
    ACTION: msg("Action"),
    FINDING: msg("Finding"),
    AUDITS: msg("Audit results"),
    DELIVERIES: msg("Deliveries and PPM"),
}
"""What evidence comes from."""

SINCE_WORDS = {
    CONCERN: msg("{kind}, since {day}"),
    ACTION: msg("{kind}, due {day}"),
    FINDING: msg("{kind}, found {day}"),
}
"""What the day of evidence is."""

PAGE_OF_KIND = {
    CONCERN: "concern",
    ACTION: "action",
    FINDING: "finding",
    AUDITS: "audit_results",
    DELIVERIES: "ppm",
}
"""The page that shows evidence of a kind."""

PAGE_OF_INDICATOR = {
    "days-to-contain": "containment",
    "days-to-origin": "answer",
    "days-to-fix": "actions",
    "cause-proved": "confirmations",
}
"""The page of a concern that shows what an indicator looks at, where it is not the concern's own."""

NO_STREAM = msg("No value stream is here yet: open a concern, or name a folder of checklists.")


class StreamBoardPage(BoardPage):
    """A page about one value stream at the desk: the one of the route, or else that of most interest."""

    kinds: tuple[type[Record], ...] = (SuccessFactor,)
    _concerns: tuple[ConcernFacts, ...] = ()
    _streams: tuple[str, ...] = ()

    def _look(self) -> BoardState:
        self._concerns = all_concerns(self.session.place)
        self._streams = desk_streams(self.session.place, self._concerns)
        stream = self.route.stream or self._first_stream()
        self.route = replace(self.route, stream=stream, concern=desk_book_id(stream))
        return super()._look()

    def _first_stream(self) -> str:
        """The stream that has a desk book, else that of the newest concern, else the first; or empty."""
        books = frozenset(self.session.place.store.concerns())
        kept = (stream for stream in self._streams if desk_book_id(stream) in books)
        return next(iter((*kept, *(facts.concern.stream for facts in self._concerns), *self._streams)), "")

    def _desk(self) -> DeskFacts:
        return desk_facts(self.session.place, self.route.stream, self._concerns)

    def _in_short(self, entry: Record) -> str:
        if not isinstance(entry, SuccessFactor):
            return tr("what was taken back")
        return tr("a correction") if entry.replaces else tr("a success factor")


class IndicatorsPage(StreamBoardPage):
    """Presents the success factors of a stream: what is off first, a sentence each."""

    def _view(self) -> BoardState:
        if not self.route.stream:
            return BoardState(title=tr("Indicators"), sentence=tr(NO_STREAM))
        place, desk = self.session.place, self._desk()
        board = indicator_board(place, desk)
        return BoardState(
            title=tr("Indicators"),
            subtitle=f"{desk.name}, {day_text(board.on)}",
            cautions=tuple(cautions_of(board)),
            mark=MARKS[board.lines[0].state] if board.lines else "",
            sentence=headline(board),
            choices=stream_choices(place, self._streams, self.route.stream),
            chosen=self.route.stream,
            sections=tuple(section for section in _sections(board) if section.rows),
            notes=tr_each(NOTES) if board.lines else (),
            buttons=tuple(_buttons(board)),
        )

    def choose(self, word: str) -> None:
        """Look at another value stream."""
        self.session.go(Route(screen="indicators", stream=word, through=self.route.through))

    def row(self, section: str, row: str) -> None:
        """Open a factor, or the form of one that is offered, or the entries that disagree."""
        if section == "factors":
            self.session.go(self.route.down("factor", layer=row))
        elif section == "offered":
            self.session.go(self.route.down("new_factor", check=row))
        else:
            self.session.go(self.route.down("disputes"))

    def press(self, button: str) -> None:
        """State all that is offered to begin with, or open a page."""
        if button != "start":
            return super().press(button)
        place = self.session.place
        self.act(
            lambda: state_offers(place, self._desk()),
            trn("{count} success factor stated", "{count} success factors stated", len(START)),
        )
        return None


class FactorPage(StreamBoardPage):
    """Presents one success factor: how it stands, how that was counted, and what is behind it."""

    _line: FactorFacts | None = None
    _chain: frozenset[str] = frozenset()

    def _view(self) -> BoardState:
        place, desk = self.session.place, self._desk()
        factor = follow_factor(place, desk, self.route.layer)
        cases = stream_cases(place, desk, audit_days=YEAR_DAYS)
        line = self._line = factor_facts(factor, cases)
        self._chain = words_of_factor(place, desk, factor.id)
        told = "\n".join(f"• {words}" for words in month_lines(line, cases))
        return BoardState(
            title=tr(line.indicator.name) if line.indicator else tr("Indicator not known here"),
            subtitle=f"{desk.name}, {day_text(cases.on)}",
            mark=MARKS[line.state],
            sentence=f"{head_words(line)}.",
            lines=(f"{capital(figure_words(line))}.", f"{capital(to_do_words(line))}."),
            sections=tuple(
                section
                for section in (
                    _behind(line),
                    Section(
                        name="months",
                        title=tr("Month by month"),
                        words=told,
                    ),
                    _rules(line),
                )
                if section.words or section.rows
            ),
            notes=(
                tr("Stated by {by}, {at}", by=factor.by, at=day_said(factor.at[:10]))
                + (f"; {factor.why}" if factor.why else "")
                + ".",
                *((tr(MET), tr(TOLD), tr(HERE)) if line.judged else ()),
            ),
            buttons=(
                BoardButton(name="figure", text=tr("Over time"), is_off=not told),
                BoardButton(name="correct_factor", text=tr("Correct"), is_off=line.indicator is None),
                BoardButton(name="drop_factor", text=tr("Take it back")),
            ),
        )

    def row(self, section: str, row: str) -> None:
        """Go to what is behind it."""
        sources = self._line.judged.reading.sources if self._line and self._line.judged else ()
        if (found := dict(enumerate(sources)).get(int(row))) is None:
            return
        here = self.route.down(page_of(found, self._line), stream=self.route.stream, number="")
        if found.concern:
            here = replace(here, concern=found.concern, entry=found.entry)
        self.session.go(here)

    def press(self, button: str) -> None:
        """Open the figure of its indicator, or a form about this factor."""
        if button == "figure" and self._line is not None:
            name = figure_name(self._line.factor.indicator)
            self.session.go(self.route.down(button, concern="", entry=name))
        else:
            self.session.go(self.route.down(button))

    def undo(self) -> None:
        """Take back the newest entry about this factor; when that was all of it, go back to the board."""

        def run() -> BoardState | None:
            take_back(self.session.place, self.route.concern, self.kinds, self._is_here)
            try:
                return replace(self._look(), saved=tr("Taken back"))
            except InputError:
                return None

        def done(state: BoardState | None) -> None:
            if state is None:
                self.back()
            else:
                self._show(state)

        self.session.run_later(run, done, self.fail)

    def _is_here(self, entry: Record) -> bool:
        return entry.id in self._chain


class ChooseIndicatorPage(StreamBoardPage):
    """Presents every indicator with what it counts and its present value; a tap opens the form."""

    kinds = ()

    def _view(self) -> BoardState:
        place, desk = self.session.place, self._desk()
        cases = stream_cases(place, desk)
        watched = {one.indicator for one in factors_of(desk)}
        rows = []
        for indicator in INDICATORS.values():
            name = tr(indicator.name)
            if indicator.id in watched:
                name = tr("{name} (watches a factor already)", name=name)
            rows.append(
                ListRow(
                    id=indicator.id,
                    title=name,
                    subtitle=f"{tr(indicator.asks)} {now_words(indicator, cases)}",
                )
            )
        return BoardState(
            title=tr("What watches it?"),
            subtitle=desk.name,
            sentence=tr("Choose the indicator that tells whether it goes right."),
            sections=(Section(name="indicators", rows=tuple(rows)),),
        )

    def row(self, section: str, row: str) -> None:
        """Open the form with this indicator."""
        self.session.go(replace(self.route, screen="new_factor", check=row))


def now_words(indicator: Indicator, cases: StreamCases) -> str:
    """Say the present value of an indicator, in a sentence."""
    reading = indicator.judge(cases, cases.on, None).reading
    value = value_text(indicator, reading)
    return (
        tr("Now {value} ({basis}).", value=value, basis=basis_text(indicator, reading))
        if value
        else tr("Nothing to work it out from yet.")
    )


def stream_choices(place: Workplace, streams: Sequence[str], shown: str) -> tuple[tuple[str, str], ...]:
    """Give the streams that may be looked at, with their names; none where there is only one."""
    names: dict[str, str] = {}
    with suppress(ChecklistError):  # home says what is wrong with the checklists
        names = {one: stream.name for one, stream in place.streams().items()}
    every = tuple(dict.fromkeys((*streams, shown)))
    return tuple((one, names.get(one, one)) for one in every) if len(every) > 1 else ()


def page_of(source: Source, line: FactorFacts | None) -> str:
    """Name the page that shows where a fact comes from."""
    page = PAGE_OF_KIND[source.kind]
    if page == "concern" and line is not None:
        return PAGE_OF_INDICATOR.get(line.factor.indicator, page)
    return page


def _sections(board: IndicatorBoard) -> Iterator[Section]:
    rows = tuple(_factor_row(line) for line in board.lines)
    more = len(rows) - MOST_ROWS
    yield Section(
        name="factors",
        words=trn(
            "{count} more factor: 'walkapp indicators' tells all.",
            "{count} more factors: 'walkapp indicators' tells all.",
            more,
        )
        if more > 0
        else "",
        rows=rows[:MOST_ROWS],
    )
    if board.conflicts:
        row = ListRow(
            id="disputes",
            title=disagreeing_text(len(board.conflicts)),
            subtitle=tr("Look at all values and decide which one holds."),
            mark="undecided",
        )
        yield Section(name="disagree", rows=(row,))
    if not board.lines:
        yield Section(
            name="offered",
            title=tr("To begin with"),
            words=tr(OFFERED),
            rows=tuple(_offer_row(offer) for offer in START),
        )


def _factor_row(line: FactorFacts) -> ListRow:
    return ListRow(
        id=line.id,
        title=head_words(line),
        subtitle=f"{capital(figure_words(line))}; {to_do_words(line)}.",
        mark=MARKS[line.state],
    )


def _offer_row(offer: Offer) -> ListRow:
    indicator = INDICATORS[offer.indicator]
    target = target_words(indicator, read_target(indicator, offer.target))
    return ListRow(
        id=offer.indicator,
        title=tr(offer.factor),
        subtitle=tr(
            "{indicator}, {target}; when it is off: {when_off} ({owner}).",
            indicator=tr(indicator.name),
            target=target,
            when_off=tr(offer.when_off),
            owner=offer.owner,
        ),
    )


def _buttons(board: IndicatorBoard) -> Iterator[BoardButton]:
    if not board.lines:
        yield BoardButton(
            name="start", text=trn("State this {count}", "State these {count}", len(START)), tone="strong"
        )
    tone = "strong" if board.lines else "plain"
    yield BoardButton(name="choose_indicator", text=tr("New success factor"), tone=tone)


def _behind(line: FactorFacts) -> Section:
    sources = line.judged.reading.sources if line.judged else ()
    rows = []
    for number, source in enumerate(sources[:MOST_ROWS]):
        what = in_short(" ".join(source.what.split()))
        kind = tr(KIND_WORDS[source.kind])
        is_page = page_of(source, line) in PAGES
        rows.append(
            ListRow(
                id=str(number) if is_page else "",
                title=what or kind,
                subtitle=tr(SINCE_WORDS[source.kind], kind=kind, day=day_said(source.since))
                if source.since
                else "",
            )
        )
    more = len(sources) - len(rows)
    words = tr("The first {rows} of {sources}.", rows=len(rows), sources=len(sources)) if more else ""
    return Section(name="behind", title=tr("What is behind it"), words=words, rows=tuple(rows))


def _rules(line: FactorFacts) -> Section:
    if line.indicator is None:
        return Section(name="rules")
    return Section(
        name="rules",
        title=tr("How it is counted"),
        words=tr(
            "{counts}\nIt does not know: {unknown}",
            counts=tr(line.indicator.counts),
            unknown=tr(line.indicator.unknown),
        ),
    )
