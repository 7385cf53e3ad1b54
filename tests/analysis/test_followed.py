"""One part along the stream: where it turned, what contradicts itself, and what is only told."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tests.builders import make, record_id
from walkapp.analysis.followed import (
    ALWAYS_NOK,
    ALWAYS_OK,
    CONTRADICTS,
    OUT_OF_ORDER,
    TURNED,
    UNJUDGED,
    follow_parts,
)
from walkapp.model.checklist import Check, Defect, Station, Stream
from walkapp.model.records import Answer, Measurement, PartSeen, Withdrawal
from walkapp.model.standing import standing_of

NAMES = ("moulding", "welding", "leak-test", "packing")


def station(order, name):
    checks = (
        Check(id="look", station=name, kind="attribute", title="Look", finds="crack"),
        Check(id="other", station=name, kind="attribute", title="Other", finds="flash"),
        Check(id="gap", station=name, kind="measurement", title="Gap", unit="mm"),
    )
    return Station(order=order, id=name, name=name.title(), short=name, kind="other", checks=checks)


STREAM = Stream(
    id="line",
    name="Line",
    product="bracket",
    version="1",
    cautions=(),
    defects=(Defect(id="crack", name="Crack"),),
    stations=tuple(station(order, name) for order, name in enumerate(NAMES, start=1)),
)


class Walk:
    """Records looks at parts, one after the other."""

    def __init__(self) -> None:
        self.records = []
        self._number = 100

    def _next(self):
        self._number += 1
        return self._number

    def look(self, tag, where, word, *, check="look", lot="", number=None, **more):
        answer = make(Answer, number or self._next(), station=where, check=check, answer=word, **more)
        self.records.append(answer)
        if tag or lot:
            seen = {"about": answer.id, "part": tag, "lot": lot, "read_by": "code"}
            self.records.append(make(PartSeen, self._next(), **seen))
        return answer

    def measure(self, tag, where, value, **more):
        said = {"station": where, "check": "gap", "value": value, "unit_of_measure": "mm", "part": tag}
        self.records.append(make(Measurement, self._next(), **said, **more))
        return self.records[-1]

    def followed(self, **more):
        held = standing_of(self.records).current
        return follow_parts(STREAM, held, self.records, "crack", **more)


def story(*looks):
    walk = Walk()
    for where, word in looks:
        walk.look("A", where, word)
    (part,) = walk.followed().parts
    return part.story


def test_a_part_that_was_ok_and_then_nok_turned_between_the_two_stations():
    walk = Walk()
    walk.look("A", "moulding", "ok")
    walk.look("A", "leak-test", "not_ok")

    (part,) = walk.followed().parts
    after, at = part.turn

    assert part.story == TURNED
    assert (after.station.id, at.station.id) == ("moulding", "leak-test")
    assert [stop.state for stop in part.stops] == ["ok", "not_seen", "not_ok", "not_seen"]


def test_parts_that_turned_at_the_same_place_are_counted_together_and_the_gap_is_named():
    walk = Walk()
    for tag in "ABC":
        walk.look(tag, "moulding", "ok")
        walk.look(tag, "leak-test", "not_ok")
    walk.look("D", "welding", "ok")
    walk.look("D", "leak-test", "not_ok")
    walk.look("E", "welding", "ok")

    first, second = walk.followed().turns

    assert [part.tag for part in first.parts] == ["A", "B", "C"]
    assert [s.id for s in first.between] == ["welding"]
    assert (second.after.id, len(second.parts), second.between) == ("welding", 1, ())
    assert [part.tag for part in walk.followed().counted] == ["A", "B", "C", "D"]


def test_every_story_has_its_name():
    assert story(("moulding", "ok"), ("welding", "ok")) == ALWAYS_OK
    assert story(("moulding", "not_ok"), ("welding", "not_ok")) == ALWAYS_NOK
    assert story(("moulding", "not_ok"), ("welding", "ok")) == CONTRADICTS
    assert story(("moulding", "ok"), ("welding", "not_ok"), ("packing", "ok")) == CONTRADICTS
    assert story(("moulding", "ok"), ("moulding", "not_ok")) == CONTRADICTS
    assert story(("leak-test", "not_ok"), ("moulding", "ok")) == OUT_OF_ORDER


def test_a_part_judged_only_for_another_defect_is_told_and_says_nothing():
    walk = Walk()
    walk.look("A", "moulding", "ok", check="other")
    walk.measure("A", "welding", "1.5")

    (part,) = walk.followed().parts

    assert part.story == UNJUDGED
    assert [stop.state for stop in part.stops] == ["seen", "seen", "not_seen", "not_seen"]


def test_parts_without_a_tag_are_not_followed():
    walk = Walk()
    walk.look("", "moulding", "ok")
    walk.look("", "welding", "ok", lot="0303")

    assert walk.followed().parts == ()


def test_a_number_given_within_a_walk_is_another_part_in_another_walk():
    walk = Walk()
    walk.measure("P1", "moulding", "1.5")
    walk.measure("P1", "welding", "1.6", walk=record_id(9))
    walk.look("EAR-1", "moulding", "ok")
    walk.look("EAR-1", "welding", "ok", walk=record_id(9))

    parts = walk.followed().parts

    assert [part.tag for part in parts] == ["EAR-1", "P1", "P1"]
    assert len({part.key for part in parts}) == 3


def test_the_tag_stays_with_an_answer_that_was_corrected():
    walk = Walk()
    first = walk.look("A", "moulding", "ok")
    walk.look("", "moulding", "not_ok", replaces=(first.id,))

    (part,) = walk.followed().parts

    assert part.stops[0].state == "not_ok"
    assert part.stops[0].looks[0].first.id == first.id


def test_an_answer_that_was_taken_back_is_no_look():
    walk = Walk()
    answer = walk.look("A", "moulding", "ok")
    walk.records.append(make(Withdrawal, 900, replaces=(answer.id,)))

    assert walk.followed().parts == ()


def test_what_was_set_aside_and_answered_later_was_looked_at_when_it_was_answered():
    walk = Walk()
    aside = walk.look("", "leak-test", "not_applicable", reason="no gauge")
    walk.look("A", "moulding", "ok")
    walk.look("A", "leak-test", "not_ok", replaces=(aside.id,))

    (part,) = walk.followed().parts

    assert part.story == TURNED


def test_a_part_from_after_a_fix_is_told_and_not_counted():
    walk = Walk()
    walk.look("A", "moulding", "ok")
    late = walk.look("A", "leak-test", "not_ok")

    followed = walk.followed(left_out={late.id})

    assert [part.counts for part in followed.parts] == [False]
    assert followed.turns == ()


def test_parts_still_to_come_are_those_last_seen_before_a_station():
    walk = Walk()
    walk.look("A", "moulding", "ok")
    walk.look("B", "leak-test", "ok")
    walk.look("C", "packing", "ok")

    to_come = walk.followed().to_come(STREAM.stations[2])

    assert [part.tag for part in to_come] == ["A"]


def test_a_long_chain_of_corrections_with_many_tags_takes_linear_time():
    # Each tag points at the first of 3,000 corrections: to follow each anew would be millions of steps.
    walk = Walk()
    before = walk.look("A", "moulding", "ok", number=10_000)
    first = before
    for number in range(3_000):
        before = walk.look("", "moulding", "ok", number=10_001 + number, replaces=(before.id,))
    for number in range(3_000):
        seen = {"about": first.id, "part": "A", "read_by": "code"}
        walk.records.append(make(PartSeen, 20_000 + number, **seen))

    (part,) = walk.followed().parts

    assert len(part.stops[0].looks) == 1


LOOKS = st.lists(
    st.tuples(st.sampled_from("AB"), st.sampled_from(NAMES), st.sampled_from(("ok", "not_ok"))), max_size=12
)


@given(LOOKS, st.randoms(use_true_random=False))
def test_the_order_in_which_records_arrive_changes_nothing(looks, chance):
    walk = Walk()
    for tag, where, word in looks:
        walk.look(tag, where, word)
    before = walk.followed()
    chance.shuffle(walk.records)

    assert walk.followed() == before


@given(LOOKS)
def test_every_part_has_one_story_and_a_turn_only_where_all_before_is_ok_and_all_behind_is_nok(looks):
    walk = Walk()
    for tag, where, word in looks:
        walk.look(tag, where, word)
    followed = walk.followed()

    for part in followed.parts:
        states = [stop.state for stop in part.judged]
        orderly = states == sorted(states, reverse=True) and "both" not in states
        assert (part.story == CONTRADICTS) == (not orderly)
        if part.turn is not None:
            after, at = part.turn
            assert all(
                stop.state == "ok" for stop in part.judged if stop.station.order <= after.station.order
            )
            assert all(
                stop.state == "not_ok" for stop in part.judged if stop.station.order >= at.station.order
            )
    assert sum(len(turn.parts) for turn in followed.turns) == sum(
        part.story == TURNED for part in followed.counted
    )
