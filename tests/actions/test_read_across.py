"""Read-across: like stations of all streams, the newest word on each, and when nothing is left to do."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.builders import record_id
from tests.fakes import CHECKLISTS, Desk
from tests.floors import Floor
from walkapp.actions.read_across import (
    NO_FOLDER,
    NO_STATION,
    NO_STREAM,
    NOT_READ,
    Candidate,
    ReadAcrossFacts,
    read_across_lines,
    read_across_of,
    read_across_to_json,
    record_no_like_station,
    record_read_across,
)
from walkapp.actions.reading import concern_facts
from walkapp.actions.undoing import take_back
from walkapp.actions.workplace import Workplace
from walkapp.checklists import load_streams
from walkapp.errors import InputError, RecordError
from walkapp.model.checklist import STATION_KINDS
from walkapp.model.records import READ_ACROSS, Action, ReadAcross

OTHER_TABLET = record_id(8_000_072)
STREAMS = load_streams(CHECKLISTS)
FINAL_CHECK = ("pump-bracket", "final-check")


@pytest.fixture
def floor(desk):
    made = Floor(desk)
    made.count()
    return made


def found_of(floor, place=None):
    place = place or floor.desk.place
    return read_across_of(place, concern_facts(place, floor.route.concern))


def looking_at(floor, folder):
    """Give a workplace on the same store with another folder of checklists."""
    place = floor.desk.place
    return Workplace(store=place.store, checklists=folder, now=place.now, new_id=place.new_id, by=place.by)


@pytest.fixture
def own_stream_alone(floor, tmp_path):
    """The same store, with checklists in which no other station has the kind of the first bad one."""
    shutil.copytree(CHECKLISTS / "washer-reservoir", tmp_path / "own" / "washer-reservoir")
    return looking_at(floor, tmp_path / "own")


def places(found):
    return [(one.stream, one.station) for one in found.candidates]


def record(floor, where=FINAL_CHECK, status="clean", words="20 of lot 7 looked at", **more):
    return record_read_across(floor.desk.place, floor.facts, *where, status=status, words=words, **more)


def arrive(floor, record, number=1, **more):
    """Let a record like this one come from another tablet."""
    came = replace(
        record, id=record_id(9_000_000 + number), device=OTHER_TABLET, number=number, by="SL-KB", **more
    )
    floor.desk.store.merge([came], name="other", photos={}, checklists={})
    return came


def test_candidates_are_the_stations_of_the_same_kind_of_every_stream_but_the_first_bad_one(floor):
    found = found_of(floor)

    assert (found.origin.id, found.is_named, found.is_sure, found.trouble) == ("leak-test", True, True, "")
    assert places(found) == [FINAL_CHECK]
    assert [one.status for one in found.candidates] == [""]
    assert not found.is_complete
    assert found.why == "1 of 1 like stations still open."


@given(kind=st.sampled_from(STATION_KINDS))
def test_candidates_of_any_kind_are_what_the_checklists_say(tmp_path_factory, kind):
    desk = Desk(tmp_path_factory.mktemp("desk"))
    own = next(s for s in STREAMS if s.id == "washer-reservoir")
    station = next((s for s in own.stations if s.kind == kind), None)
    with desk.store:
        concern = desk.concern()
        said = {"aim": "corrective", "what": "Mend it", "owner": "TL-AH", "due_on": "2026-04-01"}
        if station is not None:
            desk.place.add(Action, concern=concern, action=concern, station=station.id, **said)
        found = read_across_of(desk.place, concern_facts(desk.place, concern))

    expected = [
        (stream.id, other.id)
        for stream in STREAMS
        for other in stream.stations
        if station and other.kind == kind and (stream.id, other.id) != (own.id, station.id)
    ]
    assert places(found) == sorted(expected)
    assert (found.origin, found.is_named) == (station, False)


def test_while_no_station_is_named_that_of_the_corrective_action_due_first_is_taken(desk):
    concern = desk.concern()
    before = read_across_of(desk.place, concern_facts(desk.place, concern))
    said = {"concern": concern, "what": "Mend it", "owner": "TL-AH"}
    rows = (("corrective", "packing", "2026-04-02"), ("corrective", "welding", "2026-04-01"),
            ("containment", "dock", "2026-03-05"), ("corrective", "", "2026-03-04"))  # fmt: skip
    for number, (aim, station, due) in enumerate(rows):
        desk.place.add(Action, action=record_id(number), aim=aim, station=station, due_on=due, **said)

    found = read_across_of(desk.place, concern_facts(desk.place, concern))

    assert (before.origin, before.why, before.is_complete) == (None, NO_STATION, False)
    assert found.origin.id == "welding"
    assert places(found) == [("pump-bracket", "clinching")]


def test_it_is_complete_when_every_station_is_clean_fixed_or_does_not_apply(floor):
    for status, is_complete in (
        ("to_check", False), ("affected", False), ("fixed", True), ("clean", True),
        ("does_not_apply", True),
    ):  # fmt: skip
        record(floor, status=status, words="" if status == "to_check" else "seen")

        assert found_of(floor).is_complete is is_complete, status
    assert found_of(floor).why == "All 1 like stations are clean, fixed or do not apply."


def test_a_newer_word_replaces_the_one_before_and_undo_brings_that_back(floor):
    first = record(floor, status="affected", words="3 of 20")
    second = record(floor, status="fixed", words="new pads too")
    assert second.replaces == (first.id,)

    take_back(floor.desk.place, floor.route.concern, (ReadAcross,))
    (one,) = found_of(floor).candidates
    assert (one.status, one.latest.words, one.others) == ("affected", "3 of 20", ())

    take_back(floor.desk.place, floor.route.concern, (ReadAcross,))
    assert found_of(floor).candidates[0].latest is None


def test_stations_that_somebody_added_are_shown_by_their_ids_and_count(floor):
    record(floor)
    record(floor, ("line-7", "leak-test-2"), status="affected", words="4 of 50")

    found = found_of(floor)

    assert places(found) == [("line-7", "leak-test-2"), FINAL_CHECK]
    by_hand = found.candidates[0]
    assert (by_hand.stream_name, by_hand.station_name, by_hand.is_like) == ("line-7", "leak-test-2", False)
    assert found.why == "1 like station is affected and not fixed; 1 in all still open."


def test_two_records_of_one_station_made_apart_are_both_told_and_the_newest_counts(floor):
    mine = record(floor, words="none of 20")
    came = arrive(floor, mine, status="affected", words="2 of 30")

    (one,) = found_of(floor).candidates

    assert (one.latest, one.others) == (came, (mine,))
    lines = list(read_across_lines(found_of(floor)))
    assert any("another record says: clean: none of 20" in line for line in lines)
    assert not found_of(floor).is_complete


def test_two_tablets_that_replaced_the_same_word_disagree_and_one_counts(floor):
    first = record(floor, status="to_check", words="")
    mine = record(floor, words="none of 20")
    arrive(floor, mine, status="affected", words="2 of 30")

    assert mine.replaces == (first.id,)
    assert [one.others for one in found_of(floor).candidates] == [()]
    assert len(floor.facts.conflicts) == 1


def test_an_overdue_station_rises_and_a_settled_one_is_never_overdue(floor):
    record(floor, ("line-7", "leak-test-2"), status="affected", words="4 of 50", due_on="2026-03-20")
    record(floor, ("line-9", "test"), status="to_check", words="", due_on="2026-03-05")
    floor.desk.place.now.time = floor.desk.place.now.time.replace(day=6)

    found = found_of(floor)

    assert [one.station for one in found.candidates] == ["test", "leak-test-2", "final-check"]
    assert [one.station for one in found.overdue] == ["test"]
    record(floor, ("line-9", "test"), words="none of 20", due_on="2026-03-05")
    assert found_of(floor).overdue == ()


def test_a_day_that_has_passed_is_refused_unless_it_stood_there_before(floor):
    with pytest.raises(InputError, match="Until: 2026-03-01 is before today"):
        record(floor, status="to_check", words="", due_on="2026-03-01")
    record(floor, status="to_check", words="", due_on="2026-03-05")
    floor.desk.place.now.time = floor.desk.place.now.time.replace(day=9)

    record(floor, status="affected", words="3 of 20", due_on="2026-03-05")

    assert [one.is_overdue for one in found_of(floor).candidates] == [True]


def test_the_first_bad_station_itself_and_a_status_without_words_are_refused(floor):
    with pytest.raises(InputError, match="Leak test is where the defect was found"):
        record(floor, ("washer-reservoir", "leak-test"))
    with pytest.raises(RecordError, match="words is missing"):
        record(floor, words="")
    assert not [r for r in floor.desk.records if isinstance(r, ReadAcross)]


def test_a_written_reason_stands_for_no_like_station_but_not_for_one_that_is_open(floor, own_stream_alone):
    record_no_like_station(floor.desk.place, floor.facts, "Only this line has clamps")
    assert found_of(floor).reason.words == "Only this line has clamps"
    assert not found_of(floor).is_complete

    found = found_of(floor, own_stream_alone)

    assert (found.candidates, found.is_complete) == ((), True)
    assert found.why == "No like station elsewhere: Only this line has clamps"
    again = record_no_like_station(floor.desk.place, floor.facts, "Only this plant has clamps")
    assert again.replaces == (found.reason.id,)
    take_back(floor.desk.place, floor.route.concern, (ReadAcross,))
    assert found_of(floor).reason.words == "Only this line has clamps"


def test_without_a_like_station_and_without_a_reason_it_is_not_complete(floor, own_stream_alone):
    found = found_of(floor, own_stream_alone)

    assert not found.is_complete
    assert "No other station of this kind" in found.why


def test_a_reason_that_was_written_when_another_station_was_named_completes_nothing(
    floor, own_stream_alone
):
    record(floor, ("washer-reservoir", "welding"), status="does_not_apply", words="Only this one welds")

    found = found_of(floor, own_stream_alone)

    assert places(found) == [("washer-reservoir", "welding")]
    assert not found.is_complete


@pytest.mark.parametrize("broken, said", [(True, NOT_READ), (False, NO_FOLDER)])
def test_without_readable_checklists_what_was_recorded_is_shown_and_it_is_never_complete(
    floor, tmp_path, broken, said
):
    record(floor)
    if broken:
        folder = tmp_path / "broken" / "stream"
        folder.mkdir(parents=True)
        Path(folder / "stream.toml").write_text("name = ", encoding="utf-8")

    found = found_of(floor, looking_at(floor, tmp_path / "broken" if broken else None))

    assert (found.why, found.is_complete) == (said, False)
    assert places(found) == [FINAL_CHECK]
    assert found.candidates[0].station_name == "final-check"


def test_a_concern_whose_checklist_is_not_here_says_so(tmp_path, floor):
    merged = Desk(tmp_path / "merged", seed=6)
    with merged.store:
        (concern,) = [r for r in floor.desk.records if r.kind == "concern"]
        unknown = replace(concern, stream="line-7")
        merged.store.merge([unknown], name="other", photos={}, checklists={})

        found = read_across_of(merged.place, concern_facts(merged.place, concern.concern))

    assert (found.why, found.is_complete, found.candidates) == (NO_STREAM, False, ())


def test_nothing_is_told_before_anybody_wrote_anything_and_json_has_its_names_always(floor):
    empty = found_of(floor)
    assert list(read_across_lines(empty)) == []
    said = read_across_to_json(empty)
    assert (said["complete"], said["station"], said["kind"]) == (False, "leak-test", "test")

    record(floor, status="affected", words="3 of 20", owner="TL-AH", due_on="2026-03-20")

    assert list(read_across_lines(found_of(floor))) == [
        "Read-across: 1 like station is affected and not fixed; 1 in all still open.",
        "    Final check, Pump bracket: affected: 3 of 20 (QE-RT, 2026-03-03 06:20), until 2026-03-20",
    ]
    (station,) = read_across_to_json(found_of(floor))["stations"]
    assert station.keys() == said["stations"][0].keys()
    assert (station["status"], station["owner"], station["overdue"]) == ("affected", "TL-AH", False)


def candidate(number, status, is_like):
    latest = None
    if status:
        said = {"other_stream": "s", "other_station": "t", "status": status, "words": "seen"}
        header = {"device": OTHER_TABLET, "number": 1, "at": "2026-03-03T06:20:00Z", "by": "QE-RT"}
        latest = ReadAcross(id=record_id(number), concern=record_id(1), **header, **said)
    names = {"stream_name": "S", "station_name": "T"}
    return Candidate(
        stream="s",
        station=f"t{number}",
        **names,
        is_like=is_like,
        latest=latest,
        others=(),
        is_overdue=False,
    )


@given(st.lists(st.tuples(st.sampled_from(("", *READ_ACROSS)), st.booleans()), max_size=6))
def test_complete_means_that_no_station_is_open_and_there_is_one_that_answers(rows):
    found = ReadAcrossFacts(
        origin=STREAMS[0].stations[0],
        is_named=True,
        is_sure=True,
        candidates=tuple(candidate(n + 2, *row) for n, row in enumerate(rows)),
        reason=None,
        trouble="",
        streams={},
    )
    open_ones = [status for status, _ in rows if status in ("", "to_check", "affected")]

    assert found.is_complete == (
        not open_ones and any(is_like or status != "does_not_apply" for status, is_like in rows)
    )
    assert len(found.open) == len(open_ones)
    assert found.why.endswith(".")
