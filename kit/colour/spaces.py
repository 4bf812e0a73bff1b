"""From one colour space to another: hex, sRGB, XYZ, CIELAB, Oklab.

Scales are in the names: `srgb1` and `linear` run 0-1, `xyz` has Y = 1 for white, `lab`
is CIELAB for D65 and the 2 degree observer (L* 0-100).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import atan2, cbrt, degrees

import numpy as np

Lab = tuple[float, float, float]

# IEC 61966-2-1:1999, as printed; the white is the chromaticity it states, (0.3127,
# 0.3290). colour-science's defaults are the same two, so a grey is neutral within
# 0.008 in a* and b*, not exactly.
LINEAR_TO_XYZ = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
XYZ_TO_LINEAR = np.linalg.inv(LINEAR_TO_XYZ)
WHITE_D65 = np.array([0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290])
WHITE_D50 = np.array([0.3457 / 0.3585, 1.0, (1 - 0.3457 - 0.3585) / 0.3585])  # CSS
# Bradford, as CSS Color 4 and colour-science have it.
BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
# CIE 15: the linear part of the lightness curve, as exact fractions.
EPSILON = 216 / 24389
KAPPA = 24389 / 27
# Ottosson 2020, "A perceptual color space for image processing": XYZ (D65) to cone-like
# signals, and their cube roots to L, a, b.
_TO_LMS = (
    (0.8189330101, 0.3618667424, -0.1288597137),
    (0.0329845436, 0.9293118715, 0.0361456387),
    (0.0482003018, 0.2643662691, 0.6338517070),
)
_TO_OKLAB = (
    (0.2104542553, 0.7936177850, -0.0040720468),
    (1.9779984951, -2.4285922050, 0.4505937099),
    (0.0259040371, 0.7827717662, -0.8086757660),
)


def srgb1_to_linear(srgb1: np.ndarray) -> np.ndarray:
    """sRGB 0-1 to linear light 0-1 (IEC 61966-2-1), any shape."""
    srgb1 = np.asarray(srgb1, dtype=float)
    curved = ((np.maximum(srgb1, 0) + 0.055) / 1.055) ** 2.4
    return np.where(srgb1 <= 0.04045, srgb1 / 12.92, curved)


def linear_to_srgb1(linear: np.ndarray) -> np.ndarray:
    """Linear light 0-1 to sRGB 0-1 (IEC 61966-2-1), any shape."""
    linear = np.asarray(linear, dtype=float)
    curved = 1.055 * np.maximum(linear, 0.0) ** (1 / 2.4) - 0.055
    return np.where(linear <= 0.0031308, linear * 12.92, curved)


_LINEAR = srgb1_to_linear(np.arange(256) / 255).tolist()
_TO_XYZ, _WHITE = LINEAR_TO_XYZ.tolist(), WHITE_D65.tolist()


def xyz_to_lab(xyz: np.ndarray) -> np.ndarray:
    """XYZ (white Y = 1, D65) to CIELAB, shape (..., 3). CIE 15:2018, eq. 8.3-8.11."""
    ratio = np.asarray(xyz, dtype=float) / WHITE_D65
    f = np.where(ratio > EPSILON, np.cbrt(ratio), (KAPPA * ratio + 16) / 116)
    fx, fy, fz = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)], axis=-1)


def lab_to_xyz(lab: np.ndarray, white: np.ndarray = WHITE_D65) -> np.ndarray:
    """CIELAB to XYZ (white Y = 1), shape (..., 3). The inverse of `xyz_to_lab`."""
    lab = np.asarray(lab, dtype=float)
    fy = (lab[..., 0] + 16) / 116
    f = np.stack([fy + lab[..., 1] / 500, fy, fy - lab[..., 2] / 200], axis=-1)
    ratio = np.where(f**3 > EPSILON, f**3, (116 * f - 16) / KAPPA)
    return ratio * white


def linear_to_lab(linear: np.ndarray) -> np.ndarray:
    """Linear sRGB 0-1 to CIELAB, shape (..., 3)."""
    return xyz_to_lab(np.asarray(linear, dtype=float) @ LINEAR_TO_XYZ.T)


def lab_to_linear(lab: np.ndarray) -> np.ndarray:
    """CIELAB to linear sRGB, shape (..., 3); outside 0-1 where sRGB cannot show it."""
    return lab_to_xyz(lab) @ XYZ_TO_LINEAR.T


def hex_to_lab(text: str) -> Lab:
    """`#rrggbb` to CIELAB.

    >>> [round(x, 1) for x in hex_to_lab("#ff0000")]
    [53.2, 80.1, 67.2]
    """
    digits = text.lstrip("#")
    # Plain numbers: for one colour ten times as quick as arrays of three.
    red, green, blue = (_LINEAR[int(digits[i : i + 2], 16)] for i in (0, 2, 4))
    fx, fy, fz = (
        _curve((x * red + y * green + z * blue) / white)
        for (x, y, z), white in zip(_TO_XYZ, _WHITE, strict=True)
    )
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def _curve(ratio: float) -> float:
    return cbrt(ratio) if ratio > EPSILON else (KAPPA * ratio + 16) / 116


@lru_cache(maxsize=50_000)
def lab_to_hex(lab: Lab) -> str:
    """CIELAB to the nearest `#rrggbb`, each channel clipped to what sRGB can show."""
    srgb1 = linear_to_srgb1(np.clip(lab_to_linear(np.array(lab)), 0, 1))
    return "#" + "".join(f"{round(255 * float(channel)):02x}" for channel in srgb1)


def chroma_hue(lab: Sequence[float]) -> tuple[float, float]:
    """Chroma C* and hue angle in degrees (0-360) of a CIELAB colour."""
    chroma = float(np.hypot(lab[1], lab[2]))
    return chroma, float(np.degrees(np.arctan2(lab[2], lab[1])) % 360)


def oklab(lab: Lab) -> Lab:
    """CIELAB D65 to Oklab (L 0-1, a, b).

    >>> tuple(round(x, 2) for x in oklab((100.0, 0.0, 0.0)))
    (1.0, -0.0, -0.0)
    """
    fy = (lab[0] + 16) / 116
    fs = (fy + lab[1] / 500, fy, fy - lab[2] / 200)
    xyz = [w * _unroot(f) for w, f in zip(_WHITE, fs, strict=True)]
    roots = [cbrt(_dot(row, xyz)) for row in _TO_LMS]
    L, a, b = (_dot(row, roots) for row in _TO_OKLAB)
    return L, a, b


def _unroot(f: float) -> float:
    return f**3 if f**3 > EPSILON else (116 * f - 16) / KAPPA


def _dot(row: tuple[float, ...], values: list[float]) -> float:
    return row[0] * values[0] + row[1] * values[1] + row[2] * values[2]


@lru_cache(maxsize=50_000)
def oklab_hue(lab: Lab) -> float:
    """Hue angle in Oklab, degrees 0-360. Of no meaning for a grey."""
    _, a, b = oklab(lab)
    return degrees(atan2(b, a)) % 360
