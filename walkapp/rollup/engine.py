"""What a database has to be able to do so that the questions can be put to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Protocol

__all__ = ["Engine"]


class Engine(Protocol):
    """A database that takes the SQL of this package; the texts are the same for each.

    DuckDB (:mod:`walkapp.rollup.duck`) is the one that is shipped. Another one needs these four and the
    tables that :mod:`walkapp.rollup.tables` describes.
    """

    def rows(self, select: str) -> list[tuple[Any, ...]]:
        """Give all rows of a query."""

    def name_view(self, name: str, select: str) -> None:
        """Let a query be known by a name; it is worked out whenever it is asked for."""

    def keep(self, name: str, select: str) -> None:
        """Work a query out now and let its result be known by a name."""

    def put(self, name: str, columns: Mapping[str, type], rows: Iterable[Sequence[Any]]) -> None:
        """Make a table of rows from this program.

        Parameters
        ----------
        name
            Name of the table; none of that name is there yet.
        columns
            ``str`` or ``int`` by name, in the order of the values.
        rows
            Any number of them; no value is missing.
        """
