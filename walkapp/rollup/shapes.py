"""Whether cells can be what they have to be, told by DuckDB over millions of rows at once.

It only raises a suspicion, by whole bundle: what it lets pass is allowed by :mod:`walkapp.model.schema`,
and a bundle under suspicion is read by the reader of bundles, whose word counts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from walkapp.model.records import Record, columns_of_kind
from walkapp.model.schema import Column, columns_of

__all__ = ["suspicion"]

_ID = "[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}"
_DAY = "[0-9]{4}-[0-9]{2}-[0-9]{2}"
_CLOCK = "(?:[01][0-9]|2[0-3]):[0-5][0-9]"
_SHAPES: Mapping[str, str] = {
    "key": "[a-z][a-z0-9-]{0,39}",
    "whole": "-?[0-9]{1,16}",
    "decimal": r"-?[0-9]{1,12}(?:\.[0-9]{1,9})?",
    "flag": "true|false",
    "day": _DAY,
    "moment": rf"{_DAY}T{_CLOCK}:[0-5][0-9](?:\.[0-9]{{1,6}})?(?:Z|[+-]{_CLOCK})",
    "record_id": _ID,
    "record_ids": f"{_ID}(?: {_ID})*",
    "digest": "[0-9a-f]{64}",
}
# Where one cell hangs on another; what the records' own checks say, turned round. A cell that is a number
# or a day by its own check can be compared as one.
_TOGETHER: Mapping[str, Sequence[str]] = {
    "concern": (
        "COALESCE(TRY_CAST({share_low} AS DOUBLE), 0) < 0",
        "COALESCE(TRY_CAST({share_high} AS DOUBLE), 1) > 1",
        "COALESCE(TRY_CAST({share_low} AS DOUBLE), 0) >= COALESCE(TRY_CAST({share_high} AS DOUBLE), 1)",
        "{made_from} <> '' AND {made_to} <> '' AND {made_to} < {made_from}",
    ),
    "answer": ("{answer} = 'not_applicable' AND {reason} IN ('', '''')",),
    "count": ("TRY_CAST({nok} AS BIGINT) > TRY_CAST({checked} AS BIGINT)",),
    "action": (
        "{check_on} <> '' AND {check_on} < {due_on}",
        "COALESCE(TRY_CAST({at_most} AS DOUBLE), 0) NOT BETWEEN 0 AND 0.999999999",
    ),
    "effect_check": (
        "TRY_CAST({before_nok} AS BIGINT) > TRY_CAST({before_checked} AS BIGINT)",
        "TRY_CAST({after_nok} AS BIGINT) > TRY_CAST({after_checked} AS BIGINT)",
    ),
    "read_across": ("{status} <> 'to_check' AND {words} IN ('', '''')",),
    "lesson": ("{worked} IN ('', '''') AND {did_not_work} IN ('', '''') AND {to_change} IN ('', '''')",),
    "audit_start": (
        "({paper_by} IN ('', '''')) <> ({paper_from} = '')",
        "({paper_from} = '') <> ({paper_until} = '')",
    ),
    "audit_answer": (
        "({question} = '') = ({watch} = '')",
        "{answer} = 'not_applicable' AND {reason} IN ('', '''')",
    ),
    "deliveries": ("{month} NOT LIKE '%-01'",),
}
_HEADER_TOGETHER = ("{replaces} <> '' AND {why} IN ('', '''')", "{walk} = {concern}")


def suspicion(kind: str, cells: Sequence[str], *, whole: bool) -> str:
    """Write the condition under which a row of a table may hold what it must not.

    Parameters
    ----------
    kind
        Kind of record.
    cells
        Names of the columns that are there, with ``cell_`` in front.
    whole
        Whether all of it is looked at, or only the header that every record has.
    """
    known = columns_of_kind(kind) if whole else columns_of(Record)
    there = {name: column for name, column in known.items() if f"cell_{name}" in cells}
    texts = _Texts({name: f"COALESCE(cell_{name}, '')" for name in there})
    together = [*_HEADER_TOGETHER, *(_TOGETHER.get(kind, ()) if whole else ())]
    conditions = [_suspicious(texts[name], column) for name, column in there.items()]
    return " OR ".join(f"({one})" for one in (*conditions, *(one.format_map(texts) for one in together)))


class _Texts(dict[str, str]):
    """Cells in SQL by column; those of a column that is not there are empty."""

    def __missing__(self, name: str) -> str:
        return "''"


def _suspicious(cell: str, column: Column) -> str:
    missing = f"{cell} IN ('', '''')" if column.required and column.form != "record_ids" else "FALSE"
    if column.form == "text":
        return f"{missing} OR length({cell}) > {column.longest} OR contains({cell}, chr(13))"
    empty = "" if column.required and column.form != "record_ids" else f"{cell} <> '' AND "
    if column.form == "choice":
        words = ", ".join(f"'{word}'" for word in column.choices)
        return f"{empty}{cell} NOT IN ({words})"
    wrong = f"NOT regexp_full_match({cell}, '{_SHAPES[column.form]}')"
    if column.form == "whole":
        wrong += f" OR TRY_CAST({cell} AS BIGINT) NOT BETWEEN {column.least} AND {column.most}"
    if column.form in ("day", "moment"):
        wrong += f" OR TRY_CAST(substr({cell}, 1, 10) AS DATE) IS NULL OR {cell} < '0001'"
    return f"{empty}({wrong})"
