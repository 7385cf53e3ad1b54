"""Checklists: folders of TOML that a supervisor can read and edit, one per value stream."""

from walkapp.checklists.folder import load_streams, load_translations, stream_files
from walkapp.checklists.reading import parse_stream
from walkapp.files import sha256_of_files as digest_of

__all__ = ["digest_of", "load_streams", "load_translations", "parse_stream", "stream_files"]
