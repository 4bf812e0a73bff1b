"""A photo in true greys beside naive ones, and a swatch beside what was predicted.

The trade's grey photo shows which yarn is lighter. Whether it tells the truth hangs on
how the grey is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from kit.colour import Mix, mean_lab
from kit.colour.causes import why
from kit.colour.difference import far_steps, near_steps
from kit.colour.spaces import LINEAR_TO_XYZ, linear_to_srgb1
from kit.photo.correction import NO_CORRECTION, Correction, corrected
from kit.photo.image import Photo, srgb255_to_linear
from kit.photo.regions import Region
from kit.pictures.paper import DOTS, WIDTH, Sheet, blank, image_of, paint, png, write
from kit.pictures.svg import INK, PAPER
from kit.pictures.text import cut, legible, width_px

# ITU-R BT.601: luma of the encoded channels. It is the grey part of every JPEG, and
# what a picture turned grey the quick way usually shows.
BT601 = np.array([0.299, 0.587, 0.114])
MOST_HIGH = 1400.0  # px
LETTERS = 13.0  # px
LINE = 34.0  # px, for the title


@dataclass(frozen=True, slots=True)
class Comparison:
    """How far a swatch is from what was predicted.

    near, far   in the hand and across the room, dE00
    cause       what the swatch is against the prediction, in words
    lighter     by how much L* its average is lighter
    """

    near: float
    far: float
    cause: str
    lighter: float


def compare_swatch(seen: Mix, predicted: Mix) -> Comparison:
    """A swatch's colours beside those predicted for its strands.

    Near is in the hand, far across the room; `cause` says what the swatch is against
    the prediction.

    >>> from kit.colour.mixes import solid
    >>> compare_swatch(solid((40, 0, 0)), solid((50, 0, 0))).cause
    'darker by 10 L*'
    """
    near = float(near_steps([predicted], [seen])[0])
    far = float(far_steps([predicted], [seen])[0])
    lighter = mean_lab(seen)[0] - mean_lab(predicted)[0]
    return Comparison(near, far, why([predicted], [seen])[0], lighter)


def true_grey(linear: np.ndarray) -> np.ndarray:
    """The encoded grey 0-1 of equal L* (equal luminance); (..., 3) to (...)."""
    return linear_to_srgb1(np.clip(linear @ LINEAR_TO_XYZ[1], 0, 1))


def naive_grey(linear: np.ndarray) -> np.ndarray:
    """The encoded grey 0-1 by BT.601 on encoded channels; (..., 3) to (...)."""
    return linear_to_srgb1(np.clip(linear, 0, 1)) @ BT601


def grey_pictures(
    photo: Photo,
    regions: Sequence[Region] = (),
    *,
    correction: Correction = NO_CORRECTION,
) -> tuple[bytes, bytes]:
    """The photo in greys of true L* and in naive greys, as two PNGs with the names on.

    The naive grey is the luma of ITU-R BT.601. Both fill a sheet of 960 px.
    """
    linear, scale = _fitted(photo)
    even = np.stack([corrected(correction, row) for row in linear])
    titles = ("Greys of equal lightness (L*)", "Greys as a quick filter makes them")
    greys = true_grey(even), naive_grey(even)
    true, naive = (
        _drawn(grey, title, regions, scale / photo.reduced)
        for grey, title in zip(greys, titles, strict=True)
    )
    return true, naive


def _fitted(photo: Photo) -> tuple[np.ndarray, float]:
    """Linear light of the photo, as wide as the sheet in px, and the scale."""
    from PIL import Image  # late: only where a picture is asked for

    height, width = photo.pixels.shape[:2]
    scale = min(WIDTH / width, MOST_HIGH / height)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    image = Image.fromarray(photo.pixels).resize(size, Image.Resampling.BOX)
    return srgb255_to_linear(np.asarray(image)), scale


def _drawn(
    grey: np.ndarray, title: str, regions: Sequence[Region], scale: float
) -> bytes:
    sheet = blank(grey.shape[0] + LINE)
    dots = np.clip(grey, 0, 1).repeat(DOTS, axis=0).repeat(DOTS, axis=1)
    write(sheet, 0, LINE - 11, title, size=LETTERS + 2, bold=True)
    paint(sheet, np.repeat(dots[..., None], 3, axis=-1), 0, LINE)
    for number, region in enumerate(regions, 1):
        name = legible(region.name, otherwise=f"no. {number}")
        _name_on(sheet, name, region, grey, scale)
    return png(image_of(sheet))


def _name_on(
    sheet: Sheet, name: str, region: Region, grey: np.ndarray, scale: float
) -> None:
    """A name under the middle of its ball, black on light greys and white on dark."""
    room = max(region.width * scale * 1.3, 48)
    name = cut(name, room, LETTERS)
    wide = width_px(name, LETTERS)
    x = np.clip(region.x * scale, wide / 2, max(grey.shape[1] - wide / 2, 0))
    y = np.clip(region.y * scale + LETTERS / 3, LETTERS, grey.shape[0] - 4)
    row, column = (
        int(np.clip(at, 0, most - 1))
        for at, most in zip((y, x), grey.shape, strict=True)
    )
    under = grey[max(row - 8, 0) : row + 8, max(column - 20, 0) : column + 20]
    dark = under.mean() < 0.5
    write(
        sheet,
        float(x),
        float(y + LINE),
        name,
        size=LETTERS,
        bold=True,
        align="center",
        colour=PAPER if dark else INK,
    )
