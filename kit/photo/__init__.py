"""A photograph becomes colours.

A `Photo` is read safely, regions on it are marked or suggested, a grey card or target
corrects the light, and each region is sampled into a mix with its error (`sample`).
`read_marked` does all of it for a photo that is marked, `add_to_stash` writes the yarns
as rows.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.photo.correction import Correction as Correction
    from kit.photo.image import Photo as Photo
    from kit.photo.image import read_photo as read_photo
    from kit.photo.marks import add_to_stash as add_to_stash
    from kit.photo.marks import read_marked as read_marked
    from kit.photo.regions import Region as Region
    from kit.photo.regions import read_regions as read_regions
    from kit.photo.regions import suggest_regions as suggest_regions
    from kit.photo.sampling import Sample as Sample
    from kit.photo.sampling import sample as sample

_HOMES = {
    "correction": ("Correction",),
    "image": (
        "Photo",
        "read_photo",
    ),
    "marks": (
        "add_to_stash",
        "read_marked",
    ),
    "regions": (
        "Region",
        "read_regions",
        "suggest_regions",
    ),
    "sampling": (
        "Sample",
        "sample",
    ),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
