"""Photographs that never were: published reflectances, lights and camera, drawn.

A `Scene` says what lies where: which reflectance each pixel shows, how much light
reaches it, how much it shines. `photograph` takes the picture: light times reflectance
times camera sensitivity, vignetting, noise, a white balance that is a little off, the
camera's own matrix, clipping and 8 bits. All data come with colour-science: the lights
(CIE 15), the reflectances (24-patch target, Ohta 1997; 99 samples of CIE 224:2017), the
camera (Nikon 5100 as measured by the NPL; Darrodi et al. 2015, JOSA A 32:381).

`python -m tests.helpers.photos` draws the demo's photo (photo_demo.py).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from scipy.ndimage import gaussian_filter

from kit.colour import Mix
from kit.colour.spaces import (
    LINEAR_TO_XYZ,
    WHITE_D65,
    lab_to_linear,
    linear_to_srgb1,
    srgb1_to_linear,
    xyz_to_lab,
)
from kit.photo import Photo, Region

LIGHTS = ("A", "D50", "D65", "FL2")
CAMERAS = ("Nikon 5100 (NPL)", "Sigma SDMerill (NPL)")
CHART = "ColorChecker N Ohta"  # the kit's own reference is another chart's measurement
GREY, PAPER = 0.18, 0.88


# --- spectra --------------------------------------------------------------------------


def _aligned(spectrum, **beyond):
    import colour

    shape = colour.SpectralShape(380, 780, 5)
    beyond = {"method": "Constant", **beyond}
    return spectrum.copy().align(shape, extrapolator_kwargs=beyond).values


@lru_cache
def light(name):
    """Relative power of a CIE illuminant, 380-780 nm by 5 nm."""
    import colour

    return _aligned(colour.SDS_ILLUMINANTS[name])


@lru_cache
def chart_reflectances(name=CHART):
    """The 24 patches (24, 81), row by row from dark skin to black."""
    import colour

    return np.array([_aligned(s) for s in colour.SDS_COLOURCHECKERS[name].values()])


@lru_cache
def sample_reflectances():
    """99 real objects that no fit has seen (99, 81): CIE 224:2017."""
    import colour
    from colour.quality.cfi2017 import load_TCS_CIE2017

    return load_TCS_CIE2017(colour.SpectralShape(380, 780, 5)).values.T


def flat_reflectance(share):
    """A surface that reflects the same share of every wavelength."""
    return np.full(81, float(share))


def reflectance_of(linear):
    """A smooth reflectance of a linear sRGB under D65 (Mallett & Yuksel 2019)."""
    from colour.recovery import MSDS_BASIS_FUNCTIONS_sRGB_MALLETT2019 as BASIS

    return np.asarray(linear) @ np.clip(_aligned(BASIS), 0, None).T


def true_labs(reflectances):
    """CIELAB under D65 (2 degree observer) of reflectances (n, 81)."""
    import colour

    observer = _aligned(colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"])
    white = light("D65") @ observer
    return xyz_to_lab((reflectances * light("D65")) @ observer / white * WHITE_D65)


# --- the camera -----------------------------------------------------------------------


@dataclass(frozen=True)
class Camera:
    """`cast` is the share of the light's colour that the white balance leaves in.

    `noise` is the standard deviation at 18 % grey, `vignette` the loss in the corners,
    `exposure` a factor (1: 18 % grey comes out right), `curve` how much of a phone's
    contrast curve (an S) is laid over, `blur` the lens's, in pixels.
    """

    name: str = CAMERAS[0]
    cast: float = 0.2
    noise: float = 0.006
    vignette: float = 0.1
    exposure: float = 0.85
    curve: float = 0.0
    blur: float = 0.6


@lru_cache
def _sensor(name):
    """Sensitivities (81, 3), its raw daylight white, and its matrix to linear sRGB.

    The matrix keeps greys and is fitted to the target under D65, as a maker would.
    """
    import colour

    sensitivities = colour.MSDS_CAMERA_SENSITIVITIES[name]
    sensor = np.nan_to_num(_aligned(sensitivities, left=0, right=0))
    white = light("D65") @ sensor
    raw = (chart_reflectances() * light("D65")) @ sensor / white
    wanted = lab_to_linear(true_labs(chart_reflectances()))
    grey = raw.mean(axis=1, keepdims=True)
    weight = 1 / np.maximum(wanted @ LINEAR_TO_XYZ[1], 0.05)[:, None]
    spread = np.linalg.lstsq((raw - grey) * weight, (wanted - grey) * weight, None)[0]
    keep = np.full((3, 3), 1 / 3)
    return sensor, white, (np.eye(3) - keep) @ spread + keep


def raw_colours(reflectances, light_name, camera):
    """What the sensor counts (n, 3), white-balanced; 18 % grey is 0.18 in green."""
    sensor, white, _ = _sensor(camera.name)
    lit = light(light_name) @ sensor
    gains = lit * (white / lit * lit[1] / white[1]) ** camera.cast
    return (np.asarray(reflectances) * light(light_name)) @ sensor / gains


def develop(raw, camera, *, seed=0):
    """Raw (h, w, 3) to 8-bit sRGB: vignetting, noise, matrix, clipping."""
    rng = np.random.default_rng(seed)
    height, width = raw.shape[:2]
    y, x = np.ogrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j]
    raw = raw * (1 - camera.vignette * (x**2 + y**2) / 2)[..., None]
    grain = camera.noise * np.sqrt(np.maximum(raw, 0) / GREY + 0.02)
    raw = raw + grain * rng.standard_normal(raw.shape)
    return np.round(255 * _encoded(raw, camera)).astype(np.uint8)


def _encoded(raw, camera):
    """Raw (..., 3) to sRGB 0-1 by the camera's matrix and its contrast curve."""
    linear = np.clip(raw @ _sensor(camera.name)[2] * camera.exposure, 0, 1)
    srgb1 = linear_to_srgb1(linear)
    steep = srgb1 * srgb1 * (3 - 2 * srgb1)
    return srgb1 + camera.curve * (steep - srgb1)


def developed_colours(reflectances, light_name, camera):
    """Linear light (n, 3) of flat colours in the middle of a photo without noise."""
    srgb1 = _encoded(raw_colours(reflectances, light_name, camera), camera)
    return srgb1_to_linear(np.round(255 * srgb1) / 255)


# --- the scene ------------------------------------------------------------------------


@dataclass
class Scene:
    """What lies on the table. `material` (h, w) indexes `reflectances`."""

    width: int
    height: int
    table: np.ndarray = field(default_factory=lambda: flat_reflectance(0.45))
    seed: int = 0

    def __post_init__(self):
        self.rng = np.random.default_rng(self.seed)
        self.reflectances = [self.table]
        self.material = np.zeros((self.height, self.width), np.int32)
        grain = gaussian_filter(self.rng.standard_normal(self.material.shape), (1, 6))
        self.shade = 1 + 0.02 * grain / grain.std()
        self.shine = np.zeros(self.material.shape)
        self.blends = []  # of balls: (box, inside, colours held, first material)
        self.seen = []  # of balls: the share of each colour that shows in its region
        self.y, self.x = np.mgrid[: self.height, : self.width] + 0.5

    def paint(self, reflectance):
        """A new material; its index."""
        self.reflectances.append(np.asarray(reflectance))
        return len(self.reflectances) - 1

    def disc(self, x, y, diameter, reflectance):
        """A flat round swatch; returns the region inside it."""
        box = self.box(x, y, diameter, diameter)
        inside = np.hypot(self.x[box] - x, self.y[box] - y) < diameter / 2
        self.material[box][inside] = self.paint(reflectance)
        self.shade[box][inside] = 1
        return Region("", "circle", x, y, 0.8 * diameter, 0.8 * diameter)

    def card(self, x, y, width, height, reflectance):
        """An upright card round (x, y); returns the region inside it."""
        corners = [(x + i * width / 2, y + j * height / 2) for i, j in _ROUND]
        self.shadow(x, y, width, height)
        self.quadrilateral(corners, reflectance)
        return Region("", "rectangle", x, y, 0.8 * width, 0.8 * height)

    def quadrilateral(self, corners, reflectance):
        """Any four corners, filled."""
        u, v = self._inside(corners)
        inside = (u > 0) & (u < 1) & (v > 0) & (v < 1)
        self.material[inside] = self.paint(reflectance)
        self.shade[inside] = 1

    def chart(self, corners, *, gap=0.12, reflectances=None, mirrored=False):
        """The 24-patch target; `corners` of its field of patches, first patch first."""
        patches = chart_reflectances() if reflectances is None else reflectances
        u, v = self._inside(corners)
        u = 1 - u if mirrored else u
        frame = (u > -0.04) & (u < 1.04) & (v > -0.06) & (v < 1.06)
        self.material[frame] = self.paint(flat_reflectance(0.03))
        self.shade[frame] = 1
        first = len(self.reflectances)
        self.reflectances += list(patches)
        column, row = np.floor(6 * u), np.floor(4 * v)
        off = np.maximum(abs(6 * u - column - 0.5), abs(4 * v - row - 0.5))
        inside = (u > 0) & (u < 1) & (v > 0) & (v < 1) & (off < (1 - gap) / 2)
        self.material[inside] = (first + 6 * row + column)[inside]

    def shadow(self, x, y, width, height, depth=0.35):
        """Where something lies: a soft dark rim, a little down and to the right."""
        box = self.box(x, y, 1.7 * width, 1.7 * height)
        across = (self.x[box] - x - 0.03 * width) / width
        down = (self.y[box] - y - 0.04 * height) / height
        far = np.hypot(across, down)
        self.shade[box] *= 1 - depth / (1 + np.exp((far - 0.53) / 0.035))

    def box(self, x, y, width, height):
        """The piece of the picture round (x, y), as slices."""
        top, left = max(0, int(y - height / 2)), max(0, int(x - width / 2))
        return np.s_[top : int(y + height / 2) + 1, left : int(x + width / 2) + 1]

    def _inside(self, corners):
        """Where each pixel lies in a quadrilateral: (0, 0) to (1, 1)."""
        rows = []
        for (x, y), (u, v) in zip(corners, _SQUARE, strict=True):
            rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
            rows.append([0, 0, 0, x, y, 1, -v * x, -v * y, -v])
        H = np.linalg.svd(np.array(rows, float))[2][-1].reshape(3, 3)
        u, v, w = np.tensordot(H, [self.x, self.y, np.ones_like(self.x)], 1)
        return u / w, v / w

    def lean(self, across=0.0, down=0.0):
        """Uneven light: by 20 % from end to end where `across` or `down` is 0.2."""
        self.shade *= np.exp(across * (self.x / self.width - 0.5))
        self.shade *= np.exp(down * (self.y / self.height - 0.5))

    def ball(self, x, y, diameter, reflectances, **looks):
        """A ball of yarn (see tests/photo_balls.py); returns the region inside it."""
        from tests.helpers.photo_balls import wind

        return wind(self, x, y, diameter, reflectances, **looks)


_SQUARE = ((0, 0), (1, 0), (1, 1), (0, 1))
_ROUND = ((-1, -1), (1, -1), (1, 1), (-1, 1))


def photograph(scene, light_name="D65", camera=Camera(), *, seed=1):
    """The scene as a Photo, upright, at full size."""
    colours = raw_colours(np.array(scene.reflectances), light_name, camera)
    raw = colours[scene.material]
    for box, inside, held, first in scene.blends:
        raw[box][inside] = held @ colours[first : first + held.shape[1]]
    raw = raw * scene.shade[..., None] + scene.shine[..., None]
    raw = gaussian_filter(raw, (camera.blur, camera.blur, 0))
    pixels = develop(raw, camera, seed=seed)
    pixels.setflags(write=False)
    return Photo(pixels, (scene.width, scene.height), name="drawn.png")


# --- scenes that tests share ----------------------------------------------------------


def swatch_table(*, width=1000, height=760, seed=3):
    """99 flat swatches of real objects, a target and three grey cards on a table.

    Returns (scene, regions of the swatches, their true CIELAB, corners, cards). The
    swatches lie in a shuffled order, so that a colour has no place of its own.
    """
    scene = Scene(width, height, seed=seed)
    u, v = width / 1000, height / 760
    places = [(x, y) for y in range(50, 760, 66) for x in range(40, 1000, 66)]
    free = [(x, y) for x, y in places if not (300 < x < 700 and 210 < y < 560)]
    free = [free[i] for i in scene.rng.permutation(len(free))[:99]]
    corners = [(330 * u, 260 * v), (580 * u, 255 * v), (590 * u, 425 * v)]
    corners.append((325 * u, 420 * v))
    scene.chart(corners)
    spots = [(650, 340), (355, 505), (560, 500)]
    grey = flat_reflectance(GREY)
    cards = [scene.card(x * u, y * v, 60 * u, 60 * v, grey) for x, y in spots]
    samples = sample_reflectances()
    regions = [
        scene.disc(x * u, y * v, 46 * min(u, v), sample)
        for (x, y), sample in zip(free, samples, strict=True)
    ]
    return scene, regions, true_labs(samples), tuple(corners), tuple(cards)


def mix_of(labs, shares):
    """A Mix of CIELAB rows (n, 3)."""
    return Mix(tuple(map(tuple, np.asarray(labs).tolist())), tuple(shares))


if __name__ == "__main__":
    from tests.helpers.photo_demo import write

    write()
