"""Who was told of a safety-class concern, and when: the caution, the form and the list."""

from __future__ import annotations

from dataclasses import replace

import pytest

from walkapp.actions.reading import concern_facts
from walkapp.actions.walking import Walking, record_escalation
from walkapp.model.records import Escalation
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.escalation import EscalationForm, ToldPage
from walkapp.presenters.route import Route
from walkapp.presenters.station import StationPage


def opened(kind, desk, route, **filled):
    page = kind(desk.session, route)
    page.open()
    for name, value in filled.items():
        page.fill(name, value)
    return page


def told(desk):
    return [r for r in desk.records if isinstance(r, Escalation)]


def form(desk, concern, **filled):
    return opened(EscalationForm, desk, Route(screen="escalation", concern=concern), **filled)


def names(page):
    return [field.name for field in page.state.fields]


def test_just_now_is_one_field_and_one_tap(desk):
    concern = desk.concern(severity="safety")
    page = form(desk, concern, told="quality lead")
    assert names(page) == ["told", "when"]

    page.record()

    (entry,) = told(desk)
    assert (entry.told, entry.told_at[:16], entry.told_at[-6:]) == (
        "quality lead",
        "2026-03-03T06:20",
        "+01:00",
    )
    assert desk.routes == [Route(screen="concern", concern=concern)]


def test_an_earlier_time_is_asked_for_only_when_it_was_earlier(desk):
    page = form(desk, desk.concern(severity="safety"), told="plant manager", when="earlier")
    assert names(page) == ["told", "when", "day", "time"]

    page.record()
    assert page.state.problem == "Still needed: Day, Time."
    page.fill("day", "2026-03-02")
    page.fill("time", "14:05")
    page.record()

    assert [r.told_at for r in told(desk)] == ["2026-03-02T14:05:00+01:00"]


def test_a_time_to_come_is_refused_and_what_was_typed_stays(desk):
    concern = desk.concern(severity="safety")
    typed = {"told": "plant manager", "when": "earlier", "day": "2026-03-03", "time": "23:00"}
    page = form(desk, concern, **typed)

    page.record()

    assert page.state.problem.startswith("Told at: 2026-03-03 23:00 is still to come")
    assert told(desk) == []
    assert {f.name: f.value for f in form(desk, concern).state.fields} == typed


def test_going_back_to_just_now_leaves_out_the_time_that_was_typed(desk):
    page = form(
        desk, desk.concern(severity="safety"), told="lead", when="earlier", day="2026-03-02", time="9"
    )
    page.fill("when", "now")

    page.record()

    assert [r.told_at[:10] for r in told(desk)] == ["2026-03-03"]


def test_everybody_who_was_told_stands_on_the_page_of_the_concern_the_first_one_first(desk):
    concern = desk.concern(severity="safety")
    record_escalation(desk.place, concern, "quality lead")
    record_escalation(desk.place, concern, "plant manager", day="2026-03-02", time="14:05")

    page = opened(ConcernPage, desk, Route(screen="concern", concern=concern))

    assert page.state.escalation == "Told: plant manager, 2026-03-02 14:05; quality lead, 2026-03-03 06:20."
    assert not page.state.must_escalate
    page.to_part(page.state.to_escalation[0].id)
    assert desk.routes == [Route(screen="told", concern=concern)]


def test_the_list_takes_back_the_newest_entry_and_the_caution_returns_with_the_last(desk):
    route = Route(screen="told", concern=desk.concern(severity="safety"))
    record_escalation(desk.place, route.concern, "quality lead")
    record_escalation(desk.place, route.concern, "plant manager")
    page = opened(ToldPage, desk, route)
    assert [row.title for row in page.state.sections[0].rows] == ["quality lead", "plant manager"]
    assert page.state.undo == "told: plant manager"

    page.undo()
    assert not concern_facts(desk.place, route.concern).needs_escalation
    page.undo()

    assert (page.state.sentence, page.state.mark) == ("Nobody was told yet", "undecided")
    assert page.state.cautions[0].startswith("Safety or regulatory class: stop the flow")
    assert concern_facts(desk.place, route.concern).needs_escalation


def test_of_very_many_entries_a_few_are_named_and_the_rest_counted(desk):
    concern = desk.concern(severity="safety")
    said = {"concern": concern, "told_at": "2026-03-03T06:20:00+01:00"}
    desk.place.add_all([(Escalation, {**said, "told": f"role {n}"}) for n in range(60)])

    page = opened(ConcernPage, desk, Route(screen="concern", concern=concern))
    listed = opened(ToldPage, desk, Route(screen="told", concern=concern)).state.sections[0]

    assert page.state.escalation.endswith("; role 4, 2026-03-03 06:20; and 55 more.")
    assert (listed.words, len(listed.rows), listed.rows[-1].title) == ("The last 50 of 60", 50, "role 59")


def test_the_list_leads_to_the_form_and_back(desk):
    route = Route(screen="told", concern=desk.concern(severity="safety"))
    opened(ToldPage, desk, route).press("escalation")

    opened(EscalationForm, desk, desk.routes[-1], told="quality lead").record()

    assert desk.routes[-1] == route


@pytest.mark.parametrize("station", ["moulding", "welding", "leak-test", "dock"])
@pytest.mark.parametrize("are_read", [False, True])
def test_every_station_shows_the_caution_until_somebody_was_told(desk, station, are_read):
    route = replace(desk.walk(severity="safety"), station=station)
    if are_read:
        Walking(desk.place, route.concern, route.walk).confirm_hazards(station)
    page = opened(StationPage, desk, route)
    (row,) = page.state.escalation
    assert (row.title, row.mark) == ("Caution: safety class, and nobody was told yet", "caution")

    page.escalate()
    opened(EscalationForm, desk, desk.routes[-1], told="quality lead").record()
    assert desk.routes[-1] == route
    page.open()

    assert page.state.escalation == ()


def test_stations_of_other_classes_show_no_caution(desk):
    assert opened(StationPage, desk, desk.walk()).state.escalation == ()


def test_the_caution_returns_at_the_station_when_the_entry_was_a_mistake(desk):
    route = desk.walk(severity="safety")
    record_escalation(desk.place, route.concern, "quality lead")
    opened(ToldPage, desk, Route(screen="told", concern=route.concern)).undo()

    assert len(opened(StationPage, desk, route).state.escalation) == 1
