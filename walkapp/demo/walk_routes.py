"""The places of the tour that show a walk, and entries that disagree."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from walkapp.actions.disputes import Dispute
from walkapp.presenters.route import Route


@dataclass(frozen=True, slots=True)
class Walked:
    """What a walk by touch left behind.

    Parameters
    ----------
    concern, walk
        Ids of the concern and of the walk.
    bundle
        The bundle that was written by touch.
    study
        Id of the inspection study; empty when there was none.
    covered
        SHA-256 of a picture in which people were covered; empty when there was none.
    """

    concern: str
    walk: str
    bundle: Path
    study: str = ""
    covered: str = ""


def tour_routes(walked: Walked) -> dict[str, Route]:
    """Name every screen of the app with a place that shows it."""
    concern = walked.concern
    at = {"concern": concern, "walk": walked.walk}
    leak_test = {**at, "station": "leak-test"}
    study = {"concern": concern, "study": walked.study}
    picture = {"picture": walked.covered, **at, "station": "packing"}
    judging = Route(screen="judge", check="ear-look", station="welding", **at)
    return {
        "home": Route(),
        "tablet": Route(screen="tablet"),
        "new-concern": Route(screen="new_concern"),
        "concern": Route(screen="concern", concern=concern),
        "escalation": Route(screen="escalation", concern=concern),
        "start-walk": Route(screen="start_walk", concern=concern),
        "cautions": Route(screen="station", station="pump-assembly", **at),
        "station": Route(screen="station", **leak_test),
        "judge": judging,
        "scan": judging.down("scan"),
        "scan-from-a-picture": judging.down("scan_picture"),
        "scan-by-typing": judging.down("scan_type"),
        "scanned-at-home": Route(screen="at_station", stream="washer-reservoir", station="leak-test"),
        "parts-followed": Route(screen="followed", concern=concern),
        "question": Route(screen="judge", check="pads-released", **leak_test),
        "count": Route(screen="count", check="ear-count", station="packing", **at),
        "measure": Route(screen="measure", check="part-temperature", **leak_test),
        "setting": Route(screen="measure", check="pad-hardness", **leak_test),
        "reason": Route(screen="reason", check="ear-look", **leak_test),
        "lot": Route(screen="sample", **leak_test),
        "note": Route(screen="note", **leak_test),
        "change": Route(screen="change", **leak_test),
        "photo": Route(screen="photo", station="packing", **at),
        "camera": Route(screen="photo", station="packing", **at).down("camera"),
        "mark-up": Route(screen="mark", **picture),
        "mark-up-words": Route(screen="mark", mark="words", **picture),
        "mark-up-own-words": Route(screen="mark_words", mark="words", through="mark", **picture),
        "all-pictures": Route(screen="gallery", concern=concern),
        "one-picture": Route(screen="look_at", through="concern gallery", **picture),
        "beside-limit-samples": Route(screen="compare", through="concern gallery", **picture),
        "cover-a-picture": Route(screen="cover_picture", through="concern gallery look_at", **picture),
        "cover-people": Route(screen="cover", station="packing", picture=walked.covered, **at),
        "studies": Route(screen="studies", concern=concern),
        "new-study": Route(screen="new_study", concern=concern),
        "study": Route(screen="study", **study),
        "inspector": Route(screen="inspector", **study),
        "reading": Route(screen="reading", inspector="QA-NW", **study),
        "reading-done": Route(screen="reading", inspector="OP-TB", **study),
        "study-result": Route(screen="study_result", **study),
        "first-bad-station": Route(screen="answer", **leak_test),
        "suspicion": Route(screen="weight", **leak_test),
        "onset": Route(screen="onset", **leak_test),
        "change-from-the-time-line": Route(screen="new_change", **leak_test),
        "older-lot": Route(screen="dated_count", **leak_test),
        "within-a-station": Route(screen="detail", **leak_test),
        "along-the-stream": Route(screen="measured", check="ear-wall", **leak_test),
        "read-across": Route(screen="read_across", concern=concern),
        "like-station": Route(
            screen="read_across_entry", concern=concern, entry="pump-bracket/final-check"
        ),
        "another-station": Route(screen="read_across_entry", concern=concern, entry="by-hand"),
        "lessons": Route(screen="lessons", concern=concern),
        "lesson": Route(screen="lesson", concern=concern),
        "search": Route(screen="search"),
        "measure-part": Route(screen="measure", check="ear-wall-tested", **leak_test),
    }


def dispute_routes(walked: Walked, dispute: Dispute) -> dict[str, Route]:
    """Name the pages of entries that disagree; they come last, since the others then warn of them."""
    concern = walked.concern
    return {
        "concern-with-entries-that-disagree": Route(screen="concern", concern=concern),
        "entries-that-disagree": Route(screen="disputes", concern=concern),
        "decide": Route(screen="settle", concern=concern, entry=dispute.key),
    }
