"""The call on keys: list them, make this tablet's own, block or trust another."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from walkapp.actions.keys import is_blocked, keys_to_json, make_key, own_key, set_state
from walkapp.cli.machine import new_secret
from walkapp.cli.records import open_workplace
from walkapp.cli.telling import GOOD, print_json, tell
from walkapp.files import fingerprint_of
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
    tablet = f"This tablet ({short_id(store.device)})" if store.device else "This tablet"
    if own is not None:
        yield (
            f"{tablet} signs its bundles with the key {fingerprint_of(own.public_key)}, made on "
            f"{moment_text(own.created)}."
        )
    else:
        yield problem or f"{tablet} has no key, so its bundles are not signed; --make makes one."
    yield from map(_line, book.keys)
    if not book.keys:
        yield "No key of another tablet is known yet."
    if book.asks_always:
        yield (
            "The list of known keys was damaged once: no new key is trusted before its digits were given "
            "with 'walkapp merge --trust'."
        )


def _line(key: KnownKey) -> str:
    """Tell one known key."""
    state = "blocked: bundles signed with it are refused" if is_blocked(key) else "trusted"
    return (
        f"Tablet {short_id(key.device)} signs with the key {fingerprint_of(key.public_key)}, first seen on "
        f"{moment_text(key.first_seen)}, {state}."
    )
