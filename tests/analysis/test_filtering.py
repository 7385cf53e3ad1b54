"""A part of the records: what is kept, what stays whatever is asked for, and the laws of filters."""

from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from tests.builders import make, record_id
from walkapp.analysis.filtering import (
    NOT_KNOWN,
    PARTS,
    RecordFilter,
    filter_records,
    shift_of,
    unit_of,
)
from walkapp.analysis.gather import gather_judged, gather_tallies
from walkapp.model.checklist import OUTSIDE_SHIFTS, Check, Defect, ParallelUnits, Shift, Station, Stream
from walkapp.model.records import Answer, Count, Measurement, Note, Sample

# Invented stream.
STREAM = Stream(
    id="washer",
    name="Washer",
    product="Reservoir",
    version="1",
    cautions=(),
    defects=(Defect(id="crack", name="Crack"),),
    stations=(
        Station(
            order=1,
            id="mould",
            name="Moulding",
            short="Mould",
            kind="moulding",
            units=ParallelUnits(kind="cavity", names=("1", "2")),
            checks=(Check(id="look", station="mould", kind="attribute", title="Look", finds="crack"),),
        ),
        Station(
            order=2,
            id="leak",
            name="Leak test",
            short="Leak",
            kind="test",
            checks=(
                Check(id="box", station="leak", kind="count", title="Box", finds="crack"),
                Check(id="ask", station="leak", kind="question", title="Ask"),
            ),
        ),
    ),
    shifts=(
        Shift(name="early", begins="06:00", ends="14:00"),
        Shift(name="night", begins="22:00", ends="06:00"),
    ),
)
TABLETS = tuple(record_id(n) for n in (1, 900, 901))
WALKS = tuple(record_id(n) for n in (3, 4))
UNITS = ("", "1", "2")
TIMES = ("2026-03-03T06:20:00+01:00", "2026-03-03T15:00:00+01:00", "2026-03-04T23:10:00+01:00")


def answer(number=100, word="ok", **more):
    return make(Answer, number, **{"station": "mould", "check": "look", "answer": word, **more})


@st.composite
def entries(draw):
    """Records of parts and samples of two walks, by three tablets."""
    made = []
    for number in range(draw(st.integers(0, 12))):
        header = {
            "device": draw(st.sampled_from(TABLETS)),
            "walk": draw(st.sampled_from(WALKS)),
            "at": draw(st.sampled_from(TIMES)),
        }
        where = draw(st.sampled_from(("answer", "count", "sample", "note")))
        if where == "answer":
            word = draw(st.sampled_from(("ok", "not_ok")))
            made.append(answer(100 + number, word, unit=draw(st.sampled_from(UNITS)), **header))
        elif where == "count":
            checked = draw(st.integers(0, 9))
            nok = draw(st.integers(0, checked))
            said = {"station": "leak", "check": "box", "checked": checked, "nok": nok}
            made.append(make(Count, 100 + number, **said, **header))
        elif where == "sample":
            made.append(make(Sample, 100 + number, station="mould", lot="L1", **header))
        else:
            made.append(make(Note, 100 + number, station="leak", words="seen", **header))
    return tuple(made)


def values(records):
    """Every filter by one value of each kind that these records can have."""
    return {
        "tablet": [RecordFilter(tablet=one) for one in TABLETS],
        "shift": [RecordFilter(shift=one) for one in ("early", "night", OUTSIDE_SHIFTS)],
        "unit": [
            RecordFilter(unit=one)
            for one in sorted({unit_of(STREAM, r) for r in records if isinstance(r, PARTS)})
        ],
        "day": [RecordFilter(since=day, until=day) for day in sorted({r.at[:10] for r in records})],
    }


filters = st.builds(
    RecordFilter,
    since=st.sampled_from(("", "2026-03-03", "2026-03-04")),
    until=st.sampled_from(("", "2026-03-03", "2026-03-04")),
    shift=st.sampled_from(("", "early", "night", OUTSIDE_SHIFTS)),
    tablet=st.sampled_from(("", *TABLETS)),
    unit=st.sampled_from(("", "cavity 1", "cavity 2", NOT_KNOWN)),
)


def parts_of(records):
    return [r for r in records if isinstance(r, PARTS)]


def counted(records):
    tallies = gather_tallies(STREAM, records, "crack")
    return tuple((one.checked, one.nok) for one in tallies)


@given(entries())
def test_an_empty_filter_keeps_every_record_in_its_order(records):
    assert filter_records(STREAM, records, RecordFilter()) == records


@given(entries(), st.sampled_from(("tablet", "shift", "unit", "day")))
def test_the_values_of_one_kind_share_out_the_parts_without_rest_and_without_repeat(records, kind):
    shares = [
        [r for r in filter_records(STREAM, records, one) if isinstance(r, PARTS)]
        for one in values(records)[kind]
    ]

    assert sorted(r.id for share in shares for r in share) == [
        r.id for r in records if isinstance(r, PARTS)
    ]
    sums = [tuple(map(sum, zip(*pairs, strict=True))) for pairs in zip(*map(counted, shares), strict=True)]
    assert not shares or tuple(sums) == counted(records)


@given(entries(), filters, filters)
def test_filters_commute_and_keep_what_both_keep(records, one, other):
    kept = filter_records(STREAM, filter_records(STREAM, records, one), other)

    assert kept == filter_records(STREAM, filter_records(STREAM, records, other), one)
    both = [r for r in records if one.keeps(STREAM, r) and other.keeps(STREAM, r)]
    assert parts_of(kept) == parts_of(both)


@given(entries(), filters)
def test_the_order_of_the_records_does_not_matter(records, wanted):
    kept = filter_records(STREAM, records[::-1], wanted)

    assert kept == filter_records(STREAM, records, wanted)[::-1]


@given(filters)
def test_a_filter_is_read_back_from_its_text(wanted):
    assert RecordFilter.from_text(wanted.to_text()) == wanted
    assert (wanted.to_text() == "") == wanted.is_empty


@given(st.one_of(st.text(), st.sampled_from(("[]", "{", '{"since": 3}', "[" * 10_000, '{"no": "field"}'))))
def test_a_text_that_says_no_filter_limits_nothing_or_is_a_filter(text):
    assert isinstance(RecordFilter.from_text(text), RecordFilter)


def test_a_day_that_is_none_limits_nothing():
    assert RecordFilter.from_text('{"since": "yesterday", "until": "20260303"}').is_empty


def test_what_is_not_of_a_part_stays_and_a_sample_stays_with_its_parts():
    mine, other = answer(100, device=TABLETS[0]), answer(101, device=TABLETS[1], walk=WALKS[1])
    note = make(Note, 102, station="leak", words="seen", device=TABLETS[1])
    my_lot, other_lot = (
        make(Sample, 103 + i, station="mould", lot="L", walk=walk, device=TABLETS[i])
        for i, walk in enumerate(WALKS)
    )

    kept = filter_records(STREAM, (mine, other, note, my_lot, other_lot), RecordFilter(tablet=TABLETS[0]))

    assert kept == (mine, note, my_lot)


def test_a_night_shift_after_midnight_is_the_same_shift_on_the_next_day():
    before, after = (answer(at=at) for at in ("2026-03-03T23:59:00+01:00", "2026-03-04T05:59:59+01:00"))

    assert {shift_of(STREAM, before), shift_of(STREAM, after)} == {"night"}
    assert RecordFilter(since="2026-03-04").keeps(STREAM, after)
    assert not RecordFilter(since="2026-03-04").keeps(STREAM, before)


def test_a_unit_is_named_with_its_kind_and_never_like_what_is_not_known():
    assert unit_of(STREAM, answer(unit="2")) == unit_of(STREAM, answer(unit="cavity 2")) == "cavity 2"
    assert unit_of(STREAM, answer(station="leak", unit=NOT_KNOWN)) == "unit not known"
    assert unit_of(STREAM, answer()) == unit_of(None, answer()) == NOT_KNOWN


def test_without_a_checklist_tablets_and_days_can_be_told_apart_all_the_same():
    records = (answer(100, device=TABLETS[0]), answer(101, device=TABLETS[1]))

    assert filter_records(None, records, RecordFilter(tablet=TABLETS[1])) == records[1:]


@given(entries())
def test_the_records_that_are_counted_add_up_to_the_tallies(records):
    odd = make(Measurement, 500, station="mould", check="look", value="1", unit_of_measure="mm")
    judged = gather_judged(STREAM, (*records, odd), "crack")

    by_station = {s.id: [j for j in judged if j.record.station == s.id] for s in STREAM.stations}
    sums = tuple((sum(j.checked for j in js), sum(j.nok for j in js)) for js in by_station.values())
    assert sums == counted((*records, odd))
    assert all(j.checked for j in judged)


def test_filters_of_all_kinds_in_any_order_say_the_same():
    records = tuple(
        answer(100 + n, device=TABLETS[n % 3], at=TIMES[n % 2], unit=UNITS[n % 3]) for n in range(18)
    )
    parts = (RecordFilter(tablet=TABLETS[1]), RecordFilter(shift="early"), RecordFilter(unit="cavity 1"))
    joined = RecordFilter(tablet=TABLETS[1], shift="early", unit="cavity 1")

    for order in permutations(parts):
        kept = records
        for one in order:
            kept = filter_records(STREAM, kept, one)
        assert kept == filter_records(STREAM, records, joined)
    assert kept
