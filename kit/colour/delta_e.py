"""How far apart two colours look: CIEDE2000 (ISO/CIE 11664-6)."""

from __future__ import annotations

import numpy as np

BLOCK = 128  # rows of a table computed at a time, so that its arrays stay in cache
TINY = 1e-300  # in place of 0 under a fraction
COS_30, SIN_30, COS_6, SIN_6, COS_63, SIN_63 = (
    float(part(np.radians(angle))) for angle in (30, 6, 63) for part in (np.cos, np.sin)
)


def ciede2000_terms(lab_1: np.ndarray, lab_2: np.ndarray) -> tuple[np.ndarray, ...]:
    """The weighted terms of CIEDE2000, kL = kC = kH = 1; arguments broadcast.

    Returns (lightness, chroma, hue, rotation): signed differences from 1 to 2 over
    their weighting functions, and R_T; dE00^2 = l^2 + c^2 + h^2 + R_T c h.
    Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1):21-30, equations 2-22. Fair for
    small differences of object colours; it is not a metric (the triangle inequality
    can fail), and it jumps a little where two hues lie 180 degrees apart.
    """
    lab_1, lab_2 = np.asarray(lab_1, dtype=float), np.asarray(lab_2, dtype=float)
    L_1, a_1, b_1 = lab_1[..., 0], lab_1[..., 1], lab_1[..., 2]
    L_2, a_2, b_2 = lab_2[..., 0], lab_2[..., 1], lab_2[..., 2]
    stretch = 1.5 - 0.5 * _strength((np.hypot(a_1, b_1) + np.hypot(a_2, b_2)) / 2)
    a_1, a_2 = stretch * a_1, stretch * a_2
    C_1, C_2 = np.sqrt(a_1 * a_1 + b_1 * b_1), np.sqrt(a_2 * a_2 + b_2 * b_2)
    C_mean, off = (C_1 + C_2) / 2, (L_1 + L_2) / 2 - 50
    off = off * off
    T, turn = _of_mean_hue(a_1, b_1, C_1, a_2, b_2, C_2)
    S_L = 1 + 0.015 * off / np.sqrt(20 + off)
    S_C = 1 + 0.045 * C_mean
    S_H = 1 + 0.015 * C_mean * T
    R_T = -2 * np.sin(2 * turn) * _strength(C_mean)
    dH = _hue_difference(a_1, b_1, C_1, a_2, b_2, C_2)
    return (L_2 - L_1) / S_L, (C_2 - C_1) / S_C, dH / S_H, R_T


def _strength(chroma: np.ndarray) -> np.ndarray:
    """sqrt(C^7 / (C^7 + 25^7)); products are far quicker than a power of 7."""
    cube = chroma * chroma * chroma
    seventh = cube * cube * chroma
    return np.sqrt(seventh / (seventh + 25.0**7))


def ciede2000(lab_1: np.ndarray, lab_2: np.ndarray) -> np.ndarray:
    """CIEDE2000 between CIELAB colours (ISO/CIE 11664-6), with kL = kC = kH = 1.

    Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1):21-30. Fair for small differences of
    object colours; take large ones as a ranking.

    Parameters
    ----------
    lab_1 : array of shape (..., 3)
        Colours, CIELAB D65/2°.
    lab_2 : array of shape (..., 3)
        Colours to compare them with, CIELAB D65/2°; the shapes broadcast.

    Returns
    -------
    array of shape (...)
        Differences in ΔE00.

    Examples
    --------
    >>> float(ciede2000([50, 2.5, 0], [73, 25, -18]).round(4))
    27.1492
    """
    lightness, chroma, hue, rotation = ciede2000_terms(lab_1, lab_2)
    square = lightness**2 + chroma**2 + hue**2 + rotation * chroma * hue
    return np.sqrt(np.maximum(square, 0))


def ciede2000_table(labs_1: np.ndarray, labs_2: np.ndarray) -> np.ndarray:
    """CIEDE2000 of every colour of `labs_1` (n, 3) with every of `labs_2` (m, 3)."""
    labs_1, labs_2 = np.asarray(labs_1, dtype=float), np.asarray(labs_2, dtype=float)
    table = np.empty((len(labs_1), len(labs_2)))
    same = labs_1.shape == labs_2.shape and bool((labs_1 == labs_2).all())
    for i in range(0, len(labs_1), BLOCK):
        for j in range(i if same else 0, len(labs_2), BLOCK):
            rows, columns = labs_1[i : i + BLOCK, None], labs_2[None, j : j + BLOCK]
            block = ciede2000(rows, columns)
            table[i : i + BLOCK, j : j + BLOCK] = block
            if same and j > i:  # the other half is its mirror image, to the last bit
                table[j : j + BLOCK, i : i + BLOCK] = block.T
    return table


def _of_mean_hue(a_1, b_1, C_1, a_2, b_2, C_2):
    """T and the blue region's turn (radians), from the direction of the mean hue.

    The mean hue is that of the sum of the two unit vectors, so the cosines of its
    multiples are polynomials. A colour without chroma has no hue and leaves the other's
    as the mean. Hues exactly opposite have no mean direction: there the standard halves
    the sum of the angles.
    """
    unit_1, unit_2 = np.maximum(C_1, TINY), np.maximum(C_2, TINY)
    across, up = a_1 / unit_1 + a_2 / unit_2, b_1 / unit_1 + b_2 / unit_2
    long = np.sqrt(across * across + up * up)
    opposite = (long < 1e-7) & (C_1 * C_2 > 0)
    long = np.maximum(long, TINY)
    cos, sin = across / long, up / long
    if np.any(opposite):
        angles = np.arctan2(b_1, a_1) % (2 * np.pi) + np.arctan2(b_2, a_2) % (2 * np.pi)
        cos = np.where(opposite, np.cos(angles / 2), cos)
        sin = np.where(opposite, np.sin(angles / 2), sin)
    cos_2, sin_2 = 2 * cos * cos - 1, 2 * sin * cos
    T = (
        1
        - 0.17 * (COS_30 * cos + SIN_30 * sin)
        + 0.24 * cos_2
        + 0.32
        * (COS_6 * (cos_2 * cos - sin_2 * sin) - SIN_6 * (sin_2 * cos + cos_2 * sin))
        - 0.20 * (COS_63 * (2 * cos_2 * cos_2 - 1) + SIN_63 * 2 * sin_2 * cos_2)
    )
    hue = np.degrees(np.arctan2(sin, cos))
    away = (hue + 360.0 * (hue < 0) - 275) / 25
    return T, np.radians(30) * np.exp(-away * away)


def _hue_difference(a_1, b_1, C_1, a_2, b_2, C_2):
    """dH' = 2 sqrt(C1 C2) sin(dh/2), signed, from products instead of angles.

    Either form loses digits where the other is sound: the quotient near opposite hues,
    the root near equal ones. Of two hues exactly opposite the second lies ahead unless
    its angle is the smaller one, so that the difference turns its sign with the pair.
    """
    cross, dot = a_1 * b_2 - a_2 * b_1, a_1 * a_2 + b_1 * b_2
    product = C_1 * C_2
    alike = np.maximum(product + dot, TINY)
    apart = np.sqrt(np.maximum(2 * (product - dot), 0))
    second_half = (b_1 < 0) | ((b_1 == 0) & (a_1 < 0))
    signed = np.where((cross < 0) | ((cross == 0) & second_half), -apart, apart)
    return np.where(dot > 0, cross * np.sqrt(2 / alike), signed)
