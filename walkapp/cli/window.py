"""The call without a command: the app opens."""

from __future__ import annotations

import argparse

from walkapp.app import open_app
from walkapp.cli.machine import default_checklists, default_store, id_maker, now


def run_open_app(call: argparse.Namespace) -> int:
    """Open the window."""
    store = call.store or default_store()
    return open_app(
        store=store,
        checklists=call.checklists or default_checklists(),
        pictures=call.pictures or store / "incoming-pictures",
        now=now,
        new_id=id_maker(),
    )
