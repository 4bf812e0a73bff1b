"""The colours of a ball from a region of a photograph, and how sure they are.

A yarn's colour is that of its lit crowns in the middle of the ball. Shadow between
strands, the fall of light round the ball, what is over-exposed, and ground that shows
beside the ball are told apart and left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from kit.colour import Mix
from kit.colour.delta_e import ciede2000_table
from kit.colour.spaces import chroma_hue, linear_to_lab
from kit.errors import Fault, KitError
from kit.photo.ball_colours import BallColours, face_colours, face_of
from kit.photo.correction import NO_CORRECTION, Correction, corrected
from kit.photo.image import Photo
from kit.photo.palette import lab16_to_linear
from kit.photo.regions import LEAST_PIXELS, Region, cutting

# Our own settings, made on drawn yarn (tests/wound.py).
SAME = 3.0  # dE00: colours nearer than this are one
LEAST_SHARE, MOST_COLOURS = 0.015, 6
RIM, MIDDLE = 0.85, 0.6  # of a region's half: ground shows in the rim alone
SLIMMEST = 20  # times as long as wide: in a slimmer region no strands are seen
UNLIKE = 8.0  # dE00: ground is at least so far from the ball's colours
TOLD_CLIPPED, MOST_CLIPPED = 0.03, 0.7


@dataclass(frozen=True, slots=True)
class Sample:
    """What a region shows.

    spreads   for each colour: dE00 within which the truth lies in 90 % of cases,
              sampling and correction together
    style     "solid", "tonal", "variegated" or "speckled"
    clipped   share of the region's pixels that are over-exposed, 0-1
    said      what the user should be told, in sentences
    """

    mix: Mix
    spreads: tuple[float, ...]
    style: str
    clipped: float = 0.0
    sentences: tuple[str, ...] = ()


def sample(
    photo: Photo,
    region: Region,
    correction: Correction = NO_CORRECTION,
    *,
    seed: int = 0,
) -> Sample:
    """The colours of one ball or swatch, the largest share first. Raises KitError.

    One to six colours with shares, as many as the pixels ask for. The same photo,
    region and seed give the same sample.
    """
    piece = cutting(photo, region)
    if max(piece.inside.shape) > SLIMMEST * min(piece.inside.shape):
        raise KitError(_too_slim(region))
    clipped = float(piece.clipped[piece.inside].mean())
    face = face_of(piece)
    if clipped > MOST_CLIPPED or face.crown.sum() < LEAST_PIXELS:
        raise KitError(_overexposed(region, clipped))
    colours = face_colours(face, np.random.default_rng(seed))
    linear = lab16_to_linear(colours.lab16)
    labs = linear_to_lab(corrected(correction, linear, (region.x, region.y)))
    counts, ground = _without_ground(colours, ciede2000_table(labs, labs))
    counts = _together(counts, labs)
    order = [int(k) for k in np.argsort(-counts, kind="stable") if counts[k] > 0]
    shares = counts[order] / counts.sum()
    mix = Mix(tuple(map(tuple, labs[order].tolist())), tuple(shares.tolist()))
    spreads = np.hypot(_own_spreads(colours, order, shares), correction.worst90)
    style = style_of(mix)
    return Sample(mix, tuple(spreads.tolist()), style, clipped, _told(clipped, ground))


def _without_ground(
    colours: BallColours, apart: np.ndarray
) -> tuple[np.ndarray, float]:
    """How many pixels each colour has, and the share that is ground beside the ball.

    Ground shows in the rim of a region that was drawn too large, never in its middle,
    and is no shade of a colour that does.
    """
    n = len(colours.lab16)
    far = np.hypot(*colours.places.T)
    counts = np.bincount(colours.own, minlength=n)
    rim = np.bincount(colours.own[far > RIM], minlength=n)
    middle = np.bincount(colours.own[far < MIDDLE], minlength=n)
    within = middle >= 0.005 * middle.sum()
    alone = np.min(apart[:, within], axis=1, initial=np.inf) > UNLIKE
    ground = (rim > 0.1 * rim.sum()) & ~within & alone
    return np.where(ground, 0, counts), float(counts[ground].sum() / counts.sum())


def _together(counts: np.ndarray, labs: np.ndarray) -> np.ndarray:
    """Counts (k,) with look-alikes, the smallest and all beyond six given to another.

    The nearest colour that is left takes them over.
    """
    counts, apart = counts.astype(float), ciede2000_table(labs, labs)
    np.fill_diagonal(apart, np.inf)
    for k in np.argsort(counts, kind="stable"):
        left = np.flatnonzero((counts > 0) & (np.arange(len(counts)) != k))
        if not counts[k] or not len(left):
            continue
        to = left[apart[k, left].argmin()]
        small = counts[k] < LEAST_SHARE * counts.sum() or len(left) >= MOST_COLOURS
        if small or apart[k, to] < SAME:
            counts[to] += counts[k]
            counts[k] = 0
    return counts


def _told(clipped: float, ground: float) -> tuple[str, ...]:
    said = []
    if clipped > TOLD_CLIPPED:
        said.append(
            f"{clipped:.0%} of the region is over-exposed and was left out; its colour "
            "may be lighter than it seems."
        )
    if ground:
        said.append(
            f"{ground:.0%} of the region shows the ground beside the ball and was left "
            "out."
        )
    return tuple(said)


def _too_slim(region: Region) -> Fault:
    says = f"{region.called} is over {SLIMMEST} times as long as it is wide"
    advice = "Draw it rounder, over more of the ball."
    return Fault("too_slim", says=says, advice=advice)


def _overexposed(region: Region, clipped: float) -> Fault:
    says = (
        f"{region.called} is over-exposed: {clipped:.0%} of its pixels hold no colour"
    )
    advice = "Take the photo again with less light on it, or a shorter exposure."
    return Fault("clipped", says=says, advice=advice)


# --- how sure -------------------------------------------------------------------------

# dE00 that 90 % of found colours stay within, fitted on drawn yarn (tests/wound.py):
# a floor, more where a colour's light varies, more for small shares and for colours
# that no crown shows.
FLOOR, BY_LIGHT, IF_SMALL, IF_BETWEEN = 1.2, 80.0, 3.0, 2.0
SMALL = 0.12


def _own_spreads(
    colours: BallColours, order: Sequence[int], shares: np.ndarray
) -> np.ndarray:
    between = ~colours.on_crown[order]
    unsteady = FLOOR + BY_LIGHT * colours.unsteady[order]
    return unsteady + IF_SMALL * (shares < SMALL) + IF_BETWEEN * between


# --- style ----------------------------------------------------------------------------

BASE = 0.55  # a speckled yarn's main colour has at least this share
SPECK = 0.22  # and each speck at most this
CHROMA_APART = 18.0  # C*


def style_of(mix: Mix) -> str:
    """What such a mix is most likely called; a guess, our own rules.

    One colour: solid. One hue in light and dark: tonal. A main colour with little of
    others: speckled. Else variegated.

    >>> style_of(Mix(((60, 5, 30), (48, 5, 27)), (2, 1)))
    'tonal'
    """
    if len(mix.labs) == 1:
        return "solid"
    chroma, hue = np.array([chroma_hue(lab) for lab in mix.labs]).T
    turn = np.abs((hue[:, None] - hue + 180) % 360 - 180)
    across = 2 * np.sqrt(np.outer(chroma, chroma)) * np.sin(np.radians(turn / 2))
    if max(np.ptp(chroma), across.max()) < CHROMA_APART:
        light = [lab[0] for lab in mix.labs]
        if np.ptp(light) < 30:
            return "tonal"
    if mix.shares[0] >= BASE and max(mix.shares[1:]) <= SPECK:
        return "speckled"
    return "variegated"
