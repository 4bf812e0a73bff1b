"""A 24-patch target in a photo: its patches found, its orientation checked.

The usual target of 24 painted patches, six across and four down: skin, sky and leaf
colours first, six greys from white to black last.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from kit.colour import ciede2000
from kit.colour.spaces import LINEAR_TO_XYZ, WHITE_D65, XYZ_TO_LINEAR, linear_to_lab
from kit.errors import Fault, KitError
from kit.photo.fitting import weighted
from kit.photo.image import Photo, srgb255_to_linear
from kit.yarn import counted

N_ACROSS, N_DOWN = 6, 4
GREYS = np.arange(24) >= 18  # the last row, white to black
# What follows are our own limits.
WINDOW = 0.4  # the middle of a patch that is looked at, of the pitch
LEAST_PITCH = 8  # pixels from patch to patch
MARGINS = (-0.02, 0.0, 0.02, 0.04, 0.06, 0.08)  # corners marked on the frame instead
UNEVEN = 0.12  # spread within a patch, of its own light
MOST_UNEVEN = 6  # patches
ALIKE = 9.0  # mean dE00 of the patches to a target, after a simple fit
CLIPPED, MOST_CLIPPED = 0.05, 8  # share of a patch's pixels at 254 or 255; patches

Point = tuple[float, float]

_TURNS = tuple((turn, mirrored) for mirrored in (False, True) for turn in range(4))


@dataclass(frozen=True, slots=True)
class Patches:
    """The patches as photographed, first patch first.

    linear    linear sRGB 0-1, 24 rows: the median of each patch's middle
    clipped   whether a patch is overexposed
    uneven    whether it is not one even colour: glare, a shadow, something on it
    corners   of the field of patches, clockwise from the first patch, full-size pixels
    said      what was mended, in sentences
    """

    linear: tuple[tuple[float, ...], ...]
    clipped: tuple[bool, ...]
    uneven: tuple[bool, ...]
    corners: tuple[Point, ...]
    sentences: tuple[str, ...] = ()


@lru_cache(maxsize=1)
def true_linear() -> np.ndarray:
    """Linear sRGB (24, 3) of the patches under D65; cyan lies outside 0-1.

    From the mean reflectance of 30 targets (BabelColor Average, as colour-science
    carries it), so that no chromatic adaptation comes in between.
    """
    import colour  # late: slow to import

    shape = colour.SpectralShape(380, 780, 5)

    def values(spectrum):
        ends = {"method": "Constant"}
        return spectrum.copy().align(shape, extrapolator_kwargs=ends).values

    patches = colour.SDS_COLOURCHECKERS["BabelColor Average"].values()
    D65 = values(colour.SDS_ILLUMINANTS["D65"])
    observer = values(colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"])
    xyz = (np.array([values(patch) for patch in patches]) * D65) @ observer
    linear = xyz / (D65 @ observer) * WHITE_D65 @ XYZ_TO_LINEAR.T
    linear.setflags(write=False)
    return linear


def find_patches(photo: Photo, corners: Sequence[Point]) -> Patches:
    """The patches inside four marked corners (full-size pixels). Raises KitError.

    The corners may be those of the patches or of the target's frame, and start at any
    of the four, either way round: a turned target is mended and said so. One that is
    mirrored, is no target, or is too small is refused.
    """
    said: tuple[str, ...] = ()
    field = _clockwise(corners)
    _refuse_unfit(photo, field)
    _refuse_overexposed(_samples(photo, field))
    turn, mirrored = _orientation(photo, field)
    if mirrored:
        raise KitError(_fault("target_mirrored", *_MIRRORED))
    if turn:
        field = field[turn:] + field[:turn]
        said = (_turned(field),)
    margin = min(_margins(), key=lambda m: _unevenness(photo, field, m))
    field = _inset(field, *margin)
    samples = _samples(photo, field)
    uneven = _spread(samples) > UNEVEN
    if uneven.sum() > MOST_UNEVEN:
        raise KitError(_fault("target_uneven", *_UNEVEN))
    clipped = _clipped(samples)
    linear = np.median(samples, axis=1)
    rows = tuple(tuple(row) for row in linear.tolist())
    return Patches(rows, _flags(clipped), _flags(uneven), field, said)


def centres(corners: Sequence[Point]) -> np.ndarray:
    """Where the 24 patches lie in a field with these corners (24, 2)."""
    numbers = range(N_ACROSS * N_DOWN)
    places = [(k % N_ACROSS + 0.5, k // N_ACROSS + 0.5) for k in numbers]
    return _mapped(corners, np.array(places) / (N_ACROSS, N_DOWN))


def _flags(values: np.ndarray) -> tuple[bool, ...]:
    return tuple(values.tolist())


# --- where the patches are ------------------------------------------------------------


def _clockwise(corners: Sequence[Point]) -> tuple[Point, ...]:
    """The corners the way a clock goes (y runs down), the first one kept."""
    points = tuple((float(x), float(y)) for x, y in corners)
    if len(points) != 4:
        found = counted(len(points), "corner")
        says = f"A 24-patch target needs four corners marked; found {found}"
        raise KitError(Fault("target_corners", says=says))
    return points if _area(points) > 0 else (points[0], *points[:0:-1])


def _area(points: Sequence[Point]) -> float:
    x, y = np.array(points).T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)


def _refuse_unfit(photo: Photo, corners: tuple[Point, ...]) -> None:
    sides = np.roll(corners, -1, axis=0) - np.array(corners)
    nexts = np.roll(sides, -1, axis=0)
    bends = sides[:, 0] * nexts[:, 1] - sides[:, 1] * nexts[:, 0]
    if not np.isfinite(bends).all() or (bends <= 0).any():
        raise KitError(_fault("target_corners", *_CROSSED))
    x, y = np.array(corners).T
    width, height = photo.full_size
    if x.min() < 0 or y.min() < 0 or x.max() > width or y.max() > height:
        raise KitError(_fault("target_outside", *_OUTSIDE))
    lengths = np.sort(np.hypot(*sides.T)) / photo.reduced
    if min(lengths[0] / N_DOWN, lengths[2] / N_ACROSS) < LEAST_PITCH:
        raise KitError(_fault("target_small", *_SMALL))


def _refuse_overexposed(samples: np.ndarray) -> None:
    if (n := int(_clipped(samples).sum())) > MOST_CLIPPED:
        says = f"{n} of the 24 patches between the four corners are overexposed"
        raise KitError(_fault("clipped", says, "Take the photo darker."))


def _clipped(samples: np.ndarray) -> np.ndarray:
    return (samples > 0.99).any(axis=2).mean(axis=1) > CLIPPED  # 254 or 255


def _orientation(photo: Photo, corners: tuple[Point, ...]) -> tuple[int, bool]:
    """Which corner is the first patch's, and whether left and right are swapped."""
    off = {}
    for turn, mirrored in _TURNS:
        turned = corners[turn:] + corners[:turn]
        turned = (turned[1], turned[0], turned[3], turned[2]) if mirrored else turned
        off[turn, mirrored] = _misfit(np.median(_samples(photo, turned), axis=1))
    best = min(off, key=lambda key: off[key])
    if off[best] > ALIKE:
        raise KitError(_fault("no_target", *_NONE))
    return best


def _misfit(linear: np.ndarray) -> float:
    """Mean dE00 of 24 colours to the target's, after the best 3 x 3 matrix."""
    true = true_linear()
    pair = weighted(linear, true), weighted(true, true)
    matrix = np.linalg.lstsq(*pair, rcond=None)[0]
    fitted = linear_to_lab(np.maximum(linear @ matrix, 0))
    return float(ciede2000(fitted, linear_to_lab(true)).mean())


def _turned(corners: tuple[Point, ...]) -> str:
    """How the target lies in the picture, to the nearest right angle."""
    (x_1, y_1), (x_2, y_2) = corners[:2]
    angle = round(np.degrees(np.arctan2(y_2 - y_1, x_2 - x_1)) / 90) % 4 * 90
    lies = {0: "upright", 180: "upside down"}.get(angle, "on its side")
    return f"The target lies {lies}, and its first corner was another one; mended."


def _margins() -> list[Point]:
    """How much frame may stand round the patches; none is tried first."""
    pairs = [(across, down) for across in MARGINS for down in MARGINS]
    return sorted(pairs, key=lambda pair: abs(pair[0]) + abs(pair[1]))


def _unevenness(photo: Photo, corners: tuple[Point, ...], margin: Point) -> float:
    samples = _samples(photo, _inset(corners, *margin), window=0.6, n=9)
    doubt = 0.25 * (abs(margin[0]) + abs(margin[1]))  # people mark what they were told
    return float(np.median(_spread(samples))) + doubt


def _inset(corners: tuple[Point, ...], across: float, down: float) -> tuple[Point, ...]:
    u, v = (across, 1 - across), (down, 1 - down)
    inner = np.array([(u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])])
    return tuple(map(tuple, _mapped(corners, inner).tolist()))


def _samples(
    photo: Photo, corners: tuple[Point, ...], *, window: float = WINDOW, n: int = 15
) -> np.ndarray:
    """Linear light of n x n points in the middle of each patch, (24, n * n, 3)."""
    steps = window * ((np.arange(n) + 0.5) / n - 0.5)
    v, u, down, across = np.meshgrid(
        np.arange(N_DOWN) + 0.5, np.arange(N_ACROSS) + 0.5, steps, steps, indexing="ij"
    )
    places = np.stack([(u + across) / N_ACROSS, (v + down) / N_DOWN], axis=-1)
    scale = 1 / photo.reduced
    x, y = np.floor(_mapped(corners, places.reshape(-1, 2)) * scale).astype(int).T
    height, width = photo.pixels.shape[:2]
    seen = photo.pixels[y.clip(0, height - 1), x.clip(0, width - 1)]
    return srgb255_to_linear(seen).astype(float).reshape(N_ACROSS * N_DOWN, n * n, 3)


def _mapped(corners: Sequence[Point], places: np.ndarray) -> np.ndarray:
    """Places (n, 2) of the unit square in the picture, as perspective has them."""
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=float)
    rows = []
    for (u, v), (x, y) in zip(square, corners, strict=True):
        rows.append([u, v, 1, 0, 0, 0, -u * x, -v * x])
        rows.append([0, 0, 0, u, v, 1, -u * y, -v * y])
    solved = np.linalg.solve(np.array(rows), np.array(corners).ravel())
    H = np.append(solved, 1).reshape(3, 3)
    x, y, w = H @ np.vstack([places.T, np.ones(len(places))])
    return np.stack([x / w, y / w], axis=-1)


def _spread(samples: np.ndarray) -> np.ndarray:
    """How uneven each patch is: light of its nine parts, most over least (24,).

    The parts are means, so that the camera's noise does not count.
    """
    n = round(samples.shape[1] ** 0.5) // 3
    light = (samples @ LINEAR_TO_XYZ[1]).reshape(-1, 3, n, 3, n).mean(axis=(2, 4))
    return np.ptp(light, axis=(1, 2)) / (light.mean(axis=(1, 2)) + 0.05)


# --- in words -------------------------------------------------------------------------

_MIRRORED = (
    "The 24-patch target is mirrored in this photo",
    "Use the picture the camera took, not the one it shows as a mirror.",
)
_NONE = (
    "No 24-patch target was found between the four corners",
    "Mark the outer corners of the corner patches, beginning beside the first patch.",
)
_UNEVEN = (
    "The patches between the four corners are not even in colour",
    "Mark the outer corners of the corner patches, and take the photo without glare "
    "or shadows on the target.",
)
_CROSSED = (
    "The four corners of the target do not go round a four-sided shape",
    "Mark them in turn, clockwise, beginning beside the first patch.",
)
_OUTSIDE = ("A corner of the target lies outside the photo", "Mark it inside.")
_SMALL = (
    f"The target is too small: its patches are under {LEAST_PITCH} pixels wide",
    "Photograph it from closer by.",
)


def _fault(code: str, says: str, advice: str) -> Fault:
    return Fault(code, says=says, advice=advice)
