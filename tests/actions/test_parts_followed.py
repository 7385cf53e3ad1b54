"""Tags on answers: kept with them, taken back with them, and told in words and JSON."""

from __future__ import annotations

import json

import pytest

from tests.fakes import Desk
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import bundle_as_store
from walkapp.actions.parts_followed import (
    followed_lines,
    followed_of,
    followed_sentence,
    followed_to_json,
    turn_notes,
)
from walkapp.actions.reading import concern_facts
from walkapp.actions.walking import SeenPart, Walking
from walkapp.model.records import PartSeen, Withdrawal


class Line:
    """A walk on which tagged parts are judged."""

    def __init__(self, folder) -> None:
        self.desk = Desk(folder)
        self.route = self.desk.walk()
        self.walking = Walking(self.desk.place, self.route.concern, self.route.walk)

    def judge(self, tag, station, word, lot=""):
        now = self.desk.facts(self.route)
        return self.walking.judge_part(now, station, "ear-look", word, seen=SeenPart(part=tag, lot=lot))

    @property
    def facts(self):
        return concern_facts(self.desk.place, self.route.concern)

    @property
    def followed(self):
        return followed_of(self.facts)


@pytest.fixture
def line(tmp_path):
    made = Line(tmp_path)
    with made.desk.store:
        yield made


def turned(line, tags="ABCDEFG"):
    for tag in tags:
        line.judge(tag, "moulding", "ok")
        line.judge(tag, "welding", "ok")
    for tag in tags:
        line.judge(tag, "leak-test", "not_ok")


def test_an_answer_and_its_tag_are_on_disk_together(line):
    answer = line.judge("EAR-1", "welding", "ok", lot="0303")

    (seen,) = [r for r in line.desk.records if isinstance(r, PartSeen)]
    assert (seen.about, seen.part, seen.lot, seen.read_by) == (answer.id, "EAR-1", "0303", "code")
    assert seen.number == answer.number + 1


def test_one_undo_takes_back_an_answer_and_its_tag(line):
    line.judge("EAR-1", "welding", "ok")
    line.judge("EAR-2", "welding", "not_ok")

    line.walking.undo(line.desk.facts(line.route))

    assert [part.tag for part in line.followed.parts] == ["EAR-1"]
    (withdrawal,) = [r for r in line.desk.records if isinstance(r, Withdrawal)]
    assert len(withdrawal.replaces) == 2
    line.walking.undo(line.desk.facts(line.route))
    assert line.followed.parts == ()


def test_a_tag_changes_nothing_of_the_answer_on_where_it_starts(tmp_path):
    answers = []
    for tag in ("", "EAR-1"):
        line = Line(tmp_path / (tag or "none"))
        with line.desk.store:
            line.judge(tag, "welding", "ok")
            line.judge(tag, "leak-test", "not_ok")
            answers.append(line.facts.locate())

    assert answers[0] == answers[1]


def test_how_many_parts_turned_where_is_told_with_what_it_does_not_show(line):
    turned(line)

    told = "\n".join(followed_lines(line.facts))

    assert "7 of 7 followed parts were OK up to Hot-plate welding and NOK from Leak test on." in told
    assert "by the rates in use" in told.lower()
    assert "What it does not show" in told
    assert "worked out of all parts together" in told


def test_one_part_is_told_as_one(line):
    turned(line, "A")

    assert followed_sentence(line.followed) == (
        "1 of 1 followed part was OK up to Hot-plate welding and NOK from Leak test on."
    )


def test_stations_that_were_left_out_between_are_named(line):
    line.judge("A", "moulding", "ok")
    line.judge("A", "leak-test", "not_ok")

    (turn,) = line.followed.turns
    first = next(turn_notes(line.facts, turn))

    assert "Degating, Hot-plate welding" in first


def test_a_contradiction_is_told_as_one(line):
    line.judge("A", "welding", "not_ok")
    line.judge("A", "leak-test", "ok")

    assert any("1 part: NOK and then OK" in told for told in followed_lines(line.facts))
    assert any("misjudged, reworked, or swapped?" in told for told in followed_lines(line.facts))


def test_nothing_is_told_while_no_part_is_followed(line):
    line.judge("", "welding", "ok")

    assert list(followed_lines(line.facts)) == []
    assert followed_to_json(line.facts)["parts"] == []


def test_json_tells_every_look(line):
    turned(line, "A")

    said = json.loads(json.dumps(followed_to_json(line.facts)))

    assert said["turned"] == [
        {
            "after": "Hot-plate welding",
            "at": "Leak test",
            "not_judged_between": [],
            "parts": 1,
            "tags": ["A"],
        }
    ]
    assert [(s["station"], s["state"]) for s in said["parts"][0]["stations"]] == [
        ("Injection moulding", "ok"),
        ("Hot-plate welding", "ok"),
        ("Leak test", "not_ok"),
    ]


def test_a_bundle_carries_the_tags(line, tmp_path):
    turned(line, "AB")
    out = tmp_path / "walk.zip"
    bundle_concerns(line.desk.place, out)

    with bundle_as_store(out, now=line.desk.place.now, new_id=line.desk.place.new_id, app="test") as seen:
        followed = followed_of(concern_facts(seen.place, line.route.concern))

    assert followed == line.followed


def test_texts_from_other_tablets_are_told_in_one_line(line):
    line.judge("=A\nB", "welding", "ok", lot="x\ty")

    assert all("\n" not in told for told in followed_lines(line.facts))
