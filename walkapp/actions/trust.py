"""Whether a bundle comes from whom it says: keys are trusted at their first merge, and then known.

Nobody hands out certificates on a factory floor. The first signed bundle of a tablet makes its key
known, and the person is told digits to compare with the tablet. From then on another key for the same
tablet is a question to the person, and never merged unasked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from pathlib import Path

from walkapp.actions.keys import is_blocked, own_key
from walkapp.actions.workplace import Workplace
from walkapp.analysis.wording import either
from walkapp.bundle import Signed
from walkapp.bundle.signature import INSTALL
from walkapp.errors import BundleError, InputError
from walkapp.files import fingerprint_of
from walkapp.language import tr
from walkapp.store import KnownKey, MergeReport, TrustBook


class OtherKeyError(BundleError):
    """A bundle is signed with a key that nobody here knows for its tablet: a person has to compare it.

    Parameters
    ----------
    words
        The sentence.
    fingerprint
        Digits of that key.
    """

    def __init__(self, words: str, fingerprint: str) -> None:
        super().__init__(words)
        self.fingerprint = fingerprint


class Standing(Enum):
    """What is known of the key of a bundle."""

    UNSIGNED = "unsigned"
    UNCHECKED = "unchecked"
    OWN = "own"
    FIRST = "first"
    ASKED = "asked"
    KNOWN = "known"


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """From whom a bundle is, as far as that is known.

    Parameters
    ----------
    signed
        With which key it is signed; ``None`` when it is not.
    standing
        What is known of that key: ``UNSIGNED`` without one, ``UNCHECKED`` where the signature was
        not checked, ``OWN`` for this tablet's, ``FIRST`` for one that was never seen, ``ASKED`` for
        one that is trusted since the person gave its digits, ``KNOWN`` for one trusted before.
    """

    signed: Signed | None
    standing: Standing


def settle_origins(
    place: Workplace, bundles: Sequence[tuple[Path, Signed | None]], asked: Sequence[str]
) -> tuple[Origin, ...]:
    """Say from whom some bundles are, and remember the keys that are new.

    The keys are on disk before the first record is merged: a power cut in between must not let
    another key be the first one.

    Parameters
    ----------
    place
        The store that they shall be merged into.
    bundles
        Each with its signature, in the order in which they are merged.
    asked
        Digits of keys that the person compared and wants to trust, in groups.

    Raises
    ------
    BundleError
        If one is signed with a key that is blocked, or is another than the known one of its tablet;
        nothing is remembered then.
    InputError
        If `asked` names a key with which none of them is signed, or cannot be checked.
    StoreError
        If what is known of keys cannot be read or written.
    """
    keys = place.store.keys
    book = keys.book()
    at = place.now().isoformat(timespec="seconds")
    origins, settled = judge_origins(bundles, book, own=_own(place), asked=asked, at=at)
    if settled != book:
        keys.keep(settled)
    return origins


def _own(place: Workplace) -> KnownKey | None:
    own, _ = own_key(place.store)  # A damaged one is told where it is used; it keeps nobody from merging.
    if own is None:
        return None
    return KnownKey(device=place.store.device, public_key=own.public_key, first_seen=own.created)


def judge_origins(
    bundles: Sequence[tuple[Path, Signed | None]],
    book: TrustBook,
    *,
    own: KnownKey | None,
    asked: Sequence[str],
    at: str,
) -> tuple[tuple[Origin, ...], TrustBook]:
    """Decide about some bundles; nothing is read or written.

    Parameters
    ----------
    bundles, asked
        As for :func:`settle_origins`.
    book
        The known keys of other tablets.
    own
        The key of this tablet, if it has one.
    at
        Time to note as the first one of a new key.

    Returns
    -------
    tuple
        The origins in the order of the bundles, and the keys known after.

    Raises
    ------
    BundleError, InputError
        As for :func:`settle_origins`.
    """
    signatures = [signed for _, signed in bundles if signed is not None]
    for fingerprint in asked:
        _check_asked(fingerprint, signatures)
    origins = []
    for path, signed in bundles:
        standing = _standing(path, signed, book, own, asked) if signed else Standing.UNSIGNED
        origins.append(Origin(signed=signed, standing=standing))
        if signed and standing in (Standing.FIRST, Standing.ASKED):
            fresh = KnownKey(device=signed.device, public_key=signed.public_key, first_seen=at)
            book = replace(book, keys=(*book.keys, fresh))
    return tuple(origins), book


def _check_asked(fingerprint: str, signatures: Sequence[Signed]) -> None:
    meant = [signed for signed in signatures if signed.fingerprint == fingerprint]
    if not meant:
        raise InputError(
            tr(
                "No bundle of this call is signed with the key {fingerprint}: compare the digits "
                "once more; nothing was merged.",
                fingerprint=fingerprint,
            )
        )
    if not all(signed.is_checked for signed in meant):
        raise InputError(
            tr(
                "The key {fingerprint} cannot be trusted, since signatures are not checked "
                "without the extra for signing: install it with {install}; nothing was merged.",
                fingerprint=fingerprint,
                install=INSTALL,
            )
        )


def _standing(
    path: Path, signed: Signed, book: TrustBook, own: KnownKey | None, asked: Sequence[str]
) -> Standing:
    """Decide about one signed bundle.

    A key that is blocked or another is refused even where the signature cannot be checked: what the
    bundle says of itself is reason enough.
    """
    tablet, digits = _short(signed.device), signed.fingerprint
    known = [key for key in (*book.keys, *((own,) if own else ())) if key.device == signed.device]
    if any(is_blocked(key) and key.public_key == signed.public_key for key in book.keys):
        raise BundleError(
            tr(
                "{path}: is signed with the key {digits}, which is blocked here; ask who wrote "
                "this bundle, and only if tablet {tablet} is in the right hands again, trust its "
                "key with 'walkapp keys --trust {digits}'; nothing was merged.",
                path=path,
                digits=digits,
                tablet=tablet,
            )
        )
    if own is not None and own in known and own.public_key == signed.public_key:
        return Standing.OWN if signed.is_checked else Standing.UNCHECKED
    if any(key.public_key == signed.public_key for key in known):
        return Standing.KNOWN if signed.is_checked else Standing.UNCHECKED
    if digits in asked:
        return Standing.ASKED
    if known:
        before = either([fingerprint_of(key.public_key) for key in known])
        raise OtherKeyError(
            tr(
                "{path}: tablet {tablet} signed until now with the key {before}, and this bundle "
                "is signed with another one, {digits}: either that tablet was set up anew, or "
                "somebody else wrote this bundle; {compare}.",
                path=path,
                tablet=tablet,
                before=before,
                digits=digits,
                compare=_compare(digits),
            ),
            digits,
        )
    if not signed.is_checked:
        return Standing.UNCHECKED
    if book.asks_always:
        raise OtherKeyError(
            tr(
                "{path}: is signed by tablet {tablet} with the key {digits}, and no key is "
                "trusted unasked since the list of known keys was damaged; {compare}.",
                path=path,
                tablet=tablet,
                digits=digits,
                compare=_compare(digits),
            ),
            digits,
        )
    return Standing.FIRST


def _compare(digits: str) -> str:
    return tr(
        "compare the digits with the tablet, and only if they are the same merge with "
        "'--trust {digits}'; nothing was merged",
        digits=digits,
    )


def signature_text(signed: Signed | None) -> str:
    """Say whether a bundle is signed, without asking whether its key is known."""
    if signed is None:
        return tr("Not signed.")
    words = tr(
        "Signed by tablet {short} with the key {fingerprint}",
        short=_short(signed.device),
        fingerprint=signed.fingerprint,
    )
    if not signed.is_checked:
        return tr(
            "{words}, but the signature was not checked: {install} installs the extra that checks it.",
            words=words,
            install=INSTALL,
        )
    return tr("{words}; whether that key is known is looked up where the bundle is merged.", words=words)


def origin_text(origin: Origin) -> str:
    """Say from whom a bundle is, in one sentence."""
    signed = origin.signed
    if signed is None or origin.standing is Standing.UNCHECKED:
        return signature_text(signed)
    words = tr(
        "Signed by tablet {short} with the key {fingerprint}",
        short=_short(signed.device),
        fingerprint=signed.fingerprint,
    )
    match origin.standing:
        case Standing.OWN:
            return tr("Signed by this tablet with its key {fingerprint}.", fingerprint=signed.fingerprint)
        case Standing.FIRST:
            return tr(
                "{words}, seen here for the first time and trusted from now on: compare "
                "these digits with those on that tablet's first page.",
                words=words,
            )
        case Standing.ASKED:
            return tr("{words}, trusted from now on as you said.", words=words)
        case _:
            return tr("{words}, as before.", words=words)


def claims_text(place: Workplace, origin: Origin, report: MergeReport) -> str:
    """Warn of an unsigned bundle that brought records of tablets which sign; else empty.

    A bundle does not say who wrote it, and bundles pass on what other tablets recorded: a desk
    without a key does so all the time, and is no fault. So an unsigned bundle is never refused. But
    what is new in it and names a tablet whose key is trusted could have come signed, and this way
    anybody can have written it. It is counted record by record: one record of a stranger put in
    between must not quieten the warning. Records that were here before are no news and say nothing.

    Parameters
    ----------
    place
        The store that it was merged into.
    origin
        From whom the bundle is.
    report
        What it brought.
    """
    if origin.signed is not None:
        return ""
    own = _own(place)
    trusted = [key for key in place.store.keys.book().keys if not is_blocked(key)]
    signing = {key.device for key in (*trusted, *((own,) if own else ()))}
    claimed = {device: n for device, n in report.new_by_device.items() if device in signing}
    if not claimed:
        return ""
    tablets = ", ".join(_short(device) for device in sorted(claimed))
    count = sum(claimed.values())
    what = (
        tr("1 new record says that it is")
        if count == 1
        else tr("{count} new records say that they are", count=count)
    )
    return tr(
        "{what} from a tablet that signs its bundles ({tablets}), and this bundle is not "
        "signed: somebody without a key passed them on, or wrote them; merge that tablet's "
        "own bundle to be sure.",
        what=what,
        tablets=tablets,
    )


def _short(device: str) -> str:
    """The last six characters of a tablet's id, as the app shows it."""
    return device[-6:]
