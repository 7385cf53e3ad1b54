"""Where in a bundle something is wrong, so that every complaint can say so."""

from __future__ import annotations

import dataclasses
import errno
from dataclasses import dataclass

from walkapp.bundle.layout import ASK_AGAIN
from walkapp.errors import BundleError
from walkapp.language import tr
from walkapp.visible import visible

__all__ = ["Place", "brief", "describe_refusal"]

_LONGEST_SHOWN = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place in a bundle.

    Parameters
    ----------
    bundle
        File name of the bundle.
    member
        Name of the file in it, if any one is to blame.
    row
        Row of the table as a spreadsheet counts, the column names being row 1; 0 for none.
    column
        Name of the column, if any one is to blame.
    """

    bundle: str
    member: str = ""
    row: int = 0
    column: str = ""

    def at(self, *, member: str = "", row: int = 0, column: str = "") -> Place:
        """Give a place further in; what is not named stays."""
        return dataclasses.replace(
            self, member=member or self.member, row=row or self.row, column=column or self.column
        )

    def error(self, what: str, mend: str = "") -> BundleError:
        """Make the error that says what is wrong here.

        Parameters
        ----------
        what
            What is wrong, without a full stop.
        mend
            What to do about it, without a full stop; ask for the bundle once more when empty.
        """
        parts = [brief(self.member)] if self.member else []
        parts += [tr("row {row}", row=self.row)] if self.row else []
        parts += [tr("column {brief}", brief=brief(self.column))] if self.column else []
        where = f"{', '.join(parts)}: " if parts else ""
        return BundleError(f"{self.bundle}: {where}{what}; {mend or tr(ASK_AGAIN)}.")


def brief(text: str) -> str:
    """Show a text that came from outside: short, and without anything that cannot be seen."""
    shown = visible(text)
    return shown if len(shown) <= _LONGEST_SHOWN else shown[: _LONGEST_SHOWN - 3] + "..."


def describe_refusal(error: OSError) -> tuple[str, str]:
    """Say in words why the system refused, and what to do.

    Returns
    -------
    tuple of str
        What is wrong and how to mend it, both without a full stop.
    """
    match error.errno:
        case errno.ENOSPC | errno.EDQUOT:
            return tr("the disk is full"), tr("free some space and try again")
        case errno.EACCES | errno.EPERM | errno.EROFS:
            return tr("writing there is not allowed"), tr("choose another folder")
        case errno.ENOENT | errno.ENOTDIR:
            return tr("the folder is not there"), tr("make it or choose another")
        case errno.EISDIR:
            return tr("a folder of that name is in the way"), tr("choose another name")
        case errno.EFBIG:
            return tr("the file is larger than the medium allows"), tr("choose another folder")
        case _:
            return tr("the system refused ({what})", what=error.strerror or error), tr(
                "try again or choose another folder"
            )
