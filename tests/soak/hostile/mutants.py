"""Ways to spoil bytes, tables, JSON, TOML and pictures. All chance comes from the caller."""

from __future__ import annotations

import csv
import io
import json
import random
import re
import struct
import zlib
from collections.abc import Callable
from typing import Any

NASTY_TEXTS = (
    "", " ", "\0", "\x1b[2J\x1b]0;x\x07", "\x9b31m", "\x85", "\u202e", "\u2066x", "\u200b", "\ufeff",
    "\u2028", "\u3164", "e\u0301" * 50, "=1+1", "'", "''", '"', ",", ";", "\r", "\n", "\r\n",
    "a" * 5_000, "x," * 300,
    "\U0001d7d9\U0001d7da", "\u0661\u0662", "\uff11\uff12", "NaN", "nan", "inf", "-inf", "Infinity",
    "1e999", "1e5", "-0", "+5", "0x10", "1_000", "9" * 400, "1.0", " 5", "5 ", "true", "null", "None",
    "../../x",
    "C:\\x", "con", "0001-01-01", "9999-12-31", "2026-02-30", "0001-01-01T00:00:00+23:59",
    "9999-12-31T23:59:59-23:59", "2026-03-03T06:20:60Z", "2026-03-03T06:20:00.5Z", "0", "1", "2", "5",
    "100", "999999999999.999999999", "-999999999999", "0.000000001", "1000000", "1000001", "1000000000",
    "9007199254740993", "weld", "press", "dock", "look", "gap", "crack", "small-line", "not_ok", "ok",
)  # fmt: skip
NASTY_BYTES = (
    b"\xc0\x80", b"\xed\xa0\x80", b"\xff\xfe", b"\xef\xbb\xbf", b"\xf4\x90\x80\x80", b"\xe4", b"\0",
    b"\x80", b'"', b"'", b",", b"\r", b"\n", b"\\", b"[", b"{", b"#", b"=", b"PK\x05\x06",
)  # fmt: skip
NASTY_VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 2, 10**15, 10**17, 10**400, 1.5, "", "x", "\ud800", "\u202e", [], {}, [[]],
    "sha256:", "note.csv", "../note.csv", "datapackage.json", "9" * 5_000,
)  # fmt: skip
NASTY_WORDS = (
    "1e999", "-1e999", "nan", "inf", "-inf", "+1", "0x7fffffffffffffffffff", "9" * 5_000, "0.1e-400",
    "true", "'x'", '""', '"\\u0000"', '"\\ud800"', '"\\u202e"', '"""\n"""', "1979-05-27", "07:32:00",
    "1979-05-27T07:32:00Z", "[]", "{}", "[[", "]]", "{ a = 1 }", "[" * 3_000, "{a=" * 600, "=", ".", ",",
    "#", "\n", "\r", "\0", "\x1b[2J", "station", "check", "defect", "kind", "id", "name", "units",
    '"weld"', '"press"', '"\u200b"', '"' + "a" * 700 + '"', "1_000", "0o7", "1.", "-0", "0.0", "1e-9",
    "240", "\ufeff", "\u202e",
    '"attribute"', '"measurement"', '"incoming"', "a." * 500 + "a = 1",
)  # fmt: skip

_JSON_WORDS = (
    "NaN", "Infinity", "-Infinity", "1e999", "-1e999", "9" * 5_000, "[" * 5_000, '{"a":' * 30, '"\\ud800"',
    "null", "true", '"path"', "{", "}", "[", "]", ",", ":", "1.0", "1E400", "-",
)  # fmt: skip


def spoil_bytes(data: bytes, chance: random.Random) -> bytes:
    """Flip, cut, repeat, swap, splice or overwrite, once or a few times."""
    for _ in range(chance.choice((1, 1, 1, 2, 5))):
        if not data:
            return chance.randbytes(chance.randrange(40))
        data = chance.choice(_BYTE_WAYS)(data, chance)
    return data


def _span(data: bytes, chance: random.Random) -> tuple[int, int]:
    start = chance.randrange(len(data))
    return start, min(len(data), start + int(chance.expovariate(1 / 40)) + 1)


def _flip(data: bytes, chance: random.Random) -> bytes:
    found = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 8))):
        place = chance.randrange(len(found) * 8)
        found[place // 8] ^= 1 << place % 8
    return bytes(found)


def _cut(data: bytes, chance: random.Random) -> bytes:
    start, end = _span(data, chance)
    return chance.choice((data[:start], data[start:], data[:start] + data[end:]))


def _repeat(data: bytes, chance: random.Random) -> bytes:
    start, end = _span(data, chance)
    return data[:end] + data[start:end] * chance.choice((1, 2, 30)) + data[end:]


def _swap(data: bytes, chance: random.Random) -> bytes:
    (a, b), (c, d) = sorted((_span(data, chance), _span(data, chance)))
    b = min(b, c)
    return data[:a] + data[c:d] + data[b:c] + data[a:b] + data[d:]


def _splice(data: bytes, chance: random.Random) -> bytes:
    (start, end), place = _span(data, chance), chance.randrange(len(data) + 1)
    return data[:place] + data[start:end] + data[place:]


def _overwrite(data: bytes, chance: random.Random) -> bytes:
    start, end = _span(data, chance)
    filling = chance.choice((bytes(end - start), b"\xff" * (end - start), chance.randbytes(end - start)))
    return data[:start] + filling + data[end:]


def _insert(data: bytes, chance: random.Random) -> bytes:
    place = chance.randrange(len(data) + 1)
    return data[:place] + chance.choice((*NASTY_BYTES, chance.randbytes(3))) + data[place:]


_BYTE_WAYS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _flip, _cut, _repeat, _swap, _splice, _overwrite, _insert,
)  # fmt: skip


def encode_otherwise(text: str, chance: random.Random) -> bytes:
    """Write a text in an encoding, or with line ends, that it must not have."""
    way = chance.randrange(6)
    if way == 0:
        return text.encode("utf-16", "surrogatepass")
    if way == 1:
        return text.encode("latin-1", "replace")
    if way == 2:
        return b"\xef\xbb\xbf" + text.encode("utf-8", "surrogatepass")
    if way == 3:
        return text.replace("\r\n", "\n").encode("utf-8", "surrogatepass")
    if way == 4:
        return text.replace("\n", "\r").encode("utf-8", "surrogatepass")
    return text.encode("utf-7", "replace")


def spoil_table(data: bytes, chance: random.Random, *, others: tuple[str, ...] = ()) -> bytes:
    """Change cells, rows or columns of a CSV table, its quotes or its encoding.

    Parameters
    ----------
    data
        A good table.
    chance
        Decides.
    others
        Further texts to put into cells, such as ids that mean something.
    """
    if chance.random() < 0.15:
        return spoil_bytes(data, chance)
    rows = list(csv.reader(io.StringIO(data.decode(), newline="")))
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        _spoil_rows(rows, chance, others)
    page = io.StringIO(newline="")
    quoting = chance.choice((csv.QUOTE_MINIMAL, csv.QUOTE_MINIMAL, csv.QUOTE_ALL))
    csv.writer(page, lineterminator="\r\n", quoting=quoting).writerows(rows)
    text = page.getvalue()
    return (
        encode_otherwise(text, chance) if chance.random() < 0.04 else text.encode("utf-8", "surrogatepass")
    )


def _spoil_rows(rows: list[list[str]], chance: random.Random, others: tuple[str, ...]) -> None:
    if not rows or not all(rows):
        return
    row = chance.choice(rows[1:] or rows)
    place = chance.randrange(len(row))
    match chance.randrange(14):
        case 0 | 1 | 2 | 3:
            row[place] = chance.choice((*NASTY_TEXTS, *others))
        case 4 | 5:
            column = [r[place] for r in rows[1:] if place < len(r)]
            row[place] = chance.choice(column or [""])  # what another record says
        case 6:
            at = chance.randrange(len(row[place]) + 1)
            row[place] = row[place][:at] + chance.choice(NASTY_TEXTS) + row[place][at:]
        case 7:
            row[place] = chance.choice(
                (row[place][:-1], row[place] * 3, row[place].upper(), row[place][::-1])
            )
        case 8:
            rows.append(list(row))
        case 9:
            rows.remove(row)
        case 10:
            chance.choice((row.pop, lambda at: row.insert(at, "x")))(place)
        case 11:
            chance.shuffle(rows[0])
        case 12:
            rows[0][place % len(rows[0])] = chance.choice((*NASTY_TEXTS, rows[0][0]))
        case _:
            twin = list(row)
            twin[place] = chance.choice((*NASTY_TEXTS, *others))
            rows.append(twin)  # perhaps the same id with other content


def spoil_json(data: bytes, chance: random.Random) -> bytes:
    """Change the structure of a JSON document, or its text; what is none any more, only its bytes."""
    way = chance.random()
    try:
        found = json.loads(data)
    except (ValueError, RecursionError):
        found = None
    if way < 0.15 or not isinstance(found, dict | list):
        return spoil_bytes(data, chance)
    if way < 0.5:
        for _ in range(chance.choice((1, 1, 2, 3))):
            _spoil_value(found, chance)
        return json.dumps(found, ensure_ascii=chance.random() < 0.8).encode("utf-8", "surrogatepass")
    text = data.decode()
    if way < 0.55:
        return encode_otherwise(text, chance)
    tokens = re.findall(r'"(?:[^"\\]|\\.)*"|-?[0-9.eE+-]+|\w+|[{}\[\]:,]|\s+', text)
    return "".join(_spoil_tokens(tokens, _JSON_WORDS, chance)).encode("utf-8", "surrogatepass")


def _spoil_value(found: Any, chance: random.Random) -> None:
    while True:
        keys = list(found) if isinstance(found, dict) else list(range(len(found)))
        if not keys:
            return
        key = chance.choice(keys)
        if isinstance(found[key], dict | list) and found[key] and chance.random() < 0.8:
            found = found[key]
            continue
        match chance.randrange(5):
            case 0:
                del found[key]
            case 1:
                found[key] = [found[key]]
            case 2:
                found[chance.choice(keys)] = found[key]
            case _:
                found[key] = chance.choice(NASTY_VALUES)
        return


def _spoil_tokens(tokens: list[str], words: tuple[str, ...], chance: random.Random) -> list[str]:
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        if not tokens:
            break
        place, other = chance.randrange(len(tokens)), chance.randrange(len(tokens))
        match chance.randrange(6):
            case 0:
                del tokens[place]
            case 1:
                tokens.insert(place, tokens[other])
            case 2:
                tokens[place], tokens[other] = tokens[other], tokens[place]
            case 3:
                tokens.insert(place, chance.choice(words))
            case _:
                tokens[place] = chance.choice(words)
    return tokens


_LIKELY_VALUES = {
    "name": ('"x"', '"a\u0308\u00a0\u3000b"', '"\\u3164"', '"\u200b"', '"Dock"', '"""\ntwo\nlines"""'),
    "minutes": ("0", "240", "240.0", "1e-9", "0.1e1", "2_4", "-0.0"),
    "kind": ('"test"', '"dock"', '"photo"', '"question"', '"count"', '"attribute"', '"incoming"'),
    "detection": ("1", "1.0", "0.006", "0.5", "0.0051", "0.99999999999999999999"),
    "false_alarm": ("0", "0.89", "1e-300", "0.8999999"),
    "lsl": ("-999999999999", "-1e11", "0.000000001", "1.0000000000000000000000001"),
    "usl": ("999999999999", "1.0000001", "9e11", "2e0"),
    "nominal": ("1", "2.0", "1.99999999999999999"),
    "sample": ("1", "100000"),
    "sorts": ("true", "false"),
    "invented": ("false", "true"),
    "cautions": ("[]", '["a", "b"]'),
    "hazards": ("[]", '["\u05d0"]'),
    "shifts": ("[]", '[{ name = "a", from = "22:00", to = "21:59" }]'),
    "units": ('{ kind = "rack", names = ["a", "b", "c"] }',),
    "version": ('"9"', '"e\u0301"'),
    "characteristic": ('"gap"', '"gap2"'),
}
"""What may well be allowed, so that the program is led further in."""

_TOML_TOKEN = re.compile(r'"(?:[^"\\\n]|\\.)*"|#[^\n]*|\[\[|\]\]|[\w.+-]+|[=\[\]{},]|\n|[ \t]+|.')


def spoil_toml(data: bytes, chance: random.Random) -> bytes:
    """Change the tokens or lines of a TOML document, or its encoding."""
    way = chance.random()
    if way < 0.1:
        return spoil_bytes(data, chance)
    text = data.decode()
    if way < 0.14:
        return encode_otherwise(text, chance)
    if way < 0.35:
        lines = text.splitlines(keepends=True)
        return "".join(_spoil_tokens(lines, NASTY_WORDS, chance)).encode("utf-8", "surrogatepass")
    if way < 0.4:  # many of one thing
        block = chance.choice(text.split("\n\n"))
        return (text + "\n" + (block + "\n") * chance.choice((2, 30, 210))).encode()
    if way < 0.75:  # the value of a key, whole
        keys = list(re.finditer(r"^(\w+) = (.*)$", text, re.MULTILINE))
        if not keys:
            return data
        one = chance.choice(keys)
        if way < 0.6:
            value = chance.choice(_LIKELY_VALUES.get(one[1], NASTY_WORDS))
        else:
            other = chance.choice(keys)[2]
            value = chance.choice((chance.choice(NASTY_WORDS), other, f"[{one[2]}]", f"{{ a = {one[2]} }}"))
        return (text[: one.start(2)] + value + text[one.end(2) :]).encode("utf-8", "surrogatepass")
    tokens = _TOML_TOKEN.findall(text)
    return "".join(_spoil_tokens(tokens, NASTY_WORDS, chance)).encode("utf-8", "surrogatepass")


def spoil_picture(data: bytes, chance: random.Random) -> bytes:
    """Damage a picture, lie about its size, or hang something on it."""
    match chance.randrange(6):
        case 0 | 1:
            return spoil_bytes(data, chance)
        case 2:
            return data + chance.choice(
                (b"PK\x03\x04 zip", b"<html><script>1</script>", bytes(2_000), data)
            )
        case 3:
            return chance.choice(
                (b"GIF89a", b"<svg/>", b"BM", b"\xff\xd8\xff\xd9", b"\x89PNG\r\n\x1a\n", b"")
            )
        case 4:
            return data[: chance.randrange(len(data))]
        case _:
            return _spoil_size(data, chance)


def _spoil_size(data: bytes, chance: random.Random) -> bytes:
    size = chance.choice((0, 1, 9, 255, 7_000, 30_000, 65_535, 2**31 - 1, 2**32 - 1))
    if data.startswith(b"\x89PNG") and len(data) >= 33:
        head = bytearray(data[12:29])
        struct.pack_into(">I", head, chance.choice((4, 8)), size)
        return data[:12] + bytes(head) + struct.pack(">I", zlib.crc32(head)) + data[33:]
    frame = data.find(b"\xff\xc0")
    return data[: frame + 5] + struct.pack(">H", size % 65_536) + data[frame + 7 :]
