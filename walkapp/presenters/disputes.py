"""Entries that disagree: every value side by side, and the form on which a person decides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from walkapp.actions.books import Facts, facts_of
from walkapp.actions.disputes import Dispute, Side, disputes_of, settle
from walkapp.errors import InputError, WalkappError
from walkapp.language import msg, tr, tr_each, trn
from walkapp.presenters.form import FormField, FormPage, as_options
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.wording import short_id

REASONS = (
    msg("checked again at the part"),
    msg("the other was a typing mistake"),
    msg("the other was another part"),
    msg("agreed with whoever entered it"),
)
CANNOT_SETTLE = msg("This version cannot settle it: do that on a tablet with the newest version.")
COUNTS, COUNTS_NOT = msg("counts for now"), msg("does not count for now")
NO_DISPUTES = msg("No entries disagree.")
HINT = msg(
    "The same entry was made or corrected differently on two tablets, which did not know of "
    "each other. All values are kept and the same one counts on every tablet, until a person "
    "decides."
)
CHOOSE_WHAT_YOU_KNOW = msg(
    "choose only what you know to be right; the other values are kept and no longer count."
)
_LONGEST = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class SideView:
    """One of the values.

    Parameters
    ----------
    value
        What was entered.
    source
        Tablet, running number, time and person.
    word, mark
        Whether it counts for now, as a word and as a shape.
    """

    value: str
    source: str
    word: str
    mark: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DisputeView:
    """Entries that disagree.

    Parameters
    ----------
    key
        What :meth:`DisputesPage.decide` is told; empty when it cannot be settled here.
    about
        What they are about.
    sides
        Every value.
    trouble
        Why it cannot be settled here; empty when it can.
    """

    key: str
    about: str
    sides: tuple[SideView, ...]
    trouble: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DisputesState:
    """Everything the page of entries that disagree shows.

    Parameters
    ----------
    title
        The concern.
    hint
        How it comes about and what it means, or that there is nothing to decide.
    disputes
        The entries.
    problem
        What went wrong; empty when nothing did.
    """

    title: str = ""
    hint: str = ""
    disputes: tuple[DisputeView, ...] = ()
    problem: str = ""


class DisputesPage(Observed[DisputesState]):
    """Presents the entries of a concern that disagree."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(DisputesState())
        self.session = session
        self.route = route

    def open(self) -> None:
        """Read the concern."""

        def run() -> DisputesState:
            facts = facts_of(self.session.place, self.route.concern)
            disputes = tuple(dispute_view(d) for d in disputes_of(self.session.place, facts))
            hint = tr(HINT) if disputes else tr(NO_DISPUTES)
            return DisputesState(title=facts.what, hint=hint, disputes=disputes)

        self.session.run_later(run, self._show, self.fail)

    def decide(self, key: str) -> None:
        """Open the form on which a person decides."""
        self.session.go(replace(self.route, screen="settle", entry=key))

    def back(self) -> None:
        """Go back to the concern."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error)))


def dispute_view(dispute: Dispute) -> DisputeView:
    """Put entries that disagree on the page."""
    return DisputeView(
        key=dispute.key if dispute.can_settle else "",
        about=dispute.about,
        sides=tuple(
            SideView(
                value=side.value,
                source=side.source,
                word=COUNTS if side.counts else COUNTS_NOT,
                mark="chosen" if side.counts else "open",
            )
            for side in dispute.sides
        ),
        trouble="" if dispute.can_settle else tr(CANNOT_SETTLE),
    )


def disagreeing_text(count: int) -> str:
    """Say how many entries were made differently on two tablets."""
    return trn("{count} entry disagrees with another", "{count} entries disagree with others", count)


def dispute_rows(facts: Facts) -> tuple[ListRow, ...]:
    """Give the row that leads from the concern to its entries that disagree; none when none do."""
    count = len(facts.conflicts)
    if not count:
        return ()

    return (
        ListRow(
            id="disputes",
            title=disagreeing_text(count),
            subtitle=tr("Made differently on two tablets: look at all values and decide which one holds."),
            mark="undecided",
        ),
    )


class SettleForm(FormPage):
    """Decides which of the entries holds, and says why."""

    title = msg("Which one holds?")
    do = msg("Record: this one holds")
    is_in_walk = False
    _dispute: Dispute | None = None

    def _first_values(self) -> dict[str, str]:
        self._dispute = self._find()
        return {}

    def _find(self) -> Dispute:
        facts = facts_of(self.session.place, self.route.concern)
        found = disputes_of(self.session.place, facts)
        dispute = next((one for one in found if one.key == self.route.entry), None)
        if dispute is None:
            raise InputError(tr("These entries no longer disagree; go back to see what is left."))
        return dispute

    def _cautions(self) -> tuple[str, ...]:
        return (f"{self._dispute.about}: {tr(CHOOSE_WHAT_YOU_KNOW)}",) if self._dispute else ()

    def _fields(self) -> tuple[FormField, ...]:
        sides = self._dispute.sides if self._dispute else ()
        return (
            FormField(
                name="side",
                label=tr("The entry that holds"),
                form="choice",
                options=tuple((str(n), _side_text(side)) for n, side in enumerate(sides, start=1)),
                is_required=True,
            ),
            FormField(
                name="common",
                label=tr("Why"),
                form="choice",
                options=as_options(tr_each(REASONS)),
            ),
            FormField(
                name="why",
                label=tr("Or in your own words"),
                is_required=not self._values.get("common"),
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        if self._dispute is None:
            raise InputError(tr("The entries are still being read; try again in a moment."))
        why = values["why"] or values["common"]
        settle(self.session.place, self.route.concern, self._dispute, int(values["side"]) - 1, why)
        return self.route.up()


def _side_text(side: Side) -> str:
    return tr(
        "{short} (tablet {device}, {by})",
        short=_short(side.value),
        device=short_id(side.record.device),
        by=side.record.by,
    )


def _short(words: str) -> str:
    one_line = " ".join(words.split())
    return one_line if len(one_line) <= _LONGEST else f"{one_line[:_LONGEST]} ..."
