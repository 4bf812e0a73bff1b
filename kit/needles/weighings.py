"""Weighings of the log, those that belong together as one, each as a reading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from kit.blanket import Yarn
from kit.fabric.posterior import Reading
from kit.fabric.schedule import weight_g
from kit.fabric.setup import CAST_ON_ROWS, Setup
from kit.fabric.tolerance import USUAL, day_limit, standard, together
from kit.needles.knitted import SoFar
from kit.needles.log import LOG, Log, Note
from kit.yarn.measures import GRAMS_PER_OUNCE, weighed

# Ours: a weighing so far off what was to be left is asked whether it has another unit,
# where it would then be right within this share. An ounce is 28 g: neither is near.
FAR_BELOW, FAR_ABOVE = 10.0, 20.0
FITS = 0.3


@dataclass(frozen=True, slots=True)
class Weighing:
    """What the scale showed of one ball at one row on one day, as one reading; several
    lines are their mean."""

    notes: tuple[Note, ...]
    yarn: Yarn
    reading: Reading

    @property
    def note(self) -> Note:
        """Its last line."""
        return self.notes[-1]

    @property
    def grams(self) -> float:
        assert self.reading.left_g is not None
        return self.reading.left_g

    @property
    def used_m(self) -> float:
        return self.reading.used_m


def weighings_of(
    log: Log, so_far: SoFar, yarns: Sequence[Yarn], setup: Setup
) -> Iterator[Weighing]:
    """The log's weighings of balls whose length is known, in its order."""
    by_name = {yarn.name: yarn for yarn in yarns if yarn.metres}
    for notes in together_at(log):
        if (yarn := by_name.get(notes[-1].yarn)) is not None:
            yield Weighing(tuple(notes), yarn, reading_of(notes, yarn, so_far, setup))


def together_at(log: Log) -> Iterator[list[Note]]:
    """Weighings of one yarn at one row on one day belong together."""
    groups: dict[tuple, list[Note]] = {}
    for note in log.notes:
        if note.what == "weighed":
            groups.setdefault((note.yarn, note.row, note.date), []).append(note)
    yield from groups.values()


def reading_of(
    notes: Sequence[Note], yarn: Yarn, so_far: SoFar, setup: Setup
) -> Reading:
    """Lines that belong together as one reading: their mean."""
    note = notes[-1]
    grams = sum(one.grams or 0.0 for one in notes) / len(notes)
    used_m = given_m(note.yarn, min(note.row, so_far.row), so_far, setup)
    scale = standard(USUAL.scale_g) / len(notes) ** 0.5
    error = together((scale, weight_g(yarn, 1000 * row_error_m(used_m, setup))))
    day = str(note.date) if note.date else f"row {note.row}"
    return Reading(note.yarn, used_m, grams, error, day)


def given_m(name: str, row: int, so_far: SoFar, setup: Setup) -> float:
    """Metres a ball has given up to a row by the plan's yarn in a stitch, the cast-on
    too where it was cast on with."""
    mm = so_far.used_mm(name, setup.lengths, row * setup.stitches)
    if row and so_far.stripes:
        first = so_far.stripes[0].strands
        begins = any(yarn.name == name for yarn in first)
        mm += CAST_ON_ROWS * setup.lengths.mm_at(setup.stitches) * begins
    return mm / 1000


def row_error_m(used_m: float, setup: Setup) -> float:
    """A join is logged by its row: it was somewhere in it."""
    return standard(setup.lengths.mm_at(setup.stitches) / 2000) if used_m else 0.0


def slack_g(yarn: Yarn, had_g: float) -> float:
    """By how much two weighings of the same ball may differ: the scale's doing twice,
    and the air's."""
    return 2 * USUAL.scale_g + 2 * day_limit(yarn) * had_g


def place(note: Note) -> str:
    """Where a weighing stands."""
    column = "ounces" if note.in_ounces else "grams"
    return f'{LOG}, row {note.number} ("{note.yarn}"), {column}'


def other_unit(note: Note, grams: float, yarn: Yarn, left_g: float, units: str) -> str:
    """The question to ask of a weighing that is far off what was to be left, and near
    it if its number was meant in ounces where it is read as grams, or the other way."""
    read, meant = ("ounces", "grams") if note.in_ounces else ("grams", "ounces")
    per = GRAMS_PER_OUNCE if note.in_ounces else 1 / GRAMS_PER_OUNCE
    far = grams > FAR_ABOVE * left_g or grams < left_g / FAR_BELOW
    apart = abs(grams - left_g) > 4 * USUAL.scale_g
    near = abs(grams / per - left_g) <= slack_g(yarn, left_g) + FITS * left_g
    if left_g <= 0 or not (far and apart and near):
        return ""
    number = f"{grams / (GRAMS_PER_OUNCE if note.in_ounces else 1.0):.4g}"
    short = "g" if note.in_ounces else "oz"
    return (
        f"{place(note)}: {number} is read as {read}, where about "
        f"{weighed(left_g, units)} was to be left: not used. Was it {meant}? Then type "
        f"{number} {short}."
    )
