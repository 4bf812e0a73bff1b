"""Colours with shares: one ball, or strands held together; read, averaged, blended."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from kit.colour.notation import read_colour
from kit.colour.spaces import Lab, lab_to_hex, lab_to_xyz, xyz_to_lab
from kit.errors import Fault, KitError
from kit.late import draws_itself

_COMMA = re.compile(r",(?!\d+\s*%)")  # between colours; not the decimal one of 12,5 %
_SHARE = re.compile(r"(.*?)\s*(\d+(?:[.,]\d+)?)\s*%\s*$")


@draws_itself("kit.pictures.swatches:mix_svg")
@dataclass(frozen=True, slots=True)
class Mix:
    """Colours with shares that add to 1: one ball, or strands held together.

    Attributes
    ----------
    labs : tuple of (float, float, float)
        n colours, CIELAB D65/2°.
    shares : tuple of float
        n shares of the colours, 0 to 1, no unit; any positive numbers are brought to a
        sum of 1.

    Raises
    ------
    KitError
        Where there is not one share for each colour, or all of them are 0.

    Examples
    --------
    >>> Mix(((50.0, 0.0, 0.0), (80.0, 0.0, 0.0)), (3, 1)).shares
    (0.75, 0.25)
    """

    labs: tuple[Lab, ...]
    shares: tuple[float, ...]

    def __post_init__(self) -> None:
        try:
            labs = tuple((float(L), float(a), float(b)) for L, a, b in self.labs)
            shares = tuple(float(share) for share in self.shares)
        except (TypeError, ValueError):
            raise KitError(_not_a_mix("colours as (L*, a*, b*)")) from None
        total = sum(shares)
        sound = all(share >= 0 for share in shares) and 0 < total < np.inf
        if len(labs) != len(shares) or not sound:
            raise KitError(_not_a_mix("one positive share for each colour"))
        object.__setattr__(self, "shares", tuple(share / total for share in shares))
        object.__setattr__(self, "labs", labs)

    def __repr__(self) -> str:
        parts = (f"{colour} {share:.0%}" for colour, share in hex_shares(self))
        return f"Mix({', '.join(parts)}; L* {mean_lab(self)[0]:.1f})"


def _not_a_mix(needs: str) -> Fault:
    return Fault("not_a_mix", says=f"a mix needs {needs}", file="kit.Mix")


def solid(lab: Sequence[float]) -> Mix:
    """A mix of one colour."""
    return Mix((tuple(lab),), (1.0,))  # type: ignore[arg-type]


def hexes(mix: Mix) -> tuple[str, ...]:
    """The colours of a mix as `#rrggbb`."""
    return tuple(lab_to_hex(lab) for lab in mix.labs)


def hex_shares(mix: Mix) -> list[tuple[str, float]]:
    """A mix as pairs of hex colour and share."""
    return list(zip(hexes(mix), mix.shares, strict=True))


@lru_cache(maxsize=50_000)
def mean_lab(mix: Mix) -> Lab:
    """What the mix averages to across the room: the share-weighted mean of XYZ.

    Unresolved colours side by side mix additively (Kuehni 2011, Scholarpedia
    6(1):10686), so the mean is taken in linear light, never in hex or Lab.

    >>> from kit.colour.spaces import hex_to_lab
    >>> black_and_white = Mix((hex_to_lab("#000000"), hex_to_lab("#ffffff")), (1, 1))
    >>> lab_to_hex(mean_lab(black_and_white))
    '#bcbcbc'
    """
    if len(mix.labs) == 1:
        return mix.labs[0]
    mean = np.array(mix.shares) @ lab_to_xyz(np.array(mix.labs))
    L, a, b = xyz_to_lab(mean).tolist()
    return L, a, b


def blend(mixes: Iterable[Mix], weights: Iterable[float]) -> Mix:
    """Several mixes as one, each with its visible weight; equal colours are joined."""
    parts: dict[Lab, float] = {}
    for mix, weight in zip(mixes, weights, strict=True):
        for lab, share in zip(mix.labs, mix.shares, strict=True):
            parts[lab] = parts.get(lab, 0.0) + share * weight
    kept = {lab: share for lab, share in parts.items() if share > 0}
    return Mix(tuple(kept), tuple(kept.values()))


def read_mix(text: str, *, hints: bool = True) -> tuple[Mix, tuple[str, ...]]:
    """A `colours` cell: one colour or several with shares.

    Parameters
    ----------
    text : str
        `#c8cdd0`, `#c8cdd0 70%, #8fa3ad 30%`, CSS `lab(81% -1 -3)`, or plain names
        (CSS or the xkcd survey's; `xkcd:plum` is the survey's for certain). Shares
        left out are split evenly.
    hints : bool
        With the nearest name to an unknown one, which takes a thousand times as long as
        reading a colour.

    Returns
    -------
    Mix
        Its colours, CIELAB D65/2°.
    tuple of str
        Those names that were taken as rough.

    Raises
    ------
    KitError
        Where a colour is not one, or the shares do not add to 100 %.

    Examples
    --------
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
