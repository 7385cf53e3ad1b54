"""What indicators say of small stores that were counted by hand, on the day and on earlier days."""

from __future__ import annotations

import random
from datetime import date, datetime, timedelta, timezone
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.auditors import Auditor
from tests.builders import make, record_id
from tests.desks import StreamDesk
from tests.fakes import SAID, Desk
from tests.floors import Floor
from tests.sites import Site, contained
from tests.switches import PADS
from walkapp.actions.acting import actions_of
from walkapp.actions.action_records import check_effect, correct_action, open_action, say_done
from walkapp.actions.audits.figures import audit_figures, last_weeks
from walkapp.actions.confirmations import confirmation_called
from walkapp.actions.desk import DeskFacts
from walkapp.actions.indicators.gathering import StreamCases
from walkapp.actions.indicators.months import months_of
from walkapp.actions.ppm import ppm_of
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.switching import count_turn, open_confirmation
from walkapp.actions.walking import record_escalation
from walkapp.analysis.indicators.cases import Days
from walkapp.analysis.indicators.fixed_set import INDICATORS
from walkapp.analysis.indicators.reading import NO_DATA
from walkapp.errors import InputError
from walkapp.model.records import Action, ActionDone, Concern, EffectCheck, Escape, SuspectRange
from walkapp.model.standing import standing_of

NOON = datetime(2026, 3, 11, 12, 0, tzinfo=timezone(timedelta(hours=1)))
"""A Wednesday."""


@pytest.fixture
def stream(tmp_path):
    made = Desk(tmp_path, starts=NOON)
    with made.store:
        yield StreamDesk(made)


def raw_concern(stream, **said):
    """Record a concern as another tablet might have: nothing is asked of its days."""
    concern = stream.place.new_id()
    fields = {**SAID, "stream": stream.stream, **said}
    return stream.place.add(Concern, id=concern, concern=concern, **fields).concern


class Acts:
    """The actions of one concern."""

    def __init__(self, stream: StreamDesk, concern: str = "", **said) -> None:
        self.stream, self.place = stream, stream.place
        self.concern = concern or stream.desk.concern(**said)

    @property
    def facts(self):
        return concern_facts(self.place, self.concern)

    def open(self, due_on, aim="corrective", **more):
        said = {"aim": aim, "what": "Soft pads", "owner": "ME", "due_on": due_on, **more}
        return open_action(self.place, self.facts, **said).action

    def now(self, action):
        found = actions_of(self.facts, self.place.now().date())
        return next(one for one in found if one.id == action)

    def done(self, action, done_on):
        return say_done(self.place, self.facts, self.now(action), done_on=done_on, evidence="fitted")

    def check(self, action, checked_on, after_nok):
        numbers = {"before_checked": 100, "before_nok": 20, "after_checked": 200, "after_nok": after_nok}
        return check_effect(self.place, self.facts, self.now(action), checked_on=checked_on, **numbers)


# Reports and escapes.


def test_reports_are_concerns_with_a_day_of_report_and_escapes(stream):
    stream.desk.concern(reported_on="2026-02-19")
    stream.desk.concern()  # found inside: nobody reported it
    site = Site(stream.desk, reported_on="2025-12-01")
    site.escape("2026-03-03")

    assert stream.reading("days-since-escape").value == 8
    assert stream.reading("customer-reports").value == 2  # 2025-12-01 is 14 weeks ago
    assert [one.concern for one in stream.reading("days-since-escape").sources] == [site.concern]


def test_an_earlier_day_does_not_know_what_came_later(stream):
    site = Site(stream.desk, reported_on="2026-02-19")
    site.escape("2026-03-03")

    assert stream.reading("days-since-escape", "2026-03-02").value == 11
    assert stream.reading("days-since-escape", "2026-03-03").value == 0
    assert not stream.reading("days-since-escape", "2026-02-18").is_known


def test_a_day_still_to_come_is_refused(stream):
    stream.desk.concern()

    with pytest.raises(InputError, match="2026-03-12 is still to come"):
        stream.cases("2026-03-12")


# From the report to contained, found, fixed.


def test_days_to_contain_end_with_the_last_entry_of_a_containment_that_holds(stream):
    site = Site(stream.desk, reported_on="2026-02-27")
    contained(site)  # sorted on 2 March, all other entries are of today

    assert stream.reading("days-to-contain").value == 12
    assert stream.reading("days-to-contain").low is None


def test_a_correction_made_later_does_not_make_a_containment_later(stream):
    site = Site(stream.desk, reported_on="2026-02-27")
    contained(site)
    stream.days_later(5)
    first = next(r for r in stream.desk.records if isinstance(r, SuspectRange))
    stream.place.add(
        SuspectRange, concern=site.concern, quantity=100, made_from="2026-02-17", made_to="2026-03-01",
        replaces=(first.id,), why="read again",
    )  # fmt: skip

    assert stream.reading("days-to-contain").value == 12


def test_a_concern_that_is_not_contained_counts_with_the_days_it_is_open(stream):
    contained(Site(stream.desk, reported_on="2026-03-09"))
    Site(stream.desk, reported_on="2026-01-10").range(4800)
    Site(stream.desk, reported_on="2026-01-20").range(4800)

    found = stream.reading("days-to-contain")

    assert (found.many, found.still_open, found.low, found.value) == (3, 2, 50.0, None)


def test_days_to_origin_end_on_the_first_day_on_which_the_counts_name_the_station_of_today(stream):
    floor = Floor(stream.desk)
    concern = next(r for r in stream.desk.records if isinstance(r, Concern))
    stream.place.add(
        Concern, concern=concern.id, stream=concern.stream, defect=concern.defect, what=concern.what,
        severity=concern.severity, reported_on="2026-03-08", replaces=(concern.id,), why="asked",
    )  # fmt: skip
    assert stream.reading("days-to-origin").still_open == 1

    stream.days_later(1)  # the 12th: the counts name it
    floor.count()
    stream.days_later(3)
    floor.count()  # more of the same

    assert stream.reading("days-to-origin").value == 4
    assert stream.reading("days-to-origin", "2026-03-11").low == 3.0


def test_days_to_fix_wait_for_the_last_corrective_action_and_for_one_at_all(stream):
    acts = Acts(stream, reported_on="2026-02-20")
    first, second = acts.open("2026-03-05"), acts.open("2026-03-06")
    acts.done(first, "2026-03-01")
    acts.open("2026-03-06", aim="containment")
    assert stream.reading("days-to-fix").still_open == 1

    acts.done(second, "2026-03-10")

    assert stream.reading("days-to-fix").value == 18
    assert stream.reading("days-to-fix", "2026-03-09").low == 17.0


def test_something_done_before_the_report_took_no_days(stream):
    acts = Acts(stream, reported_on="")
    acts.done(acts.open("2026-03-05"), "2026-03-11")

    assert stream.reading("days-to-fix").value == 0


# Actions.


def test_overdue_actions_are_those_that_the_page_of_actions_calls_so(stream):
    acts = Acts(stream, reported_on="2026-02-01")
    acts.open("2026-03-10")  # overdue since today
    acts.open("2026-03-11")  # due today
    checked = acts.open("2026-02-10", check_on="2026-02-20")
    acts.done(checked, "2026-02-09")  # its effect check is overdue

    found = stream.reading("overdue-actions")
    late = [one.id for one in actions_of(acts.facts, date(2026, 3, 11)) if one.is_late]

    assert (found.value, found.many) == (2, 3)
    assert sorted(one.entry for one in found.sources) == sorted(late)


def test_overdue_on_an_earlier_day_is_told_by_what_was_done_since(stream):
    stream.go_to("2026-02-01")
    acts = Acts(stream, reported_on="2026-02-01")
    action = acts.open("2026-02-10")
    stream.go_to("2026-03-11")
    acts.done(action, "2026-02-20")

    values = [stream.reading("overdue-actions", f"2026-02-{day}").value for day in ("10", "11", "19", "20")]

    assert values == [0, 1, 1, 0]


def test_an_action_in_time_keeps_its_first_day_however_often_it_is_moved(stream):
    stream.go_to("2026-02-01")
    acts = Acts(stream, reported_on="2026-02-01")
    moved, kept = acts.open("2026-02-20"), acts.open("2026-02-20")
    acts.open("2026-04-01")  # not due yet
    stream.go_to("2026-03-11")
    correct_action(stream.place, acts.facts, acts.now(moved), why="parts late", due_on="2026-03-10")
    acts.done(moved, "2026-03-09")
    acts.done(kept, "2026-02-20")

    found = stream.reading("actions-in-time")

    assert (found.hits, found.many) == (1, 2)
    assert [one.entry for one in found.sources] == [moved]


def test_actions_shown_to_work_count_the_newest_check_and_an_overdue_one_as_not_shown(stream):
    stream.go_to("2026-02-01")
    acts = Acts(stream, reported_on="2026-02-01")
    worked, failed, waits, unchecked = (
        acts.open("2026-02-05", check_on=day, at_most="0.05") for day in ("2026-02-20",) * 3 + ("",)
    )
    stream.go_to("2026-03-11")
    for action in (worked, failed, waits, unchecked):
        acts.done(action, "2026-02-04")
    acts.check(failed, "2026-02-20", 0)
    acts.check(failed, "2026-03-01", 40)  # the newer one counts
    acts.check(worked, "2026-02-20", 1)

    found = stream.reading("effective-fixes")

    assert (found.hits, found.many) == (1, 3)
    assert stream.reading("effective-fixes", "2026-02-20").hits == 2


def test_a_cause_counts_as_proved_only_by_an_on_off_confirmation_that_proves(stream):
    proved, open_one = Acts(stream, reported_on="2026-02-20"), Acts(stream, reported_on="2026-02-20")
    for acts in (proved, open_one):
        acts.done(acts.open("2026-03-05"), "2026-03-05")
        record = open_confirmation(stream.place, acts.facts, **PADS)
        turns = (12, 0, 11, 0, 13, 0) if acts is proved else (12, 0)
        for number, nok in enumerate(turns, start=1):
            count_turn(stream.place, confirmation_called(acts.facts, record.id), number, 20, nok)

    found = stream.reading("cause-proved")

    assert (found.hits, found.many) == (1, 2)
    assert [one.concern for one in found.sources] == [open_one.concern]


# Safety.


def test_a_safety_class_concern_is_untold_until_it_is_recorded_who_was_told(stream):
    stream.go_to("2026-03-01")
    concern = stream.desk.concern(severity="safety", reported_on="2026-03-01")
    stream.desk.concern(reported_on="2026-03-01")
    stream.go_to("2026-03-11")
    assert (stream.reading("safety-untold").value, stream.reading("safety-untold").many) == (1, 2)

    record_escalation(stream.place, concern, "QM", day="2026-03-05", time="10:00")

    assert stream.reading("safety-untold").value == 0
    assert stream.reading("safety-untold", "2026-03-04").value == 1


# Audits.


def test_audits_are_counted_as_the_page_of_audit_results_counts_them(stream):
    auditor = Auditor(stream.desk)
    auditor.nights_without_looking(date(2026, 2, 23), date(2026, 3, 10))
    figures = audit_figures(stream.place, auditor.stream, last_weeks(stream.place, auditor.stream, 8))

    done, looked = stream.reading("audits-done"), stream.reading("audit-conformity")
    again = stream.reading("repeat-findings")

    assert (done.hits, done.many) == (figures.completion.all.over_in_time, figures.completion.all.over)
    conformity = figures.conformity.all
    assert (looked.hits, looked.many) == (conformity.ok, conformity.judged)
    assert looked.low == pytest.approx(100 * conformity.interval.low)
    assert (again.hits, again.many) == (figures.repeats.repeats, figures.repeats.findings)
    assert again.hits > 0


def test_the_oldest_open_finding_is_that_of_the_ageing_of_findings(stream):
    auditor = Auditor(stream.desk)
    held = {"reaction": "contained", "what": "held", "owner": "SL", "due_on": "2026-03-30"}
    for day in ("2026-02-25", "2026-03-04"):
        slot = auditor.slot("supervisor", day)
        station, question, _ = auditor.asked(slot)[0]
        ref = f"{station}/{question}"
        start = auditor.audit(slot, nok=[ref], reactions={ref: held})
    figures = audit_figures(stream.place, auditor.stream, last_weeks(stream.place, auditor.stream, 8))

    found = stream.reading("open-finding-age")

    assert found.value == figures.ageing.longest_days == 14
    (newer,) = [one for one in found.sources if one.concern == start.concern]
    assert [one.since for one in found.sources] == ["2026-02-25", "2026-03-04"]
    auditor.close(start, newer.entry, "2026-03-10")
    assert stream.reading("open-finding-age").hits == 1
    assert stream.reading("open-finding-age", "2026-03-09").hits == 2


def test_a_stream_without_audits_has_no_figure_of_them(stream):
    stream.place.checklists = None
    raw_concern(stream, reported_on="2026-03-01")

    assert not stream.reading("audits-done").is_known
    assert not stream.reading("open-finding-age").is_known


# PPM.


def test_ppm_is_that_of_the_page_of_ppm(stream):
    stream.desk.concern(reported_on="2026-02-10", quantity=35)
    stream.deliver("2026-02-01", 30_000)
    stream.deliver("2026-01-01", 20_000, customer_nok=0)

    found = stream.reading("ppm")
    year = ppm_of(stream.facts, date(2026, 3, 11)).year

    assert (found.hits, found.many, found.value) == (35, 50_000, 700)
    assert (found.low, found.high) == (year.rate.lower.low, year.rate.upper.high)


# Laws.


def everything(stream, on=""):
    cases = stream.cases(on)
    return {one.id: one.judge(cases, cases.on, None) for one in INDICATORS.values()}


def busy(stream):
    """Something of everything."""
    auditor = Auditor(stream.desk)
    auditor.nights_without_looking(date(2026, 3, 2), date(2026, 3, 10))
    acts = Acts(stream, reported_on="2026-02-19", severity="safety", quantity=3)
    acts.done(acts.open("2026-03-05"), "2026-03-06")
    acts.open("2026-03-07")
    site = Site(stream.desk, reported_on="2026-02-27")
    contained(site)
    site.escape("2026-03-03")
    stream.deliver("2026-02-01", 30_000)


def test_what_happens_to_another_stream_changes_nothing(stream):
    busy(stream)
    before = everything(stream)

    other = Acts(stream, raw_concern(StreamDesk(stream.desk, "pump-bracket"), severity="safety"))
    other.open("2026-02-01")
    stream.place.add(
        Escape, concern=other.concern, found_on="2026-03-10", where="dock", quantity=9
    )  # fmt: skip

    assert everything(stream) == before


def test_the_order_in_which_bundles_come_changes_nothing(stream, tmp_path):
    busy(stream)
    records, digest = list(stream.desk.records), Auditor(stream.desk).digest
    told = []
    for seed in range(3):
        mixed = list(records)
        random.Random(seed).shuffle(mixed)
        other = Desk(tmp_path / f"{seed}", seed=5 + seed, starts=NOON)
        with other.store:
            checklists = {digest: stream.desk.store.checklist(digest)}
            half = len(mixed) // 2
            for number, some in enumerate((mixed[:half], mixed[half:])):
                other.store.merge(some, name=f"{number}", photos={}, checklists=checklists)
            told.append(everything(StreamDesk(other)))

    assert told[0] == told[1] == told[2] == everything(stream)


def test_tomorrow_moves_days_since_and_ages_and_nothing_that_happened(stream):
    busy(stream)
    before = everything(stream)
    stream.days_later(1)

    after = everything(stream)

    def moved(indicator):
        return after[indicator].reading.value - before[indicator].reading.value

    assert moved("days-since-escape") == 1
    same = ("customer-reports", "ppm", "days-to-fix", "cause-proved", "safety-untold", "repeat-findings")
    assert [one for one in same if after[one].reading.value != before[one].reading.value] == []


def test_months_add_up_to_what_was_counted_and_a_month_begun_late_says_so(stream):
    busy(stream)
    cases = stream.cases(audit_days=366)

    months = months_of(INDICATORS["audit-conformity"], cases)

    assert len(months) == 12
    assert [one.is_whole for one in months] == [True] * 11 + [False]
    assert sum(one.reading.many for one in months) == len(cases.answers)
    # Of the audits of March the plan began before anybody audited: that month is not held against them.
    assert not any(one.reading.is_known for one in months_of(INDICATORS["audits-done"], cases))


DAYS_AROUND = st.integers(-20, 20).map(lambda days: (NOON.date() + timedelta(days=days)).isoformat())


@st.composite
def actions_as_recorded(draw):
    """The records of up to four actions: due, done, to be checked and checked on any days around today."""
    found = []
    for number in range(draw(st.integers(1, 4))):
        own = record_id(100 + number)
        due, check = sorted(draw(st.tuples(DAYS_AROUND, DAYS_AROUND)))
        said = {"aim": "corrective", "what": "Soft pads", "owner": "ME", "due_on": due, "walk": ""}
        asked = {"check_on": check} if draw(st.booleans()) else {}
        found.append(make(Action, 100 + number, action=own, **said, **asked))
        for place in range(draw(st.integers(0, 2))):
            fitted = {"action": own, "done_on": draw(DAYS_AROUND), "evidence": "x", "walk": ""}
            found.append(make(ActionDone, 200 + 10 * number + place, **fitted))
        for place in range(draw(st.integers(0, 2))):
            numbers = {"before_checked": 9, "before_nok": 9, "after_checked": 9, "after_nok": 0, "walk": ""}
            day = draw(DAYS_AROUND)
            found.append(
                make(EffectCheck, 300 + 10 * number + place, action=own, checked_on=day, **numbers)
            )
    return found


@given(actions_as_recorded())
def test_overdue_today_is_exactly_what_the_page_of_actions_calls_overdue(records):
    opened = make(Concern, 2, walk="", **{**SAID, "stream": "s"})
    standing = standing_of([opened, *records])
    facts = ConcernFacts(opened, None, (), standing, (opened, *records))
    desk = DeskFacts(stream="s", known=None, concerns=(facts,), standing=standing_of([]))
    cases = StreamCases(place=SimpleNamespace(now=lambda: NOON), desk=desk, on=NOON.date())

    found = INDICATORS["overdue-actions"].form.read(cases, Days(first=cases.on, last=cases.on), cases.on)

    late = {one.id for one in actions_of(facts, NOON.date()) if one.is_late}
    assert {one.entry for one in found.sources} == late
    assert found.hits == len(late)


# Records that nobody would make.


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_days_at_the_ends_of_the_calendar_break_nothing(stream, day):
    acts = Acts(stream, raw_concern(stream, reported_on=day))
    action = acts.open("2026-03-05", check_on="2026-03-06")
    stream.place.add(ActionDone, concern=acts.concern, action=action, done_on=day, evidence="x")
    acts.open(day)
    stream.place.add(Escape, concern=acts.concern, found_on=day, where="dock", quantity=1)
    stream.deliver(f"{day[:8]}01", 5)

    for on in ("", "2026-03-10"):
        everything(stream, on)
    assert stream.reading("days-since-escape").value in (0, 739_685)


def test_what_is_dated_after_today_counts_as_of_today_so_that_a_slip_hides_nothing(stream):
    acts = Acts(stream, raw_concern(stream, reported_on="2062-03-12", severity="safety"))
    stream.place.add(Escape, concern=acts.concern, found_on="2062-03-12", where="dock", quantity=1)
    acts.open("2026-03-01")

    assert stream.reading("days-since-escape").value == 0
    assert stream.reading("safety-untold").value == 1
    assert stream.reading("overdue-actions").value == 1
    assert stream.reading("days-to-contain").still_open == 1


def test_what_a_tablet_whose_clock_is_ahead_recorded_is_seen_today(stream):
    stream.go_to("2027-01-01")
    acts = Acts(stream, severity="safety", reported_on="2026-03-01")
    acts.open("2026-03-05")
    stream.go_to("2026-03-11")

    assert stream.reading("safety-untold").value == 1
    assert stream.reading("overdue-actions").value == 1


def test_an_empty_stream_has_nothing_to_work_anything_out_from(stream):
    stream.state("ppm")

    assert {line.state for line in stream.board().lines} == {NO_DATA}
