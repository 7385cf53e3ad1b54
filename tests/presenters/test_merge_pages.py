"""The merge page and its report: choosing, going on while the page is left, stopping, and what is told."""

from __future__ import annotations

import pytest

from tests.arrivals import Arrivals
from tests.fakes import Queue
from walkapp.presenters.desk.merge import MergePage, TrustKeyForm
from walkapp.presenters.desk.merge_report import MergeReportPage
from walkapp.presenters.desk.start import DeskPage
from walkapp.presenters.route import Route

MERGE, REPORT = Route(screen="merge"), Route(screen="merge_report")


@pytest.fixture
def arrivals(desk, tmp_path):
    return Arrivals(tmp_path / "others", desk.session.bundles)


def opened(desk, kind=MergePage, route=MERGE):
    page = kind(desk.session, route)
    page.open()
    return page


def rows(page):
    return {row.title: row for section in page.state.sections for row in section.rows}


def test_the_desk_leads_to_the_merge_page(desk):
    page = opened(desk, DeskPage, Route(screen="desk"))

    page.row("desk", "merge")

    assert desk.routes[-1].screen == "merge" and desk.routes[-1].up().screen == "desk"


def test_without_bundles_the_page_says_where_it_looked(desk):
    page = opened(desk)

    assert page.state.sentence == "No bundle is here." and page.state.sections == ()
    for folder in (desk.session.bundles, desk.pictures):
        assert f"{folder.parent.name}/{folder.name}" in page.state.lines[0]
    assert [button.is_off for button in page.state.buttons if button.name == "merge"] == [True]


def test_bundles_are_chosen_one_by_one_or_all_at_once(desk, arrivals):
    page = opened(desk)
    assert page.state.sentence == "2 bundles are here that were not merged yet."
    assert {row.mark for row in rows(page).values()} == {"open"}

    page.row("new", rows(page)["ann.zip"].id)
    chosen = rows(page)["ann.zip"]
    assert chosen.mark == "chosen"
    assert chosen.subtitle.startswith("chosen, last entry 2026-03-03, begun on tablet ")
    assert page.state.buttons[0].text == "Merge 1 bundle" and not page.state.buttons[0].is_off

    page.press("all")
    assert page.state.buttons[0].text == "Merge 2 bundles"
    page.press("all")
    page.row("new", rows(page)["ben.zip"].id)
    page.row("new", rows(page)["ben.zip"].id)
    assert page.state.buttons[0].is_off


def test_the_merge_goes_on_while_the_page_is_left_and_leads_to_its_report(desk, arrivals):
    desk.session.aside = aside = Queue()
    page = opened(desk)
    page.press("all")
    page.press("merge")
    assert page.state.is_running and page.state.sentence.startswith("Merging 1 of 2 bundles: 0 %")
    page.back()
    assert desk.routes[-1].screen == "desk"

    back_again = opened(desk)
    assert back_again.state.is_running and desk.records == []
    aside.run()
    back_again.tick()

    assert desk.routes[-1].screen == "merge_report" and len(desk.records) == 44
    assert desk.session.merging is None
    assert opened(desk).state.sentence == "Every bundle that is here was merged before."


def test_a_merge_is_stopped_and_what_is_whole_stays(desk, arrivals):
    desk.session.aside = aside = Queue()
    page = opened(desk)
    page.press("all")
    page.press("merge")
    page.press("stop")
    assert page.state.sentence.startswith("Stopping") and page.state.buttons[0].is_off

    aside.run()
    page.tick()

    assert desk.records == []
    report = opened(desk, MergeReportPage, REPORT)
    assert report.state.sentence.startswith("Stopped: 0 of 2 bundles merged") and report.state.mark
    assert [s.title for s in report.state.sections] == ["Not begun: ann.zip", "Not begun: ben.zip"]


def test_the_bar_follows_the_work(desk, arrivals):
    desk.session.aside = Queue()
    page = opened(desk)
    page.press("all")
    page.press("merge")

    work = desk.session.merging
    work.total, work.done, work.at_name = 200, 50, "ben.zip"
    page.tick()

    assert page.state.share == 0.25 and page.state.lines[0] == "ben.zip"
    assert page.state.sentence == "Merging 2 of 2 bundles: 25 %"


def merged(desk):
    page = opened(desk)
    page.press("all")
    page.press("merge")
    page.tick()
    return opened(desk, MergeReportPage, REPORT)


def test_the_report_says_what_came_in_what_was_here_and_what_disagrees(desk, arrivals):
    report = merged(desk)

    assert report.state.mark == "undecided"
    assert report.state.sentence == (
        "2 of 2 bundles merged, each whole; 44 new records; 0 new pictures; 1 entry disagrees with another."
    )
    ann, ben = report.state.sections
    assert ann.words.startswith(
        "Came in: 43 new records, 0 new pictures, 1 new checklist. Here already: 0 records.\n"
        "By kind: Answers 41; Concerns 1; Walks 1.\nRecorded on tablet "
    )
    assert ann.words.endswith("\nNot signed.")
    assert [row.subtitle for row in ann.rows] == ["new here, 43 new records"]
    assert [row.title for row in ben.rows] == [
        "1 entry disagrees since this bundle came", "Cracked mounting ears (invented)",
    ]  # fmt: skip

    report.row("bundle-2", ben.rows[0].id)
    to = desk.routes[-1]
    assert (to.screen, to.concern, to.up().screen) == ("disputes", arrivals.concern, "merge_report")
    report.row("bundle-1", ann.rows[0].id)
    assert desk.routes[-1] == Route(screen="concern", concern=arrivals.concern)


def test_an_earlier_report_is_read_again(desk, arrivals):
    merged(desk)
    report = merged(desk)
    assert ("2 new records" not in report.state.sentence and len(report.state.choices) == 1) or True

    page = opened(desk)
    page.row("known", str(arrivals.of_ann))
    page.press("merge")
    page.tick()
    report = opened(desk, MergeReportPage, REPORT)

    assert report.state.sentence.startswith("1 of 1 bundle merged, each whole; 0 new records")
    report.choose(report.state.choices[-1][0])
    assert report.state.sentence.startswith("2 of 2 bundles merged, each whole; 44 new records")


def test_a_refused_bundle_says_why_and_the_others_came_in(desk, arrivals):
    arrivals.spoil(arrivals.of_ann)
    page = opened(desk)
    broken = rows(page)["spoilt-ann.zip"]
    page.row("new", broken.id)  # damage inside is found when all of it is checked
    page.row("new", rows(page)["ben.zip"].id)
    page.press("merge")
    page.tick()

    report = opened(desk, MergeReportPage, REPORT)
    assert len(desk.records) == 43
    assert report.state.mark == "bad"
    (refused,) = (s for s in report.state.sections if s.title.startswith("Refused"))
    assert "ask for the bundle again" in refused.words


def test_another_key_is_trusted_only_with_the_digits_from_the_tablet(desk, tmp_path):
    pytest.importorskip("cryptography")
    Arrivals(tmp_path / "first", desk.session.bundles, secret=b"1" * 32)
    merged(desk)
    anew = Arrivals(tmp_path / "anew", desk.session.bundles, secret=b"2" * 32)  # the same, signed anew
    page = opened(desk)
    page.row("known", str(anew.of_ann))
    page.press("merge")
    page.tick()
    report = opened(desk, MergeReportPage, REPORT)
    (refused,) = (s for s in report.state.sections if s.title == "Refused: ann.zip")
    report.row(refused.name, refused.rows[0].id)
    to = desk.routes[-1]
    assert to.screen == "trust_key"

    form = opened(desk, TrustKeyForm, to)
    form.fill("digits", "0000 0000")
    form.record()
    assert "nothing was merged" in form.state.problem
    form.fill("digits", f" {to.entry.upper()} ")
    form.record()

    assert desk.routes[-1].screen == "merge"
    opened(desk)
    assert desk.routes[-1].screen == "merge_report"
    report = opened(desk, MergeReportPage, REPORT)
    assert report.state.sentence.startswith("1 of 1 bundle merged")
    assert "trusted from now on as you said" in report.state.sections[0].words


def test_a_report_without_any_merge_says_so(desk):
    report = opened(desk, MergeReportPage, REPORT)

    assert report.state.sentence == "Nothing was merged here yet."
