"""What is set on this tablet: read, kept, and let take effect."""

from __future__ import annotations

from collections.abc import Callable

from walkapp.actions.speaking import speak
from walkapp.errors import StoreError
from walkapp.language import current, msg, tr
from walkapp.presenters.devices import Devices
from walkapp.presenters.kept import Kept
from walkapp.presenters.settings import FEEDBACK, LANGUAGE, SET, Setting

NOT_SET = msg(
    "This could not be put on disk, so nothing was changed: delete old bundles or other files "
    "on this tablet and set it once more."
)


class SetHere:
    """The settings of one tablet, and who follows them.

    Parameters
    ----------
    kept
        Where they are kept.
    devices
        What the tablet itself can do.
    language
        Code of the language to speak until another one is chosen; empty for the one that is set.
    """

    def __init__(self, kept: Kept, devices: Devices, language: str = "") -> None:
        self._kept = kept
        self._devices = devices
        self._for_this_run = {LANGUAGE.word: language} if language else {}
        self._followers: list[tuple[Setting, Callable[[str], None]]] = []
        self._answers_by = ""

    def beside(self, kept: Kept) -> SetHere:
        """Give the same settings for another store of the same tablet; they are written into its note."""
        kept.keep({name: word for name, word in self._kept.words().items() if name.startswith(SET)})
        return SetHere(kept, self._devices, self._for_this_run.get(LANGUAGE.word, ""))

    def word(self, setting: Setting) -> str:
        """Give what is set on this tablet, or was asked for when the app was started."""
        return self._for_this_run.get(setting.word) or setting.read(self._kept.words())

    def answers_by(self) -> str:
        """Give how touches are answered; read off the disk once, since every touch asks."""
        self._answers_by = self._answers_by or self.word(FEEDBACK)
        return self._answers_by

    def set_to(self, setting: Setting, word: str) -> None:
        """Keep what was set; on disk when it returns.

        Raises
        ------
        StoreError
            If the disk refuses; nothing is set then.
        """
        name = f"{SET}{setting.word}"
        before = self._kept.words().get(name, "")
        is_kept = self._kept.keep({name: word})
        self._answers_by = ""
        if not is_kept:
            self._kept.keep({name: before})
            raise StoreError(tr(NOT_SET))
        self._for_this_run.pop(setting.word, None)

    def speak(self, word: str) -> bool:
        """Speak what is chosen as language, from now on; give whether it is another one than before."""
        before = current()
        speak(word, self._devices.language)
        return current() is not before

    def follow(self, setting: Setting, effect: Callable[[str], None]) -> None:
        """Let something take effect: with what is set now, and with whatever is set later.

        Parameters
        ----------
        setting
            What is set.
        effect
            Called with the chosen word at once, and on the thread that draws each time another one
            is on disk; what follows already is only called.
        """
        if (setting, effect) not in self._followers:
            self._followers.append((setting, effect))
        effect(self.word(setting))

    def tell_set(self, setting: Setting, word: str) -> None:
        """Let a setting that is on disk take effect; called on the thread that draws."""
        for followed, effect in self._followers:
            if followed.word == setting.word:
                effect(word)

    def options_here(self, setting: Setting) -> tuple[tuple[str, str], ...]:
        """Give the options of a setting that this tablet can do; on the worker, it may ask its devices."""
        if setting is not FEEDBACK:
            return setting.options
        ways = self._devices.feedback.ways
        here = {"off", *ways, *(("both",) if len(ways) > 1 else ())}
        return tuple(option for option in setting.options if option[0] in here)
