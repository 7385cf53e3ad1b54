"""Records that strain a page: 20 stations, 30 checks, names without a blank, long texts. Invented."""

from __future__ import annotations

import json
from pathlib import Path

from tests.builders import START, SteppingClock, id_maker
from walkapp.actions.reading import concern_facts, walk_facts
from walkapp.actions.walking import Walking, open_concern, start_walk
from walkapp.actions.workplace import Workplace
from walkapp.presenters.route import Route
from walkapp.store import Store

STREAM = "hard-stream"
STATIONS, CHECKS = 20, 30

UNBROKEN = "Unterflanschbefestigungsbohrungsschraube"
"""A name of 40 letters without a blank; no language has many of these, but a part may."""

LONG = (
    "Found behind the second conveyor when the belt stood still for the change of shift; the parts lay "
    "face down in a tray without a label, so that nobody knows from which nest they came, and the tray "
    "was put back on the rack beside the parts of the early shift before anybody had counted them, and "
    "that is why every part of this rack counts as suspect until the sorting has been done and signed. "
)
"""About 400 letters, as somebody writes who has much to say."""

_KINDS = ("attribute", "count", "measurement", "setting", "photo", "question")


def write_checklists(folder: Path) -> Path:
    """Write the value stream; gives the folder of all streams."""
    stream = [
        f"name = {_text(UNBROKEN)}\nproduct = {_text(LONG[:80])}\nversion = '1'\ninvented = true\n",
        f"cautions = [{', '.join(_text(LONG[:200]) for _ in range(5))}]\n",
        f"[[defect]]\nid = 'wrong'\nname = {_text(UNBROKEN)}\nhow = {_text(LONG)}\n",
    ]
    checks = []
    for number in range(1, STATIONS + 1):
        name = f"{UNBROKEN[:38]}{number}" if number % 3 == 1 else f"{LONG[:37].strip()} {number}"
        stream.append(
            f"[[station]]\nid = 's{number}'\nname = {_text(name)}\n"
            f"short = {_text(UNBROKEN[:14])}\nkind = 'other'\nminutes = {number % 3}\n"
            f"hazards = [{_text(LONG[:180])}, {_text(UNBROKEN)}]\n"
            + (f"units = {{ kind = 'machine', names = {_units()} }}\n" if number == 1 else "")
        )
        checks += [_check(f"s{number}", check) for check in range(CHECKS if number == 1 else 1)]
    place = folder / STREAM
    place.mkdir(parents=True)
    (place / "stream.toml").write_text("\n".join(stream), encoding="utf-8")
    (place / "checks.toml").write_text("\n".join(checks), encoding="utf-8")
    return folder


def _check(station: str, number: int) -> str:
    kind = _KINDS[number % len(_KINDS)]
    title = UNBROKEN if number < len(_KINDS) else LONG[number : number + 60].strip()
    more = {
        "attribute": "finds = 'wrong'\nsample = 200\n",
        "count": "finds = 'wrong'\nsample = 1000\n",
        "measurement": "sample = 5\nunit = 'mm'\nlsl = -12345.678\nusl = 12345.678\nnominal = 0\n",
        "setting": "unit = 'mbar l/min'\nlsl = 1\nusl = 1000000\n",
    }.get(kind, "")
    return (
        f"[[check]]\nstation = '{station}'\nid = '{kind}-{number}'\nkind = '{kind}'\n"
        f"title = {_text(title)}\nhow = {_text(LONG)}\n{more}"
    )


def _units() -> str:
    return json.dumps([_unit(n) for n in range(1, 5)])


def _unit(number: int) -> str:
    return f"{UNBROKEN[:19]}{number}"


def _text(words: str) -> str:
    return json.dumps(words)  # a text of JSON is one of TOML too


def open_hard_place(folder: Path) -> Workplace:
    """Open an empty store on the stream; the caller closes ``store``."""
    clock, new_id = SteppingClock(START), id_maker(7)
    store = Store(folder / "store", now=clock, new_id=new_id, app="walkapp test")
    return Workplace(
        store=store,
        checklists=write_checklists(folder / "checklists"),
        now=clock,
        new_id=new_id,
        by="QE-RT",
    )


def hard_routes(place: Workplace) -> dict[str, Route]:
    """Record a walk of the stream, and name the places that show it."""
    said = {"stream": STREAM, "defect": "wrong", "severity": "safety", "what": f"{UNBROKEN} {LONG[:150]}"}
    more = {"part_name": UNBROKEN, "part_number": UNBROKEN, "customer_reference": UNBROKEN}
    concern = open_concern(place, **said, **more).concern
    walk = start_walk(place, concern_facts(place, concern), "down").id
    walking = Walking(place, concern, walk)

    def now():
        return walk_facts(place, concern, walk)

    stream = now().stream
    for station in ("s1", "s2", "s3", "s9"):
        walking.confirm_hazards(station)
        check = stream.station(station).checks[0].id
        for word in ("ok", "not_ok", "ok"):
            walking.judge_part(now(), station, check, word, unit=_unit(1) if station == "s1" else "")
    walking.say_sample(now(), "s1", UNBROKEN, "2026-03-02")
    walking.count(now(), "s1", "count-1", 1000, 999)
    for value in ("-12345.678", "99999.999"):
        walking.measure(now(), "s1", stream.station("s1").check("measurement-2"), value)
    walking.set_aside(now(), "s1", "question-5", LONG)
    walking.note("s1", LONG)
    walking.report_change(
        "s1",
        what=f"{UNBROKEN} {LONG[:150]}",
        change="machine",
        changed_on="2026-02-24",
        customer_told="unknown",
    )
    at = {"concern": concern, "walk": walk, "station": "s1"}
    whole = (
        "concern", "escalation", "start_walk", "judging", "stages", "containment", "trials", "new_trial",
        "confirmations", "new_confirmation", "actions", "new_action", "read_across", "lessons", "studies",
        "new_study", "review", "figures", "sheet", "correct_concern",
    )  # fmt: skip
    there = ("station", "sample", "note", "change", "answer", "weight", "onset", "detail", "dated_count")
    checks = {
        "judge": "attribute-0", "count": "count-1", "measure": "measurement-2", "reason": "question-5",
    }  # fmt: skip
    return {
        "home": Route(),
        "reviews": Route(screen="reviews"),
        **{name: Route(screen=name, concern=concern) for name in whole},
        **{name: Route(screen=name, **at) for name in there},
        **{name: Route(screen=name, check=check, **at) for name, check in checks.items()},
        "setting": Route(screen="measure", check="setting-3", **at),
        "photo": Route(screen="photo", check="photo-4", **at),
        "cautions": Route(screen="station", **{**at, "station": "s10"}),
        "review-station": Route(screen="review_station", concern=concern, station="s1"),
    }
