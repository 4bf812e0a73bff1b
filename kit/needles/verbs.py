"""A blanket on the needles: its folder, its log and its plans, one call a thing.

standing = where_things_stand(folder)
standing = log_join(folder, "Sage", 120)
print("\\n".join(standing_lines(standing)))
replanned, path = write_replan(folder, Wishes(drop=("Moss",)))
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from kit.blanket import Blanket, open_blanket
from kit.blanket.stash_file import BOM
from kit.files import Table, digest
from kit.files.disk import save_bytes
from kit.needles.log import (
    LOG,
    Log,
    Note,
    log_text,
    read_log,
    with_line,
    without_last,
)
from kit.needles.replan import Replan, replan
from kit.needles.replan_choices import AS_IT_IS, Wishes
from kit.needles.status import (
    Standing,
    check_log,
    check_may_replace,
    log_bytes,
    plan_in_hand,
    standing_by,
    standing_lines,
    where_things_stand,
    yarns_of,
)
from kit.report import plan_folder, write_plan
from kit.report.read_back import plan_folders
from kit.yarn.measures import GRAMS_PER_OUNCE

# --- the log --------------------------------------------------------------------------


def log_join(
    folder: str | Path,
    yarn: str,
    row: int,
    instead_of: str = "",
    *,
    on: date | None = None,
) -> Standing:
    """A yarn was joined in a row. `instead_of`: the strand that ended, where it was
    another than the plan's, or the planned yarn that was not joined."""
    cells = {"what": "joined", "yarn": yarn, "instead_of": instead_of}
    return _log(folder, row, cells, on)


def log_weighing(
    folder: str | Path,
    yarn: str,
    row: int,
    grams: float,
    *,
    on: date | None = None,
    units: str = "metric",
) -> Standing:
    """So many grams are left of a yarn, all its parts, after a row; with `units`
    "imperial" the log has them as ounces."""
    cells = {"what": "weighed", "yarn": yarn}
    if units == "imperial":
        cells["ounces"] = f"{round(grams / GRAMS_PER_OUNCE, 4):g}"
    else:
        cells["grams"] = f"{grams:g}"
    return _log(folder, row, cells, on)


def log_row(folder: str | Path, row: int, *, on: date | None = None) -> Standing:
    """So many rows are knitted."""
    return _log(folder, row, {"what": "knitted"}, on)


def log_ran_out(
    folder: str | Path, yarn: str, row: int, *, on: date | None = None
) -> Standing:
    """A yarn was knitted to its end in a row."""
    return _log(folder, row, {"what": "ran out", "yarn": yarn}, on)


def mark_lost(
    folder: str | Path, yarn: str, row: int | None = None, *, on: date | None = None
) -> Standing:
    """A ball is lost; row: where the log stands, if left out."""
    return _log(folder, row, {"what": "lost", "yarn": yarn}, on)


def skip(
    folder: str | Path, yarn: str, row: int | None = None, *, on: date | None = None
) -> Standing:
    """A yarn is to be left out from here on."""
    return _log(folder, row, {"what": "skipped", "yarn": yarn}, on)


def undo_last(folder: str | Path) -> Standing:
    """Take the log's last line out again; without one nothing changes."""
    blanket = open_blanket(folder)
    path, seen = blanket.folder / LOG, digest(blanket.folder / LOG)
    data = log_bytes(blanket.folder)
    log = read_log(data, yarns_of(blanket))
    return _saved(blanket, path, without_last(log), data, seen)


def last_line(standing: Standing) -> Note | None:
    """The line of the log that `undo_last` would take out."""
    notes = standing.log.notes
    return max(notes, key=lambda note: note.number, default=None)


def _log(
    folder: str | Path, row: int | None, cells: dict[str, str], on: date | None
) -> Standing:
    blanket = open_blanket(folder)
    path, seen = blanket.folder / LOG, digest(blanket.folder / LOG)
    data = log_bytes(blanket.folder)
    log = read_log(data, yarns_of(blanket))
    at = log.row if row is None else row
    line = {"date": str(on or date.today()), "row": str(at), **cells}
    return _saved(blanket, path, with_line(log, line), data, seen)


def _saved(
    blanket: Blanket, path: Path, table: Table, data: bytes, seen: str
) -> Standing:
    """Read the changed log again, and save it only where it can be followed."""
    text = log_text(Log((), table))
    if b"\n" in data and data.count(b"\n") == data.count(b"\r\n"):
        text = text.replace("\r\n", "\n").replace("\n", "\r\n")
    new = text.encode("utf-8", "replace")
    standing = standing_by(blanket, new, plan_in_hand(blanket))
    mark = BOM if not data or data.startswith(BOM) else b""
    save_bytes(path, mark + new, keep_previous=True, unless_changed_since=seen)
    return standing


# --- planning anew --------------------------------------------------------------------


def preview_replan(standing: Standing, wishes: Wishes = AS_IT_IS) -> Replan:
    """The plan from here on, beside the one there is; nothing is written."""
    return replan(standing.blanket, standing.plan, standing.now, wishes)


def write_replan(folder: str | Path, wishes: Wishes = AS_IT_IS) -> tuple[Replan, Path]:
    """Plan anew from where the log stands, and write it beside the plans there are.

    The first plan stays in `plan`, later ones are `plan-2`, `plan-3` …
    """
    standing = where_things_stand(folder)
    replanned = preview_replan(standing, wishes)
    return replanned, save_replan(standing, replanned)


def save_replan(standing: Standing, replanned: Replan) -> Path:
    """Write a re-plan into the next numbered folder; the first plan too, if need be."""
    home = standing.blanket.folder
    if standing.number == 0 and not plan_folders(home):
        write_plan(standing.plan, plan_folder(home, 1))
    number = 1 + max(plan_folders(home), default=1)
    path = plan_folder(home, number)
    write_plan(replanned.after, path)
    return path


__all__ = [
    "Standing",
    "Wishes",
    "check_log",
    "check_may_replace",
    "last_line",
    "log_join",
    "log_ran_out",
    "log_row",
    "log_weighing",
    "mark_lost",
    "preview_replan",
    "save_replan",
    "skip",
    "standing_lines",
    "undo_last",
    "where_things_stand",
    "write_replan",
    "yarns_of",
]
