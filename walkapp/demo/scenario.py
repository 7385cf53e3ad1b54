"""The demo scenario: an invented concern, walked by two tablets, from the facts in a TOML file.

Everything is made up. What the two tablets record is written through the same actions as on the
floor, with a clock and a chance of its own, so that the same facts always give the same records.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.copies import cover_place
from walkapp.actions.disputes import Dispute, disputes_of
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.merging import merge_bundles
from walkapp.actions.onset import count_lot
from walkapp.actions.reading import concern_facts, walk_facts
from walkapp.actions.studies import Turn, open_study, read_part, study_facts
from walkapp.actions.walking import Walking, open_concern, start_walk
from walkapp.bundle import BundleFacts
from walkapp.demo.auditing import audit_floor
from walkapp.demo.bench import as_a_phone_takes_it
from walkapp.demo.desk import keep_at_desk
from walkapp.demo.fixing import FixRecorder
from walkapp.demo.pictures import draw
from walkapp.demo.tablets import SCENARIO, Tablet, open_tablet, read_scenario
from walkapp.model.boxes import Box
from walkapp.model.checklist import Check
from walkapp.model.records import Count, what_is_said


def play(out: Path, checklists: Path, *, with_audits: bool = True) -> BundleFacts:
    """Let two tablets walk the scenario and merge them at the desk.

    Parameters
    ----------
    out
        Folder for the three stores and their bundles; must not hold an earlier demo.
    checklists
        Folder of the value streams.
    with_audits
        Whether the layers do their audits too, and the desk keeps what it knows of the stream.

    Returns
    -------
    BundleFacts
        The desk's bundle, with the records of all tablets.
    """
    scenario = read_scenario()
    first, _ = scenario["tablet"]
    tablet = open_tablet(first, out / "tablet-1", checklists)
    with tablet.place.store:
        concern = open_concern(tablet.place, **scenario["concern"]).concern
        for said in scenario["limit"]:
            subject = Subject(concern=concern, limit=said["limit"])
            caption, name = said["caption"], said["picture"]
            keep_photo(tablet.place, subject, draw(name), name, caption=caption, invented=True)
        walk_scenario(tablet, concern)
        one = bundle_concerns(tablet.place, out / "tablet-1.zip", concern=concern)
    two = play_second(scenario, out, checklists, one.path, concern)
    bundles = [one.path, two.path]
    return fix_at_desk(scenario, out, checklists, bundles, concern, with_audits=with_audits)


def play_second(
    scenario: Mapping[str, Any], out: Path, checklists: Path, first_bundle: Path, concern: str
) -> BundleFacts:
    """Let the second tablet take in the first one's bundle, walk its stops, and write its own."""
    _, second = scenario["tablet"]
    tablet = open_tablet(second, out / "tablet-2", checklists)
    with tablet.place.store:
        merge_bundles(tablet.place, [first_bundle])
        walk_scenario(tablet, concern)
        return bundle_concerns(tablet.place, out / "tablet-2.zip", concern=concern)


def fix_at_desk(
    scenario: Mapping[str, Any],
    out: Path,
    checklists: Path,
    bundles: list[Path],
    concern: str,
    *,
    with_audits: bool = True,
) -> BundleFacts:
    """Merge bundles at the desk, record what is done about the concern, and write the desk's own bundle.

    The layers do their audits meanwhile, with the verification questions from the desk, and these are
    merged too.
    """
    desk = open_tablet(scenario["desk"], out / "desk", checklists)
    with desk.place.store:
        merge_bundles(desk.place, bundles)
        FixRecorder(desk, concern).record_all()
        if with_audits:
            fixed = bundle_concerns(desk.place, out / "desk-fix.zip", concern=concern)
            merge_bundles(desk.place, audit_floor(out, checklists, fixed.path))
            keep_at_desk(desk)
        return bundle_concerns(desk.place, out / f"{SCENARIO}.zip")


def walk_scenario(tablet: Tablet, concern: str) -> str:
    """Walk all stops of a tablet; give the id of the walk."""
    facts = concern_facts(tablet.place, concern)
    walk = start_walk(tablet.place, facts, tablet.facts["direction"]).id
    for stop in tablet.stops:
        tablet.clock.time += timedelta(minutes=stop.get("minutes_later", 5))
        record_stop(tablet, concern, walk, stop)
    for study in tablet.studies:
        record_study(tablet, concern, study)
    record_lots(tablet, concern)
    return walk


def record_lots(tablet: Tablet, concern: str) -> None:
    """Record the counts of older lots."""
    for lot in tablet.facts.get("lot", ()):
        said = {**lot, "made_on": str(lot["made_on"])}
        count_lot(tablet.place, concern_facts(tablet.place, concern), **said)


def record_study(tablet: Tablet, concern: str, said: Mapping[str, Any]) -> None:
    """Record an inspection study from its parts to the last reading."""
    place = tablet.place
    study = open_study(
        place,
        concern_facts(place, concern),
        said["station"],
        said["check"],
        bad=said["bad"],
        good=said["good"],
        repeats=said["repeats"],
    ).id
    for inspector in said["inspector"]:
        now = study_facts(place, concern, study)
        while (turn := now.next_turn(inspector["name"])) is not None:
            read_part(place, now, inspector["name"], turn, called_in_demo(said, inspector, turn))
            now = study_facts(place, concern, study)


def called_in_demo(study: Mapping[str, Any], inspector: Mapping[str, Any], turn: Turn) -> str:
    """Say what a demo inspector calls a part: the known answer, but for their mistakes."""
    is_mistaken = {"part": turn.part, "repeat": turn.repeat} in inspector["mistaken"]
    return "not_ok" if (turn.part in study["bad"]) != is_mistaken else "ok"


def disagree(tablet: Tablet, concern: str) -> Dispute:
    """Let a tablet and another one, which is not part of the demo, correct the same count differently."""
    place = tablet.place
    facts = concern_facts(place, concern)
    count = next(r for r in facts.standing.current if isinstance(r, Count) and 0 < r.nok < r.checked)
    said = {**what_is_said(count), "concern": concern, "walk": count.walk, "replaces": (count.id,)}
    mine = place.add(Count, **{**said, "nok": count.nok - 1}, why="counted again")
    theirs = replace(
        mine, id=place.new_id(), device=place.new_id(), number=1, nok=count.nok + 1, by="QA-NW"
    )
    place.store.merge([theirs], name="other-tablet", photos={}, checklists={})
    (dispute,) = disputes_of(place, concern_facts(place, concern))
    return dispute


def record_stop(tablet: Tablet, concern: str, walk: str, stop: Mapping[str, Any]) -> None:
    """Record everything that the scenario says of one stop."""
    walking = Walking(tablet.place, concern, walk)
    station_id = stop["station"]
    now = walk_facts(tablet.place, concern, walk)
    station = now.stream.station(station_id)
    if station is None:
        raise ValueError(f"the demo names the unknown station {station_id!r}")

    def check(check_id: str) -> Check:
        found = station.check(check_id)
        if found is None:
            raise ValueError(f"the demo names the unknown check {check_id!r} at {station_id!r}")
        return found

    walking.confirm_hazards(station_id)
    if "sample" in stop:
        walking.say_sample(now, station_id, stop["sample"]["lot"], str(stop["sample"]["made_on"]))
    for said in stop.get("judge", ()):
        unit = said.get("unit", "")
        words = ["not_ok"] * said["nok"] + ["ok"] * (said["checked"] - said["nok"])
        for word in words:
            walking.judge_part(now, station_id, check(said["check"]).id, word, unit=unit)
    for said in stop.get("count", ()):
        walking.count(now, station_id, check(said["check"]).id, said["checked"], said["nok"])
    for said in stop.get("measure", ()):
        for number, value in enumerate(said["values"], 1):
            part = f"P{number}" if said.get("tagged") else ""
            walking.measure(now, station_id, check(said["check"]), value, part=part)
    for said in stop.get("setting", ()):
        walking.read_setting(
            now, station_id, check(said["check"]), said["actual"], set_value=said.get("set", "")
        )
    for said in stop.get("question", ()):
        walking.answer_question(now, station_id, check(said["check"]).id, said["answer"])
    for said in stop.get("change", ()):
        walking.report_change(station_id, **{name: str(value) for name, value in said.items()})
    for words in stop.get("note", ()):
        walking.note(station_id, words)
    for said in stop.get("photo", ()):
        photo = walking.add_photo(
            station_id,
            taken_in_demo(said),
            said["picture"],
            check=said.get("check", ""),
            caption=said["caption"],
            invented=True,
        )
        wide, high = photo.width_px, photo.height_px
        for left, top, right, bottom in said.get("cover", ()):
            box = Box(round(left * wide), round(top * high), round(right * wide), round(bottom * high))
            cover_place(tablet.place, walk_facts(tablet.place, concern, walk), photo.sha256, box)


def taken_in_demo(said: Mapping[str, Any]) -> bytes:
    """Give the picture file that the scenario says: drawn, perhaps with what a phone writes into it."""
    drawn = draw(said["picture"])
    return as_a_phone_takes_it(drawn) if said.get("as_from_a_phone") else drawn
