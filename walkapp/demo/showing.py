"""Shows the demo: in a window where there is a display, walked by touch offscreen where there is none."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from walkapp.demo.scenario import fix_at_desk, play, play_second
from walkapp.demo.tablets import open_tablet, read_scenario
from walkapp.errors import InputError

MARKER = "walkapp-demo.txt"
MARKER_TEXT = "Made by 'walkapp demo'; everything here is invented and is made anew each time.\n"


@dataclass(frozen=True, slots=True)
class Shown:
    """What the demo left behind.

    Parameters
    ----------
    bundle
        The desk's bundle, with the records of both tablets.
    pictures
        Folder of the pictures of the screens; none when the demo was shown in a window.
    """

    bundle: Path
    pictures: Path | None


def has_display() -> bool:
    """Say whether a window would be seen by somebody."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def show_demo(
    out: Path,
    *,
    checklists: Path,
    offscreen: bool,
    now: Callable[[], datetime],
    new_id: Callable[[], str],
    tell: Callable[[str], None],
) -> Shown:
    """Show the demo.

    Parameters
    ----------
    out
        Folder for stores, bundles and pictures; an earlier demo in it is made anew.
    checklists
        Folder of the value streams.
    offscreen
        Walk it without a display even if there is one.
    now, new_id
        The clock and the maker of ids for what a person records in the window.
    tell
        Says what is going on, a line at a time.

    Raises
    ------
    InputError
        If `out` holds something else than an earlier demo.
    """
    _make_empty(out)
    if offscreen or not has_display():
        return _walk_offscreen(out, checklists, tell)
    bundle = play(out, checklists).path
    tell("The window opens on the desk's store, with the walks of both tablets.")
    # Late: a window is opened.
    from walkapp.app import open_app

    open_app(
        store=out / "desk",
        checklists=checklists,
        pictures=out / "camera",
        now=now,
        new_id=new_id,
    )
    return Shown(bundle, None)


def _make_empty(out: Path) -> None:
    try:
        if out.exists() and any(out.iterdir()):
            if not (out / MARKER).is_file():
                raise InputError(
                    f"{out}: holds something else than a demo; choose another folder with --out."
                )
            shutil.rmtree(out)
        out.mkdir(parents=True, exist_ok=True)
        (out / MARKER).write_text(MARKER_TEXT, encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"{out}: cannot be used ({error.strerror}); choose another folder with --out."
        ) from None


def _walk_offscreen(out: Path, checklists: Path, tell: Callable[[str], None]) -> Shown:
    # Late, and in this order: the environment must be set before anything imports Kivy.
    from walkapp.demo.hand import prepare_environment

    prepare_environment(out / "kivy")
    from walkapp.actions.merge_runs import MergeWork
    from walkapp.demo.album import DEVICES, photograph_screens
    from walkapp.demo.tour import walk_by_touch

    scenario = read_scenario()
    first, _ = scenario["tablet"]
    tablet = open_tablet(first, out / "tablet-1", checklists)
    with tablet.place.store:
        tell("Tablet 1 walks the stream by touch ...")
        walked = walk_by_touch(tablet, scenario, out / "tablet-1", out / "camera")
        tell("Tablet 2 walks the stream ...")
        second = play_second(scenario, out, checklists, walked.bundle, walked.concern)
        tell("At the desk both are merged, and what is done about it is recorded ...")
        bundles = [walked.bundle, second.path]
        bundle = fix_at_desk(scenario, out, checklists, bundles, walked.concern).path
        tablet.clock.time = read_scenario("-fix")["until"]
        # As on the page that merges, which keeps what came in to be read again.
        (merged,) = MergeWork((bundle,)).work(tablet.place).outcomes
        if not merged.is_merged:
            raise InputError(f"{bundle}: {merged.refused or 'was not merged'}; make the demo anew.")
        for device in DEVICES:
            tell(f"Taking a picture of every screen at {device.name} ...")
            photograph_screens(tablet, walked, device, out)
    return Shown(bundle, out / "pictures")
