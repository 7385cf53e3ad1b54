"""Search over all concerns and audits: keeping the index up to date, and asking it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from walkapp.actions.kind_words import name_of_kind
from walkapp.actions.searchable import documents_of, state_of_checklists
from walkapp.actions.workplace import Workplace
from walkapp.errors import StoreError
from walkapp.language import day_said, msg, tr, trn
from walkapp.model.ids import is_book
from walkapp.search import (
    MOST_WORDS,
    BrokenIndexError,
    Document,
    Found,
    FtsIndex,
    Hit,
    Index,
    PlainIndex,
    asked_words,
    has_fts,
    read_index,
    snippet,
    write_index,
)

MOST_HITS = 100
"""Results that are shown; how many there are is told all the same."""

WORTH_KEEPING = 20
"""The index is written anew when more than one in so many of its documents changed."""

ASK = msg("Type a word, or the beginning of one: letters and digits are looked for, signs are not.")
TOO_MANY = msg("Only the first {many} words are looked for.")
PLAIN = msg("This device has no full-text index, so that every text is read for each search.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One record that was found.

    Parameters
    ----------
    concern, what
        The concern or audit book that it belongs to, and what is wrong, or whose audits of which month they
        are; empty while the concern itself is not here.
    record, kind
        Its id and kind.
    kind_words, station
        Kind and station in words; no station where there is none.
    at, by
        When and by whom it was made, as recorded.
    text
        What was typed, around the hit; the names from the checklist where nothing was.
    """

    concern: str
    what: str
    record: str
    kind: str
    kind_words: str
    station: str
    at: str
    by: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchAnswer:
    """What a search came to.

    Parameters
    ----------
    words
        What was looked for, folded; empty when nothing in the question can be.
    total
        How many records were found.
    results
        Those with typed words before NOK parts without a word, the newest of each first.
    is_current
        Whether all that is recorded was looked through.
    notes
        What has to be minded, a sentence each.
    """

    words: tuple[str, ...]
    total: int
    results: tuple[Result, ...]
    is_current: bool
    notes: tuple[str, ...]


class Finder:
    """Searches the records of a store. All methods may be called from any thread.

    Nothing is read before it is asked for the first time.

    Parameters
    ----------
    place
        Where the records are.
    with_fts
        Whether to use the full-text index of SQLite; as far as it is there when not said.
    """

    def __init__(self, place: Workplace, *, with_fts: bool | None = None) -> None:
        self._place = place
        self._with_fts = has_fts() if with_fts is None else with_fts
        self._index: Index | None = None
        self._lock = threading.RLock()
        self.is_asked = False

    def find(self, question: str) -> SearchAnswer:
        """Find the records in which each word of a question begins some word.

        Parameters
        ----------
        question
            Any text; quotes, operators and signs in it mean nothing.

        Returns
        -------
        SearchAnswer
            From what was looked through so far: see :meth:`begin_update`.
        """
        self.is_asked = True
        words, has_more = asked_words(question)
        found = self._ask(words) if words else Found(0, ())
        said = (
            (tr(ASK), not words),
            (tr(TOO_MANY, many=MOST_WORDS), has_more),
            (tr(PLAIN), self._opened().is_plain),
        )
        return SearchAnswer(
            words=words,
            total=found.total,
            results=tuple(_result(hit, words) for hit in found.hits),
            is_current=not self.stale(),
            notes=tuple(note for note, holds in said if holds),
        )

    def _ask(self, words: tuple[str, ...]) -> Found:
        for _ in range(2):
            # Once more when it was closed meanwhile. In a new one nothing is found until it is filled, and
            # the answer says so.
            index = self._opened()
            try:
                return index.find(words, MOST_HITS)
            except BrokenIndexError:
                self._throw_away(index)
        return Found(0, ())

    def stale(self) -> tuple[str, ...]:
        """Give the ids of the concerns that have changed since they were looked through."""
        return tuple(self._changes())

    def begin_update(self) -> SearchUpdate:
        """Begin to look through what has changed, in pieces.

        Raises
        ------
        StoreError
            If the store cannot be read; so may each piece.
        """
        return SearchUpdate(self)

    def update(self, progress: Callable[[int, int], None] = lambda done, total: None) -> None:
        """Look through all that has changed.

        Parameters
        ----------
        progress
            Called with concerns done and concerns in all.
        """
        update = self.begin_update()
        while update.step():
            progress(update.done, update.total)
        progress(update.done, update.total)

    def close(self) -> None:
        """Give the memory back; the next search reads the index again."""
        with self._lock:
            if self._index is not None:
                self._index.close()
                self._index = None

    # Inside

    def _opened(self) -> Index:
        with self._lock:
            if self._index is None:
                store = self._place.store
                kept = read_index(store.search_file, store.device, store.disk) if self._with_fts else None
                self._index = kept or self._empty()
            return self._index

    def _empty(self) -> Index:
        return FtsIndex() if self._with_fts else PlainIndex()

    def _throw_away(self, broken: Index) -> None:
        """Begin anew in place of an index that is broken, or was closed meanwhile."""
        with self._lock:
            if self._index is broken:
                self._index = self._empty()

    def _changes(self) -> Mapping[str, str]:
        """Give the state of each concern that is not in the index as it is now."""
        store, checklists = self._place.store, state_of_checklists(self._place)
        index = self._opened()
        try:
            known = index.states()
        except BrokenIndexError:
            self._throw_away(index)
            known = {}
        now = {concern: f"{store.state_of(concern)} {checklists}" for concern in store.concerns()}
        if not checklists:
            # Whoever looks without the checklists takes the names as they were found with them.
            known = {concern: f"{state.partition(' ')[0]} " for concern, state in known.items()}
        gone = {concern: "" for concern in known if concern not in now}
        return gone | {concern: state for concern, state in now.items() if known.get(concern) != state}

    def _take_in(self, concern: str, state: str) -> Iterator[int]:
        """Look through one concern; gives how many documents changed, piece by piece."""
        index = self._opened()
        try:
            if not state:
                index.forget(concern)
                return
            what, documents = documents_of(self._place, concern)
            yield from index.replace(concern, what, state, documents)
        except BrokenIndexError:
            self._throw_away(index)
            raise

    def _keep(self, changed: int) -> None:
        """Write the index when it is worth it: never for a few records of a large store."""
        store, index = self._place.store, self._opened()
        if not (isinstance(index, FtsIndex) and store.is_writable and changed):
            return
        if changed * WORTH_KEEPING > index.count() or not store.search_file.exists():
            write_index(store.search_file, index, store.device, store.disk)


class SearchUpdate:
    """Brings the index up to date, one piece of a concern at a time.

    Parameters
    ----------
    finder
        Whose index.

    Attributes
    ----------
    done, total
        Concerns looked through, and in all.
    """

    def __init__(self, finder: Finder) -> None:
        self._finder = finder
        self.done = 0
        self.total = 0
        self._changed = 0
        self._pieces = self._run()

    def step(self) -> bool:
        """Do one piece; say whether there are more.

        Raises
        ------
        StoreError
            If the store cannot be read.
        """
        return next(self._pieces, None) is not None

    def _run(self) -> Iterator[int]:
        try:
            yield from self._round()
        except BrokenIndexError:
            # Once more from the beginning; twice is no accident.
            try:
                yield from self._round()
            except BrokenIndexError as error:
                raise StoreError(
                    tr(
                        "The index for searching cannot be built ({error}): start the app once "
                        "more; no record is harmed.",
                        error=error,
                    )
                ) from error

    def _round(self) -> Iterator[int]:
        changes = self._finder._changes()
        self.done, self.total, self._changed = 0, len(changes), 0
        for concern, state in changes.items():
            for changed in self._finder._take_in(concern, state):
                self._changed += changed
                yield changed
            self.done += 1
        self._finder._keep(self._changed)


def _result(hit: Hit, words: tuple[str, ...]) -> Result:
    found = hit.document
    return Result(
        concern=hit.concern,
        what=hit.what,
        record=found.record,
        kind=found.kind,
        kind_words=name_of_kind(found.kind),
        station=found.station,
        at=found.at,
        by=found.by,
        text=snippet(found.body or _finding_text(found), words),
    )


def _finding_text(found: Document) -> str:
    """Say what a NOK without a word is about; its station is said elsewhere."""
    names = found.names.split("\n")
    return tr("NOK: {what}", what=", ".join(name for name in names if name != found.station))


def search_lines(answer: SearchAnswer) -> Iterator[str]:
    """Tell a search for a terminal: each result, then how many there are."""
    for result in answer.results:
        where = ", ".join(
            filter(None, (result.kind_words, result.station, day_said(result.at[:10]), result.by))
        )
        yield result.text
        belongs = (
            result.what
            if is_book(result.concern)
            else tr("concern: {what}", what=result.what or tr("not here yet"))
        )
        yield f"    {where}; {belongs} ({result.concern})"
    yield from filter(None, (told_count(answer), *answer.notes))


def told_count(answer: SearchAnswer) -> str:
    """Say how many records were found, and how many of them are shown."""
    if not answer.words:
        return ""
    if not answer.total:
        return tr("Nothing found.")
    if answer.total == len(answer.results):
        return trn("{count} entry found.", "{count} entries found.", answer.total)
    return trn(
        "{count} entry found; {results} of them are shown, newest first.",
        "{count} entries found; {results} of them are shown, newest first.",
        answer.total,
        results=len(answer.results),
    )


def search_to_json(question: str, answer: SearchAnswer) -> dict[str, Any]:
    """Turn a search into JSON values."""
    return {
        "question": question,
        "words": list(answer.words),
        "total": answer.total,
        "notes": list(answer.notes),
        "results": [
            {
                "concern": result.concern,
                "what": result.what,
                "record": result.record,
                "kind": result.kind,
                "kind_name": result.kind_words,
                "station": result.station,
                "at": result.at,
                "by": result.by,
                "text": result.text,
            }
            for result in answer.results
        ],
    }
