"""What an index of words is, and the one that needs nothing: a plain scan."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from walkapp.search.words import holds, words_of

CHUNK = 500
"""Documents that are put in at once; a search waits for one chunk at most."""


class BrokenIndexError(Exception):
    """The index cannot be used and has to be built again; never shown to a person."""


@dataclass(frozen=True, slots=True)
class Document:
    """What can be found of one record.

    Parameters
    ----------
    record, kind
        Id and kind of the record.
    station
        Name of the station; empty when there is none.
    at, by
        When and by whom it was made, as recorded.
    body
        The texts that a person typed.
    names
        Names of station, check and defect from the checklist.
    """

    record: str
    kind: str
    station: str
    at: str
    by: str
    body: str
    names: str

    @property
    def folded(self) -> str:
        """Its different folded words, with a blank before each."""
        return "".join(f" {word}" for word in dict.fromkeys(words_of(f"{self.body}\n{self.names}")))

    @property
    def cells(self) -> tuple[str, ...]:
        """All of it, in the order of the table's columns."""
        return (self.record, self.kind, self.station, self.at, self.by, self.body, self.names)


@dataclass(frozen=True, slots=True)
class Hit:
    """A document that was found, and the concern that it belongs to.

    Parameters
    ----------
    concern, what
        Id of the concern, and what is wrong; empty while the concern itself is not here.
    document
        The document.
    """

    concern: str
    what: str
    document: Document


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found.

    Parameters
    ----------
    total
        How many documents.
    hits
        Those with typed words before those without, the newest of each first.
    """

    total: int
    hits: tuple[Hit, ...]


class Index(ABC):
    """Words of documents, concern by concern. All methods may be called from any thread."""

    is_plain = False
    """Whether every document is looked at for each search."""

    @abstractmethod
    def states(self) -> Mapping[str, str]:
        """Give, for every concern that is here, the state in which its records were read."""

    @abstractmethod
    def replace(self, concern: str, what: str, state: str, documents: Sequence[Document]) -> Iterator[int]:
        """Put in what holds of a concern in place of what was here, in pieces.

        Parameters
        ----------
        concern, what
            Its id, and what is wrong.
        state
            Told by :meth:`states` when the last piece is done.
        documents
            All of its documents, no two alike.

        Yields
        ------
        int
            How many documents each piece changed.
        """

    @abstractmethod
    def forget(self, concern: str) -> None:
        """Take a concern out."""

    @abstractmethod
    def find(self, asked: tuple[str, ...], most: int) -> Found:
        """Find the documents in which each word asked for begins some word.

        Parameters
        ----------
        asked
            Folded words, at least one.
        most
            How many hits to give at most.
        """

    @abstractmethod
    def count(self) -> int:
        """Give the number of documents."""

    @abstractmethod
    def close(self) -> None:
        """Give the memory back; the index is not used after that."""


class PlainIndex(Index):
    """No index: every document is looked at for each search. Never kept in a file."""

    is_plain = True

    def __init__(self) -> None:
        self._concerns: dict[str, tuple[str, str, tuple[tuple[Document, str], ...]]] = {}

    def states(self) -> Mapping[str, str]:
        """Give, for every concern that is here, the state in which its records were read."""
        return {concern: state for concern, (_, state, _) in dict(self._concerns).items()}

    def replace(self, concern: str, what: str, state: str, documents: Sequence[Document]) -> Iterator[int]:
        """Put in what holds of a concern in place of what was here, in pieces."""
        folded: list[tuple[Document, str]] = []
        for start in range(0, len(documents), CHUNK):
            folded += [(document, document.folded) for document in documents[start : start + CHUNK]]
            yield 0
        self._concerns[concern] = (what, state, tuple(folded))
        yield len(documents)

    def forget(self, concern: str) -> None:
        """Take a concern out."""
        self._concerns.pop(concern, None)

    def find(self, asked: tuple[str, ...], most: int) -> Found:
        """Find the documents in which each word asked for begins some word."""
        hits = [
            Hit(concern, what, document)
            for concern, (what, _, documents) in dict(self._concerns).items()
            for document, folded in documents
            if holds(folded, asked)
        ]
        hits.sort(key=lambda hit: (bool(hit.document.body), hit.document.record), reverse=True)
        return Found(len(hits), tuple(hits[:most]))

    def count(self) -> int:
        """Give the number of documents."""
        return sum(len(documents) for _, _, documents in dict(self._concerns).values())

    def close(self) -> None:
        """Give the memory back; the index is not used after that."""
        self._concerns = {}
