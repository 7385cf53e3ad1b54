"""The pages of success factors: where taps lead, what is shown, and what is on disk."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest

from tests.auditors import Auditor
from tests.desks import STREAM, StreamDesk
from tests.fakes import Desk
from tests.sites import Site
from walkapp.actions.action_records import open_action
from walkapp.actions.indicators.factors import correct_factor, factors_of
from walkapp.actions.indicators.offers import START
from walkapp.analysis.indicators.fixed_set import INDICATORS
from walkapp.model.ids import desk_book_id
from walkapp.model.records import SuccessFactor
from walkapp.presenters.pages import page_class
from walkapp.presenters.route import Route

NOON = datetime(2026, 3, 11, 12, 0, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture
def stream(tmp_path):
    made = Desk(tmp_path, starts=NOON)
    with made.store:
        yield StreamDesk(made)


def years_ago(stream):
    """Let the records begin long ago, so that they tell of all days since."""
    stream.go_to("2024-01-01")
    stream.desk.concern()
    stream.go_to("2026-03-11")


def opened(of, screen="indicators", **more):
    """Open a page as the app does, by its route."""
    route = screen if isinstance(screen, Route) else Route(screen=screen, **more)
    page = page_class(route.screen)(of.desk.session, route)
    page.open()
    assert page.state.problem == ""
    return page


def rows_of(page, section):
    return next((one.rows for one in page.state.sections if one.name == section), ())


def words_of(page, section):
    return next((one.words for one in page.state.sections if one.name == section), "")


def followed(stream):
    """Open the page that the last tap led to."""
    return opened(stream, stream.desk.routes[-1])


# The board.


def test_the_desk_leads_to_the_indicators(stream):
    page = opened(stream, "desk")

    page.row("desk", "indicators")

    assert followed(stream).state.title == "Indicators"


def test_without_any_stream_the_board_says_what_to_do(stream):
    stream.place.checklists = None

    assert "No value stream is here yet" in opened(stream).state.sentence


def test_while_nothing_is_stated_a_set_is_offered_and_nothing_is_on_disk(stream):
    page = opened(stream, stream=STREAM)

    assert [row.id for row in rows_of(page, "offered")] == [offer.indicator for offer in START]
    assert "common practice, no source" in words_of(page, "offered")
    assert stream.desk.records == []

    page.press("start")

    assert page.state.saved == f"{len(START)} success factors stated"
    assert len(factors_of(stream.facts)) == len(START)
    assert rows_of(page, "offered") == ()


def test_an_offer_that_is_tapped_opens_its_form_filled_in_and_nothing_is_on_disk(stream):
    opened(stream, stream=STREAM).row("offered", "audits-done")

    form = followed(stream)
    values = {field.name: field.value for field in form.state.fields}
    assert values["target"] == "95"
    assert values["factor"] == "Fixes last, because we go and look"
    assert stream.desk.records == []

    form.back()
    assert stream.desk.routes[-1].screen == "indicators"


def test_the_board_opens_with_the_stream_that_has_something(stream):
    assert opened(stream).state.chosen == "pump-bracket"

    stream.desk.concern()
    assert opened(stream).state.chosen == STREAM

    StreamDesk(stream.desk, "pump-bracket").state("ppm")
    assert opened(stream).state.chosen == "pump-bracket"


def test_another_stream_is_chosen_by_a_tap_and_stays_chosen(stream):
    page = opened(stream)
    assert page.state.choices == (
        ("pump-bracket", "Pump bracket"), ("washer-reservoir", "Washer-fluid reservoir"),
    )  # fmt: skip

    page.choose("washer-reservoir")

    assert followed(stream).state.subtitle == "Washer-fluid reservoir, 2026-03-11"


def test_a_row_says_shape_word_value_target_and_what_to_do(stream):
    years_ago(stream)
    Site(stream.desk, reported_on="2026-02-20")
    stream.state("days-since-escape")

    (row,) = rows_of(opened(stream, stream=STREAM), "factors")

    assert (row.mark, row.title) == ("bad", "Off target: No bad part gets past us")
    assert row.subtitle == (
        "Days since the last escape or report: 19 days (the last on 2026-02-20), target at least 90 "
        "days, too few to tell a trend (0 reports in the 26 weeks before the last 26); now: Check the "
        "containment at the last station before dispatch, every shift, until it holds (SL)."
    )


def test_every_state_has_its_own_shape(stream):
    years_ago(stream)
    Site(stream.desk, reported_on="2026-02-20")
    first = stream.state("days-since-escape", "90")
    stream.state("days-since-escape", "9")
    stream.state("ppm")
    auditor = Auditor(stream.desk)
    auditor.audit(auditor.slot("supervisor", "2026-03-09"))
    stream.state("audit-conformity", "90")
    stream.arrive(first, indicator="energy-per-part")

    marks = [row.mark for row in rows_of(opened(stream, stream=STREAM), "factors")]

    assert marks == ["bad", "caution", "undecided", "not_visited", "clean"]


def test_a_safety_class_concern_is_said_on_top(stream):
    stream.desk.concern(severity="safety")

    assert "it is not recorded who was told" in opened(stream, stream=STREAM).state.cautions[0]


def test_undo_takes_back_what_this_tablet_stated_last(stream):
    page = opened(stream, stream=STREAM)
    page.press("start")
    assert page.state.undo == "a success factor"

    page.undo()

    assert page.state.saved == "Taken back"
    assert len(factors_of(stream.facts)) == len(START) - 1


def test_of_very_many_factors_the_first_are_shown_and_that_is_said(stream):
    for number in range(45):
        stream.state("ppm", factor=f"Factor {number}")

    page = opened(stream, stream=STREAM)

    assert len(rows_of(page, "factors")) == 40
    assert words_of(page, "factors") == "5 more factors: 'walkapp indicators' tells all."


def test_entries_that_disagree_are_one_tap_away(stream):
    first = stream.state("audits-done", "95")
    mine = correct_factor(stream.place, stream.facts, first.id, target="90", why="x")
    stream.arrive(mine, target="99")
    page = opened(stream, stream=STREAM)

    page.row("disagree", rows_of(page, "disagree")[0].id)

    disputes = followed(stream)
    assert stream.desk.routes[-1].concern == desk_book_id(STREAM)
    assert disputes.state.disputes


# One factor.


def test_what_is_behind_a_factor_is_one_tap_from_it_and_back_leads_to_it_again(stream):
    site = Site(stream.desk, reported_on="2026-02-20")
    action = open_action(
        stream.place, site.facts, aim="corrective", what="Soft pads", owner="ME", due_on="2026-03-01"
    ).action
    factor = stream.state("overdue-actions")
    opened(stream, stream=STREAM).row("factors", factor.id)
    page = followed(stream)
    (row,) = rows_of(page, "behind")
    assert (row.title, row.subtitle) == ("Soft pads", "Action, due 2026-03-01")

    page.row("behind", row.id)

    went = stream.desk.routes[-1]
    assert (went.screen, went.concern, went.entry) == ("action", site.concern, action)
    followed(stream).back()
    assert followed(stream).state.sentence == "Off target: What was promised is done."
    followed(stream).back()
    assert followed(stream).state.title == "Indicators"


@pytest.mark.parametrize(
    ("indicator", "screen"),
    [
        ("days-to-contain", "containment"), ("days-to-origin", "answer"), ("days-to-fix", "actions"),
        ("days-since-escape", "concern"), ("safety-untold", "concern"),
    ],
)  # fmt: skip
def test_a_concern_behind_a_factor_opens_at_the_page_that_matters(stream, indicator, screen):
    site = Site(stream.desk, reported_on="2026-02-20", severity="safety")
    page = opened(stream, "factor", stream=STREAM, layer=stream.state(indicator).id)

    page.row("behind", "0")

    assert (stream.desk.routes[-1].screen, stream.desk.routes[-1].concern) == (screen, site.concern)
    assert followed(stream).state


def test_audits_and_deliveries_are_behind_their_factors(stream):
    auditor = Auditor(stream.desk)
    auditor.audit(auditor.slot("supervisor", "2026-03-09"))
    stream.deliver("2026-02-01", 1000)
    for indicator, screen in (("audits-done", "audit_results"), ("ppm", "ppm")):
        page = opened(stream, "factor", stream=STREAM, layer=stream.state(indicator).id)

        page.row("behind", "0")

        assert (stream.desk.routes[-1].screen, stream.desk.routes[-1].stream) == (screen, STREAM)
        assert followed(stream).state


def test_a_factor_tells_its_rule_what_it_does_not_know_and_its_months(stream):
    Site(stream.desk, reported_on="2026-02-20")
    page = opened(stream, "factor", stream=STREAM, layer=stream.state("days-to-contain").id)

    rule = words_of(page, "rules")
    assert INDICATORS["days-to-contain"].counts in rule
    assert "It does not know: While some are open the median is an estimate" in rule
    assert words_of(page, "months") == "• 2026-02: at least 19 days (1 concern, 1 still open)"


def test_a_factor_is_looked_at_over_time_and_back_leads_to_it_again(stream):
    Site(stream.desk, reported_on="2026-02-20")
    page = opened(stream, "factor", stream=STREAM, layer=stream.state("days-to-contain").id)

    page.press("figure")

    figure = followed(stream)
    assert figure.state.sentence == "Days from report to contained, month by month: Washer-fluid reservoir"
    figure.back()
    assert followed(stream).state.title == "Days from report to contained"


def test_a_factor_that_cannot_be_read_says_so_and_can_only_be_taken_back(stream):
    came = stream.arrive(stream.state("ppm"), indicator="energy-per-part")

    page = opened(stream, "factor", stream=STREAM, layer=came.id)

    assert page.state.mark == "caution"
    assert [(button.name, button.is_off) for button in page.state.buttons] == [
        ("figure", True),
        ("correct_factor", True), ("drop_factor", False),
    ]  # fmt: skip


def test_undo_on_a_factors_page_takes_back_its_own_entries_alone(stream):
    other, factor = stream.state("ppm"), stream.state("audits-done", "95")
    correct_factor(stream.place, stream.facts, other.id, target="10", why="x")
    correct_factor(stream.place, stream.facts, factor.id, target="90", why="x")
    page = opened(stream, "factor", stream=STREAM, layer=factor.id)
    assert page.state.undo == "a correction"

    page.undo()

    assert "target at least 95 %" in page.state.lines[0]
    assert {one.target for one in factors_of(stream.facts)} == {"10", "95"}


def test_undo_of_all_there_is_of_a_factor_leads_back_to_the_board(stream):
    factor = stream.state("audits-done", "95")
    page = opened(stream, "factor", stream=STREAM, layer=factor.id)

    page.undo()

    assert factors_of(stream.facts) == ()
    assert "No success factor is stated yet" in followed(stream).state.sentence


# The forms.


def test_an_indicator_is_chosen_by_its_question_and_present_value(stream):
    years_ago(stream)
    Site(stream.desk, reported_on="2026-02-20")
    stream.state("ppm")
    page = opened(stream, "choose_indicator", stream=STREAM)
    rows = {row.id: row for row in rows_of(page, "indicators")}
    assert set(rows) == set(INDICATORS)
    assert rows["ppm"].title == "Customer PPM (watches a factor already)"
    assert rows["days-since-escape"].subtitle == (
        "For how many days has no bad part got past us, as far as we know? Now 19 days (the last on "
        "2026-02-20)."
    )

    page.row("indicators", "days-since-escape")

    assert stream.desk.routes[-1].check == "days-since-escape"
    assert followed(stream).state.title == "Success factor"


def test_a_factor_is_stated_with_a_form_that_says_what_its_target_means_today(stream):
    years_ago(stream)
    Site(stream.desk, reported_on="2026-02-20")
    form = opened(stream, "new_factor", stream=STREAM, check="days-since-escape")
    assert form.state.advice == ("At least 90 days: today that is off target.",)

    form.fill("target", "10")
    assert form.state.advice == ("At least 10 days: today that is on target.",)
    form.fill("factor", "Good parts only")
    form.fill("owner", "QE")
    form.record()

    (made,) = [r for r in stream.desk.records if isinstance(r, SuccessFactor)]
    assert (made.factor, made.indicator, made.target, made.owner) == (
        "Good parts only", "days-since-escape", "10", "QE",
    )  # fmt: skip
    assert stream.desk.routes[-1].screen == "indicators"
    assert followed(stream).state.sentence == "Of 1: 1 on target."


def test_a_target_that_makes_no_sense_is_said_in_the_form_and_nothing_is_lost(stream):
    form = opened(stream, "new_factor", stream=STREAM, check="audits-done")
    form.fill("target", "500")
    assert form.state.advice == ()

    form.record()

    assert "can only be 0 to 100 %" in form.state.problem
    assert stream.desk.records == []
    again = opened(stream, "new_factor", stream=STREAM, check="audits-done")
    assert next(f.value for f in again.state.fields if f.name == "target") == "500"


def test_a_factor_is_corrected_with_a_reason_and_the_page_shows_it(stream):
    factor = stream.state("audits-done", "95")
    opened(stream, "factor", stream=STREAM, layer=factor.id).press("correct_factor")
    form = followed(stream)
    form.fill("target", "90")
    form.record()
    assert form.state.problem == "Still needed: Why it is corrected."

    form.fill("why", "a target that can be reached")
    form.record()

    (now,) = factors_of(stream.facts)
    assert (now.target, now.why) == ("90", "a target that can be reached")
    assert "target at least 90 %" in followed(stream).state.lines[0]
    followed(stream).back()
    assert stream.desk.routes[-1].screen == "indicators"


def test_back_from_a_form_about_a_factor_leads_to_the_factor(stream):
    factor = stream.state("audits-done", "95")
    for button in ("correct_factor", "drop_factor"):
        opened(stream, "factor", stream=STREAM, layer=factor.id).press(button)

        followed(stream).back()

        assert followed(stream).state.title == "Audits done in time"


def test_a_factor_is_taken_back_with_a_reason_and_undo_brings_it_back(stream):
    factor = stream.state("audits-done", "95")
    form = opened(stream, "drop_factor", stream=STREAM, layer=factor.id)
    form.fill("why", "stated twice")
    form.record()
    assert factors_of(stream.facts) == ()

    board = followed(stream)
    assert board.state.undo == "what was taken back"
    board.undo()

    assert [one.factor for one in factors_of(stream.facts)] == [factor.factor]


@pytest.mark.parametrize("screen", ["factor", "correct_factor", "drop_factor"])
def test_a_factor_that_is_gone_is_said_and_nothing_can_be_recorded(stream, screen):
    route = Route(screen=screen, stream=STREAM, layer="no such")
    page = page_class(screen)(stream.desk.session, route)

    page.open()

    stream.desk.concern()
    page.open()
    assert "not here any more" in page.state.problem
