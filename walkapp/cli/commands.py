"""Every call of the command ``walkapp``."""

from __future__ import annotations

import argparse
import io
import os
import pkgutil
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

from walkapp import __version__
from walkapp.analysis.results import CLEAN_CONFIDENCE, CLEAN_SHARE
from walkapp.cli.desk_calls import add_desk_calls
from walkapp.cli.options import (
    add_checklists,
    add_store,
    chance,
    day,
    fingerprint,
    open_share,
    walks,
)
from walkapp.errors import StoppedError, WalkappError
from walkapp.model.checklist import DEFAULT_DETECTION, DEFAULT_FALSE_ALARM
from walkapp.visible import visible

BAD_INPUT = 2
STOPPED = 130
"""What shells give for a program that was stopped with Ctrl-C: 128 and the number of the signal."""


class _OneSentenceParser(argparse.ArgumentParser):
    """Says what is wrong with a call in one sentence instead of a page of usage."""

    def error(self, message: str) -> NoReturn:
        sys.stderr.write(f"{self.prog}: {visible(message)}; see '{self.prog} --help'.\n")
        raise SystemExit(BAD_INPUT)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one call.

    Parameters
    ----------
    arguments
        What stands behind the command's name; those of this process when none.

    Returns
    -------
    int
        The exit status.
    """
    call = build_parser().parse_args(arguments)
    if isinstance(sys.stdout, io.TextIOWrapper):
        # A terminal that lacks a letter shows its number instead of stopping the program.
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        # Late, so that a call reads no more code than it needs, and none needs a window for nothing.
        run: Callable[[argparse.Namespace], int] = pkgutil.resolve_name(call.run)
        return run(call)
    except StoppedError as error:
        sys.stderr.write(f"{error}\n")
        return STOPPED
    except KeyboardInterrupt:
        sys.stderr.write("Stopped; everything saved before is kept.\n")
        return STOPPED
    except WalkappError as error:
        sys.stderr.write(f"{error}\n")
        return BAD_INPUT
    except BrokenPipeError:
        # The reader of our output went away (for example `| head`): nothing more can be said.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def build_parser() -> argparse.ArgumentParser:
    """Build the description of every call and option."""
    parser = _OneSentenceParser(
        prog="walkapp",
        description="Find the first station of a value stream at which a defect appears. "
        "Without a command the app opens.",
    )
    parser.add_argument("--version", action="version", version=f"walkapp {__version__}")
    parser.add_argument("--store", type=Path, default=None, help="folder of the records")
    parser.add_argument("--checklists", type=Path, default=None, help="folder of the value streams")
    parser.add_argument(
        "--pictures", type=Path, default=None, help="folder that a camera drops pictures in"
    )
    parser.set_defaults(run="walkapp.cli.window:run_open_app")
    calls = parser.add_subparsers(title="commands", metavar="COMMAND")

    call = calls.add_parser("validate", help="check the checklists", description="Check the checklists.")
    call.add_argument("folder", metavar="DIR", type=Path, nargs="?", help="folder of the value streams")
    call.set_defaults(run="walkapp.cli.files:run_validate")

    call = calls.add_parser(
        "locate",
        help="work out the first bad station from a table of counts",
        description="Work out the first bad station from a CSV with the columns station, checked and "
        "nok, one row a station in stream order. It may have the further columns detection and "
        "false_alarm (of the station's check), minutes (walking time from the station before), sorts "
        "(yes where parts can be sorted out, reworked or mixed) and weight (how likely it is beforehand, "
        "relative to the others, that the defect starts there).",
    )
    call.add_argument("counts", metavar="COUNTS.csv", type=Path)
    call.add_argument("--detection", type=chance, default=DEFAULT_DETECTION, metavar="D",
                      help="chance that a defective part is called NOK (default %(default)s)")  # fmt: skip
    call.add_argument("--false-alarm", type=chance, default=DEFAULT_FALSE_ALARM, metavar="F",
                      help="chance that a good part is called NOK (default %(default)s)")  # fmt: skip
    call.add_argument("--incoming", action="store_true", help="the first row is the incoming material")
    call.add_argument("--clean-share", type=open_share, default=CLEAN_SHARE, metavar="X",
                      help="'clean' means: fewer than this share affected (default 0.1)")  # fmt: skip
    call.add_argument("--confidence", type=open_share, default=CLEAN_CONFIDENCE, metavar="C",
                      help="... with this confidence (default %(default)s)")  # fmt: skip
    call.add_argument("--simulate", action="store_true",
                      help="simulate walks on this stream: how often '95 %%' is right")  # fmt: skip
    call.add_argument("--walks", type=walks, default=100, metavar="N",
                      help="simulated walks for each affected share (default %(default)s)")  # fmt: skip
    call.add_argument("--seed", type=int, default=1, metavar="S", help="seed of the simulation (default 1)")
    call.add_argument("--json", action="store_true", help="print JSON")
    call.set_defaults(run="walkapp.cli.files:run_locate")

    call = calls.add_parser(
        "bundle",
        help="write a bundle",
        description="Write a bundle of all concerns, audits, deliveries and success factors, with their "
        "pictures and checklists, or of some of them.",
    )
    add_store(call)
    call.add_argument("--out", type=Path, required=True, metavar="FILE.zip", help="the bundle to write")
    only = call.add_mutually_exclusive_group()
    only.add_argument("--concern", metavar="ID", help="only this concern, or this audit or desk book")
    only.add_argument("--audits", metavar="STREAM", help="only the audits of this value stream")
    call.add_argument("--since", type=day, metavar="DATE",
                      help="only concerns, and audits of months, with records since then")  # fmt: skip
    call.add_argument("--originals", action="store_true",
                      help="send photos as they were taken, place and serial number included")  # fmt: skip
    call.set_defaults(run="walkapp.cli.records:run_bundle")

    call = calls.add_parser("merge", help="merge bundles", description="Merge bundles into a store.")
    add_store(call)
    call.add_argument("bundles", metavar="BUNDLE", type=Path, nargs="+", help="a bundle (zip)")
    call.add_argument("--trust", type=fingerprint, action="append", default=[], metavar="DIGITS",
                      help="trust the key with these digits, compared with its tablet")  # fmt: skip
    call.set_defaults(run="walkapp.cli.records:run_merge")

    call = calls.add_parser(
        "summary",
        help="say where each defect starts",
        description="Say in words where the defect of each concern starts. With --html it is written as a "
        "page to be mailed: one file with pictures and figures, for any browser, without network. The "
        "whole store is checked before; drawing takes some seconds.",
    )
    call.add_argument("bundle", metavar="BUNDLE.zip", type=Path, nargs="?", help="look at a bundle instead")
    call.add_argument("--store", type=Path, default=None, metavar="DIR", help="folder of the records")
    call.add_argument("--concern", metavar="ID", default="", help="only this concern")
    add_checklists(call)
    form = call.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="print JSON")
    form.add_argument("--html", type=Path, metavar="FILE.html", help="write a page to be mailed")
    call.set_defaults(run="walkapp.cli.records:run_summary")

    call = calls.add_parser(
        "due",
        help="say which audits are due",
        description="Say which layered audits are due on a day, to come or past, how each stands now and "
        "what it asks. Without --checklists the plan of each stream is that of the checklist that the "
        "store keeps with its newest audit, and while there is none, that of the ready-made checklists.",
    )
    add_store(call)
    call.add_argument("--on", type=day, metavar="DATE", help="the day of work (default today)")
    call.add_argument("--layer", default="", metavar="ID", help="only this layer")
    call.add_argument("--stream", default="", metavar="ID", help="only this value stream")
    add_checklists(call)
    call.add_argument("--json", action="store_true", help="print JSON, with every question")
    call.set_defaults(run="walkapp.cli.records:run_due")

    call = calls.add_parser(
        "paper",
        help="print an audit to be filled in by hand",
        description="Print the audits of a layer on a day, past or still to come, as a PDF to be filled in "
        "by hand and typed in later. The first call may take some seconds. Without --checklists it goes by "
        "the same checklists as 'walkapp due'.",
    )
    add_store(call)
    call.add_argument("--on", type=day, required=True, metavar="DATE", help="a working day of the audit")
    call.add_argument("--layer", required=True, metavar="ID", help="id of the layer")
    call.add_argument("--shift", metavar="NAME", help="only this shift (all shifts of the day)")
    call.add_argument("--stream", metavar="ID", help="the value stream (the only one with audits)")
    add_checklists(call)
    call.add_argument("--out", type=Path, required=True, metavar="FILE.pdf", help="the PDF to write")
    call.set_defaults(run="walkapp.cli.paper:run_paper")

    call = calls.add_parser(
        "audits",
        help="say what the layered audits show",
        description="Say how many audits were done, what they found, what came back and what is open: of "
        "the last eight weeks, or of other days.",
    )
    add_store(call)
    call.add_argument("--stream", metavar="ID", help="only this value stream")
    call.add_argument("--from", dest="first", type=day, metavar="DATE", help="first day (eight weeks)")
    call.add_argument("--to", dest="last", type=day, metavar="DATE", help="last day (today)")
    add_checklists(call)
    call.add_argument("--json", action="store_true", help="print JSON")
    call.set_defaults(run="walkapp.cli.audits:run_audits")

    call = calls.add_parser(
        "search",
        help="find a text in all concerns and audits",
        description="Find entries, findings and lessons of all concerns and audits in which each word "
        "begins some word, the newest first. Accents and capitals make no difference, and signs mean "
        "nothing.",
    )
    add_store(call)
    call.add_argument("words", metavar="WORD", nargs="+", help="a word, or the beginning of one")
    add_checklists(call)
    call.add_argument("--json", action="store_true", help="print JSON")
    call.set_defaults(run="walkapp.cli.records:run_search")

    call = calls.add_parser(
        "keys",
        help="the keys with which bundles are signed",
        description="List the key of this tablet and those known of others, or change one thing.",
    )
    add_store(call)
    change = call.add_mutually_exclusive_group()
    change.add_argument("--make", action="store_true",
                        help="make the key of this tablet: bundles are signed from then on")  # fmt: skip
    change.add_argument("--block", type=fingerprint, metavar="DIGITS",
                        help="refuse bundles signed with this key, as that of a lost tablet")  # fmt: skip
    change.add_argument("--trust", type=fingerprint, metavar="DIGITS", help="trust a blocked key again")
    call.add_argument("--json", action="store_true", help="print JSON")
    call.set_defaults(run="walkapp.cli.keys:run_keys")

    call = calls.add_parser(
        "check",
        help="check a store for damage",
        description="Check every entry, picture and checklist of a store for damage.",
    )
    add_store(call)
    call.add_argument("--json", action="store_true", help="print JSON")
    call.set_defaults(run="walkapp.cli.records:run_check")

    call = calls.add_parser(
        "demo", help="the demo scenario", description="Show the invented demo scenario."
    )
    call.add_argument("--out", type=Path, default=Path("walkapp-demo"), metavar="DIR",
                      help="folder for stores, bundles and pictures (default %(default)s)")  # fmt: skip
    call.add_argument("--offscreen", action="store_true", help="walk it without a display")
    call.set_defaults(run="walkapp.cli.demo:run_demo")

    add_desk_calls(calls)
    return parser
