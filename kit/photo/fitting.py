"""Colours fitted to colours: what a camera made of known patches, undone.

In linear light: a contrast curve read off the greys where that helps, then a
root-polynomial. How much of either is decided by patches left out of the fit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kit.colour import ciede2000
from kit.colour.spaces import LINEAR_TO_XYZ, linear_to_lab

DEGREES = (1, 2, 3, 4)
LEAST_GREYS = 4  # when one is left out, for a curve of three coefficients (ours)
WORTH = 0.9  # of the error without one, or no curve is taken (ours)
DARKEST = 1e-4  # linear light; less has no logarithm worth having
SLOPES = 0.5, 2.0  # of the curve, darker and lighter than any grey (ours)


@dataclass(frozen=True, slots=True)
class Fit:
    """How linear light of a photo becomes true linear sRGB.

    degree   of the root-polynomial; 1 is a plain 3 x 3 matrix
    terms    its coefficients, three rows
    curve    () for none, else (c2, c1, c0, least, most): the logarithm of true light is
             a parabola of that of seen light, read off greys from least to most
    grey     the colour of grey in the photo, luminance 1: the curve acts beside it
    """

    degree: int
    terms: tuple[tuple[float, ...], ...]
    curve: tuple[float, ...] = ()
    grey: tuple[float, ...] = (1.0, 1.0, 1.0)


PLAIN = Fit(1, ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)))


def fitted(fit: Fit, linear: np.ndarray) -> np.ndarray:
    """Linear light (n, 3) as the fit has it, not below 0."""
    straight = _straight(fit.curve, np.array(fit.grey), linear)
    return np.maximum(_expanded(straight, fit.degree) @ np.array(fit.terms).T, 0)


def fit_colours(
    seen: np.ndarray, true: np.ndarray, greys: np.ndarray, *, degree: int, curved: bool
) -> Fit:
    """The fit of this kind to patches: linear light `seen` and `true` (n, 3).

    `greys` (n,) says which patches are grey. Root-polynomials: Finlayson, Mackiewicz &
    Hurlbert 2015, IEEE Trans. Image Process. 24(5):1460, as colour-science has them.
    """
    from colour.characterisation import matrix_colour_correction_Finlayson2015  # late

    grey, curve = _curve(seen[greys], true[greys]) if curved else (np.ones(3), ())
    straight = np.maximum(_straight(curve, grey, seen), 0)
    # Root-polynomials grow in step with brightness, so a weight may multiply both.
    pair = weighted(straight, true), weighted(true, true)
    terms = matrix_colour_correction_Finlayson2015(*pair, degree, True)
    rows = tuple(tuple(row) for row in terms.tolist())
    return Fit(degree, rows, curve, tuple(grey.tolist()))


def best_fit(
    seen: np.ndarray, true: np.ndarray, greys: np.ndarray
) -> tuple[Fit, np.ndarray]:
    """The fit that holds best on patches it did not see, and its errors there, dE00.

    The root mean square decides, so that a few wild errors count.
    """
    curves = (False, True) if greys.sum() > LEAST_GREYS else (False,)
    kinds = [(curved, degree) for curved in curves for degree in DEGREES]
    errors, rms = {}, {}
    for curved, degree in kinds:
        off = left_out_errors(seen, true, greys, degree=degree, curved=curved)
        errors[curved, degree] = off
        rms[curved, degree] = float(np.sqrt((off**2).mean())) / (WORTH if curved else 1)
    curved, degree = best = min(rms, key=lambda kind: rms[kind])
    fit = fit_colours(seen, true, greys, degree=degree, curved=curved)
    return fit, errors[best]


def left_out_errors(
    seen: np.ndarray, true: np.ndarray, greys: np.ndarray, *, degree: int, curved: bool
) -> np.ndarray:
    """Error, dE00, of each patch in a fit of this kind to all the others (n,)."""
    found = []
    for k in range(len(seen)):
        rest = np.arange(len(seen)) != k
        kept = seen[rest], true[rest], greys[rest]
        fit = fit_colours(*kept, degree=degree, curved=curved)
        found.append(fitted(fit, seen[[k]])[0])
    labs = linear_to_lab(np.array(found))
    return ciede2000(labs, linear_to_lab(np.maximum(true, 0)))


def weighted(linear: np.ndarray, reference: np.ndarray) -> np.ndarray:
    """Rows of colours weighted so that an error counts nearly as it looks.

    Half (as a power) of what the formulas say: CIELAB's lightness grows by Y^(-2/3),
    CIEDE2000 divides chroma by 1 + 0.045 C*. In simulation half was better than all
    or nothing, dark patches being less certain (our own choice).
    """
    _, a, b = linear_to_lab(np.maximum(reference, 0)).T
    light = np.maximum(reference @ LINEAR_TO_XYZ[1], 0.02)
    weight = (light ** (2 / 3) * (1 + 0.045 * np.hypot(a, b))) ** -0.5
    return np.asarray(linear) * weight[:, None]


def _curve(seen: np.ndarray, true: np.ndarray) -> tuple[np.ndarray, tuple[float, ...]]:
    """The colour of grey, and the parabola from seen to true light of greys."""
    light = seen @ LINEAR_TO_XYZ[1]
    grey = (seen / light[:, None]).mean(axis=0)
    x = np.log(np.maximum(light, DARKEST))
    y = np.log(np.maximum(true @ LINEAR_TO_XYZ[1], DARKEST))
    parabola = np.polyfit(x, y, 2).tolist()
    return grey, (*parabola, float(x.min()), float(x.max()))


def _straight(
    curve: tuple[float, ...], grey: np.ndarray, linear: np.ndarray
) -> np.ndarray:
    """Light with the contrast curve undone, each channel beside that of grey."""
    if not curve:
        return np.asarray(linear, dtype=float)
    *parabola, least, most = curve
    x = np.log(np.maximum(linear / grey, DARKEST))
    held = np.clip(x, least, most)
    slope = np.clip(2 * parabola[0] * held + parabola[1], *SLOPES)
    return np.exp(np.polyval(parabola, held) + slope * (x - held)) * grey


def _expanded(linear: np.ndarray, degree: int) -> np.ndarray:
    if degree == 1:
        return linear
    from colour.characterisation import polynomial_expansion_Finlayson2015  # late: slow

    return polynomial_expansion_Finlayson2015(np.maximum(linear, 0), degree, True)
