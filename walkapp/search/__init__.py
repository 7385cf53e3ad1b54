"""Full-text search: folding of words, what of a record can be searched, and the index.

The index is a cache: it may be thrown away at any time and says nothing that the journals do not say.
"""

from walkapp.search.fts import FtsIndex, has_fts
from walkapp.search.index import BrokenIndexError, Document, Found, Hit, Index, PlainIndex
from walkapp.search.keeping import read_index, write_index
from walkapp.search.texts import is_searchable, typed_texts
from walkapp.search.words import MOST_WORDS, asked_words, snippet, words_of

__all__ = [
    "MOST_WORDS",
    "BrokenIndexError",
    "Document",
    "Found",
    "FtsIndex",
    "Hit",
    "Index",
    "PlainIndex",
    "asked_words",
    "has_fts",
    "is_searchable",
    "read_index",
    "snippet",
    "typed_texts",
    "words_of",
    "write_index",
]
