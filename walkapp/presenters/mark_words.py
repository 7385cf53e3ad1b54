"""The page on which words are typed that are written on a picture."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from walkapp.actions.books import facts_of
from walkapp.actions.marks import change_mark, mark_of, recorded_photo
from walkapp.errors import InputError
from walkapp.language import msg, tr
from walkapp.model.drawings import LONGEST_WORDS
from walkapp.presenters.form import FormField, FormPage
from walkapp.presenters.mark import TYPED_WORDS
from walkapp.presenters.mark_tools import NAMES
from walkapp.presenters.route import Route


class MarkWordsForm(FormPage):
    """Asks for words to write on a picture: those of a text that is chosen are changed at once."""

    title = msg("Text on the picture")
    do = msg("Use these words")
    is_in_walk = False

    def _fields(self) -> tuple[FormField, ...]:
        hint = tr(
            "A few short words in your trade's terms, at most {longest_words} letters; no names.",
            longest_words=LONGEST_WORDS,
        )
        return (FormField(name="words", label=tr("Words"), hint=hint, is_required=True),)

    def _keep(self, values: Mapping[str, str]) -> Route:
        words, up = values["words"], self.route.up()
        if len(words) > LONGEST_WORDS:
            raise InputError(
                tr(
                    "These words are too long for a picture; at most {longest_words} letters.",
                    longest_words=LONGEST_WORDS,
                )
            )
        self.session.kept.keep_draft(TYPED_WORDS, {"words": words})
        if self.route.mark in NAMES:
            return replace(up, mark="words")
        place = self.session.place
        photo = recorded_photo(facts_of(place, self.route.concern), self.route.picture, self.route.walk)
        old = mark_of(place, photo, self.route.mark)
        made = change_mark(place, photo, old.id, replace(old.drawing, words=words))
        return replace(up, mark=made.id)
