"""Yarns and runs for tests: made by hand, drawn with a seed, or by Hypothesis."""

import random
from collections.abc import Sequence
from dataclasses import replace

from hypothesis import strategies as st

from kit.colour import Mix, solid
from kit.stash import Label, Yarn

LABEL = Label("fingering", 400.0, False, "solid", "smooth", "", "", "")


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
