"""From records to figures: what each shows, what it says of itself, and why one cannot be drawn."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.floors import Floor
from tests.quarrels import Quarrel
from walkapp.actions.acting import action_facts
from walkapp.actions.action_records import correct_action, open_action, say_done
from walkapp.actions.desk import desk_facts
from walkapp.actions.figures.catalogue import (
    INVENTED,
    NOT_ESCALATED,
    OF_A_CONCERN,
    OF_A_STREAM,
    concern_figures,
    kinds_of_figures,
    stream_figures,
)
from walkapp.actions.figures.measured import measured_figure
from walkapp.actions.figures.onset import MOST_POINTS
from walkapp.actions.figures.pareto import MOST_ROWS, Counted, pareto
from walkapp.actions.figures.writing import drawn_as, facts_to_draw, picture_of, write_figures
from walkapp.actions.narrowing import MeasuredCharacteristic
from walkapp.actions.reading import concern_facts
from walkapp.actions.walking import Walking
from walkapp.analysis.gather_measured import Characteristic
from walkapp.analysis.measured_results import Limits, MeasuredStation, Reading
from walkapp.analysis.proportions import proportion_interval
from walkapp.demo.tablets import open_tablet, read_scenario
from walkapp.errors import InputError
from walkapp.model.records import Count, DatedCount

CHECKLISTS = Path(__file__).parents[2] / "checklists"


@pytest.fixture(scope="module")
def demo(tmp_path_factory, played_demo):
    """All records of the demo at the desk."""
    folder = tmp_path_factory.mktemp("figures")
    played_demo(folder)
    desk = open_tablet(read_scenario()["desk"], folder / "desk", CHECKLISTS)
    with desk.place.store:
        yield desk.place, concern_facts(desk.place, desk.concern)


@pytest.fixture
def floor(desk):
    return Floor(desk)


def n_of(figure):
    """Give the note that says n."""
    return next(note for note in figure.notes if note.startswith("n = "))


def only(place, facts, kind):
    (figure,) = concern_figures(place, facts, kind)
    return figure


def act(floor, what="Soft pads", due="2026-03-06", **more):
    said = {"aim": "corrective", "what": what, "owner": "ME-KL", "due_on": due, **more}
    return open_action(floor.desk.place, floor.facts, **said)


def finish(floor, action, day):
    place = floor.desk.place
    now = action_facts(place, floor.route.concern, action.action)
    say_done(place, floor.facts, now, done_on=day, evidence="seen")


# Shares and measurements


def test_the_shares_are_those_of_the_answer(demo):
    place, facts = demo
    figure = only(place, facts, "share-by-station")
    answer = facts.locate(thorough=False)
    assert [(row.station, row.checked, row.nok) for row in figure.rows] == [
        (one.station, one.checked, one.nok) for one in answer.stations
    ]
    leak = figure.rows[3]
    limits = proportion_interval(leak.nok, leak.checked)
    assert (leak.low, leak.high, leak.state) == (limits.low, limits.high, "bad")
    assert sum(row.origin for row in figure.rows) == pytest.approx(1 - answer.none_probability)


def test_a_measured_characteristic_shows_every_part_and_where_tolerance_is_left(demo):
    place, facts = demo
    wall, _ = concern_figures(place, facts, "measured-by-station")
    assert wall.name == "measured-by-station-ear-wall"
    assert wall.axis == "Wall thickness at the root of the ear (mm)"
    assert wall.title.endswith("first out of tolerance at Leak test (1 of 5 parts)")
    by_station = {row.station: row for row in wall.rows}
    assert list(by_station) == ["Injection moulding", "Degating", "Hot-plate welding", "Leak test"]
    assert by_station["Degating"].words == "no check measures it" and by_station["Degating"].values == ()
    leak = by_station["Leak test"]
    assert (len(leak.values), sum(leak.outside), leak.is_first) == (5, 1, True)
    assert [value for value, out in zip(leak.values, leak.outside, strict=True) if out] == [2.39]
    assert (leak.lsl, leak.nominal, leak.usl) == (2.4, 2.5, 2.6)
    assert leak.mean == pytest.approx(sum(leak.values) / 5)
    # Each way goes from row to row: parts are known by their tag.
    assert len(wall.paths) == 5 and all(len(path) == 3 for path in wall.paths)
    assert n_of(wall).startswith("n = 20 measured parts at 3 of 8 stations")
    assert any("95 % interval (t, two-sided" in note for note in wall.notes)


def characteristic(*stations):
    """Give what was measured at some stations: a name, limits, and untagged values."""
    at = tuple(
        MeasuredStation(
            order=order, name=name, limits=limits,
            readings=tuple(Reading(value=Decimal(value)) for value in values.split()),
        )
        for order, (name, limits, values) in enumerate(stations, start=1)
    )  # fmt: skip
    names = tuple(station.name for station in at)
    said = Characteristic(
        id="wall", title="Wall", unit="mm", special=False, checked_at=names, station_names=names,
        stations=at, decimals=2,
    )  # fmt: skip
    return MeasuredCharacteristic(characteristic=said)


BOTH = Limits(lsl=Decimal("2.4"), usl=Decimal("2.6"))


@pytest.mark.parametrize(
    ("stations", "title"),
    [
        (
            (("A", Limits(nominal=Decimal("2.5")), "2.3 2.9"), ("B", Limits(), "2.3")),
            "Wall by station; there are no limits to hold it against",
        ),
        (
            (("A", BOTH, "2.40 2.60"), ("B", BOTH, "2.5")),
            "Wall by station; none of the measured parts was out of tolerance",
        ),
        (
            (("A", BOTH, "2.5"), ("B", Limits(), "9.9")),
            "Wall by station; none of the parts measured where there are limits was out of tolerance",
        ),
        ((("A", BOTH, "2.39 2.5"),), "Wall: first out of tolerance at A (1 of 2 parts)"),
    ],
)
def test_nothing_is_said_of_a_tolerance_that_is_not_there(stations, title):
    assert measured_figure(characteristic(*stations)).title == title


def test_limits_that_differ_stand_beside_each_station():
    wide = Limits(lsl=Decimal("2.3"), usl=Decimal("2.7"))
    figure = measured_figure(characteristic(("A", BOTH, "2.5"), ("B", None, ""), ("C", wide, "2.5 2.31")))
    assert [row.words for row in figure.rows] == [
        "n = 1; 0 out; LSL 2.4 mm, USL 2.6 mm", "not measured",
        "n = 2; 0 out; LSL 2.3 mm, USL 2.7 mm",
    ]  # fmt: skip
    assert not any("LSL" in note for note in figure.notes)


# Over time


def test_points_band_and_marks_stand_on_their_days(floor):
    floor.walk()
    floor.lots()
    floor.change("Harder clamp pads", day=25)
    floor.change("New operator", day=20, kind="man")
    floor.change("Spare screwdriver", "pump-assembly")
    finish(floor, act(floor), "2026-03-03")

    figure = only(floor.desk.place, floor.facts, "defects-over-time")

    assert [(p.day, p.state) for p in figure.points] == [
        ("2026-02-20", "clean"), ("2026-02-24", "clean"), ("2026-02-26", "bad"), ("2026-02-27", "bad"),
    ]  # fmt: skip
    limits = proportion_interval(9, 20)
    assert (figure.points[2].share, figure.points[2].low, figure.points[2].high) == (
        0.45, limits.low, limits.high,
    )  # fmt: skip
    assert figure.band == ("2026-02-24", "2026-02-26")
    assert figure.first_bad == "2026-02-26"
    assert [(m.sign, m.day, m.is_action) for m in figure.marks] == [
        ("2", "2026-02-20", False), ("1", "2026-02-25", False), ("A", "2026-03-03", True),
    ]  # fmt: skip
    said = "\n".join(figure.notes)
    assert n_of(figure).startswith("n = 80 parts of 4 lots or days, judged at Leak test")
    assert "1: 2026-02-25 machine at Leak test: Harder clamp pads" in said
    assert "1 recorded change not drawn; the day of 1 is not known." in said
    assert "A: done on 2026-03-03: Soft pads (corrective action, done)." in said


def test_parts_from_after_a_fix_that_worked_are_shown_apart(demo):
    place, facts = demo
    figure = only(place, facts, "defects-over-time")
    assert len([p for p in figure.points if p.state == "bad"]) >= 1
    fixed = [p for p in figure.points if p.state == "after_fix"]
    assert bool(fixed) == any("from after the fix" in note for note in figure.notes)


def test_nok_from_the_first_counted_day_on_may_have_started_before(floor):
    floor.count()
    for day in (20, 24):
        floor.lot(day, nok=9)
    figure = only(floor.desk.place, floor.facts, "defects-over-time")
    assert figure.title.startswith("NOK at Leak test by production day; it started on 2026-02-20 or before")
    assert figure.band == ("", "2026-02-20")
    assert any("it started at any time before and at the latest on 2026-02-20" in n for n in figure.notes)


def test_very_many_lots_are_taken_together_and_that_is_said(floor):
    floor.count()
    said = {
        "concern": floor.route.concern,
        "walk": floor.route.walk,
        "station": "leak-test",
        "check": "ear-look",
    }
    days = [date(2025, 10, 1).toordinal() + n for n in range(150)]
    floor.desk.place.add_all(
        [
            (DatedCount, {**said, "lot": f"L{n}-{k}", "made_on": date.fromordinal(day).isoformat(),
                          "checked": 5, "nok": 4 if n > 100 else 0})
            for n, day in enumerate(days)
            for k in range(2)
        ]
    )  # fmt: skip
    figure = only(floor.desk.place, floor.facts, "defects-over-time")
    assert len(figure.points) == 22 <= MOST_POINTS
    assert "The lots of one week are taken together here" in n_of(figure)
    assert n_of(figure).startswith("n = 1,500 parts of 300 lots or days")
    assert {p.share for p in figure.points} >= {0.0, 0.8}


# Age of actions


def test_actions_are_drawn_from_the_day_they_were_opened(floor):
    act(floor, "Soft pads", "2026-03-06")
    timely = act(floor, "New drawing", "2026-03-30")
    floor.desk.place.now.time = floor.desk.place.now.time.replace(day=20)
    finish(floor, timely, "2026-03-19")

    figure = only(floor.desk.place, floor.facts, "action-ageing")

    assert figure.today == "2026-03-20"
    assert [(r.what, r.opened, r.due, r.until, r.is_done, r.is_late) for r in figure.rows] == [
        ("ME-KL: Soft pads", "2026-03-03", "2026-03-06", "2026-03-20", False, True),
        ("ME-KL: New drawing", "2026-03-03", "2026-03-30", "2026-03-19", True, False),
    ]
    assert figure.rows[0].words == "overdue by 14 days"
    assert figure.title.endswith("1 overdue, 1 closed; the oldest that is not done is open for 17 days")
    assert (figure.first, figure.last) == ("2026-03-03", "2026-03-30")


def test_a_due_date_that_was_moved_is_said(floor):
    action = act(floor, due="2026-03-06")
    now = action_facts(floor.desk.place, floor.route.concern, action.action)
    said = {"aim": "corrective", "what": "Soft pads", "owner": "ME-KL", "due_on": "2026-03-16"}
    correct_action(floor.desk.place, floor.facts, now, why="supplier late", **said)
    (row,) = only(floor.desk.place, floor.facts, "action-ageing").rows
    assert row.due == "2026-03-16" and row.words.endswith("due date moved once, first 2026-03-06")


def test_one_wrong_year_does_not_press_all_others_together(floor):
    act(floor, due="9999-12-31")
    figure = only(floor.desk.place, floor.facts, "action-ageing")
    assert figure.last == "2028-03-02"
    assert figure.rows[0].due == "9999-12-31"
    assert any("drawn at the end of the axis" in note for note in figure.notes)


# Counts in order


COUNTS = st.lists(
    st.integers(0, 500).flatmap(lambda n: st.tuples(st.just(n), st.integers(0, n))), max_size=30
)


@given(COUNTS)
def test_counts_in_order_lose_no_part(pairs):
    counted = [Counted(f"S{n}", checked, nok) for n, (checked, nok) in enumerate(pairs)]
    found = pareto(counted, by="by station", name="pareto-by-station")
    total = sum(nok for _, nok in pairs)
    if not total:
        assert found == ()
        return
    rows = found[0].rows
    own = [row for row in rows if not row.is_rest]
    assert sum(row.nok for row in rows) == total
    assert [row.nok for row in own] == sorted((row.nok for row in own), reverse=True)
    assert rows[-1].together == 1.0
    assert [row.together for row in rows] == sorted(row.together for row in rows)
    assert len(rows) <= MOST_ROWS + 1
    order = [one.what for one in counted]
    for one, other in pairwise(own):
        assert one.nok > other.nok or order.index(one.what) < order.index(other.what)


def test_equal_counts_keep_their_order_and_the_rest_is_one_row():
    found = pareto([Counted(f"S{n}", 10, 1) for n in range(20)], by="by station", name="pareto-by-station")[
        0
    ]
    assert [row.what for row in found.rows] == [*(f"S{n}" for n in range(12)), "8 others"]
    assert found.rows[-1].is_rest and found.rows[-1].words.startswith("8 of 80: 10 %")
    assert found.title == "NOK parts by station: 20 of them have 1 of 20 each"


def test_unequal_numbers_checked_are_said_beside_the_counts():
    found = pareto([Counted("Leak test", 200, 10), Counted("Packing", 4, 3)], by="by station", name="x")[0]
    assert [row.words for row in found.rows] == [
        "10 of 200: 5 % (2 % to 10 %)", "3 of 4: 75 % (19 % to 99.4 %)",
    ]  # fmt: skip
    assert (
        "(4 to 200): compare the shares, not the counts. The highest share is that of Packing."
        in (found.notes[1])
    )


def test_units_are_put_in_order_at_each_station(demo):
    place, facts = demo
    by_name = {figure.name: figure for figure in concern_figures(place, facts, "pareto-by-unit")}
    leak = by_name["pareto-by-unit-leak-test"]
    assert [(row.what, row.nok) for row in leak.rows] == [("fixture clamp 1", 17), ("fixture clamp 2", 3)]


def test_a_stream_is_put_in_order_over_its_concerns(desk):
    route = desk.walk()
    other = desk.walk(what="Cracks on another line (invented)")
    for at, nok in ((route, 3), (other, 2)):
        desk.place.add(
            Count,
            concern=at.concern,
            walk=at.walk,
            station="leak-test",
            check="ear-look",
            checked=20,
            nok=nok,
        )
    facts = desk_facts(desk.place, "washer-reservoir")
    (stations,) = stream_figures(desk.place, facts, "pareto-by-station")
    (defects,) = stream_figures(desk.place, facts, "pareto-by-defect")
    assert stations.title == "NOK parts by station, of 2 concerns: Leak test has 5 of 5"
    assert [(row.what, row.nok) for row in defects.rows] == [("Whitened or cracked mounting ear", 5)]


# All of them


def test_every_kind_says_n_and_has_a_name_of_its_own(demo):
    place, facts = demo
    figures = [
        *concern_figures(place, facts),
        *stream_figures(place, desk_facts(place, facts.concern.stream)),
    ]
    assert all(any("n = " in note for note in figure.notes) for figure in figures)
    names = [figure.name for figure in concern_figures(place, facts)]
    assert len(set(names)) == len(names)
    assert {name for name in OF_A_CONCERN if any(n.startswith(name) for n in names)} == set(OF_A_CONCERN)


def test_what_cannot_be_drawn_says_why(desk):
    facts = concern_facts(desk.place, desk.concern())
    why = {kind.kind: kind.why_not for kind in kinds_of_figures(desk.place, facts)}
    assert why["share-by-station"] == ""
    assert why["measured-by-station"] == "no characteristic was measured yet"
    assert all(why[kind] for kind in OF_A_CONCERN if kind != "share-by-station")
    stream = desk_facts(desk.place, "washer-reservoir")
    drawn = {kind.kind for kind in kinds_of_figures(desk.place, stream) if not kind.why_not}
    assert drawn == {"audit-completion"}  # its plan is known before anything is recorded
    assert drawn < set(OF_A_STREAM)


def test_without_the_checklist_the_reason_is_the_checklist(desk):
    concern = desk.concern()
    desk.place.checklists = None
    desk.place._streams = {}
    kinds = kinds_of_figures(desk.place, concern_facts(desk.place, concern))
    assert "checklist of the value stream" in kinds[0].why_not
    with pytest.raises(InputError, match="checklist of the value stream"):
        tuple(concern_figures(desk.place, concern_facts(desk.place, concern), "share-by-station"))


def test_a_safety_class_concern_that_nobody_was_told_of_says_so_on_every_figure(desk):
    facts = concern_facts(desk.place, desk.concern(severity="safety"))
    assert only(desk.place, facts, "share-by-station").notes[0] == NOT_ESCALATED
    facts = concern_facts(desk.place, desk.concern())
    assert NOT_ESCALATED not in only(desk.place, facts, "share-by-station").notes


def test_what_is_invented_says_so_on_every_figure(demo):
    place, facts = demo
    of_stream = stream_figures(place, desk_facts(place, facts.concern.stream))
    assert all(INVENTED in figure.notes for figure in (*concern_figures(place, facts), *of_stream))


def test_entries_in_dispute_are_said_on_every_figure(desk):
    facts = Quarrel(desk).facts
    figure = only(desk.place, facts, "share-by-station")
    said = "1 entry was corrected differently on two tablets; one of each is counted until"
    assert any(note.startswith(said) for note in figure.notes)


def test_an_unknown_kind_is_refused_with_the_list_of_all(demo):
    place, facts = demo
    with pytest.raises(InputError, match="There is no figure 'x'; name one of: share-by-station, measured"):
        kinds_of_figures(place, facts, "x")


# On disk and on the screen


@pytest.mark.parametrize(("form", "begins"), [("pdf", b"%PDF-"), ("png", b"\x89PNG"), ("svg", b"<?xml")])
def test_a_figure_is_written_in_each_form(desk, tmp_path, form, begins):
    facts = concern_facts(desk.place, desk.concern())
    kinds = kinds_of_figures(desk.place, facts, "share-by-station")
    (written,) = write_figures(kinds, tmp_path / f"a.{form}")
    assert written.path.read_bytes() == drawn_as(kinds[0].figures[0], form)
    assert written.path.read_bytes().startswith(begins)


def test_several_figures_go_into_several_files(demo, tmp_path):
    place, facts = demo
    kinds = kinds_of_figures(place, facts, "measured-by-station")
    written = write_figures(kinds, tmp_path / "b.pdf")
    assert [one.path.name for one in written] == [
        "b-measured-by-station-ear-wall.pdf", "b-measured-by-station-part-temperature.pdf",
    ]  # fmt: skip
    assert sorted(path.name for path in tmp_path.iterdir()) == [one.path.name for one in written]


def test_nothing_that_is_no_figure_is_written_over(desk, tmp_path):
    facts = concern_facts(desk.place, desk.concern())
    kinds = kinds_of_figures(desk.place, facts)
    notes = tmp_path / "notes.png"
    notes.write_text("mine")
    with pytest.raises(InputError, match=r"notes\.png: is there already and is no PNG"):
        write_figures(kinds, notes)
    assert notes.read_text() == "mine"
    with pytest.raises(InputError, match=r"a name that ends in \.pdf, \.png or \.svg"):
        write_figures(kinds, tmp_path / "a.txt")
    with pytest.raises(
        InputError, match="No figure can be drawn of these records yet: action-ageing: no act"
    ):
        write_figures(kinds_of_figures(desk.place, facts, "action-ageing"), tmp_path / "a.png")
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".png"] == ["notes.png"]


def test_a_picture_for_the_screen_has_the_size_of_the_page_within_bounds(desk):
    figure = only(desk.place, concern_facts(desk.place, desk.concern()), "share-by-station")
    for asked, size in (((700, 300), (700, 300)), ((10, 9000), (200, 2048))):
        picture = picture_of(figure, width=asked[0], height=asked[1], letter_px=15)
        assert picture.size == size and len(picture.pixels) == size[0] * size[1] * 3
        assert picture.key == "share-by-station"


def test_neither_concern_nor_stream_is_said_in_one_sentence(desk):
    with pytest.raises(InputError, match="No concern and no value stream is chosen"):
        facts_to_draw(desk.place)


def test_a_walk_without_days_has_no_figure_over_time(floor):
    floor.count()
    assert isinstance(floor.walking, Walking)
    (kind,) = kinds_of_figures(floor.desk.place, floor.facts, "defects-over-time")
    assert kind.figures == () and kind.why_not == "no part of a known production day was counted yet"
