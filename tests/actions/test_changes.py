"""Change points found again, corrected and taken back, and those of two tablets counted once."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.floors import Floor, said_on
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.changes import (
    change_points,
    correct_change,
    find_change,
    may_be_taken_back,
    roles_used,
    take_back_change,
)
from walkapp.actions.merging import merge_bundles
from walkapp.actions.onset import date_onset, newest_dated, take_back_dated
from walkapp.actions.onset_words import onset_lines, onset_to_json, reason
from walkapp.actions.reading import concern_facts, walk_facts
from walkapp.actions.reasons import TAKEN_BACK
from walkapp.actions.walking import Walking
from walkapp.errors import InputError, RecordError
from walkapp.model.records import ChangePoint, what_is_said


@pytest.fixture
def floor(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield Floor(desk)


@pytest.fixture
def second(tmp_path, floor):
    """A second tablet that has the concern of the first one and walks it, too."""
    bundle = bundle_concerns(floor.desk.place, tmp_path / "one.zip", concern=floor.route.concern)
    desk = Desk(tmp_path / "second", seed=1, by="QA-NW")
    with desk.store:
        merge_bundles(desk.place, [bundle.path])
        yield desk


def merged(floor, second, folder):
    """Bring what the second tablet recorded to the first."""
    bundle = bundle_concerns(second.place, folder / "two.zip", concern=floor.route.concern)
    merge_bundles(floor.desk.place, [bundle.path])
    return floor.found


def correct(floor, point, why="mistyped", **more):
    return correct_change(
        floor.desk.place, floor.facts, point.id, why=why, **{**what_is_said(point), **more}
    )


def test_a_day_to_come_is_refused_and_nothing_is_written(floor):
    before = floor.desk.records
    with pytest.raises(InputError, match=r"^When: 2026-03-04 is still to come; mend it, or the date"):
        floor.change("Harder clamp pads", changed_on="2026-03-04")
    assert floor.desk.records == before


def test_outside_a_walk_a_change_lies_in_the_concerns_journal_and_is_ranked_alike(floor):
    floor.walk()
    floor.lots()
    Walking(floor.desk.place, floor.route.concern, "").report_change(
        "leak-test", change="machine", what="Pads", changed_on="2026-02-24", customer_told="no"
    )

    (point,) = change_points(floor.facts)
    assert (point.walk, point.scope) == ("", floor.route.concern)
    assert len(floor.found.ranking.suspects) == 1


def test_a_correction_is_a_new_record_in_the_same_journal_that_is_found_by_the_old_id(floor):
    first = floor.change("Harder clamp pads", day=24)
    second = correct(floor, first, changed_on="2026-02-23")
    third = correct(floor, second, meant_to="run faster", why="more is known now")

    assert (second.replaces, second.why, second.walk) == ((first.id,), "mistyped", first.walk)
    assert change_points(floor.facts) == (third,)
    for entry in (first, second, third):
        assert find_change(floor.desk.place, floor.facts, entry.id) == third
    assert first in floor.desk.records


@pytest.mark.parametrize(
    ("more", "error", "words"),
    [
        ({}, InputError, "Nothing is different"),
        ({"changed_on": "2026-03-04"}, InputError, "When: 2026-03-04 is still to come"),
        ({"what": ""}, RecordError, "what is missing"),
        ({"what": "Pads", "why": ""}, RecordError, "why is missing"),
    ],
)
def test_a_correction_that_cannot_be_is_refused_and_nothing_is_written(floor, more, error, words):
    point = floor.change("Harder clamp pads", day=24)
    before = floor.desk.records
    with pytest.raises(error, match=words):
        correct(floor, point, **more)
    assert floor.desk.records == before


def test_what_is_not_here_or_was_taken_back_is_said_in_a_sentence(floor):
    point = floor.change("Harder clamp pads", day=24)
    take_back_change(floor.desk.place, point)
    for entry in (point.id, "gone"):
        with pytest.raises(InputError, match="not here, or was taken back"):
            find_change(floor.desk.place, floor.facts, entry)


@pytest.mark.parametrize("longer_chain_wins", [False, True])
def test_of_two_rival_corrections_the_one_that_holds_is_found(floor, longer_chain_wins):
    first = floor.change("Harder clamp pads", day=24)
    mine = correct(floor, first, what="Softer clamp pads")
    place = floor.desk.place
    theirs = replace(mine, id=place.new_id(), device=place.new_id(), number=1, what="Pads turned")
    place.store.merge([theirs], name="other-tablet", photos={}, checklists={})
    if longer_chain_wins:
        said = {**what_is_said(mine), "what": "Softer pads", "concern": mine.concern, "walk": mine.walk}
        place.add(ChangePoint, **said, replaces=(mine.id,), why="mistyped")

    (shown,) = change_points(floor.facts)

    assert shown.what == ("Softer pads" if longer_chain_wins else "Pads turned")
    for entry in (first, shown):
        assert find_change(place, floor.facts, entry.id) == shown


def test_taking_a_correction_back_brings_the_change_back_once(floor):
    first = floor.change("Harder clamp pads", day=24)
    corrected = correct(floor, first, what="Softer clamp pads")
    assert may_be_taken_back(corrected, floor.desk.store.device)

    again = take_back_change(floor.desk.place, corrected)

    assert (again.what, again.why, again.replaces) == ("Harder clamp pads", TAKEN_BACK, (corrected.id,))
    assert not may_be_taken_back(again, floor.desk.store.device)
    assert not may_be_taken_back(corrected, "another tablet")


def test_the_walks_own_undo_still_goes_back_step_by_step(floor):
    first = floor.change("Harder clamp pads", day=24)
    take_back_change(floor.desk.place, correct(floor, first, what="Softer clamp pads"))

    whats = []
    for _ in range(3):
        floor.walking.undo(floor.desk.facts(floor.route))
        whats.append([point.what for point in change_points(floor.facts)])

    assert whats == [["Softer clamp pads"], ["Harder clamp pads"], []]


def test_the_page_of_the_onset_takes_back_the_newest_of_counts_and_changes(floor):
    floor.lot(20)
    point = floor.change("Harder clamp pads", day=24)
    assert newest_dated(floor.facts, floor.desk.store.device) == point

    take_back_dated(floor.desk.place, floor.facts)
    assert change_points(floor.facts) == ()
    assert newest_dated(floor.facts, floor.desk.store.device).kind == "dated_count"


def test_roles_are_offered_by_how_often_they_approved(floor):
    for role in ("setter", "shift lead", "shift lead", ""):
        floor.change("x", approved_by=role)
    assert roles_used(floor.facts) == ("shift lead", "setter")


def test_one_change_of_two_tablets_is_one_suspect_as_probable_as_alone(floor, second, tmp_path):
    floor.walk()
    floor.lots()
    floor.change("Harder clamp pads", day=24, meant_to="run as before")
    floor.change("New resin lot", "moulding", day=18, kind="material")
    alone = floor.found.ranking
    said_on(second, floor.route.concern, meant_to="cost less", approved_by="setter", customer_told="no")

    found = merged(floor, second, tmp_path)

    assert len(change_points(floor.facts)) == 3
    assert [s.probability for s in found.ranking.suspects] == [s.probability for s in alone.suspects]
    first = found.ranking.suspects[0]
    assert [point.by for point in found.changes[first.change.id]] == ["QE-RT", "QA-NW"]
    assert reason(found, first).endswith(
        "Meant to: run as before / cost less. Customer told: no. Recorded on 2 tablets."
    )
    assert found.warnings[-2:] == (
        "The customer was not told of: Harder clamp pads.",
        (
            "Recorded on several tablets: Harder clamp pads. That is taken as one change; correct one of "
            "the records if they are two."
        ),
    )


def test_both_tablets_rank_alike_after_exchange(floor, second, tmp_path):
    floor.walk()
    floor.lots()
    floor.change("Harder clamp pads", day=24)
    said_on(second, floor.route.concern)
    found = merged(floor, second, tmp_path)
    back = bundle_concerns(floor.desk.place, tmp_path / "back.zip", concern=floor.route.concern)
    merge_bundles(second.place, [back.path])

    theirs = date_onset(concern_facts(second.place, floor.route.concern))

    assert (theirs.ranking, theirs.changes) == (found.ranking, found.changes)


def test_a_correction_tells_two_changes_apart_that_were_taken_as_one(floor, second, tmp_path):
    floor.change("Harder clamp pads", day=24)
    theirs = said_on(second, floor.route.concern)
    assert len(merged(floor, second, tmp_path).ranking.suspects) == 1

    correct(floor, theirs, what="Harder clamp pads of clamp 2", why="two clamps, two changes")

    assert len(floor.found.ranking.suspects) == 2


def test_each_suspect_says_what_it_was_meant_to_do_and_a_late_one_why_it_is_none(floor):
    floor.walk()
    floor.lots()
    floor.change("Harder clamp pads", day=24, meant_to="run as before", customer_told="no")
    floor.change("New operator", day=28, kind="man")

    found = floor.found
    pads, operator = (reason(found, suspect) for suspect in found.ranking.suspects)

    assert pads.endswith("made 0 to 2 days before the onset. Meant to: run as before. Customer told: no.")
    assert operator.endswith(
        "made 2 days after the latest day of the onset (95 % interval), so that it is no suspect while "
        "that day holds. Meant to: not recorded. Customer told: not known."
    )


def test_where_two_records_contradict_each_other_both_are_said_and_it_is_warned_of(floor, second, tmp_path):
    floor.change("Harder clamp pads", day=24, customer_told="yes")
    said_on(second, floor.route.concern, customer_told="no")
    found = merged(floor, second, tmp_path)

    told = onset_to_json(found)["suspects"][0]["customer_told"]
    assert told == "yes and no, the records disagree"
    assert "The customer was not told of: Harder clamp pads." in found.warnings


def test_many_changes_of_which_nobody_told_are_named_in_short(floor):
    for number in range(5):
        floor.change(f"Change {number} " + "with many words " * 10, customer_told="no")

    (warning,) = [w for w in floor.found.warnings if w.startswith("The customer was not told of: ")]
    assert warning.endswith("; and 2 more.")
    assert len(warning) < 260


def test_the_summary_tells_intention_role_customer_and_the_time_line(floor):
    floor.walk()
    floor.lots()
    said = {"meant_to": "run as before", "approved_by": "setter", "customer_told": "no"}
    floor.change("Harder clamp pads", day=24, **said)
    floor.change("Spare screwdriver", "pump-assembly")

    lines = " ".join(onset_lines(floor.found))
    told = json.loads(json.dumps(onset_to_json(floor.found)))

    assert "Meant to: run as before. Customer told: no. Approved by: setter" in lines
    first = told["suspects"][0]
    assert {name: first[name] for name in said} == said
    assert told["time_line"]["days"][2] == {"day": "2026-02-26", "checked": 20, "nok": 9}
    assert told["time_line"]["interval"]["last_good_day"] == "2026-02-24"
    assert told["time_line"]["interval"]["bad_from_day"] == "2026-02-26"
    assert told["time_line"]["interval"]["probability"] >= 0.95
    assert told["time_line"]["first_bad_day"] == "2026-02-26"
    assert [(c["number"], c["kind"], c["day"]) for c in told["time_line"]["changes"]] == [
        (1, "machine", "2026-02-24"),
        (2, "machine", None),
    ]


def test_the_time_line_adds_up_the_lots_of_a_day_and_keeps_its_names_when_there_is_nothing(floor):
    nothing = onset_to_json(floor.found)["time_line"]
    assert (nothing["days"], nothing["changes"], nothing["first_bad_day"]) == ([], [], None)
    floor.lot(24, nok=1, lot="a")
    floor.lot(24, nok=2, lot="b")

    some = onset_to_json(floor.found)["time_line"]
    assert some.keys() == nothing.keys()
    assert some["days"] == [{"day": "2026-02-24", "checked": 40, "nok": 3}]


def test_a_change_of_a_walk_counts_for_that_walk_still(floor):
    point = floor.change("Harder clamp pads", day=24)
    correct(floor, point, what="Softer clamp pads")
    walk = walk_facts(floor.desk.place, floor.route.concern, floor.route.walk)
    assert [r.what for r in walk.at_station("leak-test") if isinstance(r, ChangePoint)] == [
        "Softer clamp pads"
    ]
