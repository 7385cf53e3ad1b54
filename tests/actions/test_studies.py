"""Inspection studies: opened, read in blind order, merged, and their rates chosen for the walk."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import CONCERN, make, record_id
from tests.fakes import Desk
from tests.labs import BAD, GOOD, Lab
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.studies import (
    checks_to_study,
    choose_rates,
    inspector_called,
    read_part,
    studies_of,
    study_facts,
    take_back_rates,
    undo_reading,
)
from walkapp.actions.walking import Walking
from walkapp.analysis.gather import gather_tallies
from walkapp.errors import InputError, RecordError, StoreError
from walkapp.model.records import (
    Concern,
    KnownPart,
    RatesChosen,
    Study,
    StudyReading,
    Withdrawal,
)
from walkapp.model.standing import standing_of


@pytest.fixture
def lab(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield Lab(desk)


def of_kind(lab, kind):
    return [r for r in lab.desk.records if isinstance(r, kind)]


# --- opening --------------------------------------------------------------------------------------


def test_a_study_and_its_parts_lie_in_the_journal_of_the_concern(lab):
    study, parts = lab.now.study, lab.now.parts
    assert (study.station, study.check, study.repeats, study.by) == ("leak-test", "ear-look", 2, "QE-RT")
    assert {(p.label, p.known) for p in parts} == {*((p, "bad") for p in BAD), *((p, "good") for p in GOOD)}
    assert {r.walk for r in (study, *parts)} == {""}
    assert {study, *parts} <= set(lab.desk.store.records(lab.concern))
    assert study.invented  # the checklist says that its stream is made up


def test_only_checks_that_judge_parts_for_the_defect_can_be_studied(lab):
    found = checks_to_study(concern_facts(lab.desk.place, lab.concern))
    assert {check.kind for _, check in found} == {"attribute", "count"}
    assert {check.finds for _, check in found} == {"cracked-ear"}


@pytest.mark.parametrize(
    "changes, error, words",
    [
        ({"check": "pad-hardness"}, InputError, "No check 'pad-hardness'"),
        ({"station": "nowhere"}, InputError, "No check"),
        ({"good": ()}, InputError, "parts known to be good"),
        ({"good": ("3",)}, InputError, "part 3 is named twice"),
        ({"bad": (" ",)}, InputError, "is empty"),
        ({"bad": ("x" * 21,)}, RecordError, "label has 21 characters"),
        ({"repeats": 10}, RecordError, "repeats must be from 1 to 9"),
    ],
)
def test_a_study_that_cannot_be_is_refused_and_nothing_is_written(lab, changes, error, words):
    before = lab.desk.records
    with pytest.raises(error, match=words):
        lab.open(**changes)
    assert lab.desk.records == before


def test_a_study_that_is_not_here_is_refused_in_words(lab):
    with pytest.raises(InputError, match="not in this store"):
        study_facts(lab.desk.place, lab.concern, record_id(99))


def test_the_newest_study_comes_first(lab):
    newer = lab.open().id
    found = studies_of(concern_facts(lab.desk.place, lab.concern))
    assert [one.study.id for one in found] == [newer, lab.study]


# --- reading --------------------------------------------------------------------------------------


def test_every_inspector_gets_all_parts_in_an_order_of_their_own(lab):
    orders = {who: [(t.repeat, t.part) for t in lab.now.turns(who)] for who in ("A", "B")}
    for order in orders.values():
        assert sorted(order) == sorted((repeat, part) for repeat in (1, 2) for part in BAD + GOOD)
        assert [repeat for repeat, _ in order] == [1] * 12 + [2] * 12
    assert orders["A"] != orders["B"]
    # No half of the order is of one kind only.
    assert {part in BAD for _, part in orders["A"][:6]} == {True, False}


def test_each_reading_is_one_record_of_the_inspector(lab):
    turn = lab.now.next_turn("OP-TB")
    made = read_part(lab.desk.place, lab.now, "OP-TB", turn, "not_ok")
    assert (made.part, made.repeat, made.called, made.inspector, made.by) == (
        turn.part, 1, "not_ok", "OP-TB", "OP-TB",
    )  # fmt: skip
    assert lab.now.readings == (made,)
    assert lab.now.next_turn("OP-TB").number == 2
    assert lab.now.next_turn("SL-HN").number == 1


def test_a_part_whose_turn_it_is_not_is_refused(lab):
    turn = lab.now.next_turn("OP-TB")
    lab.read("OP-TB")
    with pytest.raises(InputError, match=f"not the turn of part {turn.part}"):
        read_part(lab.desk.place, lab.now, "OP-TB", turn, "ok")


def test_an_inspector_goes_on_after_a_restart_where_they_stopped(tmp_path):
    first = Desk(tmp_path)
    with first.store:
        lab = Lab(first)
        lab.read("OP-TB", 5)
        before = lab.now
        sixth = before.next_turn("OP-TB")
    again = Desk(tmp_path, seed=1)
    with again.store:
        later = Lab(again, lab.concern, lab.study)
        assert later.now.readings == before.readings
        assert later.now.next_turn("OP-TB") == sixth
        assert sixth.number == 6


def test_a_reading_that_is_not_durable_is_not_said_to_be_there(lab):
    lab.read("OP-TB")
    before = lab.now.readings
    lab.desk.store.close()
    with pytest.raises(StoreError):
        read_part(lab.desk.place, lab.now, "OP-TB", lab.now.next_turn("OP-TB"), "ok")
    assert lab.now.readings == before


def test_undo_takes_back_the_inspectors_newest_reading_and_deletes_nothing(lab):
    lab.read("OP-TB", 2)
    lab.read("SL-HN", 1)
    second = lab.now.turns("OP-TB")[1]

    taken_back = undo_reading(lab.desk.place, lab.now, "OP-TB")

    assert isinstance(taken_back, Withdrawal)
    assert lab.now.next_turn("OP-TB") == second
    assert (lab.now.done("OP-TB"), lab.now.done("SL-HN")) == (1, 1)
    assert len(of_kind(lab, StudyReading)) == 3
    undo_reading(lab.desk.place, lab.now, "OP-TB")
    with pytest.raises(InputError, match="no reading to undo"):
        undo_reading(lab.desk.place, lab.now, "OP-TB")


def test_undo_on_one_tablet_leaves_readings_of_another_alone(tmp_path):
    one, two = Desk(tmp_path / "one"), Desk(tmp_path / "two", seed=1)
    with one.store, two.store:
        first = Lab(one)
        first.read("OP-TB", 3)
        two.store.merge(one.records, name="one", photos={}, checklists={})
        second = Lab(two, first.concern, first.study)
        with pytest.raises(InputError, match="no reading to undo on this tablet"):
            undo_reading(two.place, second.now, "OP-TB")
        assert second.now.next_turn("OP-TB") == first.now.next_turn("OP-TB")


@pytest.mark.parametrize("typed", ["qe-rt", " QE-RT ", "QE-RT"])
def test_who_entered_the_answers_cannot_judge(lab, typed):
    with pytest.raises(InputError, match="QE-RT entered the known answers"):
        inspector_called(lab.now, typed)


def test_an_inspector_is_known_again_however_the_initials_are_typed(lab):
    lab.read("SL-HN")
    assert inspector_called(lab.now, " sl-hn ") == "SL-HN"
    assert inspector_called(lab.now, "OP  TB") == "OP TB"
    with pytest.raises(InputError, match="missing"):
        inspector_called(lab.now, " \t")


# --- what it says ---------------------------------------------------------------------------------


def test_the_result_is_that_of_the_readings(lab):
    lab.finish("OP-TB", wrong={("8", 1)})
    lab.finish("SL-HN")
    result = lab.now.result
    assert (result.detection.nok, result.detection.readings, result.detection.parts) == (23, 24, 6)
    assert (result.false_alarm.nok, result.false_alarm.readings) == (0, 24)
    assert result.is_usable
    # (5.75 + 0.5) / 7 and 0.5 / 7, the rule of the statistic's own tests.
    assert lab.now.rates()["detection"] == "0.892857"
    assert lab.now.rates()["false_alarm"] == "0.071429"


def test_a_study_is_finished_when_all_who_began_are_through(lab):
    assert not lab.now.is_finished
    lab.finish("OP-TB")
    assert lab.now.is_finished
    lab.read("SL-HN")
    assert not lab.now.is_finished


# --- choosing -------------------------------------------------------------------------------------


def rates_at(lab, station):
    facts = concern_facts(lab.desk.place, lab.concern)
    found = gather_tallies(facts.stream, facts.standing.current, "cracked-ear")
    (tally,) = [t for t in found if t.name == facts.stream.station(station).name]
    return tally.next_detection, tally.next_false_alarm


def test_a_choice_is_a_record_of_a_person_and_counts_at_its_check_only(lab):
    lab.finish("OP-TB", "SL-HN")
    assert rates_at(lab, "leak-test") == (0.90, 0.005)

    chosen = choose_rates(lab.desk.place, lab.now)

    assert (chosen.by, chosen.at[:10], chosen.study) == ("QE-RT", "2026-03-03", lab.study)
    assert rates_at(lab, "leak-test") == (0.928571, 0.071429)
    assert rates_at(lab, "moulding") == (0.90, 0.005)
    assert lab.now.is_chosen


def test_the_answer_counts_with_the_chosen_rates_and_says_where_they_come_from(lab):
    walk = lab.desk.walk()
    lab = Lab(lab.desk, walk.concern)
    walking = Walking(lab.desk.place, walk.concern, walk.walk)
    for word in ("ok", "not_ok", "not_ok"):
        walking.judge_part(lab.desk.facts(walk), "leak-test", "ear-look", word)
    lab.finish("OP-TB", "SL-HN")
    before = lab.locate()

    choose_rates(lab.desk.place, lab.now)
    after = lab.locate()

    assert (before.assumptions.detection, before.assumptions.false_alarm) == (0.90, 0.005)
    assert (after.assumptions.detection, after.assumptions.false_alarm) == (0.928571, 0.071429)
    assert after.probability != before.probability
    (note,) = [said for said in after.warnings if "inspection study" in said]
    assert "inspection study of 2026-03-03, 6 bad and 6 good parts (chosen by QE-RT, 2026-03-03)" in note
    assert "Leak test" in note
    assert "92 % are called NOK (at least 60 %)" in note
    assert "8 % (at most 40 %; each limit one-sided 95 %)" in note
    assert not [said for said in before.warnings if "inspection study" in said]


def test_a_newer_choice_replaces_the_earlier_one_and_says_so(lab):
    lab.finish("OP-TB", "SL-HN")
    first = choose_rates(lab.desk.place, lab.now)
    other = Lab(lab.desk, lab.concern, lab.open(repeats=1).id)
    other.finish("OP-TB")

    second = choose_rates(lab.desk.place, other.now)

    assert second.replaces == (first.id,)
    assert second.why
    assert lab.now.chosen == second
    assert not lab.now.is_chosen
    assert concern_facts(lab.desk.place, lab.concern).conflicts == ()


def test_choices_of_two_tablets_leave_the_newest_one_on_both(lab):
    lab.finish("OP-TB")
    first = choose_rates(lab.desk.place, lab.now)
    newer = make(
        RatesChosen, 10**8, walk="", concern=lab.concern, device=record_id(77), station="leak-test",
        check="ear-look", study=lab.study, detection="0.8", false_alarm="0.1", detection_low="0.6",
        false_alarm_high="0.3", bad_parts=9, good_parts=9,
    )  # fmt: skip
    lab.desk.store.merge([newer], name="two", photos={}, checklists={})

    assert lab.now.chosen == newer
    assert rates_at(lab, "leak-test") == (0.8, 0.1)
    # Taking back takes back both, so that no older choice rises again.
    taken_back = take_back_rates(lab.desk.place, lab.now)
    assert set(taken_back.replaces) == {first.id, newer.id}
    assert rates_at(lab, "leak-test") == (0.90, 0.005)


def test_later_readings_do_not_change_what_was_chosen(lab):
    lab.finish("OP-TB")
    choose_rates(lab.desk.place, lab.now)
    before = rates_at(lab, "leak-test")
    lab.finish("SL-HN", wrong={("8", 1)})
    assert rates_at(lab, "leak-test") == before
    assert not lab.now.is_chosen


def test_rates_of_a_study_that_shows_nothing_cannot_be_chosen(lab):
    lab.finish("OP-TB", wrong={(part, 1) for part in (*BAD, *GOOD)})
    with pytest.raises(InputError, match="Not usable"):
        choose_rates(lab.desk.place, lab.now)


def test_rates_cannot_be_chosen_while_somebody_is_not_through(lab):
    lab.finish("OP-TB")
    lab.read("SL-HN")
    with pytest.raises(InputError, match="Readings are missing"):
        choose_rates(lab.desk.place, lab.now)


def test_taking_back_brings_the_checklists_rates_and_needs_a_choice(lab):
    lab.finish("OP-TB")
    with pytest.raises(InputError, match="count already"):
        take_back_rates(lab.desk.place, lab.now)
    choose_rates(lab.desk.place, lab.now)
    take_back_rates(lab.desk.place, lab.now)
    assert lab.now.chosen is None
    assert rates_at(lab, "leak-test") == (0.90, 0.005)


# --- merging --------------------------------------------------------------------------------------

STUDY = record_id(20)
PARTS = ("1", "2", "3", "4")


def base_records():
    return [
        make(Concern, id=CONCERN, walk="", number=1, stream="s", defect="d", what="x", severity="function"),
        make(Study, 20, walk="", station="weld", check="look", repeats=2, seed="s"),
        *(
            make(KnownPart, 21 + i, walk="", study=STUDY, label=label, known="bad" if i < 2 else "good")
            for i, label in enumerate(PARTS)
        ),
    ]


readings = st.lists(
    st.tuples(
        st.sampled_from((1, 90)),
        st.sampled_from("AB"),
        st.sampled_from((*PARTS, "9")),
        st.integers(1, 3),
        st.sampled_from(("ok", "not_ok")),
        st.booleans(),
    ),
    max_size=20,
)


def records_of(rows):
    for i, (device, inspector, part, repeat, called, is_undone) in enumerate(rows):
        reading = make(
            StudyReading, 100 + 2 * i, walk="", device=record_id(device), study=STUDY, part=part,
            inspector=inspector, repeat=repeat, called=called,
        )  # fmt: skip
        yield reading
        if is_undone:
            yield make(Withdrawal, 101 + 2 * i, walk="", device=record_id(device), replaces=(reading.id,))


def seen(records):
    standing = standing_of(records)
    concern = next(r for r in standing.current if isinstance(r, Concern))
    (study,) = studies_of(ConcernFacts(concern, None, (), standing))
    turns = {who: study.next_turn(who) for who in "AB"}
    return study.readings, study.set_aside, study.inspectors, turns, study.result, study.is_finished


@settings(max_examples=60, deadline=None)
@given(rows=readings, data=st.data())
def test_readings_of_two_tablets_give_the_same_result_in_any_order(rows, data):
    records = [*base_records(), *records_of(rows)]
    found = seen(records)

    merged = data.draw(st.permutations([*records, *data.draw(st.lists(st.sampled_from(records)))]))

    assert seen(merged) == found
    counted, set_aside, *_ = found
    looks = {
        (inspector, part, repeat)
        for _, inspector, part, repeat, _, is_undone in rows
        if not is_undone and part in PARTS and repeat <= 2
    }
    assert {(r.inspector, r.part, r.repeat) for r in counted} == looks
    assert len(counted) + set_aside == sum(not is_undone for *_, is_undone in rows)


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_two_tablets_that_judge_one_study_arrive_at_the_same_result(tmp_path, order):
    one, two = Desk(tmp_path / "one"), Desk(tmp_path / "two", seed=1)
    desk = Desk(tmp_path / "desk", seed=2)
    with one.store, two.store, desk.store:
        first = Lab(one)
        two.store.merge(one.records, name="one", photos={}, checklists={})
        second = Lab(two, first.concern, first.study)
        first.finish("OP-TB", wrong={("8", 1)})
        second.finish("SL-HN")
        second.read("OP-TB", 3)  # the same looks once more, on the other tablet
        for place in order:
            desk.store.merge((one, two)[place].records, name=f"{place}", photos={}, checklists={})
        merged = Lab(desk, first.concern, first.study).now

        assert merged.result.detection.readings == 24
        assert merged.set_aside == 3
        assert merged.is_finished
        assert set(merged.inspectors) == {"OP-TB", "SL-HN"}
        two.store.merge(one.records, name="again", photos={}, checklists={})
        assert second.now.result == merged.result
