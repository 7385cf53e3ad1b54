"""The call that shows the demo."""

from __future__ import annotations

import argparse

from walkapp.cli.machine import default_checklists, id_maker, now
from walkapp.cli.records import tell_bundle
from walkapp.demo.showing import show_demo
from walkapp.language import tr


def run_demo(call: argparse.Namespace) -> int:
    """Show the demo, then tell the answer of its bundle."""
    shown = show_demo(
        call.out,
        checklists=default_checklists(),
        offscreen=call.offscreen,
        now=now,
        new_id=id_maker(),
        tell=lambda words: print(words, flush=True),
    )
    if shown.pictures is not None:
        print(tr("Pictures of every screen: {pictures}", pictures=shown.pictures))
    print(tr("Bundle: {bundle}\n", bundle=shown.bundle))
    return tell_bundle(shown.bundle, default_checklists())
