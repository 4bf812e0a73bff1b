"""A blanket worked out: the only place where the stages are put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from kit.arrangement import Bridge, Design, design_colours
from kit.arrangement.design import is_arranged
from kit.arrangement.layout import Laid
from kit.blanket import Choices, Stash, Yarn
from kit.blanket.choices_toml import default_sentences
from kit.colour import Step
from kit.colour.steps import JUST_TOLD, largest_step
from kit.errors import Fault, KitError, shorten
from kit.fabric import Fabric, Start, make_fabric, stripe_steps
from kit.fabric.care import cautions
from kit.fabric.carried_bridges import Crossed, carry_across
from kit.fabric.fabric import NOT_BEGUN, can_be_made
from kit.fabric.knitting import continued
from kit.fabric.smoothing import smoother_run
from kit.fabric.words import Shared, no_fabric_words, sharing_words
from kit.files.folders import STASH
from kit.late import draws_itself


@draws_itself("kit.report.report:summary_html")
@dataclass(frozen=True)
class Plan:
    """A blanket worked out: what it was made from, and what came of it.

    Attributes
    ----------
    stash : Stash
        The yarns.
    choices : Choices
        What was chosen.
    design : Design
        The yarns along the blanket.
    fabric : Fabric or None
        The stripes; None where gauge, size or lengths are missing.
    fabric_steps : Steps
        The steps between neighbouring stripes, ΔE00.
    largest_by_yarn_order : float or None
        The largest of them, ΔE00, had the yarns been ordered by their own steps alone.
    carried_bridges : tuple of Bridge
        Yarns held across the hardest changes; their steps lie between stripes, ΔE00.
    sentences : tuple of str
        What was done in planning, to be told.
    cautions : tuple of str
        What to mind in washing and knitting.
    start : Start
        Where knitting stands, as the plan begins.
    quick : bool
        Whether less was searched for the smoothest order.
    flows_better_on_stripes : bool
        Whether the largest step between stripes is less than by the balls' own order,
        by enough to be told.
    for_stripes : bool
        Whether the order was sought on the stripes and flows better there; the steps
        between its balls then do not count.
    assumed : tuple of str
        What was taken for granted, in sentences; put together when asked for.
    """

    stash: Stash
    choices: Choices
    design: Design
    fabric: Fabric | None
    fabric_steps: tuple[Step, ...]
    largest_by_yarn_order: float | None
    carried_bridges: tuple[Bridge, ...]
    sentences: tuple[str, ...]
    cautions: tuple[str, ...]
    start: Start = NOT_BEGUN
    quick: bool = False

    def __repr__(self) -> str:
        made = "colours alone" if self.fabric is None else repr(self.fabric)
        return f"Plan({self.choices.name!r}, {self.design!r}, {made})"

    @property
    def flows_better_on_stripes(self) -> bool:
        """Whether the largest step between stripes is less than by the balls' own
        order, by enough to be told."""
        others = self.largest_by_yarn_order
        return others is not None and (
            others > largest_step(self.fabric_steps) + JUST_TOLD
        )

    @property
    def for_stripes(self) -> bool:
        """Whether the order was sought on the stripes and flows better there than the
        balls' own; the steps between its balls then do not count."""
        return self.choices.arranging.by == "smoothest" and self.flows_better_on_stripes

    @cached_property
    def assumed(self) -> tuple[str, ...]:
        """What was taken for granted and what came of it, in sentences.

        Put together when asked for: whether another way of sharing suits a mirrored
        blanket takes a second blanket worked out.
        """
        choices, fabric = self.choices, self.fabric
        stash = _unfinished(self.stash, self.start)
        return (
            *stash.assumed_in(choices.units),
            *stash.notes,
            *self.sentences,
            *_which_sharing(self),
            *(fabric.sentences if fabric else why_colours_alone(self)),
            *default_sentences(choices),
        )


def plan(
    stash: Stash,
    choices: Choices,
    *,
    shop: Sequence[Yarn] = (),
    start: Start = NOT_BEGUN,
    quick: bool = False,
) -> Plan:
    """Work a blanket out. Raises KitError where there is no yarn to use.

    `start` says what is knitted and held already, and whether the stash then holds what
    is left or what was had; yarns that are finished are taken out. `quick`
    searches less for the smoothest arrangement: a first answer for the screen.
    """
    stash, left_out = _without(stash, choices.laying.left_out)
    whole_stash, stash = stash, _unfinished(stash, start)
    if not any(is_arranged(yarn, choices) for yarn in stash.yarns) and not start.ahead:
        says = "No yarn to arrange: every row is held back, left out or carried along"
        raise KitError(Fault("no_yarn", says=says, file=STASH, column="role"))
    along = _ahead(stash, shop, start)
    design = design_colours(stash.yarns, shop, choices, quick=quick, along=along)
    made = _Made()
    if can_be_made(_in_fabric(design, stash, choices), choices.making):
        smooth = _smooth_for_fabric(choices) and not quick and not along
        design, made = _made(design, stash, shop, choices, start, smooth=smooth)
    sentences = *left_out, *design.sentences, *made.sentences
    return Plan(
        whole_stash, choices, design, made.fabric, made.steps, made.by_yarn_order,
        made.across, sentences, cautions(whole_stash.yarns), start, quick,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Made:
    """What was knitted of a design; nothing where it stays with the colours."""

    fabric: Fabric | None = None
    steps: tuple[Step, ...] = ()
    by_yarn_order: float | None = None
    across: tuple[Bridge, ...] = ()
    sentences: tuple[str, ...] = ()


def _made(
    design: Design,
    stash: Stash,
    shop: Sequence[Yarn],
    choices: Choices,
    start: Start,
    *,
    smooth: bool,
) -> tuple[Design, _Made]:
    """A design knitted, with bridges carried across; `smooth`: or the same yarns in an
    order sought on their stripes, where these lie closer."""
    fabric, steps = _knitted(design, stash, choices, start)
    by_yarn_order: float | None = largest_step(steps)
    for other in _smoothed(design, stash, shop, choices) if smooth else ():
        knitted = _knitted(other, stash, choices, start)
        if largest_step(knitted[1]) < largest_step(steps) - 1e-9:
            design, (fabric, steps) = other, knitted
    crossed = _crossed(design, fabric, steps, stash, shop, choices, start)
    fabric, steps = crossed.fabric, crossed.steps
    if start.knitted:
        fabric, by_yarn_order = continued(fabric, start, choices), None
        steps = stripe_steps(fabric.stripes, choices)
    return design, _Made(
        fabric, steps, by_yarn_order, crossed.bridges, crossed.sentences
    )


def _unfinished(stash: Stash, start: Start) -> Stash:
    """The stash without the yarns that are not to be used any more."""
    if not start.finished:
        return stash
    kept = tuple(yarn for yarn in stash.yarns if yarn.name not in start.finished)
    return replace(stash, yarns=kept)


def _ahead(stash: Stash, shop: Sequence[Yarn], start: Start) -> Laid | None:
    """The yarns still to come as they lie along the blanket, where that is kept."""
    by_name = {yarn.name: yarn for yarn in (*shop, *stash.yarns)}
    kept = [one for one in start.ahead if one.yarn in by_name]
    if not kept:
        return None
    pairs = enumerate(zip(kept, kept[1:], strict=False))
    joins = {k for k, (one, two) in pairs if two.time > one.time}
    n_held = sum(one.yarn in start.held for one in kept[: len(start.held)])
    joins |= set(range(n_held - 1))  # between strands held together nothing can be put
    return Laid(tuple(by_name[one.yarn] for one in kept), frozenset(joins))


def _without(stash: Stash, names: Sequence[str]) -> tuple[Stash, tuple[str, ...]]:
    """The stash with these yarns left out of this blanket, and that it is so."""
    if not names:
        return stash, ()
    yarns = tuple(
        replace(yarn, role="leave out") if yarn.name in names else yarn
        for yarn in stash.yarns
    )
    listed = ", ".join(f'"{shorten(name)}"' for name in dict.fromkeys(names))
    said = f"Left out of this blanket alone (colours.left_out): {listed}."
    return replace(stash, yarns=yarns), (said,)


def _which_sharing(plan: Plan) -> tuple[str, ...]:
    """Whether halving the balls or pairing look-alikes suits this stash, measured: of a
    mirrored blanket before its first row."""
    choices, start = plan.choices, plan.start
    mirrored = choices.laying.layout == "mirrored"
    if plan.fabric is None or plan.quick or start.row or not mirrored:
        return ()
    sharing = choices.laying.sharing
    other = "pair" if sharing == "halve" else "halve"
    changed = replace(choices, laying=replace(choices.laying, sharing=other))
    stash, (_, shop) = _unfinished(plan.stash, start), plan.design.offered
    fabric, steps = _knitted(
        design_colours(stash.yarns, shop, changed), stash, changed, start
    )
    chosen = Shared(sharing, plan.fabric, largest_step(plan.fabric_steps))
    instead = Shared(other, fabric, largest_step(steps))
    size = choices.making.size
    wished = size is not None and bool(size.length_cm)
    return (sharing_words(chosen, instead, choices.units, wished=wished),)


def _smoothed(
    design: Design, stash: Stash, shop: Sequence[Yarn], choices: Choices
) -> tuple[Design, Design]:
    """The yarns ordered for their stripes: with bridges put in, and with none but the
    kept ones, since a bridge between balls may break up good stripes."""
    run = smoother_run(design.arrangement.yarns, choices)
    bare = replace(choices, bridging=replace(choices.bridging, bridges=0))
    with_bridges, without = (
        design_colours(stash.yarns, shop, each, smooth=lambda _: run)
        for each in (choices, bare)
    )
    return with_bridges, without


def takes_long(choices: Choices) -> bool:
    """Whether a `quick` plan is worth showing before the full one."""
    return choices.arranging.by == "smoothest" or choices.laying.layout == "mirrored"


def _smooth_for_fabric(choices: Choices) -> bool:
    arranging = choices.arranging
    by_search = arranging.by == "smoothest" and not arranging.order
    return by_search and arranging.smooth_for == "fabric"


def _in_fabric(design: Design, stash: Stash, choices: Choices) -> list[Yarn]:
    return [*design.laid.yarns, *_carried(stash, choices)]


def why_colours_alone(plan: Plan) -> tuple[str, ...]:
    """Why there is no fabric, and what would take the plan further."""
    stash, choices = plan.stash, plan.choices
    return no_fabric_words(_in_fabric(plan.design, stash, choices), stash, choices)


def _carried(stash: Stash, choices: Choices) -> list[Yarn]:
    names = {carry.yarn for carry in choices.making.carry}
    return [yarn for yarn in stash.yarns if yarn.name in names]


def _crossed(
    design: Design,
    fabric: Fabric,
    steps: tuple[Step, ...],
    stash: Stash,
    shop: Sequence[Yarn],
    choices: Choices,
    start: Start,
) -> Crossed:
    """With the bridges still allowed carried across the hardest changes of fabric."""
    carried = _carried(stash, choices)
    placed = {yarn.name for yarn in (*design.laid.yarns, *carried)}
    from_shop = shop if choices.bridging.bridges_from != "stash" else ()
    spare = [yarn for yarn in stash.yarns if yarn.role == "bridge"]

    def knit(changed: Choices, more: Sequence[Yarn]) -> Fabric:
        return make_fabric(design.laid, [*carried, *more], changed, start)

    return carry_across(
        fabric,
        steps,
        [yarn for yarn in (*spare, *from_shop) if yarn.name not in placed],
        choices,
        knit,
        most=choices.bridging.bridges - len(design.bridges),
    )


def _knitted(
    design: Design, stash: Stash, choices: Choices, start: Start
) -> tuple[Fabric, tuple[Step, ...]]:
    fabric = make_fabric(design.laid, _carried(stash, choices), choices, start)
    return fabric, stripe_steps(fabric.stripes, choices)
