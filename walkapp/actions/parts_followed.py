"""Parts of a concern that were followed by their tag, in words and as JSON values."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.followed import (
    ALWAYS_NOK,
    ALWAYS_OK,
    BOTH,
    CONTRADICTS,
    NOK,
    NOT_SEEN,
    OK,
    OUT_OF_ORDER,
    SEEN,
    TURNED,
    UNJUDGED,
    Followed,
    FollowedPart,
    Look,
    Stop,
    Turn,
    follow_parts,
)
from walkapp.analysis.gather import rates_in_use
from walkapp.analysis.wording import in_one_line, moment_text, parts_in_words, percent_at_most
from walkapp.language import day_said, decimal_text, msg, tr, trn, whole_text
from walkapp.model.checklist import Station
from walkapp.model.records import Measurement

MOST_TOLD = 40
"""Parts that are told one by one on a terminal."""

MOST_IN_JSON = 1_000

STATE_WORDS = {
    OK: msg("OK"),
    NOK: msg("NOK"),
    BOTH: msg("OK and NOK"),
    SEEN: msg("looked at, not judged for this defect"),
    NOT_SEEN: msg("not looked at"),
}
STATE_MARKS = {OK: "clean", NOK: "bad", BOTH: "undecided", SEEN: "not_visited", NOT_SEEN: "not_visited"}

STORY_MARKS = {
    TURNED: "bad",
    ALWAYS_NOK: "bad",
    ALWAYS_OK: "clean",
    CONTRADICTS: "undecided",
    OUT_OF_ORDER: "undecided",
    UNJUDGED: "not_visited",
}

_STORY_WORDS = (
    ((ALWAYS_OK,), msg("OK wherever judged")),
    ((ALWAYS_NOK,), msg("NOK wherever judged, so that it was there before the first look")),
    (
        (CONTRADICTS,),
        msg("NOK and then OK, or judged both ways: misjudged, reworked or swapped; look once more"),
    ),
    ((OUT_OF_ORDER,), msg("OK and NOK, but the NOK was seen before the OK; not counted as turned")),
)

WHAT_IT_SHOWS = msg(
    "What this shows: the same part was judged good behind the one station and bad at the "
    "other, so what was seen came about, or came to be seen, in between. What it does not "
    "show: that no OK was a miss, nor which of several stations in between it was."
)
NO_PROBABILITY = msg(
    "The probability of the first bad station is worked out of all parts together, not of these."
)
TAGS_TRUSTED = msg("It is taken for granted that a tag is on one part only and was read right.")


def followed_of(facts: ConcernFacts) -> Followed:
    """Put together the parts of a concern that can be followed.

    Raises
    ------
    InputError
        If the checklist of the stream is not known.
    """
    return facts.once(_followed)


def _followed(facts: ConcernFacts) -> Followed:
    return follow_parts(
        facts.known_stream(),
        facts.standing.current,
        facts.everything or facts.standing.current,
        facts.concern.defect,
        left_out={record.id for record in facts.after_fix},
    )


def followed_sentence(followed: Followed) -> str:
    """Say in one sentence what the followed parts show."""
    if not followed.parts:
        return tr("No part has been followed by its tag yet.")
    of = len(followed.counted)
    if not of:
        return trn(
            "{count} part tagged; it was not judged at two stations yet.",
            "{count} parts tagged; none was judged at two stations yet.",
            len(followed.parts),
        )
    if not followed.turns:
        return trn(
            "The {count} followed part was not OK at one station and NOK from a later one on.",
            "None of {count} followed parts was OK at one station and NOK from a later one on.",
            of,
        )
    return turn_sentence(followed.turns[0], of)


AND_MORE = msg("and {more} more; 'walkapp summary --json' tells them.")


def story_sentences(followed: Followed) -> Iterator[str]:
    """Say where else parts turned, and how many did not; a sentence each."""
    of = len(followed.counted)
    for turn in followed.turns[1:]:
        yield turn_sentence(turn, of)
    for stories, words in _STORY_WORDS:
        many = len(followed.of_story(*stories))
        if many:
            yield f"{parts_in_words(many)}: {tr(words)}."


def turn_sentence(turn: Turn, of: int) -> str:
    """Say how many parts turned between two stations, of how many that were followed."""
    return trn(
        "{count} of {parts} was OK up to {after} and NOK from {at} on.",
        "{count} of {parts} were OK up to {after} and NOK from {at} on.",
        len(turn.parts),
        parts=trn("{count} followed part", "{count} followed parts", of),
        after=turn.after.name,
        at=turn.at.name,
    )


def turn_notes(facts: ConcernFacts, turn: Turn) -> Iterator[str]:
    """Say what has to be minded about where parts turned."""
    if turn.between:
        names = ", ".join(station.name for station in turn.between)
        yield tr("Not judged in between: {names}; look at followed parts there to narrow it.", names=names)
    missed = miss_share(facts, turn.after)
    if missed is not None:
        yield (
            tr(
                "By the rates in use the check at {after} calls up to {missed} of bad parts OK: "
                "one OK alone may be a miss.",
                after=turn.after.name,
                missed=percent_at_most(missed),
            )
        )


def miss_share(facts: ConcernFacts, station: Station) -> float | None:
    """Give the greatest share of bad parts that a check of a station calls OK; none without a check."""
    chosen = rates_in_use(facts.standing.current)
    shares = [
        1.0 - (float(rates.detection) if (rates := chosen.get((station.id, check.id))) else check.detection)
        for check in station.finders(facts.concern.defect)
    ]
    return max(shares, default=None)


def part_title(part: FollowedPart) -> str:
    """Name a part: its tag, and the walk where the tag is only good within one."""
    if not part.walk:
        return part.tag
    first = min((look for stop in part.seen for look in stop.looks), key=lambda look: look.first.id)
    return tr("{tag} of the walk of {at}", tag=part.tag, at=day_said(first.first.at[:10]))


def part_sentence(part: FollowedPart) -> str:
    """Say what one part shows."""
    if part.turn is not None:
        ok, nok = part.turn
        good = tr("OK at {station} {when}", station=ok.station.name, when=_when(ok, OK))
        bad = tr("NOK at {station} {when}", station=nok.station.name, when=_when(nok, NOK))
        if part.story == TURNED:
            return tr("{good}, {bad}: it turned in between.", good=good, bad=bad)
        return tr(
            "{bad} and only then {good}: carried back, swapped, or a tablet's clock that is wrong?",
            bad=bad,
            good=good,
        )
    names = ", ".join(stop.station.name for stop in part.judged)
    match (part.story, len(part.judged)):
        case (str(story), _) if story == CONTRADICTS:
            return tr(
                "{contradiction}; misjudged, reworked, or swapped? Look at this part once more.",
                contradiction=_contradiction(part),
            )
        case (_, 0):
            return tr("Looked at, but not judged for this defect.")
        case (str(story), 1):
            if story == ALWAYS_OK:
                return tr("OK at {station}; judged at no other station.", station=names)
            return tr("NOK at {station}; judged at no other station.", station=names)
        case (str(story), _):
            if story == ALWAYS_OK:
                return tr("OK wherever it was judged: {stations}.", stations=names)
            return tr("NOK wherever it was judged: {stations}.", stations=names)
    raise AssertionError(part.story)


def _contradiction(part: FollowedPart) -> str:
    both = [stop for stop in part.judged if stop.state == BOTH]
    if both:
        return tr("Judged OK and NOK at {station}", station=both[0].station.name)
    first_nok = next(stop for stop in part.judged if stop.state == NOK)
    later = next(
        stop for stop in part.judged if stop.state == OK and stop.station.order > first_nok.station.order
    )
    return tr(
        "NOK at {station} {when} and OK at {station2} {when2}",
        station=first_nok.station.name,
        when=_when(first_nok, NOK),
        station2=later.station.name,
        when2=_when(later, OK),
    )


def _when(stop: Stop, state: str) -> str:
    """Say when a part was found in a state at a station."""
    looks = [look for look in stop.looks if look.state == state]
    return moment_text((looks[-1] if state == OK else looks[0]).first.at)


def look_words(look: Look) -> str:
    """Say what one look found: the answer or the value, when, by whom, and how the tag was read."""
    entry = look.entry
    if isinstance(entry, Measurement):
        found = f"{decimal_text(entry.value)} {entry.unit_of_measure}"
        if look.state == NOK:
            found = tr("{value}, out of limits", value=found)
    else:
        found = tr(STATE_WORDS[OK if entry.answer == "ok" else NOK])
    told = (
        found,
        moment_text(look.first.at),
        entry.by,
        entry.unit,
        tr("lot {lot}", lot=look.lot) if look.lot else "",
        tr("tag typed") if look.read_by == "typed" else "",
    )
    return in_one_line(", ".join(filter(None, told)))


def followed_lines(facts: ConcernFacts) -> Iterator[str]:
    """Tell the followed parts for a terminal; nothing while there is none."""
    followed = followed_of(facts)
    if not followed.parts:
        return
    yield tr(
        "Parts followed by their tag: {followed_sentence}", followed_sentence=followed_sentence(followed)
    )
    for sentence in story_sentences(followed):
        yield f"    {sentence}"
    for turn in followed.turns[:1]:
        for note in (*turn_notes(facts, turn), tr(WHAT_IT_SHOWS), tr(TAGS_TRUSTED), tr(NO_PROBABILITY)):
            yield f"    {note}"
    for part in followed.parts[:MOST_TOLD]:
        after = (
            () if part.counts else (tr("It was looked at after the fix that worked, and is not counted."),)
        )
        yield f"    {in_one_line(part_title(part))}: {' '.join((part_sentence(part), *after))}"
    if (more := len(followed.parts) - MOST_TOLD) > 0:
        yield f"    {tr(AND_MORE, more=whole_text(more))}"


def followed_to_json(facts: ConcernFacts) -> dict[str, Any]:
    """Turn the followed parts into JSON values; of very many the first thousand."""
    followed = followed_of(facts)
    return {
        "sentence": followed_sentence(followed),
        "followed": len(followed.counted),
        "turned": [
            {
                "after": turn.after.name,
                "at": turn.at.name,
                "not_judged_between": [station.name for station in turn.between],
                "parts": len(turn.parts),
                "tags": [part.tag for part in turn.parts[:MOST_IN_JSON]],
            }
            for turn in followed.turns
        ],
        "always_ok": len(followed.of_story(ALWAYS_OK)),
        "always_nok": len(followed.of_story(ALWAYS_NOK)),
        "contradictions": len(followed.of_story(CONTRADICTS)),
        "out_of_order": len(followed.of_story(OUT_OF_ORDER)),
        "parts": [_part_to_json(part) for part in followed.parts[:MOST_IN_JSON]],
    }


def _part_to_json(part: FollowedPart) -> dict[str, Any]:
    return {
        "tag": part.tag,
        "walk": part.walk or None,
        "story": part.story,
        "counts": part.counts,
        "lots": list(part.lots),
        "stations": [
            {
                "station": stop.station.name,
                "state": stop.state,
                "looks": [_look_to_json(look) for look in stop.looks],
            }
            for stop in part.seen
        ],
    }


def _look_to_json(look: Look) -> dict[str, Any]:
    entry = look.entry
    said: dict[str, Any] = {"check": entry.check, "state": look.state, "at": look.first.at}
    if isinstance(entry, Measurement):
        said |= {"value": entry.value, "unit_of_measure": entry.unit_of_measure}
    return said


def tags_in_words(parts: Sequence[FollowedPart], most: int = 6) -> str:
    """Name a few parts in one line."""
    names = ", ".join(in_one_line(part.tag) for part in parts[:most])
    return (
        tr("{names} and {parts} more", names=names, parts=whole_text(len(parts) - most))
        if len(parts) > most
        else names
    )
