"""The plan as files: plan.json, schedule.csv and plan.html as text, and a summary."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from kit.arrangement import family_name, value_of
from kit.blanket import Plan
from kit.bridging import Bridge
from kit.colour import Mix, hexes, lab_to_hex
from kit.design import Suggestion, jumps
from kit.families import words_for
from kit.files import save_all
from kit.pictures import plan_pictures
from kit.records import record_text
from kit.stash import Yarn
from kit.steps import Step, hue_turns, largest_step, median_step
from kit.swatches import mark_of, mix_svg, run_rows, strip_svg, swatch

FORMAT = 1
N_TOLD = 6  # jumps in the summary
LAYOUT_WORDS = {
    "light-to-dark": "light to dark",
    "dark-to-light": "dark to light",
    "mirrored": "mirrored, light to dark to light",
}


def write_plan(plan: Plan, folder: str | Path) -> None:
    """Write the plan's files into a folder; a failure leaves the last plan whole."""
    save_all(folder, plan_files(plan))


def plan_files(plan: Plan) -> dict[str, bytes]:
    """The plan's files by name: html, json, csv and pictures."""
    return {
        "plan.json": plan_json(plan).encode(),
        "schedule.csv": schedule_csv(plan).encode(),
        "plan.html": plan_html(plan).encode(),
        **plan_pictures(plan),
    }


# --- plan.json ------------------------------------------------------------------------


def plan_json(plan: Plan) -> str:
    """plan.json, format 1, with the keys of the stages that are built."""
    return json.dumps(plan_data(plan), ensure_ascii=False, indent=1) + "\n"


def plan_data(plan: Plan) -> dict[str, Any]:
    """What plan.json holds, in full precision."""
    return {
        "format": FORMAT,
        "name": plan.choices.name,
        "arrangement": _arrangement(plan),
        "bridges": [_bridge(bridge) for bridge in plan.design.bridges],
        "bridge_candidates": [_candidates(one) for one in plan.design.suggestions],
        "look_for": [_look_for(one) for one in plan.design.suggestions if one.sought],
        "yarn": [_yarn(yarn) for yarn in plan.stash.yarns],
        "assumed": list(plan.assumed),
        "cautions": list(plan.cautions),
    }


def _arrangement(plan: Plan) -> dict[str, Any]:
    design, best = plan.design, plan.design.arrangement.best
    names = [yarn.name for yarn in design.laid.yarns]
    before = largest_step(design.steps_before)
    return {
        "by": design.arrangement.by,
        "layout": plan.choices.laying.layout,
        "order": names,
        "order_before_bridges": [yarn.name for yarn in design.before.yarns],
        "steps": [
            {
                "from": names[k],
                "to": names[k + 1],
                "size": step.size,
                "near": step.near,
                "far": step.far,
                "jump": step.jump,
                "reasons": list(step.reasons),
                "accent": step.accent,
                "join": step.join,
                "cause": step.cause,
            }
            for k, step in enumerate(design.steps)
        ],
        "largest_step": largest_step(design.steps),
        "largest_step_before_bridges": before,
        "median_step": median_step(design.steps),
        "hue_turns": _turns(plan),
        "out_of_value_order": [
            {"yarn": name, "lightness": amount} for name, amount in design.unruly
        ],
        "best_possible": best.largest if best else None,
        "proved": is_proved(plan),
        "best_possible_between": [list(part) for part in best.between]
        if best and best.between
        else None,
        "best_possible_because": best_words(plan),
    }


def is_proved(plan: Plan) -> bool:
    """Whether the arrangement, as laid out, reaches the best possible largest step."""
    best = plan.design.arrangement.best
    before = largest_step(plan.design.steps_before)
    return best is not None and abs(before - best.largest) <= 1e-6


def best_words(plan: Plan) -> str:
    """What no order can beat, why, and the cost of the value rule; "" if not sought."""
    best = plan.design.arrangement.best
    if best is None:
        return ""
    said = [
        f"No order of these yarns has a largest step under {best.largest:.1f}: "
        f"{best.because}"
    ]
    if not best.reached:
        said.append("Whether an order reaches it is open: this one does not.")
    if best.without_rule is not None:
        said.append(
            f"Without the value rule {best.without_rule:.1f} can be reached, so the "
            f"rule costs {best.largest - best.without_rule:.1f}."
        )
    return " ".join(said)


def _bridge(bridge: Bridge) -> dict[str, Any]:
    return {
        "yarn": bridge.yarn.name,
        "how": "between",
        "after": bridge.after.name,
        "before": bridge.before.name,
        "step_before": bridge.step_before,
        "step_after": bridge.step_after,
        "largest_step_before": bridge.largest_before,
        "largest_step_after": bridge.largest_after,
    }


def _candidates(one: Suggestion) -> dict[str, Any]:
    return {
        "after": one.after.name,
        "before": one.before.name,
        "step": one.step,
        "candidates": [
            {"yarn": yarn.name, "from": source, "step_after": step}
            for yarn, source, step in one.candidates
        ],
    }


def _look_for(one: Suggestion) -> dict[str, Any]:
    assert one.sought is not None
    mix = one.sought.mix
    return {
        "after": one.after.name,
        "before": one.before.name,
        "colours": [
            {
                "lab": list(lab),
                "hex": lab_to_hex(lab),
                "share": share,
                "words": words_for(lab),
            }
            for lab, share in zip(mix.labs, mix.shares, strict=True)
        ],
        "step_after": one.sought.step_after,
    }


def _yarn(yarn: Yarn) -> dict[str, Any]:
    return {
        "name": yarn.name,
        "no": yarn.no,
        "colours": [list(pair) for pair in _colours(yarn.mix)],
        "value": value_of(yarn),
        "family": family_name(yarn),
        "role": yarn.role,
        "grams_have": yarn.grams,
        "metres_have": yarn.metres,
    }


def _colours(mix: Mix) -> list[tuple[str, float]]:
    return list(zip(hexes(mix), mix.shares, strict=True))


# --- schedule.csv ---------------------------------------------------------------------


def schedule_csv(plan: Plan) -> str:
    """The order along the blanket as a table for a spreadsheet."""
    columns = [
        "place",
        "no",
        "name",
        "family",
        "value",
        "grams",
        "step_to_next",
        "kind",
        "cause",
    ]
    return "".join(map(record_text, [columns, *_schedule_rows(plan)]))


def _schedule_rows(plan: Plan) -> Iterator[list[str]]:
    design = plan.design
    for k, yarn in enumerate(design.laid.yarns):
        step = design.steps[k] if k < len(design.steps) else None
        yield [
            str(k + 1),
            str(yarn.no),
            yarn.name,
            family_name(yarn),
            f"{value_of(yarn):.1f}",
            "" if yarn.grams is None else f"{yarn.grams:g}",
            f"{step.size:.1f}" if step else "",
            _kind(step) if step else "",
            step.cause if step else "",
        ]


def _kind(step: Step) -> str:
    if step.join:
        return "join"
    if step.accent:
        return "accent"
    return "jump" if step.jump else ""


# --- plan.html ------------------------------------------------------------------------


def plan_html(plan: Plan) -> str:
    """plan.html: one self-contained page for screen and paper, without any script."""
    best = plan.design.arrangement.best
    n_in_row = 8 if len(plan.design.laid.yarns) > 8 else len(plan.design.laid.yarns)
    return _template().render(
        plan=plan,
        summary=summary(plan),
        layout=LAYOUT_WORDS[plan.choices.laying.layout],
        rows=run_rows(
            plan.design,
            limit=plan.choices.judging.jump_limit,
            n_in_row=n_in_row,
            best=best.largest if best else None,
        ),
        colours=strip_svg(plan.design.laid.yarns, width=760, height=36),
        greys=strip_svg(plan.design.laid.yarns, grey=True, width=760, height=18),
        best=best_words(plan),
        jumps=jumps(plan.design.steps),
        page="letter" if plan.choices.units == "imperial" else "A4",
        largest=largest_step(plan.design.steps),
        median=median_step(plan.design.steps),
        # helpers of the page
        chip=_chip,
        mix_svg=mix_svg,
        words_for=words_for,
        family_name=family_name,
        value_of=value_of,
        mark_of=mark_of,
        colours_of=_colours,
    )


def _chip(yarn: Yarn, width: int = 40, height: int = 22) -> str:
    """A small swatch on its own, for a line of text or a table."""
    return (
        f'<svg class="chip" width="{width + 8}" height="{height + 8}" '
        f'viewBox="0 0 {width + 8} {height + 8}" aria-hidden="true">'
        f'<rect width="100%" height="100%" fill="#777777"/>'
        f"{swatch(yarn, 4, 4, width, height)}</svg>"
    )


@lru_cache(maxsize=1)
def _template() -> Any:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    pages = Environment(
        loader=PackageLoader("kit"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    return pages.get_template("plan.html")


# --- in words -------------------------------------------------------------------------


def summary(plan: Plan) -> list[str]:
    """The plan in a few lines for people."""
    design = plan.design
    n_used = len(design.arrangement.yarns)
    by = {"hand": "in an order made by hand"}.get(
        design.arrangement.by, f"by {design.arrangement.by}"
    )
    if design.arrangement.by == "smoothest":
        by = "as smooth as they go"
    lines = [
        f"{plan.choices.name}: {_count(n_used, 'yarn')} {by}, "
        f"{LAYOUT_WORDS[plan.choices.laying.layout]}.",
        f"Largest step {largest_step(design.steps):.1f}, "
        f"median {median_step(design.steps):.1f}, "
        f"{_count(_turns(plan), 'hue turn')} over 60°.",
    ]
    lines += [bridge_words(bridge) for bridge in design.bridges] or [_declined(plan)]
    if best_words(plan):
        lines.append(best_words(plan))
    return [line for line in lines if line]


def _turns(plan: Plan) -> int:
    return hue_turns([yarn.mix for yarn in plan.design.laid.yarns])


def _count(n: int, noun: str) -> str:
    return f"{n} {noun}" + ("" if n == 1 else "s")


def bridge_words(bridge: Bridge) -> str:
    """One bridge, before and after, in a sentence."""
    return (
        f'Bridge: "{bridge.yarn.name}" between "{bridge.after.name}" and '
        f'"{bridge.before.name}": that step goes from {bridge.step_before:.1f} to '
        f"{bridge.step_after:.1f}, the largest from {bridge.largest_before:.1f} to "
        f"{bridge.largest_after:.1f}."
    )


def _declined(plan: Plan) -> str:
    if plan.choices.bridging.bridges == 0 or len(plan.design.laid.yarns) < 2:
        return ""
    return "No bridge is put in: none that is owned lowers the largest step."


def jump_lines(plan: Plan) -> list[str]:
    """The worst jumps with their causes, worst first."""
    yarns, steps = plan.design.laid.yarns, plan.design.steps
    return [
        f"{steps[k].size:5.1f}  {yarns[k].name} → {yarns[k + 1].name}: {steps[k].cause}"
        f" ({' and '.join(steps[k].reasons)})"
        for k in jumps(steps)[:N_TOLD]
    ]
