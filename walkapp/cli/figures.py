"""The call that draws the figures of a concern or of a value stream."""

from __future__ import annotations

import argparse

from walkapp.actions.figures.catalogue import kinds_of_figures
from walkapp.actions.figures.writing import facts_to_draw, write_figures
from walkapp.cli.records import open_workplace
from walkapp.cli.telling import GOOD, tell
from walkapp.language import tr


def run_figure(call: argparse.Namespace) -> int:
    """Draw figures, one to a file."""
    with open_workplace(call.store, call.checklists, writable=False) as place:
        facts = facts_to_draw(place, concern=call.concern or "", stream=call.stream or "")
        kinds = kinds_of_figures(place, facts, *dict.fromkeys(call.figure))
    written = write_figures(kinds, call.out)
    tell(
        (
            *(f"{one.path}: {one.title}" for one in written),
            *(
                tr("Not drawn: {kind}: {why}.", kind=kind.kind, why=kind.why_not.rstrip("."))
                for kind in kinds
                if kind.why_not
            ),
        )
    )
    return GOOD
