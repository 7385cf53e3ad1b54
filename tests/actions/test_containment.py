"""Containment on a real store: what is recorded, what is refused, and what other tablets may bring."""

from __future__ import annotations

import json

import pytest

from tests.builders import record_id
from tests.fakes import Desk
from tests.floors import Floor
from tests.sites import Site, contained
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.containing import (
    record_clean_point,
    record_range,
    record_sorting,
    record_stock,
    take_out_stock,
)
from walkapp.actions.containment import KINDS, containment_of
from walkapp.actions.containment_telling import containment_lines, containment_to_json
from walkapp.actions.merging import merge_bundles
from walkapp.actions.parts import part_lines, parts_to_json
from walkapp.actions.reading import concern_facts
from walkapp.actions.summaries import summarise
from walkapp.actions.undoing import take_back
from walkapp.errors import InputError, RecordError
from walkapp.model.records import (
    CleanPoint,
    Escape,
    Sorting,
    SuspectRange,
    SuspectStock,
    Withdrawal,
    what_is_said,
)


@pytest.fixture
def site(desk):
    return Site(desk, reported_on="2026-02-19", made_from="2026-02-16", made_to="2026-02-18")


def test_the_balance_says_where_every_suspect_part_is(site):
    site.range()
    stores, dock = site.stock(1200).stock, site.stock(3288, "dock B", "customer").stock
    site.sort(stores, 1000, 45, released=940, scrapped=45)
    site.sort(stores, 100, 5, reworked=5, released=100, scrapped_unsorted=20)
    site.sort(dock, 88, 3, released=85)

    now = site.now

    assert now.account.sentence == "312 of 4,800 not accounted for"
    total = now.account.total
    assert (total.located, total.checked, total.nok, total.reworked) == (4488, 1188, 53, 5)
    assert (total.to_sort, total.waiting, total.released, total.all_scrapped) == (3280, 18, 1125, 65)
    assert [(one.name, one.balance.to_sort, one.balance.waiting) for one in now.stocks] == [
        ("Stores, rack 3", 80, 15),
        ("At the customer, dock B", 3200, 3),
    ]
    assert not now.is_contained
    assert now.why == (
        "Not contained: 312 of 4,800 not accounted for; 3,280 still to sort; 18 waiting for a decision; no "
        "clean point."
    )


def test_it_is_contained_when_nothing_is_missing_and_not_when_one_thing_is(site):
    stock, sorting = contained(site)

    now = site.now

    assert now.is_contained
    assert now.missing == ()
    assert now.why == (
        "Contained by these records: all 100 suspect parts are released or scrapped, and good from lot "
        "0302-1, production day 2026-03-02 on."
    )
    assert not any("Not contained" in warning for warning in now.warnings)
    take_back(site.place, site.concern, (CleanPoint,))
    assert site.now.missing == ("no clean point",)
    site.sort(stock, 100, 4, released=90, scrapped=4, sorting=sorting.id, why="counted again")
    assert site.now.missing == ("6 waiting for a decision", "no clean point")


def test_without_a_range_nothing_is_contained(site):
    stock = site.stock(100).stock
    site.sort(stock, 100, released=100)
    site.clean(lot="0302-1")

    now = site.now

    assert now.missing == ("nobody recorded how many parts could be bad",)
    assert now.account.unaccounted is None
    assert any(
        warning.startswith("It is not known how many parts could be bad") for warning in now.warnings
    )


def test_a_new_range_takes_the_place_of_the_old_one_and_says_why(site):
    first = site.range()
    with pytest.raises(InputError, match="Say why it is corrected"):
        site.range(5000)

    second = site.range(5000, why="range made longer")

    assert (second.replaces, site.now.account.made) == ((first.id,), 5000)
    take_back(site.place, site.concern, KINDS)
    assert site.now.account.made == 4800


def test_two_ranges_of_two_tablets_are_told_and_the_larger_one_counts(site):
    mine = site.range()
    site.arrive(mine, quantity=6000)

    assert site.now.account.made == 6000
    assert any("2 suspect ranges are recorded (6,000, 4,800)" in warning for warning in site.now.warnings)

    site.range(6000, why="counted again")
    assert [one.quantity for one in site.now.ranges] == [6000]
    # Undone, what counted before counts again.
    take_back(site.place, site.concern, KINDS)
    assert site.now.account.made == 6000


def test_a_place_keeps_its_id_and_its_sortings_through_corrections(site):
    stock = site.stock(100).stock
    site.sort(stock, 60, 2)

    site.stock(120, "rack 4", stock=stock, why="counted again")

    (one,) = site.now.stocks
    assert (one.stock.stock, one.name, one.balance.to_sort) == (stock, "Stores, rack 4", 60)
    with pytest.raises(InputError, match="60 parts were sorted or scrapped there already"):
        site.stock(59, stock=stock, why="typed wrong")


def test_a_place_without_sortings_can_be_taken_out_and_comes_back_by_undo(site):
    stock = site.stock(100).stock

    with pytest.raises(InputError, match="Say why"):
        take_out_stock(site.place, site.facts, stock, " ")
    take_out_stock(site.place, site.facts, stock, "recorded twice")
    assert site.now.stocks == ()
    take_back(site.place, site.concern, KINDS)
    assert [one.stock.stock for one in site.now.stocks] == [stock]

    site.sort(stock, 60)
    with pytest.raises(InputError, match="parts were sorted there"):
        take_out_stock(site.place, site.facts, stock, "recorded twice")


def test_waiting_parts_are_decided_on_by_correcting_their_sorting(site):
    stock = site.stock(100).stock
    sorting = site.sort(stock, 100, 4)

    site.sort(stock, 100, 4, reworked=3, released=99, scrapped=1, sorting=sorting.id, why="decided since")

    balance = site.now.stocks[0].balance
    assert (balance.checked, balance.nok, balance.waiting, balance.is_done) == (100, 4, 0, True)
    with pytest.raises(InputError, match="corrected or taken back meanwhile"):
        site.sort(stock, 100, 4, sorting=sorting.id, why="decided since")


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"checked": 101}, "101 are more than the 100 left to sort there"),
        ({"checked": 60, "scrapped_unsorted": 41}, "101 are more than the 100 left"),
        ({"sorted_on": "2026-03-04"}, "Sorted on: 2026-03-04 is still to come"),
        ({"sorted_on": "2026-02-15"}, "Sorted on: 2026-02-15 is before the first production day"),
    ],
)
def test_a_sorting_that_cannot_be_is_refused_and_nothing_is_written(site, said, words):
    stock = site.stock(100).stock

    with pytest.raises(InputError, match=words):
        site.sort(stock, **{"checked": 10, **said})
    assert site.now.stocks[0].sortings == ()


def test_what_the_record_itself_refuses_is_said_too(site):
    stock = site.stock(100).stock

    with pytest.raises(RecordError, match=r"nok must not be above checked \(11 of 10\)"):
        site.sort(stock, 10, 11)
    with pytest.raises(RecordError, match=r"released must not be above the good parts \(10 of 8\)"):
        site.sort(stock, 10, 2, released=10)
    with pytest.raises(RecordError, match="nothing was done"):
        site.sort(stock, 0)


def test_a_place_that_was_taken_back_takes_no_sorting(site):
    stock = site.stock(100).stock
    take_back(site.place, site.concern, (SuspectStock,))

    with pytest.raises(InputError, match="was taken back or is not in this store"):
        site.sort(stock, 10)
    with pytest.raises(InputError, match="was taken back or is not in this store"):
        site.stock(90, stock=stock, why="counted again")


def test_days_and_stations_that_cannot_be_are_refused(site):
    site.range(made_from="2026-02-20")

    for call, words in (
        (lambda: site.range(1, made_from="2026-03-04", why="x"), "First production day: .* to come"),
        (lambda: site.range(1, made_to="2026-03-04", why="x"), "Last production day: .* to come"),
        (lambda: site.clean(made_on="2026-03-04"), "Production day: .* to come"),
        (lambda: site.clean(made_on="2026-02-15"), "Production day: 2026-02-15 is before the first"),
        (lambda: site.clean(lot="1", station="moon"), "station 'moon' is not in the checklist"),
        (lambda: site.stock(1, kind="station", station="moon"), "station 'moon' is not in the checklist"),
        (lambda: site.escape("2026-03-04"), "Found on: .* to come"),
        (lambda: site.escape("2026-02-18"), "Found on: 2026-02-18 is before the day on which the cust"),
        (lambda: site.escape(made_on="2026-03-04"), "Production day: .* to come"),
        (lambda: site.escape(escape=record_id(5)), "corrected or taken back meanwhile"),
    ):
        with pytest.raises(InputError, match=words):
            call()
    with pytest.raises(RecordError, match="must be in order"):
        site.range(1, made_from="2026-03-02", made_to="2026-03-01", why="x")


# other tablets and hostile records


def test_more_sorted_on_two_tablets_than_was_there_is_told_and_not_hidden(site):
    site.range(100)
    stock = site.stock(100).stock
    mine = site.sort(stock, 70, 2, released=68, scrapped=2)
    site.arrive(mine)

    now = site.now

    assert (now.account.total.over, now.account.total.to_sort) == (40, 0)
    assert "40 more sorted or scrapped than located" in now.missing
    assert "Stores, rack 3: 140 sorted or scrapped, but only 100 were found there." in now.warnings
    with pytest.raises(InputError, match="1 are more than the 0 left"):
        site.sort(stock, 1)


def test_sortings_of_a_place_that_is_not_here_are_told_and_not_counted(site):
    stock = site.stock(100).stock
    sorting = site.sort(stock, 30, 1, scrapped_unsorted=5)
    site.arrive(sorting, stock=record_id(777))

    now = site.now

    assert now.account.total.checked == 30
    assert any(
        w.startswith("35 parts sorted or scrapped at a place that is not recorded here: not counted")
        for w in now.warnings
    )


def test_two_records_that_claim_one_place_count_once_and_the_same_everywhere(site, tmp_path):
    mine = site.stock(100)
    theirs = site.arrive(mine, quantity=300)

    assert [one.balance.located for one in site.now.stocks] == [theirs.quantity]
    assert "1 more record of a place that is here already: not counted." in site.now.warnings
    bundle = bundle_concerns(site.place, tmp_path / "site.zip", concern=site.concern)
    other = Desk(tmp_path / "other", seed=1)
    with other.store:
        merge_bundles(other.place, [bundle.path, bundle.path])
        there = containment_of(other.place, concern_facts(other.place, site.concern))
    assert containment_to_json(there) == containment_to_json(site.now)


def test_one_place_recorded_by_two_tablets_is_asked_about(site):
    mine = site.stock(100, "Rack 3")
    site.arrive(mine, stock=record_id(778), where="rack  3")

    assert site.now.account.total.located == 200
    assert any("is recorded twice: if these are the same parts" in warning for warning in site.now.warnings)


def test_more_located_than_made_is_never_contained(site):
    contained(site)
    site.stock(1, "rack 9", "elsewhere")
    site.sort(site.now.stocks[-1].stock.stock, 1, released=1)

    assert site.now.missing == ("1 more located than were made (100)",)


def test_records_of_any_size_are_summed_without_counting_them_out(site):
    site.range(100_000_000)
    stock = site.stock(100_000_000)
    site.sort(stock.stock, 50_000_000, 25_000_000)
    for number in range(20):
        site.arrive(stock, stock=record_id(700 + number))

    assert site.now.account.total.located == 2_100_000_000
    assert containment_lines(site.now)


def test_a_range_that_leaves_out_parts_that_the_customer_reported_is_told(site):
    site.range(made_from="2026-02-17", made_to="2026-02-17")

    said = " ".join(site.now.warnings)
    assert "Parts that the customer reported were made from 2026-02-16, before the range begins" in said
    assert "Parts that the customer reported were made until 2026-02-18, after the range ends" in said


def test_a_range_shorter_than_the_onset_is_warned_of_and_never_contained(desk):
    floor = Floor(desk)
    floor.walk()
    floor.lots()
    for made_from, missing, words in (
        ("2026-02-24", False, ""),
        ("2026-02-26", False, "It may have started as early as 2026-02-24 (95 % interval)"),
        ("2026-02-27", True, "The defect most likely started by 2026-02-26"),
    ):
        record_range(desk.place, floor.facts, quantity=100, made_from=made_from, why="typed wrong")
        now = containment_of(desk.place, floor.facts)
        assert now.onset_warning.startswith(words)
        assert bool(now.onset_warning) == bool(words)
        assert ("the defect most likely started before the suspect range" in now.missing) == missing


def test_what_is_contained_by_its_figures_still_says_that_the_range_may_be_too_short(desk):
    floor = Floor(desk)
    floor.walk()
    floor.lots()
    place = desk.place
    record_range(place, floor.facts, quantity=10, made_from="2026-02-26", made_to="2026-03-01")
    stock = record_stock(place, floor.facts, kind="transit", quantity=10).stock
    record_sorting(place, floor.facts, stock, sorted_on="2026-03-02", checked=10, nok=0, released=10)
    record_clean_point(place, floor.facts, made_on="2026-03-02", checked=59, approved_by="QE-RT")

    now = containment_of(place, floor.facts)

    assert now.is_contained
    assert "Mind: It may have started as early as 2026-02-24" in now.why


def test_before_any_escape_the_days_count_from_the_report(site):
    site.range()
    assert site.now.since_escape == (
        12,
        "No escape in the 12 days since the customer reported (2026-02-19)",
    )


# what is told


def told(site):
    (summary,) = summarise(site.place)
    return list(part_lines(site.place, summary)), parts_to_json(site.place, summary)["containment"]


def test_the_summary_tells_nothing_of_containment_before_anything_is_recorded(site):
    lines, values = told(site)

    assert "Containment:" not in lines
    assert (values["made"], values["located"], values["is_contained"]) == (None, 0, False)


def test_the_summary_tells_the_balance_in_words_and_in_json_with_the_same_names(site):
    _, empty = told(site)
    site.range(made_from="2026-02-16", made_to="2026-03-01")
    stock = site.stock(4488).stock
    site.sort(stock, 1000, 45, released=940, scrapped=45)
    site.clean(lot="0302-1", made_on="2026-03-02")
    site.escape(made_on="2026-02-28", found_on="2026-03-01")

    lines, values = told(site)

    start = lines.index("Containment:")
    after_one_another = " ".join(line.strip() for line in lines[start : start + 10])
    assert after_one_another == (
        "Containment: 312 of 4,800 not accounted for 3,488 to sort, 15 waiting, 940 released, 45 scrapped; "
        "1,000 sorted, 45 NOK 45 NOK of 1,000 sorted: 3 % to 6 % (exact, two-sided 95 %) Expected among "
        "the 3,800 not sorted yet: 120 to 234 NOK (exact, two-sided 95 %), if they are like those sorted. "
        "Stores, rack 3: 4,488 found, 3,488 to sort, 15 waiting, 940 released, 45 scrapped; 1,000 sorted, "
        "45 NOK Clean point lot 0302-1, production day 2026-03-02: 59 OK parts: fewer than 6 % are "
        "affected with 95 % confidence (one-sided). 2 days since the last escape (2026-03-01) Not "
        "contained: 312 of 4,800 not accounted for; 3,488 still to sort; 15 waiting for a decision. "
        "Mind: No corrective action is recorded as done: what makes parts good from the clean point on is "
        "not known here."
    )
    assert set(values) == set(empty)
    assert (values["not_accounted_for"], values["days_since_escape"]) == (312, 2)
    assert (values["expected_nok_low95"], values["expected_nok_high95"]) == (120, 234)
    (place,) = values["places"]
    assert (place["place"], place["located"], place["to_sort"]) == ("Stores, rack 3", 4488, 3488)
    (point,) = values["clean_points"]
    assert (point["holds"], point["checked"]) == (True, 59)
    assert json.loads(json.dumps(values)) == values


def test_without_the_checklist_the_balance_is_told_all_the_same(site):
    site.range()
    site.stock(100, "", "station", station="leak-test")
    site.clean(lot="0302-1")
    site.place.checklists, site.place._streams = None, {}

    now = site.now

    assert now.facts.stream is None
    assert [one.name for one in now.stocks] == ["leak-test"]
    assert now.account.sentence == "4,700 of 4,800 not accounted for"


def test_every_kind_of_containment_is_undone_one_after_the_other(site):
    contained(site)
    site.escape()

    for left in ((4, 0), (3, 0), (2, 0), (1, 0), (0, 0)):
        take_back(site.place, site.concern, KINDS)
        standing = [r for r in site.facts.standing.current if isinstance(r, KINDS)]
        assert len(standing) == left[0]
    assert not site.now.is_begun
    assert sum(isinstance(r, Withdrawal) for r in site.desk.records) == 5


def test_records_say_what_was_recorded(site):
    stock, sorting = contained(site)
    escape = site.escape()

    (suspect,) = [r for r in site.desk.records if isinstance(r, SuspectRange)]
    assert (suspect.quantity, suspect.made_from, suspect.made_to) == (100, "2026-02-16", "2026-03-01")
    (kept,) = [r for r in site.desk.records if isinstance(r, Sorting)]
    assert (kept, kept.stock, kept.walk) == (sorting, stock, "")
    (gone,) = [r for r in site.desk.records if isinstance(r, Escape)]
    assert what_is_said(gone) == what_is_said(escape)
