"""The index of words in SQLite's FTS5, in memory."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cache
from typing import Any

from walkapp.search.index import CHUNK, BrokenIndexError, Document, Found, Hit, Index

BEGINNINGS = 2
"""Letters up to which the beginnings of words have tables of their own."""

SCHEMA = (
    "CREATE TABLE concerns (id INTEGER PRIMARY KEY, concern TEXT UNIQUE, what TEXT, state TEXT)",
    (
        "CREATE TABLE documents (id INTEGER PRIMARY KEY, concern INTEGER, record TEXT, kind TEXT, "
        "station TEXT, at TEXT, made_by TEXT, body TEXT, names TEXT)"
    ),
    "CREATE INDEX documents_of ON documents (concern)",
    # Words are folded before; "ascii" then parts them at blanks and changes nothing else.
    "CREATE VIRTUAL TABLE found USING fts5(folded, content='', detail=none, prefix='1 2', tokenize=ascii)",
)
"""What a new index consists of; one with anything else is not read."""

_FIELDS = "record, kind, station, at, made_by, body, names"


def has_fts() -> bool:
    """Whether this Python has SQLite with FTS5, and can keep such an index in a file."""
    return _database() is not None


@cache
def _database() -> Any:
    """Give the module ``sqlite3`` if it can do what is needed; some Pythons are built without it."""
    try:
        import sqlite3
    except ImportError:
        return None
    try:
        base = sqlite3.connect(":memory:")
        try:
            base.execute(SCHEMA[-1])
            base.serialize()
        finally:
            base.close()
    except (AttributeError, sqlite3.Error):
        return None
    return sqlite3


def _broken() -> tuple[type[Exception], ...]:
    """Give the errors by which a database that was read from a spoilt file may show it.

    It may hold texts that are none, or ask for any amount of memory.
    """
    return (_database().Error, ValueError, TypeError, MemoryError)


class FtsIndex(Index):
    """An index in SQLite's memory.

    Parameters
    ----------
    image
        What :meth:`to_bytes` gave; none for an empty index.

    Raises
    ------
    BrokenIndexError
        If the image is not that of such an index.
    """

    def __init__(self, image: bytes | None = None) -> None:
        sqlite3 = _database()
        self.lock = threading.RLock()
        self._base = sqlite3.connect(":memory:", check_same_thread=False, isolation_level=None)
        try:
            self._base.execute("PRAGMA trusted_schema = OFF")
            if image is not None:
                # SQLite takes no bytes at all for a lack of memory.
                self._base.deserialize(image or b"\0")
                self._check_schema()
                return
            for statement in SCHEMA:
                self._base.execute(statement)
        except _broken() as error:
            self._base.close()
            raise BrokenIndexError(str(error)) from error

    @contextmanager
    def _at_work(self) -> Iterator[None]:
        """Let one thread in at a time, and say in one way that the database is broken."""
        with self.lock:
            try:
                yield
            except _broken() as error:
                raise BrokenIndexError(str(error)) from error

    def _check_schema(self) -> None:
        """Run nothing that the image brings along, such as a trigger."""
        rows = self._base.execute("SELECT sql FROM sqlite_schema WHERE name NOT LIKE 'found_%'").fetchall()
        known = {sql for (sql,) in rows if sql is not None}
        triggers = self._base.execute(
            "SELECT 1 FROM sqlite_schema WHERE type IN ('trigger', 'view')"
        ).fetchall()
        if known != set(SCHEMA) or triggers:
            self._base.close()
            raise BrokenIndexError("the index consists of other tables")

    def to_bytes(self) -> bytes:
        """Give all of it as bytes."""
        with self._at_work():
            image: bytes = self._base.serialize()
            return image

    def states(self) -> Mapping[str, str]:
        """Give, for every concern that is here, the state in which its records were read."""
        with self._at_work():
            return dict(self._base.execute("SELECT concern, state FROM concerns").fetchall())

    def replace(self, concern: str, what: str, state: str, documents: Sequence[Document]) -> Iterator[int]:
        """Put in what holds of a concern in place of what was here, in pieces."""
        number, gone, fresh = self._compare(concern, documents)
        for start in range(0, len(gone), CHUNK):
            yield self._take_out(gone[start : start + CHUNK])
        for start in range(0, len(fresh), CHUNK):
            yield self._put_in(number, fresh[start : start + CHUNK])
        self._settle(number, what, state)
        yield 0

    def _compare(
        self, concern: str, documents: Sequence[Document]
    ) -> tuple[int, list[tuple[int, Document]], list[Document]]:
        with self._at_work():
            self._base.execute(
                "INSERT OR IGNORE INTO concerns (concern, what, state) VALUES (?, '', '')", (concern,)
            )
            (number,) = self._base.execute(
                "SELECT id FROM concerns WHERE concern = ?", (concern,)
            ).fetchone()
            here = {
                _read(cells): place
                for place, *cells in self._base.execute(
                    f"SELECT id, {_FIELDS} FROM documents WHERE concern = ?", (number,)
                )
            }
            wanted = set(documents)
            gone = [(place, document) for document, place in here.items() if document not in wanted]
            fresh = sorted(wanted.difference(here), key=lambda document: document.cells)
            return number, gone, fresh

    def _take_out(self, gone: Sequence[tuple[int, Document]]) -> int:
        with self._at_work():
            with _Transaction(self._base):
                # An index without the texts is told what it has to forget.
                self._base.executemany(
                    "INSERT INTO found (found, rowid, folded) VALUES ('delete', ?, ?)",
                    ((place, document.folded) for place, document in gone),
                )
                self._base.executemany(
                    "DELETE FROM documents WHERE id = ?", ((place,) for place, _ in gone)
                )
            return len(gone)

    def _put_in(self, number: int, fresh: Sequence[Document]) -> int:
        with self._at_work():
            with _Transaction(self._base):
                for document in fresh:
                    place = self._free_place(document)
                    self._base.execute(
                        f"INSERT INTO documents (id, concern, {_FIELDS}) VALUES (?,?,?,?,?,?,?,?,?)",
                        (place, number, *document.cells),
                    )
                    self._base.execute(
                        "INSERT INTO found (rowid, folded) VALUES (?, ?)", (place, document.folded)
                    )
            return len(fresh)

    def _free_place(self, document: Document) -> int:
        """Give a number that rises with the time in the record's id; below 0 for one without words."""
        first = int(document.record.replace("-", "")[:12], 16) << 14
        if not document.body:
            first -= 1 << 62
        (last,) = self._base.execute(
            "SELECT max(id) FROM documents WHERE id >= ? AND id < ?", (first, first + (1 << 14))
        ).fetchone()
        if last is None:
            return first
        if last + 1 < first + (1 << 14):
            return int(last) + 1
        # More records of one millisecond than any tablet makes: they come first and are found.
        (last,) = self._base.execute("SELECT max(id) FROM documents").fetchone()
        return max(int(last), 1 << 62) + 1

    def _settle(self, number: int, what: str, state: str) -> None:
        with self._at_work():
            self._base.execute(
                "UPDATE concerns SET what = ?, state = ? WHERE id = ?", (what, state, number)
            )

    def forget(self, concern: str) -> None:
        """Take a concern out."""
        number, gone, _ = self._compare(concern, ())
        self._take_out(gone)
        self._drop(number)

    def _drop(self, number: int) -> None:
        with self._at_work():
            self._base.execute("DELETE FROM concerns WHERE id = ?", (number,))

    def find(self, asked: tuple[str, ...], most: int) -> Found:
        """Find the documents in which each word asked for begins some word."""
        with self._at_work():
            # Folded words are letters and digits, so that nothing in them can end the quotes.
            match = " AND ".join(f'"{word}"*' for word in asked)
            total, places = self._places(match, most, has_table=max(map(len, asked)) <= BEGINNINGS)
            shown = ",".join(str(int(place)) for place in places)
            rows = self._base.execute(
                f"SELECT concerns.concern, what, {_FIELDS} FROM documents "
                "JOIN concerns ON concerns.id = documents.concern "
                f"WHERE documents.id IN ({shown}) ORDER BY documents.id DESC"
            ).fetchall()
            hits = tuple(Hit(str(concern), str(what), _read(cells)) for concern, what, *cells in rows)
            return Found(total, hits)

    def _places(self, match: str, most: int, *, has_table: bool) -> tuple[int, list[int]]:
        """Count what matches and give the first places, the fastest way.

        Beginnings that have a table of their own are counted without visiting each document. All others
        are put together from several words anew for each statement, so that one statement does both.
        """
        newest = "SELECT rowid FROM found WHERE found MATCH ? ORDER BY rowid DESC"
        if not has_table:
            places = [place for (place,) in self._base.execute(newest, (match,)).fetchall()]
            return len(places), places[:most]
        (total,) = self._base.execute("SELECT count(*) FROM found WHERE found MATCH ?", (match,)).fetchone()
        first = self._base.execute(f"{newest} LIMIT ?", (match, most)).fetchall()
        return int(total), [place for (place,) in first]

    def count(self) -> int:
        """Give the number of documents."""
        with self._at_work():
            (count,) = self._base.execute("SELECT count(*) FROM documents").fetchone()
            return int(count)

    def close(self) -> None:
        """Give the memory back."""
        with self.lock:
            self._base.close()


def _read(cells: Sequence[object]) -> Document:
    """Make a document of a row; SQLite keeps in any column whatever a spoilt file says."""
    texts = [cell for cell in cells if isinstance(cell, str)]
    if len(texts) < len(cells):
        raise ValueError("a row holds no text")
    return Document(*texts)


class _Transaction:
    """Begins, and ends when all went well; what is in memory alone needs no care after a failure."""

    def __init__(self, base: Any) -> None:
        self._base = base

    def __enter__(self) -> None:
        self._base.execute("BEGIN")

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        self._base.execute("ROLLBACK" if kind else "COMMIT")
