"""``signature.json``: with which key a bundle is signed, as far as a key can say who wrote it.

Signed is a text of our own, the id of the signing tablet, and every byte of ``datapackage.json``,
which holds the SHA-256 of everything else. The method is Ed25519 (RFC 8032), by the library
``cryptography``. That is an extra: it is imported when it is needed, and without it a signed bundle
is still read, as one whose signature was not checked.

The file has one spelling only, so that a changed byte is never passed over.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from types import ModuleType

from walkapp.bundle.layout import UPDATE
from walkapp.bundle.places import Place
from walkapp.files import fingerprint_of
from walkapp.language import tr

__all__ = [
    "INSTALL",
    "Signed",
    "Signer",
    "can_sign",
    "fits",
    "is_odd_key",
    "public_key_of",
    "read_signature",
    "sign",
    "write_signature",
]

# no text: a command
INSTALL = "pip install 'walkapp[sign]'"
"""How to get the library."""

FORMAT = 1
# Bytes that this program signs for another purpose, some day, must never be taken for a bundle's.
_CONTEXT = b"walkapp signature of a bundle, format 1\n"
_SHAPE = re.compile(
    rb'\{\n "algorithm": "Ed25519",\n "device": "([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})",\n'
    rb' "format": 1,\n "public_key": "([0-9a-f]{64})",\n "signature": "([0-9a-f]{128})"\n\}\n'
)
_FORMAT = re.compile(rb'"format": ?([0-9]{1,6})\b')

_PRIME = 2**255 - 19
_ORDER_8 = int.from_bytes(
    bytes.fromhex("26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05"), "little"
)
_ODD = frozenset({0, 1, _PRIME - 1, _ORDER_8, _PRIME - _ORDER_8})


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """With which key a bundle is signed.

    Parameters
    ----------
    device
        Id of the tablet that says it signed.
    public_key
        32 bytes in 64 small hexadecimal digits.
    is_checked
        Whether the signature was checked, and fits; else nothing is proven and nothing disproven,
        since the library is not installed.
    """

    device: str
    public_key: str
    is_checked: bool

    @property
    def fingerprint(self) -> str:
        """Digits of the key for people to compare."""
        return fingerprint_of(self.public_key)


@dataclass(frozen=True, slots=True, kw_only=True)
class Signer:
    """Who signs.

    Parameters
    ----------
    device
        Id of the tablet.
    secret
        The private key, 32 bytes.
    """

    device: str
    secret: bytes = field(repr=False)


def can_sign() -> bool:
    """Whether the library for signing and checking is there."""
    return _library() is not None


def _library() -> ModuleType | None:
    try:
        from cryptography.hazmat.primitives.asymmetric import ed25519
    except ImportError:
        return None
    return ed25519


def _needed() -> ModuleType:
    if (library := _library()) is None:
        raise ValueError("signing needs the library: ask can_sign() first")
    return library


def public_key_of(secret: bytes) -> str:
    """Public key of a private one, in 64 small hexadecimal digits; needs the library."""
    key = _needed().Ed25519PrivateKey.from_private_bytes(secret)
    return str(key.public_key().public_bytes_raw().hex())


def sign(secret: bytes, message: bytes) -> bytes:
    """Sign some bytes; the same bytes and key always give the same 64 bytes. Needs the library."""
    return bytes(_needed().Ed25519PrivateKey.from_private_bytes(secret).sign(message))


def fits(public_key: str, signature: bytes, message: bytes) -> bool:
    """Whether a signature fits; needs the library."""
    from cryptography.exceptions import InvalidSignature

    try:
        _needed().Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_key)).verify(signature, message)
    except InvalidSignature:
        return False
    return True


def is_odd_key(public_key: str) -> bool:
    """Whether a public key is one that nobody can own.

    Notes
    -----
    RFC 8032, section 5.1.3, has a key's number below ``2**255 - 19``; a larger one would be a second
    spelling of the same key. The eight points of small order are keys for which signatures can be made
    that fit any text, or every few texts, without a private key: the library takes them (so says a
    test here). They are known by their y: 0, 1, -1 and two numbers of the points of order 8.
    """
    y = int.from_bytes(bytes.fromhex(public_key), "little") & (2**255 - 1)
    return y >= _PRIME or y in _ODD


def write_signature(descriptor: bytes, signer: Signer) -> bytes:
    """Sign a descriptor; the library has to be there.

    Parameters
    ----------
    descriptor
        All bytes of ``datapackage.json``.
    signer
        Who signs.

    Returns
    -------
    bytes
        The content of ``signature.json``.
    """
    values = {
        "algorithm": "Ed25519",
        "device": signer.device,
        "format": FORMAT,
        "public_key": public_key_of(signer.secret),
        "signature": sign(signer.secret, _message(signer.device, descriptor)).hex(),
    }
    return (json.dumps(values, indent=1, sort_keys=True) + "\n").encode("ascii")


def read_signature(data: bytes, descriptor: bytes, place: Place) -> Signed:
    """Read ``signature.json``, and check it where the library is there.

    Parameters
    ----------
    data
        The file.
    descriptor
        All bytes of ``datapackage.json``.
    place
        The file, for complaints.

    Raises
    ------
    BundleError
        If it was made by a newer version, is not spelled as signatures are, names a key that nobody
        can own, or does not fit.
    """
    found = _SHAPE.fullmatch(data)
    if found is None:
        number = _FORMAT.search(data)
        if number is not None and int(number[1]) > FORMAT:
            raise place.error(
                tr(
                    "has the format {number}, this version reads {format}",
                    number=int(number[1]),
                    format=FORMAT,
                ),
                tr(UPDATE),
            )
        raise place.error(tr("is not a signature as bundles hold it"))
    device, public_key, signature = (part.decode("ascii") for part in found.groups())
    if is_odd_key(public_key):
        raise place.error(tr("names a key that nobody can own, so that anybody could have signed"))
    is_checked = can_sign()
    if is_checked and not fits(public_key, bytes.fromhex(signature), _message(device, descriptor)):
        raise place.error(
            tr(
                "does not fit: the bundle was changed after it was signed, or the signature is "
                "of another one"
            )
        )
    return Signed(device=device, public_key=public_key, is_checked=is_checked)


def _message(device: str, descriptor: bytes) -> bytes:
    return b"%s%s\n%s" % (_CONTEXT, device.encode("ascii"), descriptor)
