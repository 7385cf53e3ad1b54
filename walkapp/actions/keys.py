"""The key with which this tablet signs its bundles, and the known keys of other tablets.

What knows bundles is imported where it is used: the first page shows before it is needed.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError, StoreError
from walkapp.files import fingerprint_of
from walkapp.language import tr
from walkapp.store import BLOCKED, KnownKey, OwnKey, Store

if TYPE_CHECKING:
    from walkapp.bundle import BundleFacts, Signer


def make_key(place: Workplace, secret: bytes) -> OwnKey:
    """Make the key of this tablet; one that is there already is kept.

    Parameters
    ----------
    place
        The store that gets it.
    secret
        32 bytes of pure chance.

    Returns
    -------
    OwnKey
        The key that this tablet has now; it was there before when its `secret` is another.

    Raises
    ------
    InputError
        If the library for it is not installed.
    StoreError
        If the disk refuses, or the key that is there is damaged.
    """
    from walkapp.bundle.signature import INSTALL, can_sign, public_key_of

    own = place.store.keys.own()
    if own is not None:
        return own
    if not can_sign():
        raise InputError(
            tr(
                "No key can be made without the extra for signing: install it with {install}.",
                install=INSTALL,
            )
        )
    made = OwnKey(
        created=place.now().isoformat(timespec="seconds"),
        public_key=public_key_of(secret),
        secret=secret.hex(),
    )
    place.store.keys.make_own(made)
    return made


def own_key(store: Store) -> tuple[OwnKey | None, str]:
    """Give the key of this tablet where it can be read.

    Returns
    -------
    tuple of OwnKey and str
        The key, or ``None``; and one sentence about a key that is damaged, empty when none is.
    """
    try:
        return store.keys.own(), ""
    except StoreError as error:
        return None, str(error)


def signer_of(store: Store) -> tuple[Signer | None, str]:
    """Give who signs the bundles of a store.

    Records have to get out of a tablet even when its key is of no use: the bundle is then written
    without a signature, and the person is told.

    Returns
    -------
    tuple of Signer and str
        The signer; or ``None``, and one sentence why bundles are not signed though there is a key,
        empty when there is none.
    """
    from walkapp.bundle.signature import INSTALL, Signer, can_sign

    own, problem = own_key(store)
    if own is None:
        return None, problem
    if not store.device:
        return None, tr("Not signed, since store.json is damaged and the id of this tablet is not known.")
    if not can_sign():
        return None, tr(
            "Not signed, since the extra for signing is not installed: {install} installs it.",
            install=INSTALL,
        )
    return Signer(device=store.device, secret=bytes.fromhex(own.secret)), ""


def written_text(store: Store, facts: BundleFacts) -> str:
    """Say of a bundle that was just written whether it is signed; empty when the tablet has no key."""
    if facts.signed is None:
        return signer_of(store)[1]
    return tr("Signed with the key of this tablet: {fingerprint}.", fingerprint=facts.signed.fingerprint)


def own_key_text(own: OwnKey | None) -> str:
    """Say the digits of this tablet's key, for somebody who compares them; empty without a sound one."""
    return (
        tr("Key of this tablet: {fingerprint_of}", fingerprint_of=fingerprint_of(own.public_key))
        if own is not None
        else ""
    )


def set_state(place: Workplace, fingerprint: str, state: str) -> tuple[KnownKey, ...]:
    """Block a known key, or trust it again.

    Parameters
    ----------
    place
        The store that knows it.
    fingerprint
        Its digits, in groups.
    state
        ``trusted`` or ``blocked``.

    Returns
    -------
    tuple of KnownKey
        The key as it stands now, once for each tablet that signed with it.

    Raises
    ------
    InputError
        If no key with these digits is known.
    StoreError
        If the disk refuses.
    """
    book = place.store.keys.book()
    meant = {key for key in book.keys if fingerprint_of(key.public_key) == fingerprint}
    if not meant:
        raise InputError(
            tr(
                "No key of another tablet with the digits {fingerprint} is known here: 'walkapp "
                "keys' lists those that are.",
                fingerprint=fingerprint,
            )
        )
    keys = tuple(replace(key, state=state) if key in meant else key for key in book.keys)
    place.store.keys.keep(replace(book, keys=keys))
    return tuple(now for now, before in zip(keys, book.keys, strict=True) if before in meant)


def keys_to_json(store: Store) -> dict[str, Any]:
    """Give this tablet's key, without its secret part, and the known ones as JSON values.

    `problem` is one sentence about a damaged key of this tablet, empty when it has none or a sound one.
    """
    (own, problem), book = own_key(store), store.keys.book()
    return {
        "device": store.device,
        "own_key": None
        if own is None
        else {
            "fingerprint": fingerprint_of(own.public_key),
            "public_key": own.public_key,
            "created": own.created,
        },
        "problem": problem,
        "known_keys": [
            {
                "device": key.device,
                "fingerprint": fingerprint_of(key.public_key),
                "public_key": key.public_key,
                "first_seen": key.first_seen,
                "state": key.state,
            }
            for key in book.keys
        ],
        "asks_always": book.asks_always,
    }


def is_blocked(key: KnownKey) -> bool:
    """Whether bundles signed with a key are refused."""
    return key.state == BLOCKED
