"""Audits on their way: checklists and pictures go along, in any order the same store, and what is told."""

from __future__ import annotations

import zipfile
from datetime import date

import pytest

from tests.audited import LATER, audited
from tests.bundle.test_standard import faults
from tests.cameras import PHONE
from tests.fakes import Desk
from tests.merging.views import view_of
from tests.photos.camera import SECRETS
from walkapp.actions.audits.findings import open_findings
from walkapp.actions.audits.reading import audits_between
from walkapp.actions.books import OutsideWalks, facts_of
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.checking import check_lines, check_store
from walkapp.actions.copies import cover_place
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.merging import merge_bundles
from walkapp.actions.searching import Finder, search_lines, search_to_json
from walkapp.actions.summaries import summarise
from walkapp.bundle import open_bundle
from walkapp.cli.commands import main
from walkapp.cli.telling import merge_lines
from walkapp.errors import InputError
from walkapp.model.boxes import Box
from walkapp.model.ids import book_id
from walkapp.model.records import AuditReaction, PhotoCopy
from walkapp.presenters.bundle_writing import write_concern_bundle

MARCH = book_id("washer-reservoir", date(2026, 3, 1))
FEBRUARY = book_id("washer-reservoir", date(2026, 2, 1))


@pytest.fixture
def bench(tmp_path):
    made = audited(tmp_path / "one")
    with made.desk.store:
        yield made


@pytest.fixture
def other(tmp_path):
    desk = Desk(tmp_path / "two", seed=3, by="SV-CD")
    with desk.store:
        yield desk


def months(bench):
    """One audit in February, one in March, and a concern."""
    bench.days_later(-10)
    before = bench.finding(**LATER | {"due_on": "2026-03-06"})
    bench.days_later(0)
    return before, bench.finding(**LATER), bench.desk.concern()


def test_the_checklist_of_an_audit_goes_along_so_that_its_questions_are_known_there(bench, other, tmp_path):
    bench.finding(**LATER)

    bundle_concerns(bench.place, tmp_path / "walk.zip")
    other.place.checklists = None
    merge_bundles(other.place, [tmp_path / "walk.zip"])

    here = audits_between(bench.place, "washer-reservoir", date(2026, 3, 1), date(2026, 3, 31))
    assert audits_between(other.place, "washer-reservoir", date(2026, 3, 1), date(2026, 3, 31)) == here
    assert here[0].stream is not None
    assert list(check_lines(check_store(other.place)))[-1].endswith("nothing is damaged or missing.")


def test_a_missing_checklist_of_an_audit_is_told_by_the_check(bench, other, tmp_path):
    bench.finding(**LATER)
    records = tuple(bench.desk.store.all_records())
    other.store.merge(records, name="bare", photos={}, checklists={})

    (told,) = (line for line in check_lines(check_store(other.place)) if "is missing" in line)

    assert "the audit begun with number 1 of tablet" in told


def test_a_bundle_with_audits_keeps_the_open_standard(bench, tmp_path):
    months(bench)
    bench.close(open_findings(bench.place)[0], "2026-03-09")
    keep_photo(
        bench.place, Subject(concern=MARCH, about=open_findings(bench.place)[0].answer.id), PHONE, "x"
    )

    bundle_concerns(bench.place, tmp_path / "walk.zip")

    assert faults(tmp_path / "walk.zip") == []
    with zipfile.ZipFile(tmp_path / "walk.zip") as held:
        names = set(held.namelist())
        words = held.read("README.txt").decode()
        descriptor = held.read("datapackage.json").decode()
    kinds = ("audit_start", "audit_answer", "audit_reaction", "finding_closed", "audit_signed")
    assert {f"{kind}.csv" for kind in kinds} <= names
    assert all(f"{kind}.csv" in words for kind in (*kinds, "audit_missed"))
    assert '"resource": "audit_start"' in descriptor
    assert '"resource": "audit_answer"' in descriptor


@pytest.mark.parametrize(
    ("more", "books"),
    [
        ({}, {FEBRUARY, MARCH, "concern"}),
        ({"audits_of": "washer-reservoir"}, {FEBRUARY, MARCH}),
        ({"concern": FEBRUARY}, {FEBRUARY}),
        ({"concern": "concern"}, {"concern"}),
        ({"since": date(2026, 3, 9)}, {MARCH, "concern"}),
        ({"since": date(2026, 3, 9), "audits_of": "washer-reservoir"}, {MARCH}),
        ({"since": date(2026, 2, 27)}, {FEBRUARY, MARCH, "concern"}),
    ],
)
def test_a_bundle_takes_what_was_asked_for_each_book_whole(bench, tmp_path, more, books):
    *_, concern = months(bench)
    named = {"concern": concern}
    more = {
        **more,
        **({"concern": named.get(more["concern"], more["concern"])} if "concern" in more else {}),
    }

    bundle_concerns(bench.place, tmp_path / "walk.zip", **more)

    wanted = {named.get(book, book) for book in books}
    with open_bundle(tmp_path / "walk.zip") as bundle:
        assert set(bundle.records) == {r for r in bench.desk.records if r.concern in wanted}


def test_one_late_entry_takes_the_audits_of_its_whole_month_along(bench, tmp_path):
    before, _, _ = months(bench)
    bench.days_later(30)
    bench.close(before, "2026-04-08")

    bundle_concerns(bench.place, tmp_path / "walk.zip", since=date(2026, 4, 1))

    with open_bundle(tmp_path / "walk.zip") as bundle:
        assert set(bundle.records) == {r for r in bench.desk.records if r.concern == FEBRUARY}


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"concern": MARCH}, "this store has no such book"),
        ({"audits_of": "nowhere"}, "this store has no audit of the value stream 'nowhere'"),
        ({"since": date(2027, 1, 1)}, "nothing was recorded since that date"),
    ],
)
def test_audits_that_are_not_here_cannot_be_bundled_and_that_is_said(bench, tmp_path, more, words):
    bench.desk.concern()

    with pytest.raises(InputError) as refused:
        bundle_concerns(bench.place, tmp_path / "walk.zip", **more)

    assert str(refused.value) == f"There is nothing to bundle: {words}."


def test_audits_of_two_tablets_come_together_to_the_same_store_in_any_order(tmp_path):
    bundles = []
    for number in (0, 1):
        made = audited(tmp_path / f"tablet-{number}", seed=number, by=f"SL-{number}")
        with made.desk.store:
            made.days_later(number)
            made.finding("supervisor", **LATER)
            if number:
                merge_bundles(made.place, [bundles[0]])
                made.react(open_findings(made.place)[0], reaction="escalated", what="Told maintenance",
                           owner="ME", due_on="2026-03-13")  # fmt: skip
            bundles.append(bundle_concerns(made.place, tmp_path / f"{number}.zip").path)
            if not number:
                first = open_findings(made.place)[0]
                made.react(first, reaction="corrected", what="Locked again")
                bundles[0] = bundle_concerns(made.place, tmp_path / "0-more.zip").path

    views, lines = [], []
    for order in ([0, 1], [1, 0], [0, 1, 0]):
        folder = tmp_path / f"all-{order}"
        desk = Desk(folder, seed=9)
        with desk.store:
            for number in order:
                (merged,) = merge_bundles(desk.place, [bundles[number]])
                lines += merge_lines(merged)
            views.append(view_of(desk.place, folder))

    assert views[0] == views[1] == views[2]
    assert views[0].facts.books


def test_a_merge_tells_of_two_words_on_one_finding(bench, other, tmp_path):
    found = bench.finding(**LATER)
    bundle_concerns(bench.place, tmp_path / "one.zip")
    merge_bundles(other.place, [tmp_path / "one.zip"])
    said = {
        "concern": MARCH,
        "audit": found.start.id,
        "finding": found.answer.id,
        "replaces": (found.reaction.id,),
    }
    other.place.add(AuditReaction, **said, why="seen", reaction="corrected", what="Looks right to me")
    bundle_concerns(other.place, tmp_path / "two.zip")
    bench.react(found, **LATER | {"what": "Sorted as well"})

    (merged,) = merge_bundles(bench.place, [tmp_path / "two.zip"])

    told = "\n".join(merge_lines(merged))
    assert "Entries disagree, a person has to settle it: Reactions" in told
    assert "Sorted as well" in told and "Looks right to me" in told
    assert bench.now(found).reaction.what == "Sorted as well"


# Pictures


def picture(bench):
    found = bench.finding(**LATER)
    return keep_photo(bench.place, Subject(concern=MARCH, about=found.answer.id), PHONE, "phone.jpg")


def test_a_picture_of_a_finding_leaves_without_place_and_serial_number(bench, other, tmp_path):
    photo = picture(bench)

    facts = bundle_concerns(bench.place, tmp_path / "walk.zip")

    assert facts.photo_notes == (
        "1 photo is sent as a copy without place, serial number and other metadata.",
    )
    data = (tmp_path / "walk.zip").read_bytes()
    assert not any(secret in data for secret in SECRETS)
    merge_bundles(other.place, [tmp_path / "walk.zip"])
    assert other.store.photo_path(photo.file_name) is None
    assert len(other.store.photo_names()) == 1


def test_what_is_covered_in_the_picture_of_a_finding_is_not_shown_by_a_concern_with_the_same(
    bench, tmp_path
):
    photo = picture(bench)
    cover_place(bench.place, OutsideWalks(facts_of(bench.place, MARCH)), photo.sha256, Box(0, 0, 9, 9))
    concern = bench.desk.concern()
    keep_photo(bench.place, Subject(concern=concern, limit="ok"), PHONE, "phone.jpg")

    audits = bundle_concerns(bench.place, tmp_path / "audits.zip", concern=MARCH)
    alone = bundle_concerns(bench.place, tmp_path / "concern.zip", concern=concern)

    assert audits.photo_notes[-1] == "1 photo is sent with places covered."
    (covered,) = (r for r in bench.desk.records if isinstance(r, PhotoCopy) and r.boxes)
    with open_bundle(tmp_path / "audits.zip") as bundle:
        assert list(bundle.photo_names) == [covered.file_name]
    assert alone.photo_count == 0


def test_the_app_writes_the_bundle_of_an_audit_book(bench):
    picture(bench)

    words = write_concern_bundle(bench.desk.session, MARCH)

    assert "1 photo is sent" in words
    (written,) = bench.desk.session.bundles.iterdir()
    assert faults(written) == []


# Told


def test_audits_alone_are_no_concern(bench, capsys):
    bench.finding(**LATER)

    assert summarise(bench.place) == ()
    folder = str(bench.desk.store.folder)
    bench.desk.store.close()
    assert main(["summary", "--store", folder]) == 1
    concerns, _, audits = capsys.readouterr().out.partition("\n\n")
    assert concerns == "No concern is recorded here yet."
    assert audits.startswith("Audits of Washer-fluid reservoir, by the records here: ")


def test_search_says_which_audits_instead_of_a_concern(bench):
    bench.finding(**LATER)
    finder = Finder(bench.place)
    finder.update()

    answer = finder.find("held marked")

    assert list(search_lines(answer)) == [
        "Parts held and marked · SL",
        (
            "    Done about a finding of an audit, Degating, 2026-03-09, SL-AB; Audits of Washer-fluid "
            f"reservoir, March 2026 ({MARCH})"
        ),
        "1 entry found.",
    ]
    (told,) = search_to_json("held marked", answer)["results"]
    assert (told["concern"], told["what"]) == (MARCH, "Audits of Washer-fluid reservoir, March 2026")


@pytest.mark.parametrize(
    ("words", "count"),
    [("blade", 2), ("SL-AB", 0), ("early", 0), ("degating", 2), ("supervisor", 0)],
)  # fmt: skip
def test_what_nobody_typed_is_not_found_but_the_question_of_a_nok_is(bench, words, count):
    bench.finding(**LATER)
    finder = Finder(bench.place)
    finder.update()

    assert finder.find(words).total == count


def test_the_command_line_bundles_the_audits_of_one_stream(bench, tmp_path, capsys):
    bench.finding(**LATER)
    bench.desk.concern()
    count = sum(r.concern == MARCH for r in bench.desk.records)
    folder, out = str(bench.desk.store.folder), tmp_path / "audits.zip"
    bench.desk.store.close()

    assert main(["bundle", "--store", folder, "--out", str(out), "--audits", "washer-reservoir"]) == 0

    assert f"audits.zip: {count} records, 0 photos" in capsys.readouterr().out
    assert main(["bundle", "--store", folder, "--out", str(out), "--audits", "nowhere"]) == 2
    assert capsys.readouterr().err == (
        "There is nothing to bundle: this store has no audit of the value stream 'nowhere'.\n"
    )
