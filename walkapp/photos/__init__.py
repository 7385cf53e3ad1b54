"""Pictures: what a file holds, copies that may leave the tablet, and small ones to show.

The original in the store is never changed; whatever is made here is a copy.
"""

from walkapp.photos.covering import cover
from walkapp.photos.folder import FolderContent, FoundPicture, look_into, pictures_in, read_picture
from walkapp.photos.marking import width_of, words_as_drawn
from walkapp.photos.picture import (
    PictureFacts,
    WholePicture,
    examine,
    examine_whole,
    packed,
    picture_pixels,
    small_jpeg,
    small_picture,
    without_location,
)
from walkapp.photos.shelf import Shelf

__all__ = [
    "FolderContent",
    "FoundPicture",
    "PictureFacts",
    "Shelf",
    "WholePicture",
    "cover",
    "examine",
    "examine_whole",
    "look_into",
    "packed",
    "picture_pixels",
    "pictures_in",
    "read_picture",
    "small_jpeg",
    "small_picture",
    "width_of",
    "without_location",
    "words_as_drawn",
]
