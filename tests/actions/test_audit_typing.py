"""Typing in an audit from paper: the same questions wherever it was printed, and the paper's own times."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.clipboards import MONDAY, Clipboard, change_audits
from walkapp.actions.audits.doing import answer_question, begin_audit, sign_audit
from walkapp.actions.audits.gathering import audits_done
from walkapp.actions.audits.page import added_number, check_number, typed_in_text
from walkapp.actions.audits.reading import audit_facts
from walkapp.actions.audits.states import IN_TIME, LATE, MADE_UP, MISSED
from walkapp.actions.audits.typing_in import paper_reader, type_in
from walkapp.analysis.audits.calendar import AuditSlot
from walkapp.errors import InputError
from walkapp.model.records import AuditStart


@pytest.fixture
def board(tmp_path):
    made = Clipboard(tmp_path)
    with made.desk.store:
        yield made


@pytest.fixture
def other(tmp_path):
    """Another tablet, with other records."""
    made = Clipboard(tmp_path / "other", seed=1)
    with made.desk.store:
        yield made


def check_of(board, **which) -> str:
    """Give the check number that this tablet prints now."""
    asked = board.asked(**which)
    return check_number(board.planned(**which).slot, [one.ref for one in asked])


def reader(board, **which):
    return paper_reader(board.place, board.stream, board.planned(**which))


def typed(board, check, *, begun="07:10", signed="07:25", day=MONDAY, signed_on=None, numbers="", **which):
    return type_in(
        reader(board, **which),
        by="SL-AB",
        begun=(day, begun),
        signed=(signed_on or day, signed),
        check=check,
        numbers=numbers,
    )


def signed(board, start):
    """Answer everything OK and sign."""
    facts = audit_facts(board.place, start.concern, start.id)
    for one in facts.asked:
        answer_question(board.place, facts, one.ref, "ok")
    sign_audit(board.place, audit_facts(board.place, start.concern, start.id))
    return audit_facts(board.place, start.concern, start.id)


# which questions the paper asks


def test_a_paper_of_this_tablet_is_known_by_its_check_number_alone(board):
    board.find_nok()
    board.watch()
    check, asked = check_of(board), board.asked()
    board.at("2026-03-09T15:00:00+01:00")

    start = typed(board, f"{check[:3]} {check[3:]}")

    facts = audit_facts(board.place, start.concern, start.id)
    assert [one.ref for one in facts.asked] == [one.ref for one in asked]
    assert len(start.added.split()) == 2


def test_a_paper_that_was_printed_before_anything_was_found_asks_the_plan_alone(board):
    check, plan = check_of(board), board.asked()
    board.find_nok()
    board.at("2026-03-09T15:00:00+01:00")

    start = typed(board, check)

    assert start.added == ""
    facts = audit_facts(board.place, start.concern, start.id)
    assert [one.ref for one in facts.asked] == [one.ref for one in plan]


def test_a_paper_of_another_tablet_is_known_by_the_numbers_with_a_plus(board, other):
    found = other.find_nok()
    check, asked = check_of(other), other.asked()
    board.at("2026-03-09T15:00:00+01:00")
    with pytest.raises(InputError, match="Check number: it does not belong to these questions"):
        typed(board, check)

    start = typed(board, check, numbers=f"+{added_number(found)}")

    facts = audit_facts(board.place, start.concern, start.id)
    assert [one.ref for one in facts.asked] == [one.ref for one in asked]


def test_what_another_tablet_watches_has_to_be_merged_before_its_paper_is_typed_in(board, other):
    number = added_number(other.watch())

    with pytest.raises(
        InputError, match=f"{number} is not known here; copy it again, or merge the records"
    ):
        typed(board, check_of(other), numbers=number)

    assert not [r for r in board.desk.records if isinstance(r, AuditStart)]


def test_a_paper_whose_extra_question_was_answered_meanwhile_is_still_known_by_its_number(board):
    watched = board.watch()
    check = check_of(board)
    found = board.find_nok()
    board.at("2026-03-09T15:00:00+01:00")

    start = typed(board, check, numbers=added_number(watched))

    assert found not in start.added.split()
    assert start.added == watched


@pytest.mark.parametrize(
    ("check", "numbers", "words"),
    [
        ("12345", "", "Check number: '12345' is not six digits such as 614 926"),
        ("1234567", "", "is not six digits"),
        ("١٢٣٤٥٦", "", "is not six digits"),
        ("000000", "", "Check number: it does not belong to these questions; compare layer, day, shift"),
        ("000000", "12", "Numbers with a plus: '12' is not four digits such as 4821"),
        ("000000", "4821x", "'4821x' is not four digits"),
    ],
)
def test_what_was_copied_wrongly_is_told_in_one_sentence(board, check, numbers, words):
    with pytest.raises(InputError) as refused:
        reader(board).added(check, numbers)

    assert words in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_paper_of_another_audit_is_not_taken_for_this_one(board):
    others = {
        check_of(board, layer="shift-lead", shift="early"),
        check_of(board, day=date(2026, 3, 10)),
        check_of(board, layer="department-manager"),
    }

    for check in others:
        with pytest.raises(InputError, match="it does not belong to these questions"):
            reader(board).added(check)


def test_a_checklist_that_asks_something_else_that_day_is_noticed(board, tmp_path):
    check = check_of(board)
    asked = board.asked()[0]
    name = asked.ref.partition("/")[2]
    changed = Clipboard(tmp_path / "changed", seed=2)
    with changed.desk.store:
        change_audits(changed, tmp_path / "lists", f'id = "{name}"', f'id = "{name}-2"')

        with pytest.raises(InputError, match="use the checklist that it was printed with"):
            reader(changed).added(check)


def test_a_question_of_the_plan_that_is_typed_as_an_extra_is_not_added(board):
    plan = board.asked()

    assert reader(board).added(check_of(board), added_number(plan[0].ref)) == ()


@given(st.data())
def test_any_extras_are_found_again_from_their_numbers_in_their_order(tmp_path_factory, data):
    board = _shared_board(tmp_path_factory)
    found = _READERS.setdefault("supervisor", reader(board))
    plan = {one.ref for one in found.asked(())}
    possible = sorted(ref for refs in found.known.values() for ref in refs if ref not in plan)
    added = data.draw(st.lists(st.sampled_from(possible), unique=True, max_size=3))
    printed = [one.ref for one in found.asked(added)]
    in_order = [ref for ref in printed if ref in added]
    numbers = ", ".join(map(added_number, in_order))

    again = found.added(check_number(found.planned.slot, printed), numbers)

    assert [one.ref for one in found.asked(again)] == printed


_READERS: dict = {}


def _shared_board(tmp_path_factory):
    """One desk for all examples; nothing is written on it."""
    if "board" not in _READERS:
        _READERS["board"] = Clipboard(tmp_path_factory.mktemp("shared"))
    return _READERS["board"]


@given(
    st.lists(st.text("abc/-", min_size=1), max_size=5), st.lists(st.text("abc/-", min_size=1), max_size=5)
)
def test_other_questions_have_another_check_number(one, other):
    slot = _shared_slot()

    assert (check_number(slot, one) == check_number(slot, other)) == (one == other)


def _shared_slot():
    return AuditSlot(
        stream="line", layer="supervisor", day=MONDAY, shift="", number=0, first_on=MONDAY, last_on=MONDAY
    )


def test_the_numbers_on_paper_never_change():
    # Papers that lie in a drawer have to be known by every later version. The digits: the last of the
    # first 16 hexadecimal ones of `sha256sum`, turned into a decimal number by `bc`.
    assert check_number(_shared_slot(), ["moulding/guard-closed"]) == "277784"
    assert added_number("moulding/guard-closed") == "5333"


# when it was done, and by whom


@pytest.mark.parametrize(
    ("begun", "signed_on", "signed_at", "state"),
    [
        ("07:10", MONDAY, "07:25", IN_TIME),
        # A supervisor's day lasts until the early shift begins again.
        ("23:50", date(2026, 3, 10), "05:59", IN_TIME),
        ("23:50", date(2026, 3, 10), "06:00", LATE),
    ],
)
def test_in_time_or_late_is_what_the_paper_says_whenever_it_is_typed_in(
    board, begun, signed_on, signed_at, state
):
    check = check_of(board)
    board.at("2026-03-12T10:00:00+01:00")
    assert board.planned().state == MISSED

    start = typed(board, check, begun=begun, signed=signed_at, signed_on=signed_on)
    facts = signed(board, start)

    assert board.planned().state == state
    assert facts.by == "SL-AB"
    assert facts.signed.by == "QE-RT"
    assert typed_in_text(start) == "Done on paper by SL-AB, typed in on 2026-03-12 by QE-RT."


def test_a_paper_that_was_begun_after_its_time_was_over_is_made_up(board):
    check = check_of(board)
    board.at("2026-03-12T10:00:00+01:00")

    signed(board, typed(board, check, day=date(2026, 3, 10), begun="09:00", signed="09:20"))

    assert board.planned().state == MADE_UP


def test_it_can_be_typed_in_long_after_the_time_to_make_it_up(board):
    check = check_of(board)
    board.at("2026-03-30T10:00:00+02:00")

    signed(board, typed(board, check))

    assert board.planned().state == IN_TIME


def test_no_pace_is_read_from_a_paper(board):
    check = check_of(board)
    board.at("2026-03-09T15:00:00+01:00")
    signed(board, typed(board, check))

    (done,) = audits_done(board.place, board.stream.id, MONDAY, MONDAY)

    assert done.is_paper
    assert {given.seconds for given in done.given} == {None}


def test_an_audit_on_a_tablet_says_nothing_of_paper(board):
    assert typed_in_text(begin_audit(board.place, board.stream, board.planned())) == ""


@pytest.mark.parametrize(
    ("times", "words"),
    [
        ({"begun": "07:25", "signed": "07:10"}, "Signed: that is before it was begun"),
        ({"signed": "23:00"}, "Signed: that is still to come"),
        ({"begun": "05:00"}, "Begun: the audit's time begins at 2026-03-09 06:00"),
        ({"begun": "7 Uhr"}, "'7 Uhr' is no time of day; write it such as 06:40"),
        ({"begun": "24:00"}, "'24:00' is no time of day"),
        ({"signed_on": date(1, 1, 1), "signed": "00:00"}, "0001-01-01 00:00 cannot be when it was"),
        ({"signed_on": date(9999, 12, 31), "signed": "23:59"}, "Signed: that is still to come"),
        (
            {"day": date(2026, 3, 13), "begun": "06:00", "signed": "06:10"},
            "Begun: this audit could be made up until 2026-03-13 06:00; mend the time, or it stays missed.",
        ),
    ],
)
def test_times_that_cannot_be_are_refused_and_nothing_is_recorded(board, times, words):
    check = check_of(board)
    day = times.get("day", MONDAY)
    board.at(f"{day}T12:00:00+01:00")

    with pytest.raises(InputError) as refused:
        typed(board, check, **times)

    assert words in str(refused.value)
    assert not [r for r in board.desk.records if isinstance(r, AuditStart)]


def test_an_audit_that_was_done_on_a_tablet_meanwhile_is_not_done_twice(board):
    check, waiting = check_of(board), reader(board)
    board.at("2026-03-09T08:00:00+01:00")
    begin_audit(board.place, board.stream, board.planned())

    with pytest.raises(InputError, match="begun here or done already; open it from the list"):
        type_in(waiting, by="SL-AB", begun=(MONDAY, "07:10"), signed=(MONDAY, "07:25"), check=check)


@pytest.mark.parametrize(
    ("begun", "signed_at", "minutes"),
    [("02:10", "02:40", 30), ("02:50", "02:20", 30), ("01:50", "03:10", 140)],
)
def test_on_the_night_when_the_clock_is_set_back_a_time_that_comes_twice_is_read_as_it_can_be(
    board, tmp_path, begun, signed_at, minutes
):
    # In Europe/Berlin 02:00 to 03:00 came twice on 25 October 2026 (IANA time zone database).
    change_audits(
        board,
        tmp_path / "lists",
        'time_zone = "Europe/Berlin"',
        'time_zone = "Europe/Berlin"\nextra_days = [2026-10-24]',
    )
    board.at("2026-10-25T12:00:00+01:00")
    which = {"layer": "shift-lead", "day": date(2026, 10, 24), "shift": "night"}

    start = type_in(
        reader(board, **which),
        by="SL-AB",
        begun=(date(2026, 10, 25), begun),
        signed=(date(2026, 10, 25), signed_at),
        check=check_of(board, **which),
    )

    facts = audit_facts(board.place, start.concern, start.id)
    took = datetime.fromisoformat(start.paper_until) - facts.begun_at
    assert took == timedelta(minutes=minutes)
    assert start.paper_from[11:16] == begun
    assert start.paper_until[11:16] == signed_at
