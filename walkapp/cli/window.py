"""The call without a command: the app opens."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from walkapp.app import open_app, show_trouble
from walkapp.cli.machine import default_checklists, default_store, has_terminal, id_maker, now
from walkapp.errors import WalkappError

if TYPE_CHECKING:
    from walkapp.actions.practice import PracticeFacts

NOT_STARTED = 2


def run_open_app(call: argparse.Namespace) -> int:
    """Open the window; where it cannot be opened and nobody sees a terminal, a window says why."""
    store = call.store or default_store()
    try:
        return open_app(
            store=store,
            checklists=call.checklists or default_checklists(),
            pictures=call.pictures or store / "incoming-pictures",
            now=now,
            new_id=id_maker(),
            language=call.language,
            practice=_practice,
        )
    except WalkappError as error:
        if has_terminal():
            raise
        show_trouble(str(error))
        return NOT_STARTED


def _practice() -> PracticeFacts:
    # Late: only who practises waits for the code of the demo.
    from walkapp.demo.practice import practice_facts

    return practice_facts(default_checklists())
