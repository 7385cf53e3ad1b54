"""The database that is shipped: DuckDB, an extra that is imported when a question is asked and not before.

It works in a folder of its own that is gone afterwards: the tables lie in a file there, and what does not
fit into the memory it may use as well. It may read nothing else, and fetches nothing.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from walkapp.errors import InputError
from walkapp.language import msg, tr
from walkapp.rollup.shapes import suspicion
from walkapp.rollup.tables import ANSWER, HEADER_CELLS, READ, cells_of

__all__ = ["MEMORY_MB", "MISSING", "DuckDB"]

MISSING = msg(
    "The roll-up of many bundles needs the library duckdb, which is not installed here: "
    "install it with pip install 'walkapp[rollup]'; everything else works without."
)

MEMORY_MB = 1_000
"""Memory for the database in millions of bytes; what needs more goes to the disk."""

_PIECE_BYTES = 64_000_000
"""Rows that wait, before they are taken in together."""

_LEAST_LINE_BYTES = 2_000_000
# The texts of one record may have line breaks; together they are never longer.
_TEXTS_BYTES = 500_000
# Some systems tell of Ctrl-C only between two waits.
_LOOKS_S = 0.5
_SQL_TYPES = {str: "VARCHAR", int: "BIGINT"}

Key = tuple[str, tuple[str, ...]]


class DuckDB:
    """A database for one roll-up.

    Parameters
    ----------
    folder
        An empty folder for its files; whoever made it takes it away.
    memory_mb
        Memory that it may use, in millions of bytes.
    threads
        How many cores it may use; all when 0.
    end_of_row
        What stands in the last cell of each row that is added, to tell rows that are too long.
    kinds
        The kinds of record that questions will be asked about; of all others only the header is kept.

    Attributes
    ----------
    unread : set of int
        Numbers of the bundles of which rows could not be taken in, for not being CSV as it has to be.
    suspects : set of int
        Numbers of the bundles with cells that may hold what their columns must not; they are to be looked
        at one by one.
    row_count : int
        Rows of records taken in: one that is in several bundles is counted each time.

    Raises
    ------
    InputError
        Here, if the library is not there; in every method, if the disk is full or the work does not fit.
    """

    def __init__(
        self,
        folder: Path,
        *,
        memory_mb: int = MEMORY_MB,
        threads: int = 0,
        end_of_row: str = "",
        kinds: Sequence[str] = (*READ, ANSWER),
    ) -> None:
        try:
            import duckdb  # Late: an extra that only the roll-up needs.
        except ImportError as error:
            raise InputError(tr(MISSING)) from error
        self._error = duckdb.Error
        self._folder = folder
        self._kinds = tuple(kinds)
        self._end_of_row = end_of_row
        self._files = 0
        self._waiting: dict[Key, list[tuple[int, int, bytes]]] = {}
        self._waiting_bytes = 0
        self.unread: set[int] = set()
        self.suspects: set[int] = set()
        self.row_count = 0
        settings: dict[str, Any] = {
            "memory_limit": f"{memory_mb}MB",
            "temp_directory": str(folder / "spilled"),
            "autoinstall_known_extensions": False,
            "autoload_known_extensions": False,
            "preserve_insertion_order": False,
        }
        if threads:
            settings["threads"] = threads
        try:
            self._base = duckdb.connect(str(folder / "rows.duckdb"), config=settings)
        except duckdb.Error as error:
            raise InputError(
                tr(
                    "The roll-up cannot keep its files in {folder} (the database says: "
                    "{first_line}); free some space for temporary files.",
                    folder=folder,
                    first_line=_first_line(error),
                )
            ) from error
        self._worker = ThreadPoolExecutor(max_workers=1)
        # no text: SQL
        self._run(f"SET allowed_directories = [{_quoted(folder)}]")
        # no text: SQL
        for setting in ("enable_external_access = false", "python_enable_replacements = false"):
            # no text: SQL
            self._run(f"SET {setting}")
        # no text: SQL
        self._run("SET lock_configuration = true")
        for kind in self._kinds:
            # no text: SQL
            cells = ", ".join(f"{cell} VARCHAR" for cell in cells_of(kind))
            self._run(f"CREATE TABLE raw_{kind} (bundle BIGINT, format BIGINT, {cells})")
        # no text: SQL
        cells = ", ".join(f"cell_{name} VARCHAR" for name in HEADER_CELLS)
        self._run(f"CREATE TABLE raw_other (bundle BIGINT, kind VARCHAR, {cells})")

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._worker.shutdown()
        with suppress(self._error):
            self._base.close()

    # -- what every engine can do

    def rows(self, select: str) -> list[tuple[Any, ...]]:
        """Give all rows of a query."""
        found: list[tuple[Any, ...]] = self._run(select).fetchall()
        return found

    def name_view(self, name: str, select: str) -> None:
        """Let a query be known by a name."""
        self._run(f"CREATE OR REPLACE VIEW {name} AS {select}")

    def keep(self, name: str, select: str) -> None:
        """Work a query out and let its result be known by a name."""
        self._run(f"CREATE OR REPLACE TABLE {name} AS {select}")

    def put(self, name: str, columns: Mapping[str, type], rows: Iterable[Sequence[Any]]) -> None:
        """Make a table of rows from this program."""
        types = ", ".join(f"{column} {_SQL_TYPES[kind]}" for column, kind in columns.items())
        self._run(f"CREATE OR REPLACE TABLE {name} ({types})")
        path = self._new_file()
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n", quoting=csv.QUOTE_ALL).writerows(rows)
        if path.stat().st_size:
            read = _read_csv(path, list(columns), _LEAST_LINE_BYTES, parallel=False)
            cast = ", ".join(
                # no text: SQL
                f"COALESCE({column}, '')" if kind is str else f"CAST({column} AS BIGINT)"
                for column, kind in columns.items()
            )
            self._run(f"INSERT INTO {name} SELECT {cast} FROM {read}")
        path.unlink()

    # -- taking bundles in

    def add(self, bundle: int, kind: str, columns: Sequence[str], rows: bytes, count: int) -> None:
        """Take the rows of one table of a bundle in.

        Parameters
        ----------
        bundle
            Number of the bundle.
        kind
            Kind of record, or ``first_bad_station``.
        columns
            Names of the columns as they stand in the bundle.
        rows
            CSV in UTF-8 without any carriage return, the numbers of bundle and format in front of each row
            and the mark of its end behind it.
        count
            How many rows these are.
        """
        if rows and (kind != ANSWER or ANSWER in self._kinds):
            self._waiting.setdefault((kind, tuple(columns)), []).append((bundle, count, rows))
            self._waiting_bytes += len(rows)
            if self._waiting_bytes >= _PIECE_BYTES:
                self.flush()

    def flush(self) -> None:
        """Take in what waits."""
        waiting, self._waiting, self._waiting_bytes = self._waiting, {}, 0
        for key, pieces in waiting.items():
            if not self._take(key, pieces):
                # One of them spoils the others: each alone, so that the rest counts.
                for piece in pieces:
                    if not self._take(key, [piece]):
                        self.unread.add(piece[0])

    def forget(self, bundles: Iterable[int]) -> None:
        """Take the rows of bundles out again."""
        numbers = ", ".join(map(str, sorted(bundles)))
        if numbers:
            for table in (*self._kinds, "other"):
                self._run(f"DELETE FROM raw_{table} WHERE bundle IN ({numbers})")

    def _take(self, key: Key, pieces: Sequence[tuple[int, int, bytes]]) -> bool:
        """Take rows in that have the same columns, or none if they are not read as what they should be."""
        kind, columns = key
        is_read = kind in self._kinds
        cells = [f"cell_{name}" for name in columns]
        kept = cells if is_read else [f"cell_{name}" for name in HEADER_CELLS]
        if not self._stage(cells, pieces):
            return False
        if kind != ANSWER:
            doubt = suspicion(kind, cells, whole=is_read)
            self.suspects.update(
                bundle for (bundle,) in self.rows(f"SELECT DISTINCT bundle FROM stage WHERE {doubt}")
            )
            self.row_count += sum(count for _, count, _ in pieces)
        table, second, value = ("other", "kind", f"'{kind}'")
        if is_read:
            table, second, value = (kind, "format", "format")
        names = ", ".join(kept)
        # no text: SQL
        into = f"raw_{table} (bundle, {second}, {names})"
        self._run(f"INSERT INTO {into} SELECT bundle, {value}, {names} FROM stage")
        return True

    def _stage(self, cells: Sequence[str], pieces: Sequence[tuple[int, int, bytes]]) -> bool:
        """Read rows into a table of their own; say whether as many of each bundle came as there are."""
        path = self._new_file()
        with path.open("wb") as file:
            file.writelines(rows for _, _, rows in pieces)
        longest = max(_longest_line(rows) for _, _, rows in pieces)
        columns = ["bundle", "format", *cells, "end_of_row"]
        read = _read_csv(path, columns, max(longest + _TEXTS_BYTES, _LEAST_LINE_BYTES), parallel=True)
        expected: dict[int, int] = {}
        for bundle, count, _ in pieces:
            expected[bundle] = expected.get(bundle, 0) + count
        try:
            self._execute(
                "CREATE OR REPLACE TEMP TABLE stage AS SELECT CAST(bundle AS BIGINT) AS bundle, "
                f"CAST(format AS BIGINT) AS format, {', '.join(cells)} "
                f"FROM {read} WHERE end_of_row = '{self._end_of_row}'"
            )
            found = self._execute("SELECT bundle, COUNT(*) FROM stage GROUP BY bundle").fetchall()
        except self._error as error:
            self._raise_if_full(error)
            return False
        finally:
            path.unlink()
        # An open quotation mark of one bundle may swallow rows of the next.
        return dict(found) == expected

    def _new_file(self) -> Path:
        self._files += 1
        return self._folder / f"rows-{self._files}.csv"

    def _execute(self, text: str) -> Any:
        """Run a text where Ctrl-C can stop it: the database itself does not look for that while it
        works.
        """
        running = self._worker.submit(self._base.execute, text)
        try:
            while not wait([running], timeout=_LOOKS_S).done:
                pass
        except BaseException:
            # One that comes before the question has begun is lost, so it is said until it is heard.
            self._base.interrupt()
            while not wait([running], timeout=_LOOKS_S).done:
                self._base.interrupt()
            raise
        return running.result()

    def _run(self, text: str) -> Any:
        try:
            return self._execute(text)
        except self._error as error:
            self._raise_if_full(error)
            raise InputError(
                tr(
                    "The roll-up could not be worked out (the database says: {first_line}); ask "
                    "one question at a time, or fewer bundles.",
                    first_line=_first_line(error),
                )
            ) from error

    def _raise_if_full(self, error: Exception) -> None:
        if type(error).__name__ in ("OutOfMemoryException", "IOException"):
            raise InputError(
                tr(
                    "The roll-up needs more room than there is (the database says: "
                    "{first_line}); free some space for temporary files, or ask fewer bundles.",
                    first_line=_first_line(error),
                )
            ) from error


def _read_csv(path: Path, columns: Sequence[str], line_bytes: int, *, parallel: bool) -> str:
    """Write the call that reads a file of ours; every cell is text."""
    # no text: SQL
    types = ", ".join(f"'{column}': 'VARCHAR'" for column in columns)
    return (
        # no text: SQL
        f"read_csv({_quoted(path)}, columns = {{{types}}}, header = false, auto_detect = false, "
        "delim = ',', quote = '\"', escape = '\"', strict_mode = true, "
        f"max_line_size = {line_bytes}, parallel = {'true' if parallel else 'false'})"
    )


def _longest_line(rows: bytes) -> int:
    if len(rows) <= _LEAST_LINE_BYTES:
        return len(rows)
    return max(map(len, rows.split(b"\n")))


def _quoted(path: Path) -> str:
    escaped = str(path).replace("'", "''")
    return f"'{escaped}'"


def _first_line(error: Exception) -> str:
    return str(error).partition("\n")[0]
