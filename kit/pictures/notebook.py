"""What values look like as the last line of a notebook's cell.

Each value names its drawing (`kit.late.draws_itself`). None raises: what is not there
yet is left out.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable, Sequence
from math import inf

from kit.arrangement import Design
from kit.blanket import Blanket, Choices, Stash, Yarn
from kit.blanket.choices import LAYOUT_WORDS, ORDER_WORDS
from kit.colour import Step, mean_lab
from kit.colour.spaces import lab_to_hex
from kit.fabric import Fabric
from kit.fabric.stripes import stripe_mix
from kit.pictures.run import run_svg
from kit.pictures.shelf import shelf_svg
from kit.pictures.stitches import (
    has_fabric,
    in_proportion,
    stitch_colours,
    stitches_png,
)
from kit.pictures.svg import Svg, drawing, element, rect
from kit.pictures.swatches import MARGIN, SWATCH, mark_of, swatch
from kit.plan import Plan
from kit.yarn import counted, size
from kit.yarn.measures import per_length

WIDTH, MOST_HEIGHT = 280, 560  # px
CLOSE = "margin: 0.2em 0"  # of sentences


def yarn_svg(yarn: Yarn) -> Svg:
    """A yarn's swatch, its colours as they run along the strand."""
    picture = swatch(yarn, MARGIN, MARGIN, 2 * SWATCH, SWATCH)
    return drawing(2 * (SWATCH + MARGIN), SWATCH + 2 * MARGIN, repr(yarn), picture)


def stash_svg(stash: Stash) -> Svg:
    """A stash as its shelf, from light to dark."""
    return shelf_svg(stash.yarns)


def design_svg(design: Design) -> Svg:
    """A design as its run: steps, swatches, greys, names, marks."""
    return run_svg(design, limit=inf)


def stripes_svg(fabric: Fabric) -> Svg:
    """The stripes as they look from across the room, the cast-on edge at the foot.

    Rows are taken as equally high; each stripe tells its rows and strands.
    """
    width, height = _fitted(fabric)
    n_stitches = max(fabric.rows * fabric.stitches, 1)
    body = []
    for stripe in fabric.stripes:
        ends = (stripe.last, stripe.first)
        top, foot = (height * (1 - at / n_stitches) for at in ends)
        tip, fill = (
            element("title", repr(stripe)),
            lab_to_hex(mean_lab(stripe_mix(stripe))),
        )
        tall = foot - top + 0.3  # a hair over, else the paper shows between
        body.append(rect(tip, width=width, y=top, height=tall, fill=fill))
    return drawing(width, height, repr(fabric), element("g", body))


def steps_html(steps: Sequence[Step]) -> Svg:
    """Steps as a small table, dE00: size, near, far, mark, cause."""
    heads = ("", "step", "in the hand", "across the room", "", "why")
    rows = [
        (
            *(f"{k}", f"{step.size:.1f}", f"{step.near:.1f}", f"{step.far:.1f}"),
            *(f"{mark_of(step)} {step.kind}".strip(), step.cause),
        )
        for k, step in enumerate(steps)
    ]
    return _table(f"{counted(len(steps), 'step')}, in ΔE00", heads, rows)


def blanket_html(blanket: Blanket) -> Svg:
    """An open blanket: its shelf, and below it the choices."""
    choices = blanket.choices
    shelf = shelf_svg(blanket.stash.yarns, units=choices.units)
    return Svg(shelf + _table(choices.name, (), _choice_rows(choices)))


def picture_and_words(plan: Plan, sentences: Iterable[str]) -> Svg:
    """A plan as its fabric, else as its run, with sentences below."""
    return Svg(_look(plan) + sentences_html(sentences))


def sentences_html(sentences: Iterable[str]) -> Svg:
    """Sentences below each other."""
    return element("div", [element("p", one, style=CLOSE) for one in sentences])


def _look(plan: Plan) -> Svg:
    if plan.fabric is None or not has_fabric(plan):
        return design_svg(plan.design)
    width, height = _fitted(plan.fabric)
    seen = in_proportion(plan, stitch_colours(plan), height=height, width=width)
    data = f"data:image/png;base64,{b64encode(stitches_png(seen)).decode()}"
    where = "the blanket as knitted, the cast-on edge at the foot"
    return element("img", src=data, alt=f"{plan.choices.name}: {where}")


def _fitted(fabric: Fabric) -> tuple[int, int]:
    """Width and height of a fabric's picture in true proportion, px."""
    length = fabric.length_cm / fabric.width_cm * WIDTH
    scale = min(1, MOST_HEIGHT / max(length, 1))
    return max(1, round(scale * WIDTH)), max(1, round(scale * length))


def _choice_rows(choices: Choices) -> list[tuple[str, str]]:
    arranging, making, units = choices.arranging, choices.making, choices.units
    n_bridges = counted(choices.bridging.bridges, "bridge")
    by = "hand" if arranging.order else arranging.by
    rows = [
        ("order", f"{ORDER_WORDS[by]}, {LAYOUT_WORDS[choices.laying.layout]}"),
        ("bridges", f"at most {n_bridges}, from the {choices.bridging.bridges_from}"),
    ]
    if wished := making.size:
        long = "all the yarn" if wished.length_cm is None else None
        long = long or size(wished.length_cm or 0, units)
        rows.append(("size", f"{size(wished.width_cm, units)} x {long}"))
    if gauge := making.gauge:
        stitches = per_length(gauge.stitches_per_10cm, units)
        over = "4 in" if units == "imperial" else "10 cm"
        each = f"{stitches} stitches and {per_length(gauge.rows_per_10cm, units)} rows"
        rows.append(("gauge", f"{each} to {over}"))
    return rows


def _table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> Svg:
    """A table with its caption; without heads the first cell of a row is one."""
    lines = []
    if heads:
        lines.append(element("tr", [element("th", one, scope="col") for one in heads]))
    for first, *others in rows:
        cells = [element("td", cell, style=_side(cell)) for cell in others]
        lines.append(element("tr", element("th", first, scope="row"), cells))
    return element("table", element("caption", caption), lines)


def _side(cell: str) -> str:
    number = cell.replace(".", "").isdigit()
    return f"text-align: {'right' if number else 'left'}"
