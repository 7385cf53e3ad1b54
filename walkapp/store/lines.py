"""One line of a journal: a checksum, a space, one JSON object, a line feed.

Format 1: 8 small hexadecimal digits of the CRC-32 of the JSON bytes, then the JSON without spaces
and in ASCII only, so that one line is one record whatever a text holds.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Mapping
from typing import Any, NoReturn

from walkapp.language import tr


class LineError(ValueError):
    """A line is not what was written; the text says in a few words why."""


def encode_line(plain: Mapping[str, Any]) -> bytes:
    r"""Write JSON values as one line.

    Raises
    ------
    ValueError
        If a value has no JSON form.

    Examples
    --------
    >>> encode_line({"number": 1})
    b'c225affa {"number":1}\n'
    """
    body = _ENCODER.encode(plain).encode("ascii")
    return b"%08x %s\n" % (zlib.crc32(body), body)


def decode_line(line: bytes) -> dict[str, Any]:
    """Read one line without its line feed.

    The checksum is compared as text: read as a number it would also pass with capital letters.

    Raises
    ------
    LineError
        If the checksum does not match, or the rest is not a JSON object.
    """
    body = line[9:]
    if line[:9] != b"%08x " % zlib.crc32(body):
        raise LineError(tr("the checksum does not match"))
    try:
        text = body.decode("ascii")
        plain, end = _DECODER.raw_decode(text)
    except (ValueError, RecursionError):
        raise LineError(tr("it is not JSON")) from None
    if not isinstance(plain, dict) or end != len(text):
        raise LineError(tr("it is not a JSON object"))
    return plain


def _refuse(name: str) -> NoReturn:
    raise ValueError(f"{name} is not JSON")


_ENCODER = json.JSONEncoder(ensure_ascii=True, allow_nan=False, separators=(",", ":"))
_DECODER = json.JSONDecoder(parse_constant=_refuse)
