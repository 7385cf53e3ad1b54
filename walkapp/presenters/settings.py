"""What a person sets for one tablet. It lies with the place in the store and is never a record."""

from __future__ import annotations

from dataclasses import dataclass

from walkapp.actions.speaking import AS_SYSTEM, LANGUAGES
from walkapp.language import msg

SET = "set "
"""What the name of everything that is set begins with, in the note of the place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One thing that can be set, by choosing one of a few words.

    Parameters
    ----------
    word
        Its name, under which it is kept.
    label
        What is asked.
    options
        Pairs of word and label; the first holds until another one is chosen.
    says
        What it does, in a sentence or two; empty where the labels tell.
    """

    word: str
    label: str
    options: tuple[tuple[str, str], ...]
    says: str = ""

    def read(self, kept: dict[str, str]) -> str:
        """Give the chosen word; the first one where nothing usable was kept."""
        value = kept.get(f"{SET}{self.word}", "")
        return value if value in dict(self.options) else self.options[0][0]


THEME = Setting(
    word="theme",
    label=msg("Light around you"),
    options=(("light", msg("Indoors")), ("dark", msg("Dark")), ("glare", msg("Sun on the glass"))),
    says=msg(
        "Indoors is dark letters on light. Dark is light letters on dark, for night shifts and "
        "dark halls. Sun on the glass is the strongest contrast: black, white and thick frames."
    ),
)

# Off at first: in a hall where tones and lamps mean something, nobody must take this tablet for a machine.
FEEDBACK = Setting(
    word="feedback",
    label=msg("Answer to a touch"),
    options=(
        ("off", msg("None")),
        ("sound", msg("Sound")),
        ("buzz", msg("Buzz")),
        ("both", msg("Sound and buzz")),
    ),
)

# A language is called what its own speakers call it, in every language: who tapped a wrong one finds back.
LANGUAGE = Setting(
    word="language",
    label=msg("Language"),
    options=((AS_SYSTEM, msg("As this tablet is set")), *LANGUAGES.items()),
    says=msg("What is typed stays as it is. Records and bundles are the same in every language."),
)

SETTINGS = (THEME, FEEDBACK, LANGUAGE)
"""Everything that can be set, in the order of the page."""
