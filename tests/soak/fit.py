"""``python -m tests.soak.fit``: every page on every tablet planned for; nothing is cut or out of reach.

All places of the demo, of a tablet without any record and of one with very long texts are walked at four
sizes and three densities each, with type as it comes and 1.3 times as large, with texts as they are and
about a third longer; each page is scrolled step by step to its end, and looked at once more while it says
what went wrong and what is on disk. Exit status 1 when anything was found.

The tests look at a part of this (``tests/screens/test_fit.py``).
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

from walkapp.demo.hand import prepare_environment


def main(arguments: list[str] | None = None) -> int:
    """Take the call apart, walk, tell."""
    parser = argparse.ArgumentParser(prog="python -m tests.soak.fit", description=__doc__.split("\n")[0])
    parser.add_argument("--size", action="append", help="such as 1024x600; all when none is named")
    parser.add_argument(
        "--density", type=float, action="append", help="such as 1.33; all when none is named"
    )
    parser.add_argument("--type", type=float, action="append", help="1 or 1.3; both when none is named")
    parser.add_argument("--texts", choices=("plain", "longer"), help="both when none is named")
    parser.add_argument("--language", default="en", help="code of the language, such as de")
    parser.add_argument("--tablet", action="append", help="demo, empty or hard; all when none is named")
    parser.add_argument("--place", action="append", help="name of a place; all when none is named")
    call = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="fit-") as folder:
        prepare_environment(Path(folder) / "kivy")
        return _walk(call, Path(folder))


def _walk(call: argparse.Namespace, folder: Path) -> int:
    # Late: the environment must be set before anything imports Kivy.
    from tests.screens.fit_matrix import every_setting, walk_tablet
    from tests.screens.fit_places import TABLETS

    settings = [
        replace(setting, language=call.language)
        for setting in every_setting()
        if (not call.size or f"{setting.glass.width_px}x{setting.glass.height_px}" in call.size)
        and (not call.density or setting.glass.density in call.density)
        and (not call.type or setting.fontscale in call.type)
        and (not call.texts or setting.is_longer == (call.texts == "longer"))
    ]
    begin, pages, looks, faults = time.monotonic(), 0, 0, 0
    for kind, open_tablet in TABLETS.items():
        if call.tablet and kind not in call.tablet:
            continue
        with open_tablet(folder / kind) as tablet:
            names = [name for name in tablet.places if not call.place or name in call.place]
            for setting in settings if names else ():
                seen = walk_tablet(tablet, setting, names)
                pages += len(seen)
                looks += sum(look.looks for look in seen.values())
                found = [(name, fault) for name, look in seen.items() for fault in look.faults]
                faults += len(found)
                print(
                    f"{kind}, {setting.name}: {len(seen)} pages, "
                    f"{sum(look.looks for look in seen.values())} looks, {len(found)} faults, "
                    f"{time.monotonic() - begin:.0f} s",
                    flush=True,
                )
                for name, fault in found:
                    print(f"    {name}: {fault}", flush=True)
    print(f"{len(settings)} settings, {pages} pages, {looks} looks: {faults} faults")
    return 1 if faults or not pages else 0


if __name__ == "__main__":
    sys.exit(main())
