"""Yarns and runs for tests: made by hand, drawn with a seed, or by Hypothesis."""

import math
import random
from collections.abc import Sequence
from dataclasses import replace

from hypothesis import strategies as st

from kit.blanket import Yarn
from kit.blanket.stash import YarnLabel
from kit.colour import Mix
from kit.colour.mixes import solid

LABEL = YarnLabel("fingering", 400.0, False, "solid", "smooth", "", "", "")


def yarn(name: str, colour, *, grams=50.0, family="", role="use") -> Yarn:
    """A yarn of one CIELAB colour, an L* alone (a grey), or a mix."""
    if isinstance(colour, (int, float)):
        colour = (colour, 0.0, 0.0)
    mix = colour if isinstance(colour, Mix) else solid(colour)
    metres = None if grams is None else 4 * grams
    return Yarn(name, 1, mix, grams, metres, LABEL, family, role)


def names(yarns: Sequence[Yarn]) -> list[str]:
    return [one.name for one in yarns]


def drawn(n: int, seed: int, *, grams: Sequence[float] = (50.0,)) -> list[Yarn]:
    """n yarns of any colour, a third of them in two colours."""
    rng = random.Random(seed)

    def lab():
        return rng.uniform(15, 95), rng.uniform(-35, 35), rng.uniform(-35, 35)

    mixes = [
        Mix((lab(), lab()), (rng.choice((1, 2, 3)), 1)) if i % 3 == 2 else solid(lab())
        for i in range(n)
    ]
    return [yarn(f"y{i:03}", m, grams=rng.choice(grams)) for i, m in enumerate(mixes)]


def held_back(n: int, seed: int, *, grams: Sequence[float] = (50.0,)) -> list[Yarn]:
    """n yarns kept for bridging, named apart from those of `drawn`."""
    return [
        replace(one, name=f"b{one.name[1:]}", role="bridge")
        for one in drawn(n, seed, grams=grams)
    ]


# Half L* steps, as a shade card has them: ties happen, numbers near 0 do not.
labs = st.tuples(
    st.integers(24, 194).map(lambda half: half / 2),
    st.integers(-45, 45).map(float),
    st.integers(-45, 45).map(float),
)
greys = st.integers(10, 196).map(lambda half: (half / 2, 0.0, 0.0))


@st.composite
def mixes(draw, *, most=3, colours=labs):
    n = draw(st.integers(1, most))
    chosen = draw(st.lists(colours, min_size=n, max_size=n, unique=True))
    return Mix(tuple(chosen), tuple(draw(st.integers(1, 9)) for _ in chosen))


@st.composite
def runs(draw, *, least=1, most=7, roles=("use",), grams=(50.0,), colours=labs):
    """A list of yarns with unique names in no order."""
    n = draw(st.integers(least, most))
    return [
        yarn(
            f"y{i:02}",
            draw(mixes(most=2, colours=colours)),
            grams=draw(st.sampled_from(grams)),
            role=draw(st.sampled_from(roles)),
        )
        for i in range(n)
    ]


def leftovers(n: int, seed: int) -> list[Yarn]:
    """n yarns as a stash has them: a fifth neutral, the rest of seven hues; L* 15-95;
    one in eight nearly like another; a quarter with a second colour."""
    rng = random.Random(seed)
    hues = [rng.uniform(0, 360) for _ in range(7)]
    made: list[Mix] = []
    for _ in range(n):
        lab = _like(rng.choice(made), rng) if made and rng.random() < 0.12 else None
        lab = lab or _of_a_hue(rng.choice(hues), rng)
        value = lab[0] + rng.uniform(-25, 25)
        other = (min(98.0, max(8.0, value)), lab[1] / 2, lab[2] / 2)
        two = rng.random() < 0.25
        made.append(Mix((lab, other), (2, 1)) if two else solid(lab))
    return [yarn(f"y{i:03}", mix) for i, mix in enumerate(made)]


def _like(mix: Mix, rng: random.Random) -> tuple[float, float, float]:
    L, a, b = (one + rng.gauss(0, 1.2) for one in mix.labs[0])
    return min(95.0, max(15.0, L)), a, b


def _of_a_hue(hue: float, rng: random.Random) -> tuple[float, float, float]:
    grey = rng.random() < 0.2
    chroma = rng.uniform(0, 6) if grey else rng.uniform(10, 50)
    angle = math.radians(hue + rng.gauss(0, 10))
    a, b = chroma * math.cos(angle), chroma * math.sin(angle)
    return rng.uniform(15, 95), a, b
