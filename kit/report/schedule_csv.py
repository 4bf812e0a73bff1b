"""schedule.csv: the rows to knit as a table for a spreadsheet.

Without fabric it holds the order of the yarns. A byte order mark at its head lets every
spreadsheet see that it is UTF-8; names that would run as formulas are made harmless.
Metric columns always stand there, since other programs read them; an imperial blanket
has ounces of every strand as well, in columns at the end.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from kit.arrangement.orders import family_name, value_of
from kit.blanket import Yarn
from kit.fabric import Fabric, rows_to_knit
from kit.fabric.forecast import ends_as_joined
from kit.fabric.ranges import Range
from kit.fabric.schedule import BallPart, Change, Entry, weight_g
from kit.files.csv_records import record_text
from kit.plan import Plan
from kit.plan.facts import forecast_of_plan
from kit.yarn import length
from kit.yarn.measures import GRAMS_PER_OUNCE, METRES_PER_YARD

MARK = "\ufeff"


def schedule_csv(plan: Plan) -> str:
    """The schedule as CSV text; without fabric the order along the blanket."""
    rows = _knitting(plan, plan.fabric) if plan.fabric else _order(plan)
    return MARK + "".join(map(record_text, rows))


# --- rows to knit ---------------------------------------------------------------------


def _knitting(plan: Plan, fabric: Fabric) -> Iterator[list[str]]:
    entries = rows_to_knit(fabric, plan.choices)
    most = max((len(_held(entry)) for entry in entries), default=0)
    units = plan.choices.units
    also = range(most) if units == "imperial" else ()
    yield [
        *("line", "from_row", "from_stitch", "to_row", "to_stitch"),
        *("section", "first_ridge", "last_ridge", "join", "end"),
        *("strands", "metres_each", "yards_each"),
        *(f"{what}_{k + 1}" for k in range(most) for what in ("strand", "grams")),
        *("total_metres", "total_yards", "total_grams", "total_ounces"),
        *("ends_from_row", "ends_to_row"),
        *(f"ounces_{k + 1}" for k in also),
    ]
    sure = forecast_of_plan(plan)
    ends = ends_as_joined(sure, fabric.stitches) if sure else {}
    for number, entry in enumerate(entries, 1):
        line = [*_line(number, entry, most, units), *_end_rows(entry, ends)]
        yield [*line, *(_ounces(entry, k) for k in also)]


def _held(entry: Entry) -> tuple[Yarn, ...]:
    return entry.stripe.strands + entry.stripe.carried


def _ounces(entry: Entry, k: int) -> str:
    """Ounces of one of the strands in this line; blank where there are fewer."""
    for yarn in _held(entry)[k : k + 1]:
        grams = weight_g(yarn, 1000 * entry.stripe.metres_each)
        return f"{grams / GRAMS_PER_OUNCE:.2f}"
    return ""


def _line(number: int, entry: Entry, most: int, units: str) -> list[str]:
    stripe, held = entry.stripe, _held(entry)
    ridges = map(str, entry.ridges) if entry.ridges else ("", "")
    strands: list[str] = []
    for yarn in held:
        weighs = weight_g(yarn, 1000 * stripe.metres_each)
        strands += [_tagged(yarn), f"{weighs:.1f}"]
    return [
        str(number),
        *map(str, (stripe.first_row, stripe.first_stitch)),
        *map(str, (stripe.last_row, stripe.last_stitch)),
        entry.section,
        *ridges,
        "; ".join(map(joined_words, entry.joins)),
        "; ".join(ended_words(end, units) for end in entry.ends),
        " + ".join(map(_tagged, held)),
        f"{stripe.metres_each:.1f}",
        f"{stripe.metres_each / METRES_PER_YARD:.1f}",
        *(strands + [""] * 2 * (most - len(held))),
        f"{entry.total_m:.1f}",
        f"{entry.total_m / METRES_PER_YARD:.1f}",
        f"{entry.total_g:.1f}",
        f"{entry.total_g / GRAMS_PER_OUNCE:.2f}",
    ]


def _end_rows(entry: Entry, ends: Mapping[BallPart, Range]) -> tuple[str, str]:
    """The rows between which the first ball that runs out here does so in nine of ten,
    if it is joined in the row given; blank where it is not the yarn that decides."""
    out = (change for change in entry.ends if change.kind == "runs out")
    found = [ends[change.part] for change in out if change.part in ends]
    if not found:
        return "", ""
    low, high = found[0].row_numbers
    return str(low), str(high)


def _tagged(yarn: Yarn) -> str:
    return f"{yarn.no} {yarn.name}"


def joined_words(change: Change) -> str:
    """What comes, in words."""
    return f"{change.kind}: {_part(change)}"


def ended_words(change: Change, units: str = "metric") -> str:
    """What goes, in words, and what to keep of it."""
    keep = f", keep {length(change.part.left_mm / 1000, units)}"
    return f"{change.kind}: {_part(change)}{keep if change.kind == 'break off' else ''}"


def _part(change: Change) -> str:
    part = change.part
    which = f", part {part.number} of {part.n_parts}" if part.n_parts > 1 else ""
    return _tagged(part.yarn) + which


# --- the order alone ------------------------------------------------------------------


def _order(plan: Plan) -> Iterator[Sequence[str]]:
    imperial = plan.choices.units == "imperial"
    yield [
        *("place", "no", "name", "family", "value", "grams"),
        *("step_to_next", "kind", "cause"),
        *(("ounces",) if imperial else ()),
    ]
    design = plan.design
    for k, yarn in enumerate(design.laid.yarns):
        step = design.steps[k] if k < len(design.steps) else None
        yield [
            str(k + 1),
            str(yarn.no),
            yarn.name,
            family_name(yarn),
            f"{value_of(yarn):.1f}",
            "" if yarn.grams is None else f"{yarn.grams:g}",
            f"{step.size:.1f}" if step else "",
            step.kind if step else "",
            step.cause if step else "",
            *([_in_ounces(yarn)] if imperial else []),
        ]


def _in_ounces(yarn: Yarn) -> str:
    return "" if yarn.grams is None else f"{yarn.grams / GRAMS_PER_OUNCE:.2f}"
