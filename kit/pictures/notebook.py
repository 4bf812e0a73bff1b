"""What values look like as the last line of a notebook's cell.

Each value names its drawing (`kit.late.draws_itself`). None raises: what is not there
yet is left out. Elements are built, not pasted, so every name is escaped.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable, Sequence
from math import inf
from xml.etree.ElementTree import Element, SubElement, tostring

from kit.arrangement import Design
from kit.blanket import Blanket, Choices, Stash, Yarn
from kit.blanket.choices import LAYOUT_WORDS, ORDER_WORDS
from kit.colour import Mix, Step, mean_lab
from kit.colour.spaces import lab_to_hex
from kit.fabric import Fabric
from kit.fabric.stripes import stripe_mix
from kit.pictures.run import run_svg
from kit.pictures.shelf import shelf_svg
from kit.pictures.stitches import has_fabric, in_proportion, png_of, stitch_colours
from kit.pictures.swatches import MARGIN, SWATCH, mark_of, mix_svg, svg_text, swatch
from kit.plan import Plan
from kit.yarn import counted, size
from kit.yarn.measures import per_length

MIX = (120, 34)  # px, as `mix_svg` has it
WIDTH, MOST_HEIGHT = 280, 560  # px


def mix_picture_svg(mix: Mix) -> str:
    """A mix as bands by share on neutral grey."""
    return svg_text(mix_svg(mix), *MIX, repr(mix))


def yarn_svg(yarn: Yarn) -> str:
    """A yarn's swatch, its colours as they run along the strand."""
    picture = swatch(yarn, MARGIN, MARGIN, 2 * SWATCH, SWATCH)
    return svg_text(picture, 2 * (SWATCH + MARGIN), SWATCH + 2 * MARGIN, repr(yarn))


def stash_svg(stash: Stash) -> str:
    """A stash as its shelf, from light to dark."""
    return shelf_svg(stash.yarns)


def design_svg(design: Design) -> str:
    """A design as its run: steps, swatches, greys, names, marks."""
    best = design.arrangement.best
    return run_svg(design, limit=inf, best=best.largest if best else None)


def fabric_svg(fabric: Fabric) -> str:
    """The stripes as they look from across the room, the cast-on edge at the foot.

    Rows are taken as equally high; each stripe tells its rows and strands.
    """
    width, height = _fitted(fabric)
    n_stitches = max(fabric.rows * fabric.stitches, 1)
    body = Element("g")
    for stripe in fabric.stripes:
        ends = (stripe.last, stripe.first)
        top, foot = (height * (1 - at / n_stitches) for at in ends)
        band = SubElement(body, "rect", width=f"{width}")
        band.set("y", f"{top:.2f}")
        band.set("height", f"{foot - top + 0.3:.2f}")
        band.set("fill", lab_to_hex(mean_lab(stripe_mix(stripe))))
        SubElement(band, "title").text = repr(stripe)
    return svg_text(_text(body), width, height, repr(fabric))


def steps_html(steps: Sequence[Step]) -> str:
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


def blanket_html(blanket: Blanket) -> str:
    """An open blanket: its shelf, and below it the choices."""
    choices = blanket.choices
    shelf = shelf_svg(blanket.stash.yarns, units=choices.units)
    return shelf + _table(choices.name, (), _choice_rows(choices))


def picture_and_words(plan: Plan, sentences: Iterable[str]) -> str:
    """A plan as its fabric, else as its run, with sentences below."""
    return _look(plan) + sentences_html(sentences)


def sentences_html(sentences: Iterable[str]) -> str:
    """Sentences below each other."""
    block = Element("div")
    for sentence in sentences:
        SubElement(block, "p", style="margin: 0.2em 0").text = sentence
    return _text(block)


def _look(plan: Plan) -> str:
    if plan.fabric is None or not has_fabric(plan):
        return design_svg(plan.design)
    width, height = _fitted(plan.fabric)
    seen = in_proportion(plan, stitch_colours(plan), height=height, width=width)
    picture = Element("img")
    picture.set("src", f"data:image/png;base64,{b64encode(png_of(seen)).decode()}")
    where = "the blanket as knitted, the cast-on edge at the foot"
    picture.set("alt", f"{plan.choices.name}: {where}")
    return _text(picture)


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


def _table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table with its caption; without heads the first cell of a row is one."""
    table = Element("table")
    SubElement(table, "caption").text = caption
    if heads:
        line = SubElement(table, "tr")
        for head in heads:
            SubElement(line, "th", scope="col").text = head
    for row in rows:
        line = SubElement(table, "tr")
        SubElement(line, "th", scope="row").text = row[0]
        for cell in row[1:]:
            SubElement(line, "td").text = cell
    return _text(table)


def _text(element: Element) -> str:
    return tostring(element, encoding="unicode", method="html")
