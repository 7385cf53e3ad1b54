"""The call on keys: list them, make this tablet's own, block or trust another."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from walkapp.actions.keys import is_blocked, keys_to_json, make_key, own_key, set_state
from walkapp.cli.machine import new_secret
from walkapp.cli.records import open_workplace
from walkapp.cli.telling import GOOD, print_json, tell
from walkapp.files import fingerprint_of
from walkapp.language import tr
from walkapp.presenters.wording import moment_text, short_id
from walkapp.store import BLOCKED, TRUSTED, KnownKey, Store


def run_keys(call: argparse.Namespace) -> int:
    """List the keys of a store, after changing what was asked for."""
    is_change = call.make or call.block or call.trust
    with open_workplace(call.store, None, writable=bool(is_change)) as place:
        if call.make:
            make_key(place, new_secret())
        elif is_change:
            set_state(place, call.block or call.trust, BLOCKED if call.block else TRUSTED)
        if call.json:
            print_json(keys_to_json(place.store))
        else:
            tell(_lines(place.store))
    return GOOD


def _lines(store: Store) -> Iterator[str]:
    (own, problem), book = own_key(store), store.keys.book()
    tablet = (
        tr("This tablet ({device})", device=short_id(store.device)) if store.device else tr("This tablet")
    )
    if own is not None:
        yield (
            tr(
                "{tablet} signs its bundles with the key {fingerprint_of}, made on {created}.",
                tablet=tablet,
                fingerprint_of=fingerprint_of(own.public_key),
                created=moment_text(own.created),
            )
        )
    else:
        yield problem or tr(
            "{tablet} has no key, so its bundles are not signed; --make makes one.", tablet=tablet
        )
    yield from map(_line, book.keys)
    if not book.keys:
        yield tr("No key of another tablet is known yet.")
    if book.asks_always:
        yield (
            tr(
                "The list of known keys was damaged once: no new key is trusted before its "
                "digits were given with 'walkapp merge --trust'."
            )
        )


def _line(key: KnownKey) -> str:
    """Tell one known key."""
    state = tr("blocked: bundles signed with it are refused") if is_blocked(key) else tr("trusted")
    return tr(
        "Tablet {device} signs with the key {fingerprint_of}, first seen on {first_seen}, {state}.",
        device=short_id(key.device),
        fingerprint_of=fingerprint_of(key.public_key),
        first_seen=moment_text(key.first_seen),
        state=state,
    )
