"""What the eye makes of a picture from far off: published filters for light and colour.

Zhang & Wandell (1996, SID Digest 27; 1997, J. SID 5:61, "A spatial extension of CIELAB
for digital color-image reproduction"): the picture is taken apart into a light, a
red-green and a blue-yellow plane, each is blurred as much as the eye blurs it, and they
are put together again. It holds for a steady look at a well lit surface.
"""

from __future__ import annotations

import numpy as np

from kit.colour.spaces import LINEAR_TO_XYZ

# Weights and spreads (degrees of visual angle) of the Gaussians of each plane, as
# several public implementations carry them for the 1996 paper; its own table was not at
# hand. A kernel is the sum of w * exp(-r^2 / spread^2), each Gaussian of sum 1, the
# weights then brought to sum 1. One implementation reads a spread as the half width at
# half height instead, and comes with other numbers.
KERNELS = {
    "light": ((0.921, 0.0283), (0.105, 0.133), (-0.108, 4.336)),
    "red-green": ((0.531, 0.0392), (0.330, 0.494)),
    "blue-yellow": ((0.488, 0.0536), (0.371, 0.386)),
}
# XYZ (2 degree observer) to the three planes, as the authors' released code has it. The
# paper's three decimals agree but for the sign of Z in the second row, -0.077: with it,
# white is not near 0 in red-green and dark specks on a pale ground turn magenta. With
# this one a black-and-white pattern still takes on a trace of a tint, as published.
XYZ_TO_OPPONENT = np.array(
    [
        [0.2787336, 0.7218031, -0.1065520],
        [-0.4487736, 0.2898056, 0.0771569],
        [0.0859513, -0.5899859, 0.5011089],
    ]
)
LINEAR_TO_OPPONENT = XYZ_TO_OPPONENT @ LINEAR_TO_XYZ
OPPONENT_TO_LINEAR = np.linalg.inv(LINEAR_TO_OPPONENT)


def contrast_kept(plane: str, cycles_per_degree: np.ndarray) -> np.ndarray:
    """How much of a sine's contrast is left in one plane; 1 at 0 cycles per degree.

    The kernel's Fourier transform. Light goes a little over 1 between: edges gain.

    >>> contrast_kept("blue-yellow", np.array([0.0, 10.0])).round(4).tolist()
    [1.0, 0.0333]
    """
    frequency = np.asarray(cycles_per_degree, dtype=float)
    weights, spreads = np.array(KERNELS[plane]).T
    kept = np.exp(-((np.pi * spreads * frequency[..., None]) ** 2))
    return kept @ (weights / weights.sum())


def pixels_per_degree(pitch_mm: float, distance_m: float) -> float:
    """How many pixels of this pitch make one degree of visual angle (straight ahead).

    >>> round(pixels_per_degree(1.0, 3.0), 2)
    52.36
    """
    return float(2 * distance_m * 1000 * np.tan(np.radians(0.5)) / pitch_mm)


def seen_from(
    image_linear: np.ndarray, *, pixels_per_degree: float | tuple[float, float]
) -> np.ndarray:
    """A picture as it looks from where a degree spans so many pixels.

    `image_linear`: linear sRGB, shape (height, width, 3); so is what comes back, and it
    may leave 0-1 a little beside hard edges. Pixels that are not square: a pair, down
    and across. The mean stays; a flat picture stays as it is. Beyond its edge the
    picture is taken to go on as its own mirror image.
    """
    from scipy.fft import dctn, idctn  # late: slow to import

    image = np.asarray(image_linear, dtype=float)
    down, across = np.broadcast_to(np.asarray(pixels_per_degree, dtype=float), 2)
    height, width = image.shape[:2]
    # A cosine transform is the Fourier transform of the picture and its mirror image.
    rows = down * np.arange(height) / (2 * height)
    columns = across * np.arange(width) / (2 * width)
    frequency = np.hypot(rows[:, None], columns[None, :])
    waves = dctn(image @ LINEAR_TO_OPPONENT.T, axes=(0, 1))
    kept = np.stack([contrast_kept(plane, frequency) for plane in KERNELS], axis=-1)
    return idctn(waves * kept, axes=(0, 1)) @ OPPONENT_TO_LINEAR.T
