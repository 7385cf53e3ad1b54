"""Tones and buzzes: told apart by their beats, and silent without a word where there is no device."""

from __future__ import annotations

import sys
import wave
from types import ModuleType, SimpleNamespace

import pytest

from walkapp.devices.feedback import BEATS, BUZZES_MS, RATE_HZ, Answers, Buzz, Sound, write_tone

WORDS = ("recorded", "taken_back", "refused")


def loud_stretches(path):
    """Count the stretches of a WAV file that can be heard, of at least 10 ms."""
    with wave.open(str(path)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE_HZ)
        data = file.readframes(file.getnframes())
    levels = [abs(int.from_bytes(data[i : i + 2], "little", signed=True)) for i in range(0, len(data), 2)]
    window = RATE_HZ // 50
    is_loud = [max(levels[i : i + window]) > 2_000 for i in range(0, len(levels), window)]
    return sum(now and not before for now, before in zip(is_loud, [False, *is_loud], strict=False))


def test_each_word_has_another_number_of_beats_as_tone_and_as_buzz(tmp_path):
    for count, what in enumerate(WORDS, start=1):
        path = tmp_path / f"{what}.wav"
        write_tone(path, BEATS[what])
        assert loud_stretches(path) == count
        assert len(BUZZES_MS[what]) == 2 * count and BUZZES_MS[what][0] == 0
        assert sum(BUZZES_MS[what]) < 1000


class Tones:
    """Stands for a sound library; notes what is played."""

    def __init__(self):
        self.played = []

    def load(self, path):
        name = path.rpartition("/")[2].removesuffix(".wav")
        return SimpleNamespace(stop=lambda: None, play=lambda: self.played.append(name))


def test_a_tone_is_played_for_each_word_and_for_no_other():
    tones = Tones()
    sound = Sound(tones.load)
    assert sound.is_there()

    for what in (*WORDS, "something else"):
        sound.tell(what)

    assert tones.played == list(WORDS)


@pytest.mark.parametrize("fault", [OSError("no card"), ImportError("no library"), None])
def test_a_tablet_without_sound_is_silent_and_raises_nothing(fault):
    def load(_path):
        if fault is not None:
            raise fault

    sound = Sound(load)

    assert not sound.is_there()
    sound.tell("recorded")


def test_a_sound_that_fails_while_it_plays_is_asked_no_more():
    def play():
        raise RuntimeError("the headset is gone")

    sound = Sound(lambda _path: SimpleNamespace(stop=lambda: None, play=play))
    assert sound.is_there()

    sound.tell("recorded")

    assert not sound.is_there()


class Android:
    """A small fake of ``jnius``, after Android's public API: notes what the vibrator is told."""

    def __init__(self, sdk=33, *, has=True, fails=False):
        self.buzzed = []

        def vibrate(*effect):
            if fails:
                raise RuntimeError("java.lang.SecurityException")
            self.buzzed.append(effect)

        vibrator = SimpleNamespace(hasVibrator=lambda: has, vibrate=vibrate)
        classes = {
            "org.kivy.android.PythonActivity": SimpleNamespace(
                mActivity=SimpleNamespace(
                    getSystemService=lambda name: vibrator if name == "vibrator" else None
                )
            ),
            "android.content.Context": SimpleNamespace(VIBRATOR_SERVICE="vibrator"),
            "android.os.Build$VERSION": SimpleNamespace(SDK_INT=sdk),
            "android.os.VibrationEffect": SimpleNamespace(
                createWaveform=lambda times, again: ("waveform", tuple(times), again)
            ),
        }
        self.module = ModuleType("jnius")
        self.module.autoclass = classes.__getitem__
        self.module.cast = lambda _name, what: what


@pytest.mark.parametrize("sdk", [21, 25, 26, 34])
def test_the_vibrator_of_android_is_told_the_waveform_of_each_word(monkeypatch, sdk):
    android = Android(sdk)
    monkeypatch.setitem(sys.modules, "jnius", android.module)
    buzz = Buzz()
    assert buzz.is_there()

    for what in WORDS:
        buzz.tell(what)

    if sdk < 26:
        assert android.buzzed == [(list(BUZZES_MS[what]), -1) for what in WORDS]
    else:
        assert android.buzzed == [(("waveform", BUZZES_MS[what], -1),) for what in WORDS]


def test_a_tablet_that_cannot_buzz_does_not(monkeypatch):
    assert not Buzz().is_there()  # no Android
    monkeypatch.setitem(sys.modules, "jnius", Android(has=False).module)
    assert not Buzz().is_there()
    monkeypatch.setitem(sys.modules, "jnius", Android(fails=True).module)
    buzz = Buzz()
    buzz.tell("recorded")
    assert not buzz.is_there()


class Way:
    """A way to answer that notes what it is told."""

    def __init__(self, *, is_there=True):
        self.told = []
        self._is_there = is_there

    def is_there(self):
        return self._is_there

    def tell(self, what):
        self.told.append(what)


def test_what_is_set_decides_by_which_way_is_answered():
    sound, buzz = Way(), Way(is_there=False)
    answers = Answers(sound, buzz)
    assert answers.ways == {"sound"}

    for how in ("sound", "buzz", "both"):
        answers.tell("recorded", how)

    assert (len(sound.told), len(buzz.told)) == (2, 2)
