"""Signed bundles: what fits, what is refused, and what is said without the library."""

import hashlib
import json
import random
import sys
import zipfile

import pytest
from frictionless import Package

from tests.builders import DEVICE, record_id
from tests.bundle.samples import Forger, sample_photos, sample_records, write_sample
from tests.fakes import take_signing_library_away
from walkapp.bundle import Signed, Signer, open_bundle
from walkapp.bundle.layout import LIMITS
from walkapp.bundle.places import Place
from walkapp.bundle.signature import fits, is_odd_key, public_key_of, read_signature, sign, write_signature
from walkapp.errors import BundleError

PLACE = Place(bundle="walk.zip", member="signature.json")
SECRET = bytes(range(32))
SIGNER = Signer(device=DEVICE, secret=SECRET)
OTHER = Signer(device=record_id(77), secret=bytes(32))
DESCRIPTOR = b'{"resources": [{"path": "note.csv", "bytes": 3, "hash": "sha256:..."}]}\n'
MISFIT = (
    "walk.zip: signature.json: does not fit: the bundle was changed after it was signed, or the signature "
    "is of another one; ask for the bundle again."
)
MISSPELT = "walk.zip: signature.json: is not a signature as bundles hold it; ask for the bundle again."
ODD = (
    "walk.zip: signature.json: names a key that nobody can own, so that anybody could have signed; ask for "
    "the bundle again."
)

# RFC 8032, section 7.1, TEST 1 to 3: secret key, public key, message, signature. From memory (the
# library ships no vectors); nothing in Ed25519 is left to chance, so the library shows a wrong digit.
RFC_8032 = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        (
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46b"
            "d25bf5f0595bbe24655141438e7a100b"
        ),
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        (
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c"
            "387b2eaeb4302aeeb00d291612bb0c00"
        ),
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        (
            "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc659"
            "4a7c15e9716ed28dc027beceea1ec40a"
        ),
    ),
]

# The y of the points of small order; a test below works out that they are.
PRIME = 2**255 - 19
ORDER_8 = "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05"
Y_OF_ORDER = {
    1: [1],
    2: [PRIME - 1],
    4: [0],
    8: [number := int.from_bytes(bytes.fromhex(ORDER_8), "little"), PRIME - number],
}


def key_of(y, *, negative_x=False):
    return (y | negative_x << 255).to_bytes(32, "little").hex()


def refusal(data, descriptor=DESCRIPTOR):
    with pytest.raises(BundleError) as caught:
        read_signature(data, descriptor, PLACE)
    return str(caught.value)


def refusal_of_bundle(path):
    with pytest.raises(BundleError) as caught:
        open_bundle(path)
    return str(caught.value)


def flips(data):
    for place in range(len(data) * 8):
        changed = bytearray(data)
        changed[place // 8] ^= 1 << place % 8
        yield bytes(changed)


def unnoticed(read, changed):
    """Count the changes that a reader takes for good."""
    count = 0
    for arguments in changed:
        try:
            read(*arguments)
        except BundleError:
            continue
        count += 1
    return count


@pytest.fixture
def signed(tmp_path):
    write_sample(tmp_path / "walk.zip", signer=SIGNER)
    return tmp_path / "walk.zip"


# The method


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_keys_and_signatures_are_those_of_the_standard(secret, public, message, signature):
    words = bytes.fromhex(message)

    assert public_key_of(bytes.fromhex(secret)) == public
    assert sign(bytes.fromhex(secret), words).hex() == signature
    assert fits(public, bytes.fromhex(signature), words)
    assert not is_odd_key(public)


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_a_signature_of_the_standard_fits_no_other_text_and_no_other_key(
    secret, public, message, signature
):
    words, seal = bytes.fromhex(message), bytes.fromhex(signature)

    assert not fits(public, seal, words + b"\0")
    assert not fits(public_key_of(SECRET), seal, words)
    assert not any(fits(public, changed, words) for changed in flips(seal))


def test_a_second_spelling_of_a_signature_does_not_fit():
    # RFC 8032, 5.1.7: the second half is a number below the order of the group; S + L is the same point.
    order = 2**252 + 27742317777372353535851937790883648493
    _, public, message, signature = RFC_8032[1]
    half = int.from_bytes(bytes.fromhex(signature)[32:], "little")
    again = bytes.fromhex(signature)[:32] + (half + order).to_bytes(32, "little")

    assert half < order
    assert not fits(public, again, bytes.fromhex(message))


# A signed bundle


def test_a_signed_bundle_says_with_which_key(signed):
    with open_bundle(signed) as bundle:
        assert bundle.signed == Signed(device=DEVICE, public_key=public_key_of(SECRET), is_checked=True)
        digits = hashlib.sha256(bytes.fromhex(public_key_of(SECRET))).hexdigest()
        assert bundle.signed.fingerprint == f"{digits[:4]}-{digits[4:8]}-{digits[8:12]}-{digits[12:16]}"
        assert set(bundle.records) == set(sample_records())


def test_what_was_written_is_told_with_its_key(tmp_path):
    facts = write_sample(tmp_path / "walk.zip", signer=SIGNER)

    assert facts.signed == Signed(device=DEVICE, public_key=public_key_of(SECRET), is_checked=True)
    assert write_sample(tmp_path / "walk.zip").signed is None


def test_a_signature_changes_nothing_else_in_a_bundle(signed, tmp_path):
    write_sample(tmp_path / "plain.zip")
    plain, with_key = Forger.of(tmp_path / "plain.zip").members, Forger.of(signed).members

    assert set(with_key) - set(plain) == {"signature.json"}
    assert {name: with_key[name] for name in plain} == plain
    with open_bundle(tmp_path / "plain.zip") as bundle:
        assert bundle.signed is None


def test_the_same_records_and_key_give_the_same_bytes(tmp_path):
    photos = sample_photos(tmp_path)
    for name, signer, held in (
        ("one", SIGNER, sample_records()),
        ("two", SIGNER, sample_records()[::-1]),
        ("other", OTHER, sample_records()),
    ):
        write_sample(tmp_path / f"{name}.zip", signer=signer, records=held, photos=photos)

    one, two, other = ((tmp_path / f"{name}.zip").read_bytes() for name in ("one", "two", "other"))
    assert one == two != other


def test_the_private_key_is_not_in_the_bundle(signed):
    for data in (signed.read_bytes(), *Forger.of(signed).members.values()):
        assert SECRET not in data
        assert SECRET.hex().encode() not in data
        # The control: what is there is found this way.
    assert any(public_key_of(SECRET).encode() in data for data in Forger.of(signed).members.values())
    assert "secret" not in repr(SIGNER)


def test_frictionless_finds_nothing_wrong_with_a_signed_bundle(signed):
    assert Package(str(signed)).validate().flatten(["name", "type", "note"]) == []


# What is refused


def test_every_flipped_bit_of_a_signature_or_a_descriptor_is_refused():
    data = write_signature(DESCRIPTOR, SIGNER)

    def read(signature, descriptor):
        read_signature(signature, descriptor, PLACE)

    assert read_signature(data, DESCRIPTOR, PLACE).is_checked
    assert unnoticed(read, ((changed, DESCRIPTOR) for changed in flips(data))) == 0
    assert unnoticed(read, ((data, changed) for changed in flips(DESCRIPTOR))) == 0


def test_the_search_for_flipped_bits_finds_a_reader_that_is_too_kind():
    data = write_signature(DESCRIPTOR, SIGNER)

    def any_json(signature, descriptor):
        # Takes any spelling of the values, as a plain reader of JSON would.
        try:
            values = json.loads(signature)
            respelt = json.dumps(values, indent=1, sort_keys=True).lower().replace("ed2", "Ed2") + "\n"
        except ValueError as error:
            raise BundleError("not JSON") from error
        read_signature(respelt.encode(), descriptor, PLACE)

    def not_all(signature, descriptor):
        # Signs the beginning of the descriptor only.
        read_signature(signature, descriptor[:20] + DESCRIPTOR[20:], PLACE)

    assert unnoticed(any_json, ((changed, DESCRIPTOR) for changed in flips(data))) > 0
    assert unnoticed(not_all, ((data, changed) for changed in flips(DESCRIPTOR))) > 0


def test_flipped_bits_in_a_whole_bundle_are_refused(signed, tmp_path):
    forger, chance = Forger.of(signed), random.Random(20260303)
    for name in ("signature.json", "datapackage.json"):
        good = forger.members[name]
        for place in chance.sample(range(len(good) * 8), 100):
            changed = bytearray(good)
            changed[place // 8] ^= 1 << place % 8
            forger.members[name] = bytes(changed)
            refusal_of_bundle(forger.save(tmp_path / "changed.zip"))
        forger.members[name] = good
    with open_bundle(forger.save(tmp_path / "walk.zip")) as bundle:
        assert bundle.signed is not None


def test_flipped_bits_of_the_zip_are_refused_or_leave_the_signature_as_it_was(signed):
    good, chance = signed.read_bytes(), random.Random(20260303)
    with open_bundle(signed) as bundle:
        said = bundle.signed, bundle.digest
    refused = 0

    for place in chance.sample(range(len(good) * 8), 500):
        changed = bytearray(good)
        changed[place // 8] ^= 1 << place % 8
        signed.write_bytes(changed)
        try:
            with open_bundle(signed) as bundle:
                assert (bundle.signed, bundle.digest) == said, f"bit {place}"
        except BundleError:
            refused += 1

    assert refused > 300


def test_a_signature_of_another_bundle_is_refused(signed, tmp_path):
    write_sample(tmp_path / "other.zip", records=sample_records()[:5], photos={}, signer=SIGNER)
    forger = Forger.of(signed)
    forger.members["signature.json"] = Forger.of(tmp_path / "other.zip").members["signature.json"]

    assert refusal_of_bundle(forger.save(tmp_path / "walk.zip")) == MISFIT


def test_a_changed_table_with_a_fitting_descriptor_is_refused(signed, tmp_path):
    # What hashes alone do not catch: somebody changes a record and packs the bundle anew.
    forger = Forger.of(signed)
    forger.replace("answer.csv", forger.members["answer.csv"].replace(b"not_ok", b"ok", 1))
    descriptor = forger.members["datapackage.json"]
    seal = forger.members.pop("signature.json")
    with open_bundle(forger.save(tmp_path / "walk.zip")) as bundle:
        assert bundle.signed is None

    forger.members["signature.json"] = seal

    assert refusal_of_bundle(forger.save(tmp_path / "walk.zip")) == MISFIT
    assert forger.members["datapackage.json"] == descriptor


def test_a_signature_in_the_name_of_another_tablet_is_refused():
    data = write_signature(DESCRIPTOR, SIGNER)

    assert refusal(data.replace(DEVICE.encode(), OTHER.device.encode())) == MISFIT


def test_a_signature_under_another_key_is_refused():
    data = write_signature(DESCRIPTOR, SIGNER)
    other = public_key_of(OTHER.secret).encode()

    assert refusal(data.replace(public_key_of(SECRET).encode(), other)) == MISFIT


def test_a_signature_of_the_descriptor_alone_is_refused():
    # Without the text in front, something signed for another purpose could be passed off as a bundle's.
    data = write_signature(DESCRIPTOR, SIGNER)
    values = json.loads(data)

    assert (
        refusal(data.replace(values["signature"].encode(), sign(SECRET, DESCRIPTOR).hex().encode()))
        == MISFIT
    )


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"Ed25519", b"ed25519"),
        (b"Ed25519", b"none"),
        (b'"device"', b'"tablet"'),
        (b'"format": 1', b'"format": 0'),
        (b'"format": 1', b'"format": 01'),
        (b'"format": 1', b'"format": 1.0'),
        (b'"format": 1', b'"format": 1e999'),
        (b'"format": 1', b'"format": true'),
        (b'"format": 1,', b'"format": 1,\n "format": 1,'),
        (b'"format": 1,', b'"format": 1,\n "more": {},'),
        (b'"format": 1,\n', b""),
        (b'"format": 1,', b'"format": 1,\r'),
        (b"{", b" {"),
        (b"{", b"\xef\xbb\xbf{"),
        (b"}\n", b"}"),
        (b"}\n", b"}\n\n"),
        (b"}\n", b"}\n{}"),
        (b'"public_key": "', b'"public_key": "00'),
        (b'"signature": "', b'"signature": "0'),
        (b'"signature": "', b'"signature": "\\u0030'),
        (b'"\n}', b'0"\n}'),
        (DEVICE.encode(), DEVICE.upper().encode() + b" "),
        (DEVICE.encode(), b"../../etc"),
        (DEVICE.encode(), b""),
        (DEVICE.encode(), "\u0660".encode() * 36),
    ],
)
def test_a_signature_in_another_spelling_is_refused(old, new):
    data = write_signature(DESCRIPTOR, SIGNER)
    assert old in data

    assert refusal(data.replace(old, new, 1)) == MISSPELT


@pytest.mark.parametrize(
    "data", [b"", b"{}", b"[" * 900, b"\0" * 64, b"\xff" * 64, bytes(64), b"9" * 999, b'{"format": 1}']
)
def test_a_file_that_is_no_signature_is_refused(data):
    assert refusal(data) == MISSPELT


def test_a_signature_of_a_newer_version_asks_for_an_update():
    data = write_signature(DESCRIPTOR, SIGNER).replace(b'"format": 1', b'"format": 2')

    assert refusal(data) == (
        "walk.zip: signature.json: has the format 2, this version reads 1; the bundle was made by a newer "
        "version, update walkapp."
    )


def test_a_signature_that_is_too_large_is_not_read(signed, tmp_path):
    forger = Forger.of(signed)
    forger.members["signature.json"] += b" " * LIMITS.signature_bytes
    size_bytes = len(forger.members["signature.json"])

    assert refusal_of_bundle(forger.save(tmp_path / "walk.zip")) == (
        f"walk.zip: signature.json: has {size_bytes} bytes, at most 1000 are read; "
        "ask for the bundle again."
    )


def test_a_descriptor_that_lists_the_signature_is_refused(signed, tmp_path):
    forger = Forger.of(signed)
    forger.replace("signature.json", forger.members["signature.json"])

    assert refusal_of_bundle(forger.save(tmp_path / "walk.zip")).endswith(
        "].path lists the signature, which is made of this file; ask for the bundle again."
    )


@pytest.mark.parametrize(
    "name", ["Signature.json", "signature.JSON", "signature.json ", "sub/signature.json"]
)
def test_a_signature_by_another_name_does_not_belong_in_a_bundle(signed, tmp_path, name):
    forger = Forger.of(signed)
    forger.members[name] = forger.members.pop("signature.json")

    assert "is not a file that belongs in a bundle" in refusal_of_bundle(forger.save(tmp_path / "walk.zip"))


def test_a_second_signature_is_refused(signed, tmp_path):
    forger = Forger.of(signed)
    again = zipfile.ZipInfo("signature.json"), forger.members["signature.json"]

    with pytest.warns(UserWarning, match="Duplicate name"):
        path = forger.save(tmp_path / "walk.zip", again)

    assert "signature.json: is there twice" in refusal_of_bundle(path)


# Keys that nobody can own


def test_the_keys_of_small_order_are_of_small_order():
    # The curve of RFC 8032, section 5.1: -x^2 + y^2 = 1 + d x^2 y^2; added up until the neutral point.
    d = -121665 * pow(121666, -1, PRIME) % PRIME
    for order, ys in Y_OF_ORDER.items():
        for y in ys:
            squared = (y * y - 1) * pow(d * y * y + 1, -1, PRIME) % PRIME
            x = pow(squared, (PRIME + 3) // 8, PRIME)
            x = x if x * x % PRIME == squared else x * pow(2, (PRIME - 1) // 4, PRIME) % PRIME
            assert x * x % PRIME == squared
            at, steps = (x, y), 1
            while at != (0, 1):
                both = d * at[0] * x * at[1] * y
                at = (
                    (at[0] * y + at[1] * x) * pow(1 + both, -1, PRIME) % PRIME,
                    (at[1] * y + at[0] * x) * pow(1 - both, -1, PRIME) % PRIME,
                )
                steps += 1
            assert steps == order


def test_the_library_alone_would_take_a_signature_that_fits_any_text():
    # Why keys are looked at before: this key belongs to nobody, and the signature to every text.
    everything = bytes.fromhex(key_of(1)) + bytes(32)

    assert all(fits(key_of(1), everything, b"%d" % n) for n in range(20))


@pytest.mark.parametrize(
    "key",
    [
        *(key_of(y, negative_x=sign) for ys in Y_OF_ORDER.values() for y in ys for sign in (False, True)),
        # 19 numbers have a second spelling, above the prime.
        *(key_of(y, negative_x=sign) for y in range(PRIME, 2**255) for sign in (False, True)),
    ],
)
def test_a_key_that_nobody_can_own_is_refused(key):
    data = write_signature(DESCRIPTOR, SIGNER).replace(public_key_of(SECRET).encode(), key.encode())

    assert refusal(data) == ODD


def test_a_bundle_signed_by_nobody_is_refused(signed, tmp_path):
    forger = Forger.of(signed)
    values = json.loads(forger.members["signature.json"])
    values |= {"public_key": key_of(1), "signature": key_of(1) + "00" * 32}
    text = json.dumps(values, indent=1, sort_keys=True) + "\n"
    forger.members["signature.json"] = text.encode()

    assert refusal_of_bundle(forger.save(tmp_path / "walk.zip")) == ODD


def test_a_key_that_is_no_point_of_the_curve_fits_nothing():
    # y = 2: no x belongs to it. Refused by the check itself, with the library's own word.
    data = write_signature(DESCRIPTOR, SIGNER).replace(public_key_of(SECRET).encode(), key_of(2).encode())

    assert refusal(data) == MISFIT


def test_keys_that_are_made_are_never_odd():
    chance = random.Random(20260303)

    assert not any(is_odd_key(public_key_of(chance.randbytes(32))) for _ in range(500))
    assert not is_odd_key(public_key_of(bytes(32)))


# Without the library


def test_without_the_library_a_signed_bundle_is_read_and_called_unchecked(signed, monkeypatch):
    take_signing_library_away(monkeypatch)

    with open_bundle(signed) as bundle:
        assert bundle.signed == Signed(device=DEVICE, public_key=bundle.signed.public_key, is_checked=False)
        assert set(bundle.records) == set(sample_records())
    assert sys.modules["cryptography"] is None


def test_without_the_library_a_misspelt_signature_and_an_odd_key_are_still_refused(monkeypatch):
    data = write_signature(DESCRIPTOR, SIGNER)
    odd = data.replace(public_key_of(SECRET).encode(), key_of(1).encode())
    take_signing_library_away(monkeypatch)

    assert refusal(data + b" ") == MISSPELT
    assert refusal(odd) == ODD
    # What a changed descriptor would be caught by is missing, and that is said: it is not checked.
    assert not read_signature(data, DESCRIPTOR + b" ", PLACE).is_checked


def test_without_the_library_signing_is_a_mistake_of_the_caller(monkeypatch):
    take_signing_library_away(monkeypatch)

    with pytest.raises(ValueError, match="needs the library"):
        write_signature(DESCRIPTOR, SIGNER)
