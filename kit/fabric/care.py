"""What to mind with these yarns: washing, bleeding, small children."""

from __future__ import annotations

import re
from collections.abc import Sequence

from kit.blanket import Yarn
from kit.colour.spaces import chroma_hue
from kit.fabric.stripes import Stripe

# Words on a label for fibres that felt (common practice, no source).
FELTING = ("wool", "merino", "alpaca", "cashmere", "angora", "mohair", "felt")
TREATED = ("superwash", "machine")
# A label that says what the yarn is not: "do not machine wash", "non-superwash".
_NOT = re.compile(r"\b(?:no|not|non|never)\b[^,;.]*?(?:superwash|machine)")


def is_superwash(yarn: Yarn) -> bool:
    """Whether its label says so, under fibre or care."""
    return "superwash" in _label(yarn)


def is_feltable(yarn: Yarn) -> bool:
    """Wool or its like that is not treated for the machine; a blank label is not."""
    treated = any(word in _label(yarn) for word in TREATED)
    return not treated and any(word in yarn.label.fibre.casefold() for word in FELTING)


def _label(yarn: Yarn) -> str:
    """Fibre and care in small letters, without what it is said not to be."""
    return _NOT.sub("", f"{yarn.label.fibre}, {yarn.label.care}".casefold())


def mixed_care(stripes: Sequence[Stripe]) -> tuple[Stripe, ...]:
    """The stripes that hold superwash and feltable wool together."""
    return tuple(
        stripe
        for stripe in stripes
        if any(map(is_superwash, stripe.strands + stripe.carried))
        and any(map(is_feltable, stripe.strands + stripe.carried))
    )


def care_words(stripes: Sequence[Stripe]) -> tuple[str, ...]:
    """One calm sentence that names those rows and yarns; none where there are none."""
    mixed = mixed_care(stripes)
    if not mixed:
        return ()
    spans: list[tuple[int, int]] = []
    for stripe in mixed:
        first, last = stripe.first_row, stripe.last_row
        if spans and first <= spans[-1][1] + 1:
            spans[-1] = spans[-1][0], last
        else:
            spans.append((first, last))
    rows = ", ".join(f"{first} to {last}" for first, last in spans)
    held = dict.fromkeys(y for s in mixed for y in s.strands + s.carried)
    felts = ", ".join(f'"{yarn.name}"' for yarn in held if is_feltable(yarn))
    return (
        "Superwash and feltable wool are held together and can pucker in the wash in "
        f"rows {rows}. Feltable there: {felts}. Wash a swatch of such a stripe first.",
    )


def cautions(yarns: Sequence[Yarn]) -> tuple[str, ...]:
    """What to mind with these yarns, calmly and once; local guidance goes first."""
    used = [yarn for yarn in yarns if yarn.role != "leave out"]
    washing = "Wash by the gentlest label among the yarns used."
    if any(map(is_superwash, used)) and any(map(is_feltable, used)):
        washing += " Superwash and feltable wool in one stripe can pucker."
    if any(_may_bleed(yarn) for yarn in used):
        washing += " Test dark or red strands for bleeding first."
    loose = "Long loose ends, fringes and shedding fluff are a choking risk for small"
    return (
        "A blanket is not for a baby's sleep space unless the local health service "
        "says so; follow its advice.",
        washing,
        f"{loose} children and pets. The yarn's own label and local guidance go first.",
    )


def _may_bleed(yarn: Yarn) -> bool:
    """Dark or red colours (common practice, no source)."""
    for lab in yarn.mix.labs:
        chroma, hue = chroma_hue(lab)
        if lab[0] < 35 or (chroma > 30 and (hue < 45 or hue > 340)):
            return True
    return False
