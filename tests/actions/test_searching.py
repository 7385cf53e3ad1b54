"""Search over a store: exactly the records that hold, whatever became of the file of the index."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import fields, replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import record_id
from tests.fakes import CHECKLISTS, Desk
from tests.floors import Floor
from tests.store.support import OTHER_DEVICE
from tests.strategies import records as any_record
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.kind_words import name_of_kind
from walkapp.actions.lessons import record_lesson
from walkapp.actions.reading import all_concerns, concern_facts
from walkapp.actions.reasons import UNDO
from walkapp.actions.searching import (
    ASK,
    MOST_HITS,
    PLAIN,
    Finder,
    search_lines,
    search_to_json,
    told_count,
)
from walkapp.actions.undoing import take_back
from walkapp.actions.workplace import Workplace
from walkapp.files import sha256_of
from walkapp.model.records import (
    Answer,
    CarriedRecord,
    Count,
    DatedCount,
    Lesson,
    Note,
    ReadAcross,
    Record,
    columns_of_kind,
    kind_of,
)
from walkapp.search import asked_words, words_of
from walkapp.store import Store

NOT_TYPED = {
    "by", "unit", "unit_of_measure", "covered", "seed", "shift", "added", "asked", "paper_by", "points",
}  # fmt: skip


@pytest.fixture
def floor(desk):
    made = Floor(desk)
    made.count()
    made.change("Harder clamp pads", day=22)
    made.walking.note("leak-test", "Größe der Pads: Ø 4 mm, lot 0222-2")
    record_lesson(desk.place, made.facts, worked="Asking the setter", to_change="Mark every lot")
    return made


def searched(place, *questions, **how):
    """Give what a finder that is up to date finds, by question."""
    finder = Finder(place, **how)
    finder.update()
    answers = {question: finder.find(question) for question in questions}
    finder.close()
    return answers


def texts(answer):
    return [result.text for result in answer.results]


def reader(desk, checklists=CHECKLISTS):
    """Open the same store for reading only."""
    now, new_id = desk.place.now, desk.place.new_id
    store = Store(desk.store.folder, now=now, new_id=new_id, app="test", writable=False)
    return Workplace(store=store, checklists=checklists, now=now, new_id=new_id)


@pytest.mark.parametrize("with_fts", [True, False])
def test_every_kind_of_text_is_found_by_the_beginnings_of_its_words(floor, with_fts):
    asked = {
        "grosse": ["Größe der Pads: Ø 4 mm, lot 0222-2"],
        "PADS hard": ["Harder clamp pads"],
        "0222-2": ["Größe der Pads: Ø 4 mm, lot 0222-2"],
        "setter mark": ["Asking the setter · Mark every lot"],
        "mounting invented": ["Cracked mounting ears (invented)"],
        "etter": [],
        "leak pads": ["Größe der Pads: Ø 4 mm, lot 0222-2", "Harder clamp pads"],
    }

    found = searched(floor.desk.place, *asked, with_fts=with_fts)

    assert {question: texts(answer) for question, answer in found.items()} == asked
    assert all(answer.is_current for answer in found.values())
    assert {answer.notes for answer in found.values()} == ({()} if with_fts else {(PLAIN,)})


def test_nok_parts_are_found_by_station_check_and_defect_after_all_that_was_typed(floor):
    answer = searched(floor.desk.place, "leak")["leak"]

    assert [one.kind for one in answer.results] == ["note", "change_point", "count"]
    last = answer.results[-1]
    assert (last.kind_words, last.station) == ("Count", "Leak test")
    assert last.text == "NOK: Mounting ear: look and touch, Whitened or cracked mounting ear"


def test_what_a_result_is_called_is_one_of_its_kind_and_no_clipped_word():
    called = {
        "deliveries": "Parts delivered", "part_seen": "Part seen", "picture_mark": "Mark on a picture",
        "sample": "Sample", "study_part": "Part of a study",
    }  # fmt: skip

    assert {kind: name_of_kind(kind) for kind in called} == called


def test_a_read_across_is_found_by_the_name_of_the_other_station(floor):
    floor.desk.place.add(
        ReadAcross, concern=floor.route.concern, other_stream="pump-bracket", other_station="final-check",
        status="clean", words="none of 20",
    )  # fmt: skip

    answer = searched(floor.desk.place, "final bracket")["final bracket"]

    assert [(one.kind_words, one.station, one.text) for one in answer.results] == [
        ("Read-across", "Final check", "none of 20")
    ]


def test_what_is_taken_back_corrected_or_merged_is_followed(floor):
    place, concern = floor.desk.place, floor.route.concern
    finder = Finder(place)
    finder.update()
    lesson = next(r for r in floor.desk.records if isinstance(r, Lesson))

    record_lesson(
        place, floor.facts, worked="Asking both operators", corrects=lesson.id, why="more exactly"
    )
    assert not finder.find("setter").is_current
    finder.update()
    assert (finder.find("setter").total, finder.find("operators").total) == (0, 1)

    take_back(place, concern, (Lesson,))
    finder.update()
    assert (finder.find("setter").total, finder.find("operators").total) == (1, 0)
    assert finder.find(UNDO).total == 0

    came = replace(lesson, id=record_id(9_000_001), device=OTHER_DEVICE, number=1, worked="Zebra")
    floor.desk.store.merge([came], name="other", photos={}, checklists={})
    finder.update()
    assert finder.find("zebra").total == 1

    take_back(place, concern, (Lesson,))
    finder.update()
    assert (finder.find("setter").total, finder.find("zebra").total) == (0, 1)


TYPED = (
    '"', "''", '"pads', "pads OR", "NOT pads", "NEAR(pads setter, 2)", "pads*", "-pads", "^pads", "pads:",
    "folded:pads", "(pads", "pads AND", "{folded} : pads", "+pads", "\\", "%", "_", "\x00pads",
    "\ud800pads", "x" * 10_000, "pads " * 2_000, '"' * 10_000, "a b c d e f g h i j k l m n o p q r s t",
    "pads; DROP TABLE",
)  # fmt: skip


@pytest.mark.parametrize("with_fts", [True, False])
def test_whatever_a_person_types_gives_a_plain_result(floor, with_fts):
    for question, answer in searched(floor.desk.place, *TYPED, with_fts=with_fts).items():
        words = asked_words(question)[0]
        assert answer.total == (2 if set(words) == {"pads"} else 0), question
        assert any(note.startswith("Only the first") for note in answer.notes) == (
            question.count(" ") == 19
        )


def test_a_question_without_a_letter_or_digit_is_answered_by_what_to_type(floor):
    for answer in searched(floor.desk.place, "", " ", "*", "😀 🔧", "--", "...", "\n\t").values():
        assert (answer.words, answer.total, answer.results, answer.notes) == ((), 0, (), (ASK,))
        assert told_count(answer) == ""


class Naive:
    """Looks at every text of every record that holds, with nothing of the search but its folding."""

    def __init__(self, place) -> None:
        self.place = place

    def find(self, question) -> set[str]:
        asked = asked_words(question)[0]
        return {
            record.id
            for facts in all_concerns(self.place)
            for record in facts.standing.current
            if asked and all(any(w.startswith(a) for w in self.words(record, facts)) for a in asked)
        }

    def words(self, record: Record, facts) -> list[str]:
        if isinstance(record, CarriedRecord):
            return []
        columns = columns_of_kind(kind_of(record))
        typed = [
            getattr(record, field.name)
            for field in fields(record)
            if columns[field.name].form == "text" and field.name not in NOT_TYPED
        ]
        is_bad = (isinstance(record, Answer) and record.answer == "not_ok") or (
            isinstance(record, Count | DatedCount) and record.nok > 0
        )
        if not any(typed) and not is_bad:
            return []
        station = facts.stream.station(getattr(record, "station", "")) if facts.stream else None
        check = station.check(getattr(record, "check", "")) if station else None
        defect = facts.stream.defect(check.finds) if check else None
        names = [one.name for one in (station, defect) if one] + ([check.title] if check else [])
        if station is None:
            names.append(getattr(record, "station", ""))
        if record.kind == "concern":
            found = facts.stream.defect(record.defect) if facts.stream else None
            names += [found.name if found else record.defect]
            names += [facts.stream.name if facts.stream else record.stream]
        if record.kind in ("deliveries", "success_factor"):
            names += [facts.stream.name if facts.stream else record.stream]
        if record.kind == "deliveries":
            names += [f"{date.fromisoformat(record.month):%B %Y}"]
        if record.kind == "read_across":
            names += [record.other_stream, record.other_station]
        names.append(getattr(record, "unit", ""))
        return [word for text in (*typed, *names) for word in words_of(text)]


@settings(max_examples=25)
@given(
    made=st.lists(any_record(), max_size=12),
    cuts=st.lists(st.tuples(st.integers(0, 200), st.integers(1, 5)), min_size=4, max_size=8),
)
def test_any_records_are_found_exactly_as_by_looking_at_every_text(tmp_path_factory, made, cuts):
    desk = Desk(tmp_path_factory.mktemp("desk"))
    with desk.store:
        floor = Floor(desk)
        floor.walking.note("leak-test", "Größe der Pads")
        concern, walk = floor.route.concern, floor.route.walk
        came = [
            replace(r, concern=concern, walk=walk if r.walk else "") for r in made if r.kind != "concern"
        ]
        desk.store.merge(came, name="other", photos={}, checklists={})
        naive = Naive(desk.place)
        facts = concern_facts(desk.place, concern)
        words = [word for record in facts.standing.current for word in naive.words(record, facts)]
        questions = [words[start % len(words)][:many] for start, many in cuts if words]
        questions.append(" ".join(questions[:2]))
        found = {how: searched(desk.place, *questions, with_fts=how) for how in (True, False)}

        for question in questions:
            expected = naive.find(question)
            for how in (True, False):
                answer = found[how][question]
                assert answer.total == len(expected)
                assert {one.record for one in answer.results} <= expected


def test_very_many_hits_are_counted_and_the_newest_are_shown(floor):
    place = floor.desk.place
    said = {"concern": floor.route.concern, "walk": floor.route.walk, "station": "welding"}
    place.add_all([(Note, {**said, "words": f"zebra {n}"}) for n in range(MOST_HITS + 30)])

    answer = searched(place, "zebra")["zebra"]

    assert (answer.total, len(answer.results)) == (MOST_HITS + 30, MOST_HITS)
    assert answer.results[0].text == f"zebra {MOST_HITS + 29}"
    assert told_count(answer) == "130 entries found; 100 of them are shown, newest first."


def test_records_whose_concern_is_not_here_are_found_and_say_so(desk):
    note = Note(
        id=record_id(7), device=OTHER_DEVICE, number=1, at="2026-03-03T06:20:00Z", by="SL-KB",
        concern=record_id(8), walk=record_id(9), station="leak-test", words="Zebra pads",
    )  # fmt: skip
    desk.store.merge([note], name="other", photos={}, checklists={})

    answer = searched(desk.place, "zebra")["zebra"]

    assert [(one.what, one.concern, one.station) for one in answer.results] == [
        ("", record_id(8), "leak-test")
    ]
    assert "concern: not here yet" in "\n".join(search_lines(answer))


# The file


QUESTIONS = ("pads", "leak", "lot 0222", "setter", "zebra")


def test_the_file_is_written_beside_the_journals_and_read_at_the_next_start(floor):
    store = floor.desk.store
    fresh = searched(floor.desk.place, *QUESTIONS)
    assert store.search_file.parent == store.folder and store.search_file.is_file()

    finder = Finder(floor.desk.place)

    assert finder.stale() == ()
    assert {question: finder.find(question) for question in QUESTIONS} == fresh


def test_nothing_is_read_or_written_before_somebody_asks(floor):
    Finder(floor.desk.place).close()

    assert not floor.desk.store.search_file.exists()


@pytest.mark.parametrize("spoil", ["missing", "cut", "flip", "foreign", "nonsense", "folder"])
def test_a_spoilt_file_is_thrown_away_and_built_again(floor, tmp_path_factory, spoil):
    fresh = searched(floor.desk.place, *QUESTIONS)
    path, chance = floor.desk.store.search_file, random.Random(3)
    data = bytearray(path.read_bytes())
    if spoil in ("missing", "folder"):
        path.unlink()
    if spoil == "folder":
        path.mkdir()
    if spoil == "cut":
        path.write_bytes(data[: len(data) // 2])
    if spoil == "flip":
        data[chance.randrange(len(data))] ^= 4
        path.write_bytes(data)
    if spoil == "nonsense":
        path.write_bytes(b"nothing of the kind")
    if spoil == "foreign":
        other = Desk(tmp_path_factory.mktemp("other"), seed=3)
        with other.store:
            searched(Floor(other).desk.place, "pads")
        path.write_bytes(other.store.search_file.read_bytes())

    finder = Finder(floor.desk.place)

    assert finder.find("pads").total == 0 and not finder.find("pads").is_current
    assert searched(floor.desk.place, *QUESTIONS) == fresh
    assert spoil == "folder" or Finder(floor.desk.place).stale() == ()


def test_a_file_with_a_right_hash_and_a_wrong_database_never_stops_a_search(floor):
    fresh = searched(floor.desk.place, *QUESTIONS)
    path, chance = floor.desk.store.search_file, random.Random(4)
    header, _, image = path.read_bytes().partition(b"\n")[2].partition(b"\n")
    for _ in range(60):
        spoilt = bytearray(image)
        for _ in range(chance.randrange(1, 40)):
            spoilt[chance.randrange(len(spoilt))] ^= 1 << chance.randrange(8)
        rest = header + b"\n" + spoilt
        path.write_bytes(sha256_of(rest).encode() + b"\n" + rest)

        searched(floor.desk.place, *QUESTIONS)

    path.unlink()
    assert searched(floor.desk.place, *QUESTIONS) == fresh


@pytest.mark.parametrize("steps", [1, 2, 3])
def test_a_build_that_stopped_in_the_middle_leaves_nothing_that_matters(floor, steps):
    for n in range(3):
        floor.desk.concern(what=f"Zebra {n}")
    update = Finder(floor.desk.place).begin_update()
    for _ in range(steps):
        update.step()
    del update

    assert searched(floor.desk.place, "zebra", "pads")["zebra"].total == 3


KILLED = """
import sys
from pathlib import Path
from tests.fakes import Desk
from walkapp.actions.searching import Finder
desk = Desk(Path(sys.argv[1]))
print("ready", flush=True)
while True:
    desk.store.search_file.unlink(missing_ok=True)
    Finder(desk.place).update()
"""


def test_a_program_that_is_killed_while_it_builds_leaves_a_file_that_is_whole_or_none(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        floor = Floor(desk)
        floor.count()
        floor.walking.note("leak-test", "harder pads")
    expected = None
    for delay in (0.01, 0.05, 0.11):
        child = subprocess.Popen([sys.executable, "-c", KILLED, str(tmp_path)], stdout=subprocess.PIPE)
        assert child.stdout.readline() == b"ready\n"
        time.sleep(delay)
        os.kill(child.pid, signal.SIGKILL)
        child.wait()
        child.stdout.close()

        again = Desk(tmp_path, seed=1)
        with again.store:
            found = searched(again.place, "pads", "leak")
            expected = expected or found
            assert found == expected and found["pads"].total == 1
            assert not list(tmp_path.glob("store/.search*"))


def test_a_store_that_is_only_read_is_searched_in_memory(floor):
    floor.desk.concern(what="Zebra")
    place = reader(floor.desk)
    with place.store:
        assert searched(place, "zebra", "pads")["zebra"].total == 1
    assert not floor.desk.store.search_file.exists()


def test_a_store_that_is_only_read_uses_the_file_also_without_checklists(floor):
    fresh = searched(floor.desk.place, *QUESTIONS)
    before = floor.desk.store.search_file.read_bytes()
    place = reader(floor.desk, checklists=None)
    with place.store:
        finder = Finder(place)

        assert finder.stale() == ()
        assert {question: finder.find(question) for question in QUESTIONS} == fresh
    assert floor.desk.store.search_file.read_bytes() == before


def test_a_few_new_records_of_a_large_index_are_not_worth_a_new_file(floor):
    said = {"concern": floor.route.concern, "walk": floor.route.walk, "station": "welding"}
    floor.desk.place.add_all([(Note, {**said, "words": f"pads {n}"}) for n in range(100)])
    searched(floor.desk.place, "pads")
    before = floor.desk.store.search_file.read_bytes()

    floor.walking.note("welding", "zebra")
    assert searched(floor.desk.place, "zebra")["zebra"].total == 1

    assert floor.desk.store.search_file.read_bytes() == before


def test_the_file_is_no_part_of_a_bundle_and_the_check_of_the_store_knows_it(floor, tmp_path):
    searched(floor.desk.place, "pads")
    bundle_concerns(floor.desk.place, tmp_path / "out.zip")

    assert b"search.index" not in (tmp_path / "out.zip").read_bytes()
    assert floor.desk.store.check().is_sound
    floor.desk.store.close()
    for name in ("store.json", "journals"):
        (floor.desk.store.folder / name).rename(tmp_path / name)
    reopened = Desk(tmp_path, seed=5)  # an index alone is no strange folder
    reopened.store.close()


def test_json_has_the_same_names_whatever_was_found(floor):
    found = searched(floor.desk.place, "pads", "zebra")

    said = search_to_json("pads", found["pads"])
    assert (said["question"], said["words"], said["total"]) == ("pads", ["pads"], 2)
    assert said["results"][0]["kind_name"] == "Note"
    assert search_to_json("zebra", found["zebra"]).keys() == said.keys()
