"""What the knitter chose, as frozen values whose fields are the keys of blanket.toml.

A key is declared here once: its default, its check, a sentence on what it is, and its
unit. `keys` finds out from it what the file may hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from kit.blanket.checks import (
    NEEDED,
    Key,
    either,
    family,
    family_order,
    first_and_last,
    key,
    keys_for,
    keys_of,
    list_of,
    measured,
    n_rows,
    name_or_pair,
    naming,
    number_from,
    one_of,
    pair_of,
    some_text,
    table_of,
)
from kit.blanket.stash import Yarn
from kit.files.quantities import CM, GRAMS, PER_10CM
from kit.yarn import Gauge, Section, Swatch

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

_CM = measured(CM, "a number of cm", "28 in", number_from(0, 10_000, above=True))
_PER_10CM = measured(
    PER_10CM, "a count over 10 cm", "22 / 4 in", number_from(0, 200, above=True)
)
_SWATCH_G = measured(
    GRAMS, "a number of grams", "0.32 oz", number_from(0, 100_000, above=True)
)
_NAMES = list_of(some_text, "yarn names")
_DELTA = "ΔE00"


# --- [colours] ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Arranging:
    """How the yarns are put in order. `value_slack` in L*, inf for no rule.

    `order` is made by hand and wins. `locked`: yarns that keep their place in it when
    the others are arranged anew, and pairs that stay neighbours in every order.
    """

    by: str = key(
        "family",
        one_of("arrangement", *ARRANGEMENTS),
        "By what the yarns are put in order.",
        told=-1,
    )
    families: str = key(
        "alternate",
        one_of("way of running families", "alternate", "light-to-dark"),
        "By family: each runs light to dark, or they alternate, one up and one down.",
    )
    family_order: str | tuple[str, ...] = key(
        "hue",
        family_order,
        "By family: the families go round the hue circle, in any order that keeps the "
        "largest step smallest, or as listed.",
    )
    ends: str = key(
        "fixed",
        one_of("ends", "fixed", "free"),
        "Smoothest: the lightest yarn first and the darkest last, or as it falls.",
    )
    value_slack: float = key(
        20.0,
        either("none", inf, number_from(0, 100)),
        "Smoothest: how far a yarn may sit out of value order.",
        "L*",
    )
    smooth_for: str = key(
        "fabric",
        one_of("aim", "fabric", "yarn"),
        "Smoothest between stripes of the fabric, or between neighbouring balls.",
    )
    order: tuple[str, ...] = key(
        (), _NAMES, "The order of the yarns, made by hand.", told=1, yarns=True
    )
    locked: tuple[str | tuple[str, str], ...] = key(
        (),
        list_of(name_or_pair, "yarn names, or pairs of them"),
        "Yarns that keep their place in that order, and pairs that stay neighbours.",
        told=1,
        yarns=True,
    )


@dataclass(frozen=True, slots=True)
class Laying:
    """Which yarns of the stash this blanket leaves out, and how the others run."""

    layout: str = key(
        "light-to-dark",
        one_of("layout", *LAYOUTS),
        "How the arrangement runs along the blanket.",
        told=-1,
    )
    times_through: int = key(
        1,
        number_from(1, 20, whole=True),
        "How often the arrangement runs from end to end.",
        "times",
        told=-1,
    )
    sharing: str = key(
        "halve",
        one_of("sharing", "halve", "pair"),
        "Mirrored or several times through: each ball is shared out by weight, or "
        "look-alikes are dealt out and no ball is cut.",
        told=-1,
    )
    left_out: tuple[str, ...] = key(
        (), _NAMES, "Yarns of the stash this blanket leaves out.", told=1, yarns=True
    )


@dataclass(frozen=True, slots=True)
class Judging:
    """How steps are measured and which are jumps. `view` 0-1; limits in dE00."""

    view: float = key(
        0.5,
        number_from(0, 1),
        "From where steps are seen: 0 in the hand, 1 across a room.",
    )
    jump_limit: float = key(
        25.0, number_from(0, 200), "A larger step between balls is a jump.", _DELTA
    )
    fabric_jump_limit: float = key(
        15.0, number_from(0, 200), "A larger step between stripes is a jump.", _DELTA
    )
    accents: tuple[tuple[str, str], ...] = key(
        (),
        list_of(pair_of(some_text, "yarn names"), "pairs of yarn names"),
        "Steps kept on purpose, each as its two yarns.",
        yarns=True,
    )

    def counts(self, one: Yarn, two: Yarn) -> bool:
        """Whether the step between two neighbours counts, with no accent there."""
        if "accent" in (one.role, two.role):
            return False
        names = one.name, two.name
        return not (names in self.accents or names[::-1] in self.accents)


@dataclass(frozen=True, slots=True)
class Kept:
    """A bridge put in by hand: `yarn` between `after` and `before`."""

    yarn: str = key(NEEDED, some_text, "The yarn put in.", yarns=True)
    after: str = key(NEEDED, some_text, "The yarn before it.", yarns=True)
    before: str = key(NEEDED, some_text, "The yarn after it.", yarns=True)


@dataclass(frozen=True, slots=True)
class Bridging:
    """How many bridges may be put in, and from where."""

    bridges: int = key(
        1,
        number_from(0, 20, whole=True),
        "How many bridges may be put in where they lower the largest step.",
        "yarns",
    )
    bridges_from: str = key(
        "stash",
        one_of("place to take bridges from", "stash", "stash and shop"),
        "Where bridges come from.",
    )
    bridges_kept: tuple[Kept, ...] = key(
        (),
        list_of(table_of(Kept, keys_of(Kept)), "tables"),
        "Bridges put in by hand.",
        told=1,
        yarns=True,
    )


# --- the other tables -----------------------------------------------------------------

SWATCH = keys_for(
    Swatch,
    width_cm=Key(naming("width_cm", _CM), "The swatch's width.", "cm"),
    length_cm=Key(naming("length_cm", _CM), "The swatch's length.", "cm"),
    grams=Key(naming("grams", _SWATCH_G), "Its mass, without its tails.", "g"),
)
GAUGE = keys_for(
    Gauge,
    stitches_per_10cm=Key(_PER_10CM, "Stitches over 10 cm of the swatch.", "stitches"),
    rows_per_10cm=Key(_PER_10CM, "Rows over 10 cm of the swatch.", "rows"),
    swatch=Key(
        table_of(Swatch, SWATCH),
        "A washed and weighed swatch, the best source of yarn use.",
    ),
    repeat_width_cm=Key(
        _CM, "The width of one repeat, where it does not follow the gauge.", "cm"
    ),
)
SECTION = keys_for(
    Section,
    name=Key(some_text, "What the section is called."),
    rows=Key(n_rows, "How many rows it has.", "rows"),
    rows_per_10cm=Key(_PER_10CM, "Its rows over 10 cm, else the gauge's.", "rows"),
    yarn_factor=Key(
        number_from(0, 20, above=True), "Yarn in its stitches, as times the swatch's."
    ),
)


@dataclass(frozen=True, slots=True)
class Size:
    """`length_cm` None: knit until the yarn ends. Stitches of both edges together."""

    width_cm: float = key(NEEDED, _CM, "The blanket's width.", "cm")
    length_cm: float | None = key(
        NEEDED,
        either("all", None, _CM),
        'The blanket\'s length, or "all": until the yarn ends.',
        "cm",
    )
    repeat_stitches: int = key(
        1, number_from(1, 10_000, whole=True), "Stitches in one repeat.", "stitches"
    )
    edge_stitches: int = key(
        0, number_from(0, 10_000, whole=True), "Stitches of both edges.", "stitches"
    )


@dataclass(frozen=True, slots=True)
class Strands:
    """How thick the fabric is to be: tex to keep, how far off, how many strands."""

    fabric_tex: float = key(
        500.0,
        number_from(0, 100_000, above=True),
        "Mass per length of all strands together; two fingering strands make 500.",
        "tex",
    )
    thinner: float = key(
        0.20, number_from(0, 1), "How far under it is allowed, as a share."
    )
    thicker: float = key(
        0.45, number_from(0, 10), "How far over it is allowed, as a share."
    )
    least: int = key(
        2,
        number_from(1, 12, whole=True),
        "The fewest strands held together.",
        "strands",
    )
    most: int = key(
        3, number_from(1, 12, whole=True), "The most strands held together.", "strands"
    )
    contrast: float = key(
        30.0,
        number_from(0, 200),
        "Strands further apart in colour are warned of.",
        _DELTA,
    )


@dataclass(frozen=True, slots=True)
class Pace:
    """How much fabric each colour gets, in rows."""

    use: str = key(
        "all",
        one_of("pace", "all"),
        "Small balls are finished, the largest trimmed to meet the length.",
    )
    rows_per_colour: int | None = key(None, n_rows, "The same rows for each.", "rows")
    longest_rows: int | None = key(None, n_rows, "No colour is longer.", "rows")


@dataclass(frozen=True, slots=True)
class Carry:
    """A yarn held beside the others along rows (first, last), a section or a family."""

    yarn: str = key(NEEDED, some_text, "The yarn held beside the others.", yarns=True)
    rows: tuple[int, int] | None = key(
        None, first_and_last, "Along these, the first and the last.", "rows"
    )
    section: str = key("", some_text, "Along the sections of this name.")
    family: str = key("", family, "Along the yarns of this family.")


@dataclass(frozen=True, slots=True)
class Making:
    """How the arrangement becomes fabric; without gauge or size it does not."""

    gauge: Gauge | None = None
    size: Size | None = None
    strands: Strands = Strands()
    pace: Pace = Pace()
    sections: tuple[Section, ...] = key(
        (),
        list_of(table_of(Section, SECTION), "tables"),
        "Stretches of another stitch, in turn along the blanket.",
    )
    carry: tuple[Carry, ...] = key(
        (),
        list_of(table_of(Carry, keys_of(Carry)), "tables"),
        "Yarns held beside the others along part of the blanket.",
        yarns=True,
    )


@dataclass(frozen=True, slots=True)
class Choices:
    """Everything blanket.toml says; `given` names the keys it states itself."""

    name: str = key(NEEDED, some_text, "What the blanket is called.")
    units: str = key(
        "metric",
        one_of("units", "metric", "imperial"),
        "How sizes and amounts are shown; computing is metric.",
    )
    arranging: Arranging = Arranging()
    laying: Laying = Laying()
    judging: Judging = Judging()
    bridging: Bridging = Bridging()
    making: Making = Making()
    given: frozenset[str] = frozenset()

    def __repr__(self) -> str:
        order, layout = self.arranging.by, self.laying.layout
        return f"Choices({self.name!r}, by {order}, {layout})"
