"""What plan.json tells of a plan beyond the plan itself: steps, bridges, advice, how
sure it is. It is for other programs, in full precision; order and joins are read back.
"""

from __future__ import annotations

from typing import Any

from kit.arrangement import Bridge
from kit.arrangement.advice import Advice, advice_words
from kit.arrangement.ideal_bridge import mix_words
from kit.arrangement.reordered import Reordered, reordered_words
from kit.arrangement.second_opinion import Opinion, opinion_lines, second_opinion
from kit.arrangement.suggestions import Suggestion
from kit.colour import words_for
from kit.colour.spaces import lab_to_hex
from kit.colour.steps import hue_turns, largest_step, median_step
from kit.fabric import Fabric
from kit.fabric.forecast import Forecast
from kit.fabric.ranges import INSIDE, Range
from kit.fabric.schedule import weight_g
from kit.plan import Plan, sizes_table
from kit.plan.facts import (
    advice_of,
    best_words,
    forecast_of_plan,
    ideal_amount,
    is_proved,
    reordered_of,
    stripes_with,
)
from kit.plan.sizes import SizeRow


def colour_findings(plan: Plan) -> dict[str, Any]:
    """What is found of the colours, by the keys of plan.json."""
    design = plan.design
    bridges = (*design.bridges, *plan.carried_bridges)
    return {
        "arrangement": _arrangement(plan),
        "bridges": [_bridge(bridge, plan.fabric) for bridge in bridges],
        "bridge_candidates": [_candidates(one) for one in design.suggestions],
        "look_for": [_look_for(one, plan) for one in design.suggestions if one.ideal],
        "advice": [_advice(one) for one in advice_of(plan)],
        "bridges_reordered": _reordered(reordered_of(plan)),
        "second_opinion": _opinion(second_opinion(design, plan.choices.judging)),
    }


def fabric_findings(plan: Plan, fabric: Fabric) -> dict[str, Any]:
    """What is found of the fabric; nothing is forecast where nothing is knitted."""
    forecast = forecast_of_plan(plan)
    return {
        "sizes": [_size(one) for one in sizes_table(fabric, plan.choices.making)],
        **({"forecast": _forecast(forecast)} if forecast else {}),
    }


# --- the colours ----------------------------------------------------------------------


def _arrangement(plan: Plan) -> dict[str, Any]:
    design, best = plan.design, plan.design.arrangement.best
    names = [yarn.name for yarn in design.laid.yarns]
    between = best.between if best else None
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
        "largest_step_before_bridges": largest_step(design.steps_before),
        "median_step": median_step(design.steps),
        "hue_turns": hue_turns([yarn.mix for yarn in design.laid.yarns]),
        "out_of_value_order": [
            {"yarn": name, "lightness": amount}
            for name, amount in design.out_of_value_order
        ],
        "best_possible": best.largest if best else None,
        "proved": is_proved(plan),
        "best_possible_between": [list(part) for part in between] if between else None,
        "best_possible_because": best_words(plan),
    }


def _bridge(bridge: Bridge, fabric: Fabric | None) -> dict[str, Any]:
    data = {
        "yarn": bridge.yarn.name,
        "how": "between",
        "after": bridge.after.name,
        "before": bridge.before.name,
        "step_before": bridge.step_before,
        "step_after": bridge.step_after,
        "largest_step_before": bridge.largest_before,
        "largest_step_after": bridge.largest_after,
    }
    if fabric:
        held = stripes_with(fabric, bridge.yarn)
        used_mm = sum(round(1000 * stripe.metres_each) for stripe in held)
        if held and all(bridge.yarn in stripe.carried for stripe in held):
            data["how"] = "carried"
        data |= {
            "first_row": held[0].first_row if held else None,
            "last_row": held[-1].last_row if held else None,
            "metres": used_mm / 1000,
            "grams": weight_g(bridge.yarn, used_mm),
        }
    return data


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


def _look_for(one: Suggestion, plan: Plan) -> dict[str, Any]:
    assert one.ideal is not None
    mix = one.ideal.mix
    data = {
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
        "step_after": one.ideal.step_after,
        "step_before": one.step,
        "words": mix_words(mix),
    }
    if plan.fabric:
        data["metres"], data["grams"] = ideal_amount(one, plan.fabric)
    return data


def _advice(one: Advice) -> dict[str, Any]:
    after, before, size = one.jump
    return {
        "after": after.name,
        "before": before.name,
        "step": size,
        "do": one.does,
        "yarn": one.yarn.name,
        "beside": [yarn.name for yarn in one.beside],
        "step_after": one.step_after,
        "largest_step_before": one.largest_before,
        "largest_step_after": one.largest_after,
        "breaks": list(one.breaks),
        "words": advice_words(one),
    }


def _reordered(one: Reordered | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        "put_between": [yarn.name for yarn in one.between],
        "arranged_anew": [yarn.name for yarn in one.yarns],
        "order": [yarn.name for yarn in one.order],
        "largest_step_without": one.without,
        "largest_step_put_between": one.put_in,
        "largest_step_arranged_anew": one.arranged,
        "better": one.better,
        "words": reordered_words(one),
    }


def _opinion(opinion: Opinion) -> dict[str, Any]:
    """Each pair of neighbours once; a rank correlation of 1 is the same order."""
    steps = zip(opinion.pairs, opinion.sizes, opinion.others, strict=True)
    return {
        "space": "CAM16-UCS",
        "steps": [
            {"from": one.name, "to": two.name, "size": size, "by_cam16_ucs": other}
            for (one, two), size, other in steps
        ],
        "rank_correlation": opinion.agreement,
        "words": opinion_lines(opinion),
    }


# --- the fabric -----------------------------------------------------------------------


def _size(one: SizeRow) -> dict[str, Any]:
    return {
        "name": one.name,
        "stitches": one.stitches,
        "rows": one.rows,
        "width_cm": one.width_cm,
        "length_cm": one.length_cm,
        "metres": one.metres,
        "grams": one.grams,
        "by_weight": [
            {"weight": yarn.weight, "metres": yarn.metres, "grams": yarn.grams}
            for yarn in one.yarn
        ],
        "margin": one.margin,
        "buy_metres": one.buy_metres,
        "buy_grams": one.buy_grams,
    }


def _forecast(sure: Forecast) -> dict[str, Any]:
    """Nine in ten lie between low and high; rows from the cast-on edge."""
    return {
        "inside": INSIDE,
        "lasts_rows": _range(sure.lasts),
        "chance": sure.chance,
        "chance_in_all": sure.in_all,
        "endings": [
            {
                "yarn": one.strand.part.yarn.name,
                "part": one.strand.part.number,
                "kind": one.strand.kind,
                "joins_after_rows": _range(one.joins),
                "ends_after_rows": _range(one.ends),
                "rows_from_join_to_end": _range(one.lasts),
            }
            for one in sure.endings
        ],
        "hold_back": [
            {"yarn": one.yarn.name, "grams": one.planned_g, "grams_sure": one.sure_g}
            for one in sure.reserves
        ],
        "doubts": dict(sure.doubts),
        "better": [{"what": one.says, "leaves": one.leaves} for one in sure.better],
    }


def _range(one: Range) -> dict[str, float]:
    return {"likely": one.likely, "low": one.low, "high": one.high}
