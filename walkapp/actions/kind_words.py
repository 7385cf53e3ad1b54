"""What records of each kind are called, for people; their titles in a bundle are for programs."""

from __future__ import annotations

from walkapp.language import msg, tr

KIND_WORDS = {
    "concern": (msg("Concern"), msg("Concerns")),
    "escalation": (msg("Person told"), msg("Escalations")),
    "walk_start": (msg("Walk begun"), msg("Walks")),
    "hazards_read": (msg("Cautions read"), msg("Cautions read")),
    "sample": (msg("Sample"), msg("Samples")),
    "answer": (msg("Part judged"), msg("Answers")),
    "count": (msg("Count"), msg("Counts")),
    "dated_count": (msg("Count of an older lot"), msg("Counts of older lots")),
    "measurement": (msg("Measurement"), msg("Measurements")),
    "setting": (msg("Process setting"), msg("Process settings")),
    "change_point": (msg("Change point"), msg("Change points")),
    "note": (msg("Note"), msg("Notes")),
    "part_seen": (msg("Part seen"), msg("Parts seen")),
    "photo": (msg("Photo"), msg("Photos")),
    "photo_copy": (msg("Copy of a photo"), msg("Copies of photos")),
    "study": (msg("Inspection study"), msg("Inspection studies")),
    "study_part": (msg("Part of a study"), msg("Parts of inspection studies")),
    "study_reading": (msg("Reading of a study"), msg("Readings of inspection studies")),
    "rates_chosen": (msg("Rates chosen"), msg("Rates chosen")),
    "station_weight": (msg("Weight of a station"), msg("Station weights")),
    "suspect_range": (msg("Suspect range"), msg("Suspect ranges")),
    "suspect_stock": (msg("Suspect stock"), msg("Suspect stocks")),
    "sorting": (msg("Sorting"), msg("Sortings")),
    "clean_point": (msg("Clean point"), msg("Clean points")),
    "escape": (msg("Escape"), msg("Escapes")),
    "trial": (msg("Reproduction trial"), msg("Reproduction trials")),
    "trial_factor": (msg("Factor of a trial"), msg("Factors of reproduction trials")),
    "trial_run": (msg("Run of a trial"), msg("Runs of reproduction trials")),
    "confirmation": (msg("On/off confirmation"), msg("On/off confirmations")),
    "confirmation_turn": (msg("Turn on/off"), msg("Turns of on/off confirmations")),
    "action": (msg("Action"), msg("Actions")),
    "action_done": (msg("Action done"), msg("Actions done")),
    "effect_check": (msg("Effectiveness check"), msg("Effectiveness checks")),
    "watch_question": (msg("Verification question"), msg("Verification questions")),
    "read_across": (msg("Read-across"), msg("Read-across")),
    "lesson": (msg("Lesson"), msg("Lessons")),
    "audit_start": (msg("Audit"), msg("Audits")),
    "audit_answer": (msg("Answer in an audit"), msg("Answers of audits")),
    "audit_reaction": (msg("Done about a finding of an audit"), msg("Reactions")),
    "finding_closed": (msg("Finding of an audit put right"), msg("Findings closed")),
    "audit_signed": (msg("Audit signed"), msg("Audits signed")),
    "audit_missed": (msg("Audit not done"), msg("Audits not done")),
    "deliveries": (msg("Parts delivered"), msg("Deliveries")),
    "success_factor": (msg("Success factor"), msg("Success factors")),
    "picture_mark": (msg("Mark on a picture"), msg("Marks on pictures")),
    "withdrawal": (msg("Withdrawal"), msg("Withdrawals")),
}
"""One record of each kind, and several; said with :func:`name_of_kind` and :func:`title_of_kind`."""


def name_of_kind(kind: str) -> str:
    """Say what one record of a kind is called; a kind of a newer app by its key."""
    return tr(KIND_WORDS[kind][0]) if kind in KIND_WORDS else kind


def title_of_kind(kind: str) -> str:
    """Say what records of a kind are called; those of a newer app with their key."""
    if kind in KIND_WORDS:
        return tr(KIND_WORDS[kind][1])
    return tr("Records of a newer version ({carried_kind})", carried_kind=kind)
