"""Journals that were cut off, damaged or moved: every good line counts, nothing is silent."""

from __future__ import annotations

import errno
import json
import random
import zlib
from collections import Counter
from pathlib import Path

import pytest

from tests.store.support import (
    CONCERN,
    DEVICE,
    OTHER_DEVICE,
    OTHER_WALK,
    WALK,
    FailingDisk,
    HastyDisk,
    all_of,
    begin_walk,
    concern,
    failing_from,
    note,
    open_store,
    own_journal,
    tree,
    walk_start,
)
from walkapp.errors import StoreError
from walkapp.files import Disk
from walkapp.model.records import Note, record_to_plain
from walkapp.store.identity import read_identity
from walkapp.store.lines import LineError, decode_line, encode_line
from walkapp.store.reading import FORMAT, scan_journal


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "store"


def _walk_of(folder: Path, notes: int) -> list:
    with open_store(folder) as store:
        return begin_walk(store, notes)[1:]


def test_a_journal_cut_at_any_byte_keeps_every_whole_line(folder):
    saved = _walk_of(folder, 1)
    path = own_journal(folder)
    whole = path.read_bytes()
    ends = [i + 1 for i, byte in enumerate(whole) if byte == 10]

    for size in range(len(whole) + 1):
        path.write_bytes(whole[:size])
        expected = saved[: max(sum(end <= size for end in ends) - 1, 0)]
        with open_store(folder, disk=HastyDisk()) as store:
            assert expected == list(store.records(WALK)), size
            is_torn = size not in (0, *ends)
            assert [is_torn] == [bool(store.notices)]
            if is_torn:
                assert "1 unfinished entry" in store.notices[0]
        after = path.read_bytes()
        assert whole[: max((end for end in ends if end <= size), default=0)] == after
        with open_store(folder, disk=HastyDisk()) as again:
            assert expected == list(again.records(WALK))
            assert again.notices == ()
        assert after == path.read_bytes()


def test_what_is_cut_off_is_kept_aside_and_the_next_record_follows(folder):
    _walk_of(folder, 2)
    path = own_journal(folder)
    path.write_bytes(path.read_bytes()[:-5])

    with open_store(folder) as store:
        store.append(note(4, "made again"))
        assert [r.words for r in store.records(WALK)[1:]] == ["clamp pads look new", "made again"]

    (kept,) = (folder / "aside").iterdir()
    assert b"clamp pads look" in kept.read_bytes()
    with open_store(folder) as again:
        assert again.notices == ()
        assert again.next_number == 5


@pytest.mark.parametrize(
    "tail",
    [
        bytes(700), b"\xff" * 700, b"12345678 {}\n" * 3, b"no newline", b"\n", b"\n\n\n",
        random.Random(1).randbytes(900),
    ],
    ids=["zeros", "ones", "wrong checksums", "text", "line feed", "line feeds", "noise"],
)  # fmt: skip
def test_rubbish_at_the_end_is_set_aside_and_no_number_is_given_twice(folder, tail):
    saved = _walk_of(folder, 3)
    with own_journal(folder).open("ab") as file:
        file.write(tail)

    with open_store(folder) as store:
        assert saved == list(store.records(WALK))
        assert len(store.notices) == 1
        # A whole line that cannot be read may have been a saved record: its number is not reused.
        expected = 6 + tail.count(b"\n")
        assert expected == store.next_number
    with open_store(folder) as again:
        assert expected == again.next_number
        assert again.notices == ()
        again.append(note(expected))
    with open_store(folder) as third:
        assert third.next_number == expected + 1
        assert tail in [path.read_bytes() for path in (folder / "aside").iterdir()]


def test_flipping_any_bit_never_alters_a_record(folder):
    saved = _walk_of(folder, 3)
    path = own_journal(folder)
    whole = path.read_bytes()
    lines = whole.splitlines(keepends=True)

    for bit in range(0, len(whole) * 8, 11):
        damaged = bytearray(whole)
        damaged[bit // 8] ^= 1 << bit % 8
        path.write_bytes(damaged)
        with open_store(folder, writable=False) as store:
            found = list(store.records(WALK))
            assert all(record in saved for record in found)
            assert store.notices
        hurt = _line_at(lines, bit // 8)
        is_line_feed = damaged[bit // 8] != 10 and whole[bit // 8] == 10
        lost = {hurt, hurt + 1} if is_line_feed else {hurt}
        assert [r for n, r in enumerate(saved, start=1) if n not in lost] == found


def test_no_flipped_bit_gives_an_altered_record_or_goes_unseen(folder):
    _walk_of(folder, 1)
    path = own_journal(folder)
    whole = path.read_bytes()
    lines = {entry.line: entry.record for entry in scan_journal(whole, path).entries}

    for bit in range(len(whole) * 8):
        damaged = bytearray(whole)
        damaged[bit // 8] ^= 1 << bit % 8
        scan = scan_journal(bytes(damaged), path)
        assert {entry.record for entry in scan.entries} < {*lines.values()} or scan.header is None
        assert scan.damages or scan.tail, bit
        assert len(scan.entries) >= len(lines) - 2


@pytest.mark.parametrize("kind", ["zeros", "ones", "noise", "half a line and zeros"])
def test_rubbish_after_any_line_is_set_aside(folder, kind):
    saved = _walk_of(folder, 3)
    path = own_journal(folder)
    whole = path.read_bytes()
    ends = [0, *(i + 1 for i, byte in enumerate(whole) if byte == 10)]
    noise = random.Random(2)
    for lines, end in enumerate(ends):
        for size in (1, 9, 100, 511, 512, 513, 4096):
            tail = {
                "zeros": bytes(size),
                "ones": b"\xff" * size,
                "noise": noise.randbytes(size),
                "half a line and zeros": whole[end : end + 200][:-100] + bytes(size),
            }[kind]
            path.write_bytes(whole[:end] + tail)
            with open_store(folder, disk=HastyDisk()) as store:
                assert saved[: max(lines - 1, 0)] == list(store.records(WALK))
                assert len(store.notices) == 1
            assert whole[:end] == path.read_bytes()
            assert tail in [kept.read_bytes() for kept in (folder / "aside").iterdir()]


def test_a_store_file_with_a_flipped_bit_never_makes_the_tablet_another_one(folder):
    open_store(folder).close()
    path = folder / "store.json"
    whole = path.read_bytes()
    sound = read_identity(path, HastyDisk())
    outcomes = Counter()

    for bit in range(len(whole) * 8):
        damaged = bytearray(whole)
        damaged[bit // 8] ^= 1 << bit % 8
        path.write_bytes(damaged)
        try:
            found = read_identity(path, HastyDisk())
        except StoreError as error:
            assert "newer version" in str(error)  # only where the format number itself was hit
            outcomes["newer"] += 1
        else:
            assert found in (None, sound)
            outcomes["sound" if found else "damaged"] += 1

    assert outcomes["newer"] <= 3
    assert outcomes["damaged"] > 7 * len(whole)


def test_a_store_file_cut_at_any_byte_is_damaged_or_whole(folder):
    open_store(folder).close()
    path = folder / "store.json"
    whole = path.read_bytes()
    sound = read_identity(path, HastyDisk())

    found = []
    for size in range(len(whole) + 1):
        path.write_bytes(whole[:size])
        found.append(read_identity(path, HastyDisk()))

    assert found == [None] * (len(whole) - 1) + [sound] * 2  # the last line feed is not needed


def test_a_place_with_any_cut_or_flipped_bit_is_empty(folder):
    with open_store(folder) as store:
        store.remember({"by": "QE-AB", "walk": WALK})
        path = folder / "place.json"
        whole = path.read_bytes()

        for size in range(len(whole) - 1):
            path.write_bytes(whole[:size])
            assert store.place() == {}
        for bit in range((len(whole) - 1) * 8):
            damaged = bytearray(whole)
            damaged[bit // 8] ^= 1 << bit % 8
            path.write_bytes(damaged)
            assert store.place() == {}


def test_a_merged_journal_cut_at_any_byte_keeps_every_whole_line_and_is_told_of(folder):
    others = [note(n, device=OTHER_DEVICE, key=5000 + n) for n in (1, 2)]
    with open_store(folder, disk=HastyDisk()) as store:
        store.merge(others, name="b", photos={}, checklists={})
    path = folder / "journals" / "merged" / "b" / f"{WALK}.journal"
    whole = path.read_bytes()
    ends = [i + 1 for i, byte in enumerate(whole) if byte == 10]

    for size in range(1, len(whole)):
        path.write_bytes(whole[:size])
        with open_store(folder, writable=False) as store:
            assert others[: max(sum(end <= size for end in ends) - 1, 0)] == list(store.records(WALK))
            assert bool(store.notices) == (size not in ends)


def test_a_line_of_another_walk_is_damage_and_not_a_record_of_this_one(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)
        store.append(note(4, walk=OTHER_WALK))
    stray = own_journal(folder, OTHER_WALK).read_bytes().splitlines(keepends=True)[1]
    with own_journal(folder).open("ab") as file:
        file.write(stray)

    with open_store(folder) as store:
        assert [record.number for record in store.records(WALK)] == [2, 3]
        assert "line 4 is damaged (it belongs to another walk)" in store.notices[0]
        assert len(all_of(store)) == 4


def test_the_header_of_another_walk_does_not_say_how_much_of_a_journal_counts(folder):
    saved = _walk_of(folder, 2)
    header = decode_line(own_journal(folder).read_bytes().split(b"\n")[0])
    stray = encode_line({**header, "scope": OTHER_WALK, "confirmed_bytes": [300]})
    own_journal(folder, part=2).write_bytes(stray)

    for _ in range(2):
        with open_store(folder) as store:
            assert saved == list(store.records(WALK))
            assert "line 1 is damaged (it is not a header)" in store.notices[0]


def test_a_header_without_a_record_lists_no_walk_and_no_concern(folder):
    with open_store(folder) as store:
        store.append(concern())
    path = own_journal(folder, CONCERN)
    path.write_bytes(path.read_bytes().splitlines(keepends=True)[0])

    with open_store(folder) as store:
        assert store.concerns() == ()
        store.append(concern())
        assert store.concerns() == (CONCERN,)
    with open_store(folder, writable=False) as again:
        assert again.concerns() == (CONCERN,)
        assert again.notices == ()


def test_a_header_without_its_line_feed_fences_nothing_off(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)
    size = own_journal(folder).stat().st_size
    header = decode_line(own_journal(folder).read_bytes().split(b"\n")[0])
    with own_journal(folder).open("ab") as file:
        file.write(encode_line(record_to_plain(note(4))))
    own_journal(folder, part=2).write_bytes(encode_line({**header, "confirmed_bytes": [size]})[:-1])

    for notices in (1, 0):
        with open_store(folder) as store:
            assert [record.number for record in store.records(WALK)] == [2, 3, 4]
            assert len(store.notices) == notices


def test_a_header_alone_that_may_not_be_on_the_medium_is_written_again_before_a_number_is(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)
    size = own_journal(folder).stat().st_size
    header = decode_line(own_journal(folder).read_bytes().split(b"\n")[0])
    with own_journal(folder).open("ab") as file:
        file.write(encode_line(record_to_plain(note(4, "refused"))))
    fence = encode_line({**header, "confirmed_bytes": [size]})
    own_journal(folder, part=2).write_bytes(fence)

    with open_store(folder) as store:
        store.append(note(4, "saved", walk=OTHER_WALK, key=77))

    written = decode_line(own_journal(folder, part=3).read_bytes()[:-1])
    assert written["confirmed_bytes"] == [size, len(fence)]
    with open_store(folder) as again:
        assert [record.words for record in all_of(again) if record.number == 4] == ["saved"]


def _line_at(lines: list[bytes], offset: int) -> int:
    for number, line in enumerate(lines):
        if offset < len(line):
            return number
        offset -= len(line)
    raise AssertionError(offset)


def test_a_damaged_line_in_the_middle_is_named_and_the_file_is_left_alone(folder):
    saved = _walk_of(folder, 4)
    path = own_journal(folder)
    path.write_bytes(path.read_bytes().replace(b'"number":4', b'"number":7'))
    before = path.read_bytes()

    for _ in range(2):
        with open_store(folder) as store:
            assert [r for r in saved if r.number != 4] == list(store.records(WALK))
            (notice,) = store.notices
            assert f"journals/own/{WALK}.journal, line 4 is damaged" in notice
            assert "running number 4 cannot be read" in notice
            assert store.missing_numbers() == {DEVICE: ((4, 4),)}

    assert before == path.read_bytes()
    (kept,) = (folder / "aside").iterdir()
    assert kept.read_bytes() == before.splitlines()[3]


def test_numbers_found_in_other_journals_are_not_called_missing(folder):
    with open_store(folder) as store:
        store.append_all([concern(), walk_start(), note(3), note(4, walk=OTHER_WALK), note(5), note(6)])
    path = own_journal(folder)
    path.write_bytes(path.read_bytes().replace(b'"number":5', b'"number":9'))

    with open_store(folder) as store:
        store.records(WALK)

        assert "running number 5 cannot be read" in store.notices[0]


def test_a_damaged_header_loses_no_record(folder):
    saved = _walk_of(folder, 2)
    path = own_journal(folder)
    path.write_bytes(b"X" + path.read_bytes()[1:])

    with open_store(folder) as store:
        assert saved == list(store.records(WALK))
        assert store.walks(CONCERN) == (WALK,)
        assert "line 1 is damaged" in store.notices[0]
        store.append(note(5))
    with open_store(folder) as again:
        assert len(again.records(WALK)) == 4


def test_a_line_with_a_right_checksum_but_no_valid_record_is_named(folder):
    saved = _walk_of(folder, 1)
    line = encode_line({"kind": "note", "number": 4, "device": DEVICE, "words": "too little"})
    with own_journal(folder).open("ab") as file:
        file.write(line)

    with open_store(folder) as store:
        assert saved == list(store.records(WALK))
        assert "is missing" in store.notices[0]
        store.append(note(5))
    with open_store(folder) as again:
        assert len(again.records(WALK)) == 3
        assert len(again.notices) == 1
    assert line in own_journal(folder).read_bytes()


@pytest.mark.parametrize("file", ["store.json", "journal"])
def test_a_newer_format_is_refused_in_one_sentence(folder, file):
    _walk_of(folder, 1)
    if file == "store.json":
        path = folder / "store.json"
        path.write_text(
            path.read_text(encoding="utf-8").replace(f'"format": {FORMAT}', f'"format": {FORMAT + 1}'),
            encoding="utf-8",
        )
    else:
        path = own_journal(folder)
        first, rest = path.read_bytes().split(b"\n", 1)
        path.write_bytes(encode_line({**decode_line(first), "format": FORMAT + 1}) + rest)
    before = tree(folder)

    for writable in (True, False):
        with pytest.raises(StoreError, match="newer version"):
            open_store(folder, writable=writable)

    assert before == tree(folder)


def test_a_damaged_store_file_makes_a_new_tablet_and_keeps_all_records(folder):
    with open_store(folder) as store:
        saved = begin_walk(store, 1)
    path = folder / "store.json"
    for broken in (b"", b"{}", b"[]", path.read_bytes().replace(b"0384", b"0385")):
        path.write_bytes(broken)
        with open_store(folder, writable=False) as reader:
            assert "damaged" in reader.notices[0]
            assert saved == sorted(all_of(reader), key=lambda r: r.number)

        with open_store(folder, device=OTHER_DEVICE) as store:
            assert store.device == OTHER_DEVICE
            assert "lost" in store.notices[0]
            assert saved == sorted(all_of(store), key=lambda r: r.number)
            assert store.next_number == 1
        assert (folder / "aside" / f"store-{OTHER_DEVICE}.json").read_bytes() == broken


def test_after_a_lost_id_new_records_go_to_a_file_of_the_new_tablet(folder):
    saved = _walk_of(folder, 1)
    (folder / "store.json").unlink()

    with open_store(folder, device=OTHER_DEVICE) as store:
        assert "missing" in store.notices[0]
        added = note(1, device=OTHER_DEVICE, key=7001)
        store.append(added)
        assert {*saved, added} == set(store.records(WALK))

    header = decode_line(own_journal(folder, part=2).read_bytes().split(b"\n")[0])
    assert header["device"] == OTHER_DEVICE
    with open_store(folder) as again:
        assert {*saved, added} == set(again.records(WALK))
        assert again.next_number == 2
        assert again.notices == ()


def test_an_interrupted_merge_leaves_nothing(folder):
    saved = _walk_of(folder, 1)
    half = folder / "journals" / "incoming-b"
    half.mkdir()
    (half / f"{WALK}.journal").write_bytes(own_journal(folder).read_bytes())

    with open_store(folder) as store:
        assert saved == list(store.records(WALK))
    assert not half.exists()


def test_a_file_in_place_of_the_folder_is_named(tmp_path):
    path = tmp_path / "store"
    path.write_text("x", encoding="utf-8")

    with pytest.raises(StoreError, match="is a file, not a folder"):
        open_store(path)


def test_a_folder_with_other_things_is_not_taken(tmp_path):
    (tmp_path / "letter.txt").write_text("x", encoding="utf-8")

    with pytest.raises(StoreError, match=r"letter\.txt"):
        open_store(tmp_path)

    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


@pytest.mark.parametrize(
    ("number", "words"),
    [("EROFS", "can only be read"), ("EACCES", "not allowed"), ("ENOSPC", "delete old bundles")],
)
def test_a_folder_that_cannot_be_written_is_explained(folder, number, words):
    with pytest.raises(StoreError, match=words):
        open_store(folder, disk=FailingDisk(failing_from(1, getattr(errno, number))))


def test_a_full_disk_does_not_keep_a_store_with_a_torn_end_from_opening(folder):
    saved = _walk_of(folder, 2)
    path = own_journal(folder)
    with path.open("ab") as file:
        file.write(b"1234\ntorn")

    with open_store(folder, disk=FailingDisk(failing_from(1, errno.ENOSPC))) as store:
        assert saved == list(store.records(WALK))
        assert "stays where it is" in store.notices[0]
    with open_store(folder, disk=FailingDisk(lambda name, n: errno.ENOSPC if n < 2 else None)) as store:
        store.append(note(store.next_number, "later"))
        number = store.next_number
        assert len(store.records(WALK)) == 4
    with open_store(folder) as again:
        assert len(again.records(WALK)) == 4
        assert number == again.next_number


def test_any_fault_while_opening_leaves_every_record(folder):
    saved = _walk_of(folder, 2)
    with own_journal(folder).open("ab") as file:
        file.write(b"1234\ntorn")
    (folder / "journals" / "incoming-x").mkdir()
    for n in range(1, 40):
        disk = FailingDisk(failing_from(n), halves=True)
        try:
            with open_store(folder, disk=disk) as store:
                assert saved == list(store.records(WALK))
        except StoreError as error:
            assert "nothing saved before is lost" in str(error)
        with open_store(folder, writable=False) as reader:
            assert saved == list(reader.records(WALK))
        if disk.count < n:
            break
    else:
        pytest.fail("opening never got through")
    with open_store(folder) as store:
        assert store.notices == ()


def test_a_journal_that_cannot_be_read_is_named(folder):
    _walk_of(folder, 1)

    class Unreadable(Disk):
        fails = False

        def read(self, path, start=0, size_bytes=-1):
            if self.fails:
                raise OSError(errno.EIO, "unreadable")
            return super().read(path, start, size_bytes)

    disk = Unreadable()
    with open_store(folder, disk=disk) as store:
        disk.fails = True
        with pytest.raises(StoreError, match="could not be read"):
            store.records(WALK)
        with pytest.raises(StoreError, match="could not be read"):
            store.table(WALK).all()
        disk.fails = False
        assert len(store.records(WALK)) == 2

    disk.fails = True
    with pytest.raises(StoreError, match="reports a fault"):
        open_store(folder, disk=disk)
    disk.fails = False
    open_store(folder, disk=disk).close()


def test_damage_in_a_merged_journal_is_named_and_kept_aside(folder):
    others = [note(n, device=OTHER_DEVICE, key=5000 + n) for n in range(1, 6)]
    with open_store(folder) as store:
        store.merge(others, name="b", photos={}, checklists={})
    path = folder / "journals" / "merged" / "b" / f"{WALK}.journal"
    whole = path.read_bytes()
    for damaged, lost, words in (
        (whole.replace(b'"number":3', b'"number":8'), {3}, "running number 3 cannot"),
        (whole[:-20], {5}, "line 6 is damaged"),
        (b"X" + whole[1:], set(), "line 1 is damaged"),
    ):
        path.write_bytes(damaged)
        with open_store(folder) as store:
            assert store.walks(CONCERN) == (WALK,)
            assert [r for r in others if r.number not in lost] == list(store.records(WALK))
            (notice,) = store.notices
            assert f"journals/merged/b/{WALK}.journal" in notice
            assert words in notice
        assert damaged == path.read_bytes()
    assert len(list((folder / "aside").iterdir())) == 3


def test_a_foreign_file_among_the_journals_is_left_alone(folder):
    saved = _walk_of(folder, 1)
    (folder / "journals" / "own" / "copy of a walk.journal").write_bytes(b"x")

    with open_store(folder) as store:
        assert [saved[0].concern] == list(store.concerns())


def test_lines_that_are_no_json_object_are_refused():
    for body in (b"[1]", b"{", b'{"a":NaN}', b"[" * 50_000, b'{"a":"\xff"}', b'{"a":1} {}'):
        with pytest.raises(LineError):
            decode_line(b"%08x " % zlib.crc32(body) + body)
    with pytest.raises(LineError, match="checksum"):
        decode_line(b"")
    capital = encode_line({"a": 10})[:8].upper() + encode_line({"a": 10})[8:-1]
    assert capital != encode_line({"a": 10})[:-1]
    with pytest.raises(LineError, match="checksum"):
        decode_line(capital)


def test_the_checksum_is_the_standard_crc_32():
    # Check value of CRC-32/ISO-HDLC, the CRC of zip and Ethernet, for "123456789" (from memory).
    assert zlib.crc32(b"123456789") == 0xCBF43926
    assert encode_line({"a": "1"}) == b"%08x " % zlib.crc32(b'{"a":"1"}') + b'{"a":"1"}\n'


def test_a_line_holds_any_text_in_ascii():
    words = "ä\n\t\u2028\U0001f6e0 \ud800"

    line = encode_line({"words": words})

    assert line.isascii()
    assert line.count(b"\n") == 1
    assert decode_line(line[:-1]) == {"words": words}


def test_long_last_lines_are_read_too(folder):
    with open_store(folder) as store:
        begin_walk(store, 0)
        store.append(note(3, "ö" * 4000))
        store.append(note(4, "\U0001f6e0" * 4000))

    with open_store(folder) as again:
        assert again.next_number == 5
        assert again.notices == ()
        assert isinstance(again.records(WALK)[-1], Note)


def test_ids_in_names_and_headers_agree(folder):
    _walk_of(folder, 0)

    header = json.loads(own_journal(folder).read_bytes().split(b"\n")[0][9:])

    assert header == {
        "format": FORMAT, "scope": WALK, "concern": CONCERN, "device": DEVICE,
        "created": "2026-03-02T06:10:00+00:00", "app": "0.1.0",
    }  # fmt: skip
