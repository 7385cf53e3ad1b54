"""The indicators that there are, each with what it counts and what it does not know."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from walkapp.analysis.indicators.cases import Cases
from walkapp.analysis.indicators.forms import (
    Form,
    LevelForm,
    NumberForm,
    ShareForm,
    SinceForm,
)
from walkapp.analysis.indicators.medians import MedianForm
from walkapp.analysis.indicators.ppm_form import PpmForm
from walkapp.analysis.indicators.reading import Judged, state_of
from walkapp.language import msg, msgn

PERCENT, DAYS, PPM, NUMBER = "%", "days", "ppm", ""
"""Units of the indicators and of their targets; a plain number has none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Indicator:
    """One of the set.

    Parameters
    ----------
    id
        Its id; never changed, since success factors name it.
    name, asks, counts, unknown
        What it is called, the question that it answers, what it counts, exactly, and what it does not
        know, in a sentence or two each; said with :func:`walkapp.language.tr`.
    noun
        What is counted, behind its number: one, and several, said with :func:`walkapp.language.trn`.
    unit
        ``%``, ``days``, ``ppm`` or empty for a plain number.
    more_is_better
        Whether a target is the least that is wanted; otherwise it is the most.
    form
        How it is worked out.
    targets
        Targets that are offered to tap, in the unit: common practice, no source.
    """

    id: str
    name: str
    asks: str
    counts: str
    unknown: str
    noun: tuple[str, str]
    unit: str
    more_is_better: bool
    form: Form
    targets: tuple[str, ...]

    @property
    def is_level(self) -> bool:
        """Whether it tells of one day, and not of all that happened in some days."""
        return isinstance(self.form, (LevelForm, SinceForm))

    def judge(self, cases: Cases, on: date, target: Fraction | None) -> Judged:
        """Say how it stands on a day.

        Parameters
        ----------
        cases
            The facts of the stream, as they are known on that day.
        on
            The day.
        target
            In its unit; none when there is none to compare with.
        """
        reading = self.form.read(cases, self.form.now(cases, on), on)
        state = "" if target is None else state_of(reading, target, more_is_better=self.more_is_better)
        return Judged(
            reading=reading,
            state=state,
            trend=self.form.trend(cases, on, target, more_is_better=self.more_is_better),
        )


_SET = (
    Indicator(
        id="ppm",
        name=msg("Customer PPM"),
        asks=msg("How many of a million parts delivered were NOK?"),
        counts=msg(
            "NOK parts of a million delivered, of the 12 months up to the newest one with "
            "deliveries; months without deliveries are left out. NOK parts are the customer's "
            "count where it is recorded, otherwise those of the concerns. Trend: the newest 3 "
            "months against the 3 before."
        ),
        unknown=msg(
            "Parts that the customer found and did not report; and parts that one cause made bad "
            "come together, so that one concern alone can look like a trend."
        ),
        noun=msgn("{count} part", "{count} parts"),
        unit=PPM,
        more_is_better=False,
        form=PpmForm(of=lambda cases: cases.deliveries),
        targets=("10", "50", "100", "500"),
    ),
    Indicator(
        id="customer-reports",
        name=msg("Customer reports and escapes"),
        asks=msg("How often did bad parts reach the customer or get past a containment?"),
        counts=msg(
            "Concerns with a day on which the customer reported them, and escapes past a "
            "containment, of the last 13 weeks by that day."
        ),
        unknown=msg("What the customer did not report, and what was reported and not recorded here."),
        noun=msgn("{count} report", "{count} reports"),
        unit=NUMBER,
        more_is_better=False,
        form=NumberForm(of=lambda cases: cases.reports),
        targets=("0", "1", "2"),
    ),
    Indicator(
        id="days-since-escape",
        name=msg("Days since the last escape or report"),
        asks=msg("For how many days has no bad part got past us, as far as we know?"),
        counts=msg(
            "Days since the newest day on which the customer reported a concern or bad parts "
            "were found past a containment. Trend: how often that was in the last 26 weeks, "
            "against the 26 before."
        ),
        unknown=msg(
            "What the customer did not report; long without a report is not the same as without bad parts."
        ),
        noun=msgn("{count} report", "{count} reports"),
        unit=DAYS,
        more_is_better=True,
        form=SinceForm(of=lambda cases: cases.reports),
        targets=("30", "90", "180"),
    ),
    Indicator(
        id="days-to-contain",
        name=msg("Days from report to contained"),
        asks=msg("How long does it take from a report until all suspect parts are held back?"),
        counts=msg(
            "Median days of the concerns reported in the last 26 weeks, from the report (or, "
            "where the customer reported nothing, the opening) to the last entry of a "
            "containment that holds today: all suspect parts released or scrapped, and a clean "
            "point. A concern that is not contained counts as still open."
        ),
        unknown=msg(
            "While some are open the median is an estimate (Kaplan-Meier). A containment that "
            "was complete earlier and was added to later counts from the later day."
        ),
        noun=msgn("{count} concern", "{count} concerns"),
        unit=DAYS,
        more_is_better=False,
        form=MedianForm(of=lambda cases: cases.containing),
        targets=("1", "2", "5"),
    ),
    Indicator(
        id="days-to-origin",
        name=msg("Days from report to first bad station"),
        asks=msg("How long does it take from a report until the first bad station is named?"),
        counts=msg(
            "Median days of the concerns reported in the last 26 weeks, from the report (or the "
            "opening) to the first day on which the counts named the station that they name "
            "today, with 95 % or more. A concern whose first bad station is not named so surely "
            "counts as still open."
        ),
        unknown=msg("Whether a station that a person knew without counting was the right one."),
        noun=msgn("{count} concern", "{count} concerns"),
        unit=DAYS,
        more_is_better=False,
        form=MedianForm(of=lambda cases: cases.finding_origin),
        targets=("2", "5", "10"),
    ),
    Indicator(
        id="days-to-fix",
        name=msg("Days from report to fixed"),
        asks=msg("How long does it take from a report until the cause is taken away?"),
        counts=msg(
            "Median days of the concerns reported in the last 26 weeks, from the report (or the "
            "opening) to the day on which the last of its corrective actions was done. A concern "
            "without a corrective action, or with one that is not done, counts as still open."
        ),
        unknown=msg("Whether what was done worked; another indicator watches that."),
        noun=msgn("{count} concern", "{count} concerns"),
        unit=DAYS,
        more_is_better=False,
        form=MedianForm(of=lambda cases: cases.fixing),
        targets=("10", "20", "30"),
    ),
    Indicator(
        id="overdue-actions",
        name=msg("Overdue actions"),
        asks=msg("How many actions and effect checks are overdue today?"),
        counts=msg(
            "Actions that are not done after the day on which they are due, and actions done "
            "whose effect check is overdue, by the due days as they are now. Trend: against the "
            "day 8 weeks before."
        ),
        unknown=msg("Actions whose due day was moved; actions done in time watches those."),
        noun=msgn("{count} action", "{count} actions"),
        unit=NUMBER,
        more_is_better=False,
        form=LevelForm(of=lambda cases: cases.overdue, among=lambda cases: cases.actions_known),
        targets=("0", "1", "3"),
    ),
    Indicator(
        id="actions-in-time",
        name=msg("Actions done in time"),
        asks=msg("How many actions are done by the day that was promised first?"),
        counts=msg(
            "Share of the actions first due in the last 8 weeks that were done by that first "
            "day, however often the day was moved."
        ),
        unknown=msg("Whether the evidence shows what was really done."),
        noun=msgn("{count} action", "{count} actions"),
        unit=PERCENT,
        more_is_better=True,
        form=ShareForm(of=lambda cases: cases.actions_due),
        targets=("80", "90", "95"),
    ),
    Indicator(
        id="effective-fixes",
        name=msg("Actions shown to work"),
        asks=msg("How many actions are shown to have worked?"),
        counts=msg(
            "Share of the actions whose effect was checked in the last 26 weeks, or should have "
            "been, that the newest check shows to be effective. An effect check that is overdue "
            "counts as not shown."
        ),
        unknown=msg("Actions without a day for an effect check are not counted."),
        noun=msgn("{count} action", "{count} actions"),
        unit=PERCENT,
        more_is_better=True,
        form=ShareForm(of=lambda cases: cases.effects, length=182, span=msg("the last 26 weeks")),
        targets=("70", "80", "90"),
    ),
    Indicator(
        id="cause-proved",
        name=msg("Causes proved before the fix is called done"),
        asks=msg("For how many fixed concerns was the cause proved, by switching it on and off?"),
        counts=msg(
            "Share of the concerns fixed in the last 26 weeks (the last corrective action was "
            "done then) whose cause is proved by an on/off confirmation."
        ),
        unknown=msg("A cause that another way proved, such as a reproduction trial alone."),
        noun=msgn("{count} concern", "{count} concerns"),
        unit=PERCENT,
        more_is_better=True,
        form=ShareForm(of=lambda cases: cases.fixed, length=182, span=msg("the last 26 weeks")),
        targets=("50", "80", "100"),
    ),
    Indicator(
        id="safety-untold",
        name=msg("Safety-class concerns, nobody told"),
        asks=msg("Of how many safety-class concerns is it not recorded who was told?"),
        counts=msg(
            "Concerns of the class safety or regulatory of which it is not recorded who was "
            "told. Trend: against the day 8 weeks before."
        ),
        unknown=msg("Whether somebody was told and nobody recorded it; and whether the class is right."),
        noun=msgn("{count} concern", "{count} concerns"),
        unit=NUMBER,
        more_is_better=False,
        form=LevelForm(of=lambda cases: cases.untold, among=lambda cases: cases.concerns_known),
        targets=("0",),
    ),
    Indicator(
        id="audits-done",
        name=msg("Audits done in time"),
        asks=msg("How many audits of the plan are done in time?"),
        counts=msg(
            "Share of the audits of the plan whose time ended in the last 8 weeks that were "
            "signed in time. The plan is that of the checklist as it is now."
        ),
        unknown=msg(
            "Audits of tablets that are not merged yet count as not done; whether an auditor "
            "looked is not seen here."
        ),
        noun=msgn("{count} audit", "{count} audits"),
        unit=PERCENT,
        more_is_better=True,
        form=ShareForm(of=lambda cases: cases.audits, since=lambda cases: cases.audited_since),
        targets=("90", "95", "100"),
    ),
    Indicator(
        id="audit-conformity",
        name=msg("Audit conformity"),
        asks=msg("How often do audits find things as they should be?"),
        counts=msg(
            "Share OK of the answers OK and NOK of the audits of the last 8 weeks; N/A is not counted."
        ),
        unknown=msg(
            "Answers of days that follow each other are alike, so the limits are the least that "
            "chance explains; and a NOK that nobody saw is an OK here."
        ),
        noun=msgn("{count} answer", "{count} answers"),
        unit=PERCENT,
        more_is_better=True,
        form=ShareForm(of=lambda cases: cases.answers, is_estimate=True),
        targets=("90", "95", "98"),
    ),
    Indicator(
        id="repeat-findings",
        name=msg("Repeat findings"),
        asks=msg("How many findings of audits came back?"),
        counts=msg(
            "Share of the findings of audits of the last 8 weeks that an earlier audit found at "
            "the same question and station, within the days that the checklist names."
        ),
        unknown=msg("The same fault under another question is not seen as a repeat."),
        noun=msgn("{count} finding", "{count} findings"),
        unit=PERCENT,
        more_is_better=False,
        form=ShareForm(of=lambda cases: cases.found_again, shows_hits=True),
        targets=("0", "10", "20"),
    ),
    Indicator(
        id="open-finding-age",
        name=msg("Age of the oldest open finding"),
        asks=msg("For how long has the oldest finding been open?"),
        counts=msg(
            "Days since the oldest finding of an audit that is not put right was found; 0 while "
            "none is open. Trend: against the day 8 weeks before."
        ),
        unknown=msg("How bad the finding is."),
        noun=msgn("{count} open finding", "{count} open findings"),
        unit=DAYS,
        more_is_better=False,
        form=LevelForm(
            of=lambda cases: cases.findings,
            among=lambda cases: [cases.audited_since] if cases.audited_since else [],
            is_age=True,
        ),
        targets=("7", "14", "30"),
    ),
)

INDICATORS: Mapping[str, Indicator] = {one.id: one for one in _SET}
"""All of them by id, in the order in which they are offered."""
