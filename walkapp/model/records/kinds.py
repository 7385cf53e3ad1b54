"""Every kind of record, and how records become JSON values and come back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from walkapp.errors import RecordError
from walkapp.model.records.audits import (
    AuditAnswer,
    AuditMissed,
    AuditReaction,
    AuditSigned,
    AuditStart,
    FindingClosed,
)
from walkapp.model.records.base import HEADER, CarriedRecord, Record, Withdrawal, kind_of
from walkapp.model.records.concerns import Concern, Escalation, StationWeight
from walkapp.model.records.containment import CleanPoint, Escape, Sorting, SuspectRange, SuspectStock
from walkapp.model.records.desk import Deliveries, SuccessFactor
from walkapp.model.records.fixing import Action, ActionDone, EffectCheck, WatchQuestion
from walkapp.model.records.pictures import Photo, PhotoCopy, PictureMark
from walkapp.model.records.spreading import Lesson, ReadAcross
from walkapp.model.records.studies import KnownPart, RatesChosen, Study, StudyReading
from walkapp.model.records.trials import Confirmation, ConfirmationTurn, Trial, TrialFactor, TrialRun
from walkapp.model.records.walks import (
    Answer,
    ChangePoint,
    Count,
    DatedCount,
    HazardsRead,
    Measurement,
    Note,
    PartSeen,
    Sample,
    Setting,
    WalkStart,
)
from walkapp.model.schema import Column, columns_of, from_plain, to_plain

KINDS: Mapping[str, type[Record]] = {
    kind.kind: kind
    for kind in (
        Concern, Escalation, WalkStart, HazardsRead, Sample, Answer, Count, DatedCount, Measurement,
        Setting, ChangePoint, Note, PartSeen, Photo, PhotoCopy, Study, KnownPart, StudyReading, RatesChosen,
        StationWeight, SuspectRange, SuspectStock, Sorting, CleanPoint, Escape, Trial, TrialFactor,
        TrialRun, Confirmation, ConfirmationTurn, Action, ActionDone, EffectCheck, WatchQuestion,
        ReadAcross, Lesson, AuditStart, AuditAnswer, AuditReaction, FindingClosed, AuditSigned, AuditMissed,
        Deliveries, SuccessFactor, PictureMark, Withdrawal,
    )
}  # fmt: skip
"""Every kind of record that this version writes, by its name in journals and bundles."""

_LONGEST_KIND = 40


def record_to_plain(record: Record) -> dict[str, Any]:
    """Turn a record into JSON values, its kind first."""
    plain: dict[str, Any] = {"kind": kind_of(record)}
    plain.update(to_plain(record))
    if isinstance(record, CarriedRecord):
        plain["cells"] = [list(cell) for cell in record.cells]
    return plain


def record_from_plain(plain: Mapping[str, Any]) -> Record:
    """Build a record from the JSON values that :func:`record_to_plain` makes.

    Raises
    ------
    RecordError
        If the kind is missing, or a field is missing, unknown or not allowed.
    """
    fields = dict(plain)
    name = fields.pop("kind", None)
    if not isinstance(name, str) or not name:
        raise RecordError("kind is missing")
    cells = fields.pop("cells", None)
    known = KINDS.get(name)
    if known is not None:
        # An older version may have carried it as cells before this one knew the kind.
        said = {} if cells is None else _read_cells(known, _checked_cells(name, cells))
        return from_plain(known, columns_of(known), {**fields, **said})
    carried = {"carried_kind": name, "cells": _checked_cells(name, cells)}
    return from_plain(CarriedRecord, (*HEADER, *carried), {**fields, **carried})


def _read_cells(kind: type[Record], cells: tuple[tuple[str, str], ...]) -> dict[str, Any]:
    columns = columns_of(kind)
    read: dict[str, Any] = {}
    for name, cell in cells:
        if name not in columns:
            raise RecordError(f"{name} is not a field that this version knows")
        try:
            read[name] = columns[name].from_cell(cell)
        except RecordError as error:
            raise RecordError(f"{name} {error}") from None
    return read


def _checked_cells(name: str, cells: object) -> tuple[tuple[str, str], ...]:
    if isinstance(cells, list) and all(
        isinstance(c, list) and len(c) == 2 and all(isinstance(part, str) for part in c) for c in cells
    ):
        return tuple((field, cell) for field, cell in cells)
    shown = name if len(name) <= _LONGEST_KIND else f"{name[:_LONGEST_KIND]}..."
    raise RecordError(f"kind {shown!r} is not known and has no cells to carry")


def columns_of_kind(name: str) -> Mapping[str, Column]:
    """Columns of a known kind, header first."""
    return columns_of(KINDS[name])
