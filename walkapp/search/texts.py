"""What a person typed into a record."""

from __future__ import annotations

from collections.abc import Collection
from functools import cache

from walkapp.model.records import (
    Answer,
    AuditAnswer,
    CarriedRecord,
    Count,
    DatedCount,
    Record,
    columns_of_kind,
    kind_of,
)

_NOT_TYPED = frozenset(
    {"by", "unit", "unit_of_measure", "covered", "seed", "shift", "added", "asked", "paper_by", "points"}
)
"""Text columns that say who made a record, that are tapped, or that the program wrote: an audit's question
is that of the checklist."""


def typed_texts(record: Record, not_typed: Collection[str] = ()) -> dict[str, str]:
    """Give every text that a person typed into a record, by field, in the order of its fields.

    Parameters
    ----------
    record
        The record. Of a kind that this version does not know it gives none: which of its fields are texts
        only a newer version can tell.
    not_typed
        Reasons for a correction that the program writes by itself.
    """
    if isinstance(record, CarriedRecord):
        return {}
    texts = {name: getattr(record, name) for name in _text_columns(kind_of(record))}
    return {
        name: text for name, text in texts.items() if text and not (name == "why" and text in not_typed)
    }


def is_searchable(record: Record, typed: Collection[str]) -> bool:
    """Whether a record can be found: somebody typed something, or a NOK part was found.

    An OK without a word, of which a walk has hundreds, would hide everything else at its station.

    Parameters
    ----------
    record
        The record.
    typed
        The fields into which somebody typed.
    """
    match record:
        case Answer() | AuditAnswer():
            return bool(typed) or record.answer == "not_ok"
        case Count() | DatedCount():
            return bool(typed) or record.nok > 0
        case _:
            return bool(typed)


@cache
def _text_columns(kind: str) -> tuple[str, ...]:
    columns = columns_of_kind(kind)
    return tuple(
        name for name, column in columns.items() if column.form == "text" and name not in _NOT_TYPED
    )
