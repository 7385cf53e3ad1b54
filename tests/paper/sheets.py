"""Sheets to lay out: a short one, an empty one, an endless one and made-up ones. All invented."""

from __future__ import annotations

import io
import random

from hypothesis import strategies as st
from PIL import Image

from tests.paper.figures import WORDS, share_row, shares
from tests.paper.papers import CYRILLIC, GERMAN, GREEK, LETTERS, POLISH
from walkapp.paper.sheet_content import (
    MOST_ENTRIES,
    SheetContent,
    SheetEntry,
    SheetGap,
    SheetPart,
    SheetPicture,
    SheetStage,
    SheetStation,
)

PARTS = {
    "cause": "What causes it?",
    "containment": "Can bad parts still get out?",
    "actions": "What is done, by whom, until when?",
    "results": "Did it work?",
    "lessons": "What did we learn?",
    "read_across": "Where else could it happen?",
}
STAGES = ("contained", "origin found", "cause proved", "fixed", "verified", "read across")
STATES = tuple(WORDS)


def jpeg(width=400, height=300, *, noise=False) -> bytes:
    image = Image.new("RGB", (width, height), "white")
    if noise:
        image = Image.frombytes("RGB", (width, height), random.Random(1).randbytes(width * height * 3))
    target = io.BytesIO()
    image.save(target, "JPEG", quality=85)
    return target.getvalue()


def picture(label="At Leak test", caption="Crack at the root", *, size=(400, 300), **more) -> SheetPicture:
    said = {"data": jpeg(*size), "width_px": size[0], "height_px": size[1], "trouble": ""}
    return SheetPicture(label=label, caption=caption, **{**said, **more})


def no_picture(caption="Crack at the root") -> SheetPicture:
    return picture(caption=caption, data=b"", width_px=0, height_px=0, trouble="Not on this tablet")


def station(order=1, name="Leak test", *, checked=20, nok=3, state="bad", mark="") -> SheetStation:
    return SheetStation(
        order=order,
        name=name,
        checked=checked,
        nok=nok,
        counted=f"{nok} of {checked} NOK" if checked else "none checked",
        state=state,
        verdict=WORDS[state],
        mark=mark,
    )


def entry(text="Soft pads on both clamps", **more) -> SheetEntry:
    said = {"state": "bad", "words": "overdue by 5 days", "detail": ("corrective, PE-KL, due 2026-03-06",)}
    return SheetEntry(text=text, **{**said, **more})


def part(name="actions", *entries, **more) -> SheetPart:
    said = {"title": PARTS[name], "state": "undecided", "sentence": f"How it stands: {name}."}
    return SheetPart(name=name, entries=entries, **{**said, **more})


def content(**more) -> SheetContent:
    names = ("Moulding", "Welding", "Leak test", "Packing")
    stations = tuple(
        station(n, name, mark="first bad" if name == "Leak test" else "", state="bad" if n > 2 else "clean")
        for n, name in enumerate(names, 1)
    )
    said = {
        "concern": "019cb223-da20-7744-a282-b261f71ab247",
        "title": "Cracked mounting ears (invented)",
        "facts": ("Severity class: Fit or function", "Part: Reservoir 4711", "Reported on: 2026-03-02"),
        "how_to_judge": "A white line at the root is NOK.",
        "warnings": (),
        "answer": "First bad station: Leak test (98 %)",
        "answer_state": "bad",
        "sentence": "The defect starts at Leak test (98 %).",
        "stages": tuple(SheetStage(word=word, is_reached=True, why="So it is.") for word in STAGES),
        "stations": stations,
        "stations_note": "80 parts checked at 4 of 4 stations.",
        "shares": figure_of(stations),
        "pictures": (picture("NOK limit sample"), picture("OK limit sample")),
        "pictures_note": "",
        "parts": tuple(part(name, entry()) for name in PARTS),
        "sure": ("The parts were made on the same day.",),
        "gaps": (SheetGap(about="lessons", words="No lesson is written down yet."),),
        "made": ("Made on: 2026-03-20, tablet 7c9ec7", "Records: 80 of 1 tablet"),
    }
    return SheetContent(**{**said, **more})


def figure_of(stations):
    rows = [share_row(one.name, one.checked, one.nok, one.state, 1 / len(stations)) for one in stations]
    return shares(*rows) if rows else None


def empty() -> SheetContent:
    """Nothing is known but what is wrong."""
    return content(
        facts=(), how_to_judge="", answer="First bad station: cannot be worked out",
        answer_state="not_visited",
        sentence="The checklist is not here.", stages=(), stations=(), shares=None, pictures=(),
        stations_note="The value stream is not shown.", pictures_note="No picture was taken in yet.",
        parts=tuple(part(name, state="not_visited") for name in PARTS), sure=(), gaps=(),
    )  # fmt: skip


def of_stations(many: int, name="Station", **more) -> SheetContent:
    stations = tuple(
        station(n, f"{name} {n}", checked=1_000_000, nok=999_999, state=STATES[n % 4],
                mark="most likely first bad" if n == many // 2 + 1 else "")
        for n in range(1, many + 1)
    )  # fmt: skip
    return content(**{"stations": stations, "shares": figure_of(stations), **more})


def endless() -> SheetContent:
    """Twenty stations, and texts of 4,000 letters wherever a text can stand, in four alphabets."""
    alphabets = (POLISH, GERMAN, GREEK, CYRILLIC.replace(" ", ""))
    long = [(alphabet + (" " if n != 3 else "")) * 400 for n, alphabet in enumerate(alphabets)]
    texts = [text[:4000] for text in long]
    entries = [
        entry(f"Entry {n}: {texts[n % 4]}", words=f"word {texts[n % 4][:80]}", detail=(texts[n % 4],) * 3)
        for n in range(MOST_ENTRIES)
    ]
    return of_stations(
        20,
        name=texts[1][:120],
        title=texts[3][:200],
        facts=tuple(texts),
        how_to_judge=texts[0],
        warnings=tuple(f"{text[:280]} end {n}" for n, text in enumerate(texts[:3])),
        answer=f"First bad station: {texts[2][:200]}",
        sentence=texts[1],
        stations_note=texts[0],
        pictures=(
            picture(texts[0], texts[1], size=(300, 900)), picture(texts[2], texts[3], size=(1000, 100)),
            no_picture(texts[0]), picture(texts[1], texts[2]),
        ),
        pictures_note=texts[1],
        parts=tuple(part(name, *entries, sentence=texts[0], left_out=300) for name in PARTS),
        sure=tuple(texts),
        gaps=tuple(SheetGap(about="x", words=text) for text in texts * 5),
        made=tuple(texts),
    )  # fmt: skip


texts = st.text(LETTERS, max_size=90) | st.integers(1, 20).flatmap(
    lambda many: st.text(LETTERS, max_size=60).map(lambda text: text * many)
)
some_entry = st.builds(
    SheetEntry,
    text=texts,
    state=st.sampled_from(("", *STATES)),
    words=st.text(LETTERS, max_size=40),
    detail=st.lists(texts, max_size=3).map(tuple),
)
some_part = st.builds(
    lambda name, entries, sentence, state, left_out: part(
        name, *entries, sentence=sentence, state=state, left_out=left_out
    ),
    st.sampled_from(tuple(PARTS)),
    st.lists(some_entry, max_size=12),
    texts,
    st.sampled_from(STATES),
    st.integers(0, 10**6),
)
some_picture = st.builds(
    lambda label, caption, size, is_here: (
        picture(label, caption, size=size) if is_here else no_picture(caption)
    ),
    texts,
    texts,
    st.tuples(st.integers(1, 500), st.integers(1, 500)),
    st.booleans(),
)


@st.composite
def contents(draw) -> SheetContent:
    """Make up a sheet of any texts, with any number of stations, pictures and entries."""
    counts = st.integers(0, 1_000_000)
    stations = tuple(
        station(
            n,
            draw(st.text(LETTERS, min_size=1, max_size=60)),
            checked=checked,
            nok=draw(st.integers(0, checked)),
            state=draw(st.sampled_from(STATES)),
            mark=draw(st.sampled_from(("", "first bad", "most likely first bad"))),
        )
        for n, checked in enumerate(draw(st.lists(counts, max_size=30)), 1)
    )
    parts = {one.name: one for one in draw(st.lists(some_part, max_size=8))}
    lists = st.lists(texts, max_size=6).map(tuple)
    return content(
        title=draw(texts),
        facts=draw(lists),
        how_to_judge=draw(texts),
        warnings=draw(st.lists(texts, max_size=3).map(tuple)),
        answer=draw(texts),
        answer_state=draw(st.sampled_from(STATES)),
        sentence=draw(texts),
        stations=stations,
        stations_note=draw(texts),
        shares=figure_of(stations),
        pictures=tuple(draw(st.lists(some_picture, max_size=4))),
        pictures_note=draw(texts),
        parts=tuple(parts.values()),
        sure=draw(lists),
        gaps=tuple(SheetGap(about="x", words=words) for words in draw(lists)),
        made=draw(lists),
    )
