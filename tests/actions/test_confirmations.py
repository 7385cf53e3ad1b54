"""On/off confirmations from records: turns of several tablets, contradictions, corrections, summary."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import make, record_id
from tests.fakes import Desk
from tests.floors import Floor
from tests.quarrels import OTHER_TABLET
from tests.switches import FORCE, PADS, Switch
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.confirmation_telling import confirmation_lines, confirmations_to_json
from walkapp.actions.confirmations import (
    confirmation_called,
    confirmations_of,
    without_confirmation,
)
from walkapp.actions.merging import merge_bundles
from walkapp.actions.parts import part_lines, parts_to_json
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.summaries import summarise
from walkapp.actions.switching import (
    correct_count,
    correct_state,
    correct_value,
    count_turn,
    measure_turn,
    newest_turn_entry,
    open_confirmation,
    settle_turn,
    switchable,
    take_back_confirmation,
    take_back_turn_entry,
)
from walkapp.errors import InputError, RecordError
from walkapp.model.records import (
    Confirmation,
    ConfirmationTurn,
    Trial,
    TrialFactor,
    Withdrawal,
)
from walkapp.model.standing import standing_of


@pytest.fixture
def switch(desk):
    return Switch(desk)


@pytest.fixture
def force(desk):
    return Switch(desk, **FORCE)


def test_turns_alternate_from_on_and_six_of_them_prove_it(switch):
    assert (switch.found.next_number, switch.found.next_state, switch.found.proves) == (1, "on", False)

    switch.counts(6, 0, 7, 0, 5, 0)

    found = switch.found
    assert [turn.state for turn in found.turns] == ["on", "off"] * 3
    assert (found.next_number, found.next_state, found.proves) == (7, "on", True)
    assert found.sentence.startswith("Proved: switching “clamp pads” made the defect come and go 3 times")
    assert found.record == switch.record
    assert found.problems == ()


def test_counting_on_corrects_the_count_of_the_turn(switch):
    switch.count(1, 0, checked=1)
    switch.count(1, 1, checked=2)

    (turn,) = switch.found.turns
    assert (turn.count.checked, turn.count.nok) == (2, 1)
    assert switch.turns[1].replaces == (switch.turns[0].id,)


def test_counted_down_to_nothing_the_turn_is_not_on_record_any_more(switch):
    switch.count(1, 0, checked=1)

    switch.count(1, 0, checked=0)

    assert switch.found.turns == ()
    assert switch.found.next_number == 1
    with pytest.raises(RecordError, match="checked must be from 1"):
        switch.count(1, 0, checked=0)


def test_values_of_a_turn_are_recorded_one_after_another(force):
    for _ in range(4):
        number = force.found.next_number
        force.measure(number, "2.1", "2.30", "2.2")
        force.measure(number + 1, "1.1", "1.2", "1.0")

    assert force.found.turns[0].values == ("2.1", "2.30", "2.2")
    assert force.found.proves
    assert "mean 2.200 mm when on" in force.found.sentence


@pytest.mark.parametrize("number", [0, 2, 41])
def test_a_turn_that_is_not_next_is_refused(switch, number):
    with pytest.raises(InputError, match=rf"Turn {number} cannot be recorded now; go on with turn 1\."):
        switch.count(number, 0)


def test_what_the_confirmation_does_not_ask_for_is_refused(switch, desk):
    with pytest.raises(InputError, match=r"This confirmation asks for NOK parts\."):
        measure_turn(desk.place, switch.found, 1, "2.5")
    force = Switch(desk, **FORCE)
    with pytest.raises(InputError, match=r"This confirmation asks for measured values\."):
        count_turn(desk.place, force.found, 1, 20, 3)


def test_more_nok_than_checked_is_refused_and_nothing_is_lost(switch):
    switch.count(1, 3)

    with pytest.raises(RecordError, match="nok must not be above checked"):
        switch.count(1, 21)

    assert switch.found.turns[0].count.nok == 3


def test_after_forty_turns_there_is_no_next_one(switch, desk):
    said = {"concern": switch.concern, "confirmation": switch.record.id, "checked": 1, "nok": 0}
    desk.place.add(ConfirmationTurn, turn=40, state="off", **said)

    assert switch.found.next_number is None
    assert [turn.number for turn in switch.found.turns] == [40]


# --- what can be opened


def test_change_points_and_factors_of_trials_are_offered(desk):
    floor = Floor(desk)
    change = floor.change("Harder clamp pads", day=22)
    trial_id = desk.place.new_id()
    said = {"concern": floor.route.concern}
    desk.place.add(
        Trial, id=trial_id, station="leak-test", what="Which one", response="nok", parts=20,
        fraction="full", replicates=1, centres=0, seed="1", **said,
    )  # fmt: skip
    factor = {"order": 1, "name": "pads", "low": "soft", "high": "hard", "change": change.id, **said}
    known = desk.place.add(TrialFactor, trial=trial_id, **factor)
    desk.place.add(TrialFactor, trial=record_id(77), **factor)  # its trial did not come along

    found = switchable(floor.facts)

    assert [(one.id, one.what, one.levels, one.station, one.change) for one in found] == [
        (known.id, "pads", ("hard", "soft"), "leak-test", change.id),
        (change.id, "Harder clamp pads", (), "leak-test", change.id),
    ]


def test_on_and_off_that_are_the_same_and_a_foreign_station_are_refused(switch, desk):
    with pytest.raises(InputError, match="“On” and “off” must differ"):
        open_confirmation(desk.place, switch.facts, **{**PADS, "off": " hard  pads "})
    with pytest.raises(InputError, match="no station 'moon'"):
        open_confirmation(desk.place, switch.facts, **PADS, station="moon")


def test_an_opened_confirmation_is_taken_back_only_while_it_has_no_turns(switch, desk):
    switch.count(1, 3)
    with pytest.raises(InputError, match="turns on record; take those back first"):
        take_back_confirmation(desk.place, switch.facts)

    take_back_turn_entry(desk.place, switch.found)
    take_back_confirmation(desk.place, switch.facts)

    assert confirmations_of(switch.facts) == ()
    with pytest.raises(InputError, match="not here any more"):
        confirmation_called(switch.facts, switch.record.id)
    with pytest.raises(InputError, match="no on/off confirmation of this tablet"):
        take_back_confirmation(desk.place, switch.facts)


# --- undo


def test_undo_goes_back_step_by_step_and_stays_in_its_confirmation(switch, desk):
    switch.count(1, 0, checked=1)
    switch.count(1, 1, checked=2)
    other = open_confirmation(desk.place, switch.facts, **{**PADS, "what": "another"})
    count_turn(desk.place, confirmation_called(switch.facts, other.id), 1, 5, 5)

    take_back_turn_entry(desk.place, switch.found)
    assert (switch.found.turns[0].count.checked, switch.found.turns[0].count.nok) == (1, 0)
    take_back_turn_entry(desk.place, switch.found)
    assert switch.found.turns == ()
    assert newest_turn_entry(desk.place, switch.found) is None
    with pytest.raises(InputError, match="nothing in this confirmation"):
        take_back_turn_entry(desk.place, switch.found)

    assert confirmation_called(switch.facts, other.id).turns[0].count.nok == 5


def test_undo_brings_back_a_value_that_was_taken_out(force, desk):
    first, _ = force.measure(1, "2.1", "23")
    correct_value(desk.place, force.found, 1, first.id, "", "Typed wrong")
    assert force.found.turns[0].values == ("23",)

    take_back_turn_entry(desk.place, force.found)

    assert sorted(force.found.turns[0].values) == ["2.1", "23"]


# --- corrections


def test_a_count_is_corrected_with_its_state_and_why(switch, desk):
    switch.counts(6, 0)

    correct_count(desk.place, switch.found, 2, state="on", checked=10, nok=1, why="Typed wrong")

    turn = switch.found.turns[1]
    assert (turn.state, turn.count.checked, turn.count.nok, turn.count.why) == (
        "on", 10, 1, "Typed wrong",
    )  # fmt: skip
    with pytest.raises(RecordError, match="why is missing"):
        correct_count(desk.place, switch.found, 2, state="on", checked=10, nok=1, why="")
    with pytest.raises(InputError, match="Turn 3 is not on record any more"):
        correct_count(desk.place, switch.found, 3, state="on", checked=10, nok=1, why="x")


def test_a_value_and_the_state_of_a_measured_turn_are_corrected(force, desk):
    wrong, kept = force.measure(1, "21", "2.3")

    correct_value(desk.place, force.found, 1, wrong.id, "2.1", "Typed wrong")
    assert sorted(force.found.turns[0].values) == ["2.1", "2.3"]
    correct_state(desk.place, force.found, 1, "off", "Switched late")
    assert (force.found.turns[0].state, len(force.found.turns[0].records)) == ("off", 2)

    take_back_turn_entry(desk.place, force.found)
    assert (force.found.turns[0].state, force.found.problems) == ("on", ())
    with pytest.raises(InputError, match="This value has changed"):
        correct_value(desk.place, force.found, 1, kept.id, "2.4", "x")


# --- contradictions


def test_two_counts_of_one_turn_count_nothing_until_somebody_settles_them(switch, desk):
    switch.counts(6, 0, 7, 0, 5, 0)
    theirs = switch.arrive(switch.turns[3], nok=4)

    found = switch.found
    assert not found.proves
    assert found.turns[3].problem == "was counted twice, on 2 tablets"
    assert found.problems == (
        "Turn 4 was counted twice, on 2 tablets. It does not count until somebody says what holds.",
    )
    assert (found.answer.off.turns, found.answer.off.checked) == (2, 40)
    with pytest.raises(InputError, match="go back and say first what holds"):
        switch.count(4, 1)

    settled = settle_turn(desk.place, found, 4, switch.turns[3].id, "Looked at the parts again")

    assert set(settled.replaces) == {switch.turns[3].id, theirs.id}
    assert settled.why.endswith("Looked at the parts again")
    assert switch.found.proves
    with pytest.raises(InputError, match="have changed since"):
        settle_turn(desk.place, switch.found, 4, settled.id, "again")


def test_an_open_turn_holds_up_the_proof_even_where_the_others_would_do(switch):
    """What is left out may be the very count that speaks against it."""
    switch.counts(*(6, 0) * 5)
    switch.arrive(switch.turns[3], nok=19)

    found = switch.found

    assert found.answer.verdict == "proved"
    assert (found.verdict, found.proves) == ("points that way, not proved", False)
    assert found.sentence == (
        "Points that way, not proved before somebody says what holds of turn 4. The rest: 30 of 100 NOK "
        "when on, 0 of 80 NOK when off."
    )
    assert confirmations_to_json(switch.facts)[0]["verdict"] == "points that way, not proved"


def test_settling_is_no_entry_that_undo_takes_back_unseen(switch, desk):
    switch.count(1, 6)
    switch.arrive(switch.turns[0], nok=4)
    settle_turn(desk.place, switch.found, 1, switch.turns[0].id, "Looked again")

    assert newest_turn_entry(desk.place, switch.found) is None


def test_a_turn_that_is_on_and_off_counts_nothing_until_its_state_is_settled(force, desk):
    mine = force.measure(1, "2.1", "2.3")
    for number in (1, 2):
        force.arrive(mine[0], number, state="off", value=f"1.{number}")

    turn = force.found.turns[0]
    assert turn.problem == "is on record both as on and as off"
    with pytest.raises(InputError, match="is on record both as on and as off"):
        force.measure(1, "2.2")

    settle_turn(desk.place, force.found, 1, mine[1].id, "The other was another turn")

    turn = force.found.turns[0]
    assert (turn.problem, turn.state, sorted(turn.values)) == ("", "on", ["2.1", "2.3"])


def test_values_of_two_tablets_count_together_and_that_is_said(force):
    (mine,) = force.measure(1, "2.1")
    force.arrive(mine, value="2.4")

    assert force.found.turns[0].values == ("2.1", "2.4")
    assert force.found.problems == ("Turn 1 has values from 2 tablets; they count together.",)


def test_a_count_that_two_tablets_corrected_differently_is_in_dispute(switch, desk):
    switch.counts(6, 0)
    mine = correct_count(desk.place, switch.found, 1, state="on", checked=20, nok=5, why="x")
    switch.arrive(mine, nok=9)

    turn = switch.found.turns[0]
    assert (turn.in_dispute, turn.problem) == (True, "was corrected differently on two tablets")
    assert switch.found.answer.on.turns == 0


def test_a_count_that_one_tablet_took_back_and_one_corrected_is_in_dispute(switch, desk):
    (first,) = switch.counts(6)
    correct_count(desk.place, switch.found, 1, state="on", checked=20, nok=5, why="x")
    gone = make(
        Withdrawal, 5, id=record_id(9_000_005), device=OTHER_TABLET, concern=switch.concern, walk="",
        replaces=(first.id,),
    )  # fmt: skip
    desk.store.merge([gone], name="other", photos={}, checklists={})

    assert switch.found.turns[0].in_dispute


def test_records_of_the_other_sort_and_without_their_confirmation_are_counted_and_told(switch, desk):
    switch.counts(6, 0)
    switch.arrive(switch.turns[0], checked=None, nok=None, value="2.5")
    switch.arrive(switch.turns[0], 2, confirmation=record_id(404))

    assert switch.found.set_aside == 1
    assert switch.found.problems == ("1 entry does not count: this confirmation asks for NOK parts.",)
    assert without_confirmation(switch.facts) == 1
    assert confirmation_lines(switch.facts)[-1] == (
        "1 entry belongs to an on/off confirmation that is not here; merge the bundle of the tablet that "
        "opened it."
    )


def test_two_tablets_that_merge_each_others_bundles_say_the_same(tmp_path):
    desk, other = Desk(tmp_path / "a"), Desk(tmp_path / "b", seed=1, by="SL-KB")
    with desk.store, other.store:
        switch = Switch(desk)
        switch.counts(6, 0, 7)
        bundle = tmp_path / "first.zip"
        bundle_concerns(desk.place, bundle)
        merge_bundles(other.place, [bundle])
        there = confirmation_called(concern_facts(other.place, switch.concern), switch.record.id)
        count_turn(other.place, there, 4, 20, 1)
        switch.count(4, 0)
        answer = tmp_path / "answer.zip"
        bundle_concerns(other.place, answer)
        merge_bundles(desk.place, [answer])
        bundle_concerns(desk.place, tmp_path / "second.zip")
        merge_bundles(other.place, [tmp_path / "second.zip"])

        said = [confirmations_to_json(concern_facts(d.place, switch.concern)) for d in (desk, other)]

    assert said[0] == said[1]
    assert said[0][0]["warnings"] == [
        "Turn 4 was counted twice, on 2 tablets. It does not count until somebody says what holds."
    ]


# --- records of any kind in any order

ENTRIES = st.lists(
    st.fixed_dictionaries(
        {
            "turn": st.integers(1, 8),
            "state": st.sampled_from(("on", "off")),
            "checked": st.integers(1, 12),
            "nok": st.integers(0, 12),
            "value": st.sampled_from(("", "", "2.5", "-0.125")),
            "confirmation": st.integers(10, 12),
        }
    ),
    max_size=12,
)


@settings(max_examples=60)
@given(ENTRIES, st.sampled_from(("nok", "value")), st.randoms())
def test_any_records_in_any_order_give_one_answer(tmp_path_factory, entries, response, shuffler):
    said = {"walk": "", **PADS, "response": response, "measured": "length"}
    records = [make(Confirmation, number, **said) for number in (10, 11)]
    for number, entry in enumerate(entries, start=20):
        fields = {**entry, "confirmation": record_id(entry["confirmation"]), "walk": ""}
        fields["nok"] = min(fields["nok"], fields["checked"])
        if fields["value"]:
            fields |= {"checked": None, "nok": None}
        records.append(make(ConfirmationTurn, number, **fields))
    shuffled = list(records)
    shuffler.shuffle(shuffled)

    def told(some):
        facts = ConcernFacts(concern=None, stream=None, walks=(), standing=standing_of(some))
        return confirmations_to_json(facts), confirmation_lines(facts)

    assert told(shuffled) == told(records)
    json.dumps(told(records)[0], allow_nan=False)


# --- the summary


def test_the_summary_tells_it_in_lines_and_json(switch):
    (summary,) = summarise(switch.desk.place)
    assert parts_to_json(switch.desk.place, summary)["confirmations"][0]["verdict"] == "not shown"

    switch.counts(6, 0, 7, 0, 5, 0)

    (summary,) = summarise(switch.desk.place)
    lines = list(part_lines(switch.desk.place, summary))
    assert lines[lines.index("Switched on and off: clamp pads") + 1].startswith("  Proved: switching")
    (told,) = parts_to_json(switch.desk.place, summary)["confirmations"]
    assert (told["verdict"], told["proves"], told["chance_by_turns"], told["further_turns"]) == (
        "proved", True, 0.05, None,
    )  # fmt: skip
    assert told["state_on"] == {
        "turns": 3,
        "checked": 60,
        "nok": 18,
        "share": 0.3,
        "low95": pytest.approx(0.188, abs=1e-3),
        "high95": pytest.approx(0.432, abs=1e-3),
        "mean": None,
    }
    assert told["turns"][0] == {
        "turn": 1, "state": "on", "counts": True, "checked": 20, "nok": 6, "values": [],
    }  # fmt: skip


def test_where_nothing_was_switched_the_summary_says_nothing(desk):
    desk.concern()
    (summary,) = summarise(desk.place)

    assert not any("Switched" in line for line in part_lines(desk.place, summary))
    assert parts_to_json(desk.place, summary)["confirmations"] == []


def test_an_invented_confirmation_says_so(desk):
    switch = Switch(desk, invented=True)

    assert confirmation_lines(switch.facts)[0] == "Switched on and off: clamp pads (invented)"
