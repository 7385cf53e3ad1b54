"""The tablet's store: records, photos and checklists in one folder."""

from walkapp.store.checking import CheckReport, Finding, StoreCheck
from walkapp.store.intake import Intake
from walkapp.store.keys import BLOCKED, TRUSTED, KnownKey, OwnKey, TrustBook
from walkapp.store.merging import MergeReport
from walkapp.store.opening import PRACTICE_FILE
from walkapp.store.store import Store, read_place
from walkapp.store.tables import JournalTable

__all__ = [
    "BLOCKED",
    "PRACTICE_FILE",
    "TRUSTED",
    "CheckReport",
    "Finding",
    "Intake",
    "JournalTable",
    "KnownKey",
    "MergeReport",
    "OwnKey",
    "Store",
    "StoreCheck",
    "TrustBook",
    "read_place",
]
