"""Pictures: what a file holds, copies that may leave the tablet, and small ones to show.

The original in the store is never changed; whatever is made here is a copy.
"""

from walkapp.photos.covering import cover
from walkapp.photos.folder import FoundPicture, pictures_in, read_picture
from walkapp.photos.picture import (
    PictureFacts,
    examine,
    packed,
    small_jpeg,
    small_picture,
    without_location,
)
from walkapp.photos.shelf import Shelf

__all__ = [
    "FoundPicture",
    "PictureFacts",
    "Shelf",
    "cover",
    "examine",
    "packed",
    "pictures_in",
    "read_picture",
    "small_jpeg",
    "small_picture",
    "without_location",
]
