"""The plan as files (plan.html, plan.json, schedule.csv, pictures), and a summary."""

from __future__ import annotations

from pathlib import Path

from kit.arrangement.compared import compared_lines
from kit.blanket.choices import LAYOUT_WORDS, ORDER_WORDS
from kit.colour import Step
from kit.colour.steps import hue_turns, largest_step, median_step
from kit.errors import shorten
from kit.fabric import Fabric, Stripe
from kit.fabric.schedule import weight_g
from kit.fabric.shortfall import enough_words
from kit.fabric.strands import tex_range
from kit.fabric.stripes import yarn_tex
from kit.files import save_all
from kit.pictures import fabric_pictures
from kit.pictures.notebook import picture_and_words
from kit.pictures.paper import png
from kit.plan import Plan
from kit.plan.compose import why_colours_alone
from kit.plan.early_joins import early_join_words
from kit.plan.facts import best_words
from kit.plan.middle import back_words, ball_jumps, stripe_jumps
from kit.plan.remedies import bridge_lines
from kit.report.page import plan_html
from kit.report.plan_json import JSON, plan_json
from kit.report.schedule_csv import schedule_csv
from kit.yarn import counted, length, mass, size

N_TOLD = 6  # jumps in the summary
# What lies beside a plan only where it was asked for, or where format 1 was written.
PICTURES = tuple(
    f"{name}.png"
    for name in ("fabric", "fabric-close", "fabric-grey", "fabric-across",
                 "fabric-small", "run", "steps", "value", "bridges")
)  # fmt: skip


def write_plan(plan: Plan, folder: str | Path, pictures: bool = False) -> None:
    """Write the plan's files into a folder; a failure leaves the last plan whole.

    Parameters
    ----------
    plan : Plan
        With fabric or without.
    folder : str or Path
        Made where it is missing. plan.html, plan.json and schedule.csv come into it.
    pictures : bool
        Its sheets of fabric as PNG files too. Those of a plan that lay here before go.

    Raises
    ------
    KitError
        Where the files cannot be written.
    """
    planned = (Path(folder) / JSON).is_file()
    files = plan_files(plan, pictures=pictures)
    save_all(folder, files, without=PICTURES if planned else ())


def plan_files(plan: Plan, *, pictures: bool = False) -> dict[str, bytes]:
    """The plan's files by name: html, json, csv; with `pictures` the PNGs too."""
    drawn = fabric_pictures(plan, every=pictures)
    page = plan_html(plan, pictures=drawn, sentences=colour_lines(plan))
    return {
        JSON: plan_json(plan).encode(),
        "schedule.csv": schedule_csv(plan).encode(),
        "plan.html": page.encode(),
        **({name: png(image) for name, image in drawn.items()} if pictures else {}),
    }


# --- in words -------------------------------------------------------------------------


def summary_html(plan: Plan) -> str:
    """A plan as the last line of a cell: its fabric, else its run, and the summary."""
    return picture_and_words(plan, summary(plan))


def summary(plan: Plan) -> list[str]:
    """The plan in a few lines for people.

    Parameters
    ----------
    plan : Plan
        With fabric or without.

    Returns
    -------
    list of str
        Order, steps in ΔE00, bridges, size, yarn, in the units that were chosen.

    Examples
    --------
    >>> import kit
    >>> blanket = kit.open_blanket(kit.shared_folder("data") / "pram-cover")
    >>> kit.summary(kit.plan_blanket(blanket))[0]
    "Lock-keeper's pram cover: 13 yarns by value, mirrored, light to dark to light."
    """
    return [*colour_lines(plan), *fabric_lines(plan)]


def colour_lines(plan: Plan) -> list[str]:
    """Order, steps, bridges and the best possible, a sentence or two each."""
    design = plan.design
    by = ORDER_WORDS[design.arrangement.by]
    lines = [
        f"{plan.choices.name}: {counted(len(design.arrangement.yarns), 'yarn')} {by}, "
        f"{LAYOUT_WORDS[plan.choices.laying.layout]}.",
        f"{_where(plan)} {largest_step(design.steps):.1f}, "
        f"median {median_step(design.steps):.1f}, "
        f"{counted(_turns(plan), 'hue turn')} over 60°.",
    ]
    lines += bridge_lines(plan)
    lines += [best_words(plan), *compared_lines(design.compared)]
    return [line for line in lines if line]


def _where(plan: Plan) -> str:
    if plan.for_stripes:
        return "Ordered for its stripes; between balls the largest step is"
    return "Largest step"


def fabric_lines(plan: Plan) -> list[str]:
    """Size, yarn, whether it is enough, and the largest step between stripes; else why
    there is no fabric, or nothing to knit in it."""
    fabric, units = plan.fabric, plan.choices.units
    if fabric is None:
        return list(why_colours_alone(plan))
    if not fabric.stripes:
        return [enough_words(fabric, plan.choices)]
    wide, long = size(fabric.width_cm, units), size(fabric.length_cm, units)
    used_m = sum(use.used_mm for use in fabric.uses) / 1000
    used_g = sum(weight_g(use.yarn, use.used_mm) for use in fabric.uses)
    counts = f"{counted(fabric.stitches, 'stitch')} x {counted(fabric.rows, 'row')}"
    used = f"{length(used_m, units)}, {mass(used_g, units)} of yarn used"
    lines = [f"{counts}, {wide} x {long}; {used}.", enough_words(fabric, plan.choices)]
    if fabric.short:
        lines += _idle(plan, fabric)
    if plan.fabric_steps:
        lines.append(_stripe_steps(plan))
    return [line for line in (*lines, early_join_words(plan)) if line]


def _idle(plan: Plan, fabric: Fabric) -> list[str]:
    """Balls that stay whole although the yarn does not reach: why, in a sentence."""
    idle = [use for use in fabric.uses if not use.used_mm and use.initial_mm]
    if not idle:
        return []
    low, high = tex_range(plan.choices.making.strands)
    few = ", ".join(
        f'"{shorten(use.yarn.name)}" ({yarn_tex(use.yarn):.0f} tex)' for use in idle[:4]
    )
    more = f" and {len(idle) - 4} more" if len(idle) > 4 else ""
    return [
        f"Not used: {few}{more}: with what lies beside them in the run the strands "
        f"together would leave {low:.0f} to {high:.0f} tex, or there is under a row. "
        "[strands] in blanket.toml sets that range."
    ]


def _stripe_steps(plan: Plan) -> str:
    between = largest_step(plan.fabric_steps)
    said = (
        f"Largest step between stripes {between:.1f}, between neighbouring balls "
        f"{largest_step(plan.design.steps):.1f}"
    )
    if plan.flows_better_on_stripes:
        other = plan.largest_by_yarn_order
        said += f" (ordered by the balls alone, {other:.1f} between stripes)"
    return f"{said}."


def _turns(plan: Plan) -> int:
    return hue_turns([yarn.mix for yarn in plan.design.laid.yarns])


def flow_lines(plan: Plan) -> list[str]:
    """Where the flow breaks, worst first, with a heading: between balls, or between
    stripes where the order was sought on these."""
    limit = plan.choices.judging.fabric_jump_limit
    if plan.for_stripes:
        worst, where = _stripe_jumps(plan), "Where the flow breaks between stripes"
        nowhere = f"No step between stripes is over {limit:g} or stands out."
    else:
        worst, where = _ball_jumps(plan), "Where the flow breaks"
        nowhere = "No step breaks the flow."
    return [f"{where}, worst first:", *worst] if worst else [nowhere]


def _ball_jumps(plan: Plan) -> list[str]:
    yarns, lines = plan.design.laid.yarns, []
    for met in ball_jumps(plan)[:N_TOLD]:
        k = met.places[0]
        where = f"{yarns[k].name} → {yarns[k + 1].name}"
        lines.append(_jump_words(plan.design.steps[k], where, met.words))
    return lines


def _stripe_jumps(plan: Plan) -> list[str]:
    assert plan.fabric is not None
    lines = []
    for met in stripe_jumps(plan)[:N_TOLD]:
        k = met.places[0]
        one, two = plan.fabric.stripes[k : k + 2]
        goes = _names(one, two) or "nothing"
        words = f"row {two.first_row}, {goes} → {_names(two, one) or 'nothing'}"
        lines.append(_jump_words(plan.fabric_steps[k], words, back_words(met, plan)))
    return lines


def _names(one: Stripe, two: Stripe) -> str:
    """Strands of one stripe that the other has not."""
    other = two.strands + two.carried
    return ", ".join(y.name for y in one.strands + one.carried if y not in other)


def _jump_words(step: Step, where: str, often: str = "") -> str:
    said = f"{step.size:5.1f}  {where}: {step.cause} ({' and '.join(step.reasons)})"
    return f"{said}; {often}" if often else said
