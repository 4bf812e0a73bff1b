"""The colours of one blanket: arranged, laid out, bridged, and every step measured."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from kit.arrangement.bridges import Bridge, add_bridges
from kit.arrangement.candidates import Fits, candidates_of
from kit.arrangement.compared import Compared, compare, hand_notes
from kit.arrangement.layout import Laid, is_small, lay_out
from kit.arrangement.locked import keep_pairs
from kit.arrangement.orders import Arrangement, arrange, value_of
from kit.arrangement.suggestions import Suggestion, suggest
from kit.blanket import Choices, Yarn
from kit.blanket.choices import Judging, Making
from kit.colour import Step, steps_along
from kit.colour.steps import largest_step, out_of_order
from kit.late import draws_itself
from kit.yarn.gauge import stitch_yarn

# A bridge is knitted over four rows at least, as joins lie apart, and woven in twice;
# without gauge and size that is taken as 15 m (our rule of thumb).
LEAST_ROWS, TAILS_M, LEAST_M = 4, 0.3, 15.0


@draws_itself("kit.pictures.notebook:design_svg")
@dataclass(frozen=True)
class Design:
    """Yarns along the blanket with their steps, without and with bridges.

    Attributes
    ----------
    arrangement : Arrangement
        The yarns in one light-to-dark order, and what no order can beat.
    bridges : tuple of Bridge
        Yarns put in, with the steps before and after, ΔE00.
    before : Laid
        The yarns as laid out, without bridges.
    steps_before : Steps
        The steps between those, ΔE00.
    laid : Laid
        The yarns as laid out, with bridges.
    steps : Steps
        The steps between those, ΔE00.
    out_of_value_order : tuple of (str, float)
        Yarns out of value order with how many L* (smoothest and by hand).
    sentences : tuple of str
        What is to be told of it.
    choices : Choices
        What was chosen.
    offered : tuple of two tuples of Yarn
        The yarns of the stash and of the shop that might bridge.
    compared : Compared or None
        Judges an order made by hand; None for a computed one.
    suggestions : tuple of Suggestion
        Bridges for the worst jumps, worked out when asked for.
    """

    arrangement: Arrangement
    bridges: tuple[Bridge, ...]
    before: Laid
    steps_before: tuple[Step, ...]
    laid: Laid
    steps: tuple[Step, ...]
    out_of_value_order: tuple[tuple[str, float], ...]
    sentences: tuple[str, ...]
    choices: Choices = field(compare=False)
    offered: tuple[tuple[Yarn, ...], tuple[Yarn, ...]] = field(hash=False)
    compared: Compared | None = None

    @cached_property
    def suggestions(self) -> tuple[Suggestion, ...]:
        """Bridges for the worst jumps, worked out when asked for."""
        used = {bridge.yarn.name for bridge in self.bridges}
        judging, fits = self.choices.judging, fits_in(self.choices.making)
        return suggest(self.laid, self.steps, self.offered, used, fits, judging)

    def __repr__(self) -> str:
        largest, bridges = largest_step(self.steps), len(self.bridges)
        yarns = f"{len(self.laid.yarns)} yarns by {self.arrangement.by}"
        return f"Design({yarns}, {bridges} bridged, largest step {largest:.1f})"


def design_colours(
    yarns: Sequence[Yarn],
    shop: Sequence[Yarn],
    choices: Choices,
    *,
    quick: bool = False,
    smooth: Callable[[tuple[Yarn, ...]], tuple[Yarn, ...]] | None = None,
    along: Laid | None = None,
) -> Design:
    """Arrange the yarns in use, lay out, put bridges in, measure. Shop: for bridges.

    `smooth` has the last word on the order of the arranged run. `along`: they are laid
    out so already, and only bridged and measured.
    """
    judging = choices.judging
    in_use = [yarn for yarn in yarns if is_arranged(yarn, choices)]
    owned = [yarn for yarn in yarns if yarn.role == "bridge"]
    by_hand = bool(choices.arranging.order) and not along
    if along:
        run = tuple(dict.fromkeys(along.yarns))
        owned = [yarn for yarn in owned if yarn not in run]
        arrangement, before = Arrangement(run, choices.arranging.by), along
    else:
        arrangement = _arranged(in_use, choices, smooth, quick)
        before = lay_out(arrangement.yarns, choices.laying, choices.units)
    # Bridged as laid out, since neighbours there may not be neighbours in the run.
    bridged = add_bridges(
        before,
        candidates_of(owned, shop if choices.bridging.bridges_from != "stash" else ()),
        choices.bridging,
        judging,
        fits=fits_in(choices.making),
        kept_from=[*yarns, *shop],
    )
    return Design(
        arrangement,
        bridged.bridges,
        before,
        measure(before, judging),
        bridged.laid,
        measure(bridged.laid, judging),
        _out_of_value_order(arrangement),
        (
            *arrangement.sentences,
            *(() if along else hand_notes(arrangement.yarns, yarns, choices)),
            *bridged.sentences,
            *before.sentences,
        ),
        choices,
        (tuple(owned), tuple(shop)),
        _compared(arrangement.yarns, choices, quick) if by_hand else None,
    )


def _arranged(
    yarns: Sequence[Yarn],
    choices: Choices,
    smooth: Callable[[tuple[Yarn, ...]], tuple[Yarn, ...]] | None,
    quick: bool,
) -> Arrangement:
    """The run in order; what is to stay together does so but in an order by hand."""
    arranging, view = choices.arranging, choices.judging.view
    arrangement = arrange(yarns, arranging, view=view, quick=quick)
    if smooth:
        arrangement = replace(arrangement, yarns=smooth(arrangement.yarns))
    if arranging.order:
        return arrangement
    return keep_pairs(arrangement, arranging, view=view)


def _compared(run: tuple[Yarn, ...], choices: Choices, quick: bool) -> Compared:
    def steps(yarns: Sequence[Yarn]) -> tuple[Step, ...]:
        return measure(Laid(tuple(yarns)), choices.judging)

    return compare(run, choices, measure=steps, quick=quick)


def least_bridge_m(making: Making) -> float:
    """Metres a bridge takes at one place: four rows of its strand and its tails."""
    gauge, size = making.gauge, making.size
    if gauge is None or size is None:
        return LEAST_M
    stitches = size.width_cm * gauge.stitches_per_10cm / 10
    each_m = stitch_yarn(gauge, making.strands.fabric_tex).length_m
    return LEAST_ROWS * stitches * each_m + TAILS_M


def fits_in(making: Making) -> Fits:
    """Whether a ball may stand in so many places: a small one is not shared, and each
    place takes its metres. A ball of unknown length is taken to do."""
    least_m = least_bridge_m(making)

    def fits(yarn: Yarn, n_places: int) -> bool:
        if n_places > 1 and is_small(yarn):
            return False
        return yarn.metres is None or yarn.metres >= n_places * least_m

    return fits


def is_arranged(yarn: Yarn, choices: Choices) -> bool:
    """Whether a yarn has a place in the order: in use, and not carried along."""
    carried = (carry.yarn for carry in choices.making.carry)
    return yarn.role in ("use", "accent") and yarn.name not in carried


def measure(laid: Laid, judging: Judging) -> tuple[Step, ...]:
    """The steps between neighbours along the blanket."""
    yarns = laid.yarns
    return steps_along(
        [yarn.mix for yarn in yarns],
        view=judging.view,
        limit=judging.jump_limit,
        accents={
            k
            for k in range(len(yarns) - 1)
            if k not in laid.joins and not judging.counts(yarns[k], yarns[k + 1])
        },
        joins=laid.joins,
    )


def _out_of_value_order(arrangement: Arrangement) -> tuple[tuple[str, float], ...]:
    """Yarns out of value order; families turn round on purpose, so not told there."""
    if arrangement.by == "family":
        return ()
    yarns = arrangement.yarns
    late = out_of_order([value_of(yarn) for yarn in yarns])
    return tuple((yarns[i].name, amount) for i, amount in late.items())
