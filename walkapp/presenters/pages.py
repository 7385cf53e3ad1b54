"""Which presenter stands behind each place of the app."""

from __future__ import annotations

import pkgutil
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

PAGES: Mapping[str, str] = {
    "home": "walkapp.presenters.home:HomePage",
    "tablet": "walkapp.presenters.tablet:TabletPage",
    "new_concern": "walkapp.presenters.concern_forms:NewConcernForm",
    "concern": "walkapp.presenters.concern:ConcernPage",
    "correct_concern": "walkapp.presenters.correction:CorrectConcernForm",
    "escalation": "walkapp.presenters.escalation:EscalationForm",
    "told": "walkapp.presenters.escalation:ToldPage",
    "stages": "walkapp.presenters.stages:StagesPage",
    "judging": "walkapp.presenters.judging:JudgingPage",
    "drop_sample": "walkapp.presenters.judging:DropSampleForm",
    "limit_ok": "walkapp.presenters.intake:OkSamplePage",
    "limit_not_ok": "walkapp.presenters.intake:NokSamplePage",
    "evidence": "walkapp.presenters.intake:EvidencePage",
    "cover_sample": "walkapp.presenters.cover:CoverOutsidePage",
    "weight": "walkapp.presenters.concern_forms:StationWeightForm",
    "disputes": "walkapp.presenters.disputes:DisputesPage",
    "settle": "walkapp.presenters.disputes:SettleForm",
    "start_walk": "walkapp.presenters.concern_forms:StartWalkForm",
    "station": "walkapp.presenters.station:StationPage",
    "judge": "walkapp.presenters.checks:JudgePage",
    "count": "walkapp.presenters.checks:CountPage",
    "measure": "walkapp.presenters.measuring:MeasurePage",
    "reason": "walkapp.presenters.walk_forms:ReasonForm",
    "note": "walkapp.presenters.walk_forms:NoteForm",
    "change": "walkapp.presenters.change_forms:ChangeForm",
    "sample": "walkapp.presenters.walk_forms:SampleForm",
    "photo": "walkapp.presenters.photo:PhotoPage",
    "cover": "walkapp.presenters.cover:CoverPage",
    "camera": "walkapp.presenters.camera:CameraPage",
    "mark": "walkapp.presenters.mark:MarkPage",
    "mark_words": "walkapp.presenters.mark_words:MarkWordsForm",
    "gallery": "walkapp.presenters.gallery:GalleryPage",
    "look_at": "walkapp.presenters.look_at:LookAtPage",
    "compare": "walkapp.presenters.look_at:ComparePage",
    "cover_picture": "walkapp.presenters.cover:CoverPicturePage",
    "studies": "walkapp.presenters.studies:StudiesPage",
    "new_study": "walkapp.presenters.study_forms:NewStudyForm",
    "study": "walkapp.presenters.studies:StudyPage",
    "inspector": "walkapp.presenters.study_forms:InspectorForm",
    "reading": "walkapp.presenters.study_reading:ReadingPage",
    "study_result": "walkapp.presenters.study_result:StudyResultPage",
    "answer": "walkapp.presenters.answer:AnswerPage",
    "detail": "walkapp.presenters.detail:DetailPage",
    "measured": "walkapp.presenters.measured:MeasuredPage",
    "onset": "walkapp.presenters.onset:OnsetPage",
    "dated_count": "walkapp.presenters.lot_form:LotCountForm",
    "containment": "walkapp.presenters.containment:ContainmentPage",
    "stock": "walkapp.presenters.containment:StockPage",
    "suspect_range": "walkapp.presenters.containment_forms:SuspectRangeForm",
    "suspect_stock": "walkapp.presenters.containment_forms:SuspectStockForm",
    "correct_stock": "walkapp.presenters.containment_forms:SuspectStockForm",
    "take_out_stock": "walkapp.presenters.containment_forms:TakeOutForm",
    "sorting": "walkapp.presenters.sorting_forms:SortingForm",
    "clean_point": "walkapp.presenters.sorting_forms:CleanPointForm",
    "escape": "walkapp.presenters.containment_forms:EscapeForm",
    "confirmations": "walkapp.presenters.confirmations:ConfirmationsPage",
    "new_confirmation": "walkapp.presenters.confirmation_forms:NewConfirmationForm",
    "confirmation": "walkapp.presenters.confirmation:ConfirmationPage",
    "confirmation_turn": "walkapp.presenters.confirmation_turn:TurnPage",
    "correct_turn": "walkapp.presenters.confirmation_forms:CorrectTurnForm",
    "settle_turn": "walkapp.presenters.confirmation_forms:SettleTurnForm",
    "trials": "walkapp.presenters.trials:TrialsPage",
    "new_trial": "walkapp.presenters.trial_form:NewTrialForm",
    "trial": "walkapp.presenters.trials:TrialPage",
    "trial_run": "walkapp.presenters.trial_run:TrialRunPage",
    "trial_result": "walkapp.presenters.trial_result:TrialResultPage",
    "actions": "walkapp.presenters.actions:ActionsPage",
    "new_action": "walkapp.presenters.action_forms:NewActionForm",
    "action": "walkapp.presenters.action:ActionPage",
    "correct_action": "walkapp.presenters.action_forms:CorrectActionForm",
    "action_done": "walkapp.presenters.action_forms:ActionDoneForm",
    "effect_check": "walkapp.presenters.effect_form:EffectCheckForm",
    "watch_question": "walkapp.presenters.action_forms:WatchQuestionForm",
    "read_across": "walkapp.presenters.read_across:ReadAcrossPage",
    "read_across_entry": "walkapp.presenters.read_across:ReadAcrossForm",
    "mailed": "walkapp.presenters.desk.mailed:MailedPage",
    "lessons": "walkapp.presenters.lessons:LessonsPage",
    "lesson": "walkapp.presenters.lessons:LessonForm",
    "audit_results": "walkapp.presenters.audits.results:AuditResultsPage",
    "audit_prompt": "walkapp.presenters.audits.results:AuditPromptPage",
    "search": "walkapp.presenters.search:SearchPage",
    "scan": "walkapp.presenters.scan:ScanPage",
    "scan_picture": "walkapp.presenters.scan_picture:ScanPicturePage",
    "scan_type": "walkapp.presenters.scan_picture:ScanTypeForm",
    "at_station": "walkapp.presenters.at_station:AtStationPage",
    "followed": "walkapp.presenters.followed:FollowedPage",
    "followed_part": "walkapp.presenters.followed:FollowedPartPage",
    "labels": "walkapp.presenters.desk.labels:LabelsPage",
    "findings": "walkapp.presenters.audits.findings:FindingsPage",
    "finding": "walkapp.presenters.audits.finding:FindingPage",
    "close_finding": "walkapp.presenters.audits.finding:CloseFindingForm",
    "new_change": "walkapp.presenters.change_forms:NewChangeForm",
    "change_point": "walkapp.presenters.change_point:ChangePointPage",
    "correct_change": "walkapp.presenters.change_forms:CorrectChangeForm",
    "desk": "walkapp.presenters.desk.start:DeskPage",
    "ppm": "walkapp.presenters.desk.ppm:PpmPage",
    "ppm_month": "walkapp.presenters.desk.ppm:PpmMonthPage",
    "deliveries": "walkapp.presenters.desk.deliveries:DeliveriesForm",
    "take_out_deliveries": "walkapp.presenters.desk.deliveries:TakeOutDeliveriesForm",
    "deliveries_file": "walkapp.presenters.desk.deliveries_file:DeliveriesFilePage",
    "deliveries_read": "walkapp.presenters.desk.deliveries_file:DeliveriesReadPage",
    "indicators": "walkapp.presenters.desk.indicators:IndicatorsPage",
    "factor": "walkapp.presenters.desk.indicators:FactorPage",
    "choose_indicator": "walkapp.presenters.desk.indicators:ChooseIndicatorPage",
    "new_factor": "walkapp.presenters.desk.factor_forms:NewFactorForm",
    "correct_factor": "walkapp.presenters.desk.factor_forms:CorrectFactorForm",
    "drop_factor": "walkapp.presenters.desk.factor_forms:DropFactorForm",
    "merge": "walkapp.presenters.desk.merge:MergePage",
    "merge_report": "walkapp.presenters.desk.merge_report:MergeReportPage",
    "trust_key": "walkapp.presenters.desk.merge:TrustKeyForm",
    "reviews": "walkapp.presenters.desk.review:ReviewsPage",
    "review": "walkapp.presenters.desk.review:ReviewPage",
    "review_filter": "walkapp.presenters.desk.review:ReviewFilterForm",
    "review_station": "walkapp.presenters.desk.review_evidence:ReviewStationPage",
    "review_entries": "walkapp.presenters.desk.review_evidence:ReviewEntriesPage",
    "review_entry": "walkapp.presenters.desk.review_evidence:ReviewEntryPage",
    "sheet": "walkapp.presenters.desk.sheet:SheetPage",
    "sheet_look": "walkapp.presenters.desk.sheet:SheetLookPage",
    "all_figures": "walkapp.presenters.desk.figures:AllFiguresPage",
    "figures": "walkapp.presenters.desk.figures:FiguresPage",
    "figure": "walkapp.presenters.desk.figure:FigurePage",
    "audits": "walkapp.presenters.audits.todays:AuditsPage",
    "audit_begin": "walkapp.presenters.audits.begin:BeginAuditForm",
    "audit_missed": "walkapp.presenters.audits.begin:MissedAuditForm",
    "audit_print": "walkapp.presenters.audits.paper:AuditPrintPage",
    "audit_paper": "walkapp.presenters.audits.paper:AuditPaperForm",
    "audit": "walkapp.presenters.audits.question:AuditPage",
    "audit_list": "walkapp.presenters.audits.answers:AuditListPage",
    "reaction": "walkapp.presenters.audits.forms:ReactionForm",
    "audit_na": "walkapp.presenters.audits.forms:NotApplicableForm",
    "audit_sign": "walkapp.presenters.audits.forms:SignAuditForm",
}
"""Module and class of the presenter of every place that a route may name.

They are named, not imported, so that the app shows its first page before it has read the code of
all the others.
"""


@dataclass(frozen=True, slots=True)
class Parent:
    """Where "back" leads from a place.

    Parameters
    ----------
    screen
        The place above.
    keeps
        Names of the fields of the route that it needs, beside the concern.
    """

    screen: str
    keeps: tuple[str, ...] = ()


PARENTS: Mapping[str, Parent] = {
    "new_change": Parent("onset", ("walk", "station")),
    "change_point": Parent("onset", ("walk", "station")),
    "correct_change": Parent("change_point", ("walk", "station", "entry")),
    "start_walk": Parent("concern"),
    "correct_concern": Parent("concern"),
    "escalation": Parent("concern"),
    "told": Parent("concern"),
    "evidence": Parent("concern"),
    "mark": Parent("concern"),
    "mark_words": Parent("mark", ("walk", "station", "picture")),
    "station": Parent("concern"),
    "gallery": Parent("concern"),
    "look_at": Parent("gallery", ("picture",)),
    "compare": Parent("gallery", ("picture",)),
    "cover_picture": Parent("look_at", ("picture",)),
    "studies": Parent("concern"),
    "disputes": Parent("concern"),
    "settle": Parent("disputes"),
    "stages": Parent("concern"),
    "read_across": Parent("concern"),
    "read_across_entry": Parent("read_across"),
    "lessons": Parent("concern"),
    "mailed": Parent("concern"),
    "lesson": Parent("lessons"),
    "audit_results": Parent("audits"),
    "audit_prompt": Parent("audit_results", ("stream", "number")),
    "search": Parent("home"),
    "tablet": Parent("home"),
    "scan": Parent("home"),
    "scan_picture": Parent("home"),
    "scan_type": Parent("home"),
    "at_station": Parent("home"),
    "followed": Parent("concern"),
    "followed_part": Parent("followed"),
    "labels": Parent("desk"),
    "findings": Parent("audits"),
    "finding": Parent("findings", ("stream",)),
    "close_finding": Parent("finding", ("entry",)),
    "new_study": Parent("studies"),
    "study": Parent("studies"),
    "inspector": Parent("study", ("study",)),
    "reading": Parent("study", ("study",)),
    "study_result": Parent("study", ("study",)),
    "containment": Parent("concern"),
    "suspect_range": Parent("containment"),
    "suspect_stock": Parent("containment"),
    "clean_point": Parent("containment"),
    "escape": Parent("containment"),
    "stock": Parent("containment"),
    "correct_stock": Parent("stock", ("entry",)),
    "take_out_stock": Parent("stock", ("entry",)),
    "sorting": Parent("stock", ("entry",)),
    "confirmations": Parent("concern"),
    "new_confirmation": Parent("confirmations"),
    "confirmation": Parent("confirmations"),
    "confirmation_turn": Parent("confirmation", ("entry",)),
    "correct_turn": Parent("confirmation", ("entry",)),
    "settle_turn": Parent("confirmation", ("entry",)),
    "trials": Parent("concern"),
    "new_trial": Parent("trials"),
    "trial": Parent("trials"),
    "trial_run": Parent("trial", ("entry",)),
    "trial_result": Parent("trial", ("entry",)),
    "actions": Parent("concern"),
    "new_action": Parent("actions"),
    "action": Parent("actions"),
    "correct_action": Parent("action", ("entry",)),
    "action_done": Parent("action", ("entry",)),
    "effect_check": Parent("action", ("entry",)),
    "watch_question": Parent("action", ("entry",)),
    "desk": Parent("home"),
    "ppm": Parent("desk"),
    "ppm_month": Parent("ppm", ("stream", "unit")),
    "deliveries": Parent("ppm", ("stream", "unit")),
    "take_out_deliveries": Parent("deliveries", ("stream", "unit", "day", "entry")),
    "deliveries_file": Parent("ppm", ("stream", "unit")),
    "deliveries_read": Parent("deliveries_file", ("stream", "unit")),
    "indicators": Parent("desk"),
    "factor": Parent("indicators", ("stream",)),
    "choose_indicator": Parent("indicators", ("stream",)),
    "new_factor": Parent("choose_indicator", ("stream",)),
    "correct_factor": Parent("factor", ("stream", "layer")),
    "drop_factor": Parent("factor", ("stream", "layer")),
    "merge": Parent("desk"),
    "merge_report": Parent("merge"),
    "trust_key": Parent("merge_report"),
    "reviews": Parent("desk"),
    "review": Parent("concern"),
    "review_filter": Parent("review", ("filter",)),
    "review_station": Parent("review", ("filter",)),
    "review_entries": Parent("review_station", ("filter", "station")),
    "review_entry": Parent("review_entries", ("filter", "station", "check")),
    "sheet": Parent("concern"),
    "sheet_look": Parent("sheet"),
    "all_figures": Parent("desk"),
    "figures": Parent("concern"),
    "figure": Parent("figures", ("stream",)),
    "audits": Parent("home"),
    "audit_begin": Parent("audits"),
    "audit_missed": Parent("audits"),
    "audit_print": Parent("audits"),
    "audit_paper": Parent("audit_print", ("stream", "layer", "day", "shift")),
    "audit": Parent("audits"),
    "audit_list": Parent("audits"),
    "reaction": Parent("audit", ("entry", "station", "check")),
    "audit_na": Parent("audit", ("entry", "station", "check")),
    "audit_sign": Parent("audit_list", ("entry",)),
}
"""The place above each place that always has the same one; ``Route.up`` knows all others."""


LEADING_BACK = ("evidence", "judging")
"""Places that many pages lead to; from a page of rows and buttons "back" leads to that page again."""


FROM_HOME = ("new_concern", "concern", "audits", "desk", "tablet", "search")
"""Where a tap on the first page leads."""


def load_next() -> None:
    """Load what the first tap needs, while the first page is looked at; may run on any worker."""
    for screen in FROM_HOME:
        page_class(screen)
    # The first page itself works with it once there is a concern.
    pkgutil.resolve_name("walkapp.actions.summaries")


def page_class(screen: str) -> Any:
    """Give the presenter class of a place.

    Parameters
    ----------
    screen
        A key of ``PAGES``.

    Returns
    -------
    type
        Called with a session and a route; has ``open``, ``back``, ``watch``, ``unwatch`` and ``state``.
    """
    return pkgutil.resolve_name(PAGES[screen])
