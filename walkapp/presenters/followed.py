"""Parts of a concern that were followed by their tag: all of them, and one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from walkapp.actions.parts_followed import (
    NO_PROBABILITY,
    STATE_MARKS,
    STATE_WORDS,
    STORY_MARKS,
    TAGS_TRUSTED,
    WHAT_IT_SHOWS,
    followed_of,
    followed_sentence,
    look_words,
    part_sentence,
    part_title,
    story_sentences,
    tags_in_words,
    turn_notes,
)
from walkapp.actions.reading import ConcernFacts, WalkFacts, concern_facts
from walkapp.analysis.followed import CONTRADICTS, NOT_SEEN, Followed, FollowedPart, Stop
from walkapp.analysis.wording import in_one_line
from walkapp.errors import InputError
from walkapp.language import msg, tr, trn
from walkapp.model.checklist import Station
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section, section_of
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.taking import take_text

HOW_TO_FOLLOW = msg(
    "Scan the code of a part before you judge it, at each station: the same tag is the same "
    "part. A part that is OK at one station and NOK at the next tells more than two samples."
)
MOST_LOOKS = 12


def followed_row(facts: ConcernFacts) -> ListRow:
    """Make the row of the concern's page."""
    if facts.stream is None:
        return ListRow(id="followed", title=tr("Parts followed"), subtitle=tr("The checklist is not here."))
    followed = followed_of(facts)
    mark = "not_visited"
    if followed.of_story(CONTRADICTS):
        mark = "undecided"
    elif followed.turns:
        mark = "bad"
    return ListRow(
        id="followed", title=tr("Parts followed"), subtitle=followed_sentence(followed), mark=mark
    )


def to_come_row(walk: WalkFacts, station: Station) -> tuple[ListRow, ...]:
    """Make the row of a station's page that names followed parts still to be looked at there, if any."""
    parts = followed_of(walk.facts).to_come(station)
    if not parts:
        return ()
    title = trn(
        "{count} followed part still to be looked at here",
        "{count} followed parts still to be looked at here",
        len(parts),
    )
    return (
        ListRow(
            id="followed",
            title=title,
            subtitle=tr("Scan: {tags}", tags=tags_in_words(parts)),
            mark="not_visited",
        ),
    )


class FollowedPage(BoardPage):
    """Presents what the followed parts of a concern show, and each of them in a row."""

    def press(self, button: str) -> None:
        """Scan the tag of a part to go to it."""
        self.session.go(self.route.down(button))

    def row(self, section: str, row: str) -> None:
        """Open one part."""
        self.session.go(replace(self.route.down("followed_part"), entry=row))

    def take_text(self, text: str) -> None:
        """Open the part whose tag a hand scanner sent."""
        here = replace(self.route, walk="")
        self.session.run_later(lambda: take_text(self.session, here, text), self.session.go, self.fail)

    def _view(self) -> BoardState:
        facts = concern_facts(self.session.place, self.route.concern)
        followed = followed_of(facts)
        notes: tuple[str, ...] = ()
        if followed.turns:
            notes = (
                *turn_notes(facts, followed.turns[0]),
                tr(WHAT_IT_SHOWS),
                tr(TAGS_TRUSTED),
                tr(NO_PROBABILITY),
            )
        return BoardState(
            title=tr("Parts followed"),
            subtitle=facts.concern.what,
            mark=followed_row(facts).mark if followed.parts else "",
            sentence=followed_sentence(followed),
            lines=tuple(story_sentences(followed)) if followed.parts else (tr(HOW_TO_FOLLOW),),
            sections=tuple(_sections(followed)),
            notes=notes,
            buttons=(BoardButton(name="scan", text=tr("Scan a part")),),
        )


def _sections(followed: Followed) -> Iterator[Section]:
    contradicting = followed.of_story(CONTRADICTS)
    rest = tuple(part for part in followed.parts if part not in set(contradicting))
    if contradicting:
        yield section_of(
            "contradicting", tr("Look at these once more"), list(map(_part_row, contradicting))
        )
    if rest:
        yield section_of("parts", tr("Part by part"), list(map(_part_row, rest)))


def _part_row(part: FollowedPart) -> ListRow:
    return ListRow(
        id=part.key,
        title=in_one_line(part_title(part)),
        subtitle=part_sentence(part),
        mark=STORY_MARKS[part.story],
    )


class FollowedPartPage(BoardPage):
    """Presents one part along the stream: how it stood at each station, when, and what was measured."""

    def row(self, section: str, row: str) -> None:
        """Go to the station, on the walk that led here."""
        if self.route.walk:
            here = self.route
            self.session.go(Route(screen="station", concern=here.concern, walk=here.walk, station=row))

    def _view(self) -> BoardState:
        facts = concern_facts(self.session.place, self.route.concern)
        part = next((p for p in followed_of(facts).parts if p.key == self.route.entry), None)
        if part is None:
            raise InputError(tr("No part with this tag is left in this concern; go back to the list."))
        lots = part.lots
        two_lots = trn(
            "The part was read with {count} lot: {lots}; one part is of one lot, so the tag may be on "
            "two parts.",
            "The part was read with {count} lots: {lots}; one part is of one lot, so the tag may be on "
            "two parts.",
            len(lots),
            lots=in_one_line(", ".join(lots[:6])),
        )
        return BoardState(
            title=in_one_line(tr("Part {part_title}", part_title=part_title(part))),
            subtitle=facts.concern.what,
            mark=STORY_MARKS[part.story],
            sentence=part_sentence(part),
            cautions=(two_lots,) if len(lots) > 1 else (),
            lines=()
            if part.counts
            else (tr("It was looked at after the fix that worked, and is not counted."),),
            sections=(
                Section(
                    name="stations",
                    title=tr("Along the stream"),
                    rows=tuple(_stop_row(stop, bool(self.route.walk)) for stop in part.stops),
                ),
            ),
            notes=(tr(TAGS_TRUSTED),),
        )


def _stop_row(stop: Stop, leads_on: bool) -> ListRow:
    looks = [look_words(look) for look in stop.looks[:MOST_LOOKS]]
    if len(stop.looks) > MOST_LOOKS:
        more = len(stop.looks) - MOST_LOOKS
        looks.append(trn("and {count} more", "and {count} more", more))
    word = "" if stop.state == NOT_SEEN else tr(STATE_WORDS[stop.state])
    return ListRow(
        id=stop.station.id if leads_on else "",
        title=f"{stop.station.order}  {stop.station.name}{': ' if word else ''}{word}",
        subtitle="; ".join(looks) if looks else tr(STATE_WORDS[NOT_SEEN]),
        mark=STATE_MARKS[stop.state],
    )
