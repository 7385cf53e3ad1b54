"""What a sheet says of a concern: what is known in a few words, and what is not known in its place."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.builders import make, record_id
from tests.cameras import FACE, PHONE
from tests.fakes import CHECKLISTS, Desk
from tests.photos.camera import SECRETS, as_jpeg, scene
from tests.sites import Site, contained
from tests.strategies import records
from tests.switches import Switch
from walkapp.actions.action_records import open_action
from walkapp.actions.books import OutsideWalks
from walkapp.actions.copies import cover_place
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.lessons import record_lesson
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.sheet.content import ESCALATION_MISSING, INVENTED, sheet_content
from walkapp.actions.walking import record_escalation
from walkapp.demo.tablets import open_tablet, read_scenario
from walkapp.model.records import Action, CarriedRecord, Concern, Withdrawal
from walkapp.model.standing import standing_of
from walkapp.paper.sheet_content import MOST_ENTRIES, SheetContent
from walkapp.paper.sheet_page import lay_out

NAMES = ("cause", "containment", "actions", "results", "lessons", "read_across")


@pytest.fixture
def desk(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield desk


@pytest.fixture(scope="module")
def demo(tmp_path_factory, played_demo) -> SheetContent:
    """The sheet of the demo's concern, on the day on which its records end."""
    folder = tmp_path_factory.mktemp("demo")
    played_demo(folder)
    desk = open_tablet(read_scenario()["desk"], folder / "desk", CHECKLISTS)
    desk.clock.time = read_scenario("-fix")["until"]
    with desk.place.store:
        return sheet_content(desk.place, concern_facts(desk.place, desk.concern))


def content_of(desk, concern: str, **more) -> SheetContent:
    return sheet_content(desk.place, concern_facts(desk.place, concern), **more)


def part(content: SheetContent, name: str):
    return next(one for one in content.parts if one.name == name)


def told(content: SheetContent, name: str) -> str:
    """Give all that a part says."""
    one = part(content, name)
    return " ".join(
        (one.sentence, *(" ".join((entry.words, entry.text, *entry.detail)) for entry in one.entries))
    )


def test_the_demos_sheet_names_station_cause_and_result_with_the_figures_behind_them(demo):
    assert demo.answer == "First bad station: Leak test (>99.9 %)"
    assert [one.name for one in demo.stations if one.mark == "first bad"] == ["Leak test"]
    assert "20 of 40 NOK" in [one.counted for one in demo.stations]
    assert part(demo, "cause").sentence == (
        "Cause proved by switching it on and off: Clamp pads, on warm parts."
    )
    assert "By parts: p < 0.0001 (exact, one-sided" in told(demo, "cause")
    assert "1 time in 20" in told(demo, "cause")
    assert "Suspect 1: Pads of clamp 1 replaced by a harder kind" in told(demo, "cause")
    assert "4 recorded changes, each below 5 %" in told(demo, "cause")
    assert "one fixture differs Within Leak test: Worse than the rest: fixture clamp 1," in told(
        demo, "cause"
    )
    assert "All 4,800 accounted for" in told(demo, "containment")
    assert "320 OK parts of a lot of 640" in told(demo, "containment")
    assert "Before 20 of 40 NOK (50.0 %); after 0 of 600 NOK (0.0 %)." in told(demo, "results")
    assert "Fisher's exact test, one-sided" in told(demo, "results")


def test_the_demos_sheet_shows_both_limit_samples_first_and_says_that_it_is_invented(demo):
    labels = [picture.label for picture in demo.pictures]

    assert labels == ["NOK limit sample", "OK limit sample", "At Leak test", "At Leak test"]
    assert all("(invented)" in picture.caption for picture in demo.pictures)
    assert INVENTED in demo.warnings
    assert demo.pictures_note == "4 more pictures in the store."


def test_the_demos_sheet_puts_what_is_overdue_first_and_says_what_is_missing(demo):
    first = part(demo, "actions").entries[0]

    assert (first.state, first.words) == ("bad", "overdue by 6 days")
    assert "PE-KL, due 2026-03-18" in first.detail[0]
    assert [gap.about for gap in demo.gaps] == ["actions", "read_across"]


def test_of_a_concern_about_which_nothing_is_known_every_part_says_so(desk):
    content = content_of(desk, desk.concern())

    assert content.answer == "First bad station: not known yet"
    sentences = [part(content, name).sentence for name in NAMES]
    assert sentences[:5] == [
        "Cause not proved: the on/off confirmation is missing.",
        "Not contained: nothing of it is recorded yet.",
        "No action is recorded yet.",
        "Not verified. There is no corrective action whose effect could be checked.",
        "No lesson is written down yet.",
    ]
    assert sentences[5].startswith("Not read across. ")
    assert content.pictures_note == "No picture was taken in yet."
    assert [gap.about for gap in content.gaps] == ["walks", "judging", "judging", "pictures", *NAMES]
    assert not any(stage.is_reached for stage in content.stages)


def test_a_safety_concern_of_which_nobody_was_told_says_so_before_anything_else(desk):
    concern = desk.concern(severity="safety")

    content = content_of(desk, concern)

    assert content.warnings[0] == ESCALATION_MISSING
    assert content.gaps[0].about == "escalation"
    record_escalation(desk.place, concern, "quality manager")
    after = content_of(desk, concern)
    assert ESCALATION_MISSING not in after.warnings
    assert "qualified people decide" in after.warnings[0]


def test_without_a_checklist_the_sheet_is_made_and_says_that_the_station_cannot_be_worked_out(desk):
    concern = desk.concern()
    record_lesson(desk.place, concern_facts(desk.place, concern), worked="Walking with parts in hand.")
    desk.place.checklists = None
    desk.place._streams = {}

    content = content_of(desk, concern)

    assert content.answer == "First bad station: cannot be worked out"
    assert (content.stations, content.shares) == ((), None)
    assert "its checklist is not here" in content.stations_note
    assert content.gaps[0].about == "checklist"
    assert "Walking with parts in hand." in told(content, "lessons")


def test_what_is_not_accounted_for_is_said_with_its_numbers(desk):
    site = Site(desk)
    site.range(4800)
    site.stock(4488)

    content = content_of(desk, site.concern)

    assert part(content, "containment").state == "bad"
    assert "312 of 4,800 not accounted for" in part(content, "containment").sentence
    assert "4,488 still to sort" in part(content, "containment").sentence


def test_what_is_contained_says_by_which_records(desk):
    site = Site(desk)
    contained(site)

    content = content_of(desk, site.concern)

    assert part(content, "containment").state == "clean"
    assert part(content, "containment").sentence.startswith("Contained by these records: all 100")
    assert "containment" not in [gap.about for gap in content.gaps]


def test_a_confirmation_that_contradicts_another_one_is_said_beside_the_proof(desk):
    proof = Switch(desk)
    proof.counts(15, 0, 15, 0, 15, 0)
    assert part(content_of(desk, proof.concern), "cause").state == "clean"

    against = Switch(desk, concern=proof.concern, what="belt speed")
    against.counts(0, 15, 0, 15, 0, 15)

    cause = part(content_of(desk, proof.concern), "cause")
    assert cause.state == "undecided"
    assert "contradicts “belt speed”" in cause.sentence
    assert [entry.state for entry in cause.entries[:2]] == ["clean", "bad"]


def test_of_hundreds_of_actions_the_overdue_ones_lead_and_the_others_are_counted(desk):
    concern = desk.concern()
    said = {"aim": "preventive", "what": "Look again", "owner": "PE-KL"}
    for n in range(200):
        day = "2026-03-01" if n == 150 else "2026-04-01"
        desk.place.add(Action, concern=concern, action=record_id(1000 + n), due_on=day, **said)

    actions = part(content_of(desk, concern), "actions")

    assert actions.sentence == "200 actions: 200 open (1 overdue), 0 closed."
    assert actions.entries[0].words == "overdue by 2 days"
    assert len(actions.entries) == MOST_ENTRIES
    assert actions.left_out == 200 - MOST_ENTRIES


def test_the_lesson_that_asks_for_a_change_leads(desk):
    concern = desk.concern()
    record_lesson(desk.place, concern_facts(desk.place, concern), worked="Parts in hand.")
    record_lesson(desk.place, concern_facts(desk.place, concern), to_change="A release step.")

    lessons = part(content_of(desk, concern), "lessons")

    assert [(one.words, one.text) for one in lessons.entries] == [
        ("What to change in how we work", "A release step. (QE-RT, 2026-03-03)"),
        ("What worked", "Parts in hand. (QE-RT, 2026-03-03)"),
    ]
    assert lessons.sentence == "2 lessons."


def test_pictures_leave_upright_without_metadata_and_with_people_covered(desk):
    concern = desk.concern()
    taken = keep_photo(desk.place, Subject(concern=concern, limit="not_ok"), PHONE, "x.jpg")
    cover_place(desk.place, OutsideWalks(concern_facts(desk.place, concern)), taken.sha256, FACE)

    (picture,) = content_of(desk, concern).pictures

    assert (picture.width_px, picture.height_px) == (taken.width_px, taken.height_px)
    assert not any(secret in picture.data for secret in SECRETS)
    covered = Image.open(io.BytesIO(picture.data)).convert("L").crop(tuple(FACE))
    bare = Image.open(io.BytesIO(PHONE)).convert("L")
    assert covered.size[0] < bare.size[0]
    assert covered.tobytes() != bare.crop(tuple(FACE)).tobytes()


def test_a_picture_whose_file_is_not_here_says_so_in_its_place(desk):
    concern = desk.concern()
    taken = keep_photo(desk.place, Subject(concern=concern, limit="ok"), as_jpeg(scene((30, 20))), "x.jpg")
    desk.store.photo_path(taken.file_name).unlink()

    (picture,) = content_of(desk, concern).pictures

    assert (picture.data, picture.trouble) == (b"", "Not on this tablet")


def test_a_damaged_picture_does_not_keep_the_sheet_from_being_made(desk):
    concern = desk.concern()
    taken = keep_photo(desk.place, Subject(concern=concern, limit="ok"), as_jpeg(scene((30, 20))), "x.jpg")
    desk.store.photo_path(taken.file_name).write_bytes(b"damaged")

    (picture,) = content_of(desk, concern).pictures

    assert picture.data == b""
    assert picture.trouble


def test_the_foot_says_when_from_what_and_on_which_tablets_the_sheet_was_made(desk):
    concern = desk.concern()
    open_action(
        desk.place, concern_facts(desk.place, concern), aim="preventive", what="Look", owner="PE-KL",
        due_on="2026-04-01",
    )  # fmt: skip

    made = " ".join(content_of(desk, concern, store_check="nothing is damaged").made)

    assert f"Made on: 2026-03-03 by QE-RT, tablet {desk.store.device[-6:]}" in made
    assert f"Records: 2 of 1 tablet ({desk.store.device[-6:]} 2), the newest of 2026-03-03" in made
    assert "Store: nothing is damaged" in made
    assert concern in made


def test_the_same_records_give_the_same_sheet(desk):
    concern = desk.concern()

    assert content_of(desk, concern) == content_of(desk, concern)


OPENED = make(
    Concern, 2, walk="", stream="washer-reservoir", defect="cracked-ear", what="Cracks", severity="safety"
)


@given(said=st.lists(records(), max_size=12), has_stream=st.booleans())
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_whatever_records_arrive_the_sheet_is_made_and_laid_out(tmp_path_factory, said, has_stream):
    desk = Desk(tmp_path_factory.mktemp("sheet"))
    with desk.store:
        stream = desk.place.streams()["washer-reservoir"] if has_stream else None
        held = standing_of((OPENED, *(mine for one in said if (mine := _of_this_concern(one)) is not None)))

        content = sheet_content(desk.place, ConcernFacts(OPENED, stream, (), held, held.current))

    assert [one.name for one in content.parts] == list(NAMES)
    assert content.warnings[0]
    assert lay_out(content).marks


def _of_this_concern(record):
    if isinstance(record, (Concern, CarriedRecord, Withdrawal)):
        return None
    return replace(record, concern=OPENED.id, walk="", replaces=(), why="")
