"""Plans as written: the numbered folders, and a plan.json read back.

The first plan lies in `plan`, those that follow in `plan-2`, `plan-3` and so on. What
is read back is what the knitter has on paper, so that nothing moves under the needles
when the stash is edited later.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from kit.arrangement import design_colours
from kit.arrangement.layout import Laid
from kit.blanket import Blanket, Choices, Yarn
from kit.blanket.keys import with_changes
from kit.errors import Fault, KitError
from kit.fabric import Fabric, Start, Stripe, stripe_steps
from kit.fabric.fabric import NOT_BEGUN, Ahead, Short, Use
from kit.fabric.setup import set_up
from kit.fabric.stripes import initial_mm
from kit.files import read_bytes
from kit.files.folders import CHOICES
from kit.plan import Plan

PLAN = "plan"
JSON = "plan.json"
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


def read_plan(folder: Path, blanket: Blanket) -> tuple[Plan | None, str]:
    """A written plan as a value, or None and why it cannot be used.

    Its colours are measured anew; its stripes, amounts and where it began are as
    written. Yarns are those of the stash and the shop, by name.
    """
    try:
        data = json.loads(read_bytes(folder / JSON))
        return _plan(data, blanket), ""
    except KitError as error:
        why = str(error).splitlines()[0]
    except (KeyError, TypeError, ValueError, IndexError, AttributeError):
        why = "it is not as the kit wrote it"
    return None, f"{folder.name}/{JSON} is not used: {why}"


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
    cautions = tuple(data["cautions"])
    return Plan(stash, choices, design, fabric, steps, None, (), (), cautions, start)


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


def _fabric(
    data: Mapping[str, Any], yarns: Mapping[str, Yarn], choices: Choices
) -> Fabric:
    made, short = data["fabric"], data["short"]
    row = int(made["stitches"])
    stripes = tuple(_stripe(one, row, yarns) for one in made["stripes"])
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
    uses += _bought(stripes, {use.yarn.name for use in uses})
    return Fabric(
        row,
        int(made["rows"]),
        float(made["width_cm"]),
        float(made["length_cm"]),
        stripes,
        tuple(uses),
        Short(**short) if short else None,
        (),
    )


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


def _stripe(one: Mapping[str, Any], row: int, yarns: Mapping[str, Yarn]) -> Stripe:
    return Stripe(
        (one["first_row"] - 1) * row + one["first_stitch"] - 1,
        (one["last_row"] - 1) * row + one["last_stitch"],
        row,
        tuple(yarns[name] for name in one["strands"]),
        tuple(yarns[name] for name in one["carried"]),
        float(one["metres_each"]),
        bool(one.get("anew", False)),
    )


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
