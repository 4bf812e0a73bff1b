"""Where round things lie on a plain ground: circles in a picture, nothing about yarn.

What is not ground: another hue, lighter, much darker, or rough where the ground is
even. A shadow is ground in less light. The settings are ours, made on drawn tables.
"""

from __future__ import annotations

import math

import numpy as np

from kit.photo.image import Photo, srgb255_to_linear
from kit.photo.palette import linear_to_lab16, to_units

LONGEST = 480  # cells a side the picture is looked at in
APART = 1.6  # units: farther from the ground, a cell is not ground
IN_SHADOW = 0.35  # how much being darker counts beside being of another hue
ROUGH = 2.2  # times the ground's own roughness
LEAST, MOST = 0.03, 0.7  # of the longest and of the shortest side: a diameter
LEAST_OF_USUAL = 0.4  # of the median diameter
ROUND = 0.86  # a disc fills this part of what it is the largest circle in
OVAL = 0.62  # and an oval or a disc with a shadow this
SQUARE = 2.12  # whitened radius that 2 % exceed: 1.98 for an ellipse, 2.21 rectangle
NECK = 0.4  # of the depth of the deepest: thinner, and two shapes only touch

Circle = tuple[float, float, float]  # x, y, diameter


def circles(photo: Photo) -> list[Circle]:
    """The largest circle in each round thing, in pixels of the full-size photo."""
    from scipy import ndimage  # late: slow to import

    height, width = photo.pixels.shape[:2]
    by = max(1, math.ceil(max(height, width) / LONGEST))
    if min(height, width) < 8 * by:
        return []
    cells, rough = _cells(photo.pixels, by)
    things = _not_ground(cells, rough)
    reach = max(1, round(0.006 * max(things.shape)))
    things = ndimage.binary_closing(things, iterations=reach, border_value=0)
    things = ndimage.binary_fill_holes(things)
    things = ndimage.binary_opening(things, iterations=2 * reach)
    labels, _ = ndimage.label(things)
    found = [
        (box[1].start + x, box[0].start + y, diameter)
        for k, box in enumerate(ndimage.find_objects(labels), 1)
        for x, y, diameter in _round_parts(labels[box] == k)
    ]
    shorter, longer = sorted(things.shape)
    found = [c for c in found if LEAST * longer <= c[2] <= MOST * shorter]
    usual = float(np.median([c[2] for c in found])) if found else 0.0
    scale = by * photo.reduced
    return [
        (x * scale, y * scale, diameter * scale)
        for x, y, diameter in found
        if diameter >= LEAST_OF_USUAL * usual
    ]


def _cells(pixels: np.ndarray, by: int) -> tuple[np.ndarray, np.ndarray]:
    """Mean colours of cells, (L* + 16, a, b) (h, w, 3), and how rough each is (h, w).

    Roughness is the mean step from pixel to pixel against the level.
    """
    height, width = pixels.shape[0] // by, pixels.shape[1] // by
    pixels = pixels[: height * by, : width * by]
    green = pixels[..., 1].astype(np.int16)
    step = np.zeros(green.shape, dtype=np.float32)
    step[:-1] += np.abs(np.diff(green, axis=0))
    step[:, :-1] += np.abs(np.diff(green, axis=1))
    fine = max(1, by // 3)  # a sample of each cell is enough for its colour
    some = srgb255_to_linear(pixels[::fine, ::fine])
    linear = _mean_of_cells(some, (height, width))
    level = _mean_of_cells(green[..., None].astype(np.float32), (height, width))
    rough = _mean_of_cells(step[..., None], (height, width)) / (level + 30)
    return linear_to_lab16(linear), rough[..., 0]


def _mean_of_cells(plane: np.ndarray, shape: tuple[int, int]) -> np.ndarray:
    rows = np.linspace(0, plane.shape[0], shape[0] + 1).astype(int)[:-1]
    columns = np.linspace(0, plane.shape[1], shape[1] + 1).astype(int)[:-1]
    total = np.add.reduceat(np.add.reduceat(plane, rows, 0), columns, 1)
    n_rows = np.diff(np.append(rows, plane.shape[0]))
    n_columns = np.diff(np.append(columns, plane.shape[1]))
    return total / np.outer(n_rows, n_columns)[..., None]


def _not_ground(cells: np.ndarray, rough: np.ndarray) -> np.ndarray:
    """Cells that differ from the ground by hue, light or roughness (h, w)."""
    from scipy import ndimage

    units = to_units(cells)
    height, width = rough.shape
    y, x = np.mgrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j]
    shape = np.stack([np.ones_like(x), x, y, x * x, y * y, x * y], axis=-1)
    rim = np.ones(rough.shape, dtype=bool)
    edge = max(2, round(0.04 * min(height, width)))
    rim[edge:-edge, edge:-edge] = False
    ground = rim & _alike(units, np.median(units[rim], axis=0))
    for _ in range(4):
        rows = shape[ground]
        fitted = np.linalg.lstsq(rows, units[ground], rcond=None)[0]
        off = units - shape @ fitted
        off[..., 0] *= np.where(off[..., 0] < 0, IN_SHADOW, 1.0)
        far = np.sqrt((off**2).sum(axis=-1))
        ground = far < APART / 1.5
        if ground.sum() < 50:
            break
    usual = np.median(rough[ground]) if ground.any() else np.median(rough)
    smooth = ndimage.uniform_filter(rough, 3)
    return (far > APART) | (smooth > ROUGH * usual + 0.01)


def _alike(units: np.ndarray, colour: np.ndarray) -> np.ndarray:
    off = (units - colour) * np.array([0.5, 1, 1])
    near = (off**2).sum(axis=-1) < 4
    return near if near.sum() > 50 else np.ones_like(near)


# --- shapes ---------------------------------------------------------------------------


def _round_parts(shape: np.ndarray) -> list[Circle]:
    """The circle in a round shape, several where shapes hang together, none in others.

    What hangs together by less than its parts are deep is taken apart first.
    """
    from scipy import ndimage

    shape = np.pad(shape, 1)
    area, depth = float(shape.sum()), ndimage.distance_transform_edt(shape)
    first = _deepest(depth)
    filled = math.pi / 4 * first[2] ** 2 / area
    if filled >= ROUND or (filled >= OVAL and _squareness(shape) < SQUARE):
        return [_unpadded(first)]
    neck = NECK * depth.max()
    cores, n_cores = ndimage.label(depth > neck)
    if n_cores < 2:
        return []
    parts = (
        shape & np.isin(cores, (0, k)) & (_far_from(cores == k) <= neck)
        for k in range(1, n_cores + 1)
    )
    return [_unpadded(circle) for part in parts for circle in _round_parts(part)]


def _far_from(place: np.ndarray) -> np.ndarray:
    from scipy import ndimage

    return ndimage.distance_transform_edt(~place)


def _unpadded(circle: Circle) -> Circle:
    x, y, diameter = circle
    return x - 1, y - 1, diameter


def _deepest(depth: np.ndarray) -> Circle:
    y, x = np.unravel_index(depth.argmax(), depth.shape)
    return float(x + 0.5), float(y + 0.5), float(2 * depth[y, x] - 1)


def _squareness(shape: np.ndarray) -> float:
    """How far the corners of a shape stand out, whatever its tilt and proportions."""
    places = np.argwhere(shape).astype(float)
    places -= places.mean(axis=0)
    spread = np.linalg.cholesky(np.cov(places.T) + 1e-9 * np.eye(2))
    far = np.linalg.norm(np.linalg.solve(spread, places.T), axis=0)
    return float(np.quantile(far, 0.98))
