"""What the pictures of a plan say in words: titles, names, and what the marks mean."""

from __future__ import annotations

from kit.arrangement.design import jumps
from kit.blanket import Yarn
from kit.blanket.choices import LAYOUT_WORDS, ORDER_WORDS
from kit.colour.steps import largest_step, median_step
from kit.pictures.paper import FAINT, MARGIN, WIDTH, Sheet, write
from kit.pictures.text import cut, legible
from kit.plan import Plan
from kit.plan.middle import middle_places
from kit.yarn import counted

HEAD = 74.0  # px: title and the line under it


def head(sheet: Sheet, plan: Plan, words: str) -> None:
    """The blanket's name, and a line under it."""
    title = legible(plan.choices.name, otherwise="Blanket", bold=True)
    write(
        sheet,
        MARGIN,
        34,
        cut(title, WIDTH - 2 * MARGIN, 20, bold=True),
        size=20,
        bold=True,
    )
    words = cut(words, WIDTH - 2 * MARGIN, 12.5)
    write(sheet, MARGIN, 56, words, size=12.5, colour=FAINT)


def order_words(plan: Plan) -> str:
    """How many yarns, in what order."""
    design, laying = plan.design, plan.choices.laying
    yarns = counted(len({yarn.name for yarn in design.laid.yarns}), "yarn")
    words = (
        f"{yarns} {ORDER_WORDS[design.arrangement.by]}, {LAYOUT_WORDS[laying.layout]}"
    )
    if laying.times_through > 1:
        words += f", {laying.times_through} times through"
    return words


def run_words(plan: Plan) -> str:
    """How many yarns, in what order, and how large the steps are."""
    steps = plan.design.steps
    if not steps:
        return f"{order_words(plan)}."
    n_jumps = len(jumps(steps))
    said = counted(n_jumps, "jump") if n_jumps else "no jumps"
    sizes = f"Largest step {largest_step(steps):.1f}, median {median_step(steps):.1f}"
    return f"{order_words(plan)}. {sizes}; {said}."


def name_of(yarn: Yarn) -> str:
    """A yarn's name as far as the fonts can draw it, else the number on its tag."""
    return legible(yarn.name, otherwise=f"no. {yarn.no}")


def step_key(plan: Plan) -> list[tuple[str, str]]:
    """What the marks at hand mean."""
    kinds = {step.kind for step in plan.design.steps}
    limit = plan.choices.judging.jump_limit
    words = {
        "jump": f"jump: over {limit:g}, or standing out from the steps around it",
        "accent": "accent: kept on purpose, not counted",
        "join": "the run starts anew, not counted",
    }
    entries = [(kind, said) for kind, said in words.items() if kind in kinds]
    if plan.design.bridges:
        entries.append(("bridge", "bridge: put in to lower a step"))
    if middle_places(plan):
        entries.append(("middle", "the middle: from there the colours go back"))
    return entries


def bridge_names(plan: Plan) -> set[str]:
    """The yarns put in as bridges."""
    return {bridge.yarn.name for bridge in plan.design.bridges}
