"""The records of one scope in memory."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from walkapp.model.records import CarriedRecord, Record, record_from_plain, record_to_plain
from walkapp.store.lines import decode_line, encode_line


class ScopeMemory:
    """A set of records that only grows; adding one costs the same whatever is there.

    Attributes
    ----------
    documents
        JSON values of each record by the text of its document number, 1, 2, 3...: the shape in
        which TinyDB keeps a table. Never handed out, only copies of it.
    """

    def __init__(self) -> None:
        self.documents: dict[str, Mapping[str, Any]] = {}
        self._numbers_of_id: dict[str, tuple[str, ...]] = {}
        self._records: list[Record] = []
        self._sorted: tuple[Record, ...] | None = None

    def add(self, plain: Mapping[str, Any], record: Record) -> int | None:
        """Add a record unless the same one is there; give its document number.

        Parameters
        ----------
        plain
            The JSON values as they were decoded from the journal; kept, so the caller must not.
        record
            The record made from them.

        Returns
        -------
        int or None
            ``None`` when the same record, by id and content, was there already.
        """
        twins = self._numbers_of_id.get(record.id, ())
        if twins and any(self.documents[twin] == plain for twin in twins):
            return None
        number = len(self.documents) + 1
        self.documents[str(number)] = plain
        self._numbers_of_id[record.id] = (*twins, str(number))
        self._records.append(record)
        self._sorted = None
        return number

    def records(self) -> tuple[Record, ...]:
        """All records sorted by device, running number and id."""
        if self._sorted is None:
            has_twins = len(self._numbers_of_id) < len(self._records)
            self._records.sort(key=_order_with_content if has_twins else _order)
            self._sorted = tuple(self._records)
        return self._sorted


def _order(record: Record) -> tuple[str, int, str]:
    return record.device, record.number, record.id


def _order_with_content(record: Record) -> tuple[str, int, str, bytes]:
    # Records with the same id but different content come in the same order on every tablet.
    return *_order(record), content_of(record)


def content_of(record: Record) -> bytes:
    """Give the bytes by which two records are the same or not."""
    return encode_line(record_to_plain(record))


def through_json(record: Record) -> tuple[bytes, dict[str, Any], Record]:
    """Encode a record, and give with the line what a later opening will make of it.

    What goes into memory is what was decoded, not the caller's object. Only a record of a known kind
    whose values come back the same is taken as it is, which saves checking them all a second time.

    Raises
    ------
    RecordError
        If it could not be read again.
    """
    values = record_to_plain(record)
    line = encode_line(values)
    plain = decode_line(line[:-1])
    is_same = plain == values and not isinstance(record, CarriedRecord)
    return line, plain, record if is_same else record_from_plain(plain)
