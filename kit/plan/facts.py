"""What is asked of a plan: its proof, advice and cautions, how sure it is, amounts."""

from __future__ import annotations

from kit.arrangement import advise
from kit.arrangement.advice import Advice
from kit.arrangement.reordered import Reordered, reorder
from kit.arrangement.suggestions import Suggestion
from kit.blanket import Yarn
from kit.colour.steps import largest_step
from kit.fabric import Fabric, Stripe, forecast_fabric
from kit.fabric.care import care_words
from kit.fabric.fabric import NOT_BEGUN, Use
from kit.fabric.forecast import Forecast
from kit.fabric.stripes import yarn_tex
from kit.plan.compose import Plan
from kit.yarn.tex import grams


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
    kept = "" if best.without_rule is None else " that keeps the value rule"
    said = [
        f"No order of these yarns{kept} has a largest step under {best.largest:.1f}: "
        f"{best.because}"
    ]
    if best.still_open:
        said.append(
            f"Whether an order reaches it is open: the best one found has "
            f"{best.found:.2f}, {best.found - best.largest:.2f} more."
        )
    elif not best.reached:
        said.append("This order does not reach it.")
    if best.without_rule is not None:
        least = "at least " if best.still_open else ""
        said.append(
            f"Without the value rule {best.without_rule:.1f} can be reached, so the "
            f"rule costs {least}{best.largest - best.without_rule:.1f}."
        )
    return " ".join(said)


def forecast_of_plan(plan: Plan) -> Forecast | None:
    """How sure a plan is before its first stitch; of one that is begun, `progress`
    tells."""
    if plan.fabric is None or not plan.fabric.stripes or plan.start.row:
        return None
    return forecast_fabric(plan.fabric, plan.choices)


def all_cautions(plan: Plan) -> tuple[str, ...]:
    """The plan's cautions, then the stripes that are to be minded by name."""
    return (*plan.cautions, *care_words(plan.fabric.stripes if plan.fabric else ()))


def stripes_with(fabric: Fabric, yarn: Yarn) -> list[Stripe]:
    """The stripes that hold a yarn, carried or not."""
    return [s for s in fabric.stripes if yarn in s.strands + s.carried]


def use_of(yarn: Yarn, fabric: Fabric) -> Use | None:
    """What the fabric makes of a yarn; None where it has no place in it."""
    return next((use for use in fabric.uses if use.yarn == yarn), None)


def advice_of(plan: Plan) -> tuple[Advice, ...]:
    """What to do about the worst jumps; nothing once knitting has begun, nor where the
    order was sought on the stripes: there the balls' steps do not count."""
    if plan.start != NOT_BEGUN or plan.for_stripes:
        return ()
    return advise(plan.design, plan.choices)


def reordered_of(plan: Plan) -> Reordered | None:
    """Bridges arranged anew beside those put between; None where `advice_of` is empty
    from the start."""
    if plan.start != NOT_BEGUN or plan.for_stripes:
        return None
    return reorder(plan.design, plan.stash.yarns, plan.choices)


def ideal_amount(one: Suggestion, fabric: Fabric) -> tuple[float, float]:
    """How much of a yarn to look for, in metres and grams: as its two neighbours have
    on average, of their mean tex (our rule of thumb)."""
    used_mm = {use.yarn.name: use.used_mm for use in fabric.uses}
    pair = one.after, one.before
    metres = sum(used_mm.get(yarn.name, 0) for yarn in pair) / 2000
    return metres, grams(metres, sum(map(yarn_tex, pair)) / 2)
