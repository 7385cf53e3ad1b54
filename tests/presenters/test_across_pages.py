"""The pages of read-across and lessons: what they show, record, refuse and take back."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.floors import Floor
from walkapp.actions.reading import concern_facts
from walkapp.errors import InputError
from walkapp.model.records import Count, Lesson, ReadAcross
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.lessons import LessonForm, LessonsPage
from walkapp.presenters.read_across import BY_HAND, NO_LIKE, ReadAcrossForm, ReadAcrossPage, as_id
from walkapp.presenters.route import Route

FINAL_CHECK = "pump-bracket/final-check"


@pytest.fixture
def floor(desk):
    made = Floor(desk)
    made.count()
    return made


def opened(kind, floor, screen, entry=""):
    page = kind(floor.desk.session, Route(screen=screen, concern=floor.route.concern, entry=entry))
    page.open()
    assert page.state.problem == ""
    return page


def board(floor):
    return opened(ReadAcrossPage, floor, "read_across")


def form(floor, entry=FINAL_CHECK):
    return opened(ReadAcrossForm, floor, "read_across_entry", entry)


def fill(page, **values):
    for name, value in values.items():
        page.fill(name, value)
    page.record()
    return page.state.problem


def rows(page):
    return {row.id: row for section in page.state.sections for row in section.rows}


def recorded(floor, kind=ReadAcross):
    return [r for r in floor.desk.records if isinstance(r, kind)]


def part_row(floor, name):
    page = ConcernPage(floor.desk.session, Route(screen="concern", concern=floor.route.concern))
    page.open()
    return next(row for row in page.state.parts if row.id == name)


def test_like_stations_are_listed_and_one_is_written_about(floor):
    page = board(floor)
    assert page.state.sentence == "1 of 1 like stations still open."
    assert page.state.lines == ("Like Leak test (where the defect starts): all of the kind “test”.",)
    row = rows(page)[FINAL_CHECK]
    assert (row.title, row.subtitle, row.mark) == (
        "Final check, Pump bracket", "not looked at yet", "not_visited",
    )  # fmt: skip
    page.row("open", FINAL_CHECK)
    assert floor.desk.routes[-1].screen == "read_across_entry"

    assert fill(form(floor), status="affected") == "Still needed: What was found there."
    problem = fill(form(floor), status="affected", words="3 of 20", owner="TL-AH", due_on="2026-03-10")

    assert problem == ""
    assert floor.desk.routes[-1] == Route(screen="read_across", concern=floor.route.concern)
    page = board(floor)
    assert rows(page)[FINAL_CHECK].mark == "bad"
    assert rows(page)[FINAL_CHECK].subtitle.endswith("QE-RT, 2026-03-03 06:20), TL-AH, until 2026-03-10")
    assert page.state.mark == "bad"
    assert page.state.undo == "affected, final-check"
    assert part_row(floor, "read_across").mark == "bad"


def test_a_station_that_is_not_surely_the_first_bad_one_is_called_most_likely(desk):
    route = desk.walk()
    said = {"concern": route.concern, "walk": route.walk, "check": "ear-look"}
    desk.place.add(Count, **said, station="leak-test", checked=5, nok=4)
    desk.place.add(Count, **said, station="welding", checked=5, nok=0)
    page = ReadAcrossPage(desk.session, Route(screen="read_across", concern=route.concern))
    page.open()

    assert "(where the defect most likely starts)" in page.state.lines[0]


def test_the_form_knows_what_was_written_before_and_asks_for_no_day_when_it_is_done(floor):
    fill(form(floor), status="to_check", owner="TL-AH", due_on="2026-03-10")
    page = form(floor)
    fields = {field.name: field for field in page.state.fields}
    assert fields["status"].hint == "So far: to be checked (QE-RT, 2026-03-03 06:20)"
    assert (fields["owner"].value, fields["due_on"].value) == ("TL-AH", "2026-03-10")
    assert not fields["words"].is_required

    page.fill("status", "does_not_apply")

    assert [field.name for field in page.state.fields] == ["status", "words"]
    assert page.state.fields[1].label == "Why it does not apply"
    assert fill(page, words="No clamps there") == ""
    assert part_row(floor, "read_across").mark == "clean"
    assert board(floor).state.sections[0].title == "Done"


def test_undo_brings_back_what_was_known_before(floor):
    fill(form(floor), status="to_check", owner="TL-AH", due_on="2026-03-10")
    fill(form(floor), status="clean", words="none of 20")
    page = board(floor)

    page.undo()
    assert rows(page)[FINAL_CHECK].mark == "undecided"
    assert page.state.saved == "Taken back"
    page.undo()

    assert rows(page)[FINAL_CHECK].mark == "not_visited"
    assert page.state.undo == ""


def test_a_station_of_a_known_stream_is_added_by_two_choices(floor):
    page = form(floor, BY_HAND)
    assert [field.name for field in page.state.fields][:2] == ["stream", "status"]
    page.fill("stream", "pump-bracket")
    page.fill("station", "packing")

    assert fill(page, status="clean", words="none of 20") == ""

    assert rows(board(floor))["pump-bracket/packing"].subtitle.endswith("Added by hand")


def test_a_station_that_no_checklist_has_is_added_in_words(floor):
    page = form(floor, BY_HAND)
    page.fill("stream", "another")
    assert fill(page, status="to_check") == "Still needed: Its line or product, Its station."

    assert fill(page, other_stream="Line 7 (old hall)", other_station="Leak test 2") == ""

    (record,) = recorded(floor)
    assert (record.other_stream, record.other_station) == ("line-7-old-hall", "leak-test-2")
    assert rows(board(floor))["line-7-old-hall/leak-test-2"].title == "leak-test-2, line-7-old-hall"


def test_the_first_bad_station_and_a_day_that_has_passed_are_refused_and_nothing_is_lost(floor):
    page = form(floor, BY_HAND)
    page.fill("stream", "washer-reservoir")
    page.fill("station", "leak-test")
    assert "choose another station" in fill(page, status="clean", words="none of 20")

    page = form(floor)
    assert "is before today" in fill(page, status="to_check", due_on="2026-03-01")
    assert fill(form(floor), due_on="soon") == "Until: must be a date such as 2026-03-02, not 'soon'."

    assert recorded(floor) == []
    assert {field.name: field.value for field in form(floor).state.fields}["due_on"] == "soon"


def test_why_there_is_no_like_station_is_written_down(floor):
    assert fill(form(floor, NO_LIKE), words="Only this line has clamps") == ""

    assert (
        board(floor).state.lines[1].startswith("No like station elsewhere: does not apply: Only this line")
    )


def test_a_station_that_is_no_longer_listed_is_refused_in_words(floor):
    page = ReadAcrossForm(
        floor.desk.session, Route(screen="read_across_entry", concern=floor.route.concern, entry="no/where")
    )
    page.open()

    assert page.state.problem == "This station is no longer listed; go back and look at the list."


def test_an_overdue_station_has_its_own_section_at_the_top(floor):
    fill(form(floor), status="to_check", due_on="2026-03-10")
    floor.desk.place.now.time = floor.desk.place.now.time.replace(day=12)

    page = board(floor)

    assert [section.title for section in page.state.sections] == ["Overdue"]
    assert rows(page)[FINAL_CHECK].subtitle.startswith("Overdue: to be checked")
    assert page.state.mark == "bad"
    assert part_row(floor, "read_across").subtitle.startswith("1 station overdue. ")


def test_while_no_station_is_known_the_page_says_so_and_offers_no_reason(desk):
    concern = desk.concern()
    page = ReadAcrossPage(desk.session, Route(screen="read_across", concern=concern))
    page.open()

    assert page.state.sentence.startswith("Like stations can be named when the first bad station is named")
    assert [button.is_off for button in page.state.buttons] == [False, True]
    assert page.state.lines == ()


@pytest.mark.parametrize(
    "words, made",
    [("Line 7", "line-7"), ("7", "x-7"), ("Ärger 2", "rger-2"), ("a" * 50, "a" * 40), ("-a-", "a")],
)
def test_an_id_is_made_of_what_a_line_is_called(words, made):
    assert as_id(words) == made


def test_what_gives_no_id_is_refused():
    with pytest.raises(InputError, match="no letter or digit"):
        as_id("検査 ÄÖ")


def test_very_many_records_from_elsewhere_are_counted_and_the_first_are_shown(floor):
    said = {"concern": floor.route.concern, "status": "clean", "words": "none of 20"}
    same = [(ReadAcross, {**said, "other_stream": "line-7", "other_station": "one"})] * 10
    more = [(ReadAcross, {**said, "other_stream": "line-7", "other_station": f"s{n}"}) for n in range(500)]
    floor.desk.place.add_all([*same, *more])

    page = board(floor)
    done = page.state.sections[-1]

    assert len(done.rows) == 40
    assert done.words == "The first 40 of 501 are shown; 'walkapp summary' tells all."
    assert done.rows[0].subtitle.split("\n")[-2:] == ["And 6 other records.", "Added by hand"]
    assert form(floor, "line-7/one").state.fields[0].hint.count("\n") < 5


# Lessons


def lessons(floor):
    return opened(LessonsPage, floor, "lessons")


def lesson_form(floor, entry=""):
    return opened(LessonForm, floor, "lesson", entry)


def test_a_lesson_is_recorded_corrected_and_taken_back(floor):
    assert lessons(floor).state.sentence.startswith("Nothing is recorded yet")
    assert part_row(floor, "lessons").mark == "not_visited"
    assert "at least one of the three" in fill(lesson_form(floor))
    assert fill(lesson_form(floor), worked="Asking the setter", to_change="Mark every lot") == ""

    page = lessons(floor)
    assert [section.title for section in page.state.sections] == [
        "What worked",
        "What to change in how we work",
    ]
    (first,) = recorded(floor, Lesson)
    page.row("worked", f"worked/{first.id}")
    assert floor.desk.routes[-1].entry == first.id

    page = lesson_form(floor, first.id)
    assert page.state.title == "Correct a lesson"
    assert page.state.fields[0].value == "Asking the setter"
    assert fill(page, worked="Asking both setters") == "Still needed: Why it is corrected."
    assert fill(page, why="said more exactly") == ""
    assert [row.title for row in rows(lessons(floor)).values()] == ["Asking both setters", "Mark every lot"]

    page = lessons(floor)
    page.undo()
    assert [row.title for row in rows(page).values()] == ["Asking the setter", "Mark every lot"]
    page.undo()
    assert (rows(page), page.state.undo) == ({}, "")


def test_a_lesson_that_holds_no_longer_is_not_corrected(floor):
    fill(lesson_form(floor), worked="Asking the setter")
    (first,) = recorded(floor, Lesson)
    lessons(floor).undo()
    page = LessonForm(floor.desk.session, replace(floor.route, screen="lesson", walk="", entry=first.id))
    page.open()

    assert "corrected or taken back meanwhile" in page.state.problem


def test_a_half_written_lesson_stays_when_the_page_is_left(floor):
    lesson_form(floor).fill("worked", "Asking the se")

    assert lesson_form(floor).state.fields[0].value == "Asking the se"
    assert recorded(floor, Lesson) == []
    assert concern_facts(floor.desk.place, floor.route.concern)
