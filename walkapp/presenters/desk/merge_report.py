"""The report of a merge: what came in, what was here, what disagrees, and what was refused."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress

from walkapp.actions.books import Facts, facts_of
from walkapp.actions.kind_words import title_of_kind
from walkapp.actions.merge_notes import REST, MergeRun, Outcome, merge_runs
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import msgn, tr, trn, whole_text
from walkapp.model.ids import is_book
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.disputes import disagreeing_text
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.wording import moment_text, short_id

MOST_BUNDLES = 20
"""Bundles of a report that are told one by one."""

MOST_CHOICES = 5
"""Reports that can be read again on the page."""


class MergeReportPage(BoardPage):
    """Presents what the last merges brought."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route)
        self._at = route.entry

    def choose(self, word: str) -> None:
        """Show the report of another merge."""
        self._at = word
        self.open()

    def row(self, section: str, row: str) -> None:
        """Go to what a row stands for: a concern, its entries that disagree, or a key to compare."""
        about, _, entry = row.partition(" ")
        here = Route(screen="merge_report", entry=self._at)
        match about:
            case "disputes":
                self.session.go(here.down("disputes", concern=entry))
            case "key":
                self.session.go(Route(screen="trust_key", entry=entry))
            case _:
                self.session.go(Route(screen="concern", concern=entry))

    def press(self, button: str) -> None:
        """Go to the concerns, to review what came in."""
        self.session.go(Route(screen=button))

    def _view(self) -> BoardState:
        runs = merge_runs(self.session.place)
        if not runs:
            return BoardState(title=tr("Merge report"), sentence=tr("Nothing was merged here yet."))
        run = next((one for one in runs if one.at == self._at), runs[0])
        self._at = run.at
        choices = tuple((one.at, _run_words(one)) for one in runs[:MOST_CHOICES])
        titles = _Titles(self.session.place)
        # What was refused first: it is what a person has to do something about.
        shown = sorted(run.outcomes, key=lambda one: (not one.refused, not one.is_left))[:MOST_BUNDLES]
        more = len(run.outcomes) - len(shown)
        return BoardState(
            title=tr("Merge report"),
            subtitle=tr("Merge of {at}", at=moment_text(run.at)),
            problem=run.trouble,
            mark=_run_mark(run),
            sentence=run_sentence(run),
            choices=choices if len(choices) > 1 else (),
            chosen=run.at,
            sections=tuple(outcome_section(f"bundle-{n}", one, titles) for n, one in enumerate(shown, 1)),
            notes=(
                trn(
                    "{count} more bundle counted above, not listed.",
                    "{count} more bundles counted above, not listed.",
                    more,
                ),
            )
            if more
            else (),
            buttons=(BoardButton(name="reviews", text=tr("Review the concerns"), tone="strong"),),
        )


NEW_HERE = msgn("new here, {count} new record", "new here, {count} new records")
KNOWN_HERE = msgn("known here, {count} new record", "known here, {count} new records")


def _run_words(run: MergeRun) -> str:
    return f"{moment_text(run.at)}, {trn('{count} bundle', '{count} bundles', len(run.outcomes))}"


def _run_mark(run: MergeRun) -> str:
    if run.trouble or any(one.refused for one in run.outcomes):
        return "bad"
    return "undecided" if run.is_stopped or any(one.disputes for one in run.outcomes) else "clean"


def run_sentence(run: MergeRun) -> str:
    """Sum up what a merge brought."""
    merged = [one for one in run.outcomes if one.is_merged]
    refused = sum(bool(one.refused) for one in run.outcomes)
    left = sum(one.is_left for one in run.outcomes)
    disputes = sum(sum(one.disputes.values()) for one in merged)
    new = sum(one.new for one in merged)
    told = [
        trn(
            "{merged} of {count} bundle merged, each whole",
            "{merged} of {count} bundles merged, each whole",
            len(run.outcomes),
            merged=len(merged),
        ),
        trn("{count} new record", "{count} new records", new),
        trn("{count} new picture", "{count} new pictures", sum(one.photos for one in merged)),
        disagreeing_text(disputes) if disputes else "",
        trn("{count} refused", "{count} refused", refused) if refused else "",
        trn("{count} not begun", "{count} not begun", left) if left else "",
    ]
    words = "; ".join(filter(None, told))
    return tr("Stopped: {words}.", words=words) if run.is_stopped else f"{words}."


class _Titles:
    """What concerns and books are about, each read once."""

    def __init__(self, place: Workplace) -> None:
        self._place = place
        self._read: dict[str, Facts | None] = {}

    def facts(self, concern: str) -> Facts | None:
        """Everything known of it; none while the record that opened it is not here."""
        if concern not in self._read:
            self._read[concern] = None
            if concern == REST:
                return None
            with suppress(InputError):
                self._read[concern] = facts_of(self._place, concern)
        return self._read[concern]


def outcome_section(name: str, outcome: Outcome, titles: _Titles) -> Section:
    """Say what became of one bundle."""
    if outcome.refused:
        rows: tuple[ListRow, ...] = ()
        if outcome.asks_key:
            rows = (
                ListRow(
                    # no text: the id of the row
                    id=f"key {outcome.asks_key}",
                    title=tr("Compare the key and trust it"),
                    subtitle=tr("Only with that tablet in your hands: its first page shows the digits."),
                    mark="undecided",
                ),
            )
        return Section(
            name=name,
            title=tr("Refused: {outcome}", outcome=outcome.name),
            words=f"{outcome.refused}",
            rows=rows,
        )
    if outcome.is_left:
        return Section(
            name=name,
            title=tr("Not begun: {outcome}", outcome=outcome.name),
            words=tr("Nothing of it came in; merge it again."),
        )
    return Section(
        name=name,
        title=tr("Merged: {outcome}", outcome=outcome.name),
        words="\n".join(outcome_lines(outcome)),
        rows=tuple(_outcome_rows(outcome, titles)),
    )


def outcome_lines(outcome: Outcome) -> Iterator[str]:
    """Say what a bundle that was merged brought, a sentence each."""
    came = [
        trn("{count} new record", "{count} new records", outcome.new),
        trn("{count} new picture", "{count} new pictures", outcome.photos),
        trn("{count} new checklist", "{count} new checklists", outcome.checklists),
    ]
    yield tr(
        "Came in: {came}. Here already: {records}.",
        came=", ".join(came),
        records=trn("{count} record", "{count} records", outcome.known),
    )
    if outcome.by_kind:
        yield tr("By kind: {kinds}.", kinds="; ".join(_kinds(outcome.by_kind)))
    if outcome.by_tablet:
        named = (
            f"{short_id(one) if one != REST else tr('others')} ({whole_text(count)})"
            for one, count in outcome.by_tablet.items()
        )
        yield tr("Recorded on tablet {named}.", named=", ".join(named))
    yield outcome.origin
    yield from (tr("Mind: {words}", words=words) for words in outcome.minds)


def _kinds(by_kind: Mapping[str, int]) -> Iterator[str]:
    for kind, count in sorted(by_kind.items(), key=lambda one: (-one[1], one[0])):
        title = tr("Other kinds") if kind == REST else title_of_kind(kind)
        yield f"{title} {whole_text(count)}"


def _left_words(left: int) -> str:
    if not left:
        return tr("all settled by now")
    return trn("{count} entry still to be settled", "{count} entries still to be settled", left)


def _outcome_rows(outcome: Outcome, titles: _Titles) -> Iterator[ListRow]:
    for concern, count in outcome.disputes.items():
        facts = titles.facts(concern)
        left = len(facts.conflicts) if facts else 0
        what = (
            facts.what
            if facts
            else tr("a concern that is not here yet")
            if concern
            else tr("further concerns")
        )
        yield ListRow(
            # no text: the id of the row
            id=f"disputes {concern}" if left else "",
            title=trn(
                "{count} entry disagrees since this bundle came",
                "{count} entries disagree since this bundle came",
                count,
            ),
            subtitle=f"{what}: {_left_words(left) if facts else tr('look at each concern')}",
            mark="undecided" if left or not facts else "clean",
        )
    for words, concerns in (
        (NEW_HERE, outcome.new_concerns),
        (KNOWN_HERE, outcome.known_concerns),
    ):
        for concern, count in concerns.items():
            facts = titles.facts(concern)
            is_page = facts is not None and not is_book(concern)
            missing = (
                tr("A concern whose first record is not here yet") if concern else tr("Further concerns")
            )
            yield ListRow(
                # no text: the id of the row
                id=f"concern {concern}" if is_page else "",
                title=facts.what if facts else missing,
                subtitle=trn(*words, count),
            )
