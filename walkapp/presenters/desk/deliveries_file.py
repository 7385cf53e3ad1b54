"""Reading deliveries from a table: which file, what it would do, and doing it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from walkapp.actions.days import today
from walkapp.actions.deliveries_tables import (
    LARGEST_CSV_BYTES,
    FoundTable,
    ImportPlan,
    load_deliveries,
    plan_import,
    plan_lines,
    tables_in,
)
from walkapp.actions.desk import DeskFacts, desk_facts
from walkapp.analysis.wording import capital
from walkapp.errors import DeliveriesError, InputError
from walkapp.language import msg, tr, tr_each, trn, whole_text
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, section_of
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.wording import moment_text
from walkapp.visible import visible

WHAT_IT_HOLDS = (
    msg("A CSV with the columns month (2026-03, or 03/2026) and delivered, one row a month."),
    msg("It may have the columns part_number and nok: NOK parts as the customer counts them."),
    msg("Nothing is recorded before you have seen what it would do."),
)
MOST_LINES = 40
_LATEST = 253_370_000_000.0
"""A second late in the year 9998."""


class DeliveriesFilePage(BoardPage):
    """Presents the tables of the known folders."""

    def row(self, section: str, row: str) -> None:
        """Look at what a table would do."""
        self.session.go(replace(self.route, screen="deliveries_read", entry=row))

    def press(self, button: str) -> None:
        """Look again."""
        self.open()

    def _view(self) -> BoardState:
        facts = desk_facts(self.session.place, self.route.stream)
        folders = tuple(dict.fromkeys((self.session.bundles, *self.session.picture_folders)))
        found = tables_in(folders)
        now = self.session.place.now()
        rows = [_table_row(one, now) for one in found]
        return BoardState(
            title=tr("Read a CSV of deliveries"),
            subtitle=facts.name,
            sentence=tr("Which table?") if found else tr("No table is there."),
            lines=tr_each(WHAT_IT_HOLDS),
            sections=(section_of("tables", tr("Newest first"), rows),) if rows else (),
            notes=(
                tr(
                    "Looked for .csv, .tsv and .txt up to {largest_csv_bytes} bytes.",
                    largest_csv_bytes=whole_text(LARGEST_CSV_BYTES),
                ),
                tr("Looked in: {map}.", map=", ".join(map(str, folders))),
                tr("A table that lies elsewhere is read by 'walkapp deliveries'."),
            ),
            buttons=(BoardButton(name="again", text=tr("Look again")),),
        )


class DeliveriesReadPage(BoardPage):
    """Presents what a table would do, and does it."""

    _facts: DeskFacts | None = None
    _plan: ImportPlan | None = None

    def press(self, button: str) -> None:
        """Record what was shown, or look at the table again."""
        if button == "again":
            self.open()
            return
        shown = self._plan

        def run() -> Route:
            facts, plan = self._read()
            if plan != shown:
                raise InputError(tr("The table or the records have changed meanwhile; look at it again."))
            load_deliveries(self.session.place, facts, plan)
            return Route(screen="ppm", concern=facts.book, stream=facts.stream, unit=self.route.unit)

        self.session.run_later(run, self.session.go, self.fail)

    def _view(self) -> BoardState:
        name = Path(self.route.entry).name
        try:
            facts, self._plan = self._read()
        except DeliveriesError as error:
            return _mistakes_state(name, error)
        except InputError as error:
            return BoardState(
                title=tr("Read a CSV of deliveries"), subtitle=name, problem=str(error), buttons=(_again(),)
            )
        lines = list(plan_lines(self._plan, most=MOST_LINES))
        does = self._plan.does_something
        return BoardState(
            title=tr("Read a CSV of deliveries"),
            subtitle=f"{facts.name}, {name}",
            mark="undecided" if does else "clean",
            sentence=tr("Reading it {counted}. Nothing is recorded yet.", counted=self._plan.counted)
            if does
            else tr("Everything in it is recorded already."),
            lines=tuple(lines),
            buttons=(
                BoardButton(name="load", text=tr("Record it"), tone="strong", is_off=not does),
                _again(),
            ),
        )

    def _read(self) -> tuple[DeskFacts, ImportPlan]:
        place = self.session.place
        facts = desk_facts(place, self.route.stream)
        return facts, plan_import(facts, Path(self.route.entry), today(place))


def _mistakes_state(name: str, error: DeliveriesError) -> BoardState:
    return BoardState(
        title=tr("Read a CSV of deliveries"),
        subtitle=name,
        mark="bad",
        sentence=trn(
            "{count} mistake; nothing of it is recorded. Mend the table and look again.",
            "{count} mistakes; nothing of it is recorded. Mend the table and look again.",
            len(error.mistakes),
        ),
        lines=tuple(_lines(error)),
        buttons=(_again(),),
    )


def _lines(error: DeliveriesError) -> Iterator[str]:
    """Each mistake without the name of the file, which stands above."""
    for mistake in error.mistakes:
        words = str(mistake).removeprefix(f"{visible(mistake.file)}")[2:]
        yield capital(words)


def _again() -> BoardButton:
    return BoardButton(name="again", text=tr("Look again"))


def _table_row(one: FoundTable, now: datetime) -> ListRow:
    # Some disks keep times that no calendar has.
    written = datetime.fromtimestamp(min(max(one.written, 0.0), _LATEST), now.tzinfo)
    return ListRow(
        id=str(one.path),
        title=one.path.name,
        subtitle=tr(
            "{written}, {size_bytes} bytes, in {parent}",
            written=moment_text(written.isoformat()),
            size_bytes=whole_text(one.size_bytes),
            parent=one.path.parent.name,
        ),
    )
