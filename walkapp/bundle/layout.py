"""How a bundle is laid out: names of its members, its limits, and what is said of it in words.

::

    datapackage.json                what is in the bundle, each file with size and SHA-256
    signature.json                  only where the tablet has a key: its signature of the line above
    README.txt                      the same in plain words, for a stranger
    answer.csv, change_point.csv    one table for each kind of record that the bundle holds
    first_bad_station.csv           the computed answer, as it was when the bundle was written
    photos/<sha256>.jpg, .png       pictures: copies without metadata, or as they were taken
    checklists/<digest>/<file>.toml the checklists that were used
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from walkapp.files import is_safe_name
from walkapp.language import msg

__all__ = [
    "ASK_AGAIN",
    "CHECKLIST",
    "DESCRIPTOR",
    "FORMAT",
    "LIMITS",
    "PHOTO",
    "README",
    "README_TEXT",
    "ROWS",
    "ROWS_NAME",
    "SIGNATURE",
    "TABLE",
    "UPDATE",
    "Limits",
    "checklist_member",
    "is_member_name",
    "is_photo",
    "kind_of_table",
    "photo_member",
    "table_name",
]

FORMAT = 3
"""Number of the layout; raised whenever an older reader could misunderstand a bundle.

1
    Apostrophes stand at the beginning of texts only (see :mod:`walkapp.bundle.cells`).
2
    They stand within texts as well.
3
    Tables of change points, concerns, photos and their copies have columns that are new, and none of them
    must hold anything. Bundles of formats 1 and 2 are read, with these columns empty.
"""

DESCRIPTOR = "datapackage.json"
SIGNATURE = "signature.json"
README = "README.txt"
ROWS_NAME = "first_bad_station"
ROWS = f"{ROWS_NAME}.csv"

TABLE = re.compile(r"(?=.{1,40}\.csv\Z)([a-z][a-z0-9_]*)(?:-([2-9]|[1-9][0-9]{1,3}))?\.csv", re.ASCII)
PHOTO = re.compile(r"photos/([0-9a-f]{64})\.(jpg|png)", re.ASCII)
CHECKLIST = re.compile(r"checklists/([0-9a-f]{64})/([a-z0-9][a-z0-9_-]{0,59}\.toml)", re.ASCII)

ASK_AGAIN = msg("ask for the bundle again")
UPDATE = msg("the bundle was made by a newer version, update walkapp")


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a bundle may hold at most; the defaults hold for writing and for reading.

    Parameters
    ----------
    entries
        Files in the zip.
    photo_bytes, table_bytes, descriptor_bytes, signature_bytes, checklist_bytes
        Size of one file of that sort, unpacked.
    text_bytes
        Size of all files together that are held in memory, unpacked: all but the photos.
    total_bytes
        Size of all files together, unpacked, and of the zip.
    ratio
        How many times smaller than its content a packed text may be ...
    ratio_from_bytes
        ... once its content is larger than this.
    """

    entries: int = 5_000
    photo_bytes: int = 25_000_000
    table_bytes: int = 50_000_000
    descriptor_bytes: int = 5_000_000
    signature_bytes: int = 1_000
    checklist_bytes: int = 1_000_000
    text_bytes: int = 400_000_000
    total_bytes: int = 4_000_000_000
    ratio: int = 100
    ratio_from_bytes: int = 1_000_000

    def most_bytes(self, member: str) -> int:
        """Largest size allowed for a member, unpacked."""
        if member == DESCRIPTOR:
            return self.descriptor_bytes
        if member == SIGNATURE:
            return self.signature_bytes
        if is_photo(member):
            return self.photo_bytes
        return self.table_bytes if member.endswith(".csv") else self.checklist_bytes

    def is_packed_too_tight(self, size_bytes: int, packed_bytes: int) -> bool:
        """Whether a member unpacks to so much that it is taken for an attack."""
        return size_bytes > self.ratio_from_bytes and size_bytes > self.ratio * packed_bytes


LIMITS = Limits()


def is_member_name(name: str) -> bool:
    """Whether a file of that name can be part of a bundle at all, and be unpacked on any system."""
    if name in (DESCRIPTOR, SIGNATURE, README):
        return True
    is_known = any(pattern.fullmatch(name) for pattern in (TABLE, PHOTO, CHECKLIST))
    is_second_answer = kind_of_table(name) == ROWS_NAME and name != ROWS
    return is_known and not is_second_answer and is_safe_name(name.rpartition("/")[2])


def is_photo(name: str) -> bool:
    """Whether a member is a picture; pictures are stored as they are, everything else is packed."""
    return name.startswith("photos/")


def photo_member(name: str) -> str:
    """Name of a picture's member, from its file name."""
    return f"photos/{name}"


def checklist_member(digest: str, name: str) -> str:
    """Name of a checklist file's member."""
    return f"checklists/{digest}/{name}"


def table_name(kind: str, place: int) -> str:
    """Name of a table without its ending.

    Parameters
    ----------
    kind
        Name of the kind of record.
    place
        1 for the first table of the kind. Only a kind that this version does not know can have
        more: one for each set of columns with which it came.
    """
    return kind if place == 1 else f"{kind}-{place}"


def kind_of_table(name: str) -> str:
    """Name of the kind of record whose table has that name, with or without its ending."""
    return name.removesuffix(".csv").split("-")[0]


# no text: the same bytes in every language
README_TEXT = """\
WHAT THIS IS

Somebody walked a value stream (the stations that a part passes, from the first to the
customer's dock) to find the first station at which a defect appears; or somebody audited
such stations afterwards, so that what was put right stays so. This file is a "bundle":
everything that was recorded on that walk, or on several, and in audits. It was written by
the program walkapp, but nothing here needs that program: tables are CSV, pictures are JPEG
or PNG, checklists are TOML (plain text).

WHAT IS INSIDE

datapackage.json       Lists every file with its size and its SHA-256, and says what each
                       column of each table means. It follows the open standard Data
                       Package, version 2 (datapackage.org).
signature.json         Only where the tablet has a key: an Ed25519 signature of datapackage.json.
one CSV per kind       answer.csv, count.csv, measurement.csv, change_point.csv, note.csv and
of record              so on. One row is one record. Records are never changed: a correction
                       is a new row whose column "replaces" names the rows that it corrects
                       and whose column "why" says why; a row of withdrawal.csv takes the
                       rows named in "replaces" back.
tables of audits       audit_start.csv has one row for each audit that was begun; its "id" stands
                       in the column "audit" of all that belongs to it: audit_answer.csv (each
                       question answered), audit_reaction.csv (what was done about a NOK),
                       finding_closed.csv (what was put right later) and audit_signed.csv. The
                       column "finding" holds the "id" of the NOK answer that a row is about, as
                       "about" in photo.csv does for its pictures. audit_missed.csv says why an
                       audit of the plan was not done. In all of them the column "concern" holds
                       no concern but the id of the audit book: the audits of one value stream
                       in one month.
first_bad_station.csv  The answer, worked out from the records: one row for each concern and
                       station. It is here to be read by people. Whoever needs to be sure
                       works it out again from the records; it is never read back as a fact.
photos                 The pictures. A file name is the SHA-256 of the file; photo.csv says where
                       each picture belongs and what it shows. Where there is a row in
                       photo_copy.csv, the file is a copy of the picture ("photo" there is
                       "sha256" in photo.csv) without the place where it was taken, the camera's
                       serial number and all other metadata; the picture itself stays on the
                       tablet unless somebody asked for it. Places in the column "covered" are
                       covered for good, to keep people and names out. Rows with "true" in the
                       column "invented" are drawn for a demonstration and show no real part.
                       Arrows, rings, lines and words that somebody drew over a picture are in
                       no file here: picture_mark.csv says what they are and where, in shares
                       of the upright picture.
checklists             The checklists that were used, one folder for each version.

HOW TO OPEN THE TABLES

Do not double-click them: a spreadsheet may turn texts into dates and drop leading zeros.
Start with an empty sheet and import the file as text: character set UTF-8, separator comma,
text delimiter ", and the column type "text" for every column. A decimal point is a point.
An empty cell means "no value" or "not known". Tabs in a text of several lines may be dropped,
and cells of more than 32,767 characters cut.

A text that a spreadsheet could take for a formula has an apostrophe (') in front. It is no
part of the text. The rule: a cell of a text column that begins with = + - @, with one of
their full-width forms, with a tab, a line break or an apostrophe has exactly one apostrophe
put in front. Some spreadsheets begin a new cell within a text, so the same is done there:
after a comma, a semicolon, a bar (|), a tab or a line break, = + - @ and their full-width
forms, a quotation mark and an apostrophe have exactly one apostrophe put in front. To get
the text back, take exactly one away at its beginning and after each comma, semicolon, bar,
tab and line break, wherever there is one.

Do not change the tables and send the bundle on: the sizes and SHA-256 would no longer match,
and the bundle would be refused. Corrections are made in the program, as new records.

WORDS

concern                What is wrong, as the customer reported it, and how a part is judged.
walk                   One person going through the stations for one concern.
OK, NOK                A part is as it must be; a part is not.
N/A                    The check does not apply; the reason is given.
audit                  Somebody of a layer (shift lead, supervisor, manager) looks at a few stations
                       and answers the questions that the plan gives for that day. With a text
                       in "paper_by" it was done on paper and typed in later: the times of its
                       rows are then those of the typing.
finding                A NOK of an audit: something is not as it must be. It is open until
                       audit_reaction.csv says "corrected" or finding_closed.csv has a row.
study                  An inspection study: parts with known answers (study_part.csv), judged by
                       inspectors in an order that tells nothing (study_reading.csv).
                       rates_chosen.csv says with which study's rates a check counts.
share, low95, high95   NOK parts divided by parts checked, and the ends of the interval that
                       holds the true share with 95 % confidence; from 0 to 1.
probability_origin     Probability, from 0 to 1, that the defect starts at this station.
"""
