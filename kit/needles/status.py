"""Where a blanket on the needles stands: its folder, its log and the plan in hand."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from kit.blanket import Blanket, Yarn, open_blanket
from kit.errors import Fault, KitError
from kit.files import read_bytes
from kit.late import draws_itself
from kit.needles.log import LOG, Log, read_log
from kit.needles.progress import Progress, progress
from kit.needles.words import progress_lines
from kit.pictures.notebook import picture_and_words
from kit.plan import Plan, plan_blanket
from kit.plan.compose import why_colours_alone
from kit.report import read_plan
from kit.report.read_back import plan_folders
from kit.yarn import counted


@draws_itself("kit.needles.status:standing_html")
@dataclass(frozen=True, slots=True)
class Standing:
    """Where a blanket stands.

    plan     the one that is being knitted: the last written, else worked out now
    number   its number; 0 where none is written yet
    log      knitted.csv
    now      as knitted, forecast, balls
    said     what was found in the files, and what was done about it
    """

    blanket: Blanket
    plan: Plan
    number: int
    log: Log
    now: Progress
    sentences: tuple[str, ...]

    def __repr__(self) -> str:
        row, rows = self.now.so_far.row, self.now.rows
        return f"Standing({self.blanket.choices.name!r}, row {row} of {rows})"


def where_things_stand(folder: str | Path) -> Standing:
    """Read a blanket folder and follow its log along its last plan.

    Raises KitError with every fault of its files, or where there is no fabric.
    """
    blanket = open_blanket(folder)
    data = log_bytes(blanket.folder)
    return standing_by(blanket, data, plan_in_hand(blanket))


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


def standing_lines(standing: Standing) -> list[str]:
    """Where things stand, in a few calm sentences."""
    units = standing.blanket.choices.units
    return [*progress_lines(standing.now, units), *standing.sentences]


def standing_html(standing: Standing) -> str:
    """Where things stand as the last line of a cell: the fabric planned, sentences."""
    return picture_and_words(standing.plan, standing_lines(standing))


def standing_by(
    blanket: Blanket, data: bytes, in_hand: tuple[Plan, int, tuple[str, ...]]
) -> Standing:
    """Where a blanket stands by the bytes of a knitted.csv and the plan in hand."""
    plan, number, said = in_hand
    log = read_log(data, yarns_of(blanket))
    now = progress(plan, log, blanket.choices, yarns_of(blanket))
    return Standing(blanket, plan, number, log, now, (*log.sentences, *said))


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
