"""The pages of findings: what they show, where they lead, and that two words are shown as two."""

from __future__ import annotations

import pytest

from tests.audited import LATER, audited
from tests.builders import make, record_id
from tests.cameras import PHONE
from tests.photos.camera import as_jpeg, scene
from walkapp.actions.audits.doing import answer_question, undo_newest
from walkapp.actions.intake import Subject, keep_photo
from walkapp.bundle import open_bundle
from walkapp.model.boxes import Box
from walkapp.model.records import AuditAnswer, AuditReaction, FindingClosed, Photo, PhotoCopy
from walkapp.presenters.audits.finding import DISAGREE, CloseFindingForm, FindingPage
from walkapp.presenters.audits.findings import FindingsPage, findings_row, row_id
from walkapp.presenters.cover import CoveredPlace, CoverOutsidePage
from walkapp.presenters.disputes import DisputesPage, SettleForm
from walkapp.presenters.intake import EvidencePage
from walkapp.presenters.pages import page_class
from walkapp.presenters.route import Route
from walkapp.presenters.search import SearchPage

OTHER_TABLET = record_id(8_000_071)


@pytest.fixture
def bench(tmp_path):
    made = audited(tmp_path)
    with made.desk.store:
        yield made


def opened(bench, route):
    page = page_class(route.screen)(bench.desk.session, route)
    page.open()
    return page


def listed(bench, stream=""):
    return opened(bench, Route(screen="findings", stream=stream))


def looked_at(bench, finding):
    return opened(bench, Route(screen="finding", concern=finding.start.concern, entry=finding.answer.id))


def theirs(bench, found, **more):
    """Let another tablet say what was done about a finding."""
    said = {"reaction": "escalated", "what": "Told maintenance", "owner": "ME", "due_on": "2026-03-20"}
    record = make(AuditReaction, 5, walk="", concern=found.start.concern, audit=found.start.id,
                  finding=found.answer.id, device=OTHER_TABLET, **said | more)  # fmt: skip
    bench.desk.store.merge([record], name="theirs", photos={}, checklists={})


def texts(page):
    return [(s.name, [(row.title, row.subtitle) for row in s.rows]) for s in page.state.sections]


# The list


def test_without_a_finding_the_list_says_so(bench):
    page = listed(bench)

    assert (page.state.sentence, page.state.sections, page.state.mark) == ("No finding yet.", (), "")
    assert findings_row(bench.place).mark == "not_visited"


def test_the_list_shows_findings_by_how_they_stand_with_mark_and_word(bench):
    bench.finding(**LATER)
    bench.finding("supervisor", reaction="corrected", what="Locked again")
    bench.days_later(4)
    bench.finding()

    page = listed(bench, "washer-reservoir")

    assert (page.state.subtitle, page.state.sentence) == (
        "Washer-fluid reservoir", "1 of 2 open findings overdue.",
    )  # fmt: skip
    assert [(s.name, [row.mark for row in s.rows]) for s in page.state.sections] == [
        ("late", ["bad"]), ("unsaid", ["undecided"]), ("closed", ["clean"]), ("more", [""]),
    ]  # fmt: skip
    late, unsaid, closed, _ = (s.rows[0].subtitle for s in page.state.sections)
    assert late == "Overdue by 1 day, SL, open for 4 days, Degating"
    assert unsaid.startswith("No reaction yet, found today, ")
    assert closed.startswith("Corrected on the spot, found 2026-03-09, ")
    assert listed(bench, "pump-bracket").state.sentence == "No finding yet."
    assert findings_row(bench.place).subtitle == (
        "1 of 2 open findings overdue: Blade changed within its stroke limit?, overdue by 1 day"
    )


def test_a_row_leads_to_the_finding_and_back_to_the_list_of_its_stream(bench):
    found = bench.finding(**LATER)
    page = listed(bench, "washer-reservoir")

    page.row("open", row_id(found))

    (route,) = bench.desk.routes
    assert (route.screen, route.concern, route.entry) == ("finding", found.start.concern, found.answer.id)
    assert (route.up().screen, route.up().stream) == ("findings", "washer-reservoir")


def test_of_very_many_findings_the_most_urgent_are_shown_and_the_rest_counted(bench):
    found = bench.finding(**LATER)
    many = [
        make(AuditAnswer, 10_000 + n, walk="", concern=found.start.concern, audit=found.start.id,
             station="weld", question=f"q-{n}", asked=f"Question {n}?", answer="not_ok",
             device=OTHER_TABLET)
        for n in range(70)
    ]  # fmt: skip
    bench.desk.store.merge(many, name="many", photos={}, checklists={})

    page = listed(bench)

    assert sum(len(s.rows) for s in page.state.sections) == 60
    assert page.state.notes == ("11 more open findings: those above come first.",)


def test_nok_of_audits_that_are_not_here_are_counted(bench):
    found = bench.finding(**LATER)
    lost = make(AuditAnswer, 600, walk="", concern=found.start.concern, audit=record_id(599),
                station="weld", question="q", asked="Question?", answer="not_ok",
                device=OTHER_TABLET)  # fmt: skip
    bench.desk.store.merge([lost], name="lost", photos={}, checklists={})

    assert listed(bench).state.notes == (
        "1 NOK of audits that are not here: merge the bundles that have them.",
    )


# One finding


def test_a_finding_says_what_was_asked_what_was_done_and_what_is_next(bench):
    found = bench.finding(**LATER)
    bench.react(found, **LATER | {"what": "Sorted as well"})

    page = looked_at(bench, found)

    state = page.state
    assert (state.title, state.subtitle) == (
        "Degating",
        "Finding of the audit: Shift lead, 2026-03-09, early",
    )
    assert (state.mark, state.sentence) == ("not_visited", "Open, due in 3 days")
    assert state.lines == (
        "Blade changed within its stroke limit?",
        "NOK, found 2026-03-09 06:30 by SL-AB, found today",
        "Next: SL puts it right until 2026-03-12; then say here what shows it.",
    )
    assert [name for name, _ in texts(page)] == ["done", "audit"]
    assert [title for title, _ in dict(texts(page))["done"]] == ["Contained", "Before: contained"]
    assert [b.name for b in state.buttons] == ["evidence", "reaction", "close_finding"]
    assert state.cautions
    assert state.undo == "a correction"


def test_a_finding_without_a_word_asks_for_one_and_a_closed_one_for_nothing(bench):
    found = bench.finding()
    assert [b.name for b in looked_at(bench, found).state.buttons] == ["evidence", "reaction"]
    bench.react(found, **LATER)
    bench.days_later(1)
    bench.close(found, "2026-03-10", "Blade changed")

    page = looked_at(bench, found)

    assert (page.state.mark, page.state.sentence, page.state.cautions) == (
        "clean", "Closed on 2026-03-10", (),
    )  # fmt: skip
    assert page.state.lines[-1] == "Next: nothing is left to do about this finding."
    assert dict(texts(page))["shows"] == [("Put right on 2026-03-10, SL-AB", "Blade changed")]
    assert [b.name for b in page.state.buttons] == ["evidence"]


def test_a_repeat_finding_says_so_and_leads_to_the_one_before(bench):
    first = bench.finding(**LATER)
    bench.days_later(1)
    audit = bench.begin("supervisor")
    place = [asked.ref for asked in audit.asked].index(first.answer.ref)
    (second,) = bench.answer(audit, "O" * place + "N").findings

    page = looked_at(bench, second)

    assert "Repeat finding: NOK as well on 2026-03-09, 1 day before" in page.state.lines
    assert dict(texts(page))["earlier"] == [
        ("NOK on 2026-03-09", "By SL-AB: contained, Parts held and marked")
    ]
    page.row("earlier", row_id(first))
    assert (bench.desk.routes[-1].screen, bench.desk.routes[-1].entry) == ("finding", first.answer.id)


def test_two_tablets_that_disagree_are_shown_both_and_saying_it_once_more_comes_first(bench):
    found = bench.finding(reaction="corrected", what="Locked again")
    theirs(bench, found)

    page = looked_at(bench, found)

    assert (page.state.mark, page.state.sentence) == ("undecided", "Open, due in 11 days")
    assert DISAGREE in page.state.lines
    assert [title for title, _ in dict(texts(page))["done"]] == ["Escalated", "Corrected on the spot"]
    assert (page.state.buttons[-1].text, page.state.buttons[-1].tone) == ("Say it once more", "strong")


@pytest.mark.parametrize("button", ["evidence", "reaction", "close_finding", "audit_list"])
def test_what_a_finding_leads_to_leads_back_to_it_and_then_to_where_it_was_chosen(bench, button):
    found = bench.finding(**LATER)
    came_from = Route(screen="audit_list", concern=found.start.concern, entry=found.start.id,
                      station="weld", check="other")  # fmt: skip
    page = opened(bench, came_from.down("finding", entry=found.answer.id))

    page.press(button)

    (route,) = bench.desk.routes
    assert (route.screen, route.entry, route.station, route.check) == (button, found.answer.id, "", "")
    assert (route.up().screen, route.up().entry) == ("finding", found.answer.id)


def test_a_finding_that_is_gone_says_so(bench):
    found = bench.finding(**LATER)

    page = opened(bench, Route(screen="finding", concern=found.start.concern, entry=found.start.id))

    assert page.state.sentence.startswith("This finding is not here")
    assert opened(bench, Route(screen="finding", concern="", entry="")).state.sentence.startswith("This")


def test_undo_takes_back_what_was_said_of_this_finding_alone(bench):
    first = bench.finding(**LATER)
    second = bench.finding("supervisor", **LATER | {"what": "Another"})
    page = looked_at(bench, first)

    page.undo()

    assert (page.state.saved, page.state.sentence) == ("Taken back", "No reaction yet")
    assert bench.now(second).reaction.what == "Another"
    page.undo()
    assert page.state.problem == "There is nothing on this page that this tablet could take back."


# Put right


def test_a_finding_is_put_right_with_what_shows_it(bench):
    found = bench.finding(**LATER)
    bench.days_later(1)
    form = opened(bench, Route(screen="close_finding", concern=found.start.concern, entry=found.answer.id))
    assert form.state.cautions == (
        "Look at it before you record this: Blade changed within its stroke limit?",
    )
    form.record()
    assert form.state.problem == "Still needed: What shows it."

    form.fill("evidence", "Blade changed, counter at 0")
    form.record()

    (closed,) = (r for r in bench.desk.records if isinstance(r, FindingClosed))
    assert (closed.finding, closed.closed_on) == (found.answer.id, "2026-03-10")
    assert bench.desk.routes[-1].screen == "finding"


@pytest.mark.parametrize(
    ("day", "words"),
    [("2026-03-11", "is still to come"), ("2026-03-08", "is before the day it was found"),
     ("soon", "Put right on: must be a date")],
)  # fmt: skip
def test_a_day_that_cannot_be_true_is_refused(bench, day, words):
    found = bench.finding(**LATER)
    bench.days_later(1)
    form = opened(bench, Route(screen="close_finding", concern=found.start.concern, entry=found.answer.id))
    form.fill("closed_on", day)
    form.fill("evidence", "Blade changed")

    form.record()

    assert words in form.state.problem
    assert bench.now(found).closed is None


# Pictures


def test_pictures_of_a_finding_are_kept_covered_and_taken_back(bench, tmp_path):
    found = bench.finding(**LATER)
    bench.desk.pictures.mkdir()
    (bench.desk.pictures / "box.jpg").write_bytes(as_jpeg(scene((80, 48))))
    at = {"concern": found.start.concern, "entry": found.answer.id}
    page = opened(bench, Route(screen="evidence", **at))
    assert page.state.subtitle == "Finding - Blade changed within its stroke limit?"

    page.fill("The counter")
    page.choose(str(bench.desk.pictures / "box.jpg"))

    assert (page.state.problem, page.state.saved) == ("", "On disk: picture")
    (photo,) = bench.now(found).pictures
    assert (photo.about, photo.caption, photo.walk) == (found.answer.id, "The counter", "")
    cover = CoverOutsidePage(bench.desk.session, Route(screen="cover_sample", **at, picture=photo.sha256))
    cover.open()
    cover.lay(CoveredPlace(0.1, 0.1, 0.5, 0.5))
    assert (cover.state.frame.problem, cover.state.frame.title) == ("", "Picture of the audit")
    assert [r.boxes for r in bench.desk.records if isinstance(r, PhotoCopy)] == [(Box(8, 4, 40, 24),)]
    assert ("1 picture", "Evidence of this finding.") in dict(texts(looked_at(bench, found)))["shows"]

    page.undo()

    assert (page.state.saved, bench.now(found).pictures) == ("Taken back", ())


def test_a_picture_is_undone_on_the_page_of_its_own_finding(bench):
    first, second = bench.finding(**LATER), bench.finding("supervisor", **LATER)
    for finding, size in ((first, 40), (second, 48)):
        subject = Subject(concern=finding.start.concern, about=finding.answer.id)
        keep_photo(bench.place, subject, as_jpeg(scene((size, 30))), "x.jpg")
    page = looked_at(bench, first)
    assert page.state.undo == "a picture"

    page.undo()

    assert [r.about for r in bench.desk.records if isinstance(r, Photo)] == [
        first.answer.id, second.answer.id,
    ]  # fmt: skip
    assert (bench.now(first).pictures, len(bench.now(second).pictures)) == ((), 1)


def test_evidence_of_a_nok_that_an_undo_said_again_is_still_there(bench):
    audit = bench.answer(bench.begin())
    (found,) = audit.findings
    keep_photo(
        bench.place, Subject(concern=audit.book, about=found.answer.id), as_jpeg(scene((40, 30))), "x"
    )
    answer_question(bench.place, bench.again(audit), found.answer.ref, "ok")
    undo_newest(bench.place, bench.again(audit))
    (now,) = bench.again(audit).findings

    page = EvidencePage(
        bench.desk.session, Route(screen="evidence", concern=audit.book, entry=now.answer.id)
    )
    page.open()

    assert len(page.state.choice.kept) == len(now.pictures) == 1


# Entries that disagree


def test_entries_of_an_audit_book_that_disagree_are_settled_from_the_list(bench):
    found = bench.finding(**LATER)
    bench.react(found, reaction="corrected", what="Locked again")
    theirs(bench, found, replaces=(found.reaction.id,))
    page = listed(bench)
    (row,) = next(s.rows for s in page.state.sections if s.name == "disagree")
    assert row.subtitle.startswith("Audits of Washer-fluid reservoir, March 2026: ")

    page.row("disagree", row.id)
    disputes = DisputesPage(bench.desk.session, bench.desk.routes[-1])
    disputes.open()
    (dispute,) = disputes.state.disputes
    assert dispute.about == "Reactions"
    disputes.decide(dispute.key)
    form = SettleForm(bench.desk.session, bench.desk.routes[-1])
    form.open()
    form.fill("side", "2")
    form.fill("why", "seen at the station")
    form.record()

    assert form.state.problem == ""
    assert listed(bench).state.sections[0].name != "disagree"
    assert bench.now(found).others == ()
    assert disputes.route.up().screen == "findings"


# Search


@pytest.fixture
def searched(bench):
    first = bench.finding(**LATER | {"what": "Quarantine of three boxes"})
    bench.days_later(1)
    bench.close(first, "2026-03-10", "Interlock renewed")
    audit = bench.answer(bench.begin("supervisor"), "A")
    return bench, first, audit


@pytest.mark.parametrize(
    ("word", "kind"),
    [("quarantine", "Done about a finding of an audit"), ("interlock", "Finding of an audit put right"),
     ("stroke", "Answer in an audit")],
)  # fmt: skip
def test_a_word_about_a_finding_leads_to_the_finding_and_back_to_the_search(searched, word, kind):
    bench, first, _ = searched
    page = SearchPage(bench.desk.session, Route(screen="search"))
    page.open()
    page.type(word)

    row = next(row for row in page.state.rows if row.subtitle.startswith(kind))
    assert row.subtitle == (
        f"{kind}, Degating, {'2026-03-10' if 'right' in kind else '2026-03-09'}\n"
        "Audits of Washer-fluid reservoir, March 2026"
    )
    page.choose(row.id)

    route = bench.desk.routes[-1]
    assert (route.screen, route.concern, route.entry) == ("finding", first.start.concern, first.answer.id)
    assert route.up().screen == "search"


def test_a_reason_leads_to_the_audit_in_which_it_was_given(searched):
    bench, _, audit = searched
    page = SearchPage(bench.desk.session, Route(screen="search"))
    page.open()
    page.type("running")

    assert [row.title for row in page.state.rows] == ["station not running"]
    page.choose("result-0")

    route = bench.desk.routes[-1]
    assert (route.screen, route.concern, route.entry) == ("audit_list", audit.book, audit.start.id)


def test_the_form_of_a_finding_that_is_closed_already_says_so(bench):
    found = bench.finding(reaction="corrected", what="Locked again")
    form = CloseFindingForm(
        bench.desk.session,
        Route(screen="close_finding", concern=found.start.concern, entry=found.answer.id),
    )
    form.open()
    form.fill("evidence", "x")
    form.record()

    assert form.state.problem == "This finding is closed already."


def test_pages_of_findings_are_found_by_their_names():
    assert (page_class("findings"), page_class("finding")) == (FindingsPage, FindingPage)


def test_audits_older_than_a_year_are_looked_at_when_asked_for_and_that_is_said(bench):
    found = bench.finding(**LATER)
    bench.days_later(400)
    page = listed(bench)
    assert (page.state.sentence, page.state.notes) == (
        "No open finding of the last 365 days.", ("1 older month of audits not looked at.",),
    )  # fmt: skip
    assert (
        findings_row(bench.place).subtitle
        == "No open finding of the last 365 days; 1 older month not looked at"
    )

    page.row("more", "older")

    assert (page.state.sentence, page.state.notes) == (
        "1 of 1 open finding overdue.", (),
    )  # fmt: skip
    assert page.state.sections[0].rows[0].id == row_id(found)


def test_the_audits_of_a_stream_are_bundled_from_its_list(bench):
    found = bench.finding(**LATER)
    keep_photo(bench.place, Subject(concern=found.start.concern, about=found.answer.id), PHONE, "x.jpg")
    bench.desk.concern()
    page = listed(bench, "washer-reservoir")
    assert [row.id for row in page.state.sections[-1].rows] == ["bundle"]
    assert listed(bench).state.sections[-1].name == "open"

    page.row("more", "bundle")

    (written,) = bench.desk.session.bundles.iterdir()
    assert page.state.saved.startswith(f"Bundle written: {written}, ")
    with open_bundle(written) as bundle:
        assert {r.concern for r in bundle.records} == {found.start.concern}
        assert len(bundle.photo_names) == 1
