"""Limit samples, evidence, who was told and corrections in a real window, by touch."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.photos.camera import as_jpeg, scene
from tests.screens.layout_check import box, problems
from tests.screens.test_layout import TABLETS
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.judging import evidence_of, limit_samples
from walkapp.actions.reading import concern_facts
from walkapp.actions.walking import Walking
from walkapp.app import window_app
from walkapp.demo.pictures import draw
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Answer, Concern, Count, Escalation, Photo, PhotoCopy

pytestmark = pytest.mark.window

LOW_AND_TALL = ["7 inch lying", "8 inch standing"]


class Seen:
    """A window on one desk, with a camera's pictures and a walk."""

    def __init__(self, drive, folder, tablet, **concern):
        sizes = dict(TABLETS[tablet])
        self.pixels_per_inch = sizes.pop("pixels_per_inch")
        self.desk = Desk(folder)
        self.route = self.desk.walk(**concern)
        # The guide then points to another station than the one that most of these tests look at.
        walking = Walking(self.desk.place, self.route.concern, self.route.walk)
        for _ in range(5):
            walking.judge_part(self.now, "welding", "ear-look", "not_ok")
        self.camera = folder / "camera"
        self.camera.mkdir()
        app = window_app(self.desk.place, self.camera, bundles=folder / "bundles")
        self.hand = drive(app, **sizes)
        self.walk = TouchWalk(self.desk, self.hand, self.camera)

    @property
    def now(self):
        return self.desk.facts(self.route)

    @property
    def facts(self):
        return concern_facts(self.desk.place, self.route.concern)

    def sample(self, limit, name):
        subject = Subject(concern=self.route.concern, limit=limit)
        return keep_photo(self.desk.place, subject, draw(name), name, caption="At the root", invented=True)

    def go(self, screen, **more):
        self.hand.app.go(replace(self.route, screen=screen, **more))
        self.walk.settle()
        return self

    def tap(self, name):
        self.walk.tap(name)

    def back(self):
        self.hand.back()
        self.walk.settle()

    def text(self, name):
        return self.hand.find(name).text

    @property
    def at(self):
        return self.hand.app.page.presenter.route

    def check_layout(self):
        assert problems(self.hand.window, pixels_per_inch=self.pixels_per_inch) == []


@pytest.fixture
def see(drive, tmp_path):
    made = []

    def start(tablet, **concern):
        made.append(Seen(drive, tmp_path, tablet, **concern))
        return made[-1]

    yield start
    for seen in made:
        seen.desk.store.close()


@pytest.mark.parametrize("tablet", LOW_AND_TALL)
def test_samples_are_added_for_both_sides_shown_large_covered_and_taken_back(see, tablet):
    seen = see(tablet)
    for name in ("ear-ok", "ear-cracked"):
        (seen.camera / f"{name}.jpg").write_bytes(draw(name))
    seen.go("concern", walk="", station="")
    seen.tap("row-judging")
    assert (seen.text("ok-words"), seen.text("not_ok-words")) == ("No limit sample yet",) * 2
    seen.check_layout()

    for side, name in (("ok", "ear-ok.jpg"), ("not_ok", "ear-cracked.jpg")):
        seen.tap(f"add-{side}")
        if side == "ok":
            seen.walk.write("caption", "No line at the root")
        plates = [w for w in seen.hand.widgets() if getattr(w, "test_name", "").startswith("picture-")]
        seen.tap(next(plate.test_name for plate in plates if plate.tile.caption == name))
        assert seen.text("saved") == f"On disk: {'OK' if side == 'ok' else 'NOK'} sample"
        seen.check_layout()
        seen.back()

    ok, not_ok = seen.hand.find("ok-1"), seen.hand.find("not_ok-1")
    assert ok.tile.caption == "No line at the root"
    assert box(ok)[2] < box(not_ok)[0] and box(ok)[3] == pytest.approx(box(not_ok)[3])
    seen.check_layout()
    seen.tap("not_ok-1")
    assert seen.text("large-word") == "NOK"
    seen.check_layout()

    seen.tap("cover")
    seen.walk.draw_box(0.1, 0.2, 0.3, 0.5)
    assert seen.text("saved") == "On disk: covered place"
    seen.back()
    seen.tap("undo")
    assert seen.text("saved") == "Taken back"
    assert seen.text("not_ok-words") == "No limit sample yet"
    current = seen.facts.standing.current
    assert [r.caption for r in current if isinstance(r, Photo)] == ["No line at the root"]
    # Whoever was covered stays covered, should the picture be taken in again.
    assert [len(r.boxes) for r in current if isinstance(r, PhotoCopy)] == [1]


@pytest.mark.parametrize("tablet", TABLETS)
def test_the_pair_beside_the_answers_leads_to_how_to_judge_and_back_to_the_same_part(see, tablet):
    seen = see(tablet)
    seen.sample("ok", "ear-ok")
    seen.sample("not_ok", "ear-cracked")
    seen.go("judge", station="welding", check="ear-look")
    is_low = tablet == "7 inch lying"
    assert seen.hand.has("limits") is not is_low
    assert seen.hand.has("how-to-judge") is is_low
    seen.check_layout()
    seen.tap("units-choice-nest B")

    seen.tap("how-to-judge" if is_low else "limits")
    assert seen.hand.has("ok-1") and seen.hand.has("not_ok-1")
    seen.check_layout()
    seen.back()
    assert (seen.at.screen, seen.at.check, seen.at.unit) == ("judge", "ear-look", "nest B")
    assert seen.text("check-title") == "Mounting ear: look and touch"
    seen.tap("answer-ok")

    answers = [r for r in seen.desk.records if isinstance(r, Answer)]
    assert [(r.answer, r.unit) for r in answers[-1:]] == [("ok", "nest B")]
    assert len(answers) == 6


@pytest.mark.parametrize("tablet", LOW_AND_TALL)
def test_the_pair_stands_beside_the_counting_too(see, tablet):
    seen = see(tablet)
    seen.sample("not_ok", "ear-cracked")
    seen.go("count", station="packing", check="ear-count")
    assert seen.hand.has("limits") is (tablet != "7 inch lying")
    seen.check_layout()

    seen.tap("how-to-judge" if tablet == "7 inch lying" else "limits")
    assert (seen.text("ok-words"), seen.text("how")[:3]) == ("No limit sample yet", "OK:")
    seen.back()
    seen.tap("checked-more")

    assert [(r.checked, r.nok) for r in seen.desk.records if isinstance(r, Count)] == [(1, 0)]


def test_a_check_of_another_kind_has_no_pair_and_one_without_samples_a_button(see):
    seen = see("10 inch lying")
    seen.go("judge", station="leak-test", check="pads-released")
    assert not seen.hand.has("limits") and not seen.hand.has("how-to-judge")
    seen.go("judge", station="welding", check="ear-look")
    assert seen.hand.has("how-to-judge") and not seen.hand.has("limits")
    seen.check_layout()

    seen.sample("ok", "ear-ok")
    seen.go("judge", station="welding", check="ear-look")
    seen.hand.turn((1024, 600))
    assert seen.hand.has("how-to-judge") and not seen.hand.has("limits")
    seen.hand.turn((1280, 800))
    assert seen.hand.has("limits")


def test_a_limit_sample_whose_file_is_missing_is_a_word_on_every_page(see):
    seen = see("7 inch lying")
    photo = seen.sample("not_ok", "ear-cracked")
    seen.desk.store.photo_path(photo.file_name).unlink()
    seen.go("judging")
    assert seen.hand.find("not_ok-1").tile.caption == "Not on this tablet: At the root"
    seen.tap("not_ok-1")
    assert seen.text("large-caption") == "Not on this tablet: At the root"
    seen.check_layout()

    seen.hand.turn((1280, 800))
    seen.go("judge", station="welding", check="ear-look")
    assert "Not on this tablet" in seen.hand.texts()


@pytest.mark.parametrize("tablet", LOW_AND_TALL)
def test_a_safety_caution_stands_at_the_station_until_who_and_when_is_recorded(see, tablet):
    seen = see(tablet, severity="safety")
    seen.go("station", station="pump-assembly")
    assert seen.hand.has("cautions-read") and seen.hand.has("row-escalation")
    seen.check_layout()
    seen.tap("cautions-read")
    assert seen.hand.has("row-escalation") and seen.hand.has("how-to-judge")
    seen.check_layout()

    seen.tap("row-escalation")
    seen.walk.write("told", "plant manager")
    seen.tap("field-when-choice-earlier")
    seen.tap("field-day-choice-2026-03-02")
    seen.walk.write("time", "14:05")
    seen.check_layout()
    seen.tap("record")

    assert (seen.at.screen, seen.at.station, seen.at.walk) == ("station", "pump-assembly", seen.route.walk)
    assert not seen.hand.has("row-escalation")
    assert [r.told_at for r in seen.desk.records if isinstance(r, Escalation)] == [
        "2026-03-02T14:05:00+01:00"
    ]
    seen.go("concern", walk="", station="")
    seen.check_layout()
    seen.tap("row-told")
    assert seen.hand.has("undo")
    seen.tap("undo")
    assert seen.text("sentence") == "Nobody was told yet"
    seen.check_layout()
    assert seen.facts.needs_escalation


@pytest.mark.parametrize("tablet", LOW_AND_TALL)
def test_a_concern_is_corrected_and_its_page_shows_it(see, tablet):
    seen = see(tablet, quantity=35)
    seen.go("concern", walk="", station="")
    seen.tap("row-correct_concern")
    seen.check_layout()

    seen.tap("field-severity-choice-appearance")
    # The last field of a long form; what is typed by touch into a form has tests of its own.
    seen.hand.app.page.presenter.fill("why", "looked at the effect again")
    seen.tap("record")

    assert seen.at.screen == "concern"
    assert "Severity class: Appearance" in "\n".join(seen.hand.texts())
    made = [r for r in seen.desk.records if isinstance(r, Concern)]
    assert [(r.severity, r.quantity) for r in made] == [("function", 35), ("appearance", 35)]


@pytest.mark.parametrize("tablet", LOW_AND_TALL)
def test_evidence_is_kept_covered_and_taken_back_by_touch(see, tablet):
    seen = see(tablet)
    (seen.camera / "pads.jpg").write_bytes(as_jpeg(scene((80, 48))))
    entry = seen.desk.place.new_id()
    seen.go("evidence", walk="", station="", entry=entry)
    seen.check_layout()

    seen.tap("picture-1")
    assert seen.text("saved") == "On disk: picture"
    seen.check_layout()
    (photo,) = evidence_of(seen.facts, entry)
    seen.tap("kept-1")
    seen.check_layout()
    seen.tap("cover")
    seen.walk.draw_box(0.1, 0.2, 0.4, 0.6)
    seen.back()
    seen.back()
    assert "1 place covered" in seen.hand.find("kept-1").tile.caption
    seen.tap("undo")

    assert evidence_of(seen.facts, entry) == limit_samples(seen.facts, "ok") == ()
    assert photo.about == entry
    seen.back()
    assert seen.at.screen == "concern"
