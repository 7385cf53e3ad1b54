"""The tables that questions are put to, in SQL that every engine of :mod:`walkapp.rollup.engine` takes.

What the engine has to bring, all of it text but for the two numbers:

``bundles``
    ``bundle`` (number), ``plant``, ``name``, ``digest``: one row for each bundle.
``raw_<kind>``, for every kind of :data:`READ` (or of those that the questions asked need)
    The CSV of that kind of all bundles as it stands there: ``bundle`` and ``format`` (numbers), and each
    column with ``cell_`` in front, so that no name is a word of SQL. A cell that is empty may be NULL; so
    is what an older bundle has no column for. Bundles without that table bring no rows.
``raw_first_bad_station``
    The same for the computed answer.
``raw_other``
    All other tables, also of kinds that this version does not know: ``bundle``, ``kind`` and the cells of
    ``id``, ``concern``, ``walk`` and ``replaces``. A record can be taken back by one of any kind.

What is made of it: one table ``held_<kind>`` for each kind of :data:`READ`, with only the records that
hold, each once, each column in its own type: whole numbers BIGINT, decimals DECIMAL(21,9), days DATE, flags
BOOLEAN, all else text; no value is NULL in these types and empty in texts. Names that are words of SQL get
``its_`` in front. ``plant`` is where it lies, the first by name where it lies in several.
"""

from __future__ import annotations

from collections.abc import Iterable

from walkapp.model.records import columns_of_kind
from walkapp.model.schema import Column

__all__ = [
    "ANSWER",
    "ANSWER_COLUMNS",
    "HEADER_CELLS",
    "READ",
    "SEPARATOR",
    "answer_select",
    "cells_of",
    "clean_cell",
    "content_of",
    "header_select",
    "held_select",
    "name_in_sql",
]

READ = (
    "concern", "escalation", "answer", "count", "change_point", "action", "action_done", "effect_check",
    "read_across", "lesson", "audit_start", "audit_answer", "audit_signed", "audit_missed", "deliveries",
)  # fmt: skip
"""The kinds whose records the questions read."""

_OF_BOOKS = frozenset(("audit_start", "audit_answer", "audit_signed", "audit_missed", "deliveries"))
"""Kinds that lie in a book; what a walk claims of it counts nowhere."""

ANSWER = "first_bad_station"
ANSWER_COLUMNS = (
    "concern", "defect", "station_order", "station", "checked", "nok", "share", "low95", "high95",
    "probability_origin", "verdict", "first_bad_station", "stream",
)  # fmt: skip

_ANSWER_TEXTS = frozenset(("station", "verdict", "first_bad_station"))
_ANSWER_TYPES = {
    **dict.fromkeys(("station_order", "checked", "nok"), "BIGINT"),
    **dict.fromkeys(("share", "low95", "high95", "probability_origin"), "DOUBLE"),
}

HEADER_CELLS = ("id", "concern", "walk", "replaces")
"""What is read of every record, whatever its kind."""

SEPARATOR = "\x1f"
"""Stands between the cells of a record that is compared as a whole; no text of a record may hold it."""

_WORDS_OF_SQL = frozenset(
    ("action", "at", "by", "change", "check", "day", "month", "number", "order", "share", "unit", "where")
)  # fmt: skip
_TYPES = {"whole": "BIGINT", "decimal": "DECIMAL(21, 9)", "day": "DATE"}
# After each of these an apostrophe may stand that is no part of the text (walkapp.bundle.cells has the
# rule).
_BEFORE_APOSTROPHE = ("','", "';'", "'|'", "chr(9)", "chr(13)", "chr(10)")


def name_in_sql(column: str) -> str:
    """Give the name of a column in SQL.

    Examples
    --------
    >>> name_in_sql("check"), name_in_sql("station")
    ('its_check', 'station')
    """
    return f"its_{column}" if column in _WORDS_OF_SQL else column


def cells_of(kind: str) -> tuple[str, ...]:
    """Names of the columns of a raw table behind ``bundle`` and ``format``."""
    columns: Iterable[str] = ANSWER_COLUMNS if kind == ANSWER else columns_of_kind(kind)
    return tuple(f"cell_{name}" for name in columns)


def clean_cell(name: str, *, is_free_text: bool) -> str:
    """Write the text of a cell in SQL: never NULL, and without the apostrophes that keep spreadsheets off.

    Parameters
    ----------
    name
        Name of the column in the bundle.
    is_free_text
        Whether it is a text that a person typed; other cells stand there as they are.
    """
    cell = f"COALESCE(r.cell_{name}, '')"
    if not is_free_text:
        return cell
    within = cell
    for sign in _BEFORE_APOSTROPHE:
        within = f"replace({within}, {sign} || '''', {sign})"
    # An apostrophe in front of all else is taken away in every format.
    return (
        f"CASE WHEN {cell} LIKE '%''%' THEN substr(CASE WHEN r.format = 1 THEN {cell} ELSE {within} END, "
        f"CASE WHEN {cell} LIKE '''%' THEN 2 ELSE 1 END) ELSE {cell} END"
    )


def answer_select() -> str:
    """Write the query for the rows of the computed answer of all bundles, each column in its own type."""
    typed = []
    for name in ANSWER_COLUMNS:
        text = clean_cell(name, is_free_text=name in _ANSWER_TEXTS)
        kind = _ANSWER_TYPES.get(name)
        typed.append(f"CAST(NULLIF({text}, '') AS {kind}) AS {name}" if kind else f"{text} AS {name}")
    return f"SELECT r.bundle, {', '.join(typed)} FROM raw_{ANSWER} r"


def _typed(name: str, column: Column) -> str:
    text = clean_cell(name, is_free_text=column.is_free_text)
    if column.form == "flag":
        return f"{text} = 'true'"
    kind = _TYPES.get(column.form)
    return f"CAST(NULLIF({text}, '') AS {kind})" if kind else text


def content_of(kind: str) -> str:
    """Write everything that a record says as one text in SQL; records with the same text are the same."""
    texts = (clean_cell(name, is_free_text=c.is_free_text) for name, c in columns_of_kind(kind).items())
    return " || chr(31) || ".join(f"({text})" for text in texts)


def header_select(kinds: Iterable[str] = READ) -> str:
    """Write the query for the header of every record of every bundle.

    Parameters
    ----------
    kinds
        The kinds that have a raw table of their own; records of all others lie in ``raw_other``.
    """
    cells = ", ".join(f"COALESCE(r.cell_{name}, '') AS {name}" for name in HEADER_CELLS)
    tables = [(f"'{kind}'", f"raw_{kind}") for kind in kinds]
    return "\nUNION ALL\n".join(
        f"SELECT b.plant, r.bundle, {kind} AS kind, {cells} FROM {table} r "
        "JOIN bundles b ON b.bundle = r.bundle"
        for kind, table in (*tables, ("r.kind", "raw_other"))
    )


def held_select(kind: str) -> str:
    """Write the query for the records of a kind that hold, each once.

    Parameters
    ----------
    kind
        One of :data:`READ`.

    Notes
    -----
    Nearly all records are in one bundle only and nothing ever named them: they are passed on as they come.
    Those in ``special`` are looked at one by one (see :mod:`walkapp.rollup.settling`).
    """
    columns = columns_of_kind(kind)
    typed = ", ".join(f"{_typed(name, column)} AS {name_in_sql(name)}" for name, column in columns.items())
    return f"""\
SELECT b.plant, {typed}
FROM raw_{kind} r
JOIN bundles b ON b.bundle = r.bundle
LEFT JOIN special s ON s.id = r.cell_id
WHERE s.id IS NULL{" AND COALESCE(r.cell_walk, '') = ''" if kind in _OF_BOOKS else ""}
UNION ALL
SELECT x.plant, {", ".join(f"x.{name_in_sql(name)}" for name in columns)}
FROM (
  SELECT DISTINCT s.plant, {typed}, {content_of(kind)} AS content
  FROM raw_{kind} r
  JOIN special s ON s.id = r.cell_id
) x
LEFT JOIN fallen f
  ON f.id = x.id AND f.kind = '{kind}' AND f.concern = x.concern
  AND (f.content = '' OR f.content = x.content)
WHERE f.id IS NULL{" AND x.walk = ''" if kind in _OF_BOOKS else ""}"""
