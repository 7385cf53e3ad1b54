"""What an identified label says, whichever standard it follows."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What a label with identified fields says, as it stands there; the fields of ``Label``."""

    serial: str = ""
    lot: str = ""
    made_on: str = ""
    part_numbers: tuple[str, ...] = ()
    gtin: str = ""
    many: int | None = None
    more: tuple[tuple[str, str], ...] = ()
