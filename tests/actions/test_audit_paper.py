"""The audit of a date on paper: it asks what a tablet asks, and says what it is. All invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.clipboards import MONDAY, Clipboard, change_audits
from tests.paper.printed import pages_of
from walkapp.actions.audits.doing import begin_audit
from walkapp.actions.audits.page import added_number, check_number, in_words
from walkapp.actions.audits.paper import (
    asked_on_paper,
    audits_to_print,
    paper_name,
    papers_to_print,
    stream_to_print,
    write_papers,
)
from walkapp.actions.audits.reading import audit_facts
from walkapp.errors import InputError
from walkapp.files import is_safe_name


@pytest.fixture
def board(tmp_path):
    made = Clipboard(tmp_path)
    with made.desk.store:
        yield made


def printed(board, out, **which):
    papers = papers_to_print(board.place, board.stream, [board.planned(**which)])
    return write_papers(papers, out)


def text_of(path) -> str:
    return " ".join(" ".join(page.text.split()) for page in pages_of(path.read_bytes()))


# what is asked


def test_the_paper_asks_what_the_tablet_asks_that_begins_the_same_audit(board):
    board.find_nok()
    board.watch()
    on_paper = board.asked()

    start = begin_audit(board.place, board.stream, board.planned())

    on_tablet = audit_facts(board.place, start.concern, start.id).asked
    assert [one.ref for one in on_paper] == [one.ref for one in on_tablet]
    assert [one.ask for one in on_paper] == [one.ask for one in on_tablet]


def test_what_is_asked_beyond_the_plan_has_its_reason_and_a_number(board, tmp_path):
    found, watched = board.find_nok(), board.watch()

    facts = printed(board, tmp_path / "audit.pdf")

    text = text_of(facts.path)
    for ref, why in ((found, "NOK on 2026-03-09"), (watched, "fix under watch until 2026-04-28")):
        assert f"+{added_number(ref)}, beyond the plan: {why}." in text
        assert f"+{added_number(ref)}: {why}" in text
    assert "Soft clamp pads still fitted?" in text
    assert "6 questions of the plan and 2 beyond it" in text
    assert facts.questions == 8


def test_without_anything_beyond_the_plan_the_paper_says_so_and_whose_records_were_asked(board, tmp_path):
    text = text_of(printed(board, tmp_path / "audit.pdf").path)

    tablet = board.desk.store.device[-6:]
    assert f"as the records on tablet {tablet} say when this is printed: nothing." in text


@pytest.mark.parametrize(
    ("day", "is_asked"),
    [("2026-03-10", False), ("2026-03-13", True), ("2026-03-20", True), ("2026-03-23", False)],
)
def test_for_a_day_still_to_come_what_is_watched_on_that_day_is_asked(board, day, is_asked):
    watched = board.watch(from_on="2026-03-12", until_on="2026-03-20")

    refs = [one.ref for one in board.asked(day=date.fromisoformat(day))]

    assert (watched in refs) == is_asked


def test_for_a_day_that_is_over_what_is_known_today_is_asked(board):
    watched = board.watch(from_on="2026-03-09")

    assert watched in [one.ref for one in board.asked(day=date(2026, 3, 6))]


# what it says


def test_the_paper_says_which_audit_it_is_and_where_it_belongs(board, tmp_path):
    text = text_of(printed(board, tmp_path / "a.pdf", layer="shift-lead", shift="night").path)

    check = check_number(
        board.planned("shift-lead", shift="night").slot,
        [one.ref for one in board.asked(layer="shift-lead", shift="night")],
    )
    for words in (
        "Layered audit on paper: Shift lead",
        "night shift, Monday 2026-03-09",
        "begun from 2026-03-09 22:00 on, signed until 2026-03-10 06:00 (Europe/Berlin)",
        "stream washer-reservoir, layer shift-lead, day 2026-03-09; shift night",
        f"SHA-256 begins with {board.stream.digest[:8]}",
        f"check number {check[:3]} {check[3:]}",
        "invented data; no real plant, part or customer is meant",
        "Role and initials, never a name",
        "Typed in by (role and initials)",
    ):
        assert words in text


def test_cautions_come_first_and_each_stations_hazards_before_its_questions(board, tmp_path):
    text = text_of(printed(board, tmp_path / "a.pdf").path)

    asked = board.asked()
    order = [
        board.stream.cautions[0],
        asked[0].hazards[0],
        asked[0].ask,
        asked[-1].hazards[0],
        asked[-1].ask,
    ]
    places = [text.index(words[:30]) for words in order]
    assert places == sorted(places)


def test_a_special_characteristic_is_called_one(board, tmp_path):
    special = [one for one in board.asked(layer="plant-manager", day=date(2026, 3, 1)) if one.special]

    text = text_of(printed(board, tmp_path / "a.pdf", layer="plant-manager", day=date(2026, 3, 1)).path)

    assert special
    assert text.count("Special characteristic.") == len(special)


@pytest.mark.parametrize(
    ("layer", "day", "words"),
    [
        ("supervisor", "2026-03-09", "Monday 2026-03-09"),
        # 1 January 2027 is a Friday of ISO week 53 of 2026.
        ("department-manager", "2026-12-28", "week 53 of 2026, Monday 2026-12-28 to Friday 2027-01-01"),
        ("plant-manager", "2026-03-01", "March 2026, Monday 2026-03-02 to Tuesday 2026-03-31"),
    ],
)
def test_day_week_and_month_are_told_in_words(board, layer, day, words):
    planned = board.planned(layer, date.fromisoformat(day))

    assert in_words(planned.layer, planned.slot) == words


# the file


def test_the_same_audit_gives_the_same_file_whenever_it_is_printed(board, tmp_path):
    first = printed(board, tmp_path / "a.pdf").path.read_bytes()
    board.at("2026-03-09T09:00:00+01:00")

    assert printed(board, tmp_path / "b.pdf").path.read_bytes() == first


def test_an_older_page_is_replaced_and_nothing_is_left_beside_it(board, tmp_path):
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "a.pdf").write_bytes(b"%PDF-1.4 an older page")

    facts = printed(board, folder / "a.pdf")

    assert len(pages_of(facts.path.read_bytes())) == facts.pages == 2
    assert [path.name for path in folder.iterdir()] == ["a.pdf"]


def test_a_file_that_is_no_page_is_never_written_over(board, tmp_path):
    out = tmp_path / "audits.toml"
    out.write_text("repeat_days = 30", encoding="utf-8")

    with pytest.raises(InputError, match="is there already and is no PDF; choose another name"):
        printed(board, out)

    assert out.read_text(encoding="utf-8") == "repeat_days = 30"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("not there/a.pdf", "the folder is not there; make it or choose another"),
        ("", "a folder of that name"),
    ],
)
def test_a_place_that_cannot_be_written_is_named_in_one_sentence(board, tmp_path, name, words):
    with pytest.raises(InputError, match=words):
        printed(board, tmp_path / name)


def test_an_audit_with_more_questions_than_anybody_fills_in_is_refused(board, monkeypatch):
    monkeypatch.setattr("walkapp.actions.audits.paper.MOST_QUESTIONS", 5)

    with pytest.raises(InputError, match="this audit asks 6 questions, and between 1 and 5 can be printed"):
        papers_to_print(board.place, board.stream, [board.planned()])


def test_a_page_that_can_no_longer_be_typed_in_says_so(board, tmp_path):
    begin_audit(board.place, board.stream, board.planned())

    (note,) = printed(board, tmp_path / "a.pdf").notes
    assert note.endswith("This audit is begun or done already; a page of it cannot be typed in any more.")

    (note,) = printed(board, tmp_path / "b.pdf", day=date(2026, 3, 2)).notes
    assert "could be made up until 2026-03-06 06:00" in note


def test_letters_that_cannot_be_printed_are_told(board, tmp_path):
    change_audits(board, tmp_path / "lists", "Blade changed within", "刀 changed within")
    stream = board.stream
    blade = [
        p for p in _days(board) if any("刀" in one.ask for one in asked_on_paper(board.place, stream, p))
    ]

    facts = write_papers(papers_to_print(board.place, stream, blade[:1]), tmp_path / "a.pdf")

    assert "<U+5200> changed within" in text_of(facts.path)
    assert "stand on the page by their number" in facts.notes[-1]


def _days(board):
    return [board.planned(day=date(2026, 3, day)) for day in (9, 10, 11, 12, 13)]


def test_the_name_of_the_file_is_safe_and_tells_the_audit(board):
    planned = board.planned("shift-lead", shift="early")

    assert paper_name(planned) == "audit-washer-reservoir-shift-lead-2026-03-09-early.pdf"
    odd = replace(planned, slot=replace(planned.slot, stream="s" * 40, layer="l" * 40, shift="../ß" * 5))
    assert is_safe_name(paper_name(odd))


# choosing


def test_without_a_shift_all_shifts_of_the_day_are_printed(board):
    audits = audits_to_print(board.place, board.stream, "shift-lead", MONDAY)

    assert [one.slot.shift for one in audits] == ["early", "late", "night"]


@pytest.mark.parametrize("day", [MONDAY, date(2026, 3, 13)])
def test_any_working_day_of_the_week_gives_the_weeks_audit(board, day):
    (audit,) = audits_to_print(board.place, board.stream, "department-manager", day)

    assert audit.slot.day == MONDAY


@pytest.mark.parametrize(
    ("layer", "day", "shift", "words"),
    [
        ("nobody", MONDAY, "", "no layer 'nobody' in washer-reservoir; name one of: shift-lead,"),
        ("shift-lead", MONDAY, "noon", "has no shift 'noon'; name one of: early, late, night."),
        ("supervisor", MONDAY, "early", "has no shift 'early'; leave the shift out"),
        ("supervisor", date(2026, 3, 14), "", "Saturday 2026-03-14; the next one is on Monday 2026-03-16"),
        ("supervisor", date(2026, 4, 3), "", "the next one is on Tuesday 2026-04-07."),
        ("supervisor", date(2025, 1, 1), "", "the next one is on Monday 2026-01-26."),
        ("shift-lead", date(2026, 3, 14), "late", "Shift lead, shift late has no audit on Saturday"),
        ("supervisor", date(9999, 12, 31), "", "none follows within a year."),
        ("supervisor", date(1, 1, 1), "", "the next one is on Monday 2026-01-26."),
    ],
)  # fmt: skip
def test_what_is_not_in_the_plan_is_told_with_what_is(board, layer, day, shift, words):
    with pytest.raises(InputError) as refused:
        audits_to_print(board.place, board.stream, layer, day, shift)

    assert words in str(refused.value)


def test_the_only_stream_with_audits_need_not_be_named(board, tmp_path):
    change_audits(board, tmp_path / "lists", "minutes = 10", "minutes = 11")
    (tmp_path / "lists" / "pump-bracket" / "audits.toml").unlink()

    assert stream_to_print(board.place, "").id == "washer-reservoir"
    for other in ("pump-bracket", "none"):
        with pytest.raises(InputError, match=f"no audits of a stream '{other}'; name one of: washer-"):
            stream_to_print(board.place, other)


def test_without_a_folder_the_checklist_of_the_newest_audit_is_asked(board):
    board.find_nok()
    board.place.checklists = None

    stream = stream_to_print(board.place, "")

    assert stream.digest == board.place.audit_plan(stream).stream.digest
    assert papers_to_print(board.place, stream, audits_to_print(board.place, stream, "supervisor", MONDAY))


def test_of_several_streams_with_audits_one_has_to_be_named(board):
    with pytest.raises(InputError, match="name one with --stream: pump-bracket, washer-reservoir"):
        stream_to_print(board.place, "")


def test_a_folder_without_audits_is_told(board, tmp_path):
    change_audits(board, tmp_path / "lists", "minutes = 10", "minutes = 11")
    for path in (tmp_path / "lists").glob("*/audits.toml"):
        path.unlink()

    with pytest.raises(InputError, match=r"No value stream here has audits; add audits\.toml"):
        stream_to_print(board.place, "")
