"""What is to be said of a fabric: thickness, where it ends, what stays whole."""

from __future__ import annotations

from collections.abc import Sequence

from kit.blanket import Choices, Yarn
from kit.blanket.choices import Making
from kit.fabric.fabric import Use
from kit.fabric.fabric_sums import own_tex
from kit.fabric.setup import SECOND_HALF_RESERVE, Loom
from kit.fabric.strands import tex_range
from kit.fabric.stripes import Stripe, is_out_of_range
from kit.yarn import counted, length


def fabric_said(
    stripes: Sequence[Stripe],
    uses: Sequence[Use],
    carried: Sequence[Yarn],
    loom: Loom,
    choices: Choices,
) -> list[str]:
    """How yarn use is known, where the thickness is missed, why knitting stops, what
    is left over whole: in sentences."""
    making, said = choices.making, []
    if loom.estimated:
        said.append(
            "Yarn use is estimated from the gauge (Munden's plain-knit relation, about "
            "15 % either way, not for garter or eyelets). A weighed swatch is surer."
        )
    said += _said_of_range(stripes, uses, making)
    if stripes and stripes[-1].last != loom.until:
        said += _said_of_end(stripes, uses, loom, choices)
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
    stripes: Sequence[Stripe], uses: Sequence[Use], loom: Loom, choices: Choices
) -> list[str]:
    """Why knitting stops where the yarn ends, with what is left on the needle there;
    with mirrored halves that is in the middle, whose rows end first."""
    row_mm, last, reserve = loom.line.mm_at(loom.stitches), stripes[-1], 0.0
    where = f"Knitting stops after row {last.last_row}"
    held = [{yarn.name for yarn in stripe.strands} for stripe in stripes]
    if choices.laying.layout == "mirrored" and len(held) > 1 and held == held[::-1]:
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
