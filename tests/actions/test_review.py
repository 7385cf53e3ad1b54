"""A part of the records of a concern beside all of them, and what the answer stands on at a station."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.builders import record_id
from tests.floors import OTHER, Floor, Two
from tests.quarrels import Quarrel
from walkapp.actions.review import (
    filter_values,
    filter_words,
    judged_parts,
    narrowed,
    review,
    tablet_names,
)
from walkapp.actions.review_evidence import (
    entry_of,
    entry_origins,
    evidence_by_station,
    station_evidence,
)
from walkapp.analysis.filtering import NOT_KNOWN, RecordFilter
from walkapp.errors import InputError
from walkapp.model.checklist import OUTSIDE_SHIFTS
from walkapp.model.records import Answer, Count

ALL = RecordFilter()


@pytest.fixture
def two(desk):
    return Two(desk)


def test_an_empty_filter_is_the_concern_itself(two):
    found = review(two.facts, ALL)

    assert narrowed(two.facts, ALL) == two.facts
    assert found.answer == found.whole == two.facts.locate()
    assert (found.parts, found.of_parts) == (70, 70)
    assert found.part_words == found.whole_words == found.differs == ""


def test_a_part_of_the_records_is_worked_out_from_that_part_alone_and_set_beside_all(two):
    own = two.desk.store.device
    found = review(two.facts, RecordFilter(tablet=own))

    assert (found.parts, found.of_parts) == (40, 70)
    assert found.part_words == f"40 of 70 parts: tablet {own[-6:]} only"
    assert found.answer.first_bad_station == "Leak test"
    assert found.whole.first_bad_station == "Injection moulding"
    assert found.whole_words.startswith("All 70 parts: The defect")
    assert found.differs.startswith("All records say Injection moulding (")
    assert "this part of them says Leak test (" in found.differs and "by chance" in found.differs


def test_a_part_without_any_part_left_names_no_station_and_does_not_differ(two):
    found = review(two.facts, RecordFilter(since="2027-01-01"))

    assert (found.parts, found.answer.first_bad_station, found.differs) == (0, None, "")
    assert found.part_words == "0 of 70 parts: judged from 2027-01-01 only"


def test_the_values_that_occur_are_offered_with_their_parts(two):
    found = filter_values(two.facts)

    assert [(v.value, v.parts) for v in found.days] == [("2026-03-03", 40), ("2026-03-04", 30)]
    assert [(v.value, v.parts) for v in found.shifts] == [("early", 40), ("night", 30)]
    assert {v.value: v.parts for v in found.tablets} == {two.desk.store.device: 40, OTHER: 30}
    assert [(v.value, v.parts) for v in found.units] == [
        ("cavity 1", 10), ("cavity 9", 10), ("cavity 10", 10), (NOT_KNOWN, 40),
    ]  # fmt: skip


@pytest.mark.parametrize("kind", ["tablets", "shifts", "units", "days"])
def test_the_parts_of_the_values_of_one_kind_add_up_to_the_whole(two, kind):
    field = {"tablets": "tablet", "shifts": "shift", "units": "unit"}.get(kind)
    values = getattr(filter_values(two.facts), kind)

    total = 0
    for value in values:
        names = (field,) if field else ("since", "until")
        wanted = RecordFilter(**dict.fromkeys(names, value.value))
        found = review(two.facts, wanted)
        assert found.parts == value.parts
        total += found.parts
    assert total == review(two.facts, ALL).of_parts == 70


@given(
    order=st.permutations(["tablet", "shift", "unit", "since"]),
    said=st.fixed_dictionaries(
        {
            "tablet": st.sampled_from(["", OTHER]),
            "shift": st.sampled_from(["", "early", "night", OUTSIDE_SHIFTS]),
            "unit": st.sampled_from(["", NOT_KNOWN]),
            "since": st.sampled_from(["", "2026-03-04", "9999-12-31", "0001-01-01"]),
        }
    ),
)
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_narrowing_step_by_step_in_any_order_is_narrowing_at_once(two, order, said):
    facts = two.facts
    for name in order:
        facts = narrowed(facts, RecordFilter(**{name: said[name]}))

    assert facts.standing == narrowed(two.facts, RecordFilter(**said)).standing


def test_an_entry_that_was_corrected_counts_with_its_correction(desk):
    floor = Floor(desk)
    floor.walk()
    first = next(r for r in desk.records if isinstance(r, Answer))
    corrected = replace(
        first, id=record_id(9_600_000), device=OTHER, number=1, replaces=(first.id,), why="looked again"
    )
    desk.store.merge([corrected], name="other", photos={}, checklists={})

    assert review(floor.facts, RecordFilter(tablet=OTHER)).parts == 1
    assert review(floor.facts, RecordFilter(tablet=desk.store.device)).parts == 39


def test_a_conflict_about_a_part_that_is_left_out_is_not_warned_of_in_the_part(desk):
    quarrel = Quarrel(desk)
    facts = quarrel.facts
    (conflict,) = facts.conflicts
    other = next(h.device for h in conflict.heads if h.device != conflict.shown.device)

    assert narrowed(facts, RecordFilter(tablet=conflict.shown.device)).conflicts == facts.conflicts
    assert narrowed(facts, RecordFilter(tablet=other)).conflicts == ()


def test_words_say_which_part_is_looked_at():
    assert filter_words(ALL) == ""
    assert filter_words(RecordFilter(since="2026-03-03", until="2026-03-03")) == "judged on 2026-03-03"
    assert filter_words(RecordFilter(until="2026-03-03", unit=NOT_KNOWN)) == (
        "judged until 2026-03-03, unit not known"
    )
    assert filter_words(RecordFilter(shift=OUTSIDE_SHIFTS, tablet=OTHER, unit="cavity 3")) == (
        f"outside every shift, tablet {OTHER[-6:]}, cavity 3"
    )


def test_tablets_whose_ids_end_alike_are_told_apart():
    alike = ("aaaaaaaa-0000-7000-8000-00000012345f", "bbbbbbbb-0000-7000-8000-00000012345f")

    assert tablet_names((*alike, OTHER)) == {
        OTHER: f"tablet {OTHER[-6:]}", **{one: f"tablet {one}" for one in alike}
    }  # fmt: skip


def test_evidence_has_the_counts_of_the_answer_by_check_and_tablet(two):
    facts = two.facts
    answer = facts.locate(thorough=False)

    for verdict, here in zip(answer.stations, evidence_by_station(facts), strict=True):
        assert (verdict.checked, verdict.nok) == (here.checked, here.nok)
    moulding = station_evidence(facts, "moulding")
    (group,) = moulding.groups
    assert (group.check, group.tablet, group.checked, group.nok) == ("ear-look", OTHER, 30, 15)
    assert [one.record.id for one in group.entries] == sorted(
        (one.record.id for one in group.entries), reverse=True
    )
    assert moulding.group("ear-look", two.desk.store.device) is None
    with pytest.raises(InputError, match="no station"):
        station_evidence(facts, "nowhere")


def test_what_the_answer_does_not_count_is_listed_beside_it(two):
    note = two.walking.note("leak-test", "pads look new")
    odd = two.desk.place.add(
        Count, concern=note.concern, walk=note.walk, station="leak-test", check="no-such-check",
        checked=5, nok=5,
    )  # fmt: skip

    here = station_evidence(two.facts, "leak-test")

    assert here.others == (odd, note) and here.checked == 20


def test_an_entry_says_where_its_parts_come_from_and_what_it_replaces(two):
    first = judged_parts(two.facts)[0].record
    two.walking.say_sample(two.desk.facts(two.route), first.station, "0303-1", "2026-03-01")
    newer = two.desk.place.add(
        Answer, concern=first.concern, walk=first.walk, station=first.station, check=first.check,
        answer="ok", replaces=(first.id,), why="looked again",
    )  # fmt: skip

    (origin,) = entry_origins(two.facts, (entry_of(two.facts, newer.id),))

    assert origin.before == (first,) and origin.shift == "early" and origin.unit == ""
    assert (origin.lot, origin.made_on) == ("0303-1", "2026-03-01")
    with pytest.raises(InputError, match="taken back or corrected"):
        entry_of(two.facts, first.id)


def test_records_that_replace_each_other_end_the_list_of_what_was_before(two):
    first = judged_parts(two.facts)[0].record
    one, other = record_id(9_700_001), record_id(9_700_002)
    ring = [
        replace(first, id=a, number=n, device=OTHER, replaces=(b,), why="ring")
        for n, (a, b) in enumerate(((one, other), (other, one)), start=100)
    ]
    two.desk.store.merge(ring, name="ring", photos={}, checklists={})
    facts = two.facts

    held = next(r for r in facts.standing.current if r.id in (one, other))
    (origin,) = entry_origins(facts, (held,))
    assert len(origin.before) == 1
