"""The call that prints an audit for a day without a tablet."""

from __future__ import annotations

import argparse

from walkapp.actions.audits.paper import audits_to_print, papers_to_print, stream_to_print, write_papers
from walkapp.cli.records import open_workplace, with_plan
from walkapp.cli.telling import GOOD, tell
from walkapp.language import tr, trn


def run_paper(call: argparse.Namespace) -> int:
    """Print the audits of a layer on a day."""
    with open_workplace(call.store, call.checklists, writable=False) as place:
        place = with_plan(place)
        stream = stream_to_print(place, call.stream or "")
        audits = audits_to_print(place, stream, call.layer, call.on, call.shift or "")
        facts = write_papers(papers_to_print(place, stream, audits), call.out)
    told = "{}: {}, {}".format(
        facts.path,
        trn("{count} page", "{count} pages", facts.pages),
        trn("{count} question", "{count} questions", facts.questions),
    )
    tell((told, *facts.audits, *(tr("Mind: {note}", note=note) for note in facts.notes)))
    return GOOD
