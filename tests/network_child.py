"""The program with every door to the network watched: run by test_no_network.py in a process of its own.

``FOLDER``: from the first line on every event that Python raises where something speaks to a network, or
starts another program that could, is written down and refused. Then every command runs, the demo is
played, parts are judged and people covered by touch in a window, and every screen is shown. At the end
the events are printed as JSON. ``FOLDER CONTROL`` reaches out instead, in one of the ways of ``CONTROLS``.
"""

from __future__ import annotations

import contextlib
import json
import sys
import traceback
from collections.abc import Callable
from pathlib import Path

WATCHED = (
    "socket.", "urllib.", "http.", "ftplib.", "smtplib.", "poplib.", "imaplib.", "nntplib.", "telnetlib.",
    "webbrowser.", "subprocess.", "os.exec", "os.fork", "os.posix_spawn", "os.spawn", "os.startfile",
    "os.system", "pty.",
)  # fmt: skip
"""Beginnings of the audit events of the standard library that speak to a network or start programs."""

BY_TOUCH = {
    "judge": [{"check": "ear-look", "checked": 2, "nok": 1}],
    "photo": [{"picture": "ear-cracked", "as_from_a_phone": True, "cover": [[0.5, 0.18, 0.66, 0.48]]}],
}
"""What is recorded by touch: parts judged, and a picture taken in and covered."""

happened: list[dict[str, str]] = []


class Refused(BaseException):
    """Not caught by code that passes over errors."""


LOCAL_PROGRAMS = ("ldconfig", "gcc", "cc", "ld", "objdump", "xclip", "xsel")
"""Programs that Kivy starts when it is loaded: ``ctypes.util`` asks the first where a system library is,
and the last hold the clipboard of the display. None of them speaks to a network."""


def is_local_program(event: str, arguments: tuple[object, ...]) -> bool:
    """Whether one of those is started."""
    return event == "subprocess.Popen" and Path(str(arguments[0])).name in LOCAL_PROGRAMS


def watch(event: str, arguments: tuple[object, ...]) -> None:
    """Write an event down and refuse it."""
    if event.startswith(WATCHED) and not is_local_program(event, arguments):
        where = [f"{f.filename}:{f.lineno}" for f in traceback.extract_stack() if f.filename != __file__]
        happened.append({"event": event, "arguments": repr(arguments)[:200], "where": "".join(where[-1:])})
        raise Refused(event)


def open_socket() -> None:
    """The plainest way out."""
    import socket

    socket.socket()


def ask_for_a_name() -> None:
    """Asking a name server is speaking to the network."""
    import socket

    socket.getaddrinfo("example.invalid", 80)


def fetch_a_page() -> None:
    """What a picture widget that loads from the network does."""
    import urllib.request

    urllib.request.urlopen("http://example.invalid/picture.jpg")


def start_a_program() -> None:
    """Another program could speak in our place."""
    import subprocess

    subprocess.run(["true"], check=False)


CONTROLS: dict[str, Callable[[], None]] = {
    control.__name__: control for control in (open_socket, ask_for_a_name, fetch_a_page, start_a_program)
}


def use_everything(folder: Path) -> dict[str, int]:
    """Run every command, the demo, a walk by touch and every screen; give the exit statuses."""
    from walkapp.cli import main as walkapp
    from walkapp.demo.scenario import play
    from walkapp.demo.tablets import open_tablet, read_scenario

    checklists = Path("checklists")
    demo, counts = folder / "demo", folder / "counts.csv"
    counts.write_text("station,checked,nok\nMoulding,20,0\nLeak test,20,9\n", encoding="utf-8")
    bundle = play(demo, checklists).path
    store = ["--store", str(demo / "desk")]
    calls = {
        "validate": ["validate", str(checklists)],
        "locate": ["locate", str(counts), "--json"],
        "locate --simulate": ["locate", str(counts), "--simulate", "--walks", "2"],
        "bundle": ["bundle", *store, "--out", str(folder / "b.zip")],
        "bundle --originals": ["bundle", *store, "--out", str(folder / "o.zip"), "--originals"],
        "merge": ["merge", "--store", str(folder / "merged"), str(bundle), str(folder / "o.zip")],
        "search": ["search", *store, "ear"],
        "summary": ["summary", *store],
        "summary BUNDLE": ["summary", str(bundle), "--json"],
    }
    statuses = {name: walkapp(call) for name, call in calls.items()}
    from walkapp.demo.hand import Hand, prepare_environment

    prepare_environment(folder / "kivy")
    from walkapp.app import window_app
    from walkapp.demo.tour import TouchWalk, walked_by
    from walkapp.demo.walk_routes import tour_routes
    from walkapp.presenters.route import Route

    first = read_scenario()["tablet"][0]
    tablet = open_tablet(first, demo / "tablet-1", checklists)
    with tablet.place.store:
        walked = walked_by(tablet, bundle)
        app = window_app(tablet.place, folder / "camera", bundles=folder / "bundles")
        hand = Hand(app, size=(1024, 600), folder=folder)
        try:
            walk = TouchWalk(tablet, hand, folder / "camera")
            app.go(Route(screen="station", concern=walked.concern, walk=walked.walk, station="degating"))
            walk.settle()
            walk.stop({"station": "degating", **BY_TOUCH})
            walk.write_bundle()
            routes = tour_routes(walked)
            for route in routes.values():
                app.go(route)
                for _ in range(2):
                    app.worker.finish()
                    hand.wait()
            statuses["screens"] = len(routes)
        finally:
            hand.close()
    return statuses


def main() -> None:
    """Watch, use everything, tell."""
    sys.addaudithook(watch)
    folder, controls = Path(sys.argv[1]), sys.argv[2:]
    statuses: dict[str, int] = {}
    sys.stdout = sys.stderr  # what the commands print must not be taken for the result
    with contextlib.suppress(Refused):
        if controls:
            CONTROLS[controls[0]]()
        else:
            statuses = use_everything(folder)
    loaded = sorted(name for name in sys.modules if name.startswith(("kivy.network", "kivy.loader")))
    result = json.dumps({"events": happened, "statuses": statuses, "loaded": loaded})
    sys.__stdout__.write(result)


if __name__ == "__main__":
    main()
