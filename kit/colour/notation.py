"""One colour as people write it: hex digits, CSS lab(), an everyday name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from kit.colour.spaces import (
    BRADFORD,
    WHITE_D50,
    WHITE_D65,
    Lab,
    hex_to_lab,
    lab_to_xyz,
    xyz_to_lab,
)
from kit.errors import Fault, KitError, did_you_mean

# Where a cell's text may stop meaning a colour: a spreadsheet has read it as a number.
_NUMBER = re.compile(r"[+-]?[\d., ]*\d([.,]\d+)?([eE][+-]?\d+)?")
_HEX = re.compile(r"#?([0-9a-fA-F]{6}|[0-9a-fA-F]{3})")
_CSS_LAB = re.compile(r"lab\(\s*(\S+)\s+(\S+)\s+(\S+)\s*\)", re.IGNORECASE)


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
    advice = did_you_mean(" ".join(text.split()), _spelled())
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
