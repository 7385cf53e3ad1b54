"""Desk books on their way: what goes along in a bundle, and a month that two tablets recorded."""

from __future__ import annotations

from datetime import date

import pytest

from tests.bundle.test_standard import faults
from tests.deliverers import BOOK, STREAM, Deliverer
from tests.fakes import Desk
from walkapp.actions.books import facts_of
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.deliveries import record_deliveries, take_back_together, take_out_deliveries
from walkapp.actions.disputes import disputes_of, settle
from walkapp.actions.merging import bundle_as_store, merge_bundles
from walkapp.actions.ppm_telling import ppm_lines
from walkapp.bundle import open_bundle
from walkapp.cli.commands import main
from walkapp.errors import InputError
from walkapp.model.records import Deliveries


@pytest.fixture
def one(tmp_path):
    desk = Desk(tmp_path / "one")
    with desk.store:
        yield Deliverer(desk)


@pytest.fixture
def other(tmp_path):
    desk = Desk(tmp_path / "two", seed=3, by="SV-CD")
    with desk.store:
        yield Deliverer(desk)


def kinds_in(path):
    with open_bundle(path) as bundle:
        return {(record.kind, record.concern == BOOK) for record in bundle.records}


def exchange(one, other, folder):
    """Give the records of each tablet to the other."""
    paths = [folder / "one.zip", folder / "other.zip"]
    for path, tablet in zip(paths, (one, other), strict=True):
        bundle_concerns(tablet.desk.place, path)
    merge_bundles(one.desk.place, paths[1:])
    merge_bundles(other.desk.place, paths[:1])


def test_deliveries_and_success_factors_go_along_in_a_full_bundle_that_keeps_to_the_standard(one, tmp_path):
    one.desk.concern()
    one.month("2026-02", 50_000, nok=3, part="=1+1")
    one.target("100")

    bundle_concerns(one.desk.place, tmp_path / "all.zip")

    assert kinds_in(tmp_path / "all.zip") == {
        ("concern", False),
        ("deliveries", True),
        ("success_factor", True),
    }
    assert faults(tmp_path / "all.zip") == []


def test_a_bundle_of_one_concern_or_of_audits_has_no_deliveries(one, tmp_path):
    concern = one.desk.concern()
    one.month("2026-02", 50_000)

    bundle_concerns(one.desk.place, tmp_path / "one.zip", concern=concern)

    assert kinds_in(tmp_path / "one.zip") == {("concern", False)}
    with pytest.raises(InputError, match="no audit of the value stream"):
        bundle_concerns(one.desk.place, tmp_path / "audits.zip", audits_of=STREAM)


def test_a_desk_book_can_be_bundled_alone(one, tmp_path):
    one.desk.concern()
    one.month("2026-02", 50_000)

    bundle_concerns(one.desk.place, tmp_path / "desk.zip", concern=BOOK)

    assert kinds_in(tmp_path / "desk.zip") == {("deliveries", True)}
    with pytest.raises(InputError, match="nothing to bundle"):
        bundle_concerns(one.desk.place, tmp_path / "none.zip", concern=BOOK[:-1] + "0")


def test_since_goes_by_when_it_was_recorded_and_not_by_the_month_delivered(one, tmp_path):
    one.month("2025-02", 50_000)

    bundle_concerns(one.desk.place, tmp_path / "new.zip", since=date(2026, 3, 1))

    assert kinds_in(tmp_path / "new.zip") == {("deliveries", True)}
    with pytest.raises(InputError, match="nothing was recorded since"):
        bundle_concerns(one.desk.place, tmp_path / "later.zip", since=date(2026, 4, 1))


def test_a_month_recorded_alike_on_two_tablets_counts_once_on_both(one, other, tmp_path):
    one.month("2026-02", 50_000)
    other.month("2026-02", 50_000)

    exchange(one, other, tmp_path)

    assert [len(tablet.facts.kept(Deliveries)) for tablet in (one, other)] == [2, 2]
    assert [tablet.ppm().latest.delivered for tablet in (one, other)] == [50_000, 50_000]
    assert one.ppm().at_odds == ()


def test_a_month_recorded_differently_says_the_same_on_both_tablets_until_one_is_taken_back(
    one, other, tmp_path
):
    one.month("2026-02", 50_000)
    theirs = other.month("2026-02", 51_000)

    exchange(one, other, tmp_path)

    assert list(ppm_lines(one.ppm())) == list(ppm_lines(other.ppm()))
    assert one.ppm().at_odds

    take_out_deliveries(one.desk.place, one.facts, theirs.id, "typed wrong")
    exchange(one, other, tmp_path)

    assert [tablet.ppm().latest.delivered for tablet in (one, other)] == [50_000, 50_000]
    assert one.ppm().at_odds == other.ppm().at_odds == ()


def test_undo_takes_back_nothing_of_another_tablet(one, other, tmp_path):
    one.month("2026-02", 50_000)
    other.target("100")
    exchange(one, other, tmp_path)

    with pytest.raises(InputError, match="nothing on this page"):
        take_back_together(other.desk.place, BOOK)


def test_one_entry_corrected_on_two_tablets_is_settled_by_a_person(one, other, tmp_path):
    entry = one.month("2026-02", 50_000)
    other.target("100")
    exchange(one, other, tmp_path)
    said = {"month": date(2026, 2, 1), "entry": entry.id, "why": "counted again"}
    for tablet, delivered in ((one, 51_000), (other, 52_000)):
        record_deliveries(tablet.desk.place, tablet.facts, delivered=delivered, **said)
    exchange(one, other, tmp_path)

    (dispute,) = disputes_of(one.desk.place, facts_of(one.desk.place, BOOK))
    assert dispute.about == "Deliveries, February 2026"
    assert sorted(side.value for side in dispute.sides) == [
        f"Parts delivered in that month: {many}" for many in (51000, 52000)
    ]
    place = next(i for i, side in enumerate(dispute.sides) if side.record.delivered == 51_000)
    settle(one.desk.place, BOOK, dispute, place, "asked the dispatcher")
    exchange(one, other, tmp_path)

    assert [tablet.ppm().latest.delivered for tablet in (one, other)] == [51_000, 51_000]
    assert other.facts.standing.conflicts == ()


def test_a_bundle_of_deliveries_alone_is_summed_up_without_a_fault(one, tmp_path, capsys):
    one.month("2026-02", 50_000)
    bundle_concerns(one.desk.place, tmp_path / "desk.zip")

    assert main(["summary", str(tmp_path / "desk.zip")]) == 1

    assert "No concern is recorded here yet." in capsys.readouterr().out
    with bundle_as_store(
        tmp_path / "desk.zip", now=one.desk.place.now, new_id=one.desk.place.new_id, app="t"
    ) as seen:
        assert seen.place.store.concerns() == one.desk.place.store.concerns()
