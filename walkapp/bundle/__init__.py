"""Exchange by file: one zip that holds records, pictures and checklists, and can be trusted whole."""

from walkapp.bundle.layout import Limits
from walkapp.bundle.peek import BundleLabel, peek_bundle
from walkapp.bundle.read import Bundle, open_bundle
from walkapp.bundle.rows import FirstBadRow
from walkapp.bundle.signature import Signed, Signer
from walkapp.bundle.write import BundleFacts, write_bundle

__all__ = [
    "Bundle",
    "BundleFacts",
    "BundleLabel",
    "FirstBadRow",
    "Limits",
    "Signed",
    "Signer",
    "open_bundle",
    "peek_bundle",
    "write_bundle",
]
