"""``datapackage.json``: what a bundle holds, by the Data Package standard, version 2.

The standard is at datapackage.org. It asks for ``hash`` with the name of the method in front, for
``bytes``, for relative paths, and for a Table Schema of every table.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

from walkapp.bundle.cells import RULE
from walkapp.bundle.layout import DESCRIPTOR, FORMAT, SIGNATURE, UPDATE
from walkapp.bundle.places import Place, brief
from walkapp.bundle.table_writing import Table
from walkapp.language import tr

__all__ = ["Listing", "describe_file", "describe_table", "read_descriptor", "write_descriptor"]

_SCHEMA = "https://datapackage.org/profiles/2.0/datapackage.json"
_MEDIA_TYPES = {
    "csv": "text/csv",
    "jpg": "image/jpeg",
    "png": "image/png",
    "toml": "application/toml",
    "txt": "text/plain",
}
_DIALECT = {
    "delimiter": ",",
    "doubleQuote": True,
    "header": True,
    "lineTerminator": "\r\n",
    "quoteChar": '"',
    "skipInitialSpace": False,
}
_PARENTS = {"concern": "concern", "walk": "walk_start", "audit": "audit_start", "finding": "audit_answer"}
_DEEPEST = 20
_LONGEST_NUMBER = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing:
    """What the descriptor says of one file.

    Parameters
    ----------
    path
        Name of the member.
    size_bytes
        Its size, unpacked.
    sha256
        Its SHA-256 in 64 small hexadecimal digits.
    """

    path: str
    size_bytes: int
    sha256: str


def describe_file(listing: Listing) -> dict[str, Any]:
    """Describe a file that is no table."""
    ending = listing.path.rpartition(".")[2]
    found: dict[str, Any] = {
        "name": _resource_name(listing.path),
        "path": listing.path,
        "bytes": listing.size_bytes,
        "hash": f"sha256:{listing.sha256}",
        "format": ending,
        "mediatype": _MEDIA_TYPES[ending],
    }
    if ending in ("txt", "toml"):
        found["encoding"] = "utf-8"
    return found


def _resource_name(path: str) -> str:
    return path.rpartition(".")[0].lower().replace("/", "-")


def describe_table(table: Table, listing: Listing, tables: Mapping[str, Table]) -> dict[str, Any]:
    """Describe a table.

    Parameters
    ----------
    table, listing
        The table and its file.
    tables
        All tables of the bundle by name.

    Notes
    -----
    A key is stated only where it is true of this bundle. Two tablets may hold different records
    under one id (a conflict, and both are passed on): ``id`` is then no primary key. A bundle of
    some days may lack the concern or walk that its records belong to: then that is no foreign key.
    """
    schema: dict[str, Any] = {
        "fields": [column.field for column in table.columns],
        "missingValues": [""],
    }
    ids = table.column("id")
    if ids and len(set(ids)) == len(ids):
        schema["primaryKey"] = ["id"]
    foreign = [
        {
            "fields": [name],
            "reference": {"resource": "" if parent == table.name else parent, "fields": ["id"]},
        }
        for name, parent in _PARENTS.items()
        if parent in tables and _all_known(table.column(name), tables[parent].column("id"))
    ]
    if foreign:
        schema["foreignKeys"] = foreign
    return {
        **describe_file(listing),
        "name": table.name,
        "type": "table",
        "title": table.title,
        "encoding": "utf-8",
        "dialect": _DIALECT,
        "schema": schema,
    }


def _all_known(values: Sequence[str], ids: Sequence[str]) -> bool:
    return any(values) and set(values) - {""} <= set(ids)


def write_descriptor(resources: Iterable[Mapping[str, Any]], created: str) -> bytes:
    """Write the descriptor; the same content always gives the same bytes.

    Parameters
    ----------
    resources
        What :func:`describe_file` and :func:`describe_table` made, at least one, in any order.
    created
        Time of the latest record, RFC 3339; empty without records. No clock is read.
    """
    ordered = sorted(resources, key=lambda resource: str(resource["path"]))
    lines = "".join(f"{resource['hash']}  {resource['path']}\n" for resource in ordered)
    content = hashlib.sha256(lines.encode("ascii")).hexdigest()
    descriptor: dict[str, Any] = {
        "$schema": _SCHEMA,
        "name": f"walk-{content[:12]}",
        "id": f"sha256:{content}",
        "title": "Records of value stream walks",  # no text: a column of a file, the same in every language
        # no text: a column of a file, the same in every language
        "description": "README.txt says in plain words what this is and how to open it.",
        "resources": ordered,
        "walkapp": {"format": FORMAT, "cells": RULE},
    }
    if created:
        descriptor["created"] = created
    return (json.dumps(descriptor, indent=1, sort_keys=True) + "\n").encode("ascii")


def read_descriptor(data: bytes, place: Place) -> tuple[int, dict[str, Listing]]:
    """Read the descriptor and check it.

    Returns
    -------
    int
        The format of the bundle, 1 to `FORMAT`.
    dict
        The files that the bundle says it holds, by path; at least one.

    Raises
    ------
    BundleError
        If it is not JSON as this program accepts it, was made by a newer version, or does not
        list its files with size and SHA-256.
    """
    descriptor = _parse(data, place)
    number: int = _get(_get(descriptor, "walkapp", dict, place), "format", int, place, "walkapp.")
    if number > FORMAT:
        raise place.error(
            tr("has the format {number}, this version reads up to {format}", number=number, format=FORMAT),
            tr(UPDATE),
        )
    if number < 1:
        raise place.error(tr("walkapp.format must be 1 or more"))
    listings: dict[str, Listing] = {}
    for index, resource in enumerate(_get(descriptor, "resources", list, place)):
        where = f"resources[{index}]"
        if not isinstance(resource, dict):
            raise place.error(tr("{where} must be an object", where=where))
        listing = _listing(resource, place, f"{where}.")
        if listing.path in listings:
            raise place.error(
                tr("{where}.path lists {brief} a second time", where=where, brief=brief(listing.path))
            )
        listings[listing.path] = listing
    if not listings:
        raise place.error(tr("resources lists no files"))
    return number, listings


def _listing(resource: dict[str, Any], place: Place, where: str) -> Listing:
    path = _get(resource, "path", str, place, where)
    size = _get(resource, "bytes", int, place, where)
    method, _, digest = _get(resource, "hash", str, place, where).partition(":")
    if path == DESCRIPTOR:
        raise place.error(tr("{where}path lists the descriptor itself", where=where))
    if path == SIGNATURE:
        raise place.error(tr("{where}path lists the signature, which is made of this file", where=where))
    if size < 0:
        raise place.error(tr("{where}bytes must be 0 or more", where=where))
    if method != "sha256" or len(digest) != 64 or set(digest) - set("0123456789abcdef"):
        raise place.error(tr("{where}hash must be sha256: and 64 small hexadecimal digits", where=where))
    return Listing(path=path, size_bytes=size, sha256=digest)


def _get(found: dict[str, Any], name: str, kind: type, place: Place, where: str = "") -> Any:
    words = {dict: tr("an object"), list: tr("a list"), str: "text", int: tr("a whole number")}
    if name not in found:
        raise place.error(tr("{where}{name} is missing", where=where, name=name))
    value = found[name]
    if not isinstance(value, kind) or isinstance(value, bool):
        raise place.error(tr("{where}{name} must be {words}", where=where, name=name, words=words[kind]))
    return value


class _NotAcceptedError(ValueError):
    """JSON that the standard parser takes, and this program does not."""


def _parse(data: bytes, place: Place) -> dict[str, Any]:
    try:
        found = json.loads(
            data.decode("utf-8"),
            object_pairs_hook=_object,
            parse_constant=_refuse_constant,
            parse_float=_float,
            parse_int=_int,
        )
        _check_depth(found, _DEEPEST)
    except UnicodeDecodeError as error:
        raise place.error(tr("is not UTF-8 at byte {start}", start=error.start)) from error
    except RecursionError as error:
        raise place.error(tr("is nested deeper than {deepest} levels", deepest=_DEEPEST)) from error
    except _NotAcceptedError as error:
        raise place.error(str(error)) from error
    except json.JSONDecodeError as error:
        raise place.error(
            tr("is not JSON (line {lineno}: {msg})", lineno=error.lineno, msg=error.msg)
        ) from error
    if not isinstance(found, dict):
        raise place.error(tr("must be a JSON object"))
    return found


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        twice = Counter(name for name, _ in pairs).most_common(1)[0][0]
        raise _NotAcceptedError(tr("has the name {brief} twice in one object", brief=brief(twice)))
    return found


def _refuse_constant(word: str) -> NoReturn:
    raise _NotAcceptedError(tr("holds {word}, which is not JSON", word=word))


def _float(digits: str) -> float:
    value = float(digits)
    if not math.isfinite(value):
        raise _NotAcceptedError(tr("holds a number out of range ({brief})", brief=brief(digits)))
    return value


def _int(digits: str) -> int:
    if len(digits.lstrip("-")) > _LONGEST_NUMBER:
        raise _NotAcceptedError(tr("holds a number out of range ({brief})", brief=brief(digits)))
    return int(digits)


def _check_depth(value: Any, left: int) -> None:
    if left == 0:
        raise _NotAcceptedError(tr("is nested deeper than {deepest} levels", deepest=_DEEPEST))
    if isinstance(value, dict | list):
        for inside in value.values() if isinstance(value, dict) else value:
            _check_depth(inside, left - 1)
