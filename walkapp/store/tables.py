"""TinyDB as the face for queries: reads come from memory, inserts become journal lines.

TinyDB's own storages write the whole database at every insert. Here the storage hands an insert to
the store, and whatever would change or remove a document is refused, since records are facts.
Documents that are handed out are copies.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, NoReturn, Protocol, cast

from tinydb import TinyDB
from tinydb.storages import Storage
from tinydb.table import Document, Table

from walkapp.errors import StoreError
from walkapp.language import tr

Documents = Mapping[str, Mapping[str, Any]]


class Source(Protocol):
    """What a storage needs of the store."""

    lock: threading.RLock

    def scopes(self) -> Iterable[str]:
        """Ids of all walks and concerns that have records."""

    def documents(self, scope: str) -> Documents:
        """JSON values of the scope's records by document number; not to be changed."""

    def insert(self, scope: str, documents: Iterable[Mapping[str, Any]]) -> list[int]:
        """Append records, durable, and give their document numbers."""


class JournalStorage(Storage):
    """The storage behind :class:`JournalTable`: one table for each walk and each concern."""

    def __init__(self, source: Source) -> None:
        self.source = source

    def read(self) -> dict[str, dict[str, Any]]:
        """Copy everything, in the shape that TinyDB documents; slow, and used by no query."""
        with self.source.lock:
            return {
                scope: {number: _copy(doc) for number, doc in self.source.documents(scope).items()}
                for scope in self.source.scopes()
            }

    def write(self, data: dict[str, dict[str, Any]]) -> NoReturn:
        """Refuse."""
        _refuse()


class JournalTable(Table):
    """A table whose inserts are durable when they return and whose documents never change.

    The name of the table is the id of a walk or concern; its documents are records as
    :func:`walkapp.model.records.record_to_plain` makes them. Document numbers hold until the store
    is opened again; outside a query use the record's own id. A query's own functions see the
    documents themselves and must not change them.
    """

    _storage: JournalStorage

    def insert(self, document: Mapping[str, Any]) -> int:
        """Append one record; see :meth:`insert_multiple`."""
        return self.insert_multiple([document])[0]

    def insert_multiple(self, documents: Iterable[Mapping[str, Any]]) -> list[int]:
        """Append records, all or none, durable when it returns.

        Raises
        ------
        ValueError
            If one is no mapping, or not the next record of this tablet, or of another scope.
        RecordError
            If one is not a valid record.
        StoreError
            If one brings its own document number, or the disk refuses.
        """
        documents = list(documents)
        for document in documents:
            if not isinstance(document, Mapping):
                raise ValueError("Document is not a Mapping")
            if isinstance(document, Document):
                raise StoreError(tr("The store gives document numbers itself: insert a plain mapping."))
        return self._storage.source.insert(self.name, documents)

    def search(self, cond: Any) -> list[Document]:
        """Copies of all matching documents."""
        with self._storage.source.lock:
            return [_copy_document(found) for found in super().search(cond)]

    def get(self, cond: Any = None, doc_id: int | None = None, doc_ids: list[int] | None = None) -> Any:
        """Copy of one matching document, or of those with the given numbers."""
        with self._storage.source.lock:
            found: Any = super().get(cond, doc_id, doc_ids)
            if isinstance(found, list):
                return [_copy_document(document) for document in found]
            return None if found is None else _copy_document(found)

    def __iter__(self) -> Iterator[Document]:
        """Copies of the documents that are there now."""
        with self._storage.source.lock:
            numbered = list(self._read_table().items())
        for number, document in numbered:
            yield Document(_copy(document), int(number))

    def _read_table(self) -> dict[str, Mapping[str, Any]]:
        return self._storage.source.documents(self.name)  # type: ignore[return-value]

    def _update_table(self, updater: Callable[[dict[int, Mapping[str, Any]]], None]) -> NoReturn:
        # Every other method that changes documents comes through here.
        _refuse()


class JournalDatabase(TinyDB):
    """All tables of a store."""

    table_class = JournalTable

    def __init__(self, source: Source) -> None:
        super().__init__(source, storage=JournalStorage)
        self._source = source

    def table(self, name: str, **options: Any) -> JournalTable:
        """Open one table. Results are not kept for the next query: the store also grows by itself."""
        return cast(JournalTable, super().table(name, **{"cache_size": 0, **options}))

    def tables(self) -> set[str]:
        """Ids of all walks and concerns that have records."""
        return set(self._source.scopes())

    def drop_table(self, name: str) -> NoReturn:
        """Refuse."""
        _refuse()

    def drop_tables(self) -> NoReturn:
        """Refuse."""
        _refuse()


def _refuse() -> NoReturn:
    raise StoreError(
        tr("Records are facts and are never changed or removed: add a record that replaces the old one.")
    )


def _copy_document(document: Document) -> Document:
    return Document(_copy(document), document.doc_id)


def _copy(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _copy(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [_copy(inner) for inner in value]
    return value
