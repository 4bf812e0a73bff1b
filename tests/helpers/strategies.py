"""Colours, mixes and problems drawn by Hypothesis; seeded where many are needed."""

import numpy as np
from hypothesis import strategies as st

from kit.colour import Mix
from kit.colour.spaces import hex_to_lab

# Lightness and both axes in hundredths: no draw is wasted on 1e-300.
colours = st.tuples(
    st.integers(0, 10_000).map(lambda i: i / 100),
    st.integers(-10_000, 10_000).map(lambda i: i / 100),
    st.integers(-10_000, 10_000).map(lambda i: i / 100),
)
hex_colours = st.integers(0, 0xFFFFFF).map(lambda i: f"#{i:06x}")
shown_colours = hex_colours.map(hex_to_lab)  # those that a screen can show


@st.composite
def mixes(draw, *, least=1, most=5, of=shown_colours):
    """A mix of `least` to `most` colours with whole shares; colours may repeat."""
    labs = draw(st.lists(of, min_size=least, max_size=most))
    shares = [draw(st.integers(1, 20)) for _ in labs]
    return Mix(tuple(labs), tuple(shares))


def random_labs(n, rng):
    """(n, 3) colours all over CIELAB, some of them far outside sRGB."""
    return rng.uniform((0, -128, -128), (100, 128, 128), (n, 3))


def random_mixes(n, rng, *, most=5):
    """n mixes of 1 to `most` colours that a screen can show."""
    drawn = []
    for _ in range(n):
        n_colours = int(rng.integers(1, most + 1))
        numbers = rng.integers(0, 0x1000000, n_colours)
        labs = tuple(hex_to_lab(f"#{number:06x}") for number in numbers)
        drawn.append(Mix(labs, tuple(rng.uniform(0.05, 1, n_colours).tolist())))
    return drawn


def random_costs(n, rng):
    """(n, n) symmetric steps from 1 to 30 with few ties, to nine digits."""
    half = np.triu(rng.uniform(1, 30, (n, n)), 1)
    return np.round(half + half.T, 9)
