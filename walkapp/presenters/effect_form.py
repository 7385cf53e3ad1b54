"""The form of an effectiveness check; the verdict shows while the numbers are typed."""

from __future__ import annotations

from collections.abc import Mapping

from walkapp.actions.action_records import check_effect
from walkapp.actions.action_words import advice_before
from walkapp.actions.effect_numbers import NumbersOnRecord, numbers_on_record
from walkapp.analysis.effect import MOST_PARTS, EffectAnswer, PartsJudged, judge_effect
from walkapp.analysis.wording import capital, counts_text
from walkapp.language import msg, tr, tr_choices
from walkapp.presenters.action_forms import ActionForm
from walkapp.presenters.form import FormField, whole_number
from walkapp.presenters.route import Route

LABELS = {
    "before_checked": msg("Before: parts checked"),
    "before_nok": msg("Before: NOK among them"),
    "after_checked": msg("After: parts checked"),
    "after_nok": msg("After: NOK among them"),
}
BEFORE, AFTER = msg("before {counts}"), msg("after {counts}")

ON_RECORD = "on-record"
"""The choice that takes over what is on record."""


class EffectCheckForm(ActionForm):
    """Records the parts before and after an action, and says what they show."""

    title = msg("Effect check")
    do = msg("Record this check")
    _offer: NumbersOnRecord | None = None

    def _first_values(self) -> dict[str, str]:
        facts, now = self._read_done()
        self._offer = numbers_on_record(facts, now)
        return {"checked_on": self._today}

    def _cautions(self) -> tuple[str, ...]:
        return (
            tr(
                "Judge parts before and after alike. Take those after as they come, made after it was done."
            ),
        )

    def fill(self, name: str, value: str) -> None:
        """Fill in a field; the choice of the numbers on record fills in all of them."""
        taken = self._taken()
        if name == "numbers" and value == ON_RECORD:
            self._values.update(taken)
        elif name in taken and value != taken[name]:
            self._values.pop("numbers", None)
        super().fill(name, value)

    def _taken(self) -> dict[str, str]:
        """What the choice of the numbers on record fills in."""
        if self._offer is None:
            return {}
        found = {"source": self._offer.source}
        for when, parts in (("before", self._offer.before), ("after", self._offer.after)):
            if parts is not None:
                found |= {f"{when}_checked": str(parts.checked), f"{when}_nok": str(parts.nok)}
        return found

    def _fields(self) -> tuple[FormField, ...]:
        hints = {"after_checked": self._how_many(), "after_nok": self._verdict()}
        return (
            *self._offered(),
            *(
                FormField(name=name, label=label, form="whole", hint=hints.get(name, ""), is_required=True)
                for name, label in tr_choices(LABELS.items())
            ),
            FormField(
                name="checked_on",
                label=tr("Checked on"),
                form="day",
                options=self._days(),
                is_required=True,
            ),
            FormField(name="source", label=tr("Which parts these were"), hint=tr("Lots, days")),
        )

    def _offered(self) -> tuple[FormField, ...]:
        offer = self._offer
        if offer is None:
            return ()
        effect = self._judged(offer.before, offer.after)
        said = (tr("They say: {sentence}", sentence=effect.sentence),) if effect else ()
        sides = ((BEFORE, offer.before), (AFTER, offer.after))
        counts = ", ".join(
            tr(when, counts=counts_text(parts.nok, parts.checked))
            for when, parts in sides
            if parts is not None
        )
        return (
            FormField(
                name="numbers",
                label=tr("Numbers on record"),
                form="choice",
                options=((ON_RECORD, tr("Take over: {counts}", counts=counts)),),
                hint="\n".join((f"{capital(offer.source)}.", *offer.notes, *said)),
            ),
        )

    def _how_many(self) -> str:
        now = self._action
        return advice_before(self._side("before"), now.at_most) if now else ""

    def _verdict(self) -> str:
        effect = self._effect()
        return effect.sentence if effect else ""

    def _advice(self) -> tuple[str, ...]:
        effect = self._effect()
        return (effect.sentence, *effect.lines) if effect else ()

    def _effect(self) -> EffectAnswer | None:
        return self._judged(self._side("before"), self._side("after"))

    def _judged(self, before: PartsJudged | None, after: PartsJudged | None) -> EffectAnswer | None:
        if before is None or after is None or self._action is None:
            return None
        return judge_effect(before, after, self._action.at_most)

    def _side(self, when: str) -> PartsJudged | None:
        """Give what was typed of one side; none while it cannot be counts of parts."""
        typed = [self._values.get(f"{when}_{name}", "").strip() for name in ("checked", "nok")]
        if not all(text.isascii() and text.isdigit() and len(text) <= 7 for text in typed):
            return None
        checked, nok = map(int, typed)
        return (
            PartsJudged(checked=checked, nok=nok) if nok <= checked and 0 < checked <= MOST_PARTS else None
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts, now = self._read_done()
        check_effect(
            self.session.place,
            facts,
            now,
            checked_on=values["checked_on"],
            source=values["source"],
            before_checked=self._whole(values, "before_checked"),
            before_nok=self._whole(values, "before_nok"),
            after_checked=self._whole(values, "after_checked"),
            after_nok=self._whole(values, "after_nok"),
        )
        return self._to_action(now.id)

    def _whole(self, values: Mapping[str, str], name: str) -> int:
        return whole_number(values[name], tr(LABELS[name]), 60) or 0
