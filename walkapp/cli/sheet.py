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
from walkapp.language import tr, whole_text


def run_sheet(call: argparse.Namespace) -> int:
    """Print the sheet of a concern; the whole store is checked first, and the sheet says what was found."""
    sheet_form(call.out)
    with open_workplace(call.store, call.checklists, writable=False) as place:
        facts = concern_facts(place, call.concern)
        with ProgressBar(sys.stderr, tr("checking")) as bar:
            *_, checked = check_lines(check_store(place, progress=bar.show))
        content = sheet_content(place, facts, store_check=checked)
        written = write_sheet(content, call.out)
    tell(
        (
            tr(
                "{path}: {answer}; {size_bytes} bytes",
                path=written.path,
                answer=content.answer,
                size_bytes=whole_text(written.size_bytes),
            ),
            *(tr("Mind: {one}", one=one) for one in (*content.warnings, *written.notes)),
            *(tr("Missing: {gap}", gap=gap.words) for gap in content.gaps),
        )
    )
    return GOOD
