"""The call that writes a page to be mailed."""

from __future__ import annotations

import argparse
import sys

from walkapp.actions.checking import check_lines, check_store
from walkapp.actions.mailed import mail_page, page_file, write_page, written_text
from walkapp.cli.records import open_workplace
from walkapp.cli.telling import GOOD, ProgressBar, tell
from walkapp.errors import InputError
from walkapp.language import tr


def run_page(call: argparse.Namespace) -> int:
    """Write a page of one or all concerns; the whole store is checked first, and the page says so."""
    if call.store is None:
        raise InputError(
            tr("A page is written of a store; merge the bundle into one, and name it with --store DIR.")
        )
    page_file(call.html)
    with open_workplace(call.store, call.checklists, writable=False) as place:
        with ProgressBar(sys.stderr, tr("checking")) as bar:
            *_, checked = check_lines(check_store(place, progress=bar.show))
        with ProgressBar(sys.stderr, tr("reading")) as bar:
            page = mail_page(place, concern=call.concern, store_check=checked, progress=bar.show)
    written = write_page(page, call.html)
    tell(
        (
            f"{written.path}: {written_text(written)}",
            *(tr("Mind: {note}", note=note) for note in written.notes),
        )
    )
    return GOOD
