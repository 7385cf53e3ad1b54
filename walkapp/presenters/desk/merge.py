"""The merge page: bundles to choose from, the merge as it goes on, and what to trust of a new key."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from walkapp.actions.merge_notes import merge_runs
from walkapp.actions.merge_runs import FoundBundle, FoundBundles, MergeWork, find_bundles
from walkapp.errors import InputError, WalkappError
from walkapp.language import day_said, grouped_text, msg, tr, trn, whole_text
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, section_of
from walkapp.presenters.form import FormField, FormPage
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.wording import short_id

CHOSEN, OPEN = "chosen", "open"
"""Shapes of a row that is chosen and of one that is not."""


LEAVE_IT = msg(
    "You may leave this page: the merge goes on. Pages that need the records wait for the "
    "bundle that is being merged."
)
WHAT_IT_MEANS = msg(
    "A bundle is signed with another key than the one known for its tablet. Either that "
    "tablet was set up anew, or somebody else wrote the bundle."
)
COMPARE = msg(
    "Go to the tablet. Its first page shows the digits of its key: type them here from "
    "there. Where they differ, do not merge; ask who wrote the bundle."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MergeState(BoardState):
    """Everything the merge page shows.

    Parameters
    ----------
    share
        How much of the merge is done, 0 to 1; none while nothing is merged.
    """

    share: float | None = None

    @property
    def is_running(self) -> bool:
        """Whether a merge goes on."""
        return self.share is not None


class MergePage(BoardPage):
    """Presents the bundles that are here, and merges those that are chosen."""

    screen = "merge"

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route)
        self._state = MergeState(title=tr("Merge"))
        self._chosen: set[str] = set()
        self._found = FoundBundles(bundles=())
        self._has_report = False

    def open(self) -> None:
        """Look for bundles, or go on showing the merge that was begun."""
        if self.session.merging is not None:
            self.tick()
        else:
            super().open()

    def tick(self) -> None:
        """Show how far the merge is; lead to its report once it has ended. Called again and again."""
        work = self.session.merging
        if work is None:
            return
        if work.is_running:
            self._show(running_state(work))
        else:
            self.session.merging = None
            self.session.go(Route(screen="merge_report"))

    def row(self, section: str, row: str) -> None:
        """Choose a bundle, or let it be."""
        self._chosen ^= {row}
        self._show(self._list())

    def press(self, button: str) -> None:
        """Merge what is chosen, stop it, choose all that is new, look again, or read the last report."""
        match button:
            case "merge":
                chosen = tuple(one.path for one in self._found.bundles if str(one.path) in self._chosen)
                begin_merge(self.session, MergeWork(chosen[::-1]), failed=self.fail)
                self.tick()
            case "stop" if self.session.merging is not None:
                self.session.merging.stop()
                self.tick()
            case "all":
                new = {str(one.path) for one in self._found.bundles if one.label and not one.is_merged}
                self._chosen = set() if self._chosen == new else new
                self._show(self._list())
            case "again":
                self.open()
            case "merge_report":
                self.session.go(Route(screen="merge_report"))

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self._list(), problem=str(error)))

    def _view(self) -> BoardState:
        self._found = find_bundles(
            self.session.place, (self.session.bundles, *self.session.picture_folders)
        )
        self._chosen &= {str(one.path) for one in self._found.bundles}
        self._has_report = bool(merge_runs(self.session.place))
        return self._list()

    def _list(self) -> MergeState:
        found, own = self._found.bundles, self.session.place.store.device
        new = [one for one in found if not one.is_merged]
        known = [one for one in found if one.is_merged]
        readable = [one for one in new if one.label is not None]
        return MergeState(
            title=tr("Merge"),
            subtitle=tr("Bring in what other tablets recorded; merging twice does no harm."),
            sentence=_list_sentence(len(readable), len(known)),
            lines=tuple(_list_lines(self.session, self._found)),
            sections=tuple(
                section_of(name, title, [bundle_row(one, self._chosen, own) for one in bundles])
                for name, title, bundles in (
                    ("new", tr("Not merged yet"), new),
                    ("known", tr("Merged before"), known),
                )
                if bundles
            ),
            buttons=self._buttons(len(readable)),
        )

    def _buttons(self, new: int) -> tuple[BoardButton, ...]:
        count = len(self._chosen)
        words = (
            trn("Merge {count} bundle", "Merge {count} bundles", count)
            if count
            else tr("Merge: choose first")
        )
        buttons = [BoardButton(name="merge", text=words, tone="strong", is_off=not count)]
        if new > 1:
            buttons.append(
                BoardButton(
                    name="all",
                    text=trn("Choose the {count} that is new", "Choose all {count} that are new", new),
                )
            )
        buttons.append(BoardButton(name="again", text=tr("Look again")))
        if self._has_report:
            buttons.append(BoardButton(name="merge_report", text=tr("Last report")))
        return tuple(buttons)


def begin_merge(session: Session, work: MergeWork, *, failed: Callable[[WalkappError], None]) -> None:
    """Begin a merge on the worker that no tap waits for; it goes on when the page is left."""
    session.merging = work

    def ended(error: WalkappError) -> None:
        session.merging = None
        failed(error)

    session.aside(lambda: work.work(session.place), lambda _: None, ended)


def running_state(work: MergeWork) -> MergeState:
    """Say how far a merge is."""
    place = next((n for n, path in enumerate(work.paths, start=1) if path.name == work.at_name), 1)
    share = work.done / work.total if work.total else 0.0
    sentence = trn(
        "Merging {place} of {count} bundle: {percent} %",
        "Merging {place} of {count} bundles: {percent} %",
        len(work.paths),
        place=place,
        percent=f"{100 * share:.0f}",
    )
    if work.is_stopping:
        sentence = tr("Stopping; bundles that are merged stay, each whole.")
    return MergeState(
        title=tr("Merge"),
        subtitle=tr("Each bundle is checked whole before anything of it comes in."),
        sentence=sentence,
        lines=(
            work.at_name,
            tr(LEAVE_IT),
        ),
        buttons=(BoardButton(name="stop", text=tr("Stop after what is whole"), is_off=work.is_stopping),),
        share=min(share, 1.0),
    )


def _list_sentence(new: int, known: int) -> str:
    if not new and not known:
        return tr("No bundle is here.")
    if not new:
        return tr("Every bundle that is here was merged before.")
    return trn(
        "{count} bundle is here that was not merged yet.",
        "{count} bundles are here that were not merged yet.",
        new,
    )


def _list_lines(session: Session, found: FoundBundles) -> list[str]:
    folders = dict.fromkeys((session.bundles, *session.picture_folders))
    named = ", ".join(folder_words(folder) for folder in folders)
    lines = [tr("Looked in {named}. Copy bundles into one of them.", named=named)]
    if found.others:
        lines.append(
            trn(
                "{count} other zip file there: no bundle, or not a whole one.",
                "{count} other zip files there: no bundles, or not whole ones.",
                found.others,
            )
        )
    if found.left_out:
        lines.append(
            trn(
                "{count} older zip file not looked at; 'walkapp merge' takes any number.",
                "{count} older zip files not looked at; 'walkapp merge' takes any number.",
                found.left_out,
            )
        )
    return lines


def folder_words(folder: Path) -> str:
    """Name a folder by its last two parts, which a narrow window can hold on a line.

    Examples
    --------
    >>> folder_words(Path("/home/desk/walks/bundles"))
    'walks/bundles'
    """
    return "/".join(folder.parts[-2:])


def bundle_row(found: FoundBundle, chosen: set[str], own: str) -> ListRow:
    """Put a bundle into two lines."""
    if found.label is None:
        return ListRow(id="", title=found.path.name, subtitle=found.trouble, mark="bad")
    label = found.label
    tablets = dict.fromkeys((*((label.signed.device,) if label.signed else ()), *label.tablets))
    named = [
        tr("{tablet} (this one)", tablet=short_id(one)) if one == own else short_id(one)
        for one in list(tablets)[:4]
    ]
    more = ["..."] if len(tablets) > 4 else []
    names = ", ".join((*named, *more))
    is_chosen = str(found.path) in chosen
    told = (
        tr("chosen") if is_chosen else "",
        tr("last entry {day}", day=day_said(label.day)) if label.day else tr("no day given"),
        trn("begun on tablet {names}", "begun on tablets {names}", len(tablets), names=names)
        if tablets
        else tr("tablet told once it is merged"),
        size_words(label.size_bytes),
        tr("signed") if label.signed else tr("not signed"),
        tr("merged before") if found.is_merged else "",
    )
    return ListRow(
        id=str(found.path),
        title=found.path.name,
        subtitle=", ".join(filter(None, told)),
        mark=CHOSEN if is_chosen else OPEN,
    )


def size_words(size_bytes: int) -> str:
    """Write the size of a file.

    Examples
    --------
    >>> size_words(900), size_words(41_234), size_words(12_345_678)
    ('1 kB', '41 kB', '12.3 MB')
    """
    if size_bytes < 1_000_000:
        return tr("{what} kB", what=whole_text(max(1, round(size_bytes / 1000))))
    return tr("{size_bytes} MB", size_bytes=grouped_text(f"{size_bytes / 1000000:.1f}"))


class TrustKeyForm(FormPage):
    """Trusts the key of a bundle that was refused, once a person has compared its digits."""

    title = msg("Trust another key of a tablet")
    do = msg("Trust this key and merge")
    is_in_walk = False

    def _words(self) -> tuple[str, ...]:
        return tr(WHAT_IT_MEANS), tr(COMPARE)

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="digits",
                label=tr("Digits on the tablet's own page"),
                hint=tr("In groups, as they stand there"),
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        asked = self.route.entry
        if _digits(values["digits"]) != _digits(asked):
            raise InputError(
                tr(
                    "These are not the digits with which the bundle is signed: one was mistyped, "
                    "or it was not written by that tablet; nothing was merged."
                )
            )
        work = MergeWork((path := self._path(asked),), trust={path: asked})
        begin_merge(self.session, work, failed=self.fail)
        return Route(screen="merge")

    def _path(self, fingerprint: str) -> Path:
        folders = (self.session.bundles, *self.session.picture_folders)
        for one in find_bundles(self.session.place, folders).bundles:
            if one.label and one.label.signed and one.label.signed.fingerprint == fingerprint:
                return one.path
        raise InputError(
            tr("The bundle is no longer in the known folders; copy it there and merge it again.")
        )


def _digits(text: str) -> str:
    return "".join(letter for letter in text.lower() if letter.isalnum())
