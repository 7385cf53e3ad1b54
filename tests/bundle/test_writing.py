"""Writing that fails leaves what was there before, and says in a sentence why."""

import errno
import json
import os
import subprocess
import sys
import textwrap
import tracemalloc
import zipfile
from operator import attrgetter
from pathlib import Path

import pytest

from tests.builders import make
from tests.bundle.samples import (
    PICTURE,
    PICTURE_NAME,
    Forger,
    QuickDisk,
    sample_photos,
    sample_records,
    write_sample,
)
from walkapp.bundle import Limits, open_bundle
from walkapp.bundle.columns import TableColumn
from walkapp.bundle.places import Place
from walkapp.bundle.table_writing import Table
from walkapp.errors import BundleError
from walkapp.files import Disk, sha256_of
from walkapp.model.records import CarriedRecord, Note, Photo, kind_of


class FailingDisk(Disk):
    """A disk whose n-th change is refused."""

    def __init__(self, at, number=errno.ENOSPC):
        self.left = at
        self.number = number
        self.failed = ""

    def _count(self, what):
        self.left -= 1
        if self.left == 0:
            self.failed = what
            raise OSError(self.number, os.strerror(self.number))

    def create(self, path):
        self._count("create")
        return super().create(path)

    def write(self, file, data):
        self._count("write")
        return super().write(file, data)

    def sync(self, file):
        self._count("sync")
        super().sync(file)

    def rename(self, source, target):
        self._count("rename")
        super().rename(source, target)

    def sync_folder(self, path):
        self._count("sync_folder")
        super().sync_folder(path)


@pytest.fixture
def out(tmp_path):
    folder = tmp_path / "out"
    folder.mkdir()
    return folder / "walk.zip"


@pytest.fixture
def photos(tmp_path):
    return sample_photos(tmp_path)


def refusal(out, **others):
    with pytest.raises(BundleError) as caught:
        write_sample(out, **others)
    return str(caught.value)


def test_a_file_of_that_name_is_replaced(out, photos):
    out.write_bytes(b"older")

    write_sample(out, photos=photos)

    with open_bundle(out) as bundle:
        assert len(sample_records()) == len(bundle.records)
    assert [out] == list(out.parent.iterdir())


def test_every_change_on_disk_that_fails_leaves_the_old_file_or_the_new_one_whole(out, photos):
    write_sample(out, photos=photos)
    new = out.read_bytes()
    failed = set()

    for at in range(1, 1000):
        out.write_bytes(b"older")
        disk = FailingDisk(at)
        try:
            write_sample(out, photos=photos, disk=disk)
        except BundleError as error:
            assert (
                f"walk.zip: cannot be written in {out.parent}: the disk is full; "
                "free some space and try again." == str(error)
            )
        assert [out] == list(out.parent.iterdir())
        # After the rename the new file is there as a whole, though not surely durable: it was said so.
        assert (new if disk.failed in ("", "sync_folder") else b"older") == out.read_bytes()
        failed.add(disk.failed)
        if not disk.failed:
            break

    assert {"create", "write", "sync", "rename", "sync_folder", ""} == failed


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.EACCES, "writing there is not allowed; choose another folder."),
        (errno.EROFS, "writing there is not allowed; choose another folder."),
        (errno.EDQUOT, "the disk is full; free some space and try again."),
        (errno.EFBIG, "the file is larger than the medium allows; choose another folder."),
        (errno.EIO, f"the system refused ({os.strerror(errno.EIO)}); try again or choose another folder."),
    ],
)
def test_what_the_system_refuses_is_said_in_words(out, photos, number, words):
    found = refusal(out, photos=photos, disk=FailingDisk(5, number))

    assert f"walk.zip: cannot be written in {out.parent}: {words}" == found


def test_a_file_size_limit_of_the_system_is_said_in_words_and_leaves_nothing(tmp_path):
    # A real refusal by the system, in a process of its own since the limit cannot be taken back.
    pytest.importorskip("resource")
    script = """
        import resource, sys
        from pathlib import Path
        from tests.bundle.samples import sample_photos, write_sample
        from walkapp.errors import BundleError
        photos = sample_photos(Path(sys.argv[1]))
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
        try:
            write_sample(Path(sys.argv[1]) / "out" / "walk.zip", photos=photos)
        except BundleError as error:
            print(error)
        """
    (tmp_path / "out").mkdir()

    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", textwrap.dedent(script), str(tmp_path)],
        capture_output=True, text=True, check=True, cwd=Path(__file__).parents[2],
    )  # fmt: skip

    assert "the file is larger than the medium allows; choose another folder." in done.stdout
    assert done.stderr == ""
    assert list((tmp_path / "out").iterdir()) == []


class BitFlippingDisk(Disk):
    """A disk that turns one bit of its n-th write, and says nothing."""

    def __init__(self, at):
        self.left = at

    def write(self, file, data):
        self.left -= 1
        if self.left == 0:
            middle = len(data) // 2
            data = data[:middle] + bytes([data[middle] ^ 1]) + data[middle + 1 :]
        return super().write(file, data)


def test_what_the_disk_changed_is_noticed_before_the_bundle_is_called_written(out, photos):
    write_sample(out, photos=photos)
    good = Forger.of(out).members
    refused, at = 0, 0

    while True:
        at += 1
        out.unlink(missing_ok=True)
        disk = BitFlippingDisk(at)
        try:
            write_sample(out, photos=photos, disk=disk)
        except BundleError as error:
            refused += 1
            assert str(error).startswith("walk.zip: ")
            assert list(out.parent.iterdir()) == []
            continue
        # A date or a version in the zip's own headers says nothing of the content.
        assert good == Forger.of(out).members
        if disk.left > 0:
            break

    assert refused > at // 2


def test_a_picture_that_the_disk_changed_is_not_taken_for_a_damaged_original(out, photos):
    class PictureTurningDisk(Disk):
        def write(self, file, data):
            return super().write(file, data.replace(PICTURE, PICTURE[::-1]))

    found = refusal(out, photos=photos, disk=PictureTurningDisk())

    assert f"walk.zip: photos/{PICTURE_NAME}"[:50] in found
    assert "does not read back as it was written; write it again." in found


def test_a_cell_that_does_not_read_back_as_its_value_is_noticed():
    # The control of all round trips: this writer loses what stands before the comma.
    forgetful = TableColumn(name="words", field={"name": "words"}, write=lambda words: words.split(",")[-1])
    rows = [make(Note, number, station="weld", words=words) for number, words in enumerate("ab", start=1)]
    rows.append(make(Note, 3, station="weld", words="one, two"))
    table = Table(
        name="note", title="", columns=[TableColumn(name="id", field={}), forgetful], rows=rows,
        values_of=attrgetter("id", "words"),
    )  # fmt: skip

    with pytest.raises(BundleError) as caught:
        list(table.pieces(Place(bundle="walk.zip")))

    assert (
        str(caught.value)
        == "walk.zip: note.csv, column words: does not read back as it was written; write it again."
    )


def test_a_carried_field_that_no_reader_takes_is_not_exported(out, photos):
    held = [
        *sample_records(),
        make(CarriedRecord, 40, carried_kind="marking", cells=(("x", "a" * 32_768),)),
    ]

    assert (
        refusal(out, photos=photos, records=held)
        == "walk.zip: marking-2.csv, column x: has 32768 characters, at most 32767 are kept; "
        "they came from a newer version, update walkapp."
    )


def test_pictures_are_not_held_in_memory(out, tmp_path):
    photos, held = {}, []
    for number in range(32):
        data = PICTURE + number.to_bytes(4, "big") + bytes(1_000_000)
        digest = sha256_of(data)
        photos[f"{digest}.jpg"] = tmp_path / digest
        photos[f"{digest}.jpg"].write_bytes(data)
        held.append(
            make(Photo, 100 + number, station="weld", sha256=digest, media="image/jpeg",
                 size_bytes=len(data), width_px=1, height_px=1)
        )  # fmt: skip

    tracemalloc.start()
    try:
        write_sample(out, photos=photos, records=held, disk=QuickDisk())
        peak_bytes = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()

    # A few pieces of 1 MB, whatever the number of cores; the pictures have 32 MB.
    assert peak_bytes < 16_000_000


def test_a_missing_folder_is_said_in_words(tmp_path, photos):
    found = refusal(tmp_path / "gone" / "walk.zip", photos=photos)

    assert (
        f"walk.zip: cannot be written in {tmp_path / 'gone'}: the folder is not there; "
        "make it or choose another." == found
    )


def test_a_folder_in_the_way_is_said_in_words(out, photos):
    out.mkdir()

    assert "a folder of that name is in the way; choose another name." in refusal(out, photos=photos)
    assert [out] == list(out.parent.iterdir())


def test_a_damaged_picture_is_not_exported(out, photos):
    photos[PICTURE_NAME].write_bytes(b"other")

    assert "is not the picture that was taken in; restore that file." in refusal(out, photos=photos)
    assert list(out.parent.iterdir()) == []


def test_a_picture_that_is_gone_is_said_in_words(out, photos):
    photos[PICTURE_NAME].unlink()

    assert "picture-as-taken cannot be read (No such file or directory); restore that file." in refusal(
        out, photos=photos
    )


def test_a_picture_that_no_record_names_is_not_exported(out, photos):
    held = [record for record in sample_records() if kind_of(record) != "photo"]

    assert "is a picture that no record names" in refusal(out, photos=photos, records=held)


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        (Limits(entries=5), "would hold 21 files, at most 5 are allowed"),
        (Limits(table_bytes=500), "answer.csv: would have 502 bytes, at most 500 are allowed"),
        (Limits(photo_bytes=31), "would have 32 bytes, at most 31 are allowed"),
        (Limits(total_bytes=50_000), "would be larger than a bundle may be"),
    ],
)
def test_a_bundle_that_nobody_could_read_is_not_written(out, photos, limits, words):
    assert f"{words}; write it for one concern, or for fewer days." in refusal(
        out, photos=photos, limits=limits
    )
    assert list(out.parent.iterdir()) == []


@pytest.mark.parametrize("name", ["Stream.toml", "../stream.toml", "stream.txt", ".toml"])
def test_a_checklist_file_with_an_unfit_name_is_not_exported(out, photos, name):
    found = refusal(out, photos=photos, checklists={"c" * 64: {name: b""}})

    assert "rename it to small letters, digits and dashes, ending in .toml." in found


@pytest.mark.parametrize("kind", ["Marking", "first_bad_station", "x" * 41, "../up"])
def test_a_carried_kind_that_cannot_name_a_table_is_not_exported(out, photos, kind):
    held = [*sample_records(), make(CarriedRecord, 40, carried_kind=kind, cells=())]

    assert "which cannot name a table" in refusal(out, photos=photos, records=held)


def test_the_descriptor_says_what_a_stranger_needs(out, photos):
    write_sample(out, photos=photos)

    with zipfile.ZipFile(out) as bundle:
        descriptor = json.loads(bundle.read("datapackage.json"))
        listed = {resource["path"] for resource in descriptor["resources"]}
        names = set(bundle.namelist())

    assert descriptor["$schema"] == "https://datapackage.org/profiles/2.0/datapackage.json"
    assert names - {"datapackage.json"} == listed
    assert all(r["hash"].startswith("sha256:") and r["bytes"] >= 0 for r in descriptor["resources"])
    assert "apostrophe" in descriptor["walkapp"]["cells"]
