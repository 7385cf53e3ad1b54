"""The camera program of an Android tablet: a stand-in for Java records what it is asked."""

from __future__ import annotations

import sys
import types
from datetime import UTC, datetime

import pytest

from tests.photos.camera import as_jpeg
from walkapp.devices.android_camera import AndroidCamera

NOW = datetime(2026, 3, 2, 6, 41, tzinfo=UTC)
OK, CANCELED = -1, 0


class Tablet:
    """Java's side: classes that note each call, and an activity that starts others."""

    def __init__(self) -> None:
        self.calls: list[tuple] = []
        self.listeners: list = []
        self.refuses: Exception | None = None

    def autoclass(self, name):
        note, tablet = self._note, self

        class Intent:
            FLAG_GRANT_READ_URI_PERMISSION, FLAG_GRANT_WRITE_URI_PERMISSION = 1, 2

            def __init__(self, action) -> None:
                self.action, self.extras, self.clip, self.flags = action, {}, None, 0

            def putExtra(self, name, value) -> None:  # noqa: N802  Java's own names
                self.extras[name] = value

            def setClipData(self, clip) -> None:  # noqa: N802
                self.clip = clip

            def addFlags(self, flags) -> None:  # noqa: N802
                self.flags |= flags

        class Activity:
            @staticmethod
            def getPackageName() -> str:  # noqa: N802
                return "org.example.walkapp"

            @staticmethod
            def startActivityForResult(intent, request) -> None:  # noqa: N802
                if tablet.refuses is not None:
                    raise tablet.refuses
                note("started", intent, request)

        return {
            "android.content.Intent": Intent,
            "android.provider.MediaStore": types.SimpleNamespace(
                ACTION_IMAGE_CAPTURE="android.media.action.IMAGE_CAPTURE", EXTRA_OUTPUT="output"
            ),
            "java.io.File": lambda path: ("file", path),
            "androidx.core.content.FileProvider": types.SimpleNamespace(
                getUriForFile=lambda here, authority, file: ("content", authority, file)
            ),
            "android.content.ClipData": types.SimpleNamespace(newRawUri=lambda label, uri: ("clip", uri)),
            "org.kivy.android.PythonActivity": types.SimpleNamespace(mActivity=Activity),
        }[name]

    def _note(self, *call) -> None:
        self.calls.append(call)

    def bind(self, on_activity_result) -> None:
        self.listeners.append(on_activity_result)

    def unbind(self, on_activity_result) -> None:
        self.listeners = [one for one in self.listeners if one != on_activity_result]

    @property
    def started(self):
        (call,) = (call for call in self.calls if call[0] == "started")
        return call[1:]

    def answer(self, result, request=None) -> None:
        # Java goes through its list of listeners: one that changes the list meanwhile breaks it.
        before = list(self.listeners)
        for listener in self.listeners:
            listener(self.started[1] if request is None else request, result, None)
            assert self.listeners == before


@pytest.fixture
def tablet(monkeypatch):
    made = Tablet()
    android = types.ModuleType("android")
    parts = {
        "android": android,
        "android.activity": types.SimpleNamespace(bind=made.bind, unbind=made.unbind),
        "android.config": types.SimpleNamespace(ACTIVITY_CLASS_NAME="org.kivy.android.PythonActivity"),
        "jnius": types.SimpleNamespace(autoclass=made.autoclass, cast=lambda kind, it: (kind, it)),
    }
    for name, module in parts.items():
        monkeypatch.setitem(sys.modules, name, module)
    return made


class Asked:
    """Somebody who asks for a picture, and whatever waits for the thread that draws."""

    def __init__(self, folder) -> None:
        self.folder = folder
        self.later: list = []
        self.told: list = []
        self.camera = AndroidCamera(lambda: NOW, self.later.append)

    def ask(self) -> None:
        self.camera.take(
            self.folder,
            lambda path: self.told.append(("taken", path)),
            lambda why: self.told.append(("failed", why)),
        )

    def draw(self) -> None:
        while self.later:
            self.later.pop(0)()


@pytest.fixture
def asked(tmp_path):
    return Asked(tmp_path)


def test_the_camera_program_is_asked_to_write_one_file_and_may_write_no_other(tablet, asked, tmp_path):
    assert asked.camera.is_there()

    asked.ask()

    intent, request = tablet.started
    address = ("content", "org.example.walkapp.pictures",
               ("file", str(tmp_path / "camera-20260302-064100.jpg")))  # fmt: skip
    assert intent.action == "android.media.action.IMAGE_CAPTURE"
    assert intent.extras == {"output": ("android.os.Parcelable", address)}
    assert (intent.clip, intent.flags) == (("clip", address), 3)
    assert 0 <= request < 2**16
    assert asked.told == []


def test_the_picture_is_told_on_the_thread_that_draws_and_nobody_listens_afterwards(tablet, asked):
    asked.ask()
    path = asked.folder / "camera-20260302-064100.jpg"
    path.write_bytes(as_jpeg())

    tablet.answer(OK)
    assert asked.told == []
    asked.draw()

    assert asked.told == [("taken", path)]
    assert tablet.listeners == []


@pytest.mark.parametrize("result", [CANCELED, OK])
def test_no_picture_is_said_in_a_sentence(tablet, asked, result):
    asked.ask()
    if result == CANCELED:
        # Some camera programs make the file before they are left.
        (asked.folder / "camera-20260302-064100.jpg").write_bytes(b"")

    tablet.answer(result)
    asked.draw()

    assert asked.told == [
        ("failed", "The camera gave no picture; take it again, or choose a picture file.")
    ]
    assert tablet.listeners == []


def test_answers_to_other_requests_are_left_to_others(tablet, asked):
    asked.ask()

    tablet.answer(OK, request=7)
    asked.draw()

    assert asked.told == []
    assert len(tablet.listeners) == 1


@pytest.mark.parametrize("refusal", [RuntimeError("JVM exception: SecurityException"), AttributeError("x")])
def test_a_tablet_that_refuses_is_said_in_a_sentence(tablet, asked, refusal):
    tablet.refuses = refusal

    asked.ask()

    ((word, why),) = asked.told
    assert word == "failed" and why.startswith("The camera could not be opened; allow it")
    assert tablet.listeners == []


def test_after_giving_up_nothing_is_told(tablet, asked):
    asked.ask()
    asked.camera.cancel()
    asked.camera.cancel()
    (asked.folder / "camera-20260302-064100.jpg").write_bytes(as_jpeg())

    tablet.answer(OK)
    asked.draw()

    assert asked.told == [] and tablet.listeners == []


def test_elsewhere_it_is_not_there(asked):
    assert not asked.camera.is_there()
