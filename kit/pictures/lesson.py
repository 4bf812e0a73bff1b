"""Pictures that explain the numbers, drawn from the yarns of one blanket.

Each shows what a word means (value, family, marl, step, near and far) on yarns that
are there, picked by search, with the numbers beside them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import cos, hypot, inf, radians, sin
from textwrap import wrap

import numpy as np

from kit.arrangement import Arrangement, arrange
from kit.arrangement.orders import family_name, value_of
from kit.blanket import Yarn, open_blanket
from kit.blanket.whereabouts import blanket_in_view
from kit.colour import Mix, blend, mean_lab, step_table
from kit.colour.delta_e import ciede2000_terms
from kit.colour.difference import at_view, far_steps, near_steps
from kit.colour.families import CENTRES, HUE_STARTS
from kit.colour.mixes import solid
from kit.colour.scielab import pixels_per_degree, seen_from
from kit.colour.spaces import Lab, hex_to_lab, lab_to_hex, lab_to_linear, oklab
from kit.colour.steps import JUST_TOLD, LEAST_JUMP
from kit.pictures.stitches import stitches_png
from kit.pictures.svg import (
    INK,
    PAPER,
    Svg,
    drawing,
    element,
    image,
    path,
    rect,
    words_at,
)
from kit.pictures.swatches import SURROUND, side_by_side, swatch
from kit.plan import Plan, plan_blanket
from kit.yarn import counted

WIDTH, ROW, SIDE = 860, 118, 74  # px
ALIKE = 1.0  # L*: a grey photo cannot tell them apart (our convention)
LADDER = (3, 6, 10, 15, 25, 40)  # dE00: the steps shown side by side
STITCH_MM = 5
AFAR_M = (0.3, 1, 2, 4, 8, 16)
PLANE = 190  # px: radius of the hue circle, for a chroma of OUTER
OUTER = 0.20  # Oklab chroma at the rim
ALONE = "One yarn has no neighbour."


@dataclass(frozen=True, slots=True)
class Lesson:
    """A picture with its sentences; a notebook draws it as the last line of a cell."""

    svg: str
    sentences: tuple[str, ...]

    def _repr_svg_(self) -> str:
        return self.svg

    def __repr__(self) -> str:
        return "\n".join(self.sentences)


def plan_in_view() -> Plan:
    """The plan of the blanket a notebook is about."""
    return plan_blanket(open_blanket(blanket_in_view()))


def the_run(plan: Plan) -> Lesson:
    """The yarns in their order, side by side, and how many there are."""
    yarns = _yarns(plan)
    body = side_by_side(yarns, 10, 10, (WIDTH - 20) / len(yarns), 40, gap=3)
    return _lesson(body, (f"{plan.choices.name}: {counted(len(yarns), 'yarn')}.",), 60)


# --- value ----------------------------------------------------------------------------


def same_value(plan: Plan) -> Lesson:
    """Two yarns that differ most while a grey photo cannot tell them apart; a sentence
    alone where there are none."""
    yarns = _yarns(plan)
    values = np.array([value_of(yarn) for yarn in yarns])
    alike = np.abs(values[:, None] - values) < ALIKE
    one, two, step = _largest(yarns, np.where(alike, _table(yarns, view=1), -1))
    if step <= ALIKE:
        return _in_words("No two yarns here have one value and differ otherwise.")
    said = (
        f"Value (L*): {value_of(one):.1f} and {value_of(two):.1f}. In greys of the "
        "same L* they are alike.",
        f"The step between their averages is {step:.1f}: nearly all "
        "of it hue and chroma.",
    )
    body = [*_stand(one, 10), *_stand(two, 150)]
    body += [*_stand(one, 310, grey=True), *_stand(two, 450, grey=True)]
    return _lesson(body, said, ROW)


# --- families -------------------------------------------------------------------------


def hue_circle(plan: Plan) -> Lesson:
    """Every yarn by hue (round) and chroma (out), with the lines between the hues."""
    middle = PLANE + 50
    body = [
        rect(width=WIDTH, height=2 * middle, fill=SURROUND),
        element("circle", cx=middle, cy=middle, r=PLANE, fill="none", stroke=PAPER),
        *(_spoke(hue, middle) for hue in HUE_STARTS),
        *(_around(name, hue, middle) for name, hue in CENTRES.items()),
    ]
    for yarn in _yarns(plan):
        body += _dot(yarn, *_at(mean_lab(yarn.mix), middle))
    body += _family_list(plan, 2 * middle + 20)
    return _lesson(body, ("Numbers are the tags of the balls.",), 2 * middle)


def _dot(yarn: Yarn, x: float, y: float) -> list[Svg]:
    """A yarn as a dot of its average colour, edged twice, its number in it."""
    ink = "#000000" if value_of(yarn) > 50 else "#ffffff"
    dot = element("circle", cx=x, cy=y, r=9, fill=_hex(yarn.mix), stroke=PAPER)
    edge = element("circle", cx=x, cy=y, r=10, fill="none", stroke="#000000")
    no = words_at(
        str(yarn.no), x, y + 3, font_size=8, text_anchor="middle", fill=ink
    )  # fmt: skip
    return [dot, edge, no]


def _at(lab: Lab, middle: float) -> tuple[float, float]:
    """A colour's place in the plane of Oklab's a and b; what leaves it sits on it."""
    _, a, b = oklab(lab)
    out = max(1.0, hypot(a, b) / OUTER)
    return middle + a / out / OUTER * PLANE, middle - b / out / OUTER * PLANE


def _spoke(hue: float, middle: float) -> Svg:
    x, y = cos(radians(hue)), -sin(radians(hue))
    start = ("M", middle + 30 * x, middle + 30 * y)
    end = ("L", middle + PLANE * x, middle + PLANE * y)
    return path(*start, *end, stroke=PAPER, stroke_dasharray="2 4")


def _around(name: str, hue: float, middle: float) -> Svg:
    x, y = cos(radians(hue)), -sin(radians(hue))
    anchor = "start" if x > 0.3 else "end" if x < -0.3 else "middle"
    at = middle + (PLANE + 8) * x, middle + (PLANE + 16) * y
    return words_at(name, *at, text_anchor=anchor, fill="#000000", dy=4)


def _family_list(plan: Plan, left: float) -> Iterable[Svg]:
    numbers: dict[str, list[str]] = {}
    for yarn in _yarns(plan):
        numbers.setdefault(family_name(yarn), []).append(str(yarn.no))
    for k, (family, tags) in enumerate(numbers.items()):
        yield _text(f"{family}: {', '.join(tags)}", left, 40 + 22 * k)


# --- marls ----------------------------------------------------------------------------


def marl(plan: Plan) -> Lesson:
    """Two strands held together: the mean of their light, not of their codes."""
    if len(_yarns(plan)) < 2:
        return _in_words(ALONE)
    one, two = max(combinations(_yarns(plan), 2), key=_codes_miss)
    both, codes = mean_lab(_held(one, two)), _mean_of_codes(one, two)
    said = (
        f"Side by side, the eye averages the light of two strands: {lab_to_hex(both)}, "
        f"L* {both[0]:.0f}.",
        f"The mean of their colour codes would be {lab_to_hex(codes)}, "
        f"L* {codes[0]:.0f}: {_codes_miss((one, two)):.1f} off.",
    )
    body = [*_stand(one, 10), *_stand(two, 150)]
    body += _patch(lab_to_hex(both), 310, "mean of the light")
    body += _patch(lab_to_hex(codes), 450, "mean of the codes")
    return _lesson(body, said, ROW)


def _held(one: Yarn, two: Yarn) -> Mix:
    return blend([one.mix, two.mix], [0.5, 0.5])


def _mean_of_codes(one: Yarn, two: Yarn) -> Lab:
    """What averaging the hex codes of two yarns gives; shown for being wrong."""
    codes = [_code(yarn.mix) for yarn in (one, two)]
    mean = np.rint(np.mean(codes, axis=0)).astype(int).tolist()
    return hex_to_lab("#" + "".join(f"{value:02x}" for value in mean))


def _code(mix: Mix) -> list[int]:
    text = _hex(mix)
    return [int(text[at : at + 2], 16) for at in (1, 3, 5)]


def _codes_miss(pair: tuple[Yarn, Yarn]) -> float:
    return _far(_held(*pair), solid(_mean_of_codes(*pair)))


# --- steps ----------------------------------------------------------------------------


def ladder(plan: Plan) -> Lesson:
    """Pairs of plain yarns whose steps are nearest to round sizes, each pair once."""
    yarns = [yarn for yarn in plan.stash.yarns if len(yarn.mix.labs) == 1]
    if len(yarns) < 2:
        return _in_words("There are no two yarns of one colour each to show steps on.")
    steps = _table(yarns, view=1)
    rungs = (_largest(yarns, -np.abs(steps - size))[:2] for size in LADDER)
    body = [_touching(*pair, k) for k, pair in enumerate(dict.fromkeys(rungs))]
    said = (
        "CIEDE2000 was made for small differences: read the large ones as a ranking.",
    )
    return _lesson(body, said, ROW)


def _touching(one: Yarn, two: Yarn, k: int) -> Svg:
    """Two colours edge to edge, their step below; their names as a tip."""
    left, size = 10 + k * 140, _far(one.mix, two.mix)
    blocks = [
        rect(x=left + 55 * i, y=10, width=55, height=70, fill=_hex(yarn.mix))
        for i, yarn in enumerate((one, two))
    ]
    edge = rect(x=left, y=10, width=110, height=70, fill="none", stroke=PAPER)
    tip = element("title", f"{one.name} beside {two.name}")
    below = _text(f"{size:.1f}", left + 55, 98, "middle")
    return element("g", tip, blocks, edge, below)


def three_terms(plan: Plan) -> Lesson:
    """The largest step of the run that counts taken apart, between the averages."""
    run, steps = plan.design.laid.yarns, plan.design.steps
    if not steps:
        return _in_words(ALONE)
    counted = [k for k, step in enumerate(steps) if step.counts]
    k = max(counted or range(len(steps)), key=lambda k: steps[k].far)
    labs = [np.array(mean_lab(yarn.mix)) for yarn in run[k : k + 2]]
    light, chroma, hue, turn = (float(term) for term in ciede2000_terms(*labs))
    blues = turn * chroma * hue
    size = (light**2 + chroma**2 + hue**2 + blues) ** 0.5
    said = (
        f"Weighted differences: lightness {light:+.1f}, chroma {chroma:+.1f}, hue "
        f"{hue:+.1f}; chroma and hue together {blues:+.1f} (it counts in blues).",
        f"√({abs(light):.1f}² + {abs(chroma):.1f}² + {abs(hue):.1f}² "
        f"{'-' if blues < 0 else '+'} {abs(blues):.1f}) = {size:.1f}",
    )
    body = [*_stand(run[k], 10), *_stand(run[k + 1], 150)]
    return _lesson(body, said, ROW)


# --- near and far ---------------------------------------------------------------------


def near_and_far(plan: Plan) -> Lesson:
    """The two yarns that differ most in the hand while their averages lie close; a
    sentence alone where there are none."""
    yarns, view = plan.stash.yarns, plan.choices.judging.view
    far_off = _table(yarns, view=1)
    gain = np.where(far_off < LEAST_JUMP, _table(yarns, view=0) - far_off, 0)
    one, two, gained = _largest(yarns, gain)
    if gained < JUST_TOLD:
        return _in_words(
            "No two yarns here lie close across the room and apart in the hand."
        )
    near, far = float(near_steps([one.mix], [two.mix])[0]), _far(one.mix, two.mix)
    said = (
        f"In the hand {near:.1f}: some colours of the one are far from all colours of "
        "the other.",
        f"Across the room {far:.1f}: only their averages count. As this plan counts "
        f"it (view {view:g}): {at_view(view, near, far):.1f}.",
    )
    body = [*_stand(one, 10), *_stand(two, 150)]
    body += _patch(_hex(one.mix), 310, "its average")
    body += _patch(_hex(two.mix), 450, "its average")
    return _lesson(body, said, ROW)


def from_afar(plan: Plan) -> Lesson:
    """Two strands in turn, a stitch each, as the eye meets them from further away."""
    if len(_yarns(plan)) < 2:
        return _in_words(ALONE)
    one, two = max(combinations(_yarns(plan), 2), key=_codes_miss)
    labs = np.array([mean_lab(yarn.mix) for yarn in (one, two)])
    stripes = np.repeat(np.tile(lab_to_linear(labs), (8, 1)), STITCH_MM, axis=0)
    cloth = np.tile(stripes, (60, 1, 1))  # a pixel is a millimetre
    body = []
    for k, metres in enumerate(AFAR_M):
        seen = seen_from(cloth, pixels_per_degree=pixels_per_degree(1.0, metres))
        x = 10 + 140 * k
        body.append(image(stitches_png(seen), x=x, y=10, width=120, height=75))
        body.append(_text(f"{metres:g} m", x + 60, 102, "middle"))
    said = (
        f"{one.name} and {two.name}, {STITCH_MM} mm each. The eye's published filters "
        "act on the picture; its average stays.",
    )
    return _lesson(body, said, ROW)


# --- best possible, and bridges -------------------------------------------------------


def best_possible(plan: Plan) -> Lesson:
    """What no order of these yarns can beat, ends and values left free, and why."""
    free = replace(
        plan.choices.arranging,
        by="smoothest", ends="free", value_slack=inf, order=(),
    )  # fmt: skip
    view = plan.choices.judging.view
    arrangement = arrange(_yarns(plan), free, view=view)
    best = arrangement.best
    if best is None:  # one yarn alone has no steps
        return _in_words(ALONE)
    said = f"No order of these yarns has a largest step under {best.largest:.1f}: "
    reached = "This order reaches it." if best.reached else "It may not be reached."
    height = 170 if best.between else 95
    return _lesson(_groups(arrangement), (said + best.because, reached), height)


def _groups(arrangement: Arrangement) -> list[Svg]:
    """The run as small swatches; the two groups that lie apart in two rows."""
    between = arrangement.best and arrangement.best.between
    upper = set(between[0]) if between else set()
    each = (WIDTH - 20) / len(arrangement.yarns)
    return [
        swatch(yarn, 10 + k * each, 95 if yarn.name in upper else 20, each - 4, 55)
        for k, yarn in enumerate(arrangement.yarns)
    ]


def _unbridged(plan: Plan) -> str:
    """Said where there is no yarn to show as a bridge."""
    if not plan.design.suggestions:
        return "No step of this blanket asks for a bridge."
    gap = max(plan.design.suggestions, key=lambda one: one.step)
    return (
        f"The step from {gap.after.name} to {gap.before.name}, {gap.step:.1f}, asks "
        "for a bridge, but no yarn at hand makes it smaller. The plan says what to "
        "look for."
    )


def bridge(plan: Plan) -> Lesson:
    """The best bridge there is for the worst gap, before and after."""
    offers = [one for one in plan.design.suggestions if one.candidates]
    if not offers:
        return _in_words(_unbridged(plan))
    gap = offers[0]
    yarn, source, after = gap.candidates[0]
    shown = (gap.after, gap.before, gap.after, yarn, gap.before)
    places = zip(shown, (10, 150, 330, 470, 610), strict=True)
    body = [part for one, x in places for part in _stand(one, x)]
    said = (
        f"The step from {gap.after.name} to {gap.before.name} is {gap.step:.1f}.",
        f"With {yarn.name} ({source}) between them, the larger of the two steps is "
        f"{after:.1f}.",
    )
    return _lesson(body, said, ROW)


# --- what the pictures share ----------------------------------------------------------


def _yarns(plan: Plan) -> tuple[Yarn, ...]:
    return plan.design.arrangement.yarns


def _table(yarns: Sequence[Yarn], *, view: float) -> np.ndarray:
    mixes = [yarn.mix for yarn in yarns]
    return step_table(mixes, mixes, view=view)


def _largest(yarns: Sequence[Yarn], scores: np.ndarray) -> tuple[Yarn, Yarn, float]:
    """The two yarns with the highest score, the first of equals, and that score; one
    yarn alone has -inf."""
    scores = np.where(np.eye(len(yarns), dtype=bool), -inf, scores)
    i, j = divmod(int(np.argmax(scores)), len(yarns))
    return yarns[min(i, j)], yarns[max(i, j)], float(scores[i, j])


def _far(one: Mix, two: Mix) -> float:
    return float(far_steps([one], [two])[0])


def _hex(mix: Mix) -> str:
    return lab_to_hex(mean_lab(mix))


def _stand(yarn: Yarn, x: float, *, grey: bool = False) -> list[Svg]:
    """A large swatch with the yarn's name below; in greys with its value."""
    said = f"L* {value_of(yarn):.0f}" if grey else _short(yarn.name)
    return [swatch(yarn, x, 10, SIDE, SIDE, grey=grey), _text(said, x, SIDE + 28)]


def _short(name: str, most: int = 18) -> str:
    return name if len(name) <= most else name[: most - 2] + " …"


def _patch(colour: str, x: float, said: str) -> list[Svg]:
    patch = rect(x=x, y=10, width=SIDE, height=SIDE, fill=colour, stroke=PAPER)
    return [patch, _text(said, x, SIDE + 28)]


def _text(said: str, x: float, y: float, anchor: str = "start") -> Svg:
    return words_at(said, x, y, text_anchor=anchor, fill="#000000")


def _in_words(said: str) -> Lesson:
    """A sentence where these yarns have nothing to show."""
    return _lesson([], (said,), 0)


def _lesson(body: Sequence[Svg], said: tuple[str, ...], height: float) -> Lesson:
    """The drawing on neutral grey, its sentences below on white."""
    told = [line for sentence in said for line in wrap(sentence, 120)]
    ground = rect(width=WIDTH, height=height, fill=SURROUND)
    lines = [
        words_at(line, 10, height + 2 + 20 * k, fill=INK)
        for k, line in enumerate(told, 1)
    ]
    total, label = height + 20 * len(told) + 14, " ".join(said)
    svg = drawing(WIDTH, total, label, ground, body, lines, font_size=12)
    return Lesson(svg, said)
