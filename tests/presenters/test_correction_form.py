"""The form that corrects the facts of a concern, and the days in the one that opens it."""

from __future__ import annotations

from walkapp.actions.concerns import correct_concern
from walkapp.actions.reading import concern_facts
from walkapp.model.records import Concern
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.concern_forms import NewConcernForm
from walkapp.presenters.correction import CorrectConcernForm
from walkapp.presenters.route import Route

FULL = {
    "what": "Cracked mounting ears (invented)",
    "how_to_judge": "Bend it (invented)",
    "part_name": "Reservoir",
    "part_number": "WR-1",
    "customer_reference": "C-4711",
    "quantity": 35,
    "reported_on": "2026-03-02",
    "made_from": "2026-02-20",
    "made_to": "2026-02-27",
    "lots": "0225-1",
    "share_low": "0.05",
    "share_high": "0.250",
}


def opened(kind, desk, route, **filled):
    page = kind(desk.session, route)
    page.open()
    for name, value in filled.items():
        page.fill(name, value)
    return page


def correcting(desk, concern, **filled):
    return opened(CorrectConcernForm, desk, Route(screen="correct_concern", concern=concern), **filled)


def values(page):
    return {field.name: field.value for field in page.state.fields}


def concerns(desk):
    return [r for r in desk.records if isinstance(r, Concern)]


def test_the_form_is_filled_with_what_holds_and_says_what_cannot_be_changed(desk):
    page = correcting(desk, desk.concern(**FULL))

    assert values(page) == {
        **{name: str(value) for name, value in FULL.items()},
        "severity": "function",
        "share_low": "5",
        "share_high": "25",
        "why": "",
    }
    (caution,) = page.state.cautions
    assert caution.startswith("Value stream and defect stay: Washer-fluid reservoir, Whitened or cracked")


def test_a_correction_asks_why_and_leads_back_to_the_concern_that_shows_it(desk):
    concern = desk.concern(**FULL)
    page = correcting(desk, concern, quantity="41")
    page.record()
    assert page.state.problem == "Still needed: Why is it corrected?."
    page.fill("why", "counted again")

    page.record()

    assert desk.routes == [Route(screen="concern", concern=concern)]
    first, made = concerns(desk)
    assert (made.quantity, made.why, made.replaces) == (41, "counted again", (first.id,))
    assert (made.share_high, made.made_to, made.stream) == ("0.250", "2026-02-27", first.stream)
    shown = opened(ConcernPage, desk, Route(screen="concern", concern=concern)).state
    assert shown.facts == (
        "Severity class: Fit or function",
        "Part: Reservoir WR-1",
        "Customer reference: C-4711",
        "Parts reported: 41",
        "Reported on: 2026-03-02",
        "Made: from 2026-02-20 to 2026-02-27",
        "Lots: 0225-1",
        "Affected parts expected: at least 5 % and at most 25 %",
        "Value stream: Washer-fluid reservoir",
        "Last corrected: 2026-03-03 06:20 by QE-RT: counted again",
    )
    assert [row.id for row in shown.to_correction] == ["correct_concern"]


def test_a_fact_can_be_taken_out_again(desk):
    concern = desk.concern(**FULL)
    correcting(desk, concern, quantity="", share_high="", made_to="", why="not known after all").record()

    made = concern_facts(desk.place, concern).concern
    assert (made.quantity, made.share_high, made.made_to, made.lots) == (None, "", "", "0225-1")


def test_nothing_changed_is_said_and_nothing_is_recorded(desk):
    page = correcting(desk, desk.concern(**FULL), why="just so")

    page.record()

    assert page.state.problem == "Nothing was changed, so nothing was recorded."
    assert len(concerns(desk)) == 1
    assert values(page)["why"] == "just so"


def test_days_out_of_order_or_to_come_are_said_by_the_label_and_the_draft_stays(desk):
    concern = desk.concern(**FULL)
    page = correcting(desk, concern, made_to="2026-02-10", why="label")

    page.record()
    assert page.state.problem.startswith(
        "Last production day: 2026-02-10 is before the first production day (2026-02-20)"
    )
    page.fill("made_to", "soon")
    page.record()

    assert page.state.problem.startswith("Last production day: ")
    assert len(concerns(desk)) == 1
    assert values(correcting(desk, concern))["made_to"] == "soon"


def test_a_half_filled_correction_does_not_undo_what_was_corrected_since(desk):
    concern = desk.concern(**FULL)
    correcting(desk, concern, quantity="41")
    correct_concern(desk.place, concern_facts(desk.place, concern), why="label", lots="0226-2")

    again = correcting(desk, concern)

    assert (values(again)["lots"], values(again)["quantity"]) == ("0226-2", "35")


def test_a_correction_made_while_the_form_is_open_is_not_overwritten_but_disagrees(desk):
    concern = desk.concern(**FULL)
    page = correcting(desk, concern, quantity="41", why="counted again")
    correct_concern(desk.place, concern_facts(desk.place, concern), why="label", quantity=350)

    page.record()

    facts = concern_facts(desk.place, concern)
    assert [sorted(head.quantity for head in conflict.heads) for conflict in facts.conflicts] == [[41, 350]]
    shown = opened(ConcernPage, desk, Route(screen="concern", concern=concern)).state
    assert [row.id for row in shown.disputes] == ["disputes"]


def test_the_form_of_a_new_concern_asks_for_the_production_days(desk):
    filled = {
        "stream": "washer-reservoir",
        "defect": "leak",
        "severity": "function",
        "made_from": "2026-02-20",
        "made_to": "2026-03-04",
    }
    page = opened(NewConcernForm, desk, Route(screen="new_concern"), **filled)
    page.record()
    assert page.state.problem.startswith("Last production day: 2026-03-04 is still to come")
    page.fill("made_to", "2026-02-27")

    page.record()

    (concern,) = concerns(desk)
    assert (concern.made_from, concern.made_to) == ("2026-02-20", "2026-02-27")


def test_shares_below_one_percent_can_be_said(desk):
    concern = desk.concern()
    correcting(desk, concern, share_low="0.5", share_high="12.5", why="customer's count").record()

    made = concern_facts(desk.place, concern).concern
    assert (made.share_low, made.share_high) == ("0.005", "0.125")


def test_a_concern_that_is_not_there_is_said_in_a_sentence(desk):
    assert correcting(desk, "not-there").state.problem.startswith("There is no concern 'not-there'")
