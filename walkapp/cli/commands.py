"""Every call of the command ``walkapp``."""

from __future__ import annotations

import argparse
import io
import os
import pkgutil
import sys
from collections.abc import Callable, Sequence
from contextlib import nullcontext, suppress
from pathlib import Path

from walkapp import __version__
from walkapp.actions.speaking import LANGUAGES, nearest, speak
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
from walkapp.cli.parser import BAD_INPUT, OneSentenceParser
from walkapp.devices.system import system_locales
from walkapp.errors import StoppedError, WalkappError
from walkapp.language import in_english, tr
from walkapp.model.checklist import CLEAN_CONFIDENCE, CLEAN_SHARE, DEFAULT_DETECTION, DEFAULT_FALSE_ALARM

STOPPED = 130
"""What shells give for a program that was stopped with Ctrl-C: 128 and the number of the signal."""


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
    speak(_asked_language(arguments), nearest(*system_locales()))
    call = build_parser().parse_args(arguments)
    if isinstance(sys.stdout, io.TextIOWrapper):
        # A terminal that lacks a letter shows its number instead of stopping the program.
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        # Late, so that a call reads no more code than it needs, and none needs a window for nothing.
        run: Callable[[argparse.Namespace], int] = pkgutil.resolve_name(call.run)
        # What programs read is the same in every language.
        is_for_programs = getattr(call, "json", False) or getattr(call, "csv", False)
        with in_english() if is_for_programs else nullcontext():
            return run(call)
    except StoppedError as error:
        sys.stderr.write(f"{error}\n")
        return STOPPED
    except KeyboardInterrupt:
        sys.stderr.write(tr("Stopped; everything saved before is kept.\n"))
        return STOPPED
    except WalkappError as error:
        sys.stderr.write(f"{error}\n")
        return BAD_INPUT
    except BrokenPipeError:
        # The reader of our output went away (for example `| head`): nothing more can be said.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _asked_language(arguments: Sequence[str] | None) -> str:
    """Give the language that a call asks for: the parser says what it says in it from the beginning."""
    first = argparse.ArgumentParser(add_help=False, allow_abbrev=False, exit_on_error=False)
    first.add_argument("--language", default="")
    with suppress(argparse.ArgumentError):
        return str(first.parse_known_args(arguments)[0].language)
    return ""


def build_parser() -> argparse.ArgumentParser:
    """Build the description of every call and option."""
    parser = OneSentenceParser(
        prog="walkapp",
        description=tr(
            "Find the first station of a value stream at which a defect appears. Without a "
            "command the app opens."
        ),
    )
    parser.add_argument(
        "--version",
        action="version",
        version=tr("walkapp {version}", version=__version__),
        help=tr("say the version and end"),
    )
    parser.add_argument(
        "--language",
        choices=LANGUAGES,
        metavar="CODE",
        default="",
        help=tr(
            "language to speak: {codes} (default: that of the system); JSON, CSV and bundles are the same "
            "in all",
            codes=", ".join(LANGUAGES),
        ),
    )
    parser.add_argument("--store", type=Path, default=None, help=tr("folder of the records"))
    parser.add_argument("--checklists", type=Path, default=None, help=tr("folder of the value streams"))
    parser.add_argument(
        "--pictures", type=Path, default=None, help=tr("folder that a camera drops pictures in")
    )
    parser.set_defaults(run="walkapp.cli.window:run_open_app")
    calls = parser.add_subparsers(title=tr("commands"), metavar="COMMAND")

    call = calls.add_parser(
        "validate", help=tr("check the checklists"), description=tr("Check the checklists.")
    )
    call.add_argument("folder", metavar="DIR", type=Path, nargs="?", help=tr("folder of the value streams"))
    call.set_defaults(run="walkapp.cli.files:run_validate")

    call = calls.add_parser(
        "locate",
        help=tr("work out the first bad station from a table of counts"),
        description=tr(
            "Work out the first bad station from a CSV with the columns station, checked and "
            "nok, one row a station in stream order. It may have the further columns detection "
            "and false_alarm (of the station's check), minutes (walking time from the station "
            "before), sorts (yes where parts can be sorted out, reworked or mixed) and weight "
            "(how likely it is beforehand, relative to the others, that the defect starts there)."
        ),
    )
    call.add_argument("counts", metavar="COUNTS.csv", type=Path)
    call.add_argument(
        "--detection",
        type=chance,
        default=DEFAULT_DETECTION,
        metavar="D",
        help=tr("chance that a defective part is called NOK (default %(default)s)"),
    )
    call.add_argument(
        "--false-alarm",
        type=chance,
        default=DEFAULT_FALSE_ALARM,
        metavar="F",
        help=tr("chance that a good part is called NOK (default %(default)s)"),
    )
    call.add_argument("--incoming", action="store_true", help=tr("the first row is the incoming material"))
    call.add_argument(
        "--clean-share",
        type=open_share,
        default=CLEAN_SHARE,
        metavar="X",
        help=tr("'clean' means: fewer than this share affected (default 0.1)"),
    )
    call.add_argument(
        "--confidence",
        type=open_share,
        default=CLEAN_CONFIDENCE,
        metavar="C",
        help=tr("... with this confidence (default %(default)s)"),
    )
    call.add_argument(
        "--simulate",
        action="store_true",
        help=tr("simulate walks on this stream: how often '95 %%' is right"),
    )
    call.add_argument(
        "--walks",
        type=walks,
        default=100,
        metavar="N",
        help=tr("simulated walks for each affected share (default %(default)s)"),
    )
    call.add_argument(
        "--seed", type=int, default=1, metavar="S", help=tr("seed of the simulation (default 1)")
    )
    call.add_argument("--json", action="store_true", help=tr("print JSON"))
    call.set_defaults(run="walkapp.cli.files:run_locate")

    call = calls.add_parser(
        "bundle",
        help=tr("write a bundle"),
        description=tr(
            "Write a bundle of all concerns, audits, deliveries and success factors, with their "
            "pictures and checklists, or of some of them."
        ),
    )
    add_store(call)
    call.add_argument("--out", type=Path, required=True, metavar="FILE.zip", help=tr("the bundle to write"))
    only = call.add_mutually_exclusive_group()
    only.add_argument("--concern", metavar="ID", help=tr("only this concern, or this audit or desk book"))
    only.add_argument("--audits", metavar="STREAM", help=tr("only the audits of this value stream"))
    call.add_argument(
        "--since",
        type=day,
        metavar="DATE",
        help=tr("only concerns, and audits of months, with records since then"),
    )
    call.add_argument(
        "--originals",
        action="store_true",
        help=tr("send photos as they were taken, place and serial number included"),
    )
    call.set_defaults(run="walkapp.cli.records:run_bundle")

    call = calls.add_parser(
        "merge", help=tr("merge bundles"), description=tr("Merge bundles into a store.")
    )
    add_store(call)
    call.add_argument("bundles", metavar="BUNDLE", type=Path, nargs="+", help=tr("a bundle (zip)"))
    call.add_argument(
        "--trust",
        type=fingerprint,
        action="append",
        default=[],
        metavar="DIGITS",
        help=tr("trust the key with these digits, compared with its tablet"),
    )
    call.set_defaults(run="walkapp.cli.records:run_merge")

    call = calls.add_parser(
        "summary",
        help=tr("say where each defect starts"),
        description=tr(
            "Say in words where the defect of each concern starts. With --html it is written as "
            "a page to be mailed: one file with pictures and figures, for any browser, without "
            "network. The whole store is checked before; drawing takes some seconds."
        ),
    )
    call.add_argument(
        "bundle", metavar="BUNDLE.zip", type=Path, nargs="?", help=tr("look at a bundle instead")
    )
    call.add_argument("--store", type=Path, default=None, metavar="DIR", help=tr("folder of the records"))
    call.add_argument("--concern", metavar="ID", default="", help=tr("only this concern"))
    add_checklists(call)
    form = call.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help=tr("print JSON"))
    form.add_argument("--html", type=Path, metavar="FILE.html", help=tr("write a page to be mailed"))
    call.set_defaults(run="walkapp.cli.records:run_summary")

    call = calls.add_parser(
        "due",
        help=tr("say which audits are due"),
        description=tr(
            "Say which layered audits are due on a day, to come or past, how each stands now and "
            "what it asks. Without --checklists the plan of each stream is that of the checklist "
            "that the store keeps with its newest audit, and while there is none, that of the "
            "ready-made checklists."
        ),
    )
    add_store(call)
    call.add_argument("--on", type=day, metavar="DATE", help=tr("the day of work (default today)"))
    call.add_argument("--layer", default="", metavar="ID", help=tr("only this layer"))
    call.add_argument("--stream", default="", metavar="ID", help=tr("only this value stream"))
    add_checklists(call)
    call.add_argument("--json", action="store_true", help=tr("print JSON, with every question"))
    call.set_defaults(run="walkapp.cli.records:run_due")

    call = calls.add_parser(
        "paper",
        help=tr("print an audit to be filled in by hand"),
        description=tr(
            "Print the audits of a layer on a day, past or still to come, as a PDF to be filled "
            "in by hand and typed in later. The first call may take some seconds. Without "
            "--checklists it goes by the same checklists as 'walkapp due'."
        ),
    )
    add_store(call)
    call.add_argument(
        "--on", type=day, required=True, metavar="DATE", help=tr("a working day of the audit")
    )
    call.add_argument("--layer", required=True, metavar="ID", help=tr("id of the layer"))
    call.add_argument("--shift", metavar="NAME", help=tr("only this shift (all shifts of the day)"))
    call.add_argument("--stream", metavar="ID", help=tr("the value stream (the only one with audits)"))
    add_checklists(call)
    call.add_argument("--out", type=Path, required=True, metavar="FILE.pdf", help=tr("the PDF to write"))
    call.set_defaults(run="walkapp.cli.paper:run_paper")

    call = calls.add_parser(
        "audits",
        help=tr("say what the layered audits show"),
        description=tr(
            "Say how many audits were done, what they found, what came back and what is open: of "
            "the last eight weeks, or of other days."
        ),
    )
    add_store(call)
    call.add_argument("--stream", metavar="ID", help=tr("only this value stream"))
    call.add_argument("--from", dest="first", type=day, metavar="DATE", help=tr("first day (eight weeks)"))
    call.add_argument("--to", dest="last", type=day, metavar="DATE", help=tr("last day (today)"))
    add_checklists(call)
    call.add_argument("--json", action="store_true", help=tr("print JSON"))
    call.set_defaults(run="walkapp.cli.audits:run_audits")

    call = calls.add_parser(
        "search",
        help=tr("find a text in all concerns and audits"),
        description=tr(
            "Find entries, findings and lessons of all concerns and audits in which each word "
            "begins some word, the newest first. Accents and capitals make no difference, and "
            "signs mean nothing."
        ),
    )
    add_store(call)
    call.add_argument("words", metavar="WORD", nargs="+", help=tr("a word, or the beginning of one"))
    add_checklists(call)
    call.add_argument("--json", action="store_true", help=tr("print JSON"))
    call.set_defaults(run="walkapp.cli.records:run_search")

    call = calls.add_parser(
        "keys",
        help=tr("the keys with which bundles are signed"),
        description=tr("List the key of this tablet and those known of others, or change one thing."),
    )
    add_store(call)
    change = call.add_mutually_exclusive_group()
    change.add_argument(
        "--make",
        action="store_true",
        help=tr("make the key of this tablet: bundles are signed from then on"),
    )
    change.add_argument(
        "--block",
        type=fingerprint,
        metavar="DIGITS",
        help=tr("refuse bundles signed with this key, as that of a lost tablet"),
    )
    change.add_argument("--trust", type=fingerprint, metavar="DIGITS", help=tr("trust a blocked key again"))
    call.add_argument("--json", action="store_true", help=tr("print JSON"))
    call.set_defaults(run="walkapp.cli.keys:run_keys")

    call = calls.add_parser(
        "check",
        help=tr("check a store for damage"),
        description=tr("Check every entry, picture and checklist of a store for damage."),
    )
    add_store(call)
    call.add_argument("--json", action="store_true", help=tr("print JSON"))
    call.set_defaults(run="walkapp.cli.records:run_check")

    call = calls.add_parser(
        "demo", help=tr("the demo scenario"), description=tr("Show the invented demo scenario.")
    )
    call.add_argument(
        "--out",
        type=Path,
        default=Path("walkapp-demo"),
        metavar="DIR",
        help=tr("folder for stores, bundles and pictures (default %(default)s)"),
    )
    call.add_argument("--offscreen", action="store_true", help=tr("walk it without a display"))
    call.set_defaults(run="walkapp.cli.demo:run_demo")

    add_desk_calls(calls)
    return parser
