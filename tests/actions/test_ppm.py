"""Which parts belong to which month, what is left out, and that it is said. The clock says 2 March 2026."""

from __future__ import annotations

import json
import math
from datetime import UTC, date, datetime

import pytest

from tests.deliverers import BOOK, STREAM, Deliverer
from tests.fakes import Desk
from walkapp.actions.concerns import correct_concern
from walkapp.actions.desk import desk_facts, desk_streams
from walkapp.actions.ppm import ppm_of
from walkapp.actions.ppm_json import ppm_to_json
from walkapp.actions.ppm_telling import lines_of, month_notes, ppm_lines, sentence_of
from walkapp.actions.reading import concern_facts
from walkapp.errors import InputError
from walkapp.model.records import Deliveries, Withdrawal


@pytest.fixture
def desk(tmp_path):
    made = Desk(tmp_path)
    with made.store:
        yield made


@pytest.fixture
def deliverer(desk):
    return Deliverer(desk)


def said(found, one):
    return " ".join(month_notes(found, one))


def test_35_of_50000_are_700_ppm(desk, deliverer):
    desk.concern(quantity=35, reported_on="2026-02-10")
    deliverer.month("2026-02", 50_000)

    found = deliverer.ppm()

    assert found.latest.rate.ppm == 700
    assert sentence_of(found) == (
        "February 2026: 700 ppm, 35 NOK of 50,000 delivered; 487.5 to 973.6 ppm, two-sided 95 %."
    )


def test_a_month_without_a_nok_part_says_at_most_so_many(deliverer):
    deliverer.month("2026-02", 50_000, nok=0)

    assert sentence_of(deliverer.ppm()) == (
        "February 2026: 0 ppm, 0 NOK of 50,000 delivered; at most 59.92 ppm, one-sided 95 %."
    )


def test_what_came_back_before_anything_was_recorded_is_not_taken_for_nothing(desk, deliverer):
    deliverer.month("2026-02", 50_000)
    before = deliverer.of("2026-02")
    desk.concern(quantity=3, reported_on="2026-01-20")

    assert (before.is_before_records, before.is_least, before.rate.upper) == (True, True, None)
    assert "so what came back is not known" in " ".join(month_notes(deliverer.ppm(), before))
    assert not deliverer.of("2026-02").is_before_records


def test_the_count_of_the_customer_is_known_from_before_anything_was_recorded(deliverer):
    deliverer.month("2026-02", 50_000, nok=0)

    assert not deliverer.of("2026-02").is_before_records
    assert deliverer.of("2026-02").rate.upper is not None


def test_without_deliveries_there_is_no_ppm_and_the_parts_are_told(desk, deliverer):
    desk.concern(quantity=35, reported_on="2026-02-10")

    found = deliverer.ppm()

    assert sentence_of(found) == "No deliveries are recorded yet, so there is no ppm."
    assert lines_of(found) == ("February 2026: 35 NOK, no deliveries recorded, so no ppm yet.",)
    assert found.latest is found.year is found.before_latest is None


def test_a_month_in_which_nothing_was_delivered_has_no_ppm(desk, deliverer):
    desk.concern(quantity=2, reported_on="2026-02-10")
    deliverer.month("2026-02", 0)

    one = deliverer.of("2026-02")

    assert one.rate.ppm is None
    assert "Nothing was delivered, so there is no ppm." in said(deliverer.ppm(), one)


def test_more_nok_parts_than_delivered_are_possible_and_said(desk, deliverer):
    desk.concern(quantity=30, reported_on="2026-02-10")
    deliverer.month("2026-02", 10)

    one = deliverer.of("2026-02")

    assert one.rate.ppm == 3_000_000
    assert "parts of earlier deliveries are among them" in said(deliverer.ppm(), one)


# Which month


def test_a_concern_belongs_to_the_month_of_its_report(desk, deliverer):
    desk.concern(quantity=3, reported_on="2025-12-31")

    assert (deliverer.of("2025-12").nok, deliverer.of("2026-03").nok) == (3, 0)


def test_without_a_day_of_report_it_belongs_to_the_month_of_its_opening_and_that_is_said(desk, deliverer):
    desk.concern(quantity=3)

    one = deliverer.of("2026-03")

    assert one.nok == 3
    assert "1 concern without a day of report, counted in the month of its opening" in said(
        deliverer.ppm(), one
    )


def test_a_correction_does_not_move_a_concern_to_the_month_of_the_correction(desk, deliverer):
    concern = desk.concern(quantity=3)
    desk.place.now = lambda: datetime(2026, 5, 4, 12, 0, tzinfo=UTC)

    correct_concern(desk.place, concern_facts(desk.place, concern), quantity=7, why="counted again")

    assert (deliverer.of("2026-03").nok, deliverer.of("2026-05").nok) == (7, 0)


def test_the_month_is_that_of_the_records_own_local_date(tmp_path):
    # 22:30 in UTC on the last day of February is already March where the tablet is.
    desk = Desk(tmp_path, starts=datetime.fromisoformat("2026-03-01T00:30:00+02:00"))
    with desk.store:
        desk.concern(quantity=3)
        assert Deliverer(desk).of("2026-03").nok == 3


# How many parts


def test_a_concern_without_a_quantity_makes_the_count_a_least_one(desk, deliverer):
    desk.concern(quantity=4, reported_on="2026-02-10")
    desk.concern(reported_on="2026-02-11")
    deliverer.month("2026-02", 50_000)

    one = deliverer.of("2026-02")

    assert (one.nok, one.is_least, one.rate.upper) == (5, True, None)
    assert math.isinf(one.rate.limits.high)
    assert "1 concern without a quantity" in said(deliverer.ppm(), one)
    assert sentence_of(deliverer.ppm()).endswith("one-sided 95 %, no upper limit.")


def test_a_concern_that_no_customer_reported_counts_as_no_part_while_its_quantity_is_not_known(
    desk, deliverer
):
    desk.concern()

    assert (deliverer.of("2026-03").nok, deliverer.of("2026-03").is_least) == (0, True)


def test_a_concern_that_was_taken_back_counts_no_more(desk, deliverer):
    concern = desk.concern(quantity=4, reported_on="2026-02-10")
    desk.place.add(Withdrawal, concern=concern, replaces=(concern,), why="opened twice")

    assert deliverer.of("2026-02").nok == 0


def test_concerns_of_other_streams_do_not_count(desk, deliverer):
    desk.concern(quantity=4, reported_on="2026-02-10", stream="pump-bracket", defect="bare-spot")

    assert deliverer.of("2026-02").nok == 0


def test_the_customers_own_count_counts_and_the_difference_is_told(desk, deliverer):
    desk.concern(reported_on="2026-02-10", quantity=4)
    deliverer.month("2026-02", 50_000, nok=6)

    one = deliverer.of("2026-02")

    assert (one.nok, one.counted_by, one.customer_nok, one.from_concerns) == (6, "customer", 6, 4)
    assert "The customer counts 6, the concerns here 4: 2 more." in said(deliverer.ppm(), one)


def test_the_customers_own_count_makes_up_for_a_quantity_that_is_not_known(desk, deliverer):
    desk.concern(reported_on="2026-02-10")
    deliverer.month("2026-02", 50_000, nok=0)

    one = deliverer.of("2026-02")

    assert (one.nok, one.is_least, one.rate.limits.sides) == (0, False, 1)
    notes = said(deliverer.ppm(), one)
    assert "1 fewer" in notes
    assert "1 concern without a quantity; the customer's own count stands for it." in notes


def test_a_concern_without_a_part_number_beside_a_customers_count_may_count_twice_and_that_is_said(
    desk, deliverer
):
    desk.concern(quantity=4, reported_on="2026-02-10")
    deliverer.month("2026-02", 10_000, nok=4, part="A")

    one = deliverer.of("2026-02")

    assert (one.nok, one.counted_by) == (8, "both")
    assert "parts may count twice" in said(deliverer.ppm(), one)


def test_a_present_month_is_not_over_and_parts_may_still_come_back(deliverer):
    deliverer.month("2026-03", 5_000)

    assert "March 2026 is not over." in lines_of(deliverer.ppm())
    assert any("may still come back" in line for line in ppm_lines(deliverer.ppm()))


def test_many_months_of_nok_parts_without_deliveries_are_summed_up(desk, deliverer):
    for month in range(1, 9):
        desk.concern(quantity=1, reported_on=f"2025-{month:02}-10")

    lines = lines_of(deliverer.ppm())

    assert len(lines) == 6
    assert lines[-1] == "3 earlier months have NOK parts and no deliveries too."


# Part numbers


def test_one_part_number_is_looked_at_alone_and_spelling_makes_no_difference(desk, deliverer):
    desk.concern(quantity=4, reported_on="2026-02-10", part_number="WFR  100")
    desk.concern(quantity=9, reported_on="2026-02-10", part_number="WFR 200")
    deliverer.month("2026-02", 10_000, part="wfr 100")
    deliverer.month("2026-02", 30_000, part="WFR 200")

    one = deliverer.of("2026-02", part_number="Wfr 100")

    assert (one.nok, one.delivered) == (4, 10_000)
    assert deliverer.ppm().part_numbers == ("WFR 100", "WFR 200")


def test_a_concern_without_a_part_number_may_be_of_the_one_that_is_looked_at(desk, deliverer):
    desk.concern(quantity=4, reported_on="2026-02-10")
    deliverer.month("2026-02", 10_000, part="WFR 100")

    found = deliverer.ppm(part_number="WFR 100")
    one = found.month(date(2026, 2, 1))

    assert (one.nok, one.is_least, len(one.unnamed)) == (0, True, 1)
    assert "1 concern without a part number not counted here" in said(found, one)


def test_part_numbers_add_up_to_all_parts(desk, deliverer):
    desk.concern(quantity=4, reported_on="2026-02-10", part_number="A")
    desk.concern(quantity=2, reported_on="2026-02-10", part_number="C")
    deliverer.month("2026-02", 10_000, part="A")
    deliverer.month("2026-02", 30_000, nok=7, part="B")

    one = deliverer.of("2026-02")

    # The customer counts those of B, the concerns give the others; C has no deliveries and is told.
    assert (one.delivered, one.nok, one.counted_by) == (40_000, 13, "both")
    notes = said(deliverer.ppm(), one)
    assert "Delivered: the sum of 2 part numbers." in notes
    assert "NOK parts of C count, but no deliveries of it are recorded." in notes


def test_a_record_of_all_parts_stands_for_those_of_the_part_numbers(deliverer):
    deliverer.month("2026-02", 10_000, nok=3, part="A")
    deliverer.month("2026-02", 50_000, nok=5)

    one = deliverer.of("2026-02")

    assert (one.delivered, one.nok) == (50_000, 5)
    assert len(one.counted) == 1


# Recorded twice


def test_the_same_month_recorded_twice_alike_counts_once(deliverer):
    deliverer.once_more("2026-02", 50_000)
    deliverer.once_more("2026-02", 50_000)

    found = deliverer.ppm()

    assert found.latest.delivered == 50_000
    assert found.at_odds == found.latest.at_odds == ()


def test_a_month_recorded_twice_with_different_numbers_is_told_and_the_newer_counts(deliverer):
    first = deliverer.once_more("2026-02", 50_000)
    deliverer.once_more("2026-02", 51_000)

    found = deliverer.ppm()

    assert found.latest.delivered == 51_000
    assert found.latest.at_odds == (first,)
    assert any("Recorded twice with different numbers: February 2026" in line for line in lines_of(found))
    assert "the newest record counts until the others are taken back" in said(found, found.latest)


def test_every_tablet_says_the_same_whatever_came_first(desk, deliverer):
    desk.concern(quantity=4, reported_on="2026-02-10")
    deliverer.once_more("2026-02", 50_000)
    deliverer.once_more("2026-02", 51_000)
    facts = deliverer.facts
    told = list(ppm_lines(ppm_of(facts, date(2026, 3, 2))))

    class Backwards:
        current = facts.standing.current[::-1]
        conflicts = ()

    turned = type(facts)(
        stream=facts.stream, known=facts.known, concerns=facts.concerns[::-1], standing=Backwards()
    )
    assert list(ppm_lines(ppm_of(turned, date(2026, 3, 2)))) == told


# Months together


def test_twelve_months_count_only_those_with_deliveries_and_name_the_others(desk, deliverer):
    for month in ("2025-10", "2025-11", "2026-01", "2026-02"):
        deliverer.month(month, 10_000)
    desk.concern(quantity=8, reported_on="2025-12-10")
    desk.concern(quantity=2, reported_on="2026-01-10")

    found = deliverer.ppm()

    assert (found.year.rate.nok, found.year.rate.delivered, found.year.known, found.year.span) == (
        2,
        40_000,
        4,
        5,
    )
    assert any(
        line.startswith("No deliveries are recorded of December 2025: that month is left out")
        for line in lines_of(found)
    )


def test_three_months_and_twelve_months_roll(deliverer):
    for place, month in enumerate(("2025-10", "2025-11", "2025-12", "2026-01", "2026-02")):
        deliverer.month(month, 1_000_000, nok=place)

    found = deliverer.ppm()

    assert [found.rolling(3, one.month).rate.ppm for one in found.months[1:]] == [3, 2, 1, 0.5, 0]
    assert found.rolling(12).rate.ppm == 2


def test_a_month_that_stands_out_from_the_months_before_is_told_with_its_p(deliverer):
    for month in ("2025-11", "2025-12", "2026-01"):
        deliverer.month(month, 50_000, nok=1)
    deliverer.month("2026-02", 50_000, nok=35)

    (told,) = [line for line in lines_of(deliverer.ppm()) if " against " in line]
    assert told.startswith(
        "February 2026 against November 2025 to January 2026, 20 ppm: the rate is higher"
    )
    assert told.endswith("(p < 0.0001, exact).")


def test_the_year_is_compared_with_the_year_before(deliverer):
    for place in range(24):
        year, month = divmod(2024 * 12 + 2 + place, 12)
        deliverer.month(f"{year}-{month + 1:02}", 10_000, nok=5 if place < 12 else 1)

    found = deliverer.ppm()

    before, compared = found.before_year
    assert (before.rate.nok, found.year.rate.nok) == (60, 12)
    assert compared.is_shown
    assert any(
        line.startswith("The twelve months against March 2024 to February 2025") for line in lines_of(found)
    )


# Targets


def test_the_target_is_the_strictest_of_the_success_factors(deliverer):
    deliverer.month("2026-02", 50_000, nok=0)
    deliverer.target("80")
    deliverer.target("60.5")
    deliverer.target("-1")
    deliverer.target("3", indicator="open-actions")

    found = deliverer.ppm()

    assert found.target == 60.5
    assert found.against().state == "shown_below"
    assert "Shown to be below the target of 60.5 ppm (at most 59.92 ppm, one-sided 95 %)." in lines_of(
        found
    )
    assert "2 success factors set a target in ppm; the strictest is taken." in lines_of(found)


def test_what_is_not_shown_says_what_would_show_it(deliverer):
    deliverer.month("2026-02", 50_000, nok=0)

    assert any(
        "9,915 more parts without a NOK one would show it" in line for line in lines_of(deliverer.ppm(), 50)
    )


# Bounds


def test_months_of_the_first_and_the_last_year_are_told_and_left_out(deliverer):
    deliverer.month("2026-02", 50_000)
    for month in ("0001-01-01", "9999-12-01"):
        deliverer.add(Deliveries, month=month, delivered=5)

    found = deliverer.ppm()

    assert len(found.months) == 24
    assert (found.earlier, found.later) == (1, 1)
    assert found.year.rate.delivered == 50_000
    told = " ".join(lines_of(found))
    assert "1 month later than today by this tablet's clock is left out." in told
    assert "1 month before April 2024 is not shown" in told
    assert found.month(date(1, 1, 1)).delivered == 5
    assert found.rolling(12, date(1, 1, 1)).known == 1
    assert list(ppm_lines(found))


@pytest.mark.parametrize("now", ["0001-01-31T12:00:00Z", "9999-12-30T12:00:00Z"])
def test_a_tablet_whose_clock_is_wrong_by_ages_says_what_it_leaves_out(deliverer, now):
    deliverer.month("2026-02", 50_000)

    found = ppm_of(deliverer.facts, datetime.fromisoformat(now).date())

    assert found.earlier + found.later == 1
    assert sentence_of(found) == "No deliveries are recorded yet, so there is no ppm."
    json.dumps(ppm_to_json(found), allow_nan=False)


def test_hundreds_of_months_and_huge_numbers_are_told_in_bounds(deliverer):
    for place in range(300):
        year, month = divmod(2001 * 12 + place, 12)
        deliverer.add(Deliveries, month=f"{year}-{month + 1:02}-01", delivered=10**9, customer_nok=10**9)

    found = deliverer.ppm(months=13)

    assert len(found.months) == 13
    assert found.earlier > 200
    json.dumps(ppm_to_json(found), allow_nan=False)
    assert all(len(line) < 400 for line in ppm_lines(found))


def test_json_has_the_same_names_whatever_is_recorded(desk, deliverer):
    def names(value):
        if isinstance(value, dict):
            return {
                key: names(inner) for key, inner in value.items() if key not in ("limits", "lower", "upper")
            }
        return None

    desk.concern()
    empty = ppm_to_json(deliverer.ppm())
    desk.concern(quantity=35, reported_on="2026-02-10")
    deliverer.month("2026-02", 50_000)
    full = ppm_to_json(deliverer.ppm(), 100)

    assert empty.keys() == full.keys()
    assert names(empty["months"][0]).keys() == names(full["months"][1]).keys()
    assert full["year"]["limits"] == {
        "low": pytest.approx(487.576, abs=1e-3), "high": pytest.approx(973.531, abs=1e-3),
        "confidence": 0.95, "sides": 2,
    }  # fmt: skip
    assert full["against_target"]["state"] == "shown_above"


# Streams and cautions


def test_a_stream_without_concern_or_checklist_is_found_by_its_deliveries(desk, deliverer):
    deliverer.month("2026-02", 50_000)
    desk.place.checklists = None
    desk.place._streams = {}

    assert desk_streams(desk.place) == (STREAM,)
    assert desk_facts(desk.place, STREAM).name == STREAM


def test_a_stream_of_which_nothing_is_here_is_refused(desk):
    with pytest.raises(InputError, match="There is nothing of a value stream 'no-such'"):
        desk_facts(desk.place, "no-such")


def test_a_safety_concern_that_nobody_was_told_of_is_said(desk, deliverer):
    desk.concern(quantity=1, severity="safety")

    assert any("nobody has recorded who was told" in line for line in ppm_lines(deliverer.ppm()))


def test_what_would_be_recorded_is_worked_out_as_if_it_were(desk, deliverer):
    desk.concern(quantity=4, reported_on="2026-02-10", part_number="A")
    deliverer.month("2026-02", 10_000, nok=3, part="B")
    supposed = deliverer.ppm().supposing(date(2026, 2, 1), 50_000)

    deliverer.month("2026-02", 50_000)

    recorded = deliverer.of("2026-02")
    assert (supposed.nok, supposed.delivered, supposed.rate) == (recorded.nok, 50_000, recorded.rate)
    assert all(r.concern == BOOK for r in recorded.deliveries)
