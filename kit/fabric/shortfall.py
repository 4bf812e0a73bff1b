"""Whether the yarn is enough: as planned, in how many of a hundred knittings, and at
the pace so far.

Decided and worded here alone, for the summary, the page and the needles.
"""

from __future__ import annotations

from kit.blanket import Choices
from kit.fabric.fabric import Fabric
from kit.fabric.forecast import SURE, Forecast
from kit.fabric.ranges import INSIDE, of_100
from kit.fabric.schedule import weight_g
from kit.fabric.words import nothing_knitted
from kit.yarn import counted, length, mass, size


def is_enough(fabric: Fabric) -> bool:
    """Whether a planned fabric reaches the wished length."""
    return bool(fabric.stripes) and fabric.short is None


def enough_words(fabric: Fabric, choices: Choices, units: str = "") -> str:
    """Whether the yarn reaches as planned: what is left of it, or what is missing;
    in the units chosen, if no others are given."""
    units, short = units or choices.units, fabric.short
    if not fabric.stripes:
        return nothing_knitted(choices.making)
    if short is None:
        left_g = sum(weight_g(use.yarn, use.left_mm) for use in fabric.uses)
        return f"As planned the yarn is enough; {mass(left_g, units)} of it is left."
    return (
        f"The yarn ends {counted(short.rows, 'row')} ({size(short.length_cm, units)}) "
        f"short of the wished length: {length(short.metres, units)} of strand, "
        f"{mass(short.grams, units)}, are missing."
    )


def chance_words(forecast: Forecast) -> str:
    """In how many of a hundred knittings the yarn suffices, the surer way first, and
    what would be safer where that is not sure enough; "" where no length is wished."""
    if forecast.chance is None or forecast.in_all is None:
        return ""
    as_planned, in_all = of_100(forecast.chance), of_100(forecast.in_all)
    if forecast.in_all > forecast.chance + 0.01 and in_all != as_planned:
        said = (
            f"The yarn suffices in {in_all} knittings if balls may be broken off later "
            f"where it is needed, in {as_planned} if not."
        )
    else:
        said = f"The yarn suffices in {as_planned} knittings."
    if max(forecast.chance, forecast.in_all) >= INSIDE:
        return said
    safe = int(forecast.lasts.low)
    return f"{said} {safe} rows in all would be safe in {of_100(SURE)}."


def drift_words(forecast: Forecast, last_row: int) -> str:
    """Whether the yarn lasts at this pace, with a range of rows."""
    short = forecast.rows_short_of(last_row)
    if short.low > 0:
        said = (
            f"At this rate the yarn ends about {_counted(short.likely)} short: "
            f"{short.low:.0f} to {short.high:.0f}."
        )
    elif short.high < 0:
        said = (
            f"At this rate the yarn lasts beyond the last row by about "
            f"{_counted(short.likely)}: {-short.high:.0f} to {-short.low:.0f}."
        )
    else:
        said = (
            f"At this rate the yarn ends between {_rows(short.high)} and "
            f"{_rows(short.low)} the plan's last row."
        )
    suffices = chance_words(forecast) if short.low <= 0 else ""
    return f"{said} {suffices}".rstrip()


def _rows(short: float) -> str:
    return f"{_counted(short)} {'before' if short > 0 else 'after'}"


def _counted(rows: float) -> str:
    return counted(round(abs(rows)), "row")
