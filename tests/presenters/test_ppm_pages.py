"""The pages of ppm and deliveries, without a window. The clock says 2 March 2026."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.deliverers import BOOK, STREAM, Deliverer, table
from tests.fakes import Desk
from walkapp.actions.deliveries import record_deliveries
from walkapp.model.records import Deliveries, Withdrawal
from walkapp.presenters.desk.deliveries import DeliveriesForm, TakeOutDeliveriesForm
from walkapp.presenters.desk.deliveries_file import DeliveriesFilePage, DeliveriesReadPage
from walkapp.presenters.desk.ppm import MONTHS, MOST_CHOICES, PpmMonthPage, PpmPage
from walkapp.presenters.desk.start import DeskPage
from walkapp.presenters.pages import PAGES, page_class
from walkapp.presenters.route import Route
from walkapp.presenters.search import PAGE_OF_DESK, SearchPage

PPM = Route(screen="ppm", stream=STREAM)
HERE = Route(screen="ppm", stream=STREAM, concern=BOOK)


@pytest.fixture
def deliverer(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield Deliverer(desk)


@pytest.fixture
def desk(deliverer):
    return deliverer.desk


def opened(desk, kind, route=PPM):
    page = kind(desk.session, route)
    page.open()
    return page


def section(page, name):
    return next((one for one in page.state.sections if one.name == name), None)


def filled(desk, route=PPM, **values):
    page = opened(desk, DeliveriesForm, replace(route, screen="deliveries"))
    for name, value in values.items():
        page.fill(name, value)
    return page


def month(day, **more):
    return replace(HERE, screen="ppm_month", day=day, **more)


# The page


def test_the_desk_leads_to_the_ppm_and_back_leads_to_the_desk(desk):
    opened(desk, DeskPage, Route(screen="desk")).row("desk", "ppm")
    assert desk.routes[-1].screen == "ppm"

    opened(desk, PpmPage, desk.routes[-1]).back()
    assert desk.routes[-1].screen == "desk"


def test_the_sentence_says_the_ppm_and_months_are_rows(desk, deliverer):
    desk.concern(quantity=35, reported_on="2026-02-10")
    deliverer.month("2026-02", 50_000)

    page = opened(desk, PpmPage)

    assert page.state.sentence.startswith("February 2026: 700 ppm, 35 NOK of 50,000 delivered")
    this, last = section(page, "months").rows
    assert (last.id, last.title) == ("2026-02-01", "February 2026: 700 ppm")
    assert last.subtitle.splitlines() == [
        "35 NOK of 50,000 delivered, 700 ppm (487.5 to 973.6 ppm, two-sided 95 %)",
        "3 months: 700 ppm (1 known); 12 months: 700 ppm (1 known)",
    ]
    assert (this.title, this.mark) == ("March 2026: no ppm", "not_visited")
    assert any("Poisson" in note for note in page.state.notes)


@pytest.mark.parametrize(("target", "mark"), [("1000", "clean"), ("700", "undecided"), ("500", "bad")])
def test_a_target_gives_the_ppm_a_shape_and_a_sentence(desk, deliverer, target, mark):
    deliverer.month("2026-02", 50_000, nok=35)
    deliverer.target(target)

    page = opened(desk, PpmPage)

    assert page.state.mark == section(page, "months").rows[1].mark == mark
    assert "the target of" in page.state.lines[0]


def test_without_a_target_nothing_is_good_or_bad(desk, deliverer):
    deliverer.month("2026-02", 50_000, nok=35)

    page = opened(desk, PpmPage)

    assert page.state.mark == section(page, "months").rows[1].mark == ""


def test_before_anything_is_recorded_it_says_what_is_missing(desk):
    page = opened(desk, PpmPage)

    assert page.state.sentence == "No deliveries are recorded yet, so there is no ppm."
    assert page.state.sections == ()
    assert [button.name for button in page.state.buttons] == ["deliveries", "deliveries_file"]
    assert (page.state.can_undo, page.state.undo) == (True, "")


def test_the_stream_with_deliveries_is_shown_first_and_others_are_a_tap_away(desk, deliverer):
    deliverer.month("2026-02", 50_000)

    page = opened(desk, PpmPage, Route(screen="ppm"))

    assert page.state.chosen == STREAM
    assert (STREAM, "Washer-fluid reservoir") in page.state.choices
    page.choose("pump-bracket")
    assert desk.routes[-1] == Route(screen="ppm", stream="pump-bracket")


def test_many_streams_and_part_numbers_are_offered_in_bounds(desk, deliverer):
    for number in range(30):
        deliverer.month("2026-02", 10, part=f"P-{number:02}")
    desk.place._streams["en"] = {f"s-{n:02}": desk.place.streams()[STREAM] for n in range(30)}

    page = opened(desk, PpmPage)

    assert len(page.state.choices) == MOST_CHOICES
    assert page.state.chosen in dict(page.state.choices)
    rows = section(page, "parts").rows
    assert len(rows) == MOST_CHOICES + 1
    assert "22 more" in rows[-1].subtitle
    page.row("parts", rows[3].id)
    assert desk.routes[-1] == replace(HERE, unit="P-02")
    shown = opened(desk, PpmPage, desk.routes[-1])
    assert "part number P-02" in shown.state.subtitle
    shown.row("parts", "all")
    assert desk.routes[-1] == HERE


def test_no_stream_at_all_is_said(desk):
    desk.place._streams = {"en": {}}

    assert opened(desk, PpmPage, Route(screen="ppm")).state.sentence == "There is no value stream here yet."


def test_a_year_and_a_month_are_shown_of_many_and_the_rest_is_told(desk, deliverer):
    for place in range(20):
        year, number = divmod(2024 * 12 + 6 + place, 12)
        deliverer.month(f"{year}-{number + 1:02}", 10)

    page = opened(desk, PpmPage)

    assert len(section(page, "months").rows) == MONTHS
    assert any(
        "8 months before March 2025 are not shown; 'walkapp ppm'" in line for line in page.state.lines
    )


def test_a_safety_concern_that_nobody_was_told_of_is_a_caution(desk, deliverer):
    desk.concern(severity="safety", quantity=1)

    assert "nobody has recorded who was told" in opened(desk, PpmPage).state.cautions[0]


def test_the_page_leads_to_months_to_typing_in_and_to_tables(desk, deliverer):
    deliverer.month("2026-02", 50_000)
    page = opened(desk, PpmPage)

    page.row("months", "2026-02-01")
    assert desk.routes[-1] == month("2026-02-01")
    for button in ("deliveries", "deliveries_file"):
        page.press(button)
        assert desk.routes[-1] == replace(HERE, screen=button)
        assert desk.routes[-1].up() == HERE


def test_the_figure_of_all_parts_is_a_tap_away_once_there_is_one(desk, deliverer):
    assert "figure" not in [button.name for button in opened(desk, PpmPage).state.buttons]
    deliverer.month("2026-02", 50_000, part="A-1")

    page = opened(desk, PpmPage)
    page.press("figure")

    assert desk.routes[-1] == replace(PPM, screen="figure", entry="ppm-by-month", through="ppm")
    assert desk.routes[-1].up().screen == "ppm"
    of_a_part = opened(desk, PpmPage, replace(PPM, unit="A-1"))
    assert "figure" not in [button.name for button in of_a_part.state.buttons]


def test_undo_takes_back_what_was_typed_last(desk, deliverer):
    deliverer.month("2026-01", 50_000, nok=0)
    deliverer.month("2026-02", 50_000, nok=0)
    page = opened(desk, PpmPage)
    assert page.state.undo == "February 2026"

    page.undo()

    assert (page.state.saved, page.state.undo) == ("Taken back", "January 2026")
    assert page.state.sentence.startswith("January 2026: 0 ppm")


def test_undo_names_a_table_and_takes_all_of_it_back(desk, deliverer, tmp_path):
    deliverer.read(table(tmp_path / "in", "month,delivered", "2026-01,1", "2026-02,2"))
    page = opened(desk, PpmPage)
    assert page.state.undo == "2 entries of deliveries.csv"

    page.undo()

    assert deliverer.facts.kept(Deliveries) == ()
    assert page.state.undo == ""


def test_entries_corrected_differently_are_a_row_that_leads_to_all_values(desk, deliverer):
    entry = deliverer.month("2026-02", 50_000)
    for delivered in (51_000, 52_000):
        said = {"month": "2026-02-01", "delivered": delivered, "replaces": (entry.id,), "why": "x"}
        deliverer.add(Deliveries, **said)

    page = opened(desk, PpmPage)
    page.row("disputes", section(page, "disputes").rows[0].id)

    assert desk.routes[-1] == HERE.down("disputes")
    disputes = opened(desk, page_class("disputes"), desk.routes[-1])
    assert disputes.state.disputes[0].about == "Deliveries, February 2026"
    disputes.back()
    assert desk.routes[-1] == HERE


# One month


def test_a_month_shows_its_records_and_its_concerns(desk, deliverer):
    concern = desk.concern(quantity=35, reported_on="2026-02-10", part_number="A-1")
    record = deliverer.month("2026-02", 50_000, nok=36)

    page = opened(desk, PpmMonthPage, month("2026-02-01"))

    assert page.state.sentence == (
        "36 NOK of 50,000 delivered, 720 ppm (504.2 to 996.8 ppm, two-sided 95 %)."
    )
    assert page.state.lines == ("The customer counts 36, the concerns here 35: 1 more.",)
    (row,) = section(page, "deliveries").rows
    assert row.title == "50,000 delivered, 36 NOK as the customer counts them"
    page.row("deliveries", row.id)
    assert desk.routes[-1] == month("2026-02-01").down("deliveries", entry=record.id)
    assert desk.routes[-1].up().screen == "ppm_month"
    (row,) = section(page, "concerns").rows
    assert row.subtitle == "35 parts, reported 2026-02-10, A-1"
    page.row("concerns", row.id)
    assert desk.routes[-1] == Route(screen="concern", concern=concern)


def test_a_month_recorded_twice_says_which_counts_and_leads_to_taking_one_back(desk, deliverer):
    first = deliverer.once_more("2026-02", 50_000, nok=0)
    deliverer.once_more("2026-02", 51_000, nok=0)

    page = opened(desk, PpmMonthPage, month("2026-02-01"))
    older, newer = section(page, "deliveries").rows
    assert (older.mark, newer.mark) == ("caution", "")
    assert older.subtitle.startswith("Does not count: a newer entry says something else")
    page.row("deliveries", older.id)
    form = opened(desk, DeliveriesForm, desk.routes[-1])
    form.other()
    taking = opened(desk, TakeOutDeliveriesForm, desk.routes[-1])
    assert taking.state.words[0] == (
        "Washer-fluid reservoir, February 2026: 50,000 delivered, 0 NOK as the customer counts them."
    )
    taking.record()
    assert taking.state.problem == "Still needed: Why is it taken back?."
    taking.fill("why", "recorded twice")
    taking.record()

    assert desk.routes[-1] == month("2026-02-01")
    assert desk.records[-1].replaces == (first.id,)
    assert isinstance(desk.records[-1], Withdrawal)
    assert opened(desk, PpmMonthPage, desk.routes[-1]).state.lines == ()


def test_a_month_of_a_lost_place_says_so(desk):
    page = opened(desk, PpmMonthPage, replace(HERE, screen="ppm_month", day="soon"))

    assert page.state.problem == "There is no such month; go back and choose one."


# Typing in


def test_the_newest_month_that_is_missing_is_offered_first(desk, deliverer):
    deliverer.month("2026-02", 50_000)

    page = filled(desk)

    (field, *_) = page.state.fields
    assert field.value == "2026-01"
    assert [label for _, label in field.options][:2] == ["January 2026", "December 2025"]
    assert field.options[-1] == ("2026-03", "March 2026")


def test_while_it_is_typed_the_form_says_what_ppm_comes_of_it(desk):
    desk.concern(quantity=35, reported_on="2026-02-10")

    page = filled(desk)
    assert page.state.advice == ("February 2026 so far: 35 NOK, no deliveries recorded, so no ppm.",)
    page.fill("delivered", "50000")
    assert page.state.advice == (
        "With this: 35 NOK of 50,000 delivered, 700 ppm (487.5 to 973.6 ppm, two-sided 95 %).",
    )
    page.fill("customer_nok", "0")
    assert page.state.advice == (
        "With this: 0 NOK of 50,000 delivered, 0 ppm (at most 59.92 ppm, one-sided 95 %).",
    )
    page.fill("month", "2026-12")
    assert page.state.advice == ("'2026-12' is still to come; mend it, or the date of this machine.",)
    page.fill("month", "soon")
    assert page.state.advice == ()
    assert desk.records[1:] == []


def test_what_was_typed_is_recorded_and_leads_back(desk):
    page = filled(desk, month="01/2026", delivered="50000", part_number="A-1")

    page.record()

    (record,) = desk.records
    assert (record.month, record.delivered, record.part_number) == ("2026-01-01", 50_000, "A-1")
    assert desk.routes[-1] == Route(screen="ppm", stream=STREAM)


@pytest.mark.parametrize(
    ("values", "problem"),
    [
        ({"delivered": ""}, "Still needed: Parts delivered."),
        ({"month": "", "delivered": "5"}, "Still needed: Month."),
        ({"month": "soon", "delivered": "5"}, "Month: 'soon' is no month; write it as 2026-03."),
        ({"month": "2026-05", "delivered": "5"}, "Month: '2026-05' is still to come; mend it, or the date"),
        ({"delivered": "1.234"}, "Parts delivered: must be a whole number such as 50000."),
        (
            {"delivered": "5", "customer_nok": "-1"},
            "NOK parts, as the customer counts them: must be a whole",
        ),
        ({"delivered": "9999999999"}, "Parts delivered: 9,999,999,999 must be from 0 to 1,000,000,000"),
        ({"delivered": "5", "part_number": "x" * 61}, "Part number: "),
    ],
)
def test_what_cannot_be_recorded_is_said_and_stays_in_the_form(desk, values, problem):
    page = filled(desk, **values)

    page.record()

    assert page.state.problem.startswith(problem)
    assert desk.records == []


def test_a_month_that_is_recorded_already_becomes_a_correction_with_a_reason(desk, deliverer):
    earlier = deliverer.month("2026-02", 50_000)
    page = filled(desk, month="2026-02", delivered="51000")
    assert page.state.fields[-1].name == "why"
    assert page.state.fields[1].hint == "Recorded: 50,000 delivered"

    page.record()
    assert page.state.problem == "Still needed: Why is it corrected?."
    page.fill("why", "typed wrong")
    page.record()

    assert (desk.records[-1].replaces, desk.records[-1].why) == ((earlier.id,), "typed wrong")


def test_a_correction_begins_with_what_is_recorded(desk, deliverer):
    earlier = deliverer.month("2026-02", 50_000, nok=3, part="A-1")
    page = filled(desk, replace(month("2026-02-01"), entry=earlier.id))
    assert [field.value for field in page.state.fields] == ["2026-02", "50000", "3", "A-1", ""]
    assert page.state.other == "Take it back"

    page.fill("customer_nok", "")
    page.fill("why", "the customer corrected it")
    page.record()

    assert (desk.records[-1].customer_nok, desk.records[-1].replaces) == (None, (earlier.id,))
    assert desk.routes[-1] == month("2026-02-01")


def test_an_entry_that_holds_no_longer_is_not_corrected(desk, deliverer):
    earlier = deliverer.month("2026-02", 50_000)
    route = replace(HERE, entry=earlier.id)
    page = filled(desk, route, delivered="6", why="typed wrong")
    record_deliveries(
        desk.place, deliverer.facts, month=date(2026, 2, 1), delivered=7, entry=earlier.id, why="x"
    )

    page.record()

    assert "holds no longer" in page.state.problem
    assert "holds no longer" in filled(desk, route).state.problem
    assert "holds no longer" in opened(desk, TakeOutDeliveriesForm, route).state.problem


def test_a_half_filled_form_is_there_again(desk):
    filled(desk, delivered="123")

    assert filled(desk).state.fields[1].value == "123"


# Tables


def test_tables_of_the_known_folders_are_offered(desk):
    table(desk.pictures, "x", name="a.csv")

    page = opened(desk, DeliveriesFilePage, replace(HERE, screen="deliveries_file"))

    (row,) = section(page, "tables").rows
    assert (row.title, row.id) == ("a.csv", str(desk.pictures / "a.csv"))
    assert any(
        str(desk.pictures) in note and str(desk.session.bundles) in note for note in page.state.notes
    )
    page.row("tables", row.id)
    assert desk.routes[-1] == replace(HERE, screen="deliveries_read", entry=row.id)
    assert desk.routes[-1].up().screen == "deliveries_file"


def test_where_there_is_no_table_that_is_said_and_one_can_look_again(desk):
    page = opened(desk, DeliveriesFilePage, replace(HERE, screen="deliveries_file"))
    assert (page.state.sentence, page.state.sections) == ("No table is there.", ())

    table(desk.pictures, "x")
    page.press("again")

    assert page.state.sentence == "Which table?"


def reading(desk, path):
    return opened(desk, DeliveriesReadPage, replace(HERE, screen="deliveries_read", entry=str(path)))


def test_a_table_is_shown_before_it_is_recorded(desk, deliverer):
    deliverer.month("2026-01", 40_000)
    path = table(desk.pictures, "month,delivered,plant", "2026-01,41000,x", "2026-02,50000,x")
    before = desk.records

    page = reading(desk, path)

    assert (
        page.state.sentence
        == "Reading it adds 1, corrects 1, leaves 0 as they are. Nothing is recorded yet."
    )
    assert page.state.lines == (
        "2026-01: 41,000 delivered instead of 40,000 delivered",
        "2026-02: 50,000 delivered, new",
        "Columns that are not read: plant",
    )
    assert desk.records == before
    page.press("load")
    assert len(desk.records) == len(before) + 2
    assert desk.routes[-1] == HERE
    assert reading(desk, path).state.sentence == "Everything in it is recorded already."
    assert reading(desk, path).state.buttons[0].is_off


def test_a_table_that_changed_meanwhile_is_not_recorded_unseen(desk):
    path = table(desk.pictures, "month,delivered", "2026-02,50000")
    page = reading(desk, path)
    table(desk.pictures, "month,delivered", "2026-02,5")

    page.press("load")

    assert page.state.problem == "The table or the records have changed meanwhile; look at it again."
    assert desk.records == []
    page.press("again")
    assert page.state.lines == ("2026-02: 5 delivered, new",)


def test_records_that_changed_meanwhile_are_looked_at_again(desk, deliverer):
    page = reading(desk, table(desk.pictures, "month,delivered", "2026-02,50000"))
    deliverer.month("2026-02", 4)

    page.press("load")

    assert "changed meanwhile" in page.state.problem


def test_all_mistakes_of_a_table_are_shown(desk):
    page = reading(desk, table(desk.pictures, "month,delivered", "2026-02,x", "soon,5"))

    assert page.state.sentence == "2 mistakes; nothing of it is recorded. Mend the table and look again."
    assert page.state.lines == (
        "Line 2: delivered: 'x' is not a whole number; give a count such as 50000.",
        "Line 3: 'soon' is no month; write it as 2026-03.",
    )
    assert [button.name for button in page.state.buttons] == ["again"]


def test_a_table_that_is_gone_says_so(desk):
    page = reading(desk, desk.pictures / "gone.csv")

    assert "there is no such file" in page.state.problem
    page.press("load")
    assert desk.records == []


# Search


def test_search_leads_from_deliveries_to_the_ppm_of_their_stream(desk, deliverer, tmp_path):
    deliverer.month("2026-02", 50_000, part="WFR-100")
    page = opened(desk, SearchPage, Route(screen="search"))

    page.type("wfr february")
    assert page.state.told == "1 entry found."
    page.choose(page.state.rows[0].id)

    assert desk.routes[-1] == HERE
    assert opened(desk, PpmPage, desk.routes[-1]).state.problem == ""


def test_search_finds_what_came_from_a_table(desk, deliverer, tmp_path):
    deliverer.read(table(tmp_path / "in", "month,delivered", "2026-01,1", "2026-02,2", name="dispatch.csv"))
    page = opened(desk, SearchPage, Route(screen="search"))

    page.type("dispatch")

    assert page.state.told == "2 entries found."
    assert page.state.rows[0].subtitle.endswith("Deliveries and success factors, Washer-fluid reservoir")


def test_search_leads_from_a_success_factor_to_the_indicators(desk, deliverer):
    deliverer.target("100")
    page = opened(desk, SearchPage, Route(screen="search"))
    page.type("goes out")

    page.choose(page.state.rows[0].id)

    assert desk.routes[-1] == replace(HERE, screen="indicators")
    assert opened(desk, page_class("indicators"), desk.routes[-1]).state.problem == ""


def test_every_page_that_a_record_of_the_desk_leads_to_is_there():
    assert {*PAGE_OF_DESK.values(), "desk"} <= PAGES.keys()
