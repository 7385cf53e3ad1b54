"""From counts of older lots and change points to the onset and the suspects, on a real store."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.actions.onset import NO_ROWS, date_onset, newest_dated, take_back_dated
from walkapp.actions.onset_words import onset_lines, onset_to_json, timing_words
from walkapp.actions.reading import concern_facts
from walkapp.actions.reasons import TAKEN_BACK
from walkapp.actions.walking import weigh_station
from walkapp.analysis.gather import gather_tallies
from walkapp.errors import InputError, RecordError
from walkapp.model.records import DatedCount


@pytest.fixture
def floor(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield Floor(desk)


def test_the_onset_is_named_with_its_days_and_the_change_before_it_leads(floor):
    floor.walk()
    floor.lots()
    floor.change("Harder clamp pads", day=24)
    floor.change("New resin lot", "moulding", day=18, kind="material")
    floor.change("New operator", day=28, kind="man")
    floor.change("Spare screwdriver", "pump-assembly")

    found = floor.found

    assert found.sentence == (
        "0226-1 of 2026-02-26 is the first bad one (>99.9 %). The defect started after the parts of "
        "2026-02-24 were made and at the latest with those of 2026-02-26 (95 % interval)."
    )
    assert (found.station.name, found.first_bad.name) == ("Leak test", "Leak test")
    whats = [found.changes[s.change.id][0].what for s in found.ranking.suspects]
    assert whats[0] == "Harder clamp pads"
    assert whats[-1] == "New operator"
    assert found.ranking.suspects[0].probability > 0.8
    timing = {found.changes[s.change.id][0].what: timing_words(s) for s in found.ranking.suspects}
    assert timing == {
        "Harder clamp pads": "0 to 2 days before the onset",
        "New resin lot": "6 to 8 days before the onset",
        "New operator": "after the onset",
        "Spare screwdriver": "time unknown",
    }
    assert [found.word(i) for i in range(4)] == [
        "before it started", "before it started", "first bad", "after it started",
    ]  # fmt: skip
    assert found.warnings[0].startswith("20 parts checked at Leak test have no production day")
    assert "Nothing made on 2026-02-25 was checked" in found.warnings[1]


def test_older_lots_change_nothing_of_where_it_starts_and_how_far_the_walk_is(floor):
    floor.walk()
    before, walk = floor.facts, floor.desk.facts(floor.route)
    station = walk.stream.station("leak-test")

    floor.lots()
    floor.lot(25, walk=floor.route.walk)

    stream, defect = before.known_stream(), before.concern.defect
    tallies = [gather_tallies(stream, f.standing.current, defect) for f in (before, floor.facts)]
    assert tallies[0] == tallies[1]
    assert floor.facts.locate() == before.locate()
    assert floor.desk.facts(floor.route).progress(station, "ear-look") == walk.progress(station, "ear-look")


def test_below_95_percent_every_word_is_most_likely(floor):
    floor.walk()
    for day, checked, nok in ((12, 30, 0), (19, 6, 1), (25, 10, 2)):
        floor.lot(day, checked, nok)

    found = floor.found

    assert not found.onset.is_sure
    assert found.sentence.startswith("Most likely 2026-02-19 is the first bad one")
    assert [found.word(i) for i in range(3)] == [
        "most likely before it started", "most likely first bad", "may be first bad",
    ]  # fmt: skip


def test_without_any_count_nothing_is_claimed_and_only_stations_rank_the_changes(floor):
    floor.change("Harder clamp pads", day=24)

    found = floor.found

    assert (found.onset, found.station, found.sentence) == (None, None, NO_ROWS)
    (suspect,) = found.ranking.suspects
    assert timing_words(suspect) == "the onset is not known"
    assert found.warnings[-1].startswith("No onset is known")


def test_without_counts_and_changes_there_is_nothing_to_tell(floor):
    assert onset_lines(floor.found) == ()
    assert floor.found.warnings == ()


def test_with_the_walks_parts_alone_it_is_said_that_older_lots_are_missing(floor):
    floor.walk()
    now = floor.desk.facts(floor.route)
    floor.walking.say_sample(now, "leak-test", "0303-1", "2026-03-03")

    found = floor.found

    assert [(row.label, row.checked, row.nok) for row in found.onset.rows] == [("0303-1", 20, 12)]
    assert found.warnings[0].startswith("No older lot was counted yet")
    assert "at the latest with the parts of 2026-03-03" in found.sentence


@pytest.mark.parametrize(
    ("station", "check", "words"),
    [
        ("welding", "ear-look", "upstream of Leak test, where the defect most likely starts: they cannot"),
        ("packing", "ear-count", "The rows are counts at Packing, downstream of Leak test"),
    ],
)
def test_counts_at_another_station_than_the_first_bad_one_are_used_with_a_warning(
    floor, station, check, words
):
    floor.walk()
    floor.lot(26, nok=3, station=station, check=check)

    assert len(floor.found.onset.rows) == 1
    assert words in floor.found.warnings[0]


def test_of_two_stations_the_first_bad_one_dates_the_onset(floor):
    floor.walk()
    floor.lot(26, checked=5, nok=3)
    floor.lot(26, checked=30, nok=9, station="packing", check="ear-count")

    assert [row.checked for row in floor.found.onset.rows] == [5]
    assert floor.found.warnings[0].startswith(
        "30 parts of older lots counted at other stations have no row"
    )


def test_counts_before_a_first_bad_station_is_named_are_shown_all_the_same(floor):
    floor.lot(26)

    found = floor.found

    assert found.first_bad is None
    assert found.word(0) == "undecided"
    assert found.warnings[0] == "No first bad station is named yet; the rows are the counts at Leak test."


def test_the_expected_share_of_the_concern_counts_here_as_well(floor):
    floor.walk()
    for day, nok in ((20, 0), (24, 1), (26, 9)):
        floor.lot(day, nok=nok)
    facts = floor.facts
    narrow = replace(facts, concern=replace(facts.concern, share_low="0.3", share_high="0.6"))

    wide, told = date_onset(facts).onset, date_onset(narrow).onset

    assert told.rows[1].probability < wide.rows[1].probability / 2


def test_weights_of_stations_name_the_station_but_do_not_count_among_the_suspects(floor):
    floor.walk()
    floor.lots()
    floor.change("Harder clamp pads", day=24)
    before = floor.found
    weigh_station(floor.desk.place, floor.facts, "leak-test", "0", "ruled out on another line")

    found = floor.found

    assert found.ranking == before.ranking
    assert found.first_bad.name == floor.facts.locate(thorough=False).first_bad_station != "Leak test"
    assert found.warnings[0].startswith("The weights that were given to stations do not count among")


def test_a_change_at_a_station_that_is_not_there_is_said_to_be_left_out(floor):
    floor.change("Rack moved", "old-station", day=20)
    floor.change("Harder clamp pads", day=24)

    assert len(floor.found.ranking.suspects) == 1
    assert any(w.startswith("1 recorded change is at stations") for w in floor.found.warnings)


@pytest.mark.parametrize(
    ("said", "error", "words"),
    [
        ({"station": "nowhere"}, InputError, "No check 'ear-look' at the station 'nowhere'"),
        ({"check": "part-temperature"}, InputError, "No check 'part-temperature'"),
        ({"made_on": "2026-03-04"}, InputError, "2026-03-04 is still to come"),
        ({"made_on": "24.02.2026"}, RecordError, "made_on must be a date"),
        ({"nok": 21}, RecordError, "nok must not be above checked"),
        ({"checked": 0}, RecordError, "checked must be from 1"),
    ],
)
def test_a_count_that_cannot_be_is_refused_and_nothing_is_written(floor, said, error, words):
    before = floor.desk.records
    with pytest.raises(error, match=words):
        floor.lot(24, **said)
    assert floor.desk.records == before


def test_today_counts_as_made(floor):
    assert floor.lot(24, made_on="2026-03-03").made_on == "2026-03-03"


def test_a_count_lies_in_its_walk_or_else_in_the_concerns_journal(floor):
    outside, inside = floor.lot(20), floor.lot(24, walk=floor.route.walk)

    assert outside in floor.desk.store.records(floor.route.concern)
    assert inside in floor.desk.store.records(floor.route.walk)
    assert floor.desk.facts(floor.route).undoable == inside


def test_the_newest_count_of_this_tablet_is_taken_back_first(floor):
    first, second = floor.lot(20), floor.lot(24, walk=floor.route.walk)

    taken = take_back_dated(floor.desk.place, floor.facts)
    assert (taken.replaces, taken.why, taken.walk) == ((second.id,), TAKEN_BACK, floor.route.walk)
    assert take_back_dated(floor.desk.place, floor.facts).replaces == (first.id,)
    assert not [r for r in floor.facts.standing.current if isinstance(r, DatedCount)]
    with pytest.raises(InputError, match="no count or change point to take back"):
        take_back_dated(floor.desk.place, floor.facts)


def test_undo_in_the_walk_brings_a_count_back_that_was_taken_back(floor):
    floor.lot(24, walk=floor.route.walk, nok=2)
    take_back_dated(floor.desk.place, floor.facts)

    floor.walking.undo(floor.desk.facts(floor.route))
    assert [row.nok for row in floor.found.onset.rows] == [2]
    floor.walking.undo(floor.desk.facts(floor.route))
    assert floor.found.onset is None


def test_a_count_of_another_tablet_is_not_taken_back(floor):
    floor.lot(20)
    assert newest_dated(floor.facts, "another tablet") is None


def test_it_is_told_in_lines_and_as_json(floor):
    floor.walk()
    floor.lots()
    floor.change("Harder clamp pads", day=24)

    lines = onset_lines(floor.found)
    told = json.loads(json.dumps(onset_to_json(floor.found)))

    assert lines[:2] == ("When it started:", f"  {floor.found.sentence}")
    assert "  lot 0226-1 of 2026-02-26: 9 of 20 NOK (23 % to 69 %), starts here >99.9 %: first bad" in lines
    assert any(
        line.startswith("  1. Harder clamp pads (machine, Leak test, 2026-02-24; 0 to 2") for line in lines
    )
    assert any(line.startswith("  None of the recorded changes: ") for line in lines)
    assert (told["first_bad_lot"], told["first_bad_day"]) == ("0226-1", "2026-02-26")
    assert (told["last_good_day"], told["bad_from_day"]) == ("2026-02-24", "2026-02-26")
    assert [row["nok"] for row in told["rows"]] == [0, 0, 9, 10]
    (suspect,) = told["suspects"]
    assert (suspect["station"], suspect["days_before_low"], suspect["days_before_high"]) == (
        "Leak test",
        0,
        2,
    )
    assert suspect["probability"] + told["none_of_the_changes"] == pytest.approx(1)
    assert told["warnings"] == list(floor.found.warnings)


def test_json_of_nothing_has_the_same_keys(floor):
    nothing = onset_to_json(floor.found)
    floor.lots()

    assert nothing.keys() == onset_to_json(floor.found).keys()
    assert (nothing["first_bad_day"], nothing["rows"], nothing["suspects"]) == (None, [], [])


def test_all_tablets_date_it_alike_after_a_merge(floor, tmp_path):
    floor.walk()
    floor.lots()
    floor.change("Harder clamp pads", day=24)
    bundle = bundle_concerns(floor.desk.place, tmp_path / "one.zip", concern=floor.route.concern)
    other = Desk(tmp_path / "other", seed=1)
    with other.store:
        merge_bundles(other.place, [bundle.path, bundle.path])
        merged = date_onset(concern_facts(other.place, floor.route.concern))

    assert merged.onset == floor.found.onset
    assert merged.ranking == floor.found.ranking
