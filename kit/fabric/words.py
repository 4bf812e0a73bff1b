"""What is to be said of a fabric: thickness, where it ends, which sharing suits, and
why there is none.
"""

from __future__ import annotations

import json
import shlex
from collections.abc import Sequence
from dataclasses import dataclass

from kit.blanket import Choices, Stash, Yarn
from kit.blanket.choices import Making
from kit.errors import shorten
from kit.fabric.fabric import Fabric, Use
from kit.fabric.setup import SECOND_HALF_RESERVE, Setup
from kit.fabric.strands import ROWS_APART, tex_range
from kit.fabric.stripes import Stripe, is_mirror_image, is_out_of_range, own_tex
from kit.files.folders import CHOICES, STASH
from kit.yarn import counted, length, size


def fabric_said(
    stripes: Sequence[Stripe],
    uses: Sequence[Use],
    carried: Sequence[Yarn],
    setup: Setup,
    choices: Choices,
) -> list[str]:
    """How yarn use is known, where the thickness is missed, why knitting stops, what
    is left over whole: in sentences."""
    making, said = choices.making, []
    if setup.estimated:
        said.append(
            "Yarn use is estimated from the gauge (Munden's plain-knit relation, about "
            "15 % either way, not for garter or eyelets). A weighed swatch is surer."
        )
    said += _said_of_range(stripes, uses, making)
    if stripes and stripes[-1].last != setup.until:
        said += _said_of_end(stripes, uses, setup, choices)
    idle = (u.yarn for u in uses if not u.used_mm and u.yarn not in carried)
    unused = [yarn.name for yarn in idle]
    if unused:
        said.append(f"Left over whole: {', '.join(unused)}.")
    return said


def _asked(making: Making) -> str:
    low, high = tex_range(making.strands)
    return f"{low:.0f} to {high:.0f} tex"


def nothing_knitted(making: Making) -> str:
    """Why a fabric has no stripes, and what to change."""
    rules = making.strands
    strands = f"{rules.least} to {rules.most} strands of {_asked(making)}"
    return (
        f"Nothing can be knitted: the yarns here do not make {strands}. Change "
        "fabric_tex, least or most under [strands], or add yarn."
    )


def _said_of_range(
    stripes: Sequence[Stripe], uses: Sequence[Use], making: Making
) -> list[str]:
    """Where the thickness is missed, and what to change."""
    if not stripes:
        return [nothing_knitted(making)]
    out = [stripe for stripe in stripes if is_out_of_range(stripe, making)]
    rows = sum(stripe.rows for stripe in out)
    if not out:
        return []
    about = max(1, round(rows))
    are = "is" if about == 1 else "are"
    said = f"About {counted(about, 'row')} {are} out of the range of {_asked(making)}"
    if len(out) < len(stripes):
        return [
            f"{said}: other strands, or another fabric_tex under [strands], would "
            "mend it."
        ]
    tex = sum(own_tex(stripe) * stripe.rows for stripe in out) / rows
    return [
        f"{said}: no strands here make it. As held they are about {tex:.0f} tex; set "
        "fabric_tex near that under [strands], or change least or most."
    ]


def _said_of_end(
    stripes: Sequence[Stripe], uses: Sequence[Use], setup: Setup, choices: Choices
) -> list[str]:
    """Why knitting stops where the yarn ends, with what is left on the needle there;
    with mirrored halves that is in the middle, whose rows end first."""
    row_mm, last, reserve = setup.lengths.mm_at(setup.stitches), stripes[-1], 0.0
    where = f"Knitting stops after row {last.last_row}"
    if choices.laying.layout == "mirrored" and is_mirror_image(stripes):
        where = f"The colours go back after row {last.last_row // 2}"
        last, reserve = stripes[len(stripes) // 2], SECOND_HALF_RESERVE
    left = [
        f"{use.yarn.name} ({length(use.left_mm / 1000, choices.units)})"
        for use in uses
        if use.yarn in last.strands and use.left_mm >= row_mm + reserve * use.initial_mm
    ]
    if not left:
        return []
    return [
        f"{where}: what is left on the needle cannot make {_asked(choices.making)} "
        f"alone: {', '.join(left)}."
    ]


# --- halved or paired -----------------------------------------------------------------

WAYS = {
    "halve": "halving every ball",
    "pair": "pairing look-alikes, no ball cut,",
}


@dataclass(frozen=True, slots=True)
class Shared:
    """A blanket knitted in one of the two ways, and its largest step between stripes,
    dE00."""

    sharing: str
    fabric: Fabric
    largest: float


def which_suits(chosen: Shared, other: Shared) -> str:
    """The way that suits: the one that reaches the wished length; where neither does,
    that which gets further by four rows; else that with the smaller largest step."""
    if _by_length(chosen, other):
        return max(chosen, other, key=lambda way: way.fabric.rows).sharing
    return min(chosen, other, key=lambda way: way.largest).sharing


def _by_length(chosen: Shared, other: Shared) -> bool:
    """Whether how far they reach decides. Knitted until the yarn ends it never does:
    any length will do."""
    short = [way.fabric.short is not None for way in (chosen, other)]
    apart = abs(other.fabric.rows - chosen.fabric.rows) >= ROWS_APART
    return short[0] != short[1] or (all(short) and apart)


def sharing_words(
    chosen: Shared, other: Shared, units: str = "metric", *, wished: bool = True
) -> str:
    """How far both ways reach and how they flow, and which suits this stash. `wished`:
    a length is, else it is knitted until the yarn ends."""
    by = "length" if _by_length(chosen, other) else "steps"
    full = "the full " if wished else ""
    ways = f"{_told(chosen, units, full)}; {_told(other, units, full)}"
    return (
        f"{ways[0].upper()}{ways[1:]}. By the {by}, sharing = "
        f'"{which_suits(chosen, other)}" suits this stash.'
    )


def _told(way: Shared, units: str, full: str) -> str:
    fabric = way.fabric
    long = size(fabric.length_cm, units)
    reach = f"reaches {full}{long}" if fabric.short is None else f"stops at {long}"
    return (
        f"{WAYS[way.sharing]} {reach} with a largest step between stripes of "
        f"{way.largest:.1f}"
    )


# --- no fabric ------------------------------------------------------------------------

N_NAMED = 6  # yarns that are named; more are counted
ALONE = "This plan is the colour design alone"
TELLS = "it will say rows, metres and where each ball ends"


def no_fabric_words(
    yarns: Sequence[Yarn], stash: Stash, choices: Choices
) -> tuple[str, ...]:
    """What would take a plan of these yarns further; the stash has their rows."""
    making = choices.making
    if making.gauge is None or making.size is None:
        return (f"{ALONE}: fabric needs both [gauge] and [size] in {CHOICES}.",)
    rows = zip(stash.yarns, stash.table.rows, strict=False)
    row = {yarn.name: line.number for yarn, line in rows}
    every = {yarn.name for yarn in yarns}
    missing = {yarn.name for yarn in yarns if yarn.metres is None}
    named = sorted(missing, key=lambda name: (row.get(name) or 10**9, name))
    if 2 * len(named) > len(every):
        return (f"{ALONE}. Weigh these and {TELLS}: {_few(named, {})}.",)
    are = "is" if len(named) == 1 else "are"
    them = "it" if len(named) == 1 else "them"
    return (
        f"{ALONE}: {len(named)} of {len(every)} yarns {are} not weighed in {STASH}, "
        f"{_few(named, row)}. Weigh {them}, and {TELLS}.",
        f"Or plan without {them}: {leave_out_command(named, choices)} "
        f"(in the notebook 2_colours: Leave out).",
    )


def _few(names: Sequence[str], row: dict[str, int]) -> str:
    """The first names, with their rows where those are known."""
    told = []
    for name in names[:N_NAMED]:
        at = f" (row {row[name]})" if row.get(name) else ""
        told.append(f'"{shorten(name)}"{at}')
    more = len(names) - N_NAMED
    return ", ".join([*told, *([f"and {more} more"] if more > 0 else [])])


def leave_out_command(names: Sequence[str], choices: Choices) -> str:
    """The command line that plans without these yarns and those left out already.

    In double quotes with the names in single ones, as every shell reads it; names that
    hold a sign that is special there are quoted for a POSIX shell.
    """
    left = list(dict.fromkeys((*choices.laying.left_out, *names)))
    if any(set(name) & set("'\"\\$`!%^") for name in left):
        listed = ", ".join(json.dumps(name, ensure_ascii=False) for name in left)
        setting = shlex.quote(f"colours.left_out=[{listed}]")
    else:
        listed = ", ".join(f"'{name}'" for name in left)
        setting = f'"colours.left_out=[{listed}]"'
    return f"python -m kit plan FOLDER --set {setting}"
