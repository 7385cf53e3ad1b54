"""Every error that this program raises on purpose.

::

    WalkappError            its text may be shown to the person holding the tablet
    ├── InputError          something that came from outside is wrong
    │   ├── RecordError     a value that a record does not allow
    │   ├── MistakesError   one or more mistakes in files that a person wrote
    │   │   ├── ChecklistError   in a checklist folder
    │   │   └── DeliveriesError  in a CSV of deliveries
    │   ├── CountsError     a CSV of counts that cannot be used
    │   ├── BundleError     a bundle that cannot be trusted or read
    │   └── PhotoError      a picture that cannot be used
    │       └── LargePhotoError  since it has too many pixels or bytes
    ├── DeviceError         a camera or another part of the tablet does not answer
    ├── StoreError          the tablet's own store cannot be read or written
    │   └── StoreBusyError  another program has the store open
    └── StoppedError        the person stopped long work

Each text is one plain sentence that says where, what, and how to mend it.
``ValueError`` and ``TypeError`` are for programmers' mistakes and are not caught.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from walkapp.language import tr
from walkapp.visible import visible

_LONGEST_PART = 250


class WalkappError(Exception):
    """The text of every subclass may be shown to a person as it stands.

    It names files, and quotes what stands in them, whatever that is: so it is always one line, and what
    cannot be seen has a mark (see :func:`walkapp.visible.visible`).
    """

    def __str__(self) -> str:
        return visible(super().__str__())


class InputError(WalkappError):
    """Something that came from outside is wrong; nothing was changed."""


class RecordError(InputError):
    """A record would hold a value that its kind does not allow."""


class CountsError(InputError):
    """A table of counts cannot be used."""


class BundleError(InputError):
    """A bundle cannot be read, or is not what it says it is."""


class PhotoError(InputError):
    """A file is not a picture that this program can use."""


class LargePhotoError(PhotoError):
    """A picture has more pixels or bytes than a tablet can be asked to decode."""


class DeviceError(WalkappError):
    """A part of the tablet, such as its camera, is not there or does not answer."""


class StoreError(WalkappError):
    """The store cannot be read or written."""


class StoreBusyError(StoreError):
    """Another program has the store open."""


class StoppedError(WalkappError):
    """The person stopped long work; the text says what was done and how to go on."""


@dataclass(frozen=True, slots=True, order=True)
class Mistake:
    """One thing that is wrong in one file that a person wrote.

    Parameters
    ----------
    file
        Path as the user knows it, for example ``washer-reservoir/checks.toml``.
    line
        Line in the file, counted from 1; 0 when no one line is to blame.
    what
        What is wrong, without a full stop.
    mend
        What to do about it, without a full stop.
    """

    file: str
    line: int
    what: str
    mend: str

    def __str__(self) -> str:
        where = tr("{file}, line {line}", file=self.file, line=self.line) if self.line else self.file
        return visible(f"{where}: {_brief(self.what)}; {_brief(self.mend)}.")


def _brief(words: str) -> str:
    """Cut a sentence that quotes something endless."""
    return words if len(words) <= _LONGEST_PART else f"{words[: _LONGEST_PART - 3]}..."


class MistakesError(InputError):
    """Files that a person wrote have mistakes; all of them are listed and nothing was loaded.

    Parameters
    ----------
    mistakes
        At least one, in any order; kept sorted by file and line.
    """

    def __init__(self, mistakes: Sequence[Mistake]) -> None:
        self.mistakes = tuple(sorted(mistakes))
        super().__init__(self.mistakes)

    def __str__(self) -> str:
        return "\n".join(str(mistake) for mistake in self.mistakes)


class ChecklistError(MistakesError):
    """A checklist folder has mistakes."""


class DeliveriesError(MistakesError):
    """A table of deliveries has mistakes."""
