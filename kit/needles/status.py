"""Where a blanket on the needles stands, and one call for each thing that happens.

status = where_things_stand(folder)
status = log_join(folder, "Sage", 120)
replanned = preview_replan(status, ReplanChoices(drop=("Moss",)))
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from kit.blanket import Blanket, Yarn, open_blanket
from kit.errors import Fault, KitError
from kit.files import Table, digest, read_bytes
from kit.files.decoding import BOM, with_line_ends
from kit.files.saving import save_bytes
from kit.late import draws_itself
from kit.needles.log import (
    LOG,
    Log,
    Note,
    log_text,
    read_log,
    with_line,
    without_last,
)
from kit.needles.progress import Progress, progress_of
from kit.needles.replan import Replan, plan_rest
from kit.needles.replan_choices import AS_IT_IS, ReplanChoices
from kit.needles.words import dropped_words, progress_lines, way_back
from kit.pictures.notebook import picture_and_words
from kit.plan import Plan, plan_blanket
from kit.plan.compose import why_colours_alone
from kit.report import plan_folder, read_plan, write_plan
from kit.report.plan_json import plan_folders
from kit.yarn import counted
from kit.yarn.measures import GRAMS_PER_OUNCE


@draws_itself("kit.needles.status:status_html")
@dataclass(frozen=True, slots=True)
class Status:
    """Where a blanket stands.

    Attributes
    ----------
    blanket : Blanket
        Its folder, opened.
    plan : Plan
        The one that is being knitted: the last written, else worked out now.
    number : int
        Its number, no unit; 0 where none is written yet.
    log : Log
        knitted.csv.
    now : Progress
        As knitted, forecast, balls.
    sentences : tuple of str
        What was found in the files, and what was done about it.
    """

    blanket: Blanket
    plan: Plan
    number: int
    log: Log
    now: Progress
    sentences: tuple[str, ...]

    def __repr__(self) -> str:
        row, rows = self.now.knitted.row, self.now.rows
        return f"Status({self.blanket.choices.name!r}, row {row} of {rows})"


def where_things_stand(folder: str | Path) -> Status:
    """Read a blanket folder and follow its log along its last plan.

    Parameters
    ----------
    folder : str or Path
        A blanket's folder, with its knitted.csv where one has been begun.

    Returns
    -------
    Status
        Rows knitted, what hangs on the needles, what is left in g, when strands end.

    Raises
    ------
    KitError
        With every fault of its files, or where there is no fabric.
    """
    blanket = open_blanket(folder)
    data = log_bytes(blanket.folder)
    return status_by(blanket, data, plan_in_hand(blanket))


def check_log(blanket: Blanket) -> Log:
    """The blanket's log; raises KitError with every fault of it."""
    return read_log(log_bytes(blanket.folder), yarns_of(blanket))


def check_may_replace(blanket: Blanket) -> None:
    """Refuse to put another plan in the place of one that is being knitted."""
    n_lines = len(check_log(blanket).notes)
    if n_lines and plan_folders(blanket.folder):
        lines = counted(n_lines, "line")
        says = f"This blanket is being knitted by its plan: {LOG} has {lines}"
        advice = (
            "Plan the rest anew with `python -m kit progress FOLDER --replan` or in "
            "the notebook 4_on_the_needles, or write another plan elsewhere with "
            "--out DIR."
        )
        raise KitError(Fault("being_knitted", says=says, advice=advice))


def status_lines(status: Status) -> list[str]:
    """Where things stand, in a few calm sentences."""
    units = status.blanket.choices.units
    return [*progress_lines(status.now, units), *status.sentences]


def status_html(status: Status) -> str:
    """Where things stand as the last line of a cell: the fabric planned, sentences."""
    return picture_and_words(status.plan, status_lines(status))


def status_by(
    blanket: Blanket, data: bytes, in_hand: tuple[Plan, int, tuple[str, ...]]
) -> Status:
    """Where a blanket stands by the bytes of a knitted.csv and the plan in hand."""
    plan, number, said = in_hand
    log = read_log(data, yarns_of(blanket))
    now = progress_of(plan, log, blanket.choices, yarns_of(blanket))
    return Status(blanket, plan, number, log, now, (*log.sentences, *said))


def yarns_of(blanket: Blanket) -> tuple[Yarn, ...]:
    """Every yarn that may be joined: the stash, then the shop list."""
    shop = blanket.shop.yarns if blanket.shop else ()
    return (*blanket.stash.yarns, *shop)


def plan_in_hand(blanket: Blanket) -> tuple[Plan, int, tuple[str, ...]]:
    """The last plan written that can be used, else one worked out now; its number."""
    said: list[str] = []
    for number, path in reversed(plan_folders(blanket.folder).items()):
        plan, why = read_plan(path, blanket)
        if plan is not None:
            return plan, number, tuple(said)
        said.append(f"{why}. An older plan, or one worked out now, is followed.")
    plan = plan_blanket(blanket)
    if plan.fabric is None or not plan.fabric.stripes:
        says = "There is no fabric to knit in this plan yet"
        advice = "See what the plan says is missing."
        if plan.fabric is None:
            missing = why_colours_alone(plan)
            advice = " ".join(missing)
        raise KitError(Fault("no_fabric", says=says, advice=advice))
    if not said:
        said.append("No plan is written yet: this one was worked out now.")
    return plan, 0, tuple(said)


def log_bytes(folder: Path) -> bytes:
    """The bytes of its knitted.csv; none where there is none."""
    path = folder / LOG
    return read_bytes(path) if os.path.lexists(path) else b""


# --- the log --------------------------------------------------------------------------


def log_join(
    folder: str | Path,
    yarn: str,
    row: int,
    instead_of: str = "",
    *,
    on: date | None = None,
) -> Status:
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
) -> Status:
    """So many grams are left of a yarn, all its parts, after a row; with `units`
    "imperial" the log has them as ounces."""
    cells = {"what": "weighed", "yarn": yarn}
    if units == "imperial":
        cells["ounces"] = f"{round(grams / GRAMS_PER_OUNCE, 4):g}"
    else:
        cells["grams"] = f"{grams:g}"
    return _log(folder, row, cells, on)


def log_row(folder: str | Path, row: int, *, on: date | None = None) -> Status:
    """So many rows are knitted."""
    return _log(folder, row, {"what": "knitted"}, on)


def log_ran_out(
    folder: str | Path, yarn: str, row: int, *, on: date | None = None
) -> Status:
    """A yarn was knitted to its end in a row."""
    return _log(folder, row, {"what": "ran out", "yarn": yarn}, on)


def mark_lost(
    folder: str | Path, yarn: str, row: int | None = None, *, on: date | None = None
) -> Status:
    """A ball is lost; row: where the log stands, if left out."""
    return _log(folder, row, {"what": "lost", "yarn": yarn}, on)


def skip(
    folder: str | Path, yarn: str, row: int | None = None, *, on: date | None = None
) -> Status:
    """A yarn is to be left out from here on."""
    return _log(folder, row, {"what": "skipped", "yarn": yarn}, on)


def undo_last(folder: str | Path) -> Status:
    """Take the log's last line out again; without one nothing changes."""
    blanket = open_blanket(folder)
    path, seen = blanket.folder / LOG, digest(blanket.folder / LOG)
    data = log_bytes(blanket.folder)
    log = read_log(data, yarns_of(blanket))
    return _saved(blanket, path, without_last(log), data, seen)


def last_line(status: Status) -> Note | None:
    """The line of the log that `undo_last` would take out."""
    notes = status.log.notes
    return max(notes, key=lambda note: note.number, default=None)


def _log(
    folder: str | Path, row: int | None, cells: dict[str, str], on: date | None
) -> Status:
    blanket = open_blanket(folder)
    path, seen = blanket.folder / LOG, digest(blanket.folder / LOG)
    data = log_bytes(blanket.folder)
    log = read_log(data, yarns_of(blanket))
    at = log.row if row is None else row
    line = {"date": str(on or date.today()), "row": str(at), **cells}
    return _saved(blanket, path, with_line(log, line), data, seen)


def _saved(
    blanket: Blanket, path: Path, table: Table, data: bytes, seen: str
) -> Status:
    """Read the changed log again, and save it only where it can be followed."""
    text = with_line_ends(log_text(Log((), table)), data)
    new = text.encode("utf-8", "replace")
    status = status_by(blanket, new, plan_in_hand(blanket))
    mark = BOM if not data or data.startswith(BOM) else b""
    save_bytes(path, mark + new, keep_previous=True, unless_changed_since=seen)
    return status


# --- planning anew --------------------------------------------------------------------


def preview_replan(status: Status, wanted: ReplanChoices = AS_IT_IS) -> Replan:
    """The plan from here on, beside the one there is; nothing is written."""
    return plan_rest(status.blanket, status.plan, status.now, wanted)


def save_replan(status: Status, replanned: Replan) -> Path:
    """Write a re-plan into the next numbered folder; the first plan too, if need be."""
    home = status.blanket.folder
    if status.number == 0 and not plan_folders(home):
        write_plan(status.plan, plan_folder(home, 1))
    number = 1 + max(plan_folders(home), default=1)
    path = plan_folder(home, number)
    write_plan(replanned.after, path)
    return path


def write_replan(status: Status, wanted: ReplanChoices = AS_IT_IS) -> list[str]:
    """Plan the rest anew and write it beside the plans there are: before and after, how
    long it holds, and the way back, in sentences."""
    replanned = preview_replan(status, wanted)
    path = save_replan(status, replanned)
    sides = [f"  {what}: {was} → {now}" for what, was, now in replanned.sides]
    return [
        f"Planned anew from row {replanned.row}, before and after:",
        *sides,
        *replanned.sentences,
        *([dropped_words(wanted.drop)] if wanted.drop else []),
        way_back(path),
        f"The plan: {path / 'plan.html'}",
    ]
