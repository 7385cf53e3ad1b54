"""The live camera: a row of pictures that OpenCV opens as if it were a camera, and cameras that fail."""

from __future__ import annotations

import io
import sys
import threading
import time
import types
from datetime import UTC, datetime

import cv2
import numpy as np
import pytest
from PIL import Image, ImageChops

from tests.photos.camera import decoded, scene
from walkapp.devices.live_camera import OpenCvCamera
from walkapp.errors import DeviceError
from walkapp.photos import examine

NOW = datetime(2026, 3, 2, 6, 41, tzinfo=UTC)


@pytest.fixture
def roll(tmp_path):
    """Three pictures in a row: OpenCV decodes them as it decodes a camera's packed pictures."""
    folder = tmp_path / "roll"
    folder.mkdir()
    for number in range(3):
        scene((1600, 1200)).save(folder / f"f_{number:02d}.jpg", quality=95)
    return folder / "f_%02d.jpg"


@pytest.fixture
def start(request):
    """Give a camera that is let go of after the test."""

    def make(source, **more) -> OpenCvCamera:
        camera = OpenCvCamera(lambda: NOW, source, **more)
        request.addfinalizer(camera.close)
        return camera

    return make


def mean_difference(one: Image.Image, other: Image.Image) -> float:
    return float(np.asarray(ImageChops.difference(one.convert("RGB"), other.convert("RGB"))).mean())


def image_of(frame) -> Image.Image:
    return Image.frombytes("RGB", frame.size, frame.pixels)


def test_frames_are_small_in_the_right_colours_and_given_once(start, roll):
    camera = start(str(roll))
    camera.open()

    frame = camera.frame()

    assert frame.size == (960, 720)
    assert mean_difference(image_of(frame), scene((1600, 1200)).resize((960, 720))) < 4
    deadline = time.monotonic() + 5
    while camera.frame() is not None and time.monotonic() < deadline:
        time.sleep(0.02)
    assert camera.frame() is None


def test_a_picture_is_written_whole_at_full_size_beside_others(start, roll, tmp_path):
    camera = start(str(roll))
    camera.open()

    first, second = camera.take(tmp_path), camera.take(tmp_path)

    assert (first.name, second.name) == ("camera-20260302-064100.jpg", "camera-20260302-064100-2.jpg")
    facts = examine(first.read_bytes(), first.name)
    assert (facts.width_px, facts.height_px, facts.orientation, facts.has_location) == (
        1600,
        1200,
        1,
        False,
    )
    assert mean_difference(decoded(first.read_bytes()), scene((1600, 1200))) < 4
    assert sorted(path.name for path in tmp_path.iterdir()) == [second.name, first.name, "roll"]


def test_the_picture_has_jpeg_quality_95(start, roll, tmp_path):
    camera = start(str(roll))
    camera.open()

    taken = decoded(camera.take(tmp_path).read_bytes())

    again = io.BytesIO()
    scene((16, 16)).save(again, "JPEG", quality=95)
    assert taken.quantization == decoded(again.getvalue()).quantization


@pytest.mark.parametrize(
    ("turns", "turned"),
    [(1, Image.Transpose.ROTATE_270), (2, Image.Transpose.ROTATE_180), (3, Image.Transpose.ROTATE_90)],
)
def test_a_camera_that_is_built_in_sideways_gives_upright_frames_and_pictures(
    start, roll, tmp_path, turns, turned
):
    camera = start(str(roll))
    camera.turns = turns
    camera.open()

    taken, frame = decoded(camera.take(tmp_path).read_bytes()), camera.frame()

    upright = scene((1600, 1200)).transpose(turned)
    assert mean_difference(taken, upright) < 4
    assert mean_difference(image_of(frame), upright.resize(frame.size)) < 4


def test_a_camera_that_ends_is_said_in_a_sentence_and_can_be_opened_again(start, roll, tmp_path):
    camera = start(str(roll), stall_s=0.2)
    camera.open()
    with pytest.raises(DeviceError, match=r"gives no pictures any more; .* file\.$"):
        for _ in range(200):
            time.sleep(0.02)
            camera.frame()
    with pytest.raises(DeviceError):
        camera.take(tmp_path)

    camera.open()

    assert camera.frame() is not None


def test_no_camera_is_said_in_a_sentence(start, tmp_path):
    for source in (str(tmp_path / "none_%02d.jpg"), 7):
        with pytest.raises(DeviceError, match=r"^No camera answers; .* choose a picture file\.$"):
            start(source).open()


def test_what_is_not_open_is_said_in_a_sentence_and_letting_go_twice_does_no_harm(start, roll, tmp_path):
    camera = start(str(roll))
    for ask in (camera.frame, lambda: camera.take(tmp_path)):
        with pytest.raises(DeviceError, match="not open"):
            ask()
    camera.open()

    camera.close()
    camera.close()

    with pytest.raises(DeviceError, match="not open"):
        camera.frame()
    assert "walkapp-camera" not in {thread.name for thread in threading.enumerate()}


def test_a_full_disk_is_said_in_a_sentence_and_leaves_nothing(start, roll, tmp_path):
    camera = start(str(roll))
    camera.open()

    with pytest.raises(DeviceError, match=r"could not be written to .* free some room"):
        camera.take(tmp_path / "gone")

    assert not (tmp_path / "gone").exists()


# Cameras that fail in the ways that were seen, and in others


class Hardware:
    """Stands in for a camera at the place where OpenCV would open one."""

    released = 0

    def __init__(self, source) -> None:
        self.asked: dict[int, float] = {}

    def isOpened(self) -> bool:  # noqa: N802  OpenCV's own name
        return True

    def set(self, what, value) -> bool:
        self.asked[what] = value
        return False

    def read(self):
        time.sleep(0.01)
        return True, np.full((48, 64), 200, np.uint8)

    def release(self) -> None:
        type(self).released += 1


@pytest.mark.parametrize(
    "read",
    [
        lambda self: (True, None),
        lambda self: (False, None),
        lambda self: None,
        lambda self: (True, np.zeros((0, 0, 3), np.uint8)),
        lambda self: (_ for _ in ()).throw(cv2.error("select() timeout")),
        lambda self: (_ for _ in ()).throw(AttributeError("'NoneType' object has no attribute 'shape'")),
        lambda self: (_ for _ in ()).throw(MemoryError()),
    ],
)
def test_a_camera_that_opens_and_gives_nothing_is_no_camera(start, monkeypatch, read):
    monkeypatch.setattr(cv2, "VideoCapture", type("Dead", (Hardware,), {"read": read, "released": 0}))

    with pytest.raises(DeviceError, match="No camera answers"):
        start(0, stall_s=0.2).open()

    assert cv2.VideoCapture.released == 1


def test_a_camera_that_hangs_is_left_to_itself(start, monkeypatch):
    go_on = threading.Event()
    hanging = type("Hanging", (Hardware,), {"read": lambda self: (go_on.wait(20), None)})
    monkeypatch.setattr(cv2, "VideoCapture", hanging)
    monkeypatch.setattr("walkapp.devices.live_camera.LEAVE_S", 0.1)
    before = time.monotonic()

    with pytest.raises(DeviceError, match="No camera answers"):
        start(0, open_s=0.2).open()

    assert time.monotonic() - before < 5
    go_on.set()


def test_it_is_asked_for_the_largest_pictures_and_grey_ones_are_shown_too(start, monkeypatch, tmp_path):
    made = []
    monkeypatch.setattr(cv2, "VideoCapture", lambda source: made.append(Hardware(source)) or made[-1])
    camera = start(0)
    camera.open()

    frame = camera.frame()

    assert (frame.size, set(frame.pixels)) == ((64, 48), {200})
    assert made[0].asked[cv2.CAP_PROP_FRAME_WIDTH] == 4096
    assert examine(camera.take(tmp_path).read_bytes(), "x").width_px == 64


def test_without_the_library_or_on_android_there_is_no_such_camera(monkeypatch, start, tmp_path):
    camera = start(str(tmp_path / "f_%02d.jpg"))
    assert camera.is_there()
    monkeypatch.setattr(sys, "getandroidapilevel", lambda: 33, raising=False)
    assert not camera.is_there()
    monkeypatch.delattr(sys, "getandroidapilevel")

    broken = types.ModuleType("cv2")
    broken.__spec__ = None
    for library in (None, broken):
        monkeypatch.setitem(sys.modules, "cv2", library)
        assert not camera.is_there()
        with pytest.raises(DeviceError, match="No camera answers"):
            camera.open()
