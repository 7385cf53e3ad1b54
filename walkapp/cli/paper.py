"""The call that prints an audit for a day without a tablet."""

from __future__ import annotations

import argparse
from dataclasses import replace

from walkapp.actions.audits.due import kept_streams
from walkapp.actions.audits.page import counted
from walkapp.actions.audits.paper import audits_to_print, papers_to_print, stream_to_print, write_papers
from walkapp.cli.machine import default_checklists
from walkapp.cli.records import open_workplace
from walkapp.cli.telling import GOOD, tell


def run_paper(call: argparse.Namespace) -> int:
    """Print the audits of a layer on a day."""
    with open_workplace(call.store, call.checklists, writable=False) as place:
        if place.checklists is None and not kept_streams(place):
            place = replace(place, checklists=default_checklists())  # nobody audited yet: as in the app
        stream = stream_to_print(place, call.stream or "")
        audits = audits_to_print(place, stream, call.layer, call.on, call.shift or "")
        facts = write_papers(papers_to_print(place, stream, audits), call.out)
    told = f"{facts.path}: {counted(facts.pages, 'page')}, {counted(facts.questions, 'question')}"
    tell((told, *facts.audits, *(f"Mind: {note}" for note in facts.notes)))
    return GOOD
