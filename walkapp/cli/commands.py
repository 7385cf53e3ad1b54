"""Every call of the command ``walkapp``."""

from __future__ import annotations

import argparse
import json
import os
import secrets
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import NoReturn

from walkapp import __version__
from walkapp.actions.exchange import (
    Summary,
    bundle_as_store,
    bundle_concerns,
    merge_bundles,
    summarise,
    summary_to_json,
)
from walkapp.actions.workplace import Workplace
from walkapp.analysis.counts import parse_counts
from walkapp.analysis.locate import answer_to_json, locate
from walkapp.checklists import load_streams
from walkapp.cli.telling import ProgressBar, answer_lines, merge_lines, stream_line, summary_lines
from walkapp.errors import InputError, WalkappError
from walkapp.files import read_text
from walkapp.model.checklist import DEFAULT_DETECTION, DEFAULT_FALSE_ALARM
from walkapp.model.ids import IdMaker
from walkapp.store import Store

GOOD, NEGATIVE, BAD_INPUT = 0, 1, 2
LARGEST_COUNTS_BYTES = 5_000_000


class _OneSentenceParser(argparse.ArgumentParser):
    """Says what is wrong with a call in one sentence instead of a page of usage."""

    def error(self, message: str) -> NoReturn:
        sys.stderr.write(f"{self.prog}: {message}; see '{self.prog} --help'.\n")
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
    run: Callable[[argparse.Namespace], int] = call.run
    try:
        return run(call)
    except WalkappError as error:
        sys.stderr.write(f"{error}\n")
        return BAD_INPUT
    except BrokenPipeError:
        # The reader of our output went away (for example `| head`): nothing more can be said.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return GOOD


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
    parser.set_defaults(run=_open_app)
    calls = parser.add_subparsers(title="commands", metavar="COMMAND")

    call = calls.add_parser("validate", help="check the checklists", description="Check the checklists.")
    call.add_argument("folder", metavar="DIR", type=Path, nargs="?", help="folder of the value streams")
    call.set_defaults(run=_validate)

    call = calls.add_parser(
        "locate",
        help="work out the first bad station from a table of counts",
        description="Work out the first bad station from a CSV with the columns station, checked and "
        "nok, one row a station in stream order.",
    )
    call.add_argument("counts", metavar="COUNTS.csv", type=Path)
    call.add_argument("--detection", type=_chance, default=DEFAULT_DETECTION, metavar="D",
                      help="chance that a defective part is called NOK (default %(default)s)")  # fmt: skip
    call.add_argument("--false-alarm", type=_chance, default=DEFAULT_FALSE_ALARM, metavar="F",
                      help="chance that a good part is called NOK (default %(default)s)")  # fmt: skip
    call.add_argument("--json", action="store_true", help="print JSON")
    call.set_defaults(run=_locate)

    call = calls.add_parser("bundle", help="write a bundle", description="Write a bundle.")
    _add_store(call)
    call.add_argument("--out", type=Path, required=True, metavar="FILE.zip", help="the bundle to write")
    call.add_argument("--concern", metavar="ID", help="only this concern")
    call.add_argument("--since", type=_day, metavar="DATE", help="only concerns with records since then")
    call.set_defaults(run=_bundle)

    call = calls.add_parser("merge", help="merge bundles", description="Merge bundles into a store.")
    _add_store(call)
    call.add_argument("bundles", metavar="BUNDLE", type=Path, nargs="+", help="a bundle (zip)")
    call.set_defaults(run=_merge)

    call = calls.add_parser(
        "summary",
        help="say where each defect starts",
        description="Say in words where the defect of each concern starts.",
    )
    call.add_argument("bundle", metavar="BUNDLE.zip", type=Path, nargs="?", help="look at a bundle instead")
    call.add_argument("--store", type=Path, default=None, metavar="DIR", help="folder of the records")
    call.add_argument("--checklists", type=Path, default=None, metavar="DIR",
                      help="folder of the value streams")  # fmt: skip
    call.add_argument("--json", action="store_true", help="print JSON")
    call.set_defaults(run=_summary)

    call = calls.add_parser(
        "demo", help="the demo scenario", description="Show the invented demo scenario."
    )
    call.add_argument("--out", type=Path, default=Path("walkapp-demo"), metavar="DIR",
                      help="folder for stores, bundles and pictures (default %(default)s)")  # fmt: skip
    call.add_argument("--offscreen", action="store_true", help="walk it without a display")
    call.set_defaults(run=_demo)
    return parser


def _add_store(call: argparse.ArgumentParser) -> None:
    call.add_argument("--store", type=Path, required=True, metavar="DIR", help="folder of the records")


def _chance(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 <= value <= 1:
        raise argparse.ArgumentTypeError(f"{text!r} must be a number from 0 to 1")
    return value


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} must be a date such as 2026-03-02") from None


def now() -> datetime:
    """Give the tablet's time with its offset from UTC."""
    return datetime.now().astimezone()


def id_maker() -> IdMaker:
    """Make a maker of record ids from clock and chance."""
    return IdMaker(lambda: time.time_ns() // 1_000_000, secrets.randbits)


def default_store() -> Path:
    """Give the folder of the records when none is named: the user's own data folder."""
    home = os.environ.get("XDG_DATA_HOME") or os.environ.get("LOCALAPPDATA")
    return (Path(home) if home else Path.home() / ".local" / "share") / "walkapp"


def default_checklists() -> Path:
    """Give the ready-made checklists: inside an installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "data" / "checklists"
    return inside if inside.is_dir() else package.parent / "checklists"


@contextmanager
def _workplace(store: Path, checklists: Path | None, *, writable: bool) -> Iterator[Workplace]:
    if not writable and not store.is_dir():
        raise InputError(f"{store}: there is no such store; name a folder that holds one with --store.")
    new_id = id_maker()
    with Store(store, now=now, new_id=new_id, app=f"walkapp {__version__}", writable=writable) as opened:
        for notice in opened.notices:
            sys.stderr.write(f"{notice}\n")
        yield Workplace(store=opened, checklists=checklists, now=now, new_id=new_id)


def _open_app(call: argparse.Namespace) -> int:
    # Late, so that no other command needs a window.
    from walkapp.app import open_app

    store = call.store or default_store()
    return open_app(
        store=store,
        checklists=call.checklists or default_checklists(),
        pictures=call.pictures or store / "incoming-pictures",
        now=now,
        new_id=id_maker(),
    )


def _validate(call: argparse.Namespace) -> int:
    folder = call.folder or call.checklists or default_checklists()
    for stream in load_streams(folder):
        print(stream_line(stream))
    return GOOD


def _locate(call: argparse.Namespace) -> int:
    if call.false_alarm >= call.detection:
        raise InputError(
            f"--false-alarm ({call.false_alarm:g}) must be below --detection ({call.detection:g}); "
            "a check that calls good parts NOK as often as bad ones finds nothing."
        )
    text = read_text(call.counts, most_bytes=LARGEST_COUNTS_BYTES)
    stations = parse_counts(text, str(call.counts), detection=call.detection, false_alarm=call.false_alarm)
    answer = locate(stations)
    if call.json:
        _print_json(answer_to_json(answer))
    else:
        print("\n".join(answer_lines(answer)))
    return GOOD if answer.first_bad_station is not None else NEGATIVE


def _bundle(call: argparse.Namespace) -> int:
    with _workplace(call.store, None, writable=False) as place:
        facts = bundle_concerns(place, call.out, concern=call.concern, since=call.since)
    print(
        f"{facts.path}: {facts.record_count} records, {facts.photo_count} photos, "
        f"{facts.size_bytes} bytes; compare these 8 digits where it is merged: {facts.digest[:8]}"
    )
    return GOOD


def _merge(call: argparse.Namespace) -> int:
    with _workplace(call.store, None, writable=True) as place, ProgressBar(sys.stderr, "merging") as bar:
        merged = merge_bundles(place, call.bundles, progress=bar.show)
    print("\n".join(line for one in merged for line in merge_lines(one)))
    return GOOD


def _summary(call: argparse.Namespace) -> int:
    if (call.bundle is None) == (call.store is None):
        raise InputError("Name either a store with --store DIR or one BUNDLE.zip, and not both.")
    if call.bundle is not None:
        return _tell_bundle(call.bundle, as_json=call.json)
    with _workplace(call.store, call.checklists, writable=False) as place:
        return _tell(summarise(place), as_json=call.json)


def _tell_bundle(bundle: Path, *, as_json: bool = False) -> int:
    app = f"walkapp {__version__}"
    with bundle_as_store(bundle, now=now, new_id=id_maker(), app=app) as place:
        return _tell(summarise(place), as_json=as_json)


def _tell(summaries: Sequence[Summary], *, as_json: bool) -> int:
    if as_json:
        _print_json([summary_to_json(summary) for summary in summaries])
    elif summaries:
        print("\n\n".join("\n".join(summary_lines(summary)) for summary in summaries))
    else:
        print("No concern is recorded here yet.")
    found = any(s.answer is not None and s.answer.first_bad_station for s in summaries)
    return GOOD if found else NEGATIVE


def _demo(call: argparse.Namespace) -> int:
    # Late, so that no other command pays for it.
    from walkapp.demo.showing import show_demo

    shown = show_demo(
        call.out,
        checklists=default_checklists(),
        offscreen=call.offscreen,
        now=now,
        new_id=id_maker(),
        tell=lambda words: print(words, flush=True),
    )
    if shown.pictures is not None:
        print(f"Pictures of every screen: {shown.pictures}")
    print(f"Bundle: {shown.bundle}\n")
    return _tell_bundle(shown.bundle)


def _print_json(value: object) -> None:
    print(json.dumps(value, ensure_ascii=False, indent=2))
