"""The call that tells what audits say."""

from __future__ import annotations

import argparse
import itertools

from walkapp.actions.audits.figures import audit_figures, choose_span, choose_streams
from walkapp.actions.audits.figures_json import figures_to_json
from walkapp.actions.audits.telling import figures_lines
from walkapp.cli.machine import default_checklists
from walkapp.cli.records import open_workplace
from walkapp.cli.telling import GOOD, print_json, tell


def run_audits(call: argparse.Namespace) -> int:
    """Tell what the audits of a stream, or of all streams, say."""
    folder = call.checklists or default_checklists()
    with open_workplace(call.store, folder, writable=False) as place:
        found = [
            audit_figures(place, stream, choose_span(place, stream, call.first, call.last))
            for stream in choose_streams(place, call.stream or "")
        ]
    if call.json:
        print_json([figures_to_json(one) for one in found])
    else:
        told = (("", *figures_lines(one)) for one in found)
        tell(itertools.islice(itertools.chain.from_iterable(told), 1, None))
    return GOOD
