"""The calls of the desk: pages and figures to be shown, indicators, ppm, and many plants."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from walkapp.cli.options import add_checklists, add_store, day, days, months, ppm
from walkapp.language import tr
from walkapp.model.auditing import DEFAULT_REPEAT_DAYS


def add_desk_calls(calls: Any) -> None:
    """Describe them.

    Parameters
    ----------
    calls
        What ``argparse.ArgumentParser.add_subparsers`` gave.
    """
    call = calls.add_parser(
        "sheet",
        help=tr("print the one page of a concern"),
        description=tr(
            "Print what is known of a concern on one A3 page for a wall: what is wrong, where it "
            "starts, pictures, cause, containment, actions, results, lessons and read-across, "
            "and what is missing. The whole store is checked first. The first call may take some "
            "seconds."
        ),
    )
    add_store(call)
    call.add_argument(
        "--concern", required=True, metavar="ID", help=tr("'walkapp summary --json' lists them")
    )
    call.add_argument(
        "--out", type=Path, required=True, metavar="FILE.pdf", help=tr("the PDF, or PNG, to write")
    )
    add_checklists(call)
    call.set_defaults(run="walkapp.cli.sheet:run_sheet")

    call = calls.add_parser(
        "figure",
        help=tr("draw the figures of a concern or of a value stream"),
        description=tr(
            "Draw figures as PNG, PDF or SVG, one to a file: shares by station, measurements, "
            "defects over time, counts in order, age of the actions. Without --figure every one "
            "that can be drawn; a wrong name lists them. The first call may take some seconds."
        ),
    )
    add_store(call)
    about = call.add_mutually_exclusive_group(required=True)
    about.add_argument("--concern", metavar="ID", help=tr("the concern; 'walkapp summary' lists them"))
    about.add_argument("--stream", metavar="ID", help=tr("the value stream, over all its concerns"))
    call.add_argument(
        "--figure",
        action="append",
        default=[],
        metavar="KIND",
        help=tr("only this kind, such as share-by-station; may be repeated"),
    )
    add_checklists(call)
    call.add_argument(
        "--out",
        type=Path,
        required=True,
        metavar="FILE|DIR",
        help=tr("a file (.png, .pdf, .svg), or a folder for a PNG of each"),
    )
    call.set_defaults(run="walkapp.cli.figures:run_figure")

    call = calls.add_parser(
        "labels",
        help=tr("print labels of the stations of a value stream"),
        description=tr(
            "Print a label with a code for each station of a value stream, four on an A4 sheet; "
            "scanning one in the app opens that station. The first call may take some seconds."
        ),
    )
    call.add_argument("--stream", required=True, metavar="ID", help=tr("the value stream"))
    add_checklists(call)
    call.add_argument("--out", type=Path, required=True, metavar="FILE.pdf", help=tr("the PDF to write"))
    call.set_defaults(run="walkapp.cli.labels:run_labels")

    call = calls.add_parser(
        "ppm",
        help=tr("say how many parts of a million came back, month by month"),
        description=tr(
            "Say how many NOK parts came back of a million delivered, month by month and over "
            "twelve months, with exact limits: of the deliveries recorded at the desk and the "
            "parts of the concerns."
        ),
    )
    add_store(call)
    call.add_argument("--stream", default="", metavar="ID", help=tr("only this value stream"))
    call.add_argument("--part-number", default="", metavar="NUMBER", help=tr("only this part number"))
    call.add_argument(
        "--target",
        type=ppm,
        metavar="PPM",
        help=tr("hold it against this target (default that of the success factors)"),
    )
    call.add_argument(
        "--months",
        type=months,
        default=24,
        metavar="N",
        help=tr("months that are told (default %(default)s)"),
    )
    add_checklists(call)
    call.add_argument("--json", action="store_true", help=tr("print JSON"))
    call.set_defaults(run="walkapp.cli.ppm:run_ppm")

    call = calls.add_parser(
        "deliveries",
        help=tr("read the deliveries of each month from a CSV"),
        description=tr(
            "Read deliveries from a CSV with the columns month (2026-03, a date of it, or "
            "03/2026) and delivered, one row a month; further columns may be part_number and nok "
            "(NOK parts as the customer counts them). Months that are recorded already with "
            "other numbers are corrected. All mistakes are told, and with one of them nothing is "
            "recorded."
        ),
    )
    add_store(call)
    call.add_argument("--stream", required=True, metavar="ID", help=tr("the value stream"))
    call.add_argument("--dry-run", action="store_true", help=tr("only say what would be recorded"))
    add_checklists(call)
    call.add_argument("table", metavar="FILE.csv", type=Path)
    call.set_defaults(run="walkapp.cli.ppm:run_deliveries")

    call = calls.add_parser(
        "indicators",
        help=tr("say how the success factors stand"),
        description=tr(
            "Say in one sentence each how the success factors of a value stream stand: the "
            "indicator that watches it, its value with limits, target and trend, and what to do "
            "when it is off; what is off comes first. The exit status is 0 only when factors are "
            "stated and each is shown to be on target."
        ),
    )
    add_store(call)
    call.add_argument("--stream", metavar="ID", help=tr("only this value stream"))
    call.add_argument("--on", type=day, metavar="DATE", help=tr("as they stood on this day (today)"))
    add_checklists(call)
    call.add_argument("--json", action="store_true", help=tr("print JSON"))
    call.set_defaults(run="walkapp.cli.indicators:run_indicators")

    call = calls.add_parser(
        "rollup",
        help=tr("ask the bundles of many plants"),
        description=tr(
            "Put questions to all bundles below a folder, without merging them. The folders in "
            "it are the plants. A record in several bundles counts once. A bundle that cannot be "
            "trusted is left out and named, and the status is then 1. Needs the extra "
            "'walkapp[rollup]'."
        ),
    )
    call.add_argument(
        "folder", metavar="FOLDER", type=Path, nargs="?", help=tr("PLANT/.../*.zip lie below it")
    )
    call.add_argument(
        "--questions", action="store_true", help=tr("list the questions; with --json their SQL too")
    )
    call.add_argument(
        "--question",
        action="append",
        default=[],
        metavar="NAME",
        help=tr("only this one; may be named again for more (all)"),
    )
    call.add_argument(
        "--on", type=day, metavar="DATE", help=tr("the day on which actions are open (today)")
    )
    call.add_argument(
        "--within",
        type=days,
        default=DEFAULT_REPEAT_DAYS,
        metavar="DAYS",
        help=tr("a finding so many days after another repeats it (%(default)s)"),
    )
    form = call.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help=tr("print JSON"))
    form.add_argument("--csv", action="store_true", help=tr("print the CSV of one question"))
    call.add_argument("--out", type=Path, metavar="FILE", help=tr("write it into this file"))
    call.add_argument(
        "--no-hash-check",
        action="store_true",
        help=tr("do not compare the SHA-256 of the tables: damage may go unseen"),
    )
    call.set_defaults(run="walkapp.cli.rollup:run_rollup")
