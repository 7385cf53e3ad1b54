"""Spoilt bundles: as bytes of the zip, and as members packed again with true hashes and sizes."""

from __future__ import annotations

import hashlib
import json
import random
import re
import struct
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.soak.hostile.mutants import (
    NASTY_TEXTS,
    encode_otherwise,
    spoil_bytes,
    spoil_json,
    spoil_picture,
    spoil_table,
    spoil_toml,
)
from tests.soak.hostile.seeds import DIGEST, OWN
from walkapp.checklists import digest_of

Members = dict[str, bytes]

_HEADERS = (b"PK\x03\x04", b"PK\x01\x02", b"PK\x05\x06", b"PK\x06\x06", b"PK\x06\x07")
_NUMBERS = (0, 1, 2, 8, 9, 12, 99, 0x10, 0x800, 0x7FFF, 0xFFFF, 0xFFFFFFFF, 0x7FFFFFFF, 0x80000000)
_NAMES = (
    "../x.csv", "/x.csv", "..\\x.csv", "C:\\x.csv", "con.csv", "nul.csv", "aux.csv", "com1.csv", "x.csv.",
    "x.csv ", "Note.csv", "NOTE.CSV", "note.csv", "no\u0308te.csv", "n\u202eote.csv", "x\0.csv",
    "photos/x.jpg",
    "photos/" + "a" * 64 + ".png", "photos/" + "a" * 64 + ".exe", "checklists/" + "b" * 64 + "/nul.toml",
    "checklists/" + "b" * 64 + "/stream.toml", "sub/x.csv", "x/", "inner.zip", "weld_scan.csv",
    "scan-2.csv",
    "datapackage.json", "README.txt", "walk_start.csv", "a" * 300, "\x1b[2J.csv", "first_bad_station-2.csv",
)  # fmt: skip


def spoil_zip(data: bytes, chance: random.Random) -> bytes:
    """Spoil the zip itself; hashes are not mended, so only what changes nothing may be accepted."""
    if chance.random() < 0.5:
        return spoil_bytes(data, chance)
    found = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 3))):
        kind = chance.choice(_HEADERS[:3])
        at = chance.choice([place.start() for place in re.finditer(kind, data)]) + chance.randrange(4, 46)
        sort = chance.choice(("<H", "<L", "<Q"))
        if at + 8 <= len(found):
            number = chance.choice((*_NUMBERS, chance.randrange(len(data))))
            struct.pack_into(sort, found, at, number % 256 ** struct.calcsize(sort))
    if chance.random() < 0.1:
        return bytes(found) + chance.choice((b"\0", b"PK\x05\x06" + bytes(18), bytes(found)))
    return bytes(found)


def take_apart(bundle: Path) -> Members:
    """Give the members of a good bundle."""
    with zipfile.ZipFile(bundle) as good:
        return {name: good.read(name) for name in good.namelist()}


def spoil_members(members: Members, chance: random.Random) -> tuple[bytes, bool]:
    """Spoil one or a few members and pack them with true hashes, so that the readers inside are reached.

    Returns
    -------
    bytes
        The zip.
    bool
        Whether it was given a lie on top, a wrong hash or size, and so has to be refused.
    """
    spoilt = dict(members)
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        chance.choice(_WAYS)(spoilt, chance)
    descriptor = describe(members, spoilt)
    is_lie = chance.random() < 0.05 and _lie(descriptor, chance)
    spoilt["datapackage.json"] = json.dumps(descriptor).encode()
    if not is_lie and chance.random() < 0.12:
        spoilt["datapackage.json"] = spoil_json(spoilt["datapackage.json"], chance)
    return pack(spoilt, chance), is_lie


def pack(members: Members, chance: random.Random) -> bytes:
    """Write a zip, stored or deflated, under any names."""
    parts, table, at = [], [], 0
    for name, data in members.items():
        flags = 0 if name.isascii() else 0x800
        shown = name.encode("utf-8", "surrogatepass")
        method = chance.choice((0, 8))
        packer = zlib.compressobj(6, zlib.DEFLATED, -15)
        packed = data if method == 0 else packer.compress(data) + packer.flush()
        common = struct.pack("<HHHHLLLHH", flags, method, 0, 33, zlib.crc32(data), len(packed), len(data),
                             len(shown), 0)  # fmt: skip
        parts += [b"PK\x03\x04\x14\0" + common + shown, packed]
        table.append(
            b"PK\x01\x02\x14\x03\x14\0"
            + common
            + struct.pack("<HHHLL", 0, 0, 0, 0o100644 << 16, at)
            + shown
        )
        at += 30 + len(shown) + len(packed)
    size = sum(map(len, table))
    end = b"PK\x05\x06" + struct.pack("<HHHHLLH", 0, 0, len(table), len(table), size, at, 0)
    return b"".join((*parts, *table, end))


def describe(good: Members, spoilt: Members) -> dict[str, Any]:
    """Describe what is there now, keeping what the good descriptor said of the rest."""
    found = json.loads(good["datapackage.json"])
    known = {resource["path"]: resource for resource in found["resources"]}
    found["resources"] = [
        {**known.get(name, {"name": "new"}), "path": name, "bytes": len(data),
         "hash": f"sha256:{hashlib.sha256(data).hexdigest()}"}
        for name, data in spoilt.items() if name != "datapackage.json"
    ]  # fmt: skip
    return found


def _lie(descriptor: dict[str, Any], chance: random.Random) -> bool:
    resource = chance.choice(descriptor["resources"])
    if chance.random() < 0.5:
        resource["bytes"] += chance.choice((-1, 1, 10**9))
    else:
        digits = resource["hash"]
        place = chance.randrange(len("sha256:"), len(digits))
        resource["hash"] = digits[:place] + ("0" if digits[place] != "0" else "1") + digits[place + 1 :]
    return True


def _tables(members: Members) -> list[str]:
    return [name for name in members if name.endswith(".csv") and "/" not in name]


def _spoil_table(members: Members, chance: random.Random) -> None:
    name = chance.choice(_tables(members) or ["x.csv"])
    data = members.get(name, b"id\r\n1\r\n")
    try:
        data.decode()
    except UnicodeDecodeError:
        return
    members[name] = spoil_table(data, chance, others=(DIGEST, OWN, *_ids(members)))


def _ids(members: Members) -> list[str]:
    """Ids that are there, so that replacing, twins and cycles come about."""
    lines = members.get("answer.csv", b"").split(b"\r\n")[1:-1]
    found = [line.split(b",")[0].decode("ascii", "replace") for line in lines]
    return [*found, " ".join(found)]


def _spoil_checklist(members: Members, chance: random.Random) -> None:
    """Spoil a checklist and let everything that names it name it by its new digest."""
    paths = sorted(name for name in members if name.startswith("checklists/"))
    if not paths:
        return
    files = {path.rpartition("/")[2]: members.pop(path) for path in paths}
    name = chance.choice(sorted(files))
    try:
        files[name] = spoil_toml(files[name], chance)
    except UnicodeDecodeError:
        files[name] = spoil_bytes(files[name], chance)
    if chance.random() < 0.1:
        files[chance.choice(("nul.toml", "more.toml", "checks.toml"))] = files.pop(name)
    before, digest = paths[0].split("/")[1], digest_of(files)
    for file, data in files.items():
        members[f"checklists/{digest}/{file}"] = data
    starts = members.get("walk_start.csv", b"")
    members["walk_start.csv"] = starts.replace(before.encode(), digest.encode())


def _spoil_photo(members: Members, chance: random.Random) -> None:
    photos = sorted(name for name in members if name.startswith("photos/"))
    if not photos:
        return
    name = chance.choice(photos)
    data = spoil_picture(members.pop(name), chance)
    before, digest = name[7:71], hashlib.sha256(data).hexdigest()
    ending = chance.choice((name[72:], name[72:], name[72:], "png", "jpg"))
    members[f"photos/{digest}.{ending}"] = data
    members["photo.csv"] = members.get("photo.csv", b"").replace(before.encode(), digest.encode())


def _spoil_name(members: Members, chance: random.Random) -> None:
    old = chance.choice(sorted(members))
    data = members.pop(old) if chance.random() < 0.7 else members[old]
    members[chance.choice((*_NAMES, *members, chance.choice(NASTY_TEXTS)[:60] + ".csv"))] = data


def _spoil_readme(members: Members, chance: random.Random) -> None:
    text = members.get("README.txt", b"").decode("utf-8", "replace") + chance.choice(NASTY_TEXTS)
    members["README.txt"] = encode_otherwise(text, chance)


def _leave_out(members: Members, chance: random.Random) -> None:
    if members:
        del members[chance.choice(sorted(members))]


_WAYS: tuple[Callable[[Members, random.Random], None], ...] = (
    *(_spoil_table,) * 8, *(_spoil_checklist,) * 3, *(_spoil_photo,) * 2, _spoil_name, _spoil_readme,
    _leave_out,
)  # fmt: skip
