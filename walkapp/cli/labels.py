"""The call that prints labels of stations."""

from __future__ import annotations

import argparse

from walkapp.actions.labels import HOW_LARGE, write_labels
from walkapp.checklists import load_streams
from walkapp.cli.machine import default_checklists
from walkapp.cli.telling import GOOD, tell
from walkapp.language import code_for_people, tr, trn


def run_labels(call: argparse.Namespace) -> int:
    """Print the labels of all stations of a value stream."""
    streams = {
        stream.id: stream
        for stream in load_streams(call.checklists or default_checklists(), language=code_for_people())
    }
    facts = write_labels(streams, call.stream, call.out)
    labels = trn("{count} label", "{count} labels", facts.labels)
    pages = trn("{count} page", "{count} pages", facts.pages)
    tell((f"{facts.path}: {labels}, {pages}", tr(HOW_LARGE)))
    return GOOD
