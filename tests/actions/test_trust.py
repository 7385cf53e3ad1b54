"""Whom a bundle is from: the decision case by case, and what it does to two real stores."""

from __future__ import annotations

import errno
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from tests.builders import record_id
from tests.bundle.samples import Forger
from tests.fakes import Desk, take_signing_library_away
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.keys import (
    keys_to_json,
    make_key,
    own_key,
    own_key_text,
    set_state,
    signer_of,
    written_text,
)
from walkapp.actions.merging import bundle_as_store, merge_bundles
from walkapp.actions.trust import Standing, judge_origins, origin_text, signature_text
from walkapp.bundle import Signed, open_bundle
from walkapp.errors import BundleError, InputError, StoreError
from walkapp.files import Disk, fingerprint_of
from walkapp.store import BLOCKED, TRUSTED, KnownKey, Store, TrustBook

ANN, BEN, HERE = record_id(0xA11), record_id(0xB22), record_id(0xC33)
ONE, TWO, MINE = "01" * 32, "02" * 32, "03" * 32
F1, F2, MY_DIGITS = (fingerprint_of(key) for key in (ONE, TWO, MINE))
AT = "2026-03-03T07:00:00+01:00"
OWN = KnownKey(device=HERE, public_key=MINE, first_seen=AT)


def known(device, key, state=TRUSTED):
    return KnownKey(device=device, public_key=key, first_seen="2026-03-01T07:00:00+01:00", state=state)


def sig(device, key, *, is_checked=True):
    return Signed(device=device, public_key=key, is_checked=is_checked)


def judge(*signatures, book=(), own=OWN, asked=(), asks_always=False):
    bundles = [(Path(f"{n}.zip"), signed) for n, signed in enumerate(signatures, 1)]
    before = TrustBook(keys=tuple(book), asks_always=asks_always)
    return judge_origins(bundles, before, own=own, asked=asked, at=AT)


# The decision


BY_ANN = f"Signed by tablet {ANN[-6:]} with the key {F1}"
BY_BEN = f"Signed by tablet {BEN[-6:]} with the key {F2}"
ANEW = f"Signed by tablet {ANN[-6:]} with the key {F2}, trusted from now on as you said."
BY_ME = f"Signed by this tablet with its key {MY_DIGITS}."
FIRST = (
    ", seen here for the first time and trusted from now on: compare these digits with those on that "
    "tablet's first page."
)
UNCHECKED = (
    ", but the signature was not checked: pip install 'walkapp[sign]' installs the extra that checks it."
)

# What the bundle says, what is known; then what follows, and how many keys are added.
ACCEPTED = {
    "not signed": (None, {}, Standing.UNSIGNED, "Not signed.", 0),
    "the first of a tablet": (sig(ANN, ONE), {}, Standing.FIRST, f"{BY_ANN}{FIRST}", 1),
    "the first of a tablet, its digits given": (
        sig(ANN, ONE), {"asked": [F1]}, Standing.ASKED, f"{BY_ANN}, trusted from now on as you said.", 1,
    ),
    "the same key again": (
        sig(ANN, ONE), {"book": [known(ANN, ONE)]}, Standing.KNOWN, f"{BY_ANN}, as before.", 0,
    ),
    "the same key again, its digits given once more": (
        sig(ANN, ONE), {"book": [known(ANN, ONE)], "asked": [F1]}, Standing.KNOWN,
        f"{BY_ANN}, as before.", 0,
    ),
    "an older key of a tablet that got another": (
        sig(ANN, ONE), {"book": [known(ANN, ONE), known(ANN, TWO)]}, Standing.KNOWN,
        f"{BY_ANN}, as before.", 0,
    ),
    "another key, its digits given": (
        sig(ANN, TWO), {"book": [known(ANN, ONE)], "asked": [F2]}, Standing.ASKED, ANEW, 1,
    ),
    "another key, the old one blocked, its digits given": (
        sig(ANN, TWO), {"book": [known(ANN, ONE, BLOCKED)], "asked": [F2]}, Standing.ASKED, ANEW, 1,
    ),
    "another tablet than the known one": (
        sig(BEN, TWO), {"book": [known(ANN, ONE)]}, Standing.FIRST, f"{BY_BEN}{FIRST}", 1,
    ),
    "this tablet": (sig(HERE, MINE), {}, Standing.OWN, BY_ME, 0),
    "this tablet after a lost book": (sig(HERE, MINE), {"asks_always": True}, Standing.OWN, BY_ME, 0),
    "a known key after a lost book": (
        sig(ANN, ONE), {"book": [known(ANN, ONE)], "asks_always": True}, Standing.KNOWN,
        f"{BY_ANN}, as before.", 0,
    ),
    "a new key after a lost book, its digits given": (
        sig(ANN, ONE), {"asks_always": True, "asked": [F1]}, Standing.ASKED,
        f"{BY_ANN}, trusted from now on as you said.", 1,
    ),
    "not checked": (
        sig(ANN, ONE, is_checked=False), {}, Standing.UNCHECKED, f"{BY_ANN}{UNCHECKED}", 0,
    ),
    "a known key, not checked": (
        sig(ANN, ONE, is_checked=False), {"book": [known(ANN, ONE)]}, Standing.UNCHECKED,
        f"{BY_ANN}{UNCHECKED}", 0,
    ),
    "this tablet, not checked": (
        sig(HERE, MINE, is_checked=False), {}, Standing.UNCHECKED,
        f"Signed by tablet {HERE[-6:]} with the key {MY_DIGITS}{UNCHECKED}", 0,
    ),
}  # fmt: skip


def changed(device, before, now):
    return (
        f"1.zip: tablet {device[-6:]} signed until now with the key {before}, and this bundle is signed "
        f"with another one, {now}: either that tablet was set up anew, or somebody else wrote this bundle; "
        f"compare the digits with the tablet, and only if they are the same merge with '--trust {now}'; "
        "nothing was merged."
    )


def barred(device):
    return (
        f"1.zip: is signed with the key {F1}, which is blocked here; ask who wrote this bundle, and only "
        f"if tablet {device[-6:]} is in the right hands again, trust its key with 'walkapp keys --trust "
        f"{F1}'; nothing was merged."
    )


F4 = fingerprint_of("04" * 32)
LOST_BOOK = (
    f"1.zip: is signed by tablet {ANN[-6:]} with the key {F1}, and no key is trusted unasked since the "
    "list of known keys was damaged; compare the digits with the tablet, and only if they are the same "
    f"merge with '--trust {F1}'; nothing was merged."
)
NO_SUCH_KEY = (
    f"No bundle of this call is signed with the key {F2}: compare the digits once more; nothing was merged."
)
NO_LIBRARY = (
    f"The key {F1} cannot be trusted, since signatures are not checked without the extra for signing: "
    "install it with pip install 'walkapp[sign]'; nothing was merged."
)
REFUSED = {
    "another key": (sig(ANN, TWO), {"book": [known(ANN, ONE)]}, changed(ANN, F1, F2)),
    "another key, not checked": (
        sig(ANN, TWO, is_checked=False), {"book": [known(ANN, ONE)]}, changed(ANN, F1, F2),
    ),
    "another key, the old one blocked": (
        sig(ANN, TWO), {"book": [known(ANN, ONE, BLOCKED)]}, changed(ANN, F1, F2),
    ),
    "another key that is trusted for another tablet": (
        sig(ANN, TWO), {"book": [known(ANN, ONE), known(BEN, TWO)]}, changed(ANN, F1, F2),
    ),
    "another key of a tablet that had two": (
        sig(ANN, "04" * 32), {"book": [known(ANN, ONE), known(ANN, TWO)]},
        changed(ANN, f"{F1} or {F2}", F4),
    ),
    "another key in the name of this tablet": (sig(HERE, TWO), {}, changed(HERE, MY_DIGITS, F2)),
    "a blocked key": (sig(ANN, ONE), {"book": [known(ANN, ONE, BLOCKED)]}, barred(ANN)),
    "a blocked key, its digits given": (
        sig(ANN, ONE), {"book": [known(ANN, ONE, BLOCKED)], "asked": [F1]}, barred(ANN),
    ),
    "a blocked key, not checked": (
        sig(ANN, ONE, is_checked=False), {"book": [known(ANN, ONE, BLOCKED)]}, barred(ANN),
    ),
    "a blocked key in the name of another tablet": (
        sig(BEN, ONE), {"book": [known(ANN, ONE, BLOCKED)]}, barred(BEN),
    ),
    "a new key after a lost book": (sig(ANN, ONE), {"asks_always": True}, LOST_BOOK),
    "digits of no bundle": (sig(ANN, ONE), {"asked": [F2]}, NO_SUCH_KEY),
    "digits for a bundle that is not signed": (None, {"asked": [F2]}, NO_SUCH_KEY),
    "digits for a signature that was not checked": (
        sig(ANN, ONE, is_checked=False), {"asked": [F1]}, NO_LIBRARY,
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", ACCEPTED)
def test_a_bundle_is_accepted_with_a_sentence(case):
    signed, given, standing, words, added = ACCEPTED[case]

    (origin,), after = judge(signed, **given)

    assert (origin.signed, origin.standing) == (signed, standing)
    assert origin_text(origin) == words
    before = tuple(given.get("book", ()))
    assert after.keys[: len(before)] == before
    assert len(after.keys) == len(before) + added
    assert after.asks_always == given.get("asks_always", False)
    if added:
        assert after.keys[-1] == KnownKey(device=signed.device, public_key=signed.public_key, first_seen=AT)


@pytest.mark.parametrize("case", REFUSED)
def test_a_bundle_is_refused_with_a_sentence(case):
    signed, given, words = REFUSED[case]

    with pytest.raises(InputError) as caught:
        judge(signed, **given)

    assert str(caught.value) == words


def test_what_the_first_bundle_makes_known_holds_for_the_next_ones_of_the_same_call():
    origins, after = judge(sig(ANN, ONE), None, sig(ANN, ONE), sig(BEN, TWO))

    assert [origin.standing for origin in origins] == [
        Standing.FIRST, Standing.UNSIGNED, Standing.KNOWN, Standing.FIRST,
    ]  # fmt: skip
    assert [key.device for key in after.keys] == [ANN, BEN]
    with pytest.raises(BundleError, match=r"^2\.zip: tablet .* signed until now with the key "):
        judge(sig(ANN, ONE), sig(ANN, TWO))


def test_a_tablet_without_a_key_of_its_own_learns_the_key_under_its_id_like_any_other():
    (origin,), after = judge(sig(HERE, MINE), own=None)

    assert origin.standing is Standing.FIRST
    assert len(after.keys) == 1


# Two real stores


@pytest.fixture
def tablet(tmp_path):
    made = Desk(tmp_path / "tablet", seed=1)
    with made.store:
        yield made


@pytest.fixture
def desk(tmp_path):
    made = Desk(tmp_path / "desk", seed=2)
    with made.store:
        yield made


def give_key(desk: Desk, letter: bytes = b"k") -> str:
    return fingerprint_of(make_key(desk.place, letter * 32).public_key)


def write(desk: Desk, path: Path, *, concern: str | None = None) -> Path:
    if concern is None and not desk.store.concerns():
        desk.concern()
    return bundle_concerns(desk.place, path, concern=concern).path


def renew_key(desk: Desk, folder: Path) -> str:
    """What setting a tablet up anew does: the same id with another key."""
    (folder / "store" / "key.json").unlink()
    return give_key(desk, b"n")


def test_a_store_with_a_key_signs_every_bundle_and_one_without_writes_the_same_as_ever(tablet, tmp_path):
    plain = write(tablet, tmp_path / "plain.zip")
    give_key(tablet)
    first = write(tablet, tmp_path / "first.zip").read_bytes()
    again = write(tablet, tmp_path / "again.zip").read_bytes()

    assert first == again
    members, unsigned = Forger.of(tmp_path / "first.zip").members, Forger.of(plain).members
    assert set(members) - set(unsigned) == {"signature.json"}
    assert {name: members[name] for name in unsigned} == unsigned
    with open_bundle(tmp_path / "first.zip") as bundle:
        assert bundle.signed.device == tablet.store.device
        assert bundle.signed.fingerprint == fingerprint_of(tablet.store.keys.own().public_key)
        assert bundle.signed.is_checked


def test_making_a_key_twice_keeps_the_first(tablet):
    assert give_key(tablet, b"a") == give_key(tablet, b"b")


def test_the_private_key_never_goes_into_a_bundle(tablet, tmp_path):
    give_key(tablet)
    members = Forger.of(write(tablet, tmp_path / "one.zip")).members

    for data in members.values():
        assert b"k" * 32 not in data
        assert (b"k" * 32).hex().encode() not in data
    assert not any("key" in name or "trust" in name for name in members)


def test_the_first_bundle_makes_a_key_known_and_the_next_is_as_before(tablet, desk, tmp_path):
    digits = give_key(tablet)
    path = write(tablet, tmp_path / "one.zip")

    (first,) = merge_bundles(desk.place, [path])
    (second,) = merge_bundles(desk.place, [path])

    assert (first.origin.standing, second.origin.standing) == (Standing.FIRST, Standing.KNOWN)
    assert digits in origin_text(first.origin)
    (kept,) = desk.store.keys.book().keys
    assert (kept.device, fingerprint_of(kept.public_key), kept.state) == (
        tablet.store.device,
        digits,
        TRUSTED,
    )


def test_another_key_keeps_every_bundle_of_the_call_out_until_it_is_trusted(tablet, desk, tmp_path):
    give_key(tablet)
    merge_bundles(desk.place, [write(tablet, tmp_path / "one.zip")])
    stranger = Desk(tmp_path / "stranger", seed=3)
    with stranger.store:
        give_key(stranger, b"s")
        new = write(stranger, tmp_path / "new.zip")
    digits = renew_key(tablet, tmp_path / "tablet")
    tablet.concern(what="Later")
    changed = write(tablet, tmp_path / "changed.zip")
    before, book = desk.records, desk.store.keys.book()

    with pytest.raises(BundleError, match="signed until now with the key"):
        merge_bundles(desk.place, [new, changed])

    assert desk.records == before
    assert desk.store.keys.book() == book

    one, two = merge_bundles(desk.place, [new, changed], trust=[digits])

    assert (one.origin.standing, two.origin.standing) == (Standing.FIRST, Standing.ASKED)
    assert len(desk.records) == len(before) + one.report.new + two.report.new
    # Bundles of before are still taken: the old key is not blocked.
    (old,) = merge_bundles(desk.place, [tmp_path / "one.zip"])
    assert old.origin.standing is Standing.KNOWN


def test_a_bundle_that_was_changed_is_refused_and_nothing_is_merged(tablet, desk, tmp_path):
    give_key(tablet)
    good = write(tablet, tmp_path / "good.zip")
    forger = Forger.of(good)
    forger.replace("concern.csv", forger.members["concern.csv"].replace(b"Cracked", b"Stained", 1))
    wrong = forger.save(tmp_path / "wrong.zip")

    with pytest.raises(BundleError, match=r"^wrong\.zip: signature\.json: does not fit: "):
        merge_bundles(desk.place, [good, wrong])

    assert desk.records == []
    assert desk.store.keys.book() == TrustBook()
    # The control: without its signature the very same bundle is a good one, only not signed.
    del forger.members["signature.json"]
    (merged,) = merge_bundles(desk.place, [forger.save(tmp_path / "stripped.zip")])
    assert merged.origin.standing is Standing.UNSIGNED


def test_a_bundle_of_a_lost_tablet_is_refused_until_its_key_is_trusted_again(tablet, desk, tmp_path):
    digits = give_key(tablet)
    path = write(tablet, tmp_path / "one.zip")
    merge_bundles(desk.place, [path])

    (blocked,) = set_state(desk.place, digits, BLOCKED)
    assert blocked.state == BLOCKED
    with pytest.raises(BundleError, match="which is blocked here"):
        merge_bundles(desk.place, [path])

    set_state(desk.place, digits, TRUSTED)
    (merged,) = merge_bundles(desk.place, [path])
    assert merged.origin.standing is Standing.KNOWN


def test_a_key_that_nobody_knows_cannot_be_blocked(desk):
    with pytest.raises(InputError) as caught:
        set_state(desk.place, F1, BLOCKED)

    assert str(caught.value) == (
        f"No key of another tablet with the digits {F1} is known here: 'walkapp keys' lists those that are."
    )


def test_a_store_merges_its_own_bundle(tablet, tmp_path):
    give_key(tablet)
    (merged,) = merge_bundles(tablet.place, [write(tablet, tmp_path / "one.zip")])

    assert merged.origin.standing is Standing.OWN
    assert tablet.store.keys.book() == TrustBook()


def test_a_key_is_on_disk_before_the_first_record(tablet, tmp_path):
    # The order seen from outside: a key that cannot be noted keeps records out that could be saved.
    class NoBook(Disk):
        def rename(self, source, target):
            if target.name == "trust.json":
                raise OSError(errno.EIO, "fault")
            super().rename(source, target)

    give_key(tablet)
    path = write(tablet, tmp_path / "one.zip")
    place = tablet.place
    with Store(tmp_path / "s", now=place.now, new_id=lambda: HERE, app="test", disk=NoBook()) as store:
        with pytest.raises(StoreError) as caught:
            merge_bundles(replace(place, store=store), [path])
        assert store.concerns() == ()
        # The control: an unsigned bundle is merged on the same disk.
        merge_bundles(replace(place, store=store), [unsigned_copy(path)])
        assert len(store.concerns()) == 1

    assert str(caught.value) == (
        f"What is known of other tablets' keys was not saved: the storage that holds {tmp_path / 's'} "
        "reports a fault; try again, then write a bundle to another medium soon; nothing saved before is "
        "lost."
    )


def test_a_signature_changes_nothing_in_what_is_merged(tablet, desk, tmp_path):
    plain = write(tablet, tmp_path / "plain.zip")
    give_key(tablet)
    signed = write(tablet, tmp_path / "signed.zip")
    other = Desk(tmp_path / "other", seed=4)

    with other.store:
        merge_bundles(desk.place, [plain, signed, plain])
        merge_bundles(other.place, [signed])
        assert desk.records == other.records == tablet.records


# Unsigned bundles


def unsigned_copy(path: Path) -> Path:
    forger = Forger.of(path)
    del forger.members["signature.json"]
    return forger.save(path.with_name(f"plain-{path.name}"))


def test_new_records_of_a_tablet_that_signs_are_warned_of_in_an_unsigned_bundle(tablet, desk, tmp_path):
    give_key(tablet)
    merge_bundles(desk.place, [write(tablet, tmp_path / "one.zip")])
    tablet.concern(what="Later")
    tablet.concern(what="Latest")
    plain = unsigned_copy(write(tablet, tmp_path / "two.zip"))

    (merged,) = merge_bundles(desk.place, [plain])

    assert merged.report.new == 2
    assert merged.unsigned_claims == (
        "2 new records say that they are from a tablet that signs its bundles "
        f"({tablet.store.device[-6:]}), and this bundle is not signed: somebody without a key passed them "
        "on, or wrote them; merge that tablet's own bundle to be sure."
    )
    # A second time they are no news.
    (again,) = merge_bundles(desk.place, [plain])
    assert again.unsigned_claims == ""


def test_one_record_of_a_stranger_does_not_quieten_the_warning(tablet, desk, tmp_path):
    give_key(tablet)
    merge_bundles(desk.place, [write(tablet, tmp_path / "one.zip")])
    tablet.concern(what="Later")
    stranger = Desk(tmp_path / "stranger", seed=3)
    with stranger.store:
        stranger.concern(what="Something else")
        merge_bundles(stranger.place, [write(tablet, tmp_path / "two.zip")])
        mixed = write(stranger, tmp_path / "mixed.zip")

    (merged,) = merge_bundles(desk.place, [mixed])

    assert merged.report.new == 2
    assert merged.unsigned_claims.startswith("1 new record says that it is from a tablet that signs its ")


def test_no_warning_where_nobody_signs_or_the_bundle_is_signed_or_the_key_is_blocked(
    tablet, desk, tmp_path
):
    (quiet,) = merge_bundles(desk.place, [write(tablet, tmp_path / "plain.zip")])
    assert quiet.unsigned_claims == ""
    digits = give_key(tablet)
    tablet.concern(what="Later")
    (signed,) = merge_bundles(desk.place, [write(tablet, tmp_path / "signed.zip")])
    assert (signed.report.new, signed.unsigned_claims) == (1, "")
    set_state(desk.place, digits, BLOCKED)
    tablet.concern(what="Latest")
    (blocked,) = merge_bundles(desk.place, [unsigned_copy(write(tablet, tmp_path / "late.zip"))])
    assert (blocked.report.new, blocked.unsigned_claims) == (1, "")


# Without a usable key or the library


def test_a_damaged_key_does_not_keep_records_in_the_tablet_and_is_told(tablet, tmp_path):
    give_key(tablet)
    (tmp_path / "tablet" / "store" / "key.json").write_bytes(b"")
    tablet.concern()

    facts = bundle_concerns(tablet.place, tmp_path / "one.zip")

    assert facts.signed is None
    words = f"{tmp_path / 'tablet' / 'store' / 'key.json'} is damaged, so bundles are not signed: "
    assert written_text(tablet.store, facts).startswith(words)
    assert own_key_text(own_key(tablet.store)[0]) == ""
    with pytest.raises(StoreError, match="is damaged"):
        give_key(tablet)
    # And it keeps nobody from merging.
    (merged,) = merge_bundles(tablet.place, [tmp_path / "one.zip"])
    assert merged.report.known == 1


def test_a_store_whose_id_is_lost_signs_nothing(tablet, tmp_path):
    give_key(tablet)
    tablet.concern()
    folder = tmp_path / "copy"
    shutil.copytree(tmp_path / "tablet" / "store", folder)
    (folder / "store.json").write_bytes(b"")

    with Store(
        folder, now=tablet.place.now, new_id=tablet.place.new_id, app="test", writable=False
    ) as store:
        assert signer_of(store) == (
            None,
            "Not signed, since store.json is damaged and the id of this tablet is not known.",
        )


def test_without_the_library_a_bundle_is_written_unsigned_and_told(tablet, tmp_path, monkeypatch):
    digits = give_key(tablet)
    tablet.concern()
    take_signing_library_away(monkeypatch)

    facts = bundle_concerns(tablet.place, tmp_path / "one.zip")

    assert facts.signed is None
    assert written_text(tablet.store, facts) == (
        "Not signed, since the extra for signing is not installed: pip install 'walkapp[sign]' installs it."
    )
    assert own_key_text(own_key(tablet.store)[0]) == f"Key of this tablet: {digits}"


def test_without_the_library_no_key_is_made(tablet, tmp_path, monkeypatch):
    take_signing_library_away(monkeypatch)

    with pytest.raises(InputError) as caught:
        give_key(tablet)

    assert str(caught.value) == (
        "No key can be made without the extra for signing: install it with pip install 'walkapp[sign]'."
    )
    assert not (tmp_path / "tablet" / "store" / "key.json").exists()


def test_without_the_library_a_signed_bundle_is_merged_and_its_key_is_not_trusted(
    tablet, desk, tmp_path, monkeypatch
):
    give_key(tablet)
    path = write(tablet, tmp_path / "one.zip")
    take_signing_library_away(monkeypatch)

    (merged,) = merge_bundles(desk.place, [path])

    assert (merged.report.new, merged.origin.standing) == (1, Standing.UNCHECKED)
    assert desk.store.keys.book() == TrustBook()


# What is told


def test_a_tablet_without_a_key_has_nothing_to_tell(tablet, tmp_path):
    tablet.concern()
    facts = bundle_concerns(tablet.place, tmp_path / "one.zip")

    assert written_text(tablet.store, facts) == own_key_text(own_key(tablet.store)[0]) == ""


def test_a_bundle_that_is_looked_at_says_with_which_key_it_is_signed(tablet, tmp_path):
    digits = give_key(tablet)
    path = write(tablet, tmp_path / "one.zip")

    with bundle_as_store(path, now=tablet.place.now, new_id=tablet.place.new_id, app="test") as seen:
        words = signature_text(seen.signed)

    assert words == (
        f"Signed by tablet {tablet.store.device[-6:]} with the key {digits}; whether that key is known is "
        "looked up where the bundle is merged."
    )


def test_the_listing_holds_no_secret(tablet, desk, tmp_path):
    give_key(tablet)
    merge_bundles(desk.place, [write(tablet, tmp_path / "one.zip")])

    said = keys_to_json(tablet.store), keys_to_json(desk.store)

    assert (b"k" * 32).hex() not in str(said)
    assert said[0]["own_key"]["fingerprint"] == said[1]["known_keys"][0]["fingerprint"]
    assert said[1]["own_key"] is None
