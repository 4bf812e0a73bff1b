"""plan.json written and read back, part by part, and the folders it lies in.

The first plan lies in `plan`, those that follow in `plan-2`, `plan-3` and so on. What
is read back is what the knitter has on paper, so that nothing moves under the needles
when the stash is edited later. What is only told to other programs: `findings`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from kit.arrangement import design_colours
from kit.arrangement.layout import Laid
from kit.arrangement.orders import family_name, value_of
from kit.blanket import Blanket, Choices, Yarn
from kit.blanket.keys import with_changes
from kit.colour import mean_lab
from kit.colour.mixes import hex_shares
from kit.colour.spaces import lab_to_hex
from kit.colour.steps import largest_step
from kit.errors import Fault, KitError
from kit.fabric import Fabric, Start, Stripe, stripe_steps
from kit.fabric.care import cautions
from kit.fabric.fabric import NOT_BEGUN, Ahead, Short, Use
from kit.fabric.schedule import weight_g
from kit.fabric.setup import set_up
from kit.fabric.stripes import (
    initial_mm,
    is_out_of_range,
    stripe_contrast,
    stripe_mix,
    stripe_tex,
)
from kit.files import read_bytes
from kit.files.folders import CHOICES
from kit.plan import Plan
from kit.plan.facts import all_cautions, use_of
from kit.report.findings import colour_findings, fabric_findings

PLAN = "plan"
JSON = "plan.json"
FORMAT = 2  # 1 is read as well: it says "anew" of a stripe that has a `restart`
_NUMBERED = re.compile(rf"{PLAN}(?:-([2-9]|[1-9]\d+))?")


def plan_folders(folder: str | Path) -> dict[int, Path]:
    """The plans of a blanket folder by number; those without a plan.json left out."""
    found = {}
    for path in Path(folder).glob(f"{PLAN}*"):
        match = _NUMBERED.fullmatch(path.name)
        if match and (path / JSON).is_file():
            found[int(match[1] or 1)] = path
    return dict(sorted(found.items()))


def plan_folder(folder: str | Path, number: int) -> Path:
    """Where plan `number` lies: `plan`, `plan-2`, `plan-3` …"""
    return Path(folder) / (PLAN if number == 1 else f"{PLAN}-{number}")


# --- the whole ------------------------------------------------------------------------


def plan_json(plan: Plan) -> str:
    """plan.json as text."""
    return json.dumps(plan_data(plan), ensure_ascii=False, indent=1) + "\n"


def plan_data(plan: Plan) -> dict[str, Any]:
    """What plan.json holds; keys that speak of fabric are left out where none is."""
    fabric, start = plan.fabric, plan.start
    return {
        "format": FORMAT,
        "name": plan.choices.name,
        **({"start": _start_data(start)} if start != NOT_BEGUN else {}),
        **colour_findings(plan),
        **({"fabric": _fabric_data(plan, fabric)} if fabric else {}),
        "yarn": [_yarn_data(yarn, fabric) for yarn in plan.stash.yarns],
        **({"short": fabric.short and asdict(fabric.short)} if fabric else {}),
        **(fabric_findings(plan, fabric) if fabric else {}),
        "assumed": list(plan.assumed),
        "cautions": list(all_cautions(plan)),
    }


def read_plan(folder: Path, blanket: Blanket) -> tuple[Plan | None, str]:
    """A written plan as a value, or None and why it cannot be used.

    Its colours are measured anew; its stripes, amounts and where it began are as
    written. Yarns are those of the stash and the shop, by name.
    """
    try:
        data = json.loads(read_bytes(folder / JSON))
        _check_format(data["format"])
        return _plan(data, blanket), ""
    except KitError as error:
        why = str(error).splitlines()[0]
    except (KeyError, TypeError, ValueError, IndexError, AttributeError):
        why = "it is not as the kit wrote it"
    return None, f"{folder.name}/{JSON} is not used: {why}"


def _check_format(found: int) -> None:
    if found > FORMAT:
        says = f"it is of format {found}, and this kit reads formats up to {FORMAT}"
        advice = "Use the kit that wrote it, or a later one."
        raise KitError(Fault("later_format", says=says, advice=advice))


def _plan(data: Mapping[str, Any], blanket: Blanket) -> Plan | None:
    shop = blanket.shop.yarns if blanket.shop else ()
    owned = {yarn.name: yarn for yarn in (*shop, *blanket.stash.yarns)}
    start = _start(data.get("start"))
    choices = with_changes(blanket.choices, dict(start.changes))
    yarns = dict(owned)
    for one in data["yarn"]:
        name = one["name"]
        if name in owned and one["metres_have"] is not None:
            yarns[name] = replace(owned[name], metres=float(one["metres_have"]))
    listed = {one["name"] for one in data["yarn"]}
    fabric = _fabric(data, yarns, choices)
    knitted = {y.name for s in fabric.stripes for y in s.strands + s.carried}
    if any(yarn.name in knitted - listed for yarn in blanket.stash.yarns):
        raise ValueError("a yarn that is knitted is not listed")
    _check(fabric, choices)
    arranged = data["arrangement"]
    joins = frozenset(k for k, s in enumerate(arranged["steps"]) if s["join"])
    laid = Laid(tuple(yarns[name] for name in arranged["order"]), joins)
    bare = replace(choices, bridging=replace(choices.bridging, bridges=0))
    design = design_colours((), (), bare, along=laid)
    steps = stripe_steps(fabric.stripes, choices)
    stash = replace(
        blanket.stash, yarns=tuple(yarns[yarn.name] for yarn in blanket.stash.yarns)
    )
    minded = cautions(stash.yarns)
    return Plan(stash, choices, design, fabric, steps, None, (), (), minded, start)


def _check(fabric: Fabric, choices: Choices) -> None:
    """Whether blanket.toml still makes the fabric that was planned."""
    setup = set_up(choices.making)
    end = 0
    for stripe in fabric.stripes:
        mm = setup.lengths.mm_between(stripe.first, stripe.last)
        if stripe.first != end:
            raise ValueError(stripe)
        if setup.stitches != fabric.stitches or abs(1000 * stripe.metres_each - mm) > 2:
            says = f"{CHOICES} now makes another fabric than it (gauge, size, sections)"
            advice = "Put that back, or write the plan anew."
            raise KitError(Fault("other_fabric", says=says, advice=advice))
        end = stripe.last


# --- where it began -------------------------------------------------------------------


def _start_data(start: Start) -> dict[str, Any]:
    """Where a re-plan began: rows knitted by then, and what was changed from there."""
    return {
        "row": start.row,
        "held": list(start.held),
        "finished": list(start.finished),
        "ahead": [[one.yarn, one.part, one.time] for one in start.ahead],
        "changes": dict(start.changes),
    }


def _start(data: Mapping[str, Any] | None) -> Start:
    if not data:
        return NOT_BEGUN
    return Start(
        row=int(data["row"]),
        held=tuple(data["held"]),
        finished=tuple(data["finished"]),
        ahead=tuple(Ahead(*one) for one in data["ahead"]),
        changes=tuple(data["changes"].items()),
    )


# --- the fabric -----------------------------------------------------------------------


def _fabric_data(plan: Plan, fabric: Fabric) -> dict[str, Any]:
    return {
        "stitches": fabric.stitches,
        "rows": fabric.rows,
        "width_cm": fabric.width_cm,
        "length_cm": fabric.length_cm,
        "largest_step": largest_step(plan.fabric_steps),
        "largest_step_by_yarn_order": plan.largest_by_yarn_order,
        "stripes": [_stripe_data(stripe, plan) for stripe in fabric.stripes],
    }


def _fabric(
    data: Mapping[str, Any], yarns: Mapping[str, Yarn], choices: Choices
) -> Fabric:
    made, short = data["fabric"], data["short"]
    row = int(made["stitches"])
    stripes = tuple(_stripe(one, row, yarns) for one in made["stripes"])
    return Fabric(
        row,
        int(made["rows"]),
        float(made["width_cm"]),
        float(made["length_cm"]),
        stripes,
        _uses(data, stripes, yarns),
        Short(**short) if short else None,
        (),
    )


def _stripe_data(stripe: Stripe, plan: Plan) -> dict[str, Any]:
    lab = mean_lab(stripe_mix(stripe))
    return {
        "first_row": stripe.first_row,
        "first_stitch": stripe.first_stitch,
        "last_row": stripe.last_row,
        "last_stitch": stripe.last_stitch,
        "strands": [yarn.name for yarn in stripe.strands],
        "carried": [yarn.name for yarn in stripe.carried],
        "colour": lab_to_hex(lab),
        "lab": list(lab),
        "tex": stripe_tex(stripe),
        "metres_each": stripe.metres_each,
        "contrast": stripe_contrast(stripe),
        "out_of_range": is_out_of_range(stripe, plan.choices.making),
        "restart": stripe.restart,
    }


def _stripe(one: Mapping[str, Any], row: int, yarns: Mapping[str, Yarn]) -> Stripe:
    return Stripe(
        (one["first_row"] - 1) * row + one["first_stitch"] - 1,
        (one["last_row"] - 1) * row + one["last_stitch"],
        row,
        tuple(yarns[name] for name in one["strands"]),
        tuple(yarns[name] for name in one["carried"]),
        float(one["metres_each"]),
        bool(one.get("restart", one.get("anew", False))),
    )


# --- the yarn -------------------------------------------------------------------------


def _yarn_data(yarn: Yarn, fabric: Fabric | None) -> dict[str, Any]:
    data = {
        "name": yarn.name,
        "no": yarn.no,
        "colours": [list(pair) for pair in hex_shares(yarn.mix)],
        "value": value_of(yarn),
        "family": family_name(yarn),
        "role": yarn.role,
        "grams_have": yarn.grams,
        "metres_have": yarn.metres,
    }
    if fabric:
        data |= _amounts(use_of(yarn, fabric), yarn)
    return data


def _amounts(use: Use | None, yarn: Yarn) -> dict[str, Any]:
    """A yarn without a place is left as it was had, known or not."""
    if use is None:
        kept, used, left, grams_left = 0.0, 0.0, yarn.metres, yarn.grams
    else:
        kept, used, left = use.kept_mm / 1000, use.used_mm / 1000, use.left_mm / 1000
        grams_left = weight_g(yarn, use.left_mm)
    return {
        "metres_kept_back": kept,
        "metres_used": used,
        "metres_left": left,
        "grams_used": weight_g(yarn, 1000 * used),
        "grams_left": grams_left,
    }


def _uses(
    data: Mapping[str, Any], stripes: Sequence[Stripe], yarns: Mapping[str, Yarn]
) -> tuple[Use, ...]:
    """What becomes of each yarn that has a place along the blanket."""
    placed = set(data["arrangement"]["order"]) | {
        yarn.name for stripe in stripes for yarn in stripe.strands + stripe.carried
    }
    uses = [
        Use(
            yarns[one["name"]],
            initial_mm(yarns[one["name"]]),
            round(1000 * one["metres_kept_back"]),
            round(1000 * one["metres_used"]),
        )
        for one in data["yarn"]
        if one["name"] in placed
    ]
    return (*uses, *_bought(stripes, {use.yarn.name for use in uses}))


def _bought(stripes: Sequence[Stripe], known: set[str]) -> list[Use]:
    """Skeins of the shop list, which plan.json does not list under its yarns."""
    uses: dict[str, Use] = {}
    for stripe in stripes:
        for yarn in stripe.strands + stripe.carried:
            if yarn.name not in known:
                before = uses.get(yarn.name, Use(yarn, initial_mm(yarn), 0, 0))
                used = before.used_mm + round(1000 * stripe.metres_each)
                uses[yarn.name] = replace(before, used_mm=used)
    return list(uses.values())
