"""Where things stand, in sentences: the pace, the drift, the joins to come."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from kit.fabric.shortfall import drift_words
from kit.needles.progress import Join, Progress
from kit.yarn import counted, mass
from kit.yarn.measures import row_span

N_JOINS = 3  # told beforehand


def pace_words(now: Progress) -> str:
    """Drift in a sentence with its range, told as soon as it is fairly sure."""
    if not now.readings:
        return "Nothing is weighed yet: the yarn in a stitch is the plan's."
    pace, low, high = (
        100 * (n - 1) for n in (now.pace.likely, now.pace.low, now.pace.high)
    )
    if low <= 0 <= high:
        likely = (
            f"{_percent(pace)} yarn than" if abs(pace) >= 0.5 else "as much yarn as"
        )
        return (
            f"A stitch takes about {likely} planned ({_percent(low)} to "
            f"{_percent(high)}): it may yet go as planned."
        )
    least, most = sorted((abs(low), abs(high)))
    more = "more" if pace > 0 else "less"
    return (
        f"A stitch takes {abs(pace):.0f} % {more} yarn than planned "
        f"({least:.0f} to {most:.0f} %)."
    )


def _percent(number: float) -> str:
    return f"{abs(number):.0f} % {'less' if number < 0 else 'more'}"


def coming_join_words(join: Join) -> str:
    """A join to come, with its rows."""
    stands = f' in place of "{join.instead_of}"' if join.instead_of else ""
    if join.together:
        stands = f', together with "{join.together}",{stands}'
    rows = row_span(int(join.row.low), int(join.row.high)).capitalize()
    return (
        f"{rows} (planned {join.planned_row}): "
        f'join {join.yarn.no} "{join.yarn.name}"{stands}.'
    )


def progress_lines(now: Progress, units: str = "metric") -> list[str]:
    """Where things stand, in a few calm sentences."""
    row, last = now.knitted.row, now.rows
    hang, whole = now.ends
    on = ", ".join(f'"{name}"' for name in now.knitted.held)
    lines = [f"Row {row} of {last}. On the needle: {on}."]
    if now.joins:
        to_next = round(max(0.0, now.joins[0].row.likely - 1 - row))
        lines.append(f"About {counted(to_next, 'row')} to the next join:")
        lines += [f"  {coming_join_words(join)}" for join in now.joins[:N_JOINS]]
    else:
        lines.append("No joins to come.")
    lines.append(f"Ends to weave in: {hang} so far, {whole} in all.")
    if now.knitted.gone:
        gone = ", ".join(f'"{name}"' for name in sorted(now.knitted.gone))
        lines.append(f"Not counted on any more, lost or skipped: {gone}.")
    kept = ", ".join(
        f'{mass(one.sure_g, units)} of "{one.yarn.name}"'
        for one in now.forecast.reserves
    )
    if kept:
        lines.append(f"Keep back for the bind-off: {kept}.")
    lines += [pace_words(now), drift_words(now.forecast, now.rows)]
    return [*lines, *now.sentences]


def dropped_words(names: Sequence[str]) -> str:
    """How long yarns stay out that a plan of the rest was to do without.

    >>> dropped_words(["Ash"])
    'Left out of this plan alone, unless logged as "skipped": "Ash".'
    """
    named = ", ".join(f'"{name}"' for name in names)
    return f'Left out of this plan alone, unless logged as "skipped": {named}.'


def way_back(folder: Path) -> str:
    """What holds from now on, when a plan of the rest was written, and how to undo it.

    >>> way_back(Path("hall/plan-2"))
    'You knit by it from now on. To go back to the plan before, delete "plan-2".'
    """
    return (
        "You knit by it from now on. To go back to the plan before, delete "
        f'"{folder.name}".'
    )
