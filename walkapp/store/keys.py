"""The key of this tablet, and the keys of others that are known here.

``key.json`` holds this tablet's own key, which signs its bundles. It is made once, on request, and is
never written over: whoever reads the bundles knows the tablet by it. It never leaves the store.

``trust.json`` holds the public keys of other tablets: which were trusted at their first merge, and
which are blocked.

Keys are only kept here. How one is made, what it signs and what follows from it is known above.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Callable
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from typing import Any

from walkapp.errors import StoreError
from walkapp.files import Disk
from walkapp.language import tr
from walkapp.store.identity import is_device_id
from walkapp.store.recovery import set_aside
from walkapp.store.sealed import read_sealed, write_sealed
from walkapp.store.trouble import explain

KEY_FILE, TRUST_FILE = "key.json", "trust.json"

TRUSTED, BLOCKED = "trusted", "blocked"
"""The states of a known key."""

_KEY = re.compile(r"[0-9a-f]{64}", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnKey:
    """The key of this tablet.

    Parameters
    ----------
    created
        When it was made, by the tablet's clock.
    public_key, secret
        32 bytes each, in 64 small hexadecimal digits.
    """

    created: str
    public_key: str
    secret: str = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownKey:
    """A key with which a bundle was signed that was merged here.

    Parameters
    ----------
    device
        Id of the tablet that signed with it.
    public_key
        32 bytes in 64 small hexadecimal digits.
    first_seen
        When it was first trusted, by this tablet's clock.
    state
        ``trusted`` or ``blocked``.
    """

    device: str
    public_key: str
    first_seen: str
    state: str = TRUSTED


@dataclass(frozen=True, slots=True, kw_only=True)
class TrustBook:
    """The keys of other tablets.

    Parameters
    ----------
    keys
        In the order in which they came. One tablet may have several, after its key was renewed.
    asks_always
        Whether no key is trusted just because it is the first of its tablet. So after an earlier book
        was damaged: a key that was blocked in it must not come back unnoticed.
    """

    keys: tuple[KnownKey, ...] = ()
    asks_always: bool = False


class KeyRing:
    """The two files of keys in an open store.

    Parameters
    ----------
    folder
        The store.
    disk
        Where to read and write.
    save
        Does something with the disk: explains a refusal, for which it is given the beginning of the
        sentence, and refuses itself when the store may only be read.
    """

    def __init__(self, folder: Path, disk: Disk, save: Callable[[str, Callable[[], None]], None]) -> None:
        self._own_path = folder / KEY_FILE
        self._trust_path = folder / TRUST_FILE
        self._folder = folder
        self._disk = disk
        self._save = save

    def own(self) -> OwnKey | None:
        """Give the key of this tablet; ``None`` when it has none.

        Raises
        ------
        StoreError
            If it is damaged, cannot be read, or a newer version of the program wrote it.
        """
        try:
            found = read_sealed(self._own_path, self._disk)
        except FileNotFoundError:
            return None
        except OSError as error:
            raise StoreError(
                tr(
                    "{own_path} cannot be read ({what}), so bundles are not signed: mend that, "
                    "or work as the user who made the key.",
                    own_path=self._own_path,
                    what=error.strerror or error,
                )
            ) from error
        if found is None or not _is_own(found.values):
            raise StoreError(
                tr(
                    "{own_path} is damaged, so bundles are not signed: put a good copy of it "
                    "back, or move it away and make a new key with 'walkapp keys --store "
                    "{folder} --make'.",
                    own_path=self._own_path,
                    folder=self._folder,
                )
            )
        return OwnKey(**found.values)

    def make_own(self, key: OwnKey) -> None:
        """Keep the key of this tablet, durable when it returns.

        Raises
        ------
        StoreError
            If the disk refuses.
        ValueError
            If there is a file for it already, whatever is in it.
        """
        if self._own_path.exists():
            raise ValueError("there is a key already, and it is never written over")
        what = tr("The key of this tablet was not saved")
        self._save(what, lambda: write_sealed(self._own_path, asdict(key), self._disk, private=True))

    def book(self) -> TrustBook:
        """Give the known keys of other tablets.

        Raises
        ------
        StoreError
            If they cannot be read, or a newer version of the program wrote them.
        """
        try:
            return read_book(self._trust_path, self._disk) or TrustBook(asks_always=True)
        except FileNotFoundError:
            return TrustBook()
        except OSError as error:
            raise explain(error, tr("The keys of other tablets could not be read"), self._folder) from error

    def keep(self, book: TrustBook) -> None:
        """Keep the known keys of other tablets, durable when it returns; the old ones or the new ones.

        Raises
        ------
        StoreError
            If the disk refuses.
        """
        what = tr("What is known of other tablets' keys was not saved")
        self._save(what, lambda: _write_book(self._trust_path, book, self._disk))


def mend_book(folder: Path, disk: Disk, *, writable: bool) -> list[str]:
    """Look after a damaged ``trust.json``: set it aside, begin a book that asks, and say so.

    Returns
    -------
    list of str
        One sentence for a person, or none when nothing is wrong.

    Raises
    ------
    OSError
        If it cannot be read.
    StoreError
        If a newer version of the program wrote it.
    """
    path = folder / TRUST_FILE
    try:
        if read_book(path, disk) is not None:
            return []
    except FileNotFoundError:
        return []
    where = tr("{path} is damaged", path=path)
    if writable:
        data = disk.read(path)
        kept = f"trust-{zlib.crc32(data):08x}.json"
        try:
            set_aside(folder / "aside" / kept, data, disk)
            _write_book(path, TrustBook(asks_always=True), disk)
            where = tr("{path} was damaged (a copy is in aside/{kept})", path=path, kept=kept)
        except OSError as error:
            # Not reason enough to keep a person from recording: until then it counts as damaged.
            where = tr(
                "{path} is damaged and could not be set aside ({what})",
                path=path,
                what=error.strerror or error,
            )
    lost = tr("so which keys of other tablets were trusted or blocked is lost")
    mend = tr("no key is trusted before its digits were compared and given with 'walkapp merge --trust'")
    return [tr("{where}, {lost}: from now on {mend}.", where=where, lost=lost, mend=mend)]


def read_book(path: Path, disk: Disk) -> TrustBook | None:
    """Read ``trust.json``; ``None`` when it is damaged.

    Raises
    ------
    FileNotFoundError, OSError, StoreError
        As for :func:`walkapp.store.sealed.read_sealed`.
    """
    sealed = read_sealed(path, disk)
    if sealed is None or set(sealed.values) != {"keys", "asks_always"}:
        return None
    values = sealed.values
    found, asks_always = values["keys"], values["asks_always"]
    if not isinstance(found, list) or not isinstance(asks_always, bool) or not all(map(_is_known, found)):
        return None
    return TrustBook(keys=tuple(KnownKey(**known) for known in found), asks_always=asks_always)


def _write_book(path: Path, book: TrustBook, disk: Disk) -> None:
    write_sealed(path, asdict(book), disk)


def _is_own(values: dict[str, Any]) -> bool:
    return _are_texts(values, OwnKey) and _are_keys(values, "public_key", "secret")


def _is_known(values: object) -> bool:
    return (
        isinstance(values, dict)
        and _are_texts(values, KnownKey)
        and _are_keys(values, "public_key")
        and is_device_id(values["device"])
        and values["state"] in (TRUSTED, BLOCKED)
    )


def _are_texts(values: dict[str, Any], kind: type) -> bool:
    names = {field.name for field in fields(kind)}
    return set(values) == names and all(isinstance(value, str) for value in values.values())


def _are_keys(values: dict[str, Any], *names: str) -> bool:
    return all(_KEY.fullmatch(values[name]) for name in names)
