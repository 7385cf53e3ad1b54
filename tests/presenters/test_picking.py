"""Choosing pictures: the queue, other folders, new files that appear, and cameras that are asked."""

from __future__ import annotations

import errno
import os
from dataclasses import replace
from pathlib import Path

import pytest

from tests.fakes import Desk, Queue, run_now
from tests.photos.camera import as_jpeg, as_png, scene
from tests.store.support import FailingDisk
from walkapp.errors import DeviceError
from walkapp.files import sha256_of
from walkapp.model.records import Photo
from walkapp.presenters.camera import TURNS, CameraPage
from walkapp.presenters.devices import Devices, Frame
from walkapp.presenters.intake import OkSamplePage
from walkapp.presenters.photo import PhotoPage
from walkapp.presenters.session import Session
from walkapp.store import Store


class Taking:
    """One desk on which pictures are chosen, with a folder that a camera fills."""

    def __init__(self, folder: Path) -> None:
        self.desk = Desk(folder)
        self.route = replace(self.desk.walk(), screen="photo", station="welding", check="ear-look")
        self.camera = self.desk.pictures
        self.camera.mkdir()
        self._clock_s = 1_000

    def put(self, *names: str, folder: Path | None = None, data: bytes | None = None) -> None:
        """Let the camera write pictures, each a second after the one before."""
        for name in names:
            path = (folder or self.camera) / name
            path.write_bytes(data or as_jpeg(scene((40 + self._clock_s % 100, 30))))
            self._clock_s += 1
            os.utime(path, (self._clock_s, self._clock_s))

    def open(self, kind=PhotoPage, **where):
        page = kind(self.desk.session, replace(self.route, **where))
        page.open()
        return page

    @property
    def photos(self) -> list[Photo]:
        return [r for r in self.desk.records if isinstance(r, Photo)]


@pytest.fixture
def taking(tmp_path):
    made = Taking(tmp_path)
    yield made
    made.desk.store.close()


def names(page) -> list[str]:
    return [tile.caption for tile in page.state.choice.found]


def states(page) -> list[str]:
    return [tile.word for tile in page.state.choice.found]


# The queue


def test_pictures_chosen_one_after_the_other_wait_are_read_and_are_on_disk(taking):
    taking.put("a.jpg", "b.jpg", "c.jpg")
    page = taking.open()
    queue = Queue()
    taking.desk.session.aside = queue

    for tile in page.state.choice.found:
        page.choose(tile.key)

    assert names(page) == ["c.jpg", "b.jpg", "a.jpg"]
    assert states(page) == ["Being read", "Waiting", "Waiting"]
    assert [tile.mark for tile in page.state.choice.found] == ["undecided", "open", "open"]
    assert taking.photos == []
    queue.run()
    assert states(page) == ["On disk"] * 3
    assert [photo.sha256 for photo in taking.photos] == [
        sha256_of((taking.camera / name).read_bytes()) for name in ("c.jpg", "b.jpg", "a.jpg")
    ]
    assert page.state.frame.saved == "On disk: photo at Hot-plate weld"


def test_the_file_is_kept_byte_for_byte_and_not_touched_where_it_was(taking):
    taking.put("a.jpg", "b.png", data=as_png())
    page = taking.open()

    page.choose(page.state.choice.found[0].key)

    (photo,) = taking.photos
    assert taking.desk.store.photo_path(photo.file_name).read_bytes() == as_png()
    assert (taking.camera / "b.png").read_bytes() == as_png()


def test_a_tap_on_a_picture_that_waits_or_is_on_disk_does_nothing(taking):
    taking.put("a.jpg")
    page = taking.open()
    (tile,) = page.state.choice.found
    queue = Queue()
    taking.desk.session.aside = queue

    for _ in range(3):
        page.choose(tile.key)
    queue.run()
    page.choose(tile.key)
    queue.run()

    assert len(taking.photos) == 1


def test_the_same_picture_under_two_names_is_taken_in_once(taking):
    taking.put("a.jpg", "copy.jpg", data=as_jpeg())
    page = taking.open()
    queue = Queue()
    taking.desk.session.aside = queue

    for tile in page.state.choice.found:
        page.choose(tile.key)
    queue.run()

    assert len(taking.photos) == 1
    assert states(page) == ["On disk"] * 2


def test_one_that_fails_says_why_and_the_others_are_taken_in(taking):
    taking.put("a.jpg", "b.jpg", "c.jpg")
    page = taking.open()
    (taking.camera / "b.jpg").write_bytes(as_jpeg()[:300])

    for tile in page.state.choice.found:
        page.choose(tile.key)

    assert page.state.frame.problem.startswith("b.jpg is damaged or was not copied completely")
    assert states(page) == ["On disk", "Not recorded", "On disk"]
    assert page.state.choice.found[1].mark == "error"
    assert len(taking.photos) == 2
    (taking.camera / "b.jpg").write_bytes(as_jpeg())
    page.choose(str(taking.camera / "b.jpg"))
    assert page.state.frame.problem == ""
    assert len(taking.photos) == 3


def test_many_that_fail_are_said_in_two_sentences_and_a_number(taking):
    taking.put(*(f"{number}.jpg" for number in range(6)))
    page = taking.open()
    for path in taking.camera.iterdir():
        path.unlink()

    for tile in page.state.choice.found:
        page.choose(tile.key)

    assert page.state.frame.problem.count("is no longer there") == 2
    assert page.state.frame.problem.endswith("4 more pictures could not be taken in.")


def test_what_was_chosen_is_taken_in_though_the_page_is_left(taking):
    taking.put("a.jpg", "b.jpg")
    page = taking.open()
    page.watch(print)
    queue = Queue()
    taking.desk.session.aside = queue
    for tile in page.state.choice.found:
        page.choose(tile.key)

    page.unwatch(print)
    queue.run()

    assert [(photo.station, photo.check) for photo in taking.photos] == [("welding", "ear-look")] * 2


def test_a_page_shows_only_its_own_queue(taking):
    taking.put("a.jpg")
    page = taking.open()
    queue = Queue()
    taking.desk.session.aside = queue
    page.choose(page.state.choice.found[0].key)
    other = taking.open(station="packing", check="")
    queue.run()

    assert other.state.frame.saved == ""
    assert [photo.station for photo in taking.photos] == ["welding"]


def test_words_typed_for_the_next_picture_outlive_one_that_fails(taking):
    taking.put("a.jpg", "b.jpg")
    page = taking.open(OkSamplePage, screen="limit_ok", walk="", station="", check="")
    (taking.camera / "b.jpg").unlink()
    page.fill("white line")

    page.choose(page.state.choice.found[0].key)

    assert page.state.caption == "white line"
    page.choose(page.state.choice.found[1].key)
    assert [photo.caption for photo in taking.photos] == ["white line"]
    assert page.state.caption == ""


# Folders


def test_a_new_picture_appears_by_itself_and_first(taking):
    taking.put("a.jpg")
    page = taking.open()

    taking.put("b.jpg")
    page.look_for_pictures()

    assert names(page) == ["b.jpg", "a.jpg"]


@pytest.mark.parametrize("kind", [PhotoPage, OkSamplePage])
def test_looking_for_pictures_reads_no_record_and_wipes_away_nothing_that_was_said(taking, kind):
    taking.put("a.jpg")
    page = taking.open(kind)
    head = (lambda: page.state.frame) if kind is PhotoPage else (lambda: page.state)
    page.choose(page.state.choice.found[0].key)
    saved = head().saved
    assert saved
    page.look_for_pictures()
    assert head().saved == saved

    page.fail(DeviceError("The camera gave no picture; take it again."))
    taking.desk.session.run_later = Queue()  # whatever would be read now waits
    taking.put("b.jpg")
    page.look_for_pictures()

    assert names(page) == ["b.jpg", "a.jpg"]
    assert head().problem == "The camera gave no picture; take it again."
    assert taking.desk.session.run_later.waiting == []


def test_a_picture_that_is_still_being_copied_appears_when_it_is_whole(taking):
    whole = as_jpeg(scene((300, 200)))
    taking.put("a.jpg", data=whole[: len(whole) // 2])
    page = taking.open()
    assert page.state.choice.found == ()
    assert "1 file cannot be shown: not copied completely yet, or damaged." in page.state.choice.invitation

    # A card with a coarse clock: the file looks unchanged.
    (taking.camera / "a.jpg").write_bytes(whole[: len(whole) // 2 - 1] + b"\0")
    os.utime(taking.camera / "a.jpg", (1_001, 1_001))
    page.look_for_pictures()
    assert page.state.choice.found == ()
    (taking.camera / "a.jpg").write_bytes(whole)
    page.look_for_pictures()

    assert names(page) == ["a.jpg"]
    assert "cannot be shown" not in page.state.choice.invitation


def test_a_picture_that_is_known_is_not_read_again(taking):
    taking.put("a.jpg", "b.jpg")
    page = taking.open()
    before = page.state.choice.found
    for path in taking.camera.iterdir():
        facts = path.stat()
        path.write_bytes(b"x" * facts.st_size)
        os.utime(path, ns=(facts.st_atime_ns, facts.st_mtime_ns))

    page.look_for_pictures()

    assert page.state.choice.found == before


def test_a_folder_of_many_pictures_is_shown_a_dozen_at_a_time(taking):
    taking.put(*(f"{number:03}.jpg" for number in range(30)))
    page = taking.open()
    assert (names(page)[0], len(names(page))) == ("029.jpg", 12)
    assert (page.state.choice.has_newer, page.state.choice.has_older) == (False, True)
    assert page.state.choice.place.endswith("1 to 12 of 30 pictures, the newest first")

    page.picker.turn(1)
    page.picker.turn(1)

    assert names(page) == [f"{number:03}.jpg" for number in range(5, -1, -1)]
    assert (page.state.choice.has_newer, page.state.choice.has_older) == (True, False)
    for path in sorted(taking.camera.iterdir())[3:]:
        path.unlink()
    page.look_for_pictures()
    assert names(page) == ["002.jpg", "001.jpg", "000.jpg"]
    assert not page.state.choice.has_newer


def test_other_folders_are_browsed_up_and_down_and_a_picture_is_taken_there(taking, tmp_path):
    card = tmp_path / "card" / "DCIM" / "100CANON"
    card.mkdir(parents=True)
    taking.put("img_1.jpg", folder=card)
    taking.desk.session.devices = Devices(drives=lambda: (tmp_path / "card",))
    page = taking.open()
    assert page.state.choice.folders == (
        (str(taking.camera), "camera"), (str(card.parent), "card"), ("other", "Other folder"),
    )  # fmt: skip

    page.picker.choose_folder(str(card.parent))
    assert page.state.choice.folder == str(card.parent)
    assert [row.title for row in page.state.choice.rows] == ["Up", "100CANON"]  # nothing else to choose
    page.picker.row(str(card))
    assert page.state.choice.folder == "other"
    page.choose(page.state.choice.found[0].key)
    page.picker.row("..")
    page.picker.row("..")

    assert [photo.size_bytes for photo in taking.photos] == [(card / "img_1.jpg").stat().st_size]
    assert page.state.choice.place.endswith(" / card")
    page.picker.choose_folder(str(taking.camera))
    assert page.state.choice.rows == ()


def test_rows_of_folders_are_few_and_more_is_said(taking):
    for number in range(60):
        (taking.camera / f"folder {number:02}").mkdir()
    page = taking.open()

    page.picker.choose_folder("other")

    assert [row.title for row in page.state.choice.rows][:2] == ["Up", "folder 00"]
    assert len(page.state.choice.rows) == 41
    assert page.state.choice.place.endswith("the first 40 of 60 folders")


def test_a_folder_that_is_taken_away_is_said_and_the_page_goes_on(taking, tmp_path):
    card = tmp_path / "card"
    card.mkdir()
    taking.put("a.jpg", folder=card)
    page = taking.open()
    page.picker.row(str(card))
    assert names(page) == ["a.jpg"]

    (card / "a.jpg").unlink()
    card.rmdir()
    page.look_for_pictures()

    assert page.state.choice.found == ()
    assert page.state.choice.invitation.startswith("No picture in the folder card.")
    page.picker.choose_folder(str(taking.camera))
    assert page.state.frame.problem == ""


def test_where_nothing_but_files_is_there_the_page_says_so(taking):
    page = taking.open()

    assert page.state.choice.sources == ()
    assert page.state.choice.invitation.endswith(
        "This tablet has no camera that the program can use: copy pictures into the folder, and they "
        "appear here by themselves."
    )


# A camera program that is asked


class CameraProgram:
    """A source that answers when the test says so."""

    word, label = "program", "Camera program"

    def __init__(self) -> None:
        self.asked: list = []
        self.cancelled = 0

    def is_there(self) -> bool:
        return True

    def take(self, into, taken, failed) -> None:
        self.asked.append((into, taken, failed))

    def cancel(self) -> None:
        self.cancelled += 1

    def answer(self, data: bytes = as_jpeg(), name: str = "new.jpg") -> Path:
        into, taken, _ = self.asked[-1]
        (into / name).write_bytes(data)
        taken(into / name)
        return into / name


@pytest.fixture
def program(taking):
    made = CameraProgram()
    taking.desk.session.devices = Devices(sources=(made,))
    return made


def test_a_picture_that_is_asked_for_is_taken_in_and_lies_in_the_watched_folder(taking, program):
    page = taking.open()
    assert page.state.choice.sources == (("program", "Camera program"),)

    page.take("program")
    assert page.state.choice.asking == "Waiting for the picture: Camera program."
    page.take("program")
    given = program.answer()

    assert len(program.asked) == 1
    (photo,) = taking.photos
    assert (photo.station, photo.check, photo.sha256) == ("welding", "ear-look", sha256_of(as_jpeg()))
    assert not given.exists()
    assert (taking.camera / "new.jpg").read_bytes() == as_jpeg()
    assert page.state.choice.asking == ""
    page.look_for_pictures()
    assert states(page) == ["On disk"]


def test_no_picture_is_said_in_the_words_of_the_camera(taking, program):
    page = taking.open()
    page.take("program")

    program.asked[0][2]("The camera gave no picture; take it again.")

    assert page.state.choice.invitation.startswith("The camera gave no picture; take it again.")
    assert page.state.choice.asking == ""
    assert "draft asked picture" not in taking.desk.store.place()


def ended_and_opened_again(taking, **where):
    """The system ends the program while the camera is in front, and it is started again."""
    before = taking.desk.session
    taking.desk.session = Session(
        before.place,
        run_later=run_now,
        go=taking.desk.routes.append,
        picture_folders=before.picture_folders,
        bundles=before.bundles,
        devices=before.devices,
    )
    return taking.open(**where)


def test_a_picture_that_came_while_the_program_was_ended_is_taken_in_where_it_was_asked_for(
    taking, program
):
    page = taking.open()
    page.take("program")
    (program.asked[0][0] / "new.jpg").write_bytes(as_jpeg())

    elsewhere = ended_and_opened_again(taking, station="packing")
    assert taking.photos == [] and elsewhere.state.choice.found == ()
    again = ended_and_opened_again(taking)

    assert [(photo.station, photo.check) for photo in taking.photos] == [("welding", "ear-look")]
    assert "new.jpg was taken for this page before it was left." in again.state.choice.invitation
    taking.open()
    assert len(taking.photos) == 1


@pytest.mark.parametrize("left", [None, b""])
def test_a_camera_that_gave_nothing_before_the_program_was_ended_is_said(taking, program, left):
    taking.open().take("program")
    if left is not None:
        (program.asked[0][0] / "new.jpg").write_bytes(left)

    again = ended_and_opened_again(taking)

    assert again.state.choice.invitation.startswith("A picture was asked for here and none has come")
    assert taking.photos == []


def test_half_a_picture_that_the_camera_left_is_said_and_not_recorded(taking, program):
    taking.open().take("program")
    (program.asked[0][0] / "new.jpg").write_bytes(as_jpeg()[:400])

    again = ended_and_opened_again(taking)

    assert "new.jpg is damaged or was not copied completely" in again.state.frame.problem
    assert taking.photos == []
    assert (taking.camera / "new.jpg").exists()


def test_leaving_the_page_gives_the_camera_up_and_keeps_what_it_gives_all_the_same(taking, program):
    page = taking.open()
    page.watch(print)
    page.take("program")

    page.unwatch(print)
    assert program.cancelled == 1
    (program.asked[0][0] / "late.jpg").write_bytes(as_jpeg())
    page = taking.open()

    assert len(taking.photos) == 1


def test_pictures_left_from_an_earlier_question_are_kept_under_names_of_their_own(taking, program):
    page = taking.open()
    page.take("program")
    program.asked[0][2]("none")
    (program.asked[0][0] / "new.jpg").write_bytes(as_png())
    page.take("program")
    program.answer()

    assert (taking.camera / "new.jpg").read_bytes() == as_png()
    assert (taking.camera / "new-2.jpg").read_bytes() == as_jpeg()
    assert [photo.sha256 for photo in taking.photos] == [sha256_of(as_jpeg())]


# The live camera


class LiveCamera:
    """A camera that shows one frame again and again."""

    def __init__(self) -> None:
        self.turns, self.is_open, self.trouble = 0, False, ""
        self.shown = Frame(size=(2, 1), pixels=bytes(6))

    def is_there(self) -> bool:
        return True

    def open(self) -> None:
        self._check()
        self.is_open = True

    def frame(self):
        self._check()
        return self.shown if self.is_open else None

    def take(self, into: Path) -> Path:
        self._check()
        (into / "taken.jpg").write_bytes(as_jpeg())
        return into / "taken.jpg"

    def close(self) -> None:
        self.is_open = False

    def _check(self) -> None:
        if self.trouble:
            raise DeviceError(self.trouble)


@pytest.fixture
def live(taking):
    made = LiveCamera()
    taking.desk.session.devices = Devices(still=made)
    return made


def test_the_button_leads_to_the_live_camera_and_its_picture_is_taken_in(taking, live):
    page = taking.open()
    assert page.state.choice.sources == (("camera", "Camera"),)
    page.take("camera")
    route = taking.desk.routes[-1]
    camera = CameraPage(taking.desk.session, route)
    camera.open()
    assert (camera.state.frame, camera.state.can_take) == (live.shown, True)

    camera.take()
    camera.close()

    assert taking.desk.routes[-1] == taking.route
    assert not live.is_open
    page = taking.open()
    assert [(p.station, p.sha256) for p in taking.photos] == [("welding", sha256_of(as_jpeg()))]
    assert names(page) == ["taken.jpg"] and states(page) == ["On disk"]
    taking.open()
    assert len(taking.photos) == 1


def test_words_that_were_typed_go_with_the_picture_of_the_live_camera(taking, live):
    where = {"screen": "limit_ok", "walk": "", "station": "", "check": ""}
    page = taking.open(OkSamplePage, **where)
    page.fill("white line")
    page.take("camera")
    camera = CameraPage(taking.desk.session, taking.desk.routes[-1])
    camera.open()
    camera.take()

    page = taking.open(OkSamplePage, **where)

    assert [(photo.limit, photo.caption) for photo in taking.photos] == [("ok", "white line")]
    assert page.state.caption == ""


@pytest.mark.parametrize("fails", ["open", "frame", "take"])
def test_a_camera_that_fails_is_said_and_let_go_of(taking, live, fails):
    camera = CameraPage(taking.desk.session, taking.route.down("camera"))
    if fails != "open":
        camera.open()
    live.trouble = "The camera gives no pictures any more; choose a file."

    {"open": camera.open, "frame": camera.look, "take": camera.take}[fails]()

    assert camera.state.problem == live.trouble
    assert not camera.state.can_take and not live.is_open
    camera.back()
    assert taking.desk.routes[-1] == taking.route


def test_a_tablet_without_a_camera_says_so(taking):
    camera = CameraPage(taking.desk.session, taking.route.down("camera"))
    camera.open()
    camera.take()
    camera.turn()
    camera.look()
    camera.close()

    assert "has no camera" in camera.state.problem


def test_how_the_camera_is_built_in_is_kept_for_the_next_time(taking, live):
    camera = CameraPage(taking.desk.session, taking.route.down("camera"))
    camera.open()
    camera.turn()
    camera.turn()
    assert live.turns == 2 and taking.desk.session.settings.word(TURNS) == "2"
    live.turns = 0

    CameraPage(taking.desk.session, taking.route.down("camera")).open()

    assert live.turns == 2


# A full disk


def test_a_full_disk_is_said_nothing_is_lost_and_the_picture_is_taken_in_when_there_is_room(taking):
    taking.put("a.jpg", "b.jpg")
    full = []
    disk = FailingDisk(lambda name, _: errno.ENOSPC if full and name in ("create", "open_append") else None)
    taking.desk.store.close()
    place = taking.desk.session.place
    place.store = taking.desk.store = Store(
        taking.desk.pictures.parent / "store", now=place.now, new_id=place.new_id, app="test", disk=disk
    )
    page = taking.open(OkSamplePage, screen="limit_ok", walk="", station="", check="")
    page.fill("white line")
    full.append(True)

    for tile in page.state.choice.found:
        page.choose(tile.key)

    assert "not saved" in page.state.problem
    assert states(page) == ["Not recorded"] * 2
    assert (taking.photos, page.state.saved, page.state.caption) == ([], "", "white line")
    full.clear()
    page.choose(page.state.choice.found[0].key)
    assert [photo.caption for photo in taking.photos] == ["white line"]
    assert states(page) == ["On disk", "Not recorded"]
