"""Entries that disagree are told with every value, and a person's decision is a new record."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.builders import make, record_id
from tests.fakes import Desk
from tests.quarrels import OTHER_TABLET, Quarrel
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.choice_words import CHOICE_WORDS, said_choice
from walkapp.actions.disputes import dispute_lines, disputes_of, disputes_to_json, entry_value, settle
from walkapp.actions.kind_words import KIND_WORDS
from walkapp.actions.merging import merge_bundles
from walkapp.actions.summaries import summarise, summary_to_json
from walkapp.actions.undoing import last_undoable
from walkapp.errors import InputError
from walkapp.language import ENGLISH, use
from walkapp.languages import load
from walkapp.model.records import (
    HEADER,
    CarriedRecord,
    Escape,
    Measurement,
    Note,
    Setting,
    WalkStart,
    Withdrawal,
    columns_of_kind,
)


@pytest.fixture
def quarrel(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield Quarrel(desk)


def found(quarrel):
    return disputes_of(quarrel.desk.place, quarrel.facts)


def test_every_value_is_told_with_tablet_number_time_and_person(quarrel):
    (dispute,) = found(quarrel)

    device = quarrel.desk.store.device
    when = quarrel.mine.at[:16].replace("T", " ")
    mine = f"tablet {device[-6:]}, number {quarrel.mine.number}, {when}, QE-RT"
    theirs = f"tablet {OTHER_TABLET[-6:]}, number 1, {when}, SL-KB"
    reason = "Why the check does not apply: no parts here"
    assert list(dispute_lines([dispute])) == [
        "Entries disagree, a person has to settle it: Answers, Leak test, Mounting ear: look and touch",
        f"    OK ({mine})",
        f"    N/A; {reason} ({theirs})  <- counts for now",
    ]


@pytest.mark.parametrize("kind", KIND_WORDS)
def test_every_choice_of_every_kind_has_words(kind):
    for name, column in columns_of_kind(kind).items():
        if column.form in ("choice", "flag") and name not in HEADER:
            choices = column.choices or ("true", "false")
            assert set(choices) <= set(CHOICE_WORDS[name]), name


def test_a_choice_of_an_entry_is_said_in_words_of_the_language():
    entry = make(WalkStart, direction="down", stream="battery-door", checklist="0" * 64)
    assert "How the stream is walked: Down the stream" in entry_value(entry)

    try:
        use(load("de"))
        told = entry_value(entry)
    finally:
        use(ENGLISH)

    assert "Stromabwärts" in told


def test_a_choice_of_a_newer_version_is_said_by_its_key():
    assert (said_choice("direction", "sideways"), said_choice("direction", "")) == ("sideways", "")


def test_days_and_decimals_of_an_entry_are_said_as_people_of_the_language_write_them():
    entries = (
        make(Escape, found_on="2026-02-24", where="plant of the customer", quantity=2),
        make(Measurement, station="leak-test", check="ear-wall", value="2.50", unit_of_measure="mm"),
        make(Setting, station="leak-test", check="clamp-force", actual="12.5", unit_of_measure="kN"),
    )

    try:
        use(load("de"))
        told = [entry_value(entry) for entry in entries]
    finally:
        use(ENGLISH)

    assert [said in words for said, words in zip(("24.2.2026", "2,50", "12,5"), told, strict=True)] == [
        True
    ] * 3
    assert ["2026-02-24" in entry_value(entries[0]), "2.50" in entry_value(entries[1])] == [True, True]


def test_the_summary_holds_every_value(quarrel):
    (summary,) = summarise(quarrel.desk.place)

    (told,) = summary_to_json(summary)["conflicts"]
    assert (told["kind"], told["station"], told["check"]) == ("answer", "leak-test", "ear-look")
    assert [
        (one["id"], one["device"], one["number"], one["by"], one["counts"]) for one in told["values"]
    ] == [
        (quarrel.mine.id, quarrel.desk.store.device, quarrel.mine.number, "QE-RT", False),
        (quarrel.theirs.id, OTHER_TABLET, 1, "SL-KB", True),
    ]
    assert told == disputes_to_json(found(quarrel))[0]


def test_a_decision_is_a_new_record_that_replaces_all_and_counts(quarrel):
    (dispute,) = found(quarrel)

    made = settle(quarrel.desk.place, quarrel.concern, dispute, 0, "checked again")

    assert found(quarrel) == ()
    assert (made.answer, made.why, set(made.replaces)) == ("ok", "settled: checked again", set(dispute.ids))
    held = [r for r in quarrel.facts.standing.current if getattr(r, "station", "") == "leak-test"]
    assert made in held and quarrel.mine not in held and quarrel.theirs not in held
    assert {quarrel.mine, quarrel.theirs} <= set(quarrel.desk.records)


def test_a_value_that_was_taken_back_on_one_tablet_can_be_chosen(quarrel):
    answer = [r for r in quarrel.desk.records if r.kind == "answer"][5]
    quarrel.correct("ok", of=answer)
    back = make(Withdrawal, concern=quarrel.concern, walk=answer.walk, replaces=(answer.id,))
    quarrel.arrive(back, 7)
    dispute = next(d for d in found(quarrel) if "taken back" in [side.value for side in d.sides])

    made = settle(
        quarrel.desk.place,
        quarrel.concern,
        dispute,
        [side.value for side in dispute.sides].index("taken back"),
        "another part",
    )

    assert isinstance(made, Withdrawal)
    assert len(found(quarrel)) == 1


def test_what_both_took_back_is_named_by_what_it_was(quarrel):
    answer = [r for r in quarrel.desk.records if r.kind == "answer"][5]
    quarrel.take_back_both(answer)

    dispute = next(d for d in found(quarrel) if {s.value for s in d.sides} == {"taken back"})

    assert (dispute.kind, dispute.station, dispute.check) == ("answer", answer.station, answer.check)


def test_two_contents_of_one_id_are_both_told_and_settled(quarrel):
    note = quarrel.floor.walking.note("welding", "pads look new")
    twin = replace(note, words="pads look old")
    quarrel.desk.store.merge([twin], name="twin", photos={}, checklists={})
    dispute = next(d for d in found(quarrel) if d.kind == "note")
    assert [side.value for side in dispute.sides] == ["pads look new", "pads look old"]

    settle(quarrel.desk.place, quarrel.concern, dispute, 1, "asked")

    assert [d.kind for d in found(quarrel)] == ["answer"]
    (held,) = (r for r in quarrel.facts.standing.current if isinstance(r, Note))
    assert held.words == "pads look old"


def test_records_of_a_newer_version_are_told_and_cannot_be_settled_here(quarrel):
    for number, shape in ((20, "ring"), (21, "arrow")):
        cells = (("shape", shape), ("size", ""))
        record = make(CarriedRecord, carried_kind="marking", cells=cells, concern=quarrel.concern, walk="",
                      replaces=(record_id(400),))  # fmt: skip
        quarrel.arrive(record, number)
    dispute = next(d for d in found(quarrel) if d.kind == "marking")
    assert dispute.about == "Records of a newer version (marking)"
    assert [side.value for side in dispute.sides] == ["shape: ring; size: -", "shape: arrow; size: -"]

    with pytest.raises(InputError) as refused:
        settle(quarrel.desk.place, quarrel.concern, dispute, 0, "x")

    assert str(refused.value) == (
        "This version cannot settle these entries; settle them on a tablet with the newest version."
    )


def test_two_contents_of_a_walk_cannot_be_settled_since_other_records_name_it(quarrel):
    start = next(r for r in quarrel.desk.records if r.kind == "walk_start")
    quarrel.desk.store.merge([replace(start, by="SL-KB")], name="t", photos={}, checklists={})

    dispute = next(d for d in found(quarrel) if d.kind == "walk_start")

    assert not dispute.can_settle


def test_a_decision_on_what_has_changed_meanwhile_is_refused_and_nothing_is_recorded(quarrel):
    (dispute,) = found(quarrel)
    quarrel.arrive(replace(quarrel.mine, answer="not_ok"), 3)
    before = quarrel.desk.records

    with pytest.raises(InputError) as refused:
        settle(quarrel.desk.place, quarrel.concern, dispute, 0, "x")

    assert str(refused.value) == (
        "These entries have changed since the page was opened; look at them once more."
    )
    assert quarrel.desk.records == before


def test_undo_in_the_walk_does_not_take_a_decision_back(quarrel):
    (dispute,) = found(quarrel)
    mine = [r for r in quarrel.desk.records if r.device == quarrel.desk.store.device and r.walk]
    before = last_undoable(mine)
    made = settle(quarrel.desk.place, quarrel.concern, dispute, 0, "checked again")

    assert last_undoable([*mine, made]) == before


def test_a_merge_tells_the_contradictions_that_it_brought_and_no_others(quarrel, tmp_path):
    whole = bundle_concerns(quarrel.desk.place, tmp_path / "whole.zip").path
    desk = Desk(tmp_path / "desk", seed=4)
    with desk.store:
        (first,) = merge_bundles(desk.place, [whole])
        (again,) = merge_bundles(desk.place, [whole])

    assert [d.ids for d in first.disputes] == [{quarrel.mine.id, quarrel.theirs.id}]
    assert again.disputes == ()


def test_a_contradiction_between_two_bundles_is_told_with_the_later_one(quarrel, tmp_path):
    whole = bundle_concerns(quarrel.desk.place, tmp_path / "whole.zip").path
    newer = replace(quarrel.mine, answer="not_ok")
    quarrel.arrive(newer, 3)
    more = bundle_concerns(quarrel.desk.place, tmp_path / "more.zip").path
    desk = Desk(tmp_path / "desk", seed=4)
    with desk.store:
        first, second = merge_bundles(desk.place, [whole, more])

    assert first.disputes == ()
    assert [len(d.sides) for d in second.disputes] == [3]
