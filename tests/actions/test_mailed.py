"""The page to be mailed, from the records: what it says, what it never shows, and how large it gets."""

from __future__ import annotations

import base64
from dataclasses import replace

import pytest

from tests.cameras import PHONE, Camera
from tests.paper.mailed_pages import Read
from tests.quarrels import Quarrel
from walkapp import __version__
from walkapp.actions import mailed
from walkapp.actions.copies import shown_bytes
from walkapp.actions.mailed import gaps_of, mail_page, page_name, write_page, write_page_into, written_text
from walkapp.actions.reading import concern_facts
from walkapp.actions.walking import record_escalation
from walkapp.errors import InputError
from walkapp.paper.mailed.page import as_html
from walkapp.photos import small_jpeg

SPOKEN = "nobody has recorded who was told"


def words(place, **how) -> str:
    return " ".join(" ".join(Read(as_html(mail_page(place, **how))).texts).split())


def pictures(data: bytes) -> list[bytes]:
    values = [value for tag, name, value in Read(data).values if (tag, name) == ("img", "src")]
    return [base64.b64decode(value.removeprefix("data:image/jpeg;base64,")) for value in values]


# what it says


def test_the_demo_becomes_one_file_that_says_all_of_it_and_can_be_mailed(mailed_demo):
    _, page, written = mailed_demo

    data = written.path.read_bytes()
    told = " ".join(" ".join(Read(data).texts).split())

    assert written.size_bytes == len(data) < 2_000_000
    assert (written.concerns, written.pictures, written.figures > 5) == (1, 4, True)
    drawn = [
        value for tag, name, value in Read(data).values if (tag, name, value) == ("svg", "role", "img")
    ]
    assert len(drawn) == written.figures  # none had to become a picture
    assert page.title in told
    for said in (
        f"with walkapp {__version__}.", "Invented data", "First bad station: Leak test (>99.9 %)",
        "4. Leak test (first bad) 40 20 50.0 % 33 % to 67 % >99.9 % bad",
        "1. Injection moulding 40 1 2.5 % <0.1 % to 14 % <0.1 % undecided",
        "Cause proved by switching it on and off", "all 4,800 suspect parts are released or scrapped",
        "1 overdue", "1 corrective action found effective", "Two changes at the leak test",
        "Final check, Pump bracket", "of 3 tablets", "the newest of 2026-03-23",
    ):  # fmt: skip
        assert said in told


def test_the_same_records_and_day_give_the_same_bytes(mailed_demo):
    place, _, written = mailed_demo

    assert as_html(mail_page(place)) == written.path.read_bytes()


def test_of_a_concern_that_was_just_opened_the_page_says_what_is_not_known(desk):
    desk.concern()

    told = words(desk.place)

    assert "First bad station: not known yet" in told
    assert "No station was visited yet." in told
    assert "1. Injection moulding 0 0 – – " in told
    assert "No figure “Age of the actions”: no action is recorded yet." in told
    assert "No picture was taken in yet." in told


def test_without_the_checklist_nothing_is_worked_out_and_the_page_says_why(desk):
    desk.concern()
    elsewhere = replace(desk.place, checklists=None)

    page = mail_page(elsewhere)

    (one,) = page.concerns
    assert (one.stations, one.elsewhere, one.figures) == ((), "", ())
    assert "cannot be worked out" in words(elsewhere)


def test_a_safety_concern_cautions_until_it_is_recorded_who_was_told(desk, tmp_path):
    concern = desk.concern(severity="safety")
    page = mail_page(desk.place)
    assert SPOKEN in words(desk.place)
    assert [note for note in write_page(page, tmp_path / "page.html").notes if SPOKEN in note]

    record_escalation(desk.place, concern, "quality lead")

    told = words(desk.place)
    assert SPOKEN not in told
    assert "site rules and the customer's requirements come before" in told


def test_of_several_concerns_the_caution_stands_above_the_list_too(desk):
    desk.concern()
    desk.concern(severity="safety", what="Pump rattles (invented)")

    page = mail_page(desk.place)

    assert page.title == "2 concerns"
    assert page.warnings[0].startswith("1 concern is safety or regulatory, and nobody has recorded")
    assert page.concerns[0].content.title == "Pump rattles (invented)"


def test_entries_that_disagree_stand_on_the_page_with_both_values(desk):
    Quarrel(desk)

    (one,) = mail_page(desk.place).concerns

    (dispute,) = one.disputes
    assert {side.value for side in dispute.sides} == {
        "OK",
        "N/A; Why the check does not apply: no parts here",
    }
    assert sum(side.counts for side in dispute.sides) == 1
    assert "Which entries disagree?" in words(desk.place)


def test_what_is_not_known_can_be_told_beside_the_file(mailed_demo):
    _, page, _ = mailed_demo

    assert "1 of 1 like stations still open." in dict(gaps_of(page))["read_across"]


# what it never shows


def test_a_covered_place_stays_covered_and_nothing_of_the_camera_goes_along(tmp_path):
    camera = Camera(tmp_path)
    photo = camera.take()
    plain = pictures(as_html(mail_page(camera.desk.place)))
    camera.cover(photo)

    (shown,) = pictures(as_html(mail_page(camera.desk.place)))

    covered = shown_bytes(camera.desk.store, photo, camera.copies[photo.sha256])
    assert shown == small_jpeg(covered, 1000)[1]
    assert plain == [small_jpeg(PHONE, 1000)[1]] != [shown]
    assert b"Exif" in PHONE
    assert b"Exif" not in shown
    camera.close()


def test_where_the_files_of_this_tablet_lie_is_not_told(desk, tmp_path):
    route = desk.walk()
    path = tmp_path / "store" / "journals" / "own" / f"{route.walk}.journal"
    desk.store.close()
    path.write_bytes(path.read_bytes() + b"torn")
    again = type(desk)(tmp_path)
    with again.store:
        assert again.store.notices

        told = words(again.place)

    assert "1 notice of damage, so some entries may be missing here" in told
    assert "journal" not in told
    assert str(tmp_path) not in told


# which concerns, and how large it gets


def test_one_concern_is_chosen_by_its_id_and_an_unknown_one_is_refused(desk):
    desk.concern()
    other = desk.concern(what="Pump rattles (invented)")

    page = mail_page(desk.place, concern=other)

    assert [one.content.concern for one in page.concerns] == [other]
    assert page.title == "Pump rattles (invented)"
    with pytest.raises(InputError, match="There is no concern 'x'"):
        mail_page(desk.place, concern="x")


def test_without_a_concern_there_is_nothing_to_write(desk):
    with pytest.raises(InputError, match="No concern is recorded here yet"):
        mail_page(desk.place)


def test_how_far_the_gathering_is_is_told(desk):
    desk.concern()
    desk.concern()
    told = []

    mail_page(desk.place, progress=lambda done, total: told.append((done, total)))

    assert told == [(1, 2), (2, 2)]


def test_of_many_concerns_each_has_one_figure_and_the_oldest_are_counted(desk, monkeypatch):
    monkeypatch.setattr(mailed, "MOST_CONCERNS", 4)
    for number in range(6):
        desk.concern(what=f"Concern {number} (invented)")

    page = mail_page(desk.place)

    assert [one.content.title[:9] for one in page.concerns] == [f"Concern {n}" for n in (5, 4, 3, 2)]
    assert {len(one.figures) for one in page.concerns} == {1}
    assert "2 older concerns not on this page; a page holds 4." in page.left_out
    assert any(note.startswith("Of each concern one figure is drawn") for note in page.left_out)


def test_pictures_are_left_out_before_the_page_gets_too_large_and_that_is_said(tmp_path, monkeypatch):
    camera = Camera(tmp_path)
    camera.take()
    monkeypatch.setattr(mailed, "MOST_PICTURE_BYTES", 100)

    page = mail_page(camera.desk.place)

    note = page.concerns[0].content.pictures_note
    assert pictures(as_html(page)) == []
    assert note.startswith("1 picture left out, or the page could not be mailed.")
    assert page.left_out == ("Pictures of 1 concern left out, or the page could not be mailed.",)
    camera.close()


# the file


def test_a_page_that_is_too_large_for_mail_is_refused_and_nothing_is_written(desk, tmp_path, monkeypatch):
    desk.concern()
    monkeypatch.setattr(mailed, "LARGEST_BYTES", 1000)

    with pytest.raises(InputError, match="too many to be mailed"):
        write_page(mail_page(desk.place), tmp_path / "page.html")

    assert not (tmp_path / "page.html").exists()


def test_an_older_page_is_replaced_and_any_other_file_is_not(desk, tmp_path):
    desk.concern()
    page = mail_page(desk.place)
    out, other = tmp_path / "page.html", tmp_path / "stream.html"
    write_page(page, out)
    other.write_text("name = 'a checklist'", encoding="utf-8")

    again = write_page(page, out)

    assert out.read_bytes() == as_html(page)
    assert written_text(again).startswith("1 concern, 0 pictures, 1 figure, ")
    for wrong, sentence in (
        (other, "is there already and is no HTML"),
        (tmp_path / "page.pdf", "choose a name that ends in .html"),
        (tmp_path / "gone" / "page.html", "there is no such folder"),
    ):
        with pytest.raises(InputError, match=sentence):
            write_page(page, wrong)
    assert other.read_text(encoding="utf-8") == "name = 'a checklist'"


def test_the_window_writes_into_a_folder_of_its_own_under_a_name_that_says_of_what(desk, tmp_path):
    concern = desk.concern(what="../Ear:\u202e <cracked>")
    name = page_name(desk.place, concern_facts(desk.place, concern))

    written = write_page_into(mail_page(desk.place), tmp_path / "new" / "bundles", name)

    assert written.path.parent == tmp_path / "new" / "bundles"
    assert name == f"page-..-Ear-cracked-{concern[-6:]}-2026-03-03.html"
    assert len(name) <= 70
