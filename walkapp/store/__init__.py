"""The tablet's store: records, photos and checklists in one folder."""

from walkapp.store.checking import CheckReport, Finding, StoreCheck
from walkapp.store.merging import MergeReport
from walkapp.store.store import Store
from walkapp.store.tables import JournalTable

__all__ = ["CheckReport", "Finding", "JournalTable", "MergeReport", "Store", "StoreCheck"]
