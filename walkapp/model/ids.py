"""Ids that are unique on every tablet without asking anybody."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

_RECORD_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}", re.ASCII)
_RANDOM_BITS = 62
_COUNTER_BITS = 12


def compose_uuid7(unix_ms: int, counter: int, random_bits: int) -> str:
    """Put together a UUID version 7.

    Parameters
    ----------
    unix_ms
        Milliseconds since 1970 in UTC, 0 to 2**48 - 1.
    counter
        The 12 bits after the version, 0 to 4095.
    random_bits
        The last 62 bits.

    Returns
    -------
    str
        36 characters in small letters.

    References
    ----------
    RFC 9562 (2024), section 5.7.

    Examples
    --------
    The example of RFC 9562, appendix A.6:

    >>> compose_uuid7(0x017F22E279B0, 0xCC3, 0x18C4DC0C0C07398F)
    '017f22e2-79b0-7cc3-98c4-dc0c0c07398f'
    """
    if not 0 <= unix_ms < 2**48 or not 0 <= counter < 2**_COUNTER_BITS:
        raise ValueError("unix_ms or counter out of range")
    whole = unix_ms << 80 | 0x7 << 76 | counter << 64 | 0b10 << 62 | random_bits % 2**_RANDOM_BITS
    digits = f"{whole:032x}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


_BOOK_COUNTER = 0xA0D
_DESK_COUNTER = 0xDE5
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def book_id(stream: str, day: date) -> str:
    """Give the id of the audit book of a stream for the month of a day.

    Every tablet arrives at the same id without asking anybody, so that the audits of one stream and month
    lie in one book whoever did them. It is a UUID version 7 whose time is the first moment of the month in
    UTC, and whose other bits follow from the stream (RFC 9562 leaves open where they come from).

    Parameters
    ----------
    stream
        Id of the value stream.
    day
        Any day of the month, 1970 or later; an earlier one gives the book of January 1970.

    Examples
    --------
    >>> book_id("washer-reservoir", date(2026, 3, 2)) == book_id("washer-reservoir", date(2026, 3, 31))
    True
    """
    # no text: what the id is made of
    digest = hashlib.sha256(f"audits of {stream}".encode()).digest()
    first = max(datetime(day.year, day.month, 1, tzinfo=UTC), _EPOCH)
    return compose_uuid7(
        (first - _EPOCH) // timedelta(milliseconds=1), _BOOK_COUNTER, int.from_bytes(digest[:8], "big")
    )


def desk_book_id(stream: str) -> str:
    """Give the id of the desk book of a stream: what is kept of the stream itself and of no concern.

    As with :func:`book_id` every tablet arrives at the same one. Its time is the first moment of 1970.

    Parameters
    ----------
    stream
        Id of the value stream.

    Examples
    --------
    >>> desk_book_id("washer-reservoir")[:18]
    '00000000-0000-7de5'
    """
    digest = hashlib.sha256(  # no text: what the id is made of
        f"desk of {stream}".encode()
    ).digest()
    return compose_uuid7(0, _DESK_COUNTER, int.from_bytes(digest[:8], "big"))


def is_desk_book(some_id: str) -> bool:
    """Say whether an id is that of a desk book.

    No tablet makes such an id unless its clock says 1970.

    Examples
    --------
    >>> is_desk_book(desk_book_id("washer-reservoir"))
    True
    >>> is_desk_book(book_id("washer-reservoir", date(1970, 1, 1)))
    False
    """
    return some_id.startswith(f"00000000-0000-7{_DESK_COUNTER:03x}-")


def is_book(some_id: str) -> bool:
    """Say whether an id is that of a book, an audit book or a desk book, and not that of a concern.

    An id that a tablet makes has the time when it was made: it could only be taken for an audit book's in
    the first thousandth of a second of a month, and then in one case of 4,096.

    Examples
    --------
    >>> is_book(book_id("washer-reservoir", date(2026, 3, 2)))
    True
    >>> is_book("017f22e2-79b0-7cc3-98c4-dc0c0c07398f")
    False
    """
    return month_of_book(some_id) is not None or is_desk_book(some_id)


def month_of_book(some_id: str) -> date | None:
    """Give the first day of the month of an audit book; none when the id is not that of one.

    Examples
    --------
    >>> month_of_book(book_id("washer-reservoir", date(2026, 3, 31)))
    datetime.date(2026, 3, 1)
    """
    digits = some_id.replace("-", "")
    if digits[13:16] != f"{_BOOK_COUNTER:03x}":
        return None
    try:
        time = _EPOCH + timedelta(milliseconds=int(digits[:12], 16))
    except (OverflowError, ValueError):
        return None
    begins = time.replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    return begins.date() if time == begins else None


def is_record_id(text: str) -> bool:
    """Say whether a text has the shape of a record's id."""
    return _RECORD_ID.fullmatch(text) is not None


def short_id(record_id: str) -> str:
    """Give the last six characters of an id: enough to tell two tablets apart by eye."""
    return record_id[-6:]


class IdMaker:
    """Makes ids that rise even when the clock is set back (RFC 9562, section 6.2).

    Parameters
    ----------
    now_ms
        Gives milliseconds since 1970 in UTC.
    random_bits
        Gives that many random bits as a whole number.
    """

    def __init__(self, now_ms: Callable[[], int], random_bits: Callable[[int], int]) -> None:
        self._now_ms = now_ms
        self._random_bits = random_bits
        self._last_ms = -1
        self._counter = 0

    def __call__(self) -> str:
        """Make the next id."""
        now = min(max(self._now_ms(), 0), 2**48 - 2)
        if now > self._last_ms:
            self._last_ms, self._counter = now, self._random_bits(_COUNTER_BITS - 1)
        else:
            self._counter += 1
            if self._counter == 2**_COUNTER_BITS:
                self._last_ms, self._counter = self._last_ms + 1, 0
        return compose_uuid7(self._last_ms, self._counter, self._random_bits(_RANDOM_BITS))


class RisingIds:
    """Makes ids that sort behind all earlier ones of a tablet, after a restart on a wrong clock as well.

    What is "the newest" of several records is read from the order of their ids, so a clock that went
    back must not put a new record before an old one.

    Parameters
    ----------
    new_id
        Makes the ids, UUIDs version 7.
    newest
        The greatest id of this tablet so far; empty when there is none.
    """

    def __init__(self, new_id: Callable[[], str], newest: str) -> None:
        self._new_id = new_id
        self._newest = newest

    def __call__(self) -> str:
        """Make the next id."""
        fresh = self._new_id()
        self._newest = fresh if fresh > self._newest else next_uuid7(self._newest, fresh)
        return self._newest


def next_uuid7(earlier: str, fresh: str) -> str:
    """Give an id that sorts behind `earlier`, with the chance that is in `fresh`.

    Time and counter go on from those of `earlier` (RFC 9562, section 6.2: a clock that was set back).
    Behind the very last time that an id can hold there is nothing, so `fresh` is given back then.

    Examples
    --------
    >>> next_uuid7("017f22e2-79b0-7fff-98c4-dc0c0c07398f", "00000000-0000-7000-8000-000000000001")
    '017f22e2-79b1-7000-8000-000000000001'
    """
    whole = int(earlier.replace("-", ""), 16)
    counted = (whole >> 80) << _COUNTER_BITS | (whole >> 64) % 2**_COUNTER_BITS
    unix_ms, counter = divmod(counted + 1, 2**_COUNTER_BITS)
    if unix_ms >= 2**48:
        return fresh
    return compose_uuid7(unix_ms, counter, int(fresh.replace("-", ""), 16))
