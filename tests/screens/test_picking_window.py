"""Pictures chosen and taken in a real window: new ones appear, states are seen, pixels stand upright."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import pytest
from PIL import Image, ImageChops, ImageOps

from tests.photos.camera import as_jpeg, as_png, camera_exif, decoded, scene
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.devices.live_camera import OpenCvCamera
from walkapp.files import sha256_of
from walkapp.model.records import Photo
from walkapp.presenters.devices import Devices
from walkapp.screens.photo import LOOK_S, SHIFTED_S

pytestmark = [pytest.mark.long, pytest.mark.window]

TALL = {"size": (1900, 1900), "pixels_per_inch": 170}
"""No tablet: a window in which a dozen pictures are seen at once."""

LOW_AND_TALL = ["7 inch lying", "8 inch standing"]


class Seen:
    """A window on the photo page of a walk, and a camera that fills the folder."""

    def __init__(self, drive, desk, folder, tablet="7 inch lying", devices=None):
        sizes = dict(TABLETS.get(tablet, TALL))
        self._pixels_per_inch = sizes.pop("pixels_per_inch")
        self.desk = desk
        self.route = replace(self.desk.walk(), screen="photo", station="welding")
        self.camera = folder / "camera"
        self.camera.mkdir()
        app = window_app(
            self.desk.place, self.camera, bundles=folder / "bundles", devices=devices or Devices()
        )
        self.hand = drive(app, **sizes)
        self.walk = TouchWalk(self.desk, self.hand, self.camera)

    def open(self, **where):
        self.hand.app.go(replace(self.route, **where))
        self.walk.settle()
        return self

    def plates(self, name="picture"):
        found = [w for w in self.hand.widgets() if getattr(w, "test_name", "").startswith(f"{name}-")]
        return sorted(found, key=lambda plate: int(plate.test_name.rpartition("-")[2]))

    @property
    def photos(self):
        return [r for r in self.desk.records if isinstance(r, Photo)]

    def check_layout(self):
        assert problems(self.hand.window, pixels_per_inch=self._pixels_per_inch) == []


@pytest.fixture
def see(drive, desk, tmp_path):
    return partial(Seen, drive, desk, tmp_path)


@pytest.mark.parametrize("tablet", LOW_AND_TALL)
def test_pictures_appear_by_themselves_are_taken_in_and_show_their_state(see, tablet):
    seen = see(tablet).open()
    assert "has no camera" in seen.hand.find("invitation").text
    seen.check_layout()

    for number in range(3):
        (seen.camera / f"{number}.jpg").write_bytes(as_jpeg(scene((60 + number, 40))))
    seen.hand.wait(LOOK_S + 0.2)
    seen.hand.until(lambda: len(seen.plates()) == 3)
    assert [plate.tile.caption for plate in seen.plates()] == ["2.jpg", "1.jpg", "0.jpg"]
    seen.hand.wait(SHIFTED_S)
    seen.check_layout()
    for plate in seen.plates()[:2]:
        seen.walk.tap(plate.test_name)

    assert [plate.tile.word for plate in seen.plates()] == ["On disk", "On disk", ""]
    assert [photo.sha256 for photo in seen.photos] == [
        sha256_of((seen.camera / f"{number}.jpg").read_bytes()) for number in (2, 1)
    ]
    assert len(seen.plates("kept")) == 2
    seen.check_layout()
    seen.hand.wait(2 * LOOK_S)
    seen.walk.settle()
    assert seen.hand.find("saved").text == "On disk: photo at Hot-plate weld"
    seen.walk.tap("undo")
    assert [plate.tile.word for plate in seen.plates()] == ["On disk", "", ""]


def test_a_tap_is_not_taken_for_the_picture_that_has_just_moved_under_the_finger(see):
    seen = see("10 inch lying")
    (seen.camera / "a.jpg").write_bytes(as_jpeg())
    seen.open()
    (seen.camera / "b.jpg").write_bytes(as_jpeg(scene((44, 44))))
    where = seen.hand.find("picture-1")
    middle = where.to_window(*where.center)
    seen.hand.wait(LOOK_S)
    seen.hand.until(lambda: len(seen.plates()) == 2)

    seen.hand.tap(middle)
    seen.walk.settle()
    assert seen.photos == []
    seen.hand.wait(SHIFTED_S)
    seen.hand.tap(middle)
    seen.walk.settle()

    assert [photo.sha256 for photo in seen.photos] == [sha256_of((seen.camera / "b.jpg").read_bytes())]


@pytest.mark.parametrize("tablet", LOW_AND_TALL)
def test_another_folder_is_browsed_to_and_a_picture_taken_from_it(see, tablet):
    seen = see(tablet)
    folder = seen.camera / "100CANON"
    folder.mkdir()
    (folder / "img.jpg").write_bytes(as_jpeg())
    seen.open()
    seen.check_layout()

    seen.walk.tap(f"row-{folder}")
    assert [plate.tile.caption for plate in seen.plates()] == ["img.jpg"]
    seen.check_layout()
    seen.walk.tap("picture-1")

    assert [photo.sha256 for photo in seen.photos] == [sha256_of(as_jpeg())]


def test_older_pictures_are_turned_to_and_the_way_up_is_offered(see):
    seen = see("no tablet")
    for number in range(14):
        (seen.camera / f"{number:02}.jpg").write_bytes(as_jpeg(scene((40 + number, 40))))
    seen.open()
    assert len(seen.plates()) == 12
    assert seen.hand.find("newer").disabled

    seen.walk.tap("older")
    assert [plate.tile.caption for plate in seen.plates()] == ["01.jpg", "00.jpg"]
    assert seen.hand.find("older").disabled
    seen.walk.tap("folders-other")
    seen.check_layout()
    seen.walk.tap("row-..")

    assert seen.hand.app.page.presenter.picker._watch.folder == seen.camera.parent
    seen.walk.tap(f"folders-{seen.camera}")
    assert len(seen.plates()) == 12


@pytest.mark.parametrize("tablet", LOW_AND_TALL)
def test_the_live_camera_shows_what_it_sees_takes_it_and_is_let_go_of(see, tablet, tmp_path):
    roll = tmp_path / "roll"
    roll.mkdir()
    for number in range(2):
        scene((1200, 900)).save(roll / f"f_{number}.jpg", quality=95)
    desk_now = []
    camera = OpenCvCamera(lambda: desk_now[0](), str(roll / "f_%d.jpg"), stall_s=120)
    seen = see(tablet, devices=Devices(live=camera, still=camera))
    desk_now.append(seen.desk.place.now)
    seen.open()
    seen.check_layout()

    seen.walk.tap("camera")
    seen.hand.until(lambda: not seen.hand.find("take").disabled)
    seen.hand.wait(0.1)
    assert difference(on_screen(seen.hand, seen.hand.find("seen")), scene((1200, 900))) < 6
    seen.check_layout()
    seen.hand.app.dispatch("on_pause")
    seen.hand.app.aside.finish()
    assert camera._reader is None
    seen.hand.app.dispatch("on_resume")
    seen.hand.until(lambda: not seen.hand.find("take").disabled)
    seen.hand.tap("take")
    seen.hand.until(lambda: seen.hand.app.page.name == "photo")
    seen.walk.settle()

    (photo,) = seen.photos
    (file,) = seen.camera.glob("*.jpg")
    assert (photo.width_px, photo.height_px, photo.station) == (1200, 900, "welding")
    assert seen.desk.store.photo_path(photo.file_name).read_bytes() == file.read_bytes()
    assert [plate.tile.word for plate in seen.plates()] == ["On disk"]
    assert camera._reader is None


def test_a_tablet_whose_camera_does_not_answer_says_so_and_leads_back(see, tmp_path):
    camera = OpenCvCamera(lambda: None, str(tmp_path / "none_%d.jpg"))
    seen = see(devices=Devices(still=camera)).open()
    seen.walk.tap("camera")

    seen.hand.until(lambda: seen.hand.find("problem").text)

    assert seen.hand.find("problem").text.startswith("No camera answers")
    assert seen.hand.find("take").disabled
    seen.check_layout()
    seen.hand.back()
    seen.walk.settle()
    assert seen.hand.app.page.name == "photo"


# Which way is up, as it is seen


def difference(one: Image.Image, other: Image.Image) -> float:
    """Mean difference of two pictures of the same thing, both small, 0 to 255."""
    small = [image.convert("RGB").resize((60, 60)) for image in (one, other)]
    data = ImageChops.difference(*small).tobytes()
    return sum(data) / len(data)


def on_screen(hand, image_widget, shot=None) -> Image.Image:
    """Cut what an Image shows out of a picture of the window."""
    shot = shot or decoded(hand.shot("seen").read_bytes())
    x, y = image_widget.to_window(image_widget.center_x, image_widget.center_y)
    width, height = image_widget.norm_image_size
    left, top = x - width / 2, shot.height - y - height / 2
    return shot.crop((round(left), round(top), round(left + width), round(top + height)))


def image_of(plate):
    return next(w for w in plate.walk() if hasattr(w, "norm_image_size"))


def test_all_eight_orientations_of_both_formats_stand_upright_on_the_screen(see):
    seen = see("no tablet")
    data = {
        f"{orientation}.{ending}": write(scene((96, 64)), exif=camera_exif(orientation, place=False))
        for orientation in range(1, 9)
        for write, ending in ((as_jpeg, "jpg"), (as_png, "png"))
    }
    for name in sorted(data, reverse=True):
        (seen.camera / name).write_bytes(data[name])

    seen.open()
    checked = {}
    for page in range(2):
        shot = decoded(seen.hand.shot(f"page-{page}").read_bytes())
        for plate in seen.plates():
            name = plate.tile.caption
            wanted = ImageOps.exif_transpose(decoded(data[name]))
            checked[name] = difference(on_screen(seen.hand, image_of(plate), shot), wanted)
        if page == 0:
            seen.walk.tap("older")

    assert sorted(checked) == sorted(data)
    assert max(checked.values()) < 12, checked
    # The scene has no symmetry: any other turn or flip of it is farther away than that.
    turned = scene((96, 64)).transpose(Image.Transpose.FLIP_LEFT_RIGHT)
    assert difference(turned, scene((96, 64))) > 40


def test_a_picture_that_lies_on_its_side_stands_upright_when_it_is_recorded(see):
    seen = see("no tablet")
    (seen.camera / "six.jpg").write_bytes(as_jpeg(scene((96, 64)), exif=camera_exif(6)))
    seen.open()
    seen.walk.tap("picture-1")

    image = image_of(seen.plates("kept")[0])
    wanted = scene((96, 64)).transpose(Image.Transpose.ROTATE_270)
    assert difference(on_screen(seen.hand, image), wanted) < 12
    (photo,) = seen.photos
    assert (photo.width_px, photo.height_px) == (64, 96)
