"""What a person does on the floor, on a real store with the real checklists."""

from __future__ import annotations

import hashlib
from dataclasses import replace

import pytest

from tests.fakes import Desk
from walkapp.actions.reading import concern_facts
from walkapp.actions.walking import Walking, count_of, record_escalation, start_walk, weigh_station
from walkapp.demo.pictures import draw
from walkapp.errors import InputError, PhotoError, RecordError
from walkapp.model.records import Answer, Count, Measurement, Photo, Sample, Setting, Withdrawal


class Walker:
    """One walk on one desk, with the walk read anew for every step."""

    def __init__(self, folder) -> None:
        self.desk = Desk(folder)
        self.route = self.desk.walk()
        self.walking = Walking(self.desk.place, self.route.concern, self.route.walk)

    @property
    def now(self):
        return self.desk.facts(self.route)

    def check(self, station, check):
        return self.now.stream.station(station).check(check)

    def progress(self, station, check):
        return self.now.progress(self.now.stream.station(station), check)

    def judge(self, word, **more):
        return self.walking.judge_part(self.now, "moulding", "ear-look", word, **more)

    def count(self, checked, nok):
        return self.walking.count(self.now, "dock", "ear-count", checked, nok)

    def ask(self, word):
        return self.walking.answer_question(self.now, "moulding", "changed", word)

    def undo(self):
        return self.walking.undo(self.now)


@pytest.fixture
def walker(tmp_path):
    made = Walker(tmp_path)
    with made.desk.store:
        yield made


@pytest.mark.parametrize(
    "said, words",
    [
        ({"defect": "split-ear"}, "has no defect 'split-ear'; choose one of: cracked-ear"),
        ({"stream": "gearbox"}, "'gearbox' is not in the checklists folder"),
    ],
)
def test_a_concern_that_no_check_could_speak_of_is_not_opened(walker, said, words):
    before = walker.desk.records
    with pytest.raises(InputError, match=words):
        walker.desk.concern(**said)
    assert walker.desk.records == before


def test_a_concern_is_its_own_id_and_carries_the_person(walker):
    concern = walker.now.facts.concern
    assert (concern.id, concern.by) == (concern.concern, "QE-RT")
    assert concern.what == "Cracked mounting ears (invented)"


def test_a_value_that_is_not_allowed_writes_nothing(walker):
    before = len(walker.desk.records)
    with pytest.raises(RecordError, match="severity"):
        walker.desk.concern(severity="grave")
    assert len(walker.desk.records) == before


def test_a_walk_keeps_the_checklist_that_it_began_with(walker):
    files = walker.desk.store.checklist(walker.now.start.checklist)
    assert files is not None
    assert sorted(files) == ["audits.toml", "checks.toml", "de.toml", "es.toml", "pl.toml", "stream.toml"]
    assert walker.now.stream.digest == walker.now.start.checklist


def test_a_walk_of_a_stream_that_is_not_there_is_refused_with_a_way_out(walker):
    facts = walker.now.facts
    lost = replace(facts, concern=replace(facts.concern, stream="nowhere"))
    with pytest.raises(InputError, match=r"'nowhere'.*--checklists"):
        start_walk(walker.desk.place, lost, "down")


def test_each_part_judged_is_one_record(walker):
    for word in ("ok", "not_ok", "ok"):
        walker.judge(word, unit="cavity 1")
    progress = walker.progress("moulding", "ear-look")
    assert (progress.checked, progress.nok) == (3, 1)
    assert sum(isinstance(r, Answer) for r in walker.desk.records) == 3


def test_counting_on_makes_one_chain_of_corrections(walker):
    first, second, third = walker.count(1, 0), walker.count(2, 0), walker.count(3, 1)
    assert (first.replaces, second.replaces, third.replaces) == ((), (first.id,), (second.id,))
    progress = walker.progress("dock", "ear-count")
    assert (progress.checked, progress.nok) == (3, 1)
    assert walker.now.facts.conflicts == ()


def test_counts_of_parallel_units_stand_beside_each_other(walker):
    for unit, checked in (("a", 10), ("b", 20)):
        walker.walking.count(walker.now, "dock", "ear-count", checked, 0, unit=unit)
    found = [count_of(walker.now, "dock", "ear-count", unit) for unit in ("a", "b", "")]
    assert [count.checked if count else None for count in found] == [10, 20, None]
    assert walker.progress("dock", "ear-count").checked == 30


def test_measured_values_stand_as_typed_beside_each_other(walker):
    check = walker.check("moulding", "ear-wall")
    for value in ("2.50", "2.71"):
        walker.walking.measure(walker.now, "moulding", check, value, unit="cavity 2", part="P1")
    taken = [r for r in walker.now.current if isinstance(r, Measurement)]
    assert [(r.value, r.unit_of_measure, r.unit, r.part) for r in taken] == [
        ("2.50", "mm", "cavity 2", "P1"),
        ("2.71", "mm", "cavity 2", "P1"),
    ]
    # 2.71 mm lies above the upper limit of 2.60 mm that the checklist gives.
    assert walker.progress("moulding", "ear-wall").nok == 1


def test_a_setting_read_again_corrects_the_first_reading(walker):
    check = walker.check("leak-test", "clamp-force")
    walker.walking.read_setting(walker.now, "leak-test", check, "212", set_value="210")
    walker.walking.read_setting(walker.now, "leak-test", check, "260")
    held = [r for r in walker.now.current if isinstance(r, Setting)]
    assert [(r.actual, r.unit_of_measure) for r in held] == [("260", "N")]
    assert walker.progress("leak-test", "clamp-force").nok == 1


def test_a_question_answered_again_is_corrected(walker):
    first, second = walker.ask("ok"), walker.ask("not_ok")
    assert second.replaces == (first.id,)
    assert walker.progress("moulding", "changed").nok == 1
    assert walker.progress("moulding", "changed").checked == 1


def test_a_lot_said_again_is_corrected(walker):
    walker.walking.say_sample(walker.now, "moulding", "0303-1", "2026-03-03")
    walker.walking.say_sample(walker.now, "moulding", "0303-2", "")
    assert [r.lot for r in walker.now.current if isinstance(r, Sample)] == ["0303-2"]


@pytest.mark.parametrize("station, check", [("moulding", "ear-look"), ("moulding", "changed")])
def test_a_check_set_aside_and_then_answered_applies_again(walker, station, check):
    walker.walking.set_aside(walker.now, station, check, "no parts here")
    assert walker.progress(station, check).not_applicable == "no parts here"
    if check == "changed":
        walker.ask("ok")
    else:
        walker.judge("ok")
    progress = walker.progress(station, check)
    assert (progress.not_applicable, progress.checked, progress.nok) == ("", 1, 0)


@pytest.mark.parametrize("kind", ["count", "measure", "setting"])
def test_numbers_after_not_applicable_replace_it(walker, kind):
    station, check = {
        "count": ("dock", "ear-count"),
        "measure": ("moulding", "ear-wall"),
        "setting": ("moulding", "mould-temperature"),
    }[kind]
    walker.walking.set_aside(walker.now, station, check, "gauge not here")
    match kind:
        case "count":
            walker.count(4, 1)
        case "measure":
            walker.walking.measure(walker.now, station, walker.check(station, check), "2.50")
        case _:
            walker.walking.read_setting(walker.now, station, walker.check(station, check), "40")
    assert walker.progress(station, check).not_applicable == ""
    assert walker.progress(station, check).is_begun


def test_setting_aside_twice_keeps_the_second_reason(walker):
    for reason in ("no parts here", "station not running"):
        walker.walking.set_aside(walker.now, "moulding", "ear-look", reason)
    assert walker.progress("moulding", "ear-look").not_applicable == "station not running"
    assert walker.now.facts.conflicts == ()


def test_undo_takes_an_answer_back_and_deletes_nothing(walker):
    answer = walker.judge("not_ok")
    taken_back = walker.undo()
    assert isinstance(taken_back, Withdrawal)
    assert taken_back.replaces == (answer.id,)
    assert not walker.progress("moulding", "ear-look").is_begun
    assert answer in walker.desk.records


def test_undo_of_a_correction_goes_back_to_the_value_before(walker):
    walker.count(10, 2)
    walker.count(11, 2)
    restored = walker.undo()
    assert isinstance(restored, Count)
    held = count_of(walker.now, "dock", "ear-count")
    assert held is not None
    assert (held.checked, held.nok) == (10, 2)
    assert walker.now.facts.conflicts == ()


def test_undo_of_an_answer_after_not_applicable_brings_the_reason_back(walker):
    walker.walking.set_aside(walker.now, "moulding", "changed", "nobody to ask")
    walker.ask("ok")
    walker.undo()
    assert walker.progress("moulding", "changed").not_applicable == "nobody to ask"


def test_several_undos_in_a_row_go_back_step_by_step_to_nothing(walker):
    walker.judge("ok")
    for checked in (1, 2, 3):
        walker.count(checked, 0)
    seen = []
    while walker.now.undoable is not None:
        walker.undo()
        held = count_of(walker.now, "dock", "ear-count")
        seen.append((held.checked if held else 0, walker.progress("moulding", "ear-look").checked))
    assert seen == [(2, 1), (1, 1), (0, 1), (0, 0)]


def test_counting_on_after_an_undo_can_be_undone_too(walker):
    walker.count(1, 0)
    walker.count(2, 0)
    walker.undo()
    walker.count(5, 1)
    assert count_of(walker.now, "dock", "ear-count").checked == 5
    walker.undo()
    assert count_of(walker.now, "dock", "ear-count").checked == 1
    walker.undo()
    assert count_of(walker.now, "dock", "ear-count") is None


def test_nothing_to_undo_is_said_in_a_sentence(walker):
    walker.walking.confirm_hazards("moulding")  # cautions that were read stay read
    with pytest.raises(InputError, match=r"nothing to undo in this walk\.$"):
        walker.undo()
    assert walker.now.hazards_read == {"moulding"}


def test_a_photo_is_kept_unchanged_under_its_digest(walker):
    data = draw("ear-ok")
    photo = walker.walking.add_photo("moulding", data, "ear.jpg", check="ear-photo", invented=True)
    path = walker.desk.store.photo_path(photo.file_name)
    assert path is not None
    assert path.read_bytes() == data
    assert photo.sha256 == hashlib.sha256(data).hexdigest()
    assert photo.size_bytes == len(data)


def test_what_is_no_picture_is_refused_and_leaves_nothing(walker):
    before = len(walker.desk.records)
    with pytest.raises(PhotoError, match=r"notes\.jpg"):
        walker.walking.add_photo("moulding", b"no picture", "notes.jpg")
    assert len(walker.desk.records) == before
    assert walker.desk.store.photo_names() == ()


def test_a_safety_concern_needs_escalation_until_it_is_recorded(walker):
    concern = walker.desk.concern(severity="safety")
    assert concern_facts(walker.desk.place, concern).needs_escalation
    record_escalation(walker.desk.place, concern, "quality lead")
    facts = concern_facts(walker.desk.place, concern)
    assert not facts.needs_escalation
    assert [r.told for r in facts.escalations] == ["quality lead"]


def test_after_reopening_the_store_everything_is_there(tmp_path):
    walker = Walker(tmp_path)
    walker.walking.confirm_hazards("moulding")
    walker.judge("not_ok")
    walker.count(30, 6)
    walker.count(31, 6)
    walker.undo()
    walker.walking.note("moulding", "Rack is gone\r\nsince Monday ")
    walker.walking.report_change("moulding", change="material", what="New lot", customer_told="no")
    walker.walking.add_photo("moulding", draw("ear-ok"), "ear.jpg", invented=True)
    before, current = walker.desk.records, walker.now.current
    walker.desk.store.close()

    again = Desk(tmp_path, seed=1)

    with again.store:
        assert again.records == before
        assert again.facts(walker.route).current == current
        photo = next(r for r in current if isinstance(r, Photo))
        assert again.store.photo_path(photo.file_name).read_bytes() == draw("ear-ok")
        assert again.store.next_number == max(r.number for r in before) + 1


def test_a_suspicion_shifts_the_answer_and_is_said(walker):
    before = walker.now.facts.locate()

    weigh_station(walker.desk.place, walker.now.facts, "welding", "10", "new hot plate")

    after = walker.now.facts.locate()
    chances = [{v.station: v.probability_origin for v in a.stations} for a in (before, after)]
    # Ten times as likely as another station: nothing was counted yet, so the prior itself is seen.
    assert chances[1]["Hot-plate welding"] == pytest.approx(10 * chances[1]["Leak test"])
    assert chances[0]["Hot-plate welding"] == pytest.approx(chances[0]["Leak test"])
    assert after.assumptions.is_weighted and not before.assumptions.is_weighted
    (said,) = (w for w in after.warnings if "Beforehand" in w)
    assert said.startswith("Beforehand Hot-plate welding was taken to be 10 times as likely")
    assert "QE-RT" in said and said.endswith("new hot plate).")


@pytest.mark.parametrize(
    "station, weight, error", [("gearbox", "3", InputError), ("welding", "-1", RecordError)]
)
def test_a_suspicion_that_cannot_be_is_refused(walker, station, weight, error):
    before = walker.desk.records
    with pytest.raises(error):
        weigh_station(walker.desk.place, walker.now.facts, station, weight, "invented")
    assert walker.desk.records == before


def test_not_every_station_can_be_ruled_out(walker):
    stations = [s.id for s in walker.now.stream.stations]
    for station in stations[:-1]:
        weigh_station(walker.desk.place, walker.now.facts, station, "0", "invented")
    with pytest.raises(InputError, match="at least one must remain"):
        weigh_station(walker.desk.place, walker.now.facts, stations[-1], "0", "invented")


def test_a_kept_checklist_with_a_changed_letter_is_not_walked_with(tmp_path):
    desk = Desk(tmp_path)
    route = desk.walk()
    desk.store.close()
    (kept,) = (tmp_path / "store" / "checklists").glob("*/checks.toml")
    kept.write_bytes(kept.read_bytes() + b"# changed\n")

    again = Desk(tmp_path, seed=5000)
    with again.store, pytest.raises(InputError, match="begun with is not in this store"):
        again.facts(route)
