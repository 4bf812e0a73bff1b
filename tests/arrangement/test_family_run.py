"""Orders by family, judged by trying every order of the families."""

import random
from dataclasses import replace
from itertools import pairwise, permutations

import numpy as np
import pytest
from hypothesis import given

from kit.arrangement.family_run import by_family
from kit.arrangement.orders import arrange, by_value_and_name, family_name
from kit.blanket import Yarn
from kit.blanket.choices import Arranging
from kit.colour import mean_lab
from kit.colour.families import FAMILIES, family_hue, is_light
from kit.colour.spaces import hex_to_lab
from kit.errors import KitError
from tests.helpers.orders import VIEW, all_by_family, fast_scores, largest
from tests.helpers.yarns import drawn, names, runs, yarn


def spread_families(n_families: int, seed: int) -> list[Yarn]:
    """Two to four yarns in each of so many families, neutrals on some sides or none."""
    rng = random.Random(seed)
    chosen = rng.sample([f for f in FAMILIES if f != "neutrals"], n_families)
    chosen += [f"neutrals {s}" for s in ("light", "dark") if rng.random() < 0.5]
    made = []
    for family in chosen:
        low, high = {"neutrals light": (50, 95), "neutrals dark": (10, 49)}.get(
            family, (15, 95)
        )
        for _ in range(rng.randint(1, 3)):
            lab = rng.uniform(low, high), rng.uniform(-30, 30), rng.uniform(-30, 30)
            made.append(yarn(f"y{len(made):02}", lab, family=family.split()[0]))
    return made


@pytest.mark.parametrize("families", ["alternate", "light-to-dark"])
@pytest.mark.parametrize("family_order", ["hue", "any"])
@pytest.mark.parametrize("n_families", [0, 1, 2, 3, 4, 5, 6])
def test_family_order_against_every_order(families, family_order, n_families):
    """No allowed order of families, begun either way, is better: largest, then sum."""
    arranging = Arranging(families=families, family_order=family_order)
    for seed in range(3 if n_families > 4 else 12):
        yarns = spread_families(n_families, seed)
        ordered = by_value_and_name(yarns)
        place = {one.name: k for k, one in enumerate(ordered)}
        chains = list(all_by_family(ordered, arranging))
        falling = [c for c in chains if c and place[c[0].name] <= place[c[-1].name]]
        scores = fast_scores(ordered, falling or chains)
        found = arrange(yarns, arranging, view=VIEW).yarns
        assert list(found) in chains
        if found:
            mine = fast_scores(ordered, [found])[0]
            assert mine == pytest.approx(min(scores), abs=1e-6)


@pytest.mark.parametrize("family_order", ["hue", "any"])
def test_accents_cost_nothing_among_families(family_order):
    """Families are turned for the steps that count, whatever an accent lies beside."""
    arranging = Arranging(family_order=family_order)
    for seed in range(12):
        yarns = spread_families(4, seed)
        for k in (1, 4):
            yarns[k] = replace(yarns[k], role="accent")
        ordered = by_value_and_name(yarns)
        place = {one.name: k for k, one in enumerate(ordered)}
        chains = [
            chain
            for chain in all_by_family(ordered, arranging)
            if place[chain[0].name] <= place[chain[-1].name]
        ]
        found = arrange(yarns, arranging, view=VIEW).yarns
        best = min(map(largest, chains))
        assert largest(found) == pytest.approx(best, abs=1e-6)


@pytest.mark.parametrize("families", ["alternate", "light-to-dark"])
def test_any_order_is_never_worse_than_hue_order(families):
    """All orders include those round the hue circle."""
    for seed in range(25):
        yarns = drawn(24, seed)
        hue, free = (
            arrange(yarns, Arranging(families=families, family_order=o), view=VIEW)
            for o in ("hue", "any")
        )
        assert largest(free.yarns) <= largest(hue.yarns) + 1e-6


@given(runs(least=4, most=12))
def test_families_keep_together_and_turn_about(yarns):
    """Neutrals at the ends, each family in one stretch, neighbours opposite ways."""
    run = arrange(yarns, Arranging(), view=VIEW).yarns
    stretches = families_of(run)
    kinds = [kind for kind, _ in stretches]
    assert len(set(kinds)) == len(kinds)
    assert "light neutrals" not in kinds[1:]
    assert "dark neutrals" not in kinds[:-1]
    ways = []
    for kind, stretch in stretches:
        down, up = by_value_and_name(stretch), by_value_and_name(stretch)[::-1]
        assert tuple(stretch) in (down, up)
        if "neutrals" in kind:
            assert tuple(stretch) == down
        else:
            ways.append(None if len(stretch) == 1 else tuple(stretch) == down)
    told = [(k % 2, way) for k, way in enumerate(ways) if way is not None]
    assert len({way == (place == 0) for place, way in told}) <= 1


def families_of(run) -> list[tuple[str, list[Yarn]]]:
    """The stretches of one family along a run, neutrals told apart by lightness."""
    stretches: list[tuple[str, list[Yarn]]] = []
    for one in run:
        kind = family_name(one)
        if kind == "neutrals":
            light = is_light(mean_lab(one.mix))
            kind = "light neutrals" if light else "dark neutrals"
        if not stretches or stretches[-1][0] != kind:
            stretches.append((kind, []))
        stretches[-1][1].append(one)
    return stretches


def test_every_family_light_to_dark():
    """Without alternation each family begins with its lightest yarn."""
    run = arrange(drawn(40, 6), Arranging(families="light-to-dark"), view=VIEW).yarns
    for _, stretch in families_of(run):
        assert tuple(stretch) == by_value_and_name(stretch)


def test_hue_order_goes_round_the_circle():
    """The families between the neutrals turn one way round and do not come back."""
    run = arrange(drawn(60, 8), Arranging(), view=VIEW).yarns
    kinds = [kind for kind, _ in families_of(run) if "neutrals" not in kind]
    assert len(kinds) > 5
    hues = [family_hue(kind) for kind in kinds]
    turns = {(b - a) % 360 < 180 for a, b in pairwise(hues)}
    assert len(turns) == 1
    way = 1 if turns == {True} else -1
    assert sum(way * (b - a) % 360 for a, b in pairwise(hues)) < 360


LISTED = [
    yarn("cream", hex_to_lab("#f3eee0")),
    yarn("coal", hex_to_lab("#222222")),
    yarn("sky", hex_to_lab("#88b8e0")),
    yarn("navy", hex_to_lab("#1c2f6b")),
    yarn("rose", hex_to_lab("#ee99b4")),
    yarn("leaf", hex_to_lab("#4e8f3a")),
]


@pytest.mark.parametrize(
    ("listed", "kinds"),
    [
        (
            ("greens", "blues", "pinks"),
            ["light neutrals", "greens", "blues", "pinks", "dark neutrals"],
        ),
        (
            ("pinks", "greens", "pinks"),
            ["light neutrals", "pinks", "greens", "blues", "dark neutrals"],
        ),
        (
            ("yellows", "blues"),
            ["light neutrals", "blues", "greens", "pinks", "dark neutrals"],
        ),
    ],
)
def test_listed_families_stand_as_listed(listed, kinds):
    """Listed families come in that order, once; others follow round the circle."""
    run = arrange(LISTED, Arranging(family_order=listed), view=VIEW).yarns
    assert [kind for kind, _ in families_of(run)] == kinds
    assert len(run) == len(LISTED)


def test_listed_neutrals_stand_where_listed():
    """Neutrals that are on the list stay together in their place there."""
    arranging = Arranging(family_order=("pinks", "neutrals", "greens"))
    run = arrange(LISTED, arranging, view=VIEW).yarns
    at = names(run)
    assert at[0] == "rose"
    assert set(at[1:3]) == {"cream", "coal"}
    assert at[3] == "leaf"


@pytest.mark.parametrize("word", ["pinks", "Pink", " PINKS "])
def test_family_column_overrides(word):
    """A yarn stands in the family its own column names, however that is written."""
    navy = replace(LISTED[3], family=word)
    assert family_name(navy) == "pinks"
    yarns = [navy, *(one for one in LISTED if one.name != "navy")]
    kinds = dict(families_of(arrange(yarns, Arranging(), view=VIEW).yarns))
    assert names(kinds["blues"]) == ["sky"]
    assert set(names(kinds["pinks"])) == {"rose", "navy"}


def test_family_column_may_say_neutral():
    """A colour called grey opens or closes with the other neutrals."""
    yarns = [replace(one, family="greys" * (one.name == "leaf")) for one in LISTED]
    run = arrange(yarns, Arranging(), view=VIEW).yarns
    assert names(families_of(run)[0][1]) == ["cream", "leaf"]


def test_unknown_family_is_said():
    """A family that there is not is answered with the nearest that there is."""
    with pytest.raises(
        KitError, match='No family called "pinkz". Did you mean "pinks"'
    ):
        arrange([*LISTED, yarn("a", 50, family="pinkz")], Arranging(), view=VIEW)


def test_a_light_neutral_darker_than_all_families():
    """It opens the run, so no order begins at its lighter end: the best of those that
    there are is taken."""
    kinds = ["blues", "browns", "pinks", "neutrals"]
    costs = np.array(
        [[0, 17.4, 12.9, 13.6], [17.4, 0, 15.2, 15.4], [12.9, 15.2, 0, 15.6],
         [13.6, 15.4, 15.6, 0]]
    )  # fmt: skip
    arranging = Arranging(by="family", family_order="any")
    run = by_family(kinds, [True] * 4, arranging, costs)
    every = [(3, *rest) for rest in permutations(range(3))]
    judged = [
        (max(costs[a, b] for a, b in pairwise(way)),
         sum(costs[a, b] for a, b in pairwise(way)))
        for way in every
    ]  # fmt: skip
    assert judged[every.index(tuple(run))] == min(judged)
