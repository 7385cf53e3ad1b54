"""The call that prints the sheet of a concern."""

from __future__ import annotations

import argparse
import sys

from walkapp.actions.checking import check_lines, check_store
from walkapp.actions.reading import concern_facts
from walkapp.actions.sheet.content import sheet_content
from walkapp.actions.sheet.writing import sheet_form, write_sheet
from walkapp.cli.records import open_workplace
from walkapp.cli.telling import GOOD, ProgressBar, tell


def run_sheet(call: argparse.Namespace) -> int:
    """Print the sheet of a concern; the whole store is checked first, and the sheet says what was found."""
    sheet_form(call.out)
    with open_workplace(call.store, call.checklists, writable=False) as place:
        facts = concern_facts(place, call.concern)
        with ProgressBar(sys.stderr, "checking") as bar:
            *_, checked = check_lines(check_store(place, progress=bar.show))
        content = sheet_content(place, facts, store_check=checked[:1].lower() + checked[1:])
        written = write_sheet(content, call.out)
    tell(
        (
            f"{written.path}: {content.answer}; {written.size_bytes:,} bytes",
            *(f"Mind: {one}" for one in (*content.warnings, *written.notes)),
            *(f"Missing: {gap.words}" for gap in content.gaps),
        )
    )
    return GOOD
