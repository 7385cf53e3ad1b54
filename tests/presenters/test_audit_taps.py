"""Whatever is tapped in whichever order, the page of a question says what is on disk and nothing else."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.presenters.test_audit_pages import Floor, fill
from walkapp.actions.audits.doing import newest_of, undo_newest
from walkapp.model.records import AuditStart
from walkapp.presenters.audits.question import AuditPage

TAPS = ("ok", "ok", "not_ok", "not_applicable", "next", "previous", "undo", "read", "back")


def tap(floor, what):
    """Tap on the page of a question; whatever page that leads to is filled in or left at once."""
    page, before = floor.page, len(floor.desk.routes)
    match what:
        case "next" | "previous":
            page.step(1 if what == "next" else -1)
        case "undo" if not isinstance(newest_of(floor.place, floor.facts()), AuditStart):
            page.undo()
        case "undo":
            return  # that it was begun would be taken back, and there were no page any more
        case "read":
            page.confirm_cautions()
        case "back":
            page.to_list()
        case _:
            page.answer(what)
    if len(floor.desk.routes) == before:
        return
    match floor.follow().route.screen:
        case "reaction":
            fill(floor.page, reaction="corrected", what="Replaced").record()
            floor.follow()
        case "audit_na":
            fill(floor.page, reason="not made in this shift").record()
            # The same reason once more is refused, and the form stays open.
            if floor.page.state.problem:
                floor.page.back()
            floor.follow()
    if floor.page.route.screen == "audit_list":
        first = floor.facts().asked[0].ref
        floor.page.row("1", first)
        floor.follow()


@settings(max_examples=12)
@given(st.lists(st.sampled_from(TAPS), max_size=25))
def test_the_page_says_what_is_on_disk_and_undo_takes_all_of_it_back(taps):
    with tempfile.TemporaryDirectory() as folder:
        floor = Floor(Path(folder))
        with floor.desk.store:
            floor.begin()
            for what in taps:
                tap(floor, what)

                state, facts = floor.page.state, floor.facts()
                assert isinstance(floor.page, AuditPage)
                given_on_disk = facts.answers.get(state.ref)
                assert state.given == (given_on_disk.answer if given_on_disk else "")
                number = [one.ref for one in facts.asked].index(state.ref) + 1
                assert state.progress == f"{number} of 6, {len(facts.answers)} answered"
                assert bool(state.missing) == (state.ref in {f.answer.ref for f in facts.without_reaction})

            while not isinstance(newest_of(floor.place, floor.facts()), AuditStart):
                undo_newest(floor.place, floor.facts())
            assert (floor.facts().answers, floor.facts().findings) == ({}, ())
