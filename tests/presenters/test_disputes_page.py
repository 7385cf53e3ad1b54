"""The page of entries that disagree, and the form on which a person decides."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.quarrels import Quarrel
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.disputes import (
    CHOOSE_WHAT_YOU_KNOW,
    COUNTS,
    COUNTS_NOT,
    HINT,
    NO_DISPUTES,
    REASONS,
    DisputesPage,
    SettleForm,
)
from walkapp.presenters.route import Route


@pytest.fixture
def quarrel(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield Quarrel(desk)


def opened(page_class, quarrel, screen, **more):
    page = page_class(quarrel.desk.session, Route(screen=screen, concern=quarrel.concern, **more))
    page.open()
    return page


def test_the_concern_leads_to_its_entries_that_disagree(quarrel):
    page = opened(ConcernPage, quarrel, "concern")
    (row,) = page.state.disputes
    assert row.title == "1 entry disagrees with another"

    page.to_disputes()

    assert quarrel.desk.routes == [Route(screen="disputes", concern=quarrel.concern)]


def test_a_concern_without_any_shows_no_row(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        page = ConcernPage(desk.session, Route(screen="concern", concern=desk.concern()))
        page.open()
    assert page.state.disputes == ()


def test_all_values_stand_side_by_side_with_shape_and_word(quarrel):
    state = opened(DisputesPage, quarrel, "disputes").state

    (dispute,) = state.disputes
    assert state.hint == HINT
    assert dispute.about == "Answers, Leak test, Mounting ear: look and touch"
    assert [(side.word, side.mark) for side in dispute.sides] == [(COUNTS_NOT, "open"), (COUNTS, "chosen")]
    assert dispute.sides[0].value.startswith("OK")
    assert dispute.sides[1].source.endswith("SL-KB")


def test_a_person_decides_by_one_tap_and_a_reason(quarrel):
    page = opened(DisputesPage, quarrel, "disputes")
    page.decide(page.state.disputes[0].key)
    form = SettleForm(quarrel.desk.session, quarrel.desk.routes[-1])
    form.open()
    (caution,) = form.state.cautions
    assert caution == f"Answers, Leak test, Mounting ear: look and touch: {CHOOSE_WHAT_YOU_KNOW}"

    form.fill("side", "1")
    form.fill("common", REASONS[0])
    form.record()

    (made,) = (r for r in quarrel.desk.records if r.why == f"settled: {REASONS[0]}")
    assert made.answer == "ok"
    assert quarrel.desk.routes[-1] == Route(screen="disputes", concern=quarrel.concern)
    page.open()
    assert (page.state.disputes, page.state.hint) == ((), NO_DISPUTES)


def test_a_decision_without_a_reason_says_what_is_missing(quarrel):
    page = opened(DisputesPage, quarrel, "disputes")
    form = opened(SettleForm, quarrel, "settle", entry=page.state.disputes[0].key)
    form.fill("side", "1")

    form.record()

    assert form.state.problem == "Still needed: Or in your own words."


def test_a_form_for_what_was_settled_already_says_so(quarrel):
    form = opened(SettleForm, quarrel, "settle", entry=quarrel.first.id)

    assert form.state.problem == "These entries no longer disagree; go back to see what is left."


def test_a_decision_on_entries_that_changed_meanwhile_is_refused(quarrel):
    page = opened(DisputesPage, quarrel, "disputes")
    form = opened(SettleForm, quarrel, "settle", entry=page.state.disputes[0].key)
    quarrel.arrive(replace(quarrel.mine, answer="not_ok"), 3)
    form.fill("side", "1")
    form.fill("common", REASONS[0])

    form.record()

    assert form.state.problem.startswith("These entries have changed since the page was opened")


def test_what_this_version_cannot_settle_is_shown_without_a_way_to_decide(quarrel):
    start = next(r for r in quarrel.desk.records if r.kind == "walk_start")
    quarrel.desk.store.merge([replace(start, by="SL-KB")], name="t", photos={}, checklists={})

    disputes = opened(DisputesPage, quarrel, "disputes").state.disputes

    blocked = next(d for d in disputes if d.about == "Walks")
    assert (blocked.key, bool(blocked.trouble)) == ("", True)
