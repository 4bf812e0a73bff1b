"""What would help where the flow breaks, in words: bridges, what to look for, moves."""

from __future__ import annotations

from kit.arrangement import Bridge
from kit.arrangement.advice import advice_words
from kit.arrangement.ideal_bridge import mix_words
from kit.arrangement.reordered import reordered_words
from kit.arrangement.suggestions import Suggestion
from kit.blanket import Yarn
from kit.colour import Mix
from kit.colour.mixes import hex_shares
from kit.errors import shorten
from kit.plan.compose import Plan
from kit.plan.facts import advice_of, ideal_amount, reordered_of
from kit.yarn import length, mass

FOR_STRIPES = (
    "The order was sought on the stripes, where strands change one at a time. The step "
    "between two balls hardly shows there, so nothing is put between balls, and no "
    "ball is moved, for its sake."
)


def bridge_lines(plan: Plan) -> list[str]:
    """The bridges put in and those carried, a sentence each; else that none is."""
    words = [bridge_words(bridge) for bridge in plan.design.bridges]
    words += [across_words(bridge) for bridge in plan.carried_bridges]
    return words or [declined for declined in [_declined(plan)] if declined]


def bridge_words(bridge: Bridge) -> str:
    """One bridge, before and after, in a sentence."""
    return (
        f'Bridge: "{bridge.yarn.name}" between "{bridge.after.name}" and '
        f'"{bridge.before.name}": that step goes from {bridge.step_before:.1f} to '
        f"{bridge.step_after:.1f}, the largest from {bridge.largest_before:.1f} to "
        f"{bridge.largest_after:.1f}."
    )


def across_words(bridge: Bridge) -> str:
    """One carried bridge, before and after, in a sentence."""
    return (
        f'Bridge: "{bridge.yarn.name}" carried where "{bridge.after.name}" gives way '
        f'to "{bridge.before.name}": that step between stripes goes from '
        f"{bridge.step_before:.1f} to {bridge.step_after:.1f}, the largest from "
        f"{bridge.largest_before:.1f} to {bridge.largest_after:.1f}."
    )


def _declined(plan: Plan) -> str:
    if plan.choices.bridging.bridges == 0 or len(plan.design.laid.yarns) < 2:
        return ""
    shop = plan.choices.bridging.bridges_from != "stash"
    between = " between stripes" if plan.for_stripes else ""
    where = "of the stash or the shop list" if shop else "of the stash"
    return f"No bridge is put in: none {where} lowers the largest step{between}."


def gap_lines(plan: Plan) -> list[str]:
    """For each of the worst jumps the best yarn at hand and on the shop list, with what
    it would leave there; else what to look for."""
    if plan.for_stripes:
        return [FOR_STRIPES]
    lines = [_gap_words(one, plan) for one in plan.design.suggestions]
    if not lines:
        return []
    return [f"Gap by gap, worst first; {_one_at_a_time(plan)}", *lines]


def _one_at_a_time(plan: Plan) -> str:
    if len(plan.design.suggestions) == 1:
        return "the largest step of all falls to the next largest at most."
    return (
        "one gap bridged, the next largest is the largest step, so a smooth run gains "
        "gap by gap rather than at once."
    )


def _gap_words(one: Suggestion, plan: Plan) -> str:
    said = f'"{shorten(one.after.name)}" → "{shorten(one.before.name)}", {one.step:.1f}'
    best: dict[str, str] = {}
    for yarn, source, step in one.candidates:
        best.setdefault(source, _leaves(yarn, source, step))
    told = list(best.values())
    if one.ideal:
        told.append(ideal_words(one, plan))
    return f"{said}: {'; '.join(told) or 'nothing that is known of lowers it'}."


def _leaves(yarn: Yarn, source: str, step: float) -> str:
    return f'"{shorten(yarn.name)}" of the {source} would leave {step:.1f}'


def ideal_words(one: Suggestion, plan: Plan) -> str:
    """What to look for in words, by hex and share, how much of it, what it leaves."""
    if one.ideal is None:
        return ""
    mix, units = one.ideal.mix, plan.choices.units
    much = ""
    if plan.fabric:
        metres, grams = ideal_amount(one, plan.fabric)
        if metres > 0:
            much = f", about {mass(grams, units)} ({length(metres, units)})"
    return (
        f"look for {mix_words(mix)} ({_parts(mix)}){much}: it would leave "
        f"{one.ideal.step_after:.1f}"
    )


def _parts(mix: Mix) -> str:
    return ", ".join(f"{text} {share:.0%}" for text, share in hex_shares(mix))


def reordered_lines(plan: Plan) -> list[str]:
    """Bridges put between against bridges arranged anew, where both can be had."""
    words = reordered_words(reordered_of(plan))
    return [words] if words else []


def advice_lines(plan: Plan) -> list[str]:
    """For each of the worst jumps the move, swap or leaving-out that helps most."""
    mirrored = plan.choices.laying.layout == "mirrored"
    return [advice_words(one, mirrored=mirrored) for one in advice_of(plan)]
