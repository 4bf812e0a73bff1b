"""Balls, choices and laid-out runs for tests of the fabric."""

import random
from dataclasses import replace

from hypothesis import strategies as st

from kit.arrangement import lay_out
from kit.arrangement.orders import by_value_and_name
from kit.blanket import Choices
from kit.blanket.choices import Arranging, Carry, Laying, Making, Pace, Size, Strands
from kit.colour import Mix
from kit.yarn import Gauge, Section
from tests.helpers.yarns import LABEL, yarn

LACE, DK = 800.0, 230.0
GAUGE = Gauge(20, 30)  # a row of 10 cm is 20 stitches and 42 cm of each strand


def ball(name, colour, metres, *, per_100g=400.0, surface="smooth", role="use"):
    """A ball of so many metres; `colour` a CIELAB colour, an L* alone, or a mix."""
    label = replace(LABEL, metres_per_100g=per_100g, surface=surface)
    one = yarn(name, colour, grams=100 * metres / per_100g, role=role)
    return replace(one, metres=metres, label=label)


def chosen(
    *,
    width_cm=100.0,
    length_cm=None,
    layout="light-to-dark",
    times=1,
    sharing="halve",
    arranging=None,
    gauge=GAUGE,
    **making,
):
    """Choices with fabric; further keywords as `Making` has them."""
    return Choices(
        "Test",
        arranging=arranging or Arranging("smoothest"),
        laying=Laying(layout, times, sharing),
        making=Making(gauge, Size(width_cm, length_cm), **making),
    )


def laid_by_value(yarns, choices):
    return lay_out(by_value_and_name(yarns), choices.laying)


def stash(n, seed, *, mixed=True, least_g=15.0):
    """n seeded balls as leftovers are: six hues and neutrals, small and large, one in
    five lace or DK where `mixed`, one in four of two colours."""
    rng = random.Random(seed)
    hues = [(rng.uniform(-40, 40), rng.uniform(-40, 40)) for _ in range(6)] + [(0, 0)]
    balls = []
    for k in range(n):
        value, (a, b) = rng.uniform(15, 95), rng.choice(hues)
        lab = value, a + rng.gauss(0, 6), b + rng.gauss(0, 6)
        colour = lab
        if k % 4 == 3:
            other = min(96.0, max(8.0, value + rng.uniform(-25, 25))), lab[2], lab[1]
            colour = Mix((lab, other), (rng.choice((1, 2, 4)), 1))
        per_100g = rng.choice([400.0] * 8 + ([LACE, DK] if mixed else [400.0]))
        grams = rng.choice(
            (rng.uniform(least_g, 25), rng.uniform(25, 60), rng.gauss(90, 9))
        )
        metres = round(max(least_g, grams) * per_100g / 100, 1)
        surface = "fluffy" if per_100g == LACE and k % 2 else "smooth"
        balls.append(
            ball(f"y{k:02}", colour, metres, per_100g=per_100g, surface=surface)
        )
    return balls


SECTIONS = (Section("moss", 5, 40.0, 0.8), Section("plain", 8, None, 1.3))


@st.composite
def blankets(draw):
    """(balls, carried balls, choices): any layout, pace, sections and carried yarns."""
    n = draw(st.integers(1, 14))
    yarns = stash(n, draw(st.integers(0, 999)), least_g=draw(st.sampled_from((1, 15))))
    sections = draw(st.sampled_from(((), SECTIONS)))
    where = draw(
        st.sampled_from(
            (
                {"rows": (3, 9)},
                {"rows": (1, 999)},
                {"family": "blues"},
                {"section": "moss"},
            )
        )
    )
    carry = (Carry("c0", **where), Carry("c0", rows=(2, 4)), Carry("c1", **where))
    carry = carry[: draw(st.integers(0, 3))]
    carried = [replace(one, name=f"c{k}") for k, one in enumerate(stash(2, n))]
    choices = chosen(
        width_cm=draw(st.sampled_from((30.0, 100.0))),
        length_cm=draw(st.sampled_from((None, 5.0, 40.0, 120.0))),
        layout=draw(st.sampled_from(("light-to-dark", "dark-to-light", "mirrored"))),
        times=draw(st.integers(1, 3)),
        sharing=draw(st.sampled_from(("halve", "pair"))),
        pace=draw(
            st.sampled_from(
                (Pace(), Pace(rows_per_colour=6), Pace(longest_rows=10), Pace("all", 1))
            )
        ),
        strands=draw(
            st.sampled_from((Strands(), Strands(least=1), Strands(750.0, least=3)))
        ),
        sections=sections,
        carry=carry,
    )
    return yarns, carried[: len({one.yarn for one in carry})], choices
