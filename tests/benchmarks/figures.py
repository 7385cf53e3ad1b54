"""``python -m tests.benchmarks.figures``: the figures of a large concern, against bare matplotlib.

Makes an invented concern of many records (parts judged, counted and measured along the stream, lots of many
days, changes, actions), makes all its figures and draws each as PNG at the size of a page. In the same run
a peer draws the same kind of plot of the same numbers with matplotlib alone, with its own layout
(``constrained``) and without a thought for long texts. Prints both times and their ratio, the first drawing
(with the import of matplotlib) apart.
"""

from __future__ import annotations

import argparse
import io
import random
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from statistics import median
from typing import Any

from tests.builders import SteppingClock, id_maker
from tests.fakes import CHECKLISTS, SAID
from tests.store.support import HastyDisk
from walkapp.actions.figures.catalogue import concern_figures
from walkapp.actions.reading import concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.model.records import (
    Action,
    Answer,
    ChangePoint,
    Concern,
    DatedCount,
    Measurement,
    WalkStart,
)
from walkapp.paper.figures import as_png
from walkapp.store import Store

SIZE = (1100, 560)
STATIONS = ("moulding", "welding", "leak-test", "pump-assembly", "packing")
WALLS = {"moulding": "ear-wall", "welding": "ear-wall", "leak-test": "ear-wall"}


def fill(place: Workplace, records: int) -> str:
    """Make the concern; give its id."""
    chance, new_id = random.Random(20260302), place.new_id
    digest = place.keep_checklist(SAID["stream"])
    concern, walk = new_id(), new_id()
    begun = {"stream": SAID["stream"], "concern": concern}
    place.add(Concern, **{**SAID, **begun, "id": concern})
    place.add(WalkStart, **begun, id=walk, walk=walk, checklist=digest, direction="down")
    place.add_all([_entry(chance, number, concern, walk) for number in range(records)])
    return concern


def _entry(chance: random.Random, number: int, concern: str, walk: str) -> tuple[Any, dict[str, Any]]:
    day = date(2026, 3, 2) - timedelta(days=chance.randrange(120))
    station = chance.choice(STATIONS)
    said = {"concern": concern, "walk": walk, "station": station}
    is_bad = STATIONS.index(station) >= 2 and chance.random() < 0.3
    kind = number % 100
    if kind == 0:
        return ChangePoint, {
            **said, "change": "machine", "what": f"Change {number} (invented)",
            "changed_on": day.isoformat(), "customer_told": "no",
        }  # fmt: skip
    if kind == 1:
        return Action, {
            "concern": concern, "action": f"{concern[:-6]}{number:06d}", "aim": "corrective",
            "what": f"Action {number} (invented)", "owner": "PE-KL", "due_on": day.isoformat(),
        }  # fmt: skip
    if kind < 20:
        return DatedCount, {
            **said, "station": "leak-test", "check": "ear-look", "lot": f"L{number}",
            "made_on": day.isoformat(), "checked": 20, "nok": 6 if day > date(2026, 1, 20) else 0,
        }  # fmt: skip
    if kind < 60 and station in WALLS:
        value = chance.gauss(2.5 if station != "leak-test" else 2.43, 0.02)
        return Measurement, {
            **said, "check": WALLS[station], "value": f"{value:.3f}", "unit_of_measure": "mm",
        }  # fmt: skip
    return Answer, {**said, "check": "ear-look", "answer": "not_ok" if is_bad else "ok"}


def bare(figure: Any) -> bytes:
    """Draw the same numbers with matplotlib alone."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    canvas = Figure(figsize=(SIZE[0] / 96, SIZE[1] / 96), dpi=96, layout="constrained")
    FigureCanvasAgg(canvas)
    canvas.suptitle(figure.title)
    canvas.supxlabel("\n".join(figure.notes[:2]), fontsize=7)
    PEERS[figure.name.split("-by-")[0].split("-")[0]](canvas, figure)
    out = io.BytesIO()
    canvas.savefig(out, format="png")
    return out.getvalue()


def _bare_shares(canvas: Any, figure: Any) -> None:
    share, origin = canvas.subplots(1, 2, sharey=True)
    for y, row in enumerate(figure.rows):
        if row.checked:
            share.plot((row.low, row.high), (y, y), color="k")
            share.plot(row.nok / row.checked, y, "o")
        origin.barh(y, row.origin, hatch="//", facecolor="w", edgecolor="k")
        share.text(1.02, y, f"{row.nok}/{row.checked}, {row.verdict}")
    share.set_yticks(range(len(figure.rows)), [row.station for row in figure.rows])


def _bare_measured(canvas: Any, figure: Any) -> None:
    ax = canvas.subplots()
    for y, row in enumerate(figure.rows):
        if row.values:
            ax.hist(row.values, bins=80, bottom=y, weights=[0.8 / len(row.values)] * len(row.values))
        if row.mean is not None:
            ax.plot((row.low, row.high), (y, y), "k|-")
        for limit in (row.lsl, row.usl):
            if limit is not None:
                ax.plot((limit, limit), (y - 0.5, y + 0.5), "k")
        ax.annotate(row.words, (1, y), xycoords=("axes fraction", "data"))
    ax.set_yticks(range(len(figure.rows)), [row.station for row in figure.rows])


def _bare_onset(canvas: Any, figure: Any) -> None:
    ax = canvas.subplots()
    days = [date.fromisoformat(point.day) for point in figure.points]
    shares = [point.share for point in figure.points]
    ax.errorbar(
        days, shares, fmt="o", color="k",
        yerr=([p.share - p.low for p in figure.points], [p.high - p.share for p in figure.points]),
    )  # fmt: skip
    for mark in figure.marks:
        ax.axvline(date.fromisoformat(mark.day), color="grey", linestyle="--")
        ax.text(date.fromisoformat(mark.day), 1.0, mark.sign)


def _bare_pareto(canvas: Any, figure: Any) -> None:
    count, together = canvas.subplots(1, 2, sharey=True)
    count.barh(range(len(figure.rows)), [row.nok for row in figure.rows], hatch="//", facecolor="w")
    together.plot([row.together for row in figure.rows], range(len(figure.rows)), "ks-")
    for y, row in enumerate(figure.rows):
        count.annotate(row.words, (1, y), xycoords=("axes fraction", "data"))
    count.set_yticks(range(len(figure.rows)), [row.what for row in figure.rows])


def _bare_ageing(canvas: Any, figure: Any) -> None:
    ax = canvas.subplots()
    for y, row in enumerate(figure.rows):
        opened, until = (date.fromisoformat(day) for day in (row.opened, row.until))
        ax.barh(y, until - opened, left=opened, hatch="xx", facecolor="w", edgecolor="k")
        ax.annotate(row.words, (1, y), xycoords=("axes fraction", "data"))
    ax.set_yticks(range(len(figure.rows)), [row.what for row in figure.rows])


PEERS: dict[str, Callable[[Any, Any], None]] = {
    "share": _bare_shares, "measured": _bare_measured, "defects": _bare_onset, "pareto": _bare_pareto,
    "action": _bare_ageing,
}  # fmt: skip


def timed(work: Callable[[], object], times: int) -> float:
    """Give the median time of so many runs, in milliseconds."""
    found = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        found.append((time.perf_counter() - begin) * 1000)
    return median(found)


def main() -> None:
    """Measure and print."""
    said = argparse.ArgumentParser(description=__doc__)
    said.add_argument("--records", type=int, default=10_000)
    said.add_argument("--times", type=int, default=7)
    call = said.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        clock, new_id = SteppingClock(), id_maker()
        store = Store(Path(folder), now=clock, new_id=new_id, app="benchmark", disk=HastyDisk())
        with store:
            place = Workplace(store=store, checklists=CHECKLISTS, now=clock, new_id=new_id, by="QE-RT")
            concern = fill(place, call.records)
            begin = time.perf_counter()
            facts = concern_facts(place, concern)
            read = time.perf_counter() - begin
            begin = time.perf_counter()
            figures = tuple(concern_figures(place, facts))
            print(f"{call.records:,} records: read in {read:.2f} s, {len(figures)} figures made of them in "
                  f"{time.perf_counter() - begin:.2f} s")  # fmt: skip
    width, height = SIZE
    first = timed(lambda: as_png(figures[0], width=width, height=height), 1)
    print(f"first drawing, with the import: {first:.0f} ms; PNG of {width} by {height} pixels, median of "
          f"{call.times}:")  # fmt: skip
    ratios = []
    for figure in figures:
        bare(figure)
        ours = timed(lambda figure=figure: as_png(figure, width=width, height=height), call.times)
        peer = timed(lambda figure=figure: bare(figure), call.times)
        ratios.append(ours / peer)
        print(f"  {figure.name:32} {ours:6.0f} ms, bare matplotlib {peer:6.0f} ms, ratio {ours / peer:.2f}")
    print(f"median ratio {median(ratios):.2f}")


if __name__ == "__main__":
    main()
