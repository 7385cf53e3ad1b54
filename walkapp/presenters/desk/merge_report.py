"""The report of a merge: what came in, what was here, what disagrees, and what was refused."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress

from walkapp.actions.books import Facts, facts_of
from walkapp.actions.merge_notes import REST, MergeRun, Outcome, merge_runs
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.model.ids import is_book
from walkapp.model.records import KINDS
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Route, Session
from walkapp.presenters.wording import many, moment_text, short_id

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
            return BoardState(title="Merge report", sentence="Nothing was merged here yet.")
        run = next((one for one in runs if one.at == self._at), runs[0])
        self._at = run.at
        choices = tuple((one.at, _run_words(one)) for one in runs[:MOST_CHOICES])
        titles = _Titles(self.session.place)
        # What was refused first: it is what a person has to do something about.
        shown = sorted(run.outcomes, key=lambda one: (not one.refused, not one.is_left))[:MOST_BUNDLES]
        more = len(run.outcomes) - len(shown)
        return BoardState(
            title="Merge report",
            subtitle=f"Merge of {moment_text(run.at)}",
            problem=run.trouble,
            mark=_run_mark(run),
            sentence=run_sentence(run),
            choices=choices if len(choices) > 1 else (),
            chosen=run.at,
            sections=tuple(outcome_section(f"bundle-{n}", one, titles) for n, one in enumerate(shown, 1)),
            notes=(f"{many(more, 'more bundle')} counted above, not listed.",) if more else (),
            buttons=(BoardButton(name="reviews", text="Review the concerns", tone="strong"),),
        )


def _run_words(run: MergeRun) -> str:
    return f"{moment_text(run.at)}, {many(len(run.outcomes), 'bundle')}"


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
        f"{len(merged)} of {many(len(run.outcomes), 'bundle')} merged, each whole",
        many(new, "new record"),
        many(sum(one.photos for one in merged), "new picture"),
        f"{many(disputes, 'entry')} {'disagrees' if disputes == 1 else 'disagree'}" if disputes else "",
        f"{refused} refused" if refused else "",
        f"{left} not begun" if left else "",
    ]
    stopped = "Stopped: " if run.is_stopped else ""
    return f"{stopped}{'; '.join(filter(None, told))}."


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
                    id=f"key {outcome.asks_key}",
                    title="Compare the key and trust it",
                    subtitle="Only with that tablet in your hands: its first page shows the digits.",
                    mark="undecided",
                ),
            )
        return Section(name=name, title=f"Refused: {outcome.name}", words=f"{outcome.refused}", rows=rows)
    if outcome.is_left:
        return Section(
            name=name, title=f"Not begun: {outcome.name}", words="Nothing of it came in; merge it again."
        )
    return Section(
        name=name,
        title=f"Merged: {outcome.name}",
        words="\n".join(outcome_lines(outcome)),
        rows=tuple(_outcome_rows(outcome, titles)),
    )


def outcome_lines(outcome: Outcome) -> Iterator[str]:
    """Say what a bundle that was merged brought, a sentence each."""
    came = [
        many(outcome.new, "new record"),
        many(outcome.photos, "new picture"),
        many(outcome.checklists, "new checklist"),
    ]
    yield f"Came in: {', '.join(came)}. Here already: {many(outcome.known, 'record')}."
    if outcome.by_kind:
        yield f"Of these {'; '.join(_kinds(outcome.by_kind))}."
    if outcome.by_tablet:
        named = (
            f"{short_id(one) if one != REST else 'others'} ({count:,})"
            for one, count in outcome.by_tablet.items()
        )
        yield f"Recorded on tablet {', '.join(named)}."
    yield outcome.origin
    yield from (f"Mind: {words}" for words in outcome.minds)


def _kinds(by_kind: Mapping[str, int]) -> Iterator[str]:
    for kind, count in sorted(by_kind.items(), key=lambda one: (-one[1], one[0])):
        title = KINDS[kind].title if kind in KINDS else f"records of a newer version ({kind})"
        title = "of other kinds" if kind == REST else title
        name = title.partition(":")[0]
        yield f"{name[0].lower()}{name[1:]} {count:,}"


def _left_words(left: int) -> str:
    return f"{many(left, 'entry')} still to be settled" if left else "all settled by now"


def _outcome_rows(outcome: Outcome, titles: _Titles) -> Iterator[ListRow]:
    for concern, count in outcome.disputes.items():
        facts = titles.facts(concern)
        left = len(facts.conflicts) if facts else 0
        what = facts.what if facts else "a concern that is not here yet" if concern else "further concerns"
        verb = "entry disagrees" if count == 1 else "entries disagree"
        yield ListRow(
            id=f"disputes {concern}" if left else "",
            title=f"{count} {verb} since this bundle came",
            subtitle=f"{what}: {_left_words(left) if facts else 'look at each concern'}",
            mark="undecided" if left or not facts else "clean",
        )
    for word, concerns in (("new here", outcome.new_concerns), ("known here", outcome.known_concerns)):
        for concern, count in concerns.items():
            facts = titles.facts(concern)
            is_page = facts is not None and not is_book(concern)
            missing = "A concern whose first record is not here yet" if concern else "Further concerns"
            yield ListRow(
                id=f"concern {concern}" if is_page else "",
                title=facts.what if facts else missing,
                subtitle=f"{word}, {many(count, 'new record')}",
            )
