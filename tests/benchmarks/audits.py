"""``python -m tests.benchmarks.audits``: the figures on a year of audits, against pandas on the same CSVs.

Makes an invented year: four layers, three shifts, one audit in fourteen not done, one answer in twenty-five
NOK. Prints how long the figures take just after a start (the journals are read then) and once more, for a
year and for eight weeks, and in the same run a peer: pandas, that reads the plan and the records from CSVs
and counts completion by layer and conformity by question. Both must count the same.
"""

from __future__ import annotations

import argparse
import csv
import io
import random
import tempfile
import time
from collections.abc import Callable, Iterable
from datetime import date, datetime, timedelta, timezone
from pathlib import Path
from statistics import median
from typing import Any

import pandas as pd
from scipy import stats

from tests.auditors import STREAM, Auditor
from tests.builders import SteppingClock, id_maker
from tests.fakes import CHECKLISTS
from tests.store.support import HastyDisk
from walkapp.actions.audits.figures import AuditFigures, Span, audit_figures
from walkapp.actions.audits.states import TO_COME, planned_between
from walkapp.actions.workplace import Workplace
from walkapp.model.records import AuditAnswer, AuditSigned, AuditStart, Record
from walkapp.presenters.audits.results import results_state
from walkapp.store import Store

FIRST, LAST = date(2026, 1, 26), date(2027, 1, 24)
NOW = datetime(2027, 1, 25, 5, 0, tzinfo=timezone(timedelta(hours=1)))
YEAR = Span(first=FIRST, last=LAST)
WEEKS = Span(first=LAST - timedelta(days=55), last=LAST)


class Place:
    """What the auditor of the tests needs of a desk."""

    def __init__(self, folder: Path) -> None:
        clock, new_id = SteppingClock(NOW), id_maker()
        self.store = Store(folder, now=clock, new_id=new_id, app="benchmark", disk=HastyDisk())
        self.place = Workplace(
            store=self.store, checklists=CHECKLISTS, now=clock, new_id=new_id, by="SL-AB"
        )


def fill(folder: Path) -> int:
    """Make the store; gives how many audits it holds."""
    chance, audits = random.Random(20260302), 0
    desk = Place(folder)
    with desk.store:
        auditor = Auditor(desk)
        for layer in auditor.plan.scheme.layers:
            for slot in auditor.plan.calendar.slots(layer, FIRST, LAST):
                if chance.random() < 1 / 14:
                    continue
                refs = [f"{station}/{question}" for station, question, _ in auditor.asked(slot)]
                due = auditor.plan.calendar.due_at(slot, auditor.zone)
                begun = due + timedelta(hours=2) if chance.random() < 0.05 else None
                auditor.audit(
                    slot,
                    begun=begun,
                    nok=[ref for ref in refs if chance.random() < 0.04],
                    not_applicable=[ref for ref in refs if chance.random() < 0.03],
                )
                audits += 1
    return audits


def timed(call: Callable[[], Any]) -> tuple[float, Any]:
    begin = time.perf_counter()
    found = call()
    return 1000 * (time.perf_counter() - begin), found


def write_csv(records: Iterable[Record], names: tuple[str, ...]) -> str:
    out = io.StringIO()
    rows = csv.writer(out)
    rows.writerow(names)
    rows.writerows([getattr(record, name) for name in names] for record in records)
    return out.getvalue()


def csvs_of(desk: Place) -> dict[str, str]:
    """Give the plan and the records of audits as CSVs."""
    records = list(desk.store.all_records())
    stream = desk.place.stream(STREAM)
    planned = planned_between(desk.place, stream, FIRST, LAST)
    plan = io.StringIO()
    rows = csv.writer(plan)
    rows.writerow(("layer", "day", "shift", "due"))
    for one in planned:
        if one.state != TO_COME:
            rows.writerow((one.layer.id, one.slot.day.isoformat(), one.slot.shift, one.due.isoformat()))
    return {
        "plan": plan.getvalue(),
        "starts": write_csv(
            (r for r in records if isinstance(r, AuditStart)), ("id", "layer", "day", "shift", "at")
        ),
        "signed": write_csv((r for r in records if isinstance(r, AuditSigned)), ("audit", "at")),
        "answers": write_csv(
            (r for r in records if isinstance(r, AuditAnswer)), ("audit", "station", "question", "answer")
        ),
    }


def with_pandas(texts: dict[str, str]) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Count as the program does, in the plain case that every audit is done once."""
    tables = {name: pd.read_csv(io.StringIO(text), keep_default_na=False) for name, text in texts.items()}
    starts = tables["starts"].merge(
        tables["signed"], left_on="id", right_on="audit", suffixes=("", "_signed")
    )
    plan = tables["plan"].merge(starts, on=["layer", "day", "shift"], how="left")
    due, begun, signed = (pd.to_datetime(plan[name], utc=True) for name in ("due", "at", "at_signed"))
    plan["missed"] = begun.isna()
    plan["made_up"] = begun >= due
    plan["in_time"] = (begun < due) & (signed < due)
    completion = plan.groupby("layer")[["in_time", "made_up", "missed"]].sum()
    answers = tables["answers"]
    counts = answers.groupby(["station", "question", "answer"]).size().unstack(fill_value=0)
    ok, nok = counts["ok"], counts["not_ok"]
    counts["low"] = stats.beta.ppf(0.025, ok, nok + 1)
    counts["high"] = stats.beta.ppf(0.975, ok + 1, nok)
    return completion, counts


def check_alike(found: AuditFigures, peer: tuple[pd.DataFrame, pd.DataFrame]) -> None:
    """Both count the same."""
    completion, counts = peer
    for layer, one in found.completion.by_layer.items():
        row = completion.loc[layer]
        assert (one.in_time, one.made_up, one.missed) == (row.in_time, row.made_up, row.missed), layer
    for question in found.conformity.by_question:
        row = counts.loc[tuple(question.ref.split("/"))]
        said = question.conformity
        assert (said.ok, said.nok) == (row.ok, row.not_ok), question.ref
        assert said.interval is not None
        if said.nok and said.ok:
            assert abs(said.interval.low - row.low) < 1e-9 and abs(said.interval.high - row.high) < 1e-9


def main() -> int:
    """Fill, count, and tell."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.audits", description=__doc__.split("\n")[0]
    )
    parser.add_argument("--rounds", type=int, default=7, help="times each is measured (default 7)")
    rounds = parser.parse_args().rounds
    with tempfile.TemporaryDirectory() as root:
        folder = Path(root) / "store"
        audits = fill(folder)
        desk = Place(folder)
        with desk.store:
            stream = desk.place.stream(STREAM)
            first, found = timed(lambda: audit_figures(desk.place, stream, YEAR))
            answers = found.conformity.all.answers
            print(f"{audits} audits with {answers} answers, {found.completion.all.due} due in the plan")
            print(f"just after a start, the journals read: {first:.0f} ms")
            year = median(timed(lambda: audit_figures(desk.place, stream, YEAR))[0] for _ in range(rounds))
            weeks = median(
                timed(lambda: audit_figures(desk.place, stream, WEEKS))[0] for _ in range(rounds)
            )
            page = median(timed(lambda: results_state(found))[0] for _ in range(rounds))
            print(f"once more: a year {year:.0f} ms, eight weeks {weeks:.0f} ms; its words {page:.1f} ms")
            texts = csvs_of(desk)
            runs = [timed(lambda: with_pandas(texts)) for _ in range(rounds)]
            check_alike(found, runs[0][1])
            peer = median(one for one, _ in runs)
            print(f"peer: pandas from CSVs, completion by layer and conformity by question: {peer:.0f} ms")
            print(f"ratio, all figures of a year to the peer's two: {year / peer:.2f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
