"""The forms around an audit of the plan that is not begun: beginning it, and why it was not done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from walkapp.actions.acting import watch_questions
from walkapp.actions.audits.doing import begin_audit, say_missed, why_not_begin
from walkapp.actions.audits.reading import Asked, questions_of
from walkapp.actions.audits.states import PlannedAudit, added_to
from walkapp.actions.workplace import NOBODY
from walkapp.analysis.audits.extra import Extra
from walkapp.analysis.wording import capital
from walkapp.errors import InputError
from walkapp.language import msg, tr, tr_each, trn
from walkapp.model.checklist import Stream
from walkapp.presenters.audits.sight import planned_here
from walkapp.presenters.audits.words import (
    MISSED_REASONS,
    left_words,
    moment_words,
    planned_title,
)
from walkapp.presenters.concern_forms import SITE_CAUTIONS
from walkapp.presenters.form import FormField, FormPage, as_options
from walkapp.presenters.route import Route


class PlannedForm(FormPage):
    """A form about an audit of the plan."""

    _stream: Stream
    _planned: PlannedAudit | None = None

    def _read(self) -> tuple[Stream, PlannedAudit]:
        self._stream, planned = planned_here(self.session.place, self.route)
        self._planned = planned
        return self._stream, planned


class BeginAuditForm(PlannedForm):
    """Begins an audit: the cautions of the site come first, then where it leads and what it asks."""

    title = msg("Begin an audit")
    do = msg("Begin")
    _asked: tuple[Asked, ...] = ()
    _added: tuple[Extra, ...] = ()

    def _first_values(self) -> dict[str, str]:
        place = self.session.place
        stream, planned = self._read()
        if refusal := why_not_begin(place, planned):
            raise InputError(refusal)
        self._added = added_to(place, stream, planned)
        watched = watch_questions(place, stream.id)
        refs = [extra.ref for extra in self._added]
        self._asked = questions_of(place, stream, planned.slot, refs, watched)
        self.title = planned_title(planned)
        self.do = tr("Begin") if planned.can_be_done else tr("Begin: it is made up")
        return {"by": "" if place.by == NOBODY else place.by}

    def _cautions(self) -> tuple[str, ...]:
        return self._stream.cautions or tr_each(SITE_CAUTIONS)

    def _words(self) -> tuple[str, ...]:
        if self._planned is None:
            return ()
        now, planned = self.session.place.now(), self._planned
        if planned.can_be_done:
            when = f"{capital(left_words(planned.due, now))}."
        else:
            over, until = (moment_words(m, now) for m in (planned.due, planned.make_up_until))
            when = tr(
                "Its time was over at {over}. Begun now it counts as made up, until {until}.",
                over=over,
                until=until,
            )
        size = trn(
            "{count} question; it may take {minutes} min.",
            "{count} questions; it may take {minutes} min.",
            len(self._asked),
            minutes=planned.layer.minutes,
        )
        return (f"{self._stream.name}. {when}", size, *stations_in_words(self._asked, self._added))

    def _other_words(self) -> str:
        return tr("Say why it was missed") if self._is_late else tr("On paper")

    def other(self) -> None:
        """Say why it was missed instead of making it up; print it, or type it in, while it is due."""
        self.session.go(self.route.down("audit_missed" if self._is_late else "audit_print"))

    @property
    def _is_late(self) -> bool:
        return self._planned is not None and not self._planned.can_be_done

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="by",
                label=tr("Your role and initials"),
                hint=tr("For example SL-AB; no name"),
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        self.session.remember_person(values["by"])
        start = begin_audit(self.session.place, *self._read())
        self.session.cautions_read = ""
        return replace(self.route, screen="audit", concern=start.concern, entry=start.id)


class MissedAuditForm(PlannedForm):
    """Records why an audit was not done; it stays missed."""

    title = msg("Why was it not done?")
    do = msg("Record why")

    def _first_values(self) -> dict[str, str]:
        _, planned = self._read()
        return {"reason": planned.missed.reason} if planned.missed else {}

    def _words(self) -> tuple[str, ...]:
        if self._planned is None:
            return ()
        return (
            f"{self._stream.name}. {planned_title(self._planned, with_year=True)}.",
            tr("It stays missed and counts as missed; the reason is kept beside it."),
        )

    def _other_words(self) -> str:
        return tr("It was done on paper")

    def other(self) -> None:
        """Type in what was done on paper instead."""
        self.session.go(self.route.down("audit_print"))

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="reason",
                label=tr("Reason"),
                form="offered",
                options=as_options(tr_each(MISSED_REASONS)),
                hint=tr("Or in your own words; no names"),
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        say_missed(self.session.place, *self._read(), values["reason"])
        route = self.route.up()
        return route if route.screen == "audit_list" else Route(screen="audits")


def stations_in_words(asked: Sequence[Asked], added: Sequence[Extra]) -> Iterator[str]:
    """Say where an audit leads, station by station in walking order, and what is asked beyond the plan.

    Parameters
    ----------
    asked
        What it asks, in order.
    added
        What of it is beyond the plan, and why.
    """
    why = {extra.ref: extra.why for extra in added}
    stations = dict.fromkeys((one.station, one.station_name) for one in asked)
    for number, (station, name) in enumerate(stations, start=1):
        here = [one for one in asked if one.station == station]
        yield trn(
            "{number}. {name}: {count} question",
            "{number}. {name}: {count} questions",
            len(here),
            number=number,
            name=name,
        )
        for one in here:
            if one.ref in why:
                yield f"    {tr('Beyond the plan ({why}): {ask}', why=why[one.ref], ask=one.ask)}"
