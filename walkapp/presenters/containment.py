"""Containment: the balance of suspect parts, where they are, and from which part on they are good."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from walkapp.actions.clean_points import CleanPointFacts
from walkapp.actions.containment import KINDS, PLACE_WORDS, ContainmentFacts, StockFacts, containment_of
from walkapp.actions.containment_telling import balance_words
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.containment import Balance
from walkapp.analysis.wording import share_range
from walkapp.language import day_said, msg, msgn, tr, tr_each, trn, whole_text
from walkapp.model.records import (
    CleanPoint,
    Escape,
    Record,
    Sorting,
    SuspectRange,
    SuspectStock,
)
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session

NOT_YET = msg("Not contained")

UNACCOUNTED = msgn("{count} not accounted for", "{count} not accounted for")
TO_SORT = msgn("{count} to sort", "{count} to sort")
WAITING = msgn("{count} waiting", "{count} waiting")
UNDECIDED = msgn("{count} waiting for a decision", "{count} waiting for a decision")
RELEASED = msgn("{count} released", "{count} released")
REWORKED = msgn("{count} reworked", "{count} reworked")
SCRAPPED = msgn("{count} scrapped", "{count} scrapped")
SCRAPPED_UNSORTED = msgn("{count} scrapped unsorted", "{count} scrapped unsorted")

CAUTIONS = (
    msg("Site rules come first. Mind forklifts and moving or hanging loads."),
    msg("Mark and lock blocked stock, so that nobody takes from it."),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BarPart:
    """One part of the drawn bar.

    Parameters
    ----------
    pattern
        How it is filled: ``cross``, ``stripes``, ``dots``, ``plain`` or ``solid``.
    words
        Number and state.
    parts
        Parts that it stands for, at least 1.
    """

    pattern: str
    words: str
    parts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsBalanceState(BoardState):
    """A page about suspect parts: the balance stays in sight above what scrolls.

    Parameters
    ----------
    balance
        The balance in a few words, shown big.
    bar
        Where the parts are, from left to right.
    """

    balance: str = ""
    bar: tuple[BarPart, ...] = ()


class PartsBalancePage(BoardPage):
    """Presents a page about suspect parts."""

    screen = "parts_balance"

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route)
        self._show(PartsBalanceState())

    def _read(self) -> ContainmentFacts:
        return containment_of(self.session.place, concern_facts(self.session.place, self.route.concern))

    def _in_short(self, entry: Record) -> str:
        match entry:
            case SuspectRange():
                return tr("range of {quantity}", quantity=whole_text(entry.quantity))
            case SuspectStock():
                return f"{tr(PLACE_WORDS[entry.place])}: {whole_text(entry.quantity)}"
            case Sorting():
                done = entry.checked + entry.scrapped_unsorted
                return tr("{done} sorted or scrapped", done=whole_text(done))
            case CleanPoint():
                return tr("clean point")
            case Escape():
                return tr("escape of {found_on}", found_on=day_said(entry.found_on))
            case _:
                return tr("place taken out")


class ContainmentPage(PartsBalancePage):
    """Presents the containment of a concern."""

    kinds = KINDS

    def row(self, section: str, row: str) -> None:
        """Go to the place or the form that a row stands for."""
        match section:
            case "places":
                self.session.go(replace(self.route, screen="stock", entry=row))
            case "escapes":
                self.session.go(replace(self.route, screen="escape", entry=row))
            case _:
                super().row(section, row)

    def _view(self) -> PartsBalanceState:
        return containment_state(self._read())


def containment_state(found: ContainmentFacts) -> PartsBalanceState:
    """Put the containment of a concern into words."""
    account = found.account
    # What the balance says already is not said again.
    missing = [words for words in found.missing if words != account.sentence]
    lines = [found.since_escape[1], account.found_sentence, account.expected_sentence]
    if found.is_begun and found.warnings:
        # The most important one is in sight at once, the others come last.
        lines.insert(0, found.warnings[0])
    return PartsBalanceState(
        title=tr("Containment"),
        subtitle=found.facts.concern.what,
        balance=account.sentence if found.is_begun else "",
        bar=tuple(_bar(account.total, account.unaccounted or 0)),
        cautions=tr_each(CAUTIONS),
        mark=_mark(found),
        sentence=found.why
        if found.is_contained
        else ": ".join(filter(None, (tr(NOT_YET), "; ".join(missing)))),
        lines=tuple(line for line in lines if line),
        sections=tuple(_sections(found)),
        buttons=(
            BoardButton(name="escape", text=tr("Record an escape")),
            BoardButton(name="suspect_stock", text=tr("Add a place"), tone="strong"),
        ),
    )


def _mark(found: ContainmentFacts) -> str:
    if not found.is_begun:
        return "not_visited"
    if found.is_contained:
        return "clean"
    account = found.account
    disagrees = account.surplus or account.total.over or found.is_range_short
    return "bad" if disagrees or any(not point.holds for point in found.clean_points) else "undecided"


def _bar(total: Balance, unaccounted: int) -> Iterator[BarPart]:
    for pattern, parts, words in (
        ("cross", unaccounted, UNACCOUNTED),
        ("stripes", total.to_sort, TO_SORT),
        ("dots", total.waiting, WAITING),
        ("plain", total.released, RELEASED),
        ("solid", total.all_scrapped, SCRAPPED),
    ):
        if parts:
            yield BarPart(pattern=pattern, parts=parts, words=trn(*words, parts))


def _sections(found: ContainmentFacts) -> Iterator[Section]:
    yield Section(name="range", title=tr("How many could be bad"), rows=(_range_row(found),))
    yield Section(
        name="places",
        title=tr("Where they are"),
        words=""
        if found.stocks
        else tr("No place recorded yet: stations, stores, the road, the customer."),
        rows=tuple(_stock_row(one) for one in found.stocks),
    )
    yield Section(name="clean", title=tr("Clean point"), rows=_clean_rows(found))
    if found.escapes:
        rows = tuple(_escape_row(escape) for escape in reversed(found.escapes))
        yield Section(name="escapes", title=tr("Escapes"), rows=rows)
    if found.is_begun and found.warnings[1:]:
        yield Section(name="warnings", title=tr("Mind"), words="\n".join(found.warnings[1:]))


def _range_row(found: ContainmentFacts) -> ListRow:
    suspect = found.suspect_range
    if suspect is None:
        return ListRow(
            id="suspect_range",
            title=tr("Record the suspect range"),
            subtitle=tr("Parts made from the first suspect one to the last."),
            mark="undecided",
        )
    days = (
        tr("{first} to {last}", first=day_said(suspect.made_from), last=day_said(suspect.made_to))
        if suspect.made_from and suspect.made_to
        else day_said(suspect.made_from or suspect.made_to)
    )
    said = (days, suspect.lots and tr("lots {lots}", lots=suspect.lots), suspect.source)
    return ListRow(
        id="suspect_range",
        title=trn("{count} part made", "{count} parts made", suspect.quantity),
        subtitle=", ".join(filter(None, said)) or tr("Tap to add days and lots."),
    )


def _stock_row(one: StockFacts) -> ListRow:
    return ListRow(
        id=one.stock.stock,
        title=f"{one.name}: {whole_text(one.balance.located)}",
        subtitle=balance_words(one.balance),
        mark=_stock_mark(one.balance),
    )


def _stock_mark(balance: Balance) -> str:
    return "bad" if balance.over else "clean" if balance.is_done else "undecided"


def _clean_rows(found: ContainmentFacts) -> tuple[ListRow, ...]:
    if not found.clean_points:
        row = ListRow(
            id="clean_point",
            title=tr("Record the clean point"),
            subtitle=tr("First lot, serial number or day that is certified good."),
            mark="undecided",
        )
        return (row,)
    return tuple(_clean_row(one) for one in found.clean_points)


def _clean_row(one: CleanPointFacts) -> ListRow:
    return ListRow(
        id="clean_point",
        title=tr("Good from {one} on", one=one.name)
        if one.holds
        else tr("Does not hold: {one}", one=one.name),
        subtitle=tr(
            "{sentence} Certified by {approved_by}.",
            sentence=one.support.sentence,
            approved_by=one.point.approved_by,
        ),
        mark="clean" if one.holds else "bad",
    )


def _escape_row(escape: Escape) -> ListRow:
    said = (
        tr("found {found_on}", found_on=day_said(escape.found_on)),
        escape.lot and tr("lot {lot}", lot=escape.lot),
        day_said(escape.made_on),
    )
    parts = trn("{count} bad part", "{count} bad parts", escape.quantity)
    return ListRow(
        id=escape.id, title=f"{parts}: {escape.where}", subtitle=", ".join(filter(None, said)), mark="bad"
    )


class StockPage(PartsBalancePage):
    """Presents one place with suspect parts: what is left, and what was done."""

    kinds = (SuspectStock, Sorting)

    def row(self, section: str, row: str) -> None:
        """Correct a sorting, for example when parts that were waiting have been decided on."""
        self.session.go(replace(self.route, screen="sorting", entry=row))

    def _is_here(self, entry: Record) -> bool:
        return getattr(entry, "stock", "") == self.route.entry

    def _view(self) -> PartsBalanceState:
        found = self._read()
        return stock_state(found.stock(self.route.entry))


def stock_state(one: StockFacts) -> PartsBalanceState:
    """Put one place into words."""
    balance, share = one.balance, one.balance.share
    nok = (
        tr(
            "{nok} NOK of {checked} sorted: {low} (exact, two-sided 95 %)",
            nok=whole_text(balance.nok),
            checked=whole_text(balance.checked),
            low=share_range(share.low, share.high),
        )
        if share
        else ""
    )
    over = (
        trn(
            "{count} more sorted or scrapped than were found here.",
            "{count} more sorted or scrapped than were found here.",
            balance.over,
        )
        if balance.over
        else ""
    )
    reworked = trn(*REWORKED, balance.reworked) if balance.reworked else ""
    states = ((balance.to_sort, TO_SORT), (balance.waiting, UNDECIDED))
    not_done = [trn(*words, parts) for parts, words in states if parts]
    done = tr("Done: all are released or scrapped")
    left = tr(
        "{to_sort} of {located} still to sort",
        to_sort=whole_text(balance.to_sort),
        located=whole_text(balance.located),
    )
    return PartsBalanceState(
        title=one.name,
        subtitle=tr("lots {lots}", lots=one.stock.lots) if one.stock.lots else "",
        balance=left
        if balance.to_sort
        else tr("All {located} sorted or scrapped", located=whole_text(balance.located)),
        bar=tuple(_bar(balance, 0)),
        mark=_stock_mark(balance),
        sentence=over or "; ".join(not_done) or done,
        lines=tuple(line for line in (nok, reworked) if line),
        sections=(
            Section(
                name="sortings",
                title=tr("Sorted"),
                words=tr("Tap one when its waiting parts are decided on.")
                if one.sortings
                else tr("Nothing yet."),
                rows=tuple(_sorting_row(sorting) for sorting in reversed(one.sortings)),
            ),
        ),
        buttons=(
            BoardButton(name="take_out_stock", text=tr("Take it out"), is_off=bool(one.sortings)),
            BoardButton(name="correct_stock", text=tr("Correct")),
            BoardButton(name="sorting", text=tr("Record sorting"), tone="strong"),
        ),
    )


def _sorting_row(sorting: Sorting) -> ListRow:
    waiting = sorting.checked - sorting.released - sorting.scrapped
    figures = (
        (sorting.reworked, REWORKED),
        (sorting.released, RELEASED),
        (sorting.scrapped, SCRAPPED),
        (sorting.scrapped_unsorted, SCRAPPED_UNSORTED),
        (waiting, UNDECIDED),
    )
    said = [trn(*words, parts) for parts, words in figures if parts]
    return ListRow(
        id=sorting.id,
        title=tr(
            "{sorted_on}: {checked} sorted, {nok} NOK",
            sorted_on=day_said(sorting.sorted_on),
            checked=whole_text(sorting.checked),
            nok=whole_text(sorting.nok),
        ),
        subtitle=", ".join(said),
        mark="undecided" if waiting else "clean",
    )


def containment_row(place: Workplace, facts: ConcernFacts) -> ListRow:
    """Put the containment into the two lines that lead to it."""
    found = containment_of(place, facts)
    if not found.is_begun:
        subtitle = tr("Stop the flow of suspect parts first: where are they, and how many?")
    else:
        said = (found.account.sentence, *found.missing)
        subtitle = "; ".join(dict.fromkeys(said)) if found.missing else tr("Contained by these records")
    return ListRow(id="containment", title=tr("Containment"), subtitle=subtitle, mark=_mark(found))
