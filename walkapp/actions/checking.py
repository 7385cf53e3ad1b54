"""The check of the whole store, for window and command line."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from walkapp.actions.workplace import Workplace
from walkapp.language import tr, trn
from walkapp.store import CheckReport, StoreCheck

__all__ = ["StoreCheck", "begin_check", "check_lines", "check_store", "check_to_json"]


def check_store(
    place: Workplace, *, progress: Callable[[int, int], None] = lambda done, total: None
) -> CheckReport:
    """Check every line, picture, checklist and running number of the store.

    Parameters
    ----------
    place
        Where the store is.
    progress
        Called with pieces done and pieces in all.
    """
    return place.store.check(progress)


def begin_check(place: Workplace) -> StoreCheck:
    """Begin a check that is done in pieces, between other work."""
    return place.store.begin_check()


def check_lines(report: CheckReport) -> Iterator[str]:
    """Tell what a check found: one sentence each, and what was looked at."""
    for finding in report.findings:
        yield finding.text
    faults = sum(finding.is_fault for finding in report.findings)
    looked_at = ", ".join(
        (
            trn("{count} entry", "{count} entries", report.entries),
            trn("{count} picture", "{count} pictures", report.photos),
            trn("{count} checklist", "{count} checklists", report.checklists),
        )
    )
    yield (
        trn(
            "Checked {looked_at}: {count} fault was found.",
            "Checked {looked_at}: {count} faults were found.",
            faults,
            looked_at=looked_at,
        )
        if faults
        else tr("Checked {looked_at}: nothing is damaged or missing.", looked_at=looked_at)
    )


def check_to_json(report: CheckReport) -> dict[str, Any]:
    """Turn what a check found into JSON values."""
    return {
        "sound": report.is_sound,
        "entries": report.entries,
        "photos": report.photos,
        "checklists": report.checklists,
        "findings": [
            {
                "kind": finding.kind,
                "fault": finding.is_fault,
                "file": finding.file,
                "line": finding.line,
                "device": finding.device,
                "numbers": [list(run) for run in finding.numbers],
                "text": finding.text,
            }
            for finding in report.findings
        ],
    }
