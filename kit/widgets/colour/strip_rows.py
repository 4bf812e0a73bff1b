"""What the strip shows: yarns, steps and lines of text as plain values for a page."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from kit.arrangement.design import measure
from kit.arrangement.layout import Laid, n_parts
from kit.arrangement.manual import ManualOrder
from kit.arrangement.orders import family_name, value_of
from kit.blanket import Yarn
from kit.blanket.choices import BY_HAND, ORDER_WORDS, Judging
from kit.colour import Step
from kit.colour.steps import (
    hue_turns,
    largest_step,
    median_step,
    out_of_order,
    step_words,
)
from kit.pictures.swatches import bands, mark_of
from kit.widgets.colour.state import ColourState, Pool
from kit.yarn import counted

LATE = 0.5  # L*: a yarn out of value order by less is not marked


def yarn_row(yarn: Yarn, source: str) -> dict[str, Any]:
    """One yarn: its texts, and its colours as runs of [hex, share], also in greys."""
    paint, grey = (
        [[band.colour, round(band.length, 4)] for band in bands(yarn, grey=grey)]
        for grey in (False, True)
    )
    return {
        "name": yarn.name,
        "no": str(yarn.no),
        "value": f"{value_of(yarn):.0f}",
        "family": family_name(yarn),
        "accent": yarn.role == "accent",
        "source": source,
        "paint": paint,
        "grey": grey,
    }


def line_steps(line: Sequence[Yarn], judging: Judging) -> tuple[Step, ...]:
    """The steps along a line of yarns and bridges."""
    return measure(Laid(tuple(line)), judging)


def member_rows(
    hand: ManualOrder,
    yarns: Sequence[Yarn],
    at: Mapping[str, int],
    by_itself: frozenset[str],
    *,
    by_family: bool,
) -> list[dict[str, Any]]:
    """The members of the run: which yarn, and its marks in words.

    Families turn round on purpose, so value order is not told where they are the
    ground of the order.
    """
    order = [yarn for yarn in yarns if yarn.name not in hand.bridges]
    late = {} if by_family else out_of_order([value_of(yarn) for yarn in order])
    off = {order[i].name: amount for i, amount in late.items() if amount >= LATE}
    rows = []
    for yarn in yarns:
        name = yarn.name
        bridge = "" if name not in hand.bridges else "bridge"
        if name in by_itself:
            bridge = "bridge, put in by the kit"
        rows.append(
            {
                "yarn": at[name],
                "bridge": bridge,
                "locked": name in hand.locked,
                "tied": any(pair[0] == name for pair in hand.pairs),
                "late": f"{off[name]:.0f}" if name in off else "",
            }
        )
    return rows


def step_rows(line: Sequence[Yarn], steps: Sequence[Step]) -> list[dict[str, Any]]:
    """The steps between the members: number, mark, and all of it in words."""
    return [
        {
            "size": f"{step.size:.0f}",
            "mark": mark_of(step),
            "loud": step.jump and step.counts,
            "words": f"{one.name} → {two.name}: "
            + step_words(step, one.mix, two.mix)
            + ".",
        }
        for one, two, step in zip(line, line[1:], steps, strict=False)
    ]


def number_line(
    line: Sequence[Yarn], steps: Sequence[Step], bridges: Collection[str], how: str
) -> str:
    """The run in numbers: how it came about, largest and median step, hue turns."""
    turns = hue_turns([yarn.mix for yarn in line])
    return (
        f"{_count(line, bridges)} in the run, {how}: largest step "
        f"{largest_step(steps):.1f}, median {median_step(steps):.1f}, "
        f"{counted(turns, 'hue turn')} over 60°"
    )


def _count(line: Sequence[Yarn], bridges: Collection[str]) -> str:
    words = counted(len(line) - len(bridges), "yarn")
    if bridges:
        words += f" and {counted(len(bridges), 'bridge')}"
    return words


# --- all of it, of a state ------------------------------------------------------------


def strip_yarns(pool: Pool) -> list[dict[str, Any]]:
    """Every yarn there is."""
    return [
        yarn_row(yarn, "shop" if name in pool.of_shop else "stash")
        for name, yarn in pool.every.items()
    ]


def strip_run(state: ColourState) -> dict[str, Any]:
    """The run with its steps and numbers, and what waits below it."""
    hand, line, kept = state.hand, state.line, dict(state.history.now.kept)
    steps = line_steps(line, state.choices.judging)
    by = BY_HAND if kept["order"] else kept["by"]
    by_hand = {one["yarn"] for one in kept["bridges_kept"] or ()}
    numbers = number_line(line, steps, hand.bridges, _how(state, by))
    return {
        "run": member_rows(
            hand,
            line,
            state.pool.at,
            hand.bridges - by_hand,
            by_family=kept["by"] == "family",
        ),
        "steps": step_rows(line, steps),
        "tray": tray_rows(state.pool, hand),
        "numbers": numbers + _as_laid(state),
        "can_undo": bool(state.history.past),
        "can_redo": bool(state.history.future),
        "by_hand": by == BY_HAND,
    }


def _how(state: ColourState, by: str) -> str:
    """How the run came about; of steps that do not count, that they do not."""
    if by == "smoothest" and state.plan.for_stripes:
        return f"{ORDER_WORDS[by]} as fabric, not as balls"
    return ORDER_WORDS[by]


def _as_laid(state: ColourState) -> str:
    """The largest step where balls stand twice or are dealt out, since they meet
    others there; "" where they are not, and until it is worked out."""
    laying = state.plan.choices.laying
    if n_parts(laying) == 1 or not state.planned:
        return ""
    way = "mirrored" if laying.layout == "mirrored" else "several times through"
    steps = state.plan.design.steps
    return f"; laid out {way}: largest step {largest_step(steps):.1f}"


def tray_rows(pool: Pool, hand: ManualOrder) -> list[dict[str, Any]]:
    """What waits below the run: left out, held back as bridges, in the shop."""
    free = [one for one in pool.every.values() if one.name not in hand.line]
    mine = [y for y in free if y.name not in pool.of_shop and y.role == "bridge"]
    shop = [y for y in free if y.name in pool.of_shop]
    groups = [
        ("Left out of this blanket", "out", hand.left_out, _nothing_out(pool)),
        ("Bridges of the stash", "bridge", [y.name for y in mine], "none"),
    ]
    if pool.n_in_shop:
        few = f", {len(pool.of_shop)} of {pool.n_in_shop}"
        title = "In the shop" + few * (len(pool.of_shop) < pool.n_in_shop)
        groups.append((title, "bridge", [y.name for y in shop], "none"))
    left, at = set(hand.left_out), pool.at
    return [
        {
            "title": title,
            "kind": kind,
            "yarns": [at[n] for n in names if kind == "out" or n not in left],
            "empty": empty,
        }
        for title, kind, names, empty in groups
    ]


def _nothing_out(pool: Pool) -> str:
    """Said where nothing is left out here; the stash may leave yarns out itself."""
    n = sum(yarn.role == "leave out" for yarn in pool.every.values())
    by_role = f", but {counted(n, 'yarn')} of the stash by role"
    return "nothing" + by_role * (n > 0)
