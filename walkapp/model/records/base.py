"""What every record carries, and the kinds that belong to no topic: withdrawals and carried records."""

from __future__ import annotations

from dataclasses import dataclass
from dataclasses import fields as record_fields
from typing import Any, ClassVar

from walkapp.errors import RecordError
from walkapp.model.schema import (
    check_values,
    columns_of,
    moment,
    record_id,
    record_ids,
    record_kind,
    text,
    whole,
)

YES_NO_UNKNOWN = ("yes", "no", "unknown")


def check_nok_of(nok: int, checked: int) -> None:
    """Refuse more NOK parts than parts checked.

    Raises
    ------
    RecordError
        If `nok` is above `checked`.
    """
    if nok > checked:
        raise RecordError(f"nok must not be above checked ({nok} of {checked})")


def check_in_order(first: str, last: str, names: str) -> None:
    """Refuse two dates (ISO 8601, either may be empty) of which the second is before the first.

    Raises
    ------
    RecordError
        Saying that the fields `names` are not in order.
    """
    if first and last and last < first:
        raise RecordError(f"{names} must be in order: {last} is before {first}")


@record_kind
class Record:
    """What every record carries, whatever its kind.

    Raises
    ------
    RecordError
        At construction, naming the first field that holds something it may not.
    """

    kind: ClassVar[str] = ""
    title: ClassVar[str] = ""
    heads_all_hold: ClassVar[bool] = False
    """Whether corrections made apart from each other hold beside each other instead of in dispute."""

    id: str = record_id("Id of this record, unique everywhere")
    device: str = record_id("Id of the tablet that made it")
    number: int = whole("Running number of the record on that tablet, from 1", least=1)
    at: str = moment("When it was made, by the tablet's clock, with offset from UTC")
    by: str = text("Role and initials of the person, never a name", longest=40)
    concern: str = record_id(
        "Id of the concern that it belongs to; of an audit, that of the audit book of its stream and "
        "month; of what the desk keeps of a stream, that of its desk book"
    )
    walk: str = record_id("Id of the walk that it belongs to; empty for the concern itself", default="")
    replaces: tuple[str, ...] = record_ids("Ids of the records that this one corrects", default=())
    why: str = text("Why an earlier record is corrected", longest=400, default="")

    def __post_init__(self) -> None:
        check_values(self)
        if self.replaces and not self.why:
            raise RecordError("why is missing: a record that replaces another says why")
        if self.walk and self.walk == self.concern:
            raise RecordError("walk must differ from concern")
        self._check_together()

    def _check_together(self) -> None:
        """Check what no column can check alone; kinds that need it override this."""

    @property
    def scope(self) -> str:
        """Id of the walk; outside any walk that of the concern or audit book: one journal each."""
        return self.walk or self.concern


@record_kind
class Withdrawal(Record):
    """The records named in `replaces` no longer count."""

    kind: ClassVar[str] = "withdrawal"
    title: ClassVar[str] = "Withdrawals: entries taken back, and why"

    def _check_together(self) -> None:
        if not self.replaces:
            raise RecordError("replaces is missing: a withdrawal names what it takes back")


HEADER = tuple(columns_of(Record))
"""Names of the fields that every record has."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedRecord(Record):
    """A record of a kind that this version does not know: kept and passed on, never interpreted.

    Parameters
    ----------
    carried_kind
        Name of the kind, as the newer version wrote it.
    cells
        Name and CSV cell of each field beyond the header, in the order they came.
    """

    carried_kind: str
    cells: tuple[tuple[str, str], ...]


def kind_of(record: Record) -> str:
    """Name of the record's kind in journals and bundles."""
    return record.carried_kind if isinstance(record, CarriedRecord) else record.kind


def what_is_said(record: Record) -> dict[str, Any]:
    """What a record says beyond its header."""
    return {
        field.name: getattr(record, field.name)
        for field in record_fields(record)
        if field.name not in HEADER
    }
