"""The strip of the colour desk: the run of a plan, and what it shows of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from kit.arrangement import lay_out
from kit.arrangement.layout import n_parts
from kit.arrangement.manual import History, ManualOrder, manual_order
from kit.blanket import Blanket, Choices, Yarn
from kit.blanket.choices import BY_HAND, ORDER_WORDS
from kit.blanket.keys import as_toml
from kit.colour import Step
from kit.colour.steps import largest_step
from kit.errors import Fault, KitError
from kit.pictures import strip_svg
from kit.plan import Plan
from kit.widgets.colour.controls import READ_AGAIN, ColourControls
from kit.widgets.colour.strip import Act
from kit.widgets.colour.strip_rows import (
    line_steps,
    member_rows,
    number_line,
    step_rows,
    yarn_row,
)
from kit.yarn import counted

MOST_SHOWN = 60  # skeins of a shop on the shelf below the strip


@dataclass(frozen=True, slots=True)
class Turn:
    """What undo goes back to: the run, and the choices that keep it."""

    hand: ManualOrder
    kept: tuple[tuple[str, Any], ...]


class StripShow(ColourControls):
    """Which run the strip shows; hands are not here yet."""

    blanket: Blanket | None
    plan: Plan
    history: History[Turn]

    def __init__(self, act: Callable[[Act], None], still: Callable[[], str]) -> None:
        super().__init__(act, still)
        self.blanket = None
        self.every: dict[str, Yarn] = {}
        self.at: dict[str, int] = {}
        self.of_shop: set[str] = set()
        self.n_in_shop = 0

    def _ready(self) -> Blanket:
        if self.blanket is None:
            says = "The blanket cannot be read as it is"
            advice = f'Put it right, then press "{READ_AGAIN}".'
            raise KitError(Fault("no_blanket", says=says, advice=advice))
        return self.blanket

    # --- from files to the strip ---

    def _lay(self, blanket: Blanket, plan: Plan) -> None:
        """Every yarn there is, in the order in which the page numbers them."""
        shop = blanket.shop.yarns if blanket.shop else ()
        design = plan.design
        ranked = [row[0] for one in design.suggestions for row in one.candidates]
        used = [bridge.yarn for bridge in design.bridges]
        named = {yarn.name for yarn in (*ranked, *used)}
        few = [y for k, y in enumerate(shop) if k < MOST_SHOWN or y.name in named]
        self.of_shop = {yarn.name for yarn in few}
        self.n_in_shop = len(shop)
        self.every = {yarn.name: yarn for yarn in (*blanket.stash.yarns, *few)}
        self.at = {name: k for k, name in enumerate(self.every)}
        self.history: History[Turn] = History(self._turn_of(plan))
        self.strip.show(
            edition=self.strip.edition + 1,
            yarns=[
                yarn_row(yarn, "shop" if name in self.of_shop else "stash")
                for name, yarn in self.every.items()
            ],
        )

    def _turn_of(self, plan: Plan) -> Turn:
        """The run of a plan with the bridges that stand between its neighbours."""
        line = [yarn.name for yarn in plan.design.arrangement.yarns]
        for bridge in plan.design.bridges:
            pair = {bridge.after.name, bridge.before.name}
            at = [k for k in range(1, len(line)) if {line[k - 1], line[k]} == pair]
            if at and bridge.yarn.name in self.every:
                line.insert(at[0], bridge.yarn.name)
        choices = plan.choices
        hand = manual_order(
            line,
            bridges={bridge.yarn.name for bridge in plan.design.bridges},
            locked=choices.arranging.locked,
            left_out=[n for n in choices.laying.left_out if n in self.every],
        )
        return Turn(hand, _kept(choices))

    # --- showing ---

    def _show_hand(self, said: str | None = None) -> None:
        """The strip and its numbers in one message, then the run from far off."""
        choices, hand = self._ready().choices, self.history.now.hand
        line = [self.every[name] for name in hand.line]
        steps = line_steps(line, choices.judging)
        self._show_strip(line, steps, said)
        self._draw_far(lay_out(tuple(line), choices.laying).yarns)

    def _show_strip(
        self, line: Sequence[Yarn], steps: Sequence[Step], said: str | None
    ) -> None:
        turn = self.history.now
        kept = dict(turn.kept)
        by = BY_HAND if kept["order"] else kept["by"]
        by_hand = {one["yarn"] for one in kept["bridges_kept"] or ()}
        more = {} if said is None else {"sentences": said}
        self.strip.show(
            run=member_rows(
                turn.hand,
                line,
                self.at,
                turn.hand.bridges - by_hand,
                by_family=kept["by"] == "family",
            ),
            steps=step_rows(line, steps),
            tray=self._tray(turn.hand),
            numbers=number_line(line, steps, turn.hand.bridges, self._how(by))
            + self._as_laid(turn.hand),
            can_undo=bool(self.history.past),
            can_redo=bool(self.history.future),
            by_hand=by == BY_HAND,
            **more,
        )

    def _how(self, by: str) -> str:
        """How the run came about; of steps that do not count, that they do not."""
        if by == "smoothest" and self.plan.for_stripes:
            return f"{ORDER_WORDS[by]} as fabric, not as balls"
        return ORDER_WORDS[by]

    def _as_laid(self, hand: ManualOrder) -> str:
        """The largest step where balls stand twice or are dealt out, since they meet
        others there; "" where they are not, and until it is worked out."""
        plan, now = self.plan, self._ready().choices
        laying, judging = plan.choices.laying, plan.choices.judging
        if n_parts(laying) == 1 or (laying, judging) != (now.laying, now.judging):
            return ""
        if self._turn_of(plan).hand != hand:
            return ""
        way = "mirrored" if laying.layout == "mirrored" else "several times through"
        return f"; laid out {way}: largest step {largest_step(plan.design.steps):.1f}"

    def _tray(self, hand: ManualOrder) -> list[dict[str, Any]]:
        """What waits below the run: left out, held back as bridges, in the shop."""
        free = [one for one in self.every.values() if one.name not in hand.line]
        mine = [y for y in free if y.name not in self.of_shop and y.role == "bridge"]
        shop = [y for y in free if y.name in self.of_shop]
        groups = [
            ("Left out of this blanket", "out", hand.left_out, self._nothing_out()),
            ("Bridges of the stash", "bridge", [y.name for y in mine], "none"),
        ]
        if self.n_in_shop:
            few = f", {len(self.of_shop)} of {self.n_in_shop}"
            title = "In the shop" + few * (len(self.of_shop) < self.n_in_shop)
            groups.append((title, "bridge", [y.name for y in shop], "none"))
        left = set(hand.left_out)
        return [
            {
                "title": title,
                "kind": kind,
                "yarns": [self.at[n] for n in names if kind == "out" or n not in left],
                "empty": empty,
            }
            for title, kind, names, empty in groups
        ]

    def _nothing_out(self) -> str:
        """Said where nothing is left out here; the stash may leave yarns out itself."""
        n = sum(yarn.role == "leave out" for yarn in self.every.values())
        by_role = f", but {counted(n, 'yarn')} of the stash by role"
        return "nothing" + by_role * (n > 0)

    def _draw_far(self, laid: Sequence[Yarn]) -> None:
        self.far.value = strip_svg(laid).encode()
        self.greys.value = strip_svg(laid, grey=True, height=20).encode()


def _kept(choices: Choices) -> tuple[tuple[str, Any], ...]:
    """What blanket.toml must say for this run to come back."""
    arranging, bridging = choices.arranging, choices.bridging
    return (
        ("by", arranging.by),
        ("order", as_toml(arranging.order)),
        ("locked", as_toml(arranging.locked)),
        ("left_out", as_toml(choices.laying.left_out)),
        ("bridges_kept", as_toml(bridging.bridges_kept)),
        ("bridges", bridging.bridges),
        ("accents", as_toml(choices.judging.accents)),
    )
