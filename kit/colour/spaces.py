"""Colours as numbers: hex, names and CSS lab() to CIELAB, and mixes of colours.

Scales are in the names: `srgb1` and `linear` run 0-1, `xyz` has Y = 1 for white, `lab`
is CIELAB for D65 and the 2 degree observer (L* 0-100).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import cbrt

import numpy as np

from kit.errors import Fault, KitError, unknown

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

# Where a cell's text may stop meaning a colour: a spreadsheet has read it as a number.
_NUMBER = re.compile(r"[+-]?[\d., ]*\d([.,]\d+)?([eE][+-]?\d+)?")
_HEX = re.compile(r"#?([0-9a-fA-F]{6}|[0-9a-fA-F]{3})")
_CSS_LAB = re.compile(r"lab\(\s*(\S+)\s+(\S+)\s+(\S+)\s*\)", re.IGNORECASE)
_COMMA = re.compile(r",(?!\d+\s*%)")  # between colours; not the decimal one of 12,5 %
_SHARE = re.compile(r"(.*?)\s*(\d+(?:[.,]\d+)?)\s*%\s*$")


@dataclass(frozen=True, slots=True)
class Mix:
    """Colours (`labs`) with shares that add to 1: one ball, or strands held together.

    >>> Mix(((50.0, 0.0, 0.0), (80.0, 0.0, 0.0)), (3, 1)).shares
    (0.75, 0.25)
    """

    labs: tuple[Lab, ...]
    shares: tuple[float, ...]

    def __post_init__(self) -> None:
        total = float(sum(self.shares))
        sound = all(share >= 0 for share in self.shares) and 0 < total < np.inf
        if len(self.labs) != len(self.shares) or not sound:
            raise ValueError("a mix needs one positive share for each colour")
        shares = tuple(float(share) / total for share in self.shares)
        object.__setattr__(self, "shares", shares)
        labs = tuple((float(L), float(a), float(b)) for L, a, b in self.labs)
        object.__setattr__(self, "labs", labs)

    def __repr__(self) -> str:
        parts = (f"{h} {s:.0%}" for h, s in zip(hexes(self), self.shares, strict=True))
        return f"Mix({', '.join(parts)}; L* {mean_lab(self)[0]:.1f})"


def solid(lab: Sequence[float]) -> Mix:
    """A mix of one colour."""
    return Mix((tuple(lab),), (1.0,))  # type: ignore[arg-type]


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


def hexes(mix: Mix) -> tuple[str, ...]:
    """The colours of a mix as `#rrggbb`."""
    return tuple(lab_to_hex(lab) for lab in mix.labs)


@lru_cache(maxsize=50_000)
def mean_lab(mix: Mix) -> Lab:
    """What the mix averages to across the room: the share-weighted mean of XYZ.

    Unresolved colours side by side mix additively (Kuehni 2011, Scholarpedia
    6(1):10686), so the mean is taken in linear light, never in hex or Lab.

    >>> black_and_white = Mix((hex_to_lab("#000000"), hex_to_lab("#ffffff")), (1, 1))
    >>> lab_to_hex(mean_lab(black_and_white))
    '#bcbcbc'
    """
    if len(mix.labs) == 1:
        return mix.labs[0]
    mean = np.array(mix.shares) @ lab_to_xyz(np.array(mix.labs))
    L, a, b = xyz_to_lab(mean).tolist()
    return L, a, b


def chroma_hue(lab: Sequence[float]) -> tuple[float, float]:
    """Chroma C* and hue angle in degrees (0-360) of a CIELAB colour."""
    chroma = float(np.hypot(lab[1], lab[2]))
    return chroma, float(np.degrees(np.arctan2(lab[2], lab[1])) % 360)


def blend(mixes: Iterable[Mix], weights: Iterable[float]) -> Mix:
    """Several mixes as one, each with its visible weight; equal colours are joined."""
    parts: dict[Lab, float] = {}
    for mix, weight in zip(mixes, weights, strict=True):
        for lab, share in zip(mix.labs, mix.shares, strict=True):
            parts[lab] = parts.get(lab, 0.0) + share * weight
    kept = {lab: share for lab, share in parts.items() if share > 0}
    return Mix(tuple(kept), tuple(kept.values()))


# --- text -> colour -------------------------------------------------------------------


def read_mix(text: str, *, hints: bool = True) -> tuple[Mix, tuple[str, ...]]:
    """A `colours` cell: one colour or several with shares.

    Takes `#c8cdd0`, `#c8cdd0 70%, #8fa3ad 30%`, CSS `lab(81% -1 -3)`, and plain names
    (CSS or the xkcd survey's; `xkcd:plum` is the survey's for certain). Shares left out
    are split evenly. Returns the mix and those names that were taken as rough. Raises
    KitError; `hints`: with the nearest name to an unknown one, which takes a thousand
    times as long as reading a colour.

    >>> read_mix("#c8cdd0 70%, dusty rose")
    (Mix(#c8cdd0 70%, #c0737a 30%; L* 76.0), ('dusty rose',))
    """
    labs, shares, rough = [], [], []
    for part in _COMMA.split(text):
        colour, share = _split_share(part.strip())
        lab, is_rough = read_colour(colour, hints=hints)
        labs.append(lab)
        shares.append(share)
        rough += [colour] if is_rough else []
    return Mix(tuple(labs), _fill_shares(shares, text)), tuple(rough)


def read_colour(text: str, *, hints: bool = True) -> tuple[Lab, bool]:
    """One colour as text to CIELAB, and whether it is a rough everyday name."""
    text = text.strip()
    if _HEX.fullmatch(text) and not _eaten(text):
        digits = text.lstrip("#")
        return hex_to_lab(
            digits if len(digits) == 6 else "".join(c * 2 for c in digits)
        ), False
    if match := _CSS_LAB.fullmatch(text):
        return _css_lab(match.groups(), text), False
    named = _named_hex(text)
    if named:
        return hex_to_lab(named), True
    raise KitError(_not_a_colour(text, hints))


def _eaten(text: str) -> bool:
    """Whether digits without `#` may be what a spreadsheet left of a colour."""
    if text.startswith("#") or not text.isdigit():
        return False
    return len(text) != 6 or text.endswith("0000")


def _not_a_colour(text: str, hints: bool) -> Fault:
    expected = "a colour such as #c8cdd0 or a plain English name"
    if not text:
        return Fault("missing", "nothing", expected)
    if text.startswith(("=", "@")):
        advice = "Paste the value instead of the formula."
        return Fault("formula", text, expected, advice=advice)
    if _NUMBER.fullmatch(text):
        advice = (
            "A spreadsheet turns colours without # into numbers; type the colour again "
            "with # in front."
        )
        return Fault("colour_eaten", text, expected, advice=advice)
    if text.startswith("#"):
        return _half_a_hex(text)
    if text.lower().startswith("lab("):
        return Fault("not_a_colour", text, "#rrggbb or lab(L a b)")
    if not hints:
        return Fault("not_a_colour", text, expected)
    near = unknown("colour", " ".join(text.split()), _spelled())
    hint = near.says.split(" Known:")[0].split(". ", 1)
    advice = hint[1] if len(hint) > 1 else ""
    return Fault("not_a_colour", text, expected, advice=advice)


def _half_a_hex(text: str) -> Fault:
    """The fault of a `#` with too few digits behind it, too many, or other letters."""
    digits = text[1:].strip()
    if "#" in digits:
        expected = "several colours parted by commas: #c8cdd0 70%, #8fa3ad 30%"
        return Fault("not_a_colour", text, expected)
    if not digits or set(digits) - set("0123456789abcdefABCDEF"):
        return Fault("not_a_colour", text, "#rrggbb, its digits 0 to 9 and a to f")
    n = len(digits)
    if n in (3, 6):  # behind a blank
        return Fault("not_a_colour", text, f"#{digits}, without a blank")
    count = ("", "one", "two", "", "four", "five", "", "seven", "eight")
    said = count[n] if n < len(count) else str(n)
    expected = f"#rrggbb, six digits (here {'is' if n == 1 else 'are'} {said})"
    advice = "Leave the last two out: they say how clear it is." if n == 8 else ""
    return Fault("not_a_colour", text, expected, advice=advice)


def _split_share(part: str) -> tuple[str, float | None]:
    match = _SHARE.fullmatch(part)
    if not match:
        return part, None
    return match[1].strip(), float(match[2].replace(",", "."))


def _fill_shares(shares: list[float | None], text: str) -> tuple[float, ...]:
    given = sum(share for share in shares if share is not None)
    blanks = shares.count(None)
    if blanks and given < 100 and 0 not in shares:
        each = (100 - given) / blanks
        return tuple(each if share is None else share for share in shares)
    if blanks or abs(given - 100) > 1.5 or 0 in shares:
        found = f"shares that add to {given:g} % in {text}"
        expected = "shares above 0 that add to 100 %"
        raise KitError(Fault("shares", found, expected))
    return tuple(share for share in shares if share is not None)


def _css_lab(parts: Sequence[str], text: str) -> Lab:
    """CSS Color 4 lab(): D50; 100 % is L* 100, and 125 for a and b. Adapted to D65."""
    try:
        full = (100.0, 125.0, 125.0)
        lab = np.array([_css_number(p, f) for p, f in zip(parts, full, strict=True)])
    except ValueError:
        raise KitError(Fault("not_a_colour", text, "lab(L a b)")) from None
    if not (0 <= lab[0] <= 100 and np.abs(lab[1:]).max() <= 160):
        expected = "L from 0 to 100, a and b within 160 of 0"
        raise KitError(Fault("out_of_range", text, expected))
    gain = (BRADFORD @ WHITE_D65) / (BRADFORD @ WHITE_D50)
    adapt = np.linalg.inv(BRADFORD) @ np.diag(gain) @ BRADFORD
    L, a, b = xyz_to_lab(adapt @ lab_to_xyz(lab, WHITE_D50)).tolist()
    return L, a, b


def _css_number(text: str, full: float) -> float:
    value = float(text[:-1]) / 100 * full if text.endswith("%") else float(text)
    if not np.isfinite(value) or "_" in text:  # Python's float takes 1_000
        raise ValueError(text)
    return value


def _squash(name: str) -> str:
    return "".join(name.casefold().split()).replace("gray", "grey")


SURVEY = "xkcd:"  # before a name: the survey's and not the web's


@lru_cache(maxsize=1)
def _names() -> dict[str, str]:
    """Everyday names without blanks -> hex: CSS wins over the survey's, which are there
    a second time with `xkcd:` before them."""
    from matplotlib.colors import CSS4_COLORS, XKCD_COLORS  # late: slow to import

    survey = {name.removeprefix(SURVEY): h for name, h in XKCD_COLORS.items()}
    named = (*survey.items(), *XKCD_COLORS.items(), *CSS4_COLORS.items())
    return {_squash(name): str(colour).lower() for name, colour in named}


@lru_cache(maxsize=1)
def _spelled() -> tuple[str, ...]:
    """The names without `xkcd:`, each once, with their blanks where the survey has."""
    from matplotlib.colors import CSS4_COLORS, XKCD_COLORS  # late: slow to import

    survey = [name.removeprefix(SURVEY) for name in XKCD_COLORS]
    once = {_squash(name): name for name in (*CSS4_COLORS, *survey)}
    return tuple(once.values())


def _named_hex(text: str) -> str | None:
    return _names().get(_squash(text)) if text and not _NUMBER.fullmatch(text) else None


def named_otherwise(name: str) -> str | None:
    """The xkcd survey's colour as hex where the web's is the one taken; else None.

    >>> named_otherwise("Plum"), named_otherwise("dusty rose")
    ('#580f41', None)
    """
    taken, survey = _named_hex(name), _named_hex(SURVEY + name)
    return survey if survey != taken else None
