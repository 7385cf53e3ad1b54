"""Answers a touch by a short tone or a buzz, where the tablet has it.

The tones tell what happened by their number of beats before anything else, since a hall is loud: one for
recorded, two falling ones for taken back, three low ones for refused. The buzzes beat the same way. A
tablet that has neither, or takes it away while the app runs, is silent and never raises.
"""

from __future__ import annotations

import math
import struct
import tempfile
from collections.abc import Callable
from pathlib import Path
from shutil import rmtree
from threading import Lock, Thread
from typing import Any, Protocol
from weakref import finalize

RATE_HZ = 22_050
LOUDNESS = 0.6
FADE_S = 0.006
"""A tone that starts or ends at once clicks."""

PAUSE_S = 0.07

BEATS: dict[str, tuple[tuple[float, float], ...]] = {
    "recorded": ((1320.0, 0.09),),
    "taken_back": ((880.0, 0.09), (587.0, 0.13)),
    "refused": ((247.0, 0.12), (247.0, 0.12), (247.0, 0.2)),
}
"""Pitch in hertz and length in seconds of each beat."""

BUZZES_MS: dict[str, tuple[int, ...]] = {
    "recorded": (0, 60),
    "taken_back": (0, 60, 90, 60),
    "refused": (0, 120, 80, 120, 80, 220),
}
"""Pauses and buzzes in turn, in milliseconds, the first a pause: as Android's waveforms want it."""


class Way(Protocol):
    """One way to answer."""

    def is_there(self) -> bool:
        """Whether the tablet has it; may take a while when it is asked first; never raises."""

    def tell(self, what: str) -> None:
        """Start to say what has happened; never waits and never raises."""


class Answers:
    """The answers of this tablet, as :class:`walkapp.presenters.devices.Feedback`.

    Parameters
    ----------
    sound, buzz
        Its two ways.
    """

    def __init__(self, sound: Way, buzz: Way) -> None:
        self._ways = {"sound": sound, "buzz": buzz}

    @property
    def ways(self) -> frozenset[str]:
        """The ways that the tablet has: ``sound``, ``buzz``; may take a while when it is asked first."""
        return frozenset(name for name, way in self._ways.items() if way.is_there())

    def tell(self, what: str, how: str) -> None:
        """Say what has happened by sound, by buzz or by both."""
        for name, way in self._ways.items():
            if how in (name, "both"):
                way.tell(what)


class Sound:
    """Three tones, made when the first is asked for and played by Kivy.

    Parameters
    ----------
    load
        Makes something that has ``play`` and ``stop`` of a WAV file, or gives none where there is no sound.
    """

    def __init__(self, load: Callable[[str], Any] | None = None) -> None:
        self._load = load or _load_by_kivy
        self._tones: dict[str, Any] | None = None
        self._lock = Lock()

    def is_there(self) -> bool:
        """Whether there is sound."""
        return bool(self._ready())

    def tell(self, what: str) -> None:
        """Play a tone; the first one is made and loaded on a thread of its own, so that no tap waits."""
        if self._tones is None:
            Thread(target=self._play, args=(what,), daemon=True).start()
        else:
            self._play(what)

    def _play(self, what: str) -> None:
        tone = self._ready().get(what)
        if tone is None:
            return
        try:
            tone.stop()
            tone.play()
        except Exception:  # a headset that was pulled out; each library raises its own
            self._tones = {}

    def _ready(self) -> dict[str, Any]:
        with self._lock:
            if self._tones is None:
                self._tones = self._make()
            return self._tones

    def _make(self) -> dict[str, Any]:
        try:
            folder = Path(tempfile.mkdtemp(prefix="walkapp-tones-"))
            finalize(self, rmtree, folder, ignore_errors=True)
            tones = {}
            for what, beats in BEATS.items():
                path = folder / f"{what}.wav"
                write_tone(path, beats)
                tones[what] = self._load(str(path))
            return tones if None not in tones.values() else {}
        except Exception:  # no sound, no room, no library: then there is none
            return {}


def _load_by_kivy(path: str) -> Any:
    from kivy.core.audio import SoundLoader  # late: it looks for sound libraries

    return SoundLoader.load(path)


def write_tone(path: Path, beats: tuple[tuple[float, float], ...]) -> None:
    """Write beats as a WAV file, mono, 16 bit.

    Parameters
    ----------
    path
        Where to.
    beats
        Pitch in hertz and length in seconds of each; a short pause between two.
    """
    import wave  # late: no page needs it

    samples: list[int] = []
    for number, (pitch, seconds) in enumerate(beats):
        if number:
            samples.extend([0] * round(PAUSE_S * RATE_HZ))
        count = round(seconds * RATE_HZ)
        for at in range(count):
            edge = min(1.0, at / (FADE_S * RATE_HZ), (count - 1 - at) / (FADE_S * RATE_HZ))
            samples.append(round(32_767 * LOUDNESS * edge * math.sin(2 * math.pi * pitch * at / RATE_HZ)))
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(struct.pack(f"<{len(samples)}h", *samples))


LEAST_SDK = 26
"""From this version of Android on a buzz is a ``VibrationEffect`` (its public documentation)."""


class Buzz:
    """The vibrator of an Android tablet, through its public API.

    ``Context.VIBRATOR_SERVICE``, ``Vibrator.hasVibrator``, ``VibrationEffect.createWaveform`` (API 26) and
    ``Vibrator.vibrate``; the app needs the permission ``VIBRATE``. Written from the documentation and
    never run on a device.
    """

    def __init__(self) -> None:
        self._vibrator: Any = None
        self._effects: dict[str, Any] | None = None

    def is_there(self) -> bool:
        """Whether the tablet can buzz."""
        return bool(self._ready())

    def tell(self, what: str) -> None:
        """Buzz."""
        effect = self._ready().get(what)
        if effect is None:
            return
        try:
            if isinstance(effect, list):
                self._vibrator.vibrate(effect, -1)
            else:
                self._vibrator.vibrate(effect)
        except Exception:  # pyjnius raises what Java does; the permission may have been taken away
            self._effects = {}

    def _ready(self) -> dict[str, Any]:
        if self._effects is None:
            try:
                self._effects = self._make()
            except Exception:  # no Android, or one that is built otherwise
                self._effects = {}
        return self._effects

    def _make(self) -> dict[str, Any]:
        from jnius import autoclass, cast  # only Android has it

        activity = autoclass("org.kivy.android.PythonActivity").mActivity
        context = autoclass("android.content.Context")
        service = activity.getSystemService(context.VIBRATOR_SERVICE)
        self._vibrator = cast("android.os.Vibrator", service)
        if not self._vibrator.hasVibrator():
            return {}
        patterns = {what: list(times) for what, times in BUZZES_MS.items()}
        if autoclass("android.os.Build$VERSION").SDK_INT < LEAST_SDK:
            return patterns
        effect = autoclass("android.os.VibrationEffect")
        return {what: effect.createWaveform(times, -1) for what, times in patterns.items()}


def answers_here() -> Answers:
    """Give the answers of the tablet that the app runs on."""
    return Answers(Sound(), Buzz())
