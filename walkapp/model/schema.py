"""The one declaration from which record classes, CSV columns and Table Schemas come.

A record kind is a frozen dataclass whose fields are made by the column functions of this module
(:func:`text`, :func:`whole`, ...). The column travels in the field's metadata, so that

* the constructor checks every value (:func:`check_values`),
* the journal writes and reads plain JSON values (:func:`to_plain`, :func:`from_plain`),
* a bundle writes and reads one CSV cell per field (:meth:`Column.to_cell`,
  :meth:`Column.from_cell`) and describes it by the Table Schema standard
  (:meth:`Column.table_schema`).

An empty text is the one way to say "no value": there is no second kind of empty.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cache
from operator import attrgetter
from types import MappingProxyType
from typing import Any, TypeVar, dataclass_transform

from walkapp.errors import RecordError
from walkapp.language import tr
from walkapp.model.ids import is_record_id

__all__ = [
    "Column",
    "Plain",
    "check_values",
    "choice",
    "columns_of",
    "day",
    "decimal",
    "digest",
    "flag",
    "from_plain",
    "key",
    "moment",
    "record_id",
    "record_ids",
    "record_kind",
    "text",
    "to_plain",
    "whole",
]

Plain = str | int | bool | None | list[str]
"""What a field is in JSON."""

_KEY = re.compile(r"[a-z][a-z0-9-]{0,39}", re.ASCII)
_WHOLE = re.compile(r"-?[0-9]{1,16}", re.ASCII)
_DECIMAL = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,9})?", re.ASCII)
_DIGEST = re.compile(r"[0-9a-f]{64}", re.ASCII)
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,6})?(Z|[+-][0-9]{2}:[0-9]{2})",
    re.ASCII,
)
# All of the Unicode categories Cc and Cs but tab and line feed; both are closed for good.
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")
_LARGEST = 2**53 - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One field of a record: what it may hold and how it is written.

    Parameters
    ----------
    form
        Which of the column functions made it: ``text``, ``key``, ``choice``, ``whole``,
        ``decimal``, ``flag``, ``day``, ``moment``, ``record_id``, ``record_ids`` or ``digest``.
    title
        What it means, in words; goes into the Table Schema as the description.
    required
        Whether "no value" is refused.
    longest
        Most characters of a text.
    choices
        The words of a choice.
    least, most
        Ends of a whole number, both included.
    """

    form: str
    title: str
    required: bool = True
    longest: int = 4000
    choices: tuple[str, ...] = ()
    least: int = 0
    most: int = _LARGEST

    def problem(self, value: object) -> str:
        """Say in a few words what is wrong with `value`; empty when nothing is."""
        if self.form == "whole":
            return self._whole_problem(value)
        if self.form == "flag":
            return "" if isinstance(value, bool) else tr("must be true or false")
        if self.form == "record_ids":
            if not isinstance(value, tuple):
                return tr("must be a list of record ids")
            return next((p for p in map(_id_problem, value) if p), "")
        if not isinstance(value, str):
            return tr("must be text")
        if value == "":
            return tr("is missing") if self.required else ""
        return self._text_problem(value)

    def _whole_problem(self, value: object) -> str:
        if value is None:
            return tr("is missing") if self.required else ""
        if isinstance(value, bool) or not isinstance(value, int):
            return tr("must be a whole number")
        if not self.least <= value <= self.most:
            return tr(
                "must be from {least} to {most}, not {brief}",
                least=self.least,
                most=self.most,
                brief=_brief(value),
            )
        return ""

    def _text_problem(self, value: str) -> str:
        match self.form:
            case "text":
                return _free_text_problem(value, self.longest)
            case "record_id":
                return _id_problem(value)
            case "key":
                return _shape(_KEY, value, tr("must be small letters, digits and dashes (at most 40)"))
            case "choice":
                if value in self.choices:
                    return ""
                return tr(
                    "must be one of {choices}, not {brief}",
                    choices=", ".join(self.choices),
                    brief=_brief(value),
                )
            case "decimal":
                return _shape(_DECIMAL, value, tr("must be a decimal number such as -1.50"))
            case "digest":
                return _shape(_DIGEST, value, tr("must be a SHA-256 in 64 hexadecimal digits"))
            case "day":
                return _parse_problem(_DAY, date.fromisoformat, value, tr("a date such as 2026-03-02"))
            case "moment":
                return _parse_problem(
                    _MOMENT, datetime.fromisoformat, value, tr("a time such as 2026-03-02T06:10:00+01:00")
                )
            case _:
                raise ValueError(f"unknown column form {self.form!r}")

    def to_cell(self, value: Any) -> str:
        """Write a checked value as the text of one CSV cell."""
        return str(value) if self.codec is None else self.codec[0](value)

    def from_cell(self, cell: str) -> Any:
        """Read one CSV cell; the value still has to be checked.

        Raises
        ------
        RecordError
            If the cell cannot be this column's type at all.
        """
        return cell if self.codec is None else self.codec[1](cell)

    @property
    def codec(self) -> tuple[Callable[[Any], str], Callable[[str], Any]] | None:
        """What :meth:`to_cell` and :meth:`from_cell` do; none where a value is its own cell."""
        return _CODECS.get(self.form)

    def table_schema(self, name: str) -> dict[str, Any]:
        """Describe the column as a field of the Table Schema standard (Data Package v2)."""
        kinds = {"whole": "integer", "decimal": "number", "flag": "boolean", "day": "date"}
        found: dict[str, Any] = {
            "name": name,
            "type": kinds.get(self.form, "string"),
            "description": self.title,
        }
        constraints: dict[str, Any] = {}
        if self.required and self.form != "record_ids":
            constraints["required"] = True
        if self.choices:
            constraints["enum"] = list(self.choices)
        if self.form == "whole":
            constraints["minimum"] = self.least
        if constraints:
            found["constraints"] = constraints
        return found

    @property
    def is_free_text(self) -> bool:
        """Whether a person typed it, so that a spreadsheet could take it for a formula."""
        return self.form == "text"


def _whole_to_cell(value: int | None) -> str:
    return "" if value is None else str(value)


def _whole_from_cell(cell: str) -> int | None:
    if cell == "":
        return None
    if not _WHOLE.fullmatch(cell):
        raise RecordError(tr("must be a whole number, not {brief}", brief=_brief(cell)))
    return int(cell)


def _flag_to_cell(value: bool) -> str:
    return "true" if value else "false"


def _flag_from_cell(cell: str) -> bool:
    if cell not in ("true", "false"):
        raise RecordError(tr("must be true or false, not {brief}", brief=_brief(cell)))
    return cell == "true"


def _ids_from_cell(cell: str) -> tuple[str, ...]:
    return tuple(cell.split(" ")) if cell else ()


_CODECS: Mapping[str, tuple[Callable[[Any], str], Callable[[str], Any]]] = {
    "whole": (_whole_to_cell, _whole_from_cell),
    "flag": (_flag_to_cell, _flag_from_cell),
    "record_ids": (" ".join, _ids_from_cell),
}


def _brief(value: object) -> str:
    shown = repr(value)
    return shown if len(shown) <= 40 else shown[:37] + "..."


def _shape(pattern: re.Pattern[str], value: str, complaint: str) -> str:
    return (
        ""
        if pattern.fullmatch(value)
        else tr("{complaint}, not {brief}", complaint=complaint, brief=_brief(value))
    )


def _id_problem(value: object) -> str:
    if isinstance(value, str) and is_record_id(value):
        return ""
    return tr("must be a record id (UUID version 7), not {brief}", brief=_brief(value))


def _parse_problem(
    pattern: re.Pattern[str], parse: Callable[[str], object], value: str, example: str
) -> str:
    if pattern.fullmatch(value):
        try:
            parse(value)
        except ValueError:
            pass
        else:
            return ""
    return tr("must be {example}, not {brief}", example=example, brief=_brief(value))


def _free_text_problem(value: str, longest: int) -> str:
    if len(value) > longest:
        return tr("has {value} characters, at most {longest} are kept", value=len(value), longest=longest)
    if found := _CONTROL.search(value):
        return tr("holds the control character U+{ord}", ord=f"{ord(found[0]):04X}")
    return ""


def _field(column: Column, default: Any) -> Any:
    metadata = {"column": column}
    if default is dataclasses.MISSING:
        return field(metadata=metadata)
    return field(default=default, metadata=metadata)


def text(title: str, *, longest: int = 4000, default: Any = dataclasses.MISSING) -> Any:
    """Free text that a person typed; optional exactly when a default of ``""`` is given."""
    return _field(Column(form="text", title=title, longest=longest, required=default != ""), default)


def key(title: str, *, default: Any = dataclasses.MISSING) -> Any:
    """A short name from a checklist file, such as ``leak-test``."""
    return _field(Column(form="key", title=title, required=default != ""), default)


def choice(title: str, words: tuple[str, ...], *, default: Any = dataclasses.MISSING) -> Any:
    """One of a few fixed words."""
    return _field(Column(form="choice", title=title, choices=words, required=default != ""), default)


def whole(
    title: str, *, least: int = 0, most: int = 1_000_000_000, default: Any = dataclasses.MISSING
) -> Any:
    """A whole number; optional exactly when a default of ``None`` is given."""
    required = default is not None
    return _field(Column(form="whole", title=title, least=least, most=most, required=required), default)


def decimal(title: str, *, default: Any = dataclasses.MISSING) -> Any:
    """A decimal number kept as the text that was typed, so that 1.50 stays 1.50."""
    return _field(Column(form="decimal", title=title, required=default != ""), default)


def flag(title: str, *, default: Any = dataclasses.MISSING) -> Any:
    """True or false."""
    return _field(Column(form="flag", title=title), default)


def day(title: str, *, default: Any = dataclasses.MISSING) -> Any:
    """A calendar date, ISO 8601."""
    return _field(Column(form="day", title=title, required=default != ""), default)


def moment(title: str, *, default: Any = dataclasses.MISSING) -> Any:
    """A time with its offset from UTC, RFC 3339."""
    return _field(Column(form="moment", title=title, required=default != ""), default)


def record_id(title: str, *, default: Any = dataclasses.MISSING) -> Any:
    """The id of a record: a UUID version 7 (RFC 9562) in small letters."""
    return _field(Column(form="record_id", title=title, required=default != ""), default)


def record_ids(title: str, *, default: Any = dataclasses.MISSING) -> Any:
    """Several record ids, in no meaningful order."""
    return _field(Column(form="record_ids", title=title, required=False), default)


def digest(title: str, *, default: Any = dataclasses.MISSING) -> Any:
    """A SHA-256 in 64 small hexadecimal digits."""
    return _field(Column(form="digest", title=title, required=default != ""), default)


T = TypeVar("T")


@dataclass_transform(
    kw_only_default=True,
    frozen_default=True,
    field_specifiers=(
        text, key, choice, whole, decimal, flag, day, moment, record_id, record_ids, digest,
    ),
)  # fmt: skip
def record_kind(cls: type[T]) -> type[T]:
    """Make a class of columns into a frozen record class.

    How two are compared and how one is written out is the same for all: ``dataclass`` would compile three
    functions more for each kind, and the start of the app waits for all kinds.
    """
    made = dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)(cls)
    for name, way in (("__eq__", _is_equal), ("__hash__", _hash_of), ("__repr__", _written_out)):
        setattr(made, name, way)
    return made


def _is_equal(one: Any, other: Any) -> Any:
    """Whether all fields of two records of one kind are equal; not comparable otherwise."""
    if type(one) is not type(other):
        return NotImplemented
    values: attrgetter[Any] = _values_of(one.__class__)
    return values(one) == values(other)


def _hash_of(record: Any) -> int:
    return hash(_values_of(record.__class__)(record))


def _written_out(record: Any) -> str:
    said = ", ".join(f"{f.name}={getattr(record, f.name)!r}" for f in dataclasses.fields(record))
    return f"{type(record).__qualname__}({said})"


@cache
def _values_of(kind: Any) -> attrgetter[Any]:
    """Give what reads the values of all fields of a record at once."""
    return attrgetter(*(field.name for field in dataclasses.fields(kind)))


def columns_of(kind: type) -> Mapping[str, Column]:
    """Give the columns of a record class by field name, in the order of declaration."""
    return _columns_of(kind)


@cache
def _columns_of(kind: Any) -> Mapping[str, Column]:
    # Asked for at every entry: reading the metadata anew would take a fifth of writing one.
    found = {f.name: f.metadata["column"] for f in dataclasses.fields(kind) if "column" in f.metadata}
    return MappingProxyType(found)


def check_values(record: Any) -> None:
    """Check every column of a new record.

    Raises
    ------
    RecordError
        Naming the first field that is wrong and what is wrong with it.
    """
    for name, column in columns_of(type(record)).items():
        problem = column.problem(getattr(record, name))
        if problem:
            raise RecordError(f"{name} {problem}")


def to_plain(record: Any) -> dict[str, Plain]:
    """Turn a record into JSON values, fields in the order of declaration."""
    plain: dict[str, Plain] = {}
    for name in columns_of(type(record)):
        value = getattr(record, name)
        plain[name] = list(value) if isinstance(value, tuple) else value
    return plain


def from_plain(kind: Callable[..., T], names: Iterable[str], plain: Mapping[str, Any]) -> T:
    """Build a record from JSON values.

    Parameters
    ----------
    kind
        The record class.
    names
        Its field names.
    plain
        JSON values by field name; no others than `names` are allowed.

    Raises
    ------
    RecordError
        If a field is unknown or missing, or its value is not allowed.
    """
    wanted = set(names)
    unknown = sorted(set(plain) - wanted)
    if unknown:
        raise RecordError(tr("{unknown} is not a field that this version knows", unknown=unknown[0]))
    values = {name: tuple(v) if isinstance(v, list) else v for name, v in plain.items()}
    try:
        return kind(**values)
    except TypeError:
        missing = sorted(wanted - set(plain))
        raise RecordError(
            tr("{field} is missing", field=missing[0] if missing else tr("a field"))
        ) from None
