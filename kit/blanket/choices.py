"""What the knitter chose, as frozen values. `keys` reads them from blanket.toml."""

from __future__ import annotations

from dataclasses import dataclass

from kit.yarn import Gauge, Section

ARRANGEMENTS = ("value", "family", "smoothest")
LAYOUTS = ("light-to-dark", "dark-to-light", "mirrored")
BY_HAND = "hand"
# How people say it.
ORDER_WORDS = {
    "value": "by value",
    "family": "by family",
    "smoothest": "as smooth as they go",
    BY_HAND: "in an order made by hand",
}
LAYOUT_WORDS = {
    "light-to-dark": "light to dark",
    "dark-to-light": "dark to light",
    "mirrored": "mirrored, light to dark to light",
}


@dataclass(frozen=True, slots=True)
class Arranging:
    """How the yarns are put in order. `value_slack` in L*, inf for no rule.

    `order` is made by hand and wins. `locked`: yarns that keep their place in it when
    the others are arranged anew, and pairs that stay neighbours in every order.
    """

    by: str = "family"
    families: str = "alternate"
    family_order: str | tuple[str, ...] = "hue"
    ends: str = "fixed"
    value_slack: float = 20.0
    smooth_for: str = "fabric"
    order: tuple[str, ...] = ()
    locked: tuple[str | tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Laying:
    """Which yarns of the stash this blanket leaves out, and how the others run."""

    layout: str = "light-to-dark"
    times_through: int = 1
    sharing: str = "halve"
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Judging:
    """How steps are measured and which are jumps. `view` 0-1; limits in dE00."""

    view: float = 0.5
    jump_limit: float = 25.0
    fabric_jump_limit: float = 15.0
    accents: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Kept:
    """A bridge put in by hand: `yarn` between `after` and `before`."""

    yarn: str
    after: str
    before: str


@dataclass(frozen=True, slots=True)
class Bridging:
    """How many bridges may be put in, and from where."""

    bridges: int = 1
    bridges_from: str = "stash"
    bridges_kept: tuple[Kept, ...] = ()


@dataclass(frozen=True, slots=True)
class Size:
    """`length_cm` None: knit until the yarn ends. Stitches of both edges together."""

    width_cm: float
    length_cm: float | None
    repeat_stitches: int = 1
    edge_stitches: int = 0


@dataclass(frozen=True, slots=True)
class Strands:
    """How thick the fabric is to be: tex to keep, how far off, how many strands."""

    fabric_tex: float = 500.0
    thinner: float = 0.20
    thicker: float = 0.45
    least: int = 2
    most: int = 3
    contrast: float = 30.0


@dataclass(frozen=True, slots=True)
class Pace:
    """How much fabric each colour gets, in rows."""

    use: str = "all"
    rows_per_colour: int | None = None
    longest_rows: int | None = None


@dataclass(frozen=True, slots=True)
class Carry:
    """A yarn held beside the others along rows (first, last), a section or a family."""

    yarn: str
    rows: tuple[int, int] | None = None
    section: str = ""
    family: str = ""


@dataclass(frozen=True, slots=True)
class Making:
    """How the arrangement becomes fabric; without gauge or size it does not."""

    gauge: Gauge | None = None
    size: Size | None = None
    strands: Strands = Strands()
    pace: Pace = Pace()
    sections: tuple[Section, ...] = ()
    carry: tuple[Carry, ...] = ()


@dataclass(frozen=True, slots=True)
class Choices:
    """Everything blanket.toml says; `given` names the keys it states itself."""

    name: str
    units: str = "metric"
    arranging: Arranging = Arranging()
    laying: Laying = Laying()
    judging: Judging = Judging()
    bridging: Bridging = Bridging()
    making: Making = Making()
    given: frozenset[str] = frozenset()

    def __repr__(self) -> str:
        order, layout = self.arranging.by, self.laying.layout
        return f"Choices({self.name!r}, by {order}, {layout})"
