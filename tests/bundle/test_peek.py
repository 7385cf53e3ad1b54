"""A first look at a bundle: what it says of itself, and nothing but refusals when it is not one."""

from __future__ import annotations

import random
import zipfile

import pytest

from tests.builders import DEVICE
from tests.bundle.samples import Forger, write_sample
from walkapp.bundle import open_bundle, peek_bundle
from walkapp.bundle.peek import ENDS_BYTES
from walkapp.errors import BundleError


@pytest.fixture
def good(tmp_path):
    path = tmp_path / "walk.zip"
    write_sample(path)
    return path


def test_the_label_says_size_content_day_and_tablets(good):
    label = peek_bundle(good)

    with open_bundle(good) as bundle:
        assert label.digest == bundle.digest
        assert label.day == max(record.at[:10] for record in bundle.records)
        assert set(label.tablets) <= {record.device for record in bundle.records}
    assert label.size_bytes == good.stat().st_size and label.signed is None
    assert DEVICE in label.tablets


@pytest.mark.parametrize("content", [b"", b"PK", b"no zip at all", b"PK\x05\x06" + bytes(18)])
def test_a_file_that_does_not_look_like_a_bundle_is_none(tmp_path, content):
    path = tmp_path / "other.zip"
    path.write_bytes(content)

    assert peek_bundle(path) is None


def test_another_program_s_zip_is_none_whatever_is_in_it(tmp_path):
    path = tmp_path / "other.zip"
    with zipfile.ZipFile(path, "w") as other:
        other.writestr("../../holiday.txt", "x" * 3 * ENDS_BYTES)
    assert peek_bundle(path) is None


def test_a_file_that_is_not_there_is_said_in_one_sentence(tmp_path):
    with pytest.raises(BundleError, match="is not there"):
        peek_bundle(tmp_path / "gone.zip")


@pytest.mark.parametrize("created", [3, None, [], "yesterday", "2026-3-3", "٢٠٢٦-٠٣-٠٣T", "9" * 5_000, ""])
def test_a_day_that_is_none_is_not_told(good, created):
    forger = Forger.of(good)
    forger.set_descriptor({**forger.descriptor(), "created": created})

    assert peek_bundle(forger.save(good)).day == ""


def test_spoilt_bundles_are_refused_or_looked_at_and_never_anything_else(good):
    data, chance = good.read_bytes(), random.Random(7)
    refused = looked = 0
    for _ in range(300):
        spoilt = bytearray(data)
        for _ in range(chance.choice((1, 1, 5))):
            spoilt[chance.randrange(len(spoilt))] ^= 1 << chance.randrange(8)
        good.write_bytes(spoilt[: chance.choice((len(spoilt), len(spoilt), chance.randrange(len(spoilt))))])
        try:
            looked += peek_bundle(good) is not None
        except BundleError as error:
            assert str(error).startswith("walk.zip")
            refused += 1
    assert refused > 50 and looked > 20
