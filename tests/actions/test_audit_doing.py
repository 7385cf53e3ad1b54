"""What is put on disk while an audit is done, and what is refused."""

from __future__ import annotations

import shutil
from datetime import date, datetime, timedelta, timezone

import pytest

from tests.fakes import CHECKLISTS, Desk
from walkapp.actions.audits.doing import (
    answer_question,
    begin_audit,
    close_finding,
    newest_of,
    react,
    say_missed,
    sign_audit,
    undo_newest,
)
from walkapp.actions.audits.reading import asked_words, audit_facts
from walkapp.actions.audits.states import (
    BEGUN,
    IN_TIME,
    LATE,
    MADE_UP,
    OPEN,
    UNFINISHED,
    planned_audit,
    planned_of,
    todays_audits,
)
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.errors import InputError, RecordError
from walkapp.language import ENGLISH, use
from walkapp.languages import load
from walkapp.model.records import AuditAnswer, AuditReaction, AuditSigned, AuditStart, Withdrawal

MONDAY = datetime(2026, 3, 9, 6, 30, tzinfo=timezone(timedelta(hours=1)))


class Shift:
    """The audit of the shift lead in the early shift of Monday 9 March, begun on one tablet."""

    def __init__(self, folder, *, seed=0, checklists=CHECKLISTS):
        self.desk = Desk(folder, by="SL-AB", seed=seed, starts=MONDAY)
        self.desk.place.checklists = checklists
        self.place = self.desk.place
        self.stream = self.place.stream("washer-reservoir")

    def planned(self, layer="shift-lead", day=date(2026, 3, 9), shift="early"):
        return planned_audit(self.place, self.stream, layer, day, shift)

    def begin(self, **which):
        self.start = begin_audit(self.place, self.stream, self.planned(**which))
        return self

    @property
    def facts(self):
        return audit_facts(self.place, self.start.concern, self.start.id)

    def answer(self, ref, word="ok", reason=""):
        return answer_question(self.place, self.facts, ref, word, reason)

    def answer_all(self):
        for asked in self.facts.unanswered:
            self.answer(asked.ref)
        return self

    def nok(self, ref="degating/blade"):
        self.answer(ref, "not_ok")
        return self.facts.findings[0]

    def later(self, **span):
        self.place.now.time += timedelta(**span)

    def of(self, kind):
        return [r for r in self.desk.records if isinstance(r, kind)]


@pytest.fixture
def shift(tmp_path):
    made = Shift(tmp_path)
    with made.desk.store:
        yield made.begin()


# answering


def test_an_answer_keeps_the_words_in_which_it_was_asked(shift):
    answer = shift.answer("degating/blade")
    assert (answer.audit, answer.station, answer.question, answer.watch) == (
        shift.start.id, "degating", "blade", "",
    )  # fmt: skip
    assert answer.asked == "Blade changed within its stroke limit?"
    assert [asked.ref for asked in shift.facts.unanswered].count("degating/blade") == 0


def test_a_record_has_the_words_of_the_checklist_and_the_person_reads_another_language(shift):
    try:
        use(load("de"))
        answer = shift.answer("degating/blade", "not_ok")
        told = next(one.ask for one in shift.facts.asked if one.ref == "degating/blade")
        said = asked_words(shift.place, shift.start, answer)
    finally:
        use(ENGLISH)

    assert answer.asked == "Blade changed within its stroke limit?"
    assert told == said == "Klinge innerhalb ihrer Hubgrenze gewechselt?"
    assert asked_words(shift.place, shift.start, answer) == answer.asked


def test_a_question_whose_id_is_as_long_as_that_of_a_record_is_one_of_the_checklist(tmp_path):
    long_id = "blade-changed-within-its-stroke-limi"
    folder = tmp_path / "lists"
    shutil.copytree(CHECKLISTS / "washer-reservoir", folder / "washer-reservoir")
    path = folder / "washer-reservoir" / "audits.toml"
    text = path.read_text(encoding="utf-8").replace('id = "blade"', f'id = "{long_id}"')
    path.write_text(text, encoding="utf-8")
    shift = Shift(tmp_path, checklists=folder)
    with shift.desk.store:
        answer = shift.begin().answer(f"degating/{long_id}")
        assert len(long_id) == len(answer.id)
        assert (answer.question, answer.watch) == (long_id, "")


@pytest.mark.parametrize("ref", ["moulding/guard-closed", "degating/gone", "", "leak-test", "x/y/z"])
def test_nobody_can_answer_what_the_plan_does_not_ask(shift, ref):
    with pytest.raises(InputError, match="does not ask that question"):
        shift.answer(ref)
    assert shift.of(AuditAnswer) == []


def test_the_same_answer_is_not_recorded_twice_another_reason_is(shift):
    shift.answer("degating/blade", "not_applicable", "equipment not running")
    with pytest.raises(InputError, match="answered already"):
        shift.answer("degating/blade", "not_applicable", "equipment not running")
    second = shift.answer("degating/blade", "not_applicable", "not made in this shift")
    assert second.replaces == (shift.of(AuditAnswer)[0].id,)


def test_not_applicable_without_a_reason_is_refused_and_nothing_is_written(shift):
    with pytest.raises(RecordError, match="reason is missing"):
        shift.answer("degating/blade", "not_applicable")
    assert shift.of(AuditAnswer) == []


def test_an_audit_goes_on_only_on_the_tablet_that_began_it_and_another_may_begin_it_anew(shift, tmp_path):
    other = Shift(tmp_path / "other", seed=1)
    with other.desk.store:
        bundle_concerns(shift.place, tmp_path / "sent.zip")
        merge_bundles(other.place, [tmp_path / "sent.zip"])
        other.start = shift.start
        for call in (lambda: other.answer("degating/blade"), lambda: sign_audit(other.place, other.facts)):
            with pytest.raises(InputError, match="begun on another tablet"):
                call()
        begin_audit(other.place, other.stream, other.planned())
        with pytest.raises(InputError, match="begun on this tablet already"):
            begin_audit(other.place, other.stream, other.planned())


# what was done about a NOK


def test_a_reaction_that_leaves_something_to_do_needs_owner_and_day(shift):
    finding = shift.nok()
    for more in ({}, {"owner": "SL"}, {"due_on": "2026-03-10"}):
        with pytest.raises(RecordError, match="owner and due_on are needed"):
            react(shift.place, shift.facts, finding, "contained", "Held", **more)
    assert shift.of(AuditReaction) == []


def test_a_nok_that_is_answered_ok_after_all_is_no_finding_and_undo_makes_it_one_again(shift):
    finding = shift.nok()
    react(shift.place, shift.facts, finding, "corrected", "Replaced")
    shift.answer("degating/blade", "ok")
    assert shift.facts.findings == ()

    undo_newest(shift.place, shift.facts)

    (again,) = shift.facts.findings
    assert again.answer.answer == "not_ok"


def test_another_tablet_may_say_what_was_done_and_that_it_is_closed(shift, tmp_path):
    shift.nok()
    other = Shift(tmp_path / "other", seed=1)
    with other.desk.store:
        bundle_concerns(shift.place, tmp_path / "sent.zip")
        merge_bundles(other.place, [tmp_path / "sent.zip"])
        other.start = shift.start
        react(
            other.place,
            other.facts,
            other.facts.findings[0],
            "escalated",
            "Told",
            owner="QE",
            due_on="2026-03-10",
        )
        close_finding(other.place, other.facts.findings[0], "2026-03-09", "New blade in")
        assert other.facts.findings[0].closed_on == "2026-03-09"


# signing


def test_a_signature_says_what_was_signed_and_closes_the_audit(shift):
    shift.answer("degating/blade", "not_applicable", "equipment not running")
    shift.answer_all()
    signed = sign_audit(shift.place, shift.facts, "All tidy")
    assert (signed.ok, signed.nok, signed.not_applicable, signed.note) == (5, 0, 1, "All tidy")
    with pytest.raises(InputError, match="is signed"):
        shift.answer("degating/blade")
    with pytest.raises(InputError, match="is signed"):
        sign_audit(shift.place, shift.facts)


def test_nothing_is_signed_while_a_question_or_a_reaction_is_missing(shift):
    with pytest.raises(InputError, match="6 questions are still to be answered"):
        sign_audit(shift.place, shift.facts)
    finding = shift.nok()
    shift.answer_all()
    with pytest.raises(InputError, match="1 NOK without a word"):
        sign_audit(shift.place, shift.facts)
    react(shift.place, shift.facts, finding, "corrected", "Replaced")
    assert sign_audit(shift.place, shift.facts).nok == 1


def test_without_its_checklist_nobody_knows_whether_all_is_answered_and_nothing_is_signed(shift):
    shift.answer_all()
    shutil.rmtree(shift.place.store.folder / "checklists" / shift.start.checklist)
    shift.place._kept.clear()
    shift.place.checklists, shift.place._streams = None, {}
    assert (shift.facts.is_whole, shift.facts.unanswered, planned_of(shift.place, shift.facts)) == (
        False, (), None,
    )  # fmt: skip
    with pytest.raises(InputError, match="checklist that this audit was begun with is not here"):
        sign_audit(shift.place, shift.facts)


@pytest.mark.parametrize(
    "begins, takes, state",
    [
        ({}, {"hours": 1}, IN_TIME),
        ({}, {"hours": 8}, LATE),
        ({"hours": 8}, {"hours": 1}, MADE_UP),
    ],
)
def test_when_it_was_begun_and_signed_decides_how_an_audit_stands(tmp_path, begins, takes, state):
    shift = Shift(tmp_path)
    with shift.desk.store:
        shift.later(**begins)
        shift.begin().answer_all()
        assert planned_of(shift.place, shift.facts).state == BEGUN
        shift.later(**takes)
        sign_audit(shift.place, shift.facts)
        assert planned_of(shift.place, shift.facts).state == state == shift.planned().state


def test_what_was_begun_and_never_signed_is_not_finished_and_a_reason_can_be_said(shift):
    with pytest.raises(InputError, match="not missed"):
        say_missed(shift.place, shift.stream, shift.planned(), "line did not run")
    shift.later(days=4)
    assert planned_of(shift.place, shift.facts).state == UNFINISHED
    say_missed(shift.place, shift.stream, shift.planned(), "called away")
    planned = shift.planned()
    assert (planned.state, planned.missed.reason) == (UNFINISHED, "called away")


def test_an_older_audit_that_was_signed_today_is_among_todays_audits_and_tomorrow_it_is_not(tmp_path):
    shift = Shift(tmp_path)
    friday = {"layer": "supervisor", "day": date(2026, 3, 6), "shift": ""}
    with shift.desk.store:
        shift.begin(**friday).answer_all()
        sign_audit(shift.place, shift.facts)
        key = ("supervisor", date(2026, 3, 6), "")
        assert key in [one.slot.key for one in todays_audits(shift.place, shift.stream)]
        shift.later(days=1)
        assert key not in [one.slot.key for one in todays_audits(shift.place, shift.stream)]


# undo


def test_undo_takes_back_entries_of_this_audit_alone_one_after_the_other(shift):
    shift.answer("degating/blade")
    finding_ref = "degating/scrap-marked"
    shift.nok(finding_ref)
    react(shift.place, shift.facts, shift.facts.findings[0], "corrected", "Emptied")
    another = begin_audit(shift.place, shift.stream, shift.planned("supervisor", date(2026, 3, 9), ""))
    other = audit_facts(shift.place, another.concern, another.id)
    answer_question(shift.place, other, other.asked[0].ref, "ok")

    seen = []
    while not isinstance(entry := newest_of(shift.place, shift.facts), AuditStart):
        seen.append(type(entry).__name__)
        undo_newest(shift.place, shift.facts)

    assert seen == ["AuditReaction", "AuditAnswer", "AuditAnswer"]
    assert (shift.facts.answers, shift.facts.findings) == ({}, ())
    assert len(audit_facts(shift.place, another.concern, another.id).answers) == 1


def test_what_was_begun_by_mistake_is_taken_back_and_can_be_begun_again(shift):
    begun = shift.facts
    assert undo_newest(shift.place, begun).replaces == (begun.start.id,)

    with pytest.raises(InputError, match="taken back"):
        audit_facts(shift.place, begun.book, begun.start.id)
    with pytest.raises(InputError, match="nothing on this page"):
        undo_newest(shift.place, begun)
    assert shift.planned().state == OPEN
    begin_audit(shift.place, shift.stream, shift.planned())
    assert len(shift.of(AuditStart)) == 2, "the records of both stay"


def test_undo_takes_the_signature_back_first_and_it_can_be_signed_again(shift):
    shift.answer_all()
    sign_audit(shift.place, shift.facts)
    assert isinstance(newest_of(shift.place, shift.facts), AuditSigned)
    assert isinstance(undo_newest(shift.place, shift.facts), Withdrawal)
    assert shift.facts.signed is None
    sign_audit(shift.place, shift.facts, "once more")
    assert shift.facts.signed.note == "once more"
