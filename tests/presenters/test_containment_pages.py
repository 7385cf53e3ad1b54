"""The pages of containment: the balance, the places, and the forms that say what follows from a figure."""

from __future__ import annotations

import pytest

from tests.sites import Site, contained
from walkapp.actions.reading import concern_facts
from walkapp.model.records import CleanPoint, Escape, Sorting, SuspectRange, SuspectStock, Withdrawal
from walkapp.presenters.concern_parts import part_rows
from walkapp.presenters.pages import page_class
from walkapp.presenters.route import Route


@pytest.fixture
def site(desk):
    return Site(desk, reported_on="2026-02-19", made_from="2026-02-16")


def opened(site, screen, entry="", **filled):
    route = Route(screen=screen, concern=site.concern, entry=entry)
    page = page_class(screen)(site.desk.session, route)
    page.open()
    for name, value in filled.items():
        page.fill(name, value)
    return page


def recorded(site, kind):
    return [record for record in site.desk.records if isinstance(record, kind)]


def field(page, name):
    return next(field for field in page.state.fields if field.name == name)


def section(page, name):
    return next(section for section in page.state.sections if section.name == name)


def containment_row(site):
    rows = part_rows(site.place, concern_facts(site.place, site.concern))
    return next(row for row in rows if row.id == "containment")


# the page


def test_an_empty_page_says_what_is_missing_and_where_to_begin(site):
    page = opened(site, "containment")

    assert (page.state.balance, page.state.bar, page.state.mark) == ("", (), "not_visited")
    assert page.state.sentence == (
        "Not contained: nobody recorded how many parts could be bad; no clean point"
    )
    assert [row.id for row in section(page, "range").rows] == ["suspect_range"]
    assert section(page, "places").words.startswith("No place recorded yet")
    assert page.state.cautions[0].startswith("Site rules come first.")
    assert containment_row(site).subtitle.startswith("Stop the flow of suspect parts first")


def test_the_balance_is_big_and_drawn_and_leads_to_each_place(site):
    site.range(made_from="2026-02-16", made_to="2026-03-01", lots="0216-1")
    stores, dock = site.stock(1200).stock, site.stock(3288, "dock B", "customer").stock
    site.sort(stores, 1000, 45, released=940, scrapped=45, scrapped_unsorted=10)

    page = opened(site, "containment")

    assert page.state.balance == "312 of 4,800 not accounted for"
    assert [(part.pattern, part.words) for part in page.state.bar] == [
        ("cross", "312 not accounted for"),
        ("stripes", "3,478 to sort"),
        ("dots", "15 waiting"),
        ("plain", "940 released"),
        ("solid", "55 scrapped"),
    ]
    assert sum(part.parts for part in page.state.bar) == 4800
    assert page.state.sentence == (
        "Not contained: 3,478 still to sort; 15 waiting for a decision; no clean point"
    )
    assert "No escape in the 12 days since the customer reported (2026-02-19)" in page.state.lines
    (row,) = section(page, "range").rows
    assert (row.title, row.subtitle) == ("4,800 parts made", "2026-02-16 to 2026-03-01, lots 0216-1")
    assert [(row.id, row.title, row.mark) for row in section(page, "places").rows] == [
        (stores, "Stores, rack 3: 1,200", "undecided"),
        (dock, "At the customer, dock B: 3,288", "undecided"),
    ]
    page.row("places", dock)
    page.row("range", "suspect_range")
    page.press("suspect_stock")
    assert [(route.screen, route.entry) for route in site.desk.routes] == [
        ("stock", dock), ("suspect_range", ""), ("suspect_stock", ""),
    ]  # fmt: skip
    assert containment_row(site).subtitle.startswith("312 of 4,800 not accounted for; 3,478 still to sort")


def test_an_escape_turns_the_page_and_its_row_from_good_to_bad(site):
    contained(site)
    page = opened(site, "containment")
    assert (page.state.mark, page.state.balance) == ("clean", "All 100 accounted for")
    assert page.state.sentence.startswith("Contained by these records")
    assert section(page, "clean").rows[0].title == "Good from lot 0302-1, production day 2026-03-02 on"
    assert containment_row(site).mark == "clean"

    escape = site.escape(lot="0302-1")
    page = opened(site, "containment")

    assert page.state.mark == "bad"
    assert page.state.lines[0].startswith("The clean point lot 0302-1, production day 2026-03-02 no longer")
    (row,) = section(page, "clean").rows
    assert (row.title, row.mark) == ("Does not hold: lot 0302-1, production day 2026-03-02", "bad")
    assert [row.title for row in section(page, "escapes").rows] == ["3 bad parts: dock B"]
    page.row("escapes", escape.id)
    assert site.desk.routes[-1] == Route(screen="escape", concern=site.concern, entry=escape.id)
    assert containment_row(site).mark == "bad"


def test_undo_takes_back_the_newest_entry_and_says_which(site):
    site.range()
    stock = site.stock(1200).stock
    site.sort(stock, 60)
    site.clean(lot="0302-1")
    site.escape()
    page = opened(site, "containment")

    said = []
    while page.state.undo:
        said.append(page.state.undo)
        page.undo()

    assert said == [
        "escape of 2026-03-03", "clean point", "60 sorted or scrapped", "Stores: 1,200", "range of 4,800",
    ]  # fmt: skip
    assert page.state.saved == "Taken back"
    page.undo()
    assert page.state.problem == "There is nothing on this page that this tablet could take back."


def test_a_place_shows_what_is_left_and_every_sorting(site):
    stock = site.stock(100, lots="0226-1").stock
    sorting = site.sort(stock, 60, 4, reworked=1, released=50, scrapped=3, scrapped_unsorted=5)

    page = opened(site, "stock", stock)

    assert (page.state.title, page.state.subtitle) == ("Stores, rack 3", "lots 0226-1")
    assert (page.state.balance, page.state.sentence, page.state.mark) == (
        "35 of 100 still to sort", "35 to sort; 7 waiting for a decision", "undecided",
    )  # fmt: skip
    assert page.state.lines == ("4 NOK of 60 sorted: 1 % to 17 % (exact, two-sided 95 %)", "1 reworked")
    (row,) = section(page, "sortings").rows
    assert (row.id, row.title) == (sorting.id, "2026-03-02: 60 sorted, 4 NOK")
    assert row.subtitle == (
        "1 reworked, 50 released, 3 scrapped, 5 scrapped unsorted, 7 waiting for a decision"
    )
    assert [(button.name, button.is_off) for button in page.state.buttons] == [
        ("take_out_stock", True), ("correct_stock", False), ("sorting", False),
    ]  # fmt: skip
    page.row("sortings", sorting.id)
    page.press("sorting")
    page.back()
    assert [(route.screen, route.entry) for route in site.desk.routes] == [
        ("sorting", sorting.id), ("sorting", stock), ("containment", ""),
    ]  # fmt: skip


def test_a_place_is_done_or_its_figures_disagree(site):
    stock, sorting = contained(site)
    done = opened(site, "stock", stock).state
    assert (done.balance, done.sentence, done.mark) == (
        "All 100 sorted or scrapped", "Done: all are released or scrapped", "clean",
    )  # fmt: skip

    site.arrive(sorting)
    odd = opened(site, "stock", stock).state

    assert (odd.sentence, odd.mark) == ("100 more sorted or scrapped than were found here.", "bad")
    assert opened(site, "containment").state.mark == "bad"


def test_undo_on_the_page_of_a_place_leaves_the_others_alone(site):
    stock = site.stock(100).stock
    sorting = site.sort(stock, 60)
    other = site.stock(40, where="rack 4").stock
    page = opened(site, "stock", stock)

    page.undo()

    assert [one.stock.stock for one in site.now.stocks] == [stock, other]
    assert sorting.id not in {r.id for r in site.facts.standing.current}


def test_a_place_that_was_taken_back_says_so(site):
    stock = site.stock(100).stock
    page = opened(site, "stock", stock)

    page.undo()

    assert page.state.problem.startswith("This place with suspect parts was taken back")


# the forms


def test_the_range_is_recorded_and_says_at_once_what_is_not_accounted_for(site):
    site.stock(4488)
    page = opened(site, "suspect_range", quantity="4800", made_from="2026-02-16")
    assert field(page, "quantity").hint == "With this: 312 of 4,800 not accounted for."
    assert field(page, "made_from").options == (("2026-02-16", "2026-02-16 (reported)"),)

    page.record()

    (made,) = recorded(site, SuspectRange)
    assert (made.quantity, made.made_from) == (4800, "2026-02-16")
    assert site.desk.routes[-1].screen == "containment"


def test_a_range_is_corrected_with_a_reason(site):
    first = site.range(source="counter")
    page = opened(site, "suspect_range", quantity="5000")
    page.record()
    assert page.state.problem == "Still needed: Or in your own words."

    page.fill("why", "range made longer")
    page.record()

    second = recorded(site, SuspectRange)[-1]
    assert (second.replaces, second.why, second.source) == ((first.id,), "range made longer", "counter")


def test_a_place_at_a_station_asks_which_one(site):
    site.range(100)
    page = opened(site, "suspect_stock", place="stores")
    assert "station" not in [field.name for field in page.state.fields]
    assert field(page, "quantity").hint == "Before anybody sorted them"

    page.fill("place", "station")
    page.fill("station", "packing")
    page.fill("quantity", "40")
    assert field(page, "quantity").hint == "With this: 60 of 100 not accounted for."
    page.record()

    (made,) = recorded(site, SuspectStock)
    assert (made.place, made.station, made.quantity, made.stock) == ("station", "packing", 40, made.id)
    assert site.desk.routes[-1] == Route(screen="stock", concern=site.concern, entry=made.stock)


def test_a_place_is_corrected_and_taken_out(site):
    site.range(100)
    stock = site.stock(40).stock
    page = opened(site, "correct_stock", stock, quantity="45", why_else="one more box behind")
    assert page.state.title == "Correct: Stores, rack 3"
    assert field(page, "quantity").hint == "With this: 55 of 100 not accounted for."
    page.record()
    assert [(one.stock.quantity, one.stock.why) for one in site.now.stocks] == [(45, "one more box behind")]

    page = opened(site, "take_out_stock", stock, why="recorded twice")
    assert page.state.title == "Take out: Stores, rack 3"
    page.record()

    assert recorded(site, Withdrawal)[-1].why == "recorded twice"
    assert site.now.stocks == ()
    assert site.desk.routes[-1].screen == "containment"


@pytest.mark.parametrize(
    ("fate", "figures"),
    [("usual", (0, 57, 3)), ("wait", (0, 0, 0)), ("apart", (1, 50, 2))],
)
def test_a_sorting_says_what_is_left_and_what_became_of_the_parts_by_one_tap(site, fate, figures):
    stock = site.stock(100).stock
    page = opened(site, "sorting", stock)
    assert field(page, "checked").hint == "100 of 100 left to sort"
    assert field(page, "sorted_on").value == "2026-03-03"

    for name, value in {"checked": "60", "nok": "3", "fate": fate}.items():
        page.fill(name, value)
    if fate == "apart":
        for name, value in (("reworked", "1"), ("released", "50"), ("scrapped", "2")):
            page.fill(name, value)
    waiting = {"usual": 0, "wait": 60, "apart": 8}[fate]
    assert field(page, "checked").hint == f"Then 40 of 100 left to sort, {waiting} waiting for a decision."
    page.record()

    (made,) = recorded(site, Sorting)
    assert (made.checked, made.nok, made.stock, made.sorted_on) == (60, 3, stock, "2026-03-03")
    assert (made.reworked, made.released, made.scrapped) == figures
    assert site.desk.routes[-1] == Route(screen="stock", concern=site.concern, entry=stock)


def test_a_sorting_is_corrected_when_its_waiting_parts_are_decided_on(site):
    stock = site.stock(100).stock
    first = site.sort(stock, 100, 4, released=96)
    page = opened(site, "sorting", first.id)
    assert field(page, "released").value == "96"
    assert field(page, "checked").hint == "Then 0 of 100 left to sort, 4 waiting for a decision."

    for name, value in (("scrapped", "4"), ("why", "decided since")):
        page.fill(name, value)
    page.record()

    second = recorded(site, Sorting)[-1]
    assert (second.replaces, second.why, second.scrapped) == ((first.id,), "decided since", 4)
    assert site.now.stocks[0].balance.is_done
    assert site.desk.routes[-1].entry == stock


@pytest.mark.parametrize(
    ("filled", "hint", "problem"),
    [
        ({"checked": "101"}, "That is 1 more than are left to sort here.",
         "Stores, rack 3: 101 are more than the 100 left to sort there; mend the number"),
        ({"nok": "61"}, "These figures do not fit together: look at them again.",
         "NOK among them: must not be above checked (61 of 60)"),
        ({"fate": "apart", "released": "60"}, "Then 40 of 100 left to sort, 0 waiting for a decision.",
         "Released for use: must not be above the good parts (60 of 57)"),
        ({"checked": "a box"}, "100 of 100 left to sort",
         "Parts sorted: must be a whole number such as 40."),
        ({"checked": "9" * 5000}, "100 of 100 left to sort",
         "Parts sorted: must be a whole number such as 40."),
        ({"sorted_on": "2026-03-04"}, "Then 40 of 100 left to sort, 0 waiting for a decision.",
         "Sorted on: 2026-03-04 is still to come"),
        ({"sorted_on": "2026-02-15"}, "Then 40 of 100 left to sort, 0 waiting for a decision.",
         "Sorted on: 2026-02-15 is before the first production day"),
        ({"fate": ""}, "Then 40 of 100 left to sort, 60 waiting for a decision.",
         "Still needed: What became of them."),
    ],
)  # fmt: skip
def test_a_sorting_that_cannot_be_is_refused_and_what_was_typed_stays(site, filled, hint, problem):
    stock = site.stock(100).stock
    page = opened(site, "sorting", stock, **{"checked": "60", "nok": "3", "fate": "usual", **filled})
    assert field(page, "checked").hint == hint

    page.record()

    assert page.state.problem.startswith(problem)
    assert recorded(site, Sorting) == []
    again = opened(site, "sorting", stock)
    assert field(again, "checked").value == filled.get("checked", "60")


def test_the_clean_point_says_while_it_is_typed_what_the_parts_support(site):
    page = opened(site, "clean_point", lot="0302-1", checked="59", station="leak-test")
    assert "fewer than " in field(page, "checked").hint
    assert any(line.startswith("Further OK parts needed:") for line in page.state.advice)

    page.fill("lot_size", "58")
    assert field(page, "checked").hint == "More parts checked than the lot has."
    page.fill("lot_size", "480")
    assert field(page, "checked").hint.startswith("59 OK parts of a lot of 480: at most ")
    page.fill("approved_by", "QE-RT")
    page.record()

    (made,) = recorded(site, CleanPoint)
    assert (made.lot, made.checked, made.lot_size, made.station) == ("0302-1", 59, 480, "leak-test")
    assert site.desk.routes[-1].screen == "containment"


def test_a_clean_point_is_corrected_when_more_parts_were_checked(site):
    first = site.clean(lot="0302-1", lot_size=480)
    page = opened(site, "clean_point", checked="299", why="more parts checked")
    assert field(page, "lot_size").value == "480"
    page.record()

    second = recorded(site, CleanPoint)[-1]
    assert (second.checked, second.lot, second.replaces) == (299, "0302-1", (first.id,))


def test_a_clean_point_that_names_no_part_is_refused(site):
    page = opened(site, "clean_point", checked="59", approved_by="QE-RT")
    page.record()

    assert "a clean point names one of them" in page.state.problem
    assert recorded(site, CleanPoint) == []


def test_an_escape_is_recorded_and_corrected(site):
    page = opened(site, "escape", quantity="3", where="dock B")
    assert field(page, "found_on").value == "2026-03-03"
    page.record()
    (made,) = recorded(site, Escape)
    assert (made.quantity, made.where, made.found_on) == (3, "dock B", "2026-03-03")

    page = opened(site, "escape", made.id, lot="0302-1", why="typed wrong")
    assert field(page, "where").value == "dock B"
    page.record()

    assert [(one.lot, one.replaces) for one in site.now.escapes] == [("0302-1", (made.id,))]


@pytest.mark.parametrize(
    ("screen", "above"),
    [
        ("containment", "concern"), ("suspect_range", "containment"), ("suspect_stock", "containment"),
        ("clean_point", "containment"), ("escape", "containment"), ("stock", "containment"),
        ("correct_stock", "stock"), ("take_out_stock", "stock"), ("sorting", "stock"),
    ],
)  # fmt: skip
def test_back_leads_one_level_up(screen, above):
    route = Route(screen=screen, concern="c", entry="e").up()

    assert (route.screen, route.concern, route.entry) == (above, "c", "e" if above == "stock" else "")
