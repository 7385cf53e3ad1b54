"""Pictures outside any walk: limit samples and evidence are kept, sent, covered and taken back."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cameras import BADGE, FACE, PHONE, pictures_in
from tests.fakes import Desk
from tests.photos.camera import SECRETS, as_jpeg, scene
from walkapp.actions.books import OutsideWalks
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.copies import copies_by_photo, cover_all, cover_place, uncover_last
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.judging import evidence_of, judging_text, limit_samples, on_both_sides
from walkapp.actions.merging import merge_bundles
from walkapp.actions.reading import concern_facts
from walkapp.actions.undoing import newest_entry, take_back
from walkapp.actions.walking import Walking
from walkapp.errors import InputError, RecordError
from walkapp.model.records import LIMITS, Photo, PhotoCopy, Withdrawal

OTHER = as_jpeg(scene((30, 20)))


class Bench:
    """One tablet with one concern; pictures of it outside any walk."""

    def __init__(self, folder, seed=0, concern=""):
        self.folder = folder
        self.desk = Desk(folder, seed=seed)
        self.concern = concern or self.desk.concern()

    @property
    def place(self):
        return self.desk.place

    @property
    def facts(self):
        return concern_facts(self.place, self.concern)

    @property
    def here(self):
        return OutsideWalks(self.facts)

    def take(self, data=PHONE, **subject):
        subject = subject or {"limit": "not_ok"}
        return keep_photo(
            self.place, Subject(concern=self.concern, **subject), data, "x.jpg", invented=True
        )

    def cover(self, photo, box=FACE):
        return cover_place(self.place, self.here, photo.sha256, box)

    def take_back(self, only=None):
        return take_back(self.place, self.concern, (Photo,), only)

    def send(self, name="sent.zip"):
        return bundle_concerns(self.place, self.folder / name).path

    def merge(self, path):
        merge_bundles(self.place, [path])

    def counting(self, kind):
        return [r for r in self.facts.standing.current if isinstance(r, kind)]

    def boxes(self, photo):
        found = copies_by_photo(self.facts.standing).get(photo.sha256)
        return found.boxes if found else ()

    def close(self):
        self.desk.store.close()


@pytest.fixture
def bench(tmp_path):
    made = Bench(tmp_path)
    yield made
    made.close()


def test_limit_samples_are_told_by_side_the_newest_first(bench):
    ok = bench.take(limit="ok")
    first, second = bench.take(OTHER), bench.take(as_jpeg(scene((50, 20))))
    bench.take(as_jpeg(scene((51, 20))), about=ok.id)

    assert limit_samples(bench.facts, "ok") == (ok,)
    assert limit_samples(bench.facts, "not_ok") == (second, first)
    assert (ok.station, ok.walk, ok.check) == ("", "", "")


def test_evidence_belongs_to_its_entry_alone_the_oldest_first(bench):
    entry, other = bench.desk.place.new_id(), bench.desk.place.new_id()
    sample = bench.take()
    first, second = bench.take(OTHER, about=entry), bench.take(about=entry)
    bench.take(OTHER, about=other)

    assert evidence_of(bench.facts, entry) == (first, second)
    assert evidence_of(bench.facts, "") == ()
    assert evidence_of(bench.facts, sample.id) == ()


def test_a_picture_that_belongs_to_nothing_is_refused_and_not_recorded(bench):
    before = bench.desk.records

    with pytest.raises(RecordError, match="belongs to something"):
        keep_photo(bench.place, Subject(concern=bench.concern), PHONE, "x.jpg")

    assert bench.desk.records == before


def test_the_words_of_the_concern_come_before_those_of_the_checklist(bench):
    assert judging_text(bench.facts).startswith("OK: even colour all round the ear.")

    said = Bench(bench.folder / "two", seed=1, concern="-")
    said.concern = said.desk.concern(how_to_judge="Bend it (invented)")
    assert judging_text(said.facts) == "Bend it (invented)"
    said.close()


def test_a_limit_sample_leaves_as_a_copy_without_metadata(bench):
    photo = bench.take()

    ((name, data),) = pictures_in(bench.send()).items()

    assert name != photo.file_name
    assert [secret for secret in SECRETS if secret in data] == []


def test_people_covered_in_a_limit_sample_are_covered_in_what_leaves(bench):
    photo = bench.take()
    copy = bench.cover(photo)

    ((name, _),) = pictures_in(bench.send()).items()

    assert (name, copy.walk, copy.boxes) == (copy.file_name, "", (FACE,))
    assert bench.boxes(photo) == (FACE,)


def test_the_place_covered_last_is_taken_back(bench):
    photo = bench.take()
    bench.cover(photo, FACE)
    bench.cover(photo, BADGE)

    uncover_last(bench.place, bench.here, photo.sha256)
    assert bench.boxes(photo) == (FACE,)
    uncover_last(bench.place, bench.here, photo.sha256)
    assert bench.boxes(photo) == ()


def test_a_picture_of_a_walk_is_not_covered_from_outside_it(bench):
    route = bench.desk.walk()
    walked = Walking(bench.place, route.concern, route.walk).add_photo("moulding", PHONE, "x.jpg")

    with pytest.raises(InputError, match="not recorded here; go back and choose one"):
        cover_place(
            bench.place, OutsideWalks(concern_facts(bench.place, route.concern)), walked.sha256, FACE
        )


def test_taking_back_a_picture_stops_its_copy_too(bench):
    photo = bench.take()
    (copy,) = bench.counting(PhotoCopy)

    gone = bench.take_back()

    assert isinstance(gone, Withdrawal)
    assert set(gone.replaces) == {photo.id, copy.id}
    assert bench.counting(Photo) == bench.counting(PhotoCopy) == []
    assert pictures_in(bench.send()) == {}


def test_a_covered_picture_that_is_taken_back_and_taken_in_again_is_still_covered(bench):
    photo = bench.take()
    bench.cover(photo, FACE)

    bench.take_back()
    assert bench.counting(Photo) == []
    assert pictures_in(bench.send()) == {}
    assert newest_entry(bench.place, bench.concern, (Photo,)) is None

    assert bench.boxes(bench.take(limit="ok")) == (FACE,)


def test_the_copy_goes_on_counting_while_the_same_picture_is_recorded_once_more(bench):
    kept = bench.take(limit="ok")
    (copy,) = bench.counting(PhotoCopy)
    bench.take(about=kept.id)

    bench.take_back()

    assert bench.counting(Photo) == [kept]
    assert copy in bench.counting(PhotoCopy)


def test_each_page_takes_back_its_own_pictures_only(bench):
    sample = bench.take()
    bench.take(OTHER, about=sample.id)

    bench.take_back(lambda record: bool(record.limit))

    assert limit_samples(bench.facts, "not_ok") == ()
    assert len(evidence_of(bench.facts, sample.id)) == 1
    with pytest.raises(InputError, match="nothing on this page"):
        bench.take_back(lambda record: bool(record.limit))


def test_a_picture_taken_back_can_be_taken_in_again(bench):
    bench.take()
    bench.take_back()

    again = bench.take(limit="ok")

    assert bench.counting(Photo) == [again]
    assert len(bench.counting(PhotoCopy)) == 1


def test_a_picture_taken_back_stays_so_when_another_tablet_covered_it_meanwhile(bench, tmp_path):
    photo = bench.take(as_jpeg(scene((80, 48))))
    two = Bench(tmp_path / "two", seed=1, concern=bench.concern)
    two.merge(bench.send())
    two.cover(photo)
    bench.take_back()

    bench.merge(two.send())
    two.merge(bench.send("later.zip"))

    for tablet in (bench, two):
        assert limit_samples(tablet.facts, "not_ok") == ()
        assert pictures_in(tablet.send("all.zip")) == {}
    assert bench.facts.standing == two.facts.standing
    two.close()


def test_tablets_that_covered_different_places_of_a_sample_are_settled_outside_any_walk(bench, tmp_path):
    photo = bench.take(as_jpeg(scene((80, 48))))
    two = Bench(tmp_path / "two", seed=1, concern=bench.concern)
    two.merge(bench.send())
    two.cover(photo, BADGE)
    bench.cover(photo, FACE)
    bench.merge(two.send())
    assert pictures_in(bench.send("none.zip")) == {}

    cover_all(bench.place, bench.here, photo.sha256)

    assert set(bench.boxes(photo)) == {FACE, BADGE}
    assert len(pictures_in(bench.send("one.zip"))) == 1
    two.close()


def test_a_picture_on_both_sides_is_told(bench, tmp_path):
    photo = bench.take(OTHER, limit="ok")
    two = Bench(tmp_path / "two", seed=1, concern=bench.concern)
    two.take(OTHER, limit="not_ok")
    assert on_both_sides(bench.facts) == frozenset()

    bench.merge(two.send())

    assert on_both_sides(bench.facts) == {photo.sha256}
    two.close()


PICTURES = (PHONE, OTHER)
STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("take"), st.sampled_from((0, 1)), st.sampled_from(("ok", "not_ok", "about"))),
        st.tuples(st.just("undo"), st.just(0), st.sampled_from(("limit", "about"))),
    ),
    max_size=8,
)


@given(STEPS)
@settings(max_examples=25)
def test_undo_leaves_what_a_page_would_have_without_the_entry(tmp_path_factory, steps):
    """Law: the pictures of each page are a stack; undo takes the top one of its page, and no other's."""
    bench = Bench(tmp_path_factory.mktemp("law"))
    about = bench.place.new_id()
    stacks = {"limit": [], "about": []}
    for step, number, which in steps:
        page = "about" if which == "about" else "limit"
        if step == "take":
            subject = {"about": about} if page == "about" else {"limit": which}
            stacks[page].append(bench.take(PICTURES[number], **subject))
        elif stacks[page]:
            bench.take_back(lambda record, page=page: bool(getattr(record, page)))
            stacks[page].pop()
    kept = [*stacks["limit"], *stacks["about"]]

    assert {r.id for r in bench.counting(Photo)} == {r.id for r in kept}
    assert [p.id for p in evidence_of(bench.facts, about)] == [p.id for p in stacks["about"]]
    for limit in LIMITS:
        expected = [p.id for p in reversed(stacks["limit"]) if p.limit == limit]
        assert [p.id for p in limit_samples(bench.facts, limit)] == expected
    # A copy counts as long as its picture is recorded anywhere, and no longer.
    copied = {copy.photo for copy in bench.counting(PhotoCopy)}
    assert copied == {p.sha256 for p in kept} - {p.sha256 for p in kept if p.size_bytes == len(OTHER)}
    bench.close()
