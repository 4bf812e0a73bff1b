"""What the log says of the balls, as readings to learn from; what is odd is told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from kit.belief import Reading
from kit.carrying import TAIL_MM
from kit.loom import CAST_ON_ROWS, Loom
from kit.measures import weighed
from kit.needle_log import LOG, Log, Note
from kit.schedule import weight_g
from kit.so_far import SoFar
from kit.stash import Yarn
from kit.tolerance import USUAL, day_limit, standard, together
from kit.yardage import GRAMS_PER_OUNCE

# Ours: a weighing so far off what was to be left is asked whether it has another unit,
# where it would then be right within this share. An ounce is 28 g: neither is near.
FAR_BELOW, FAR_ABOVE = 10.0, 20.0
FITS = 0.3


def readings_of(
    log: Log,
    so_far: SoFar,
    yarns: Sequence[Yarn],
    loom: Loom,
    units: str = "metric",
) -> tuple[tuple[Reading, ...], list[str]]:
    """What the log says of balls, as readings; and what is told of it."""
    by_name = {yarn.name: yarn for yarn in yarns if yarn.metres}
    readings: list[Reading] = []
    said: list[str] = []
    last: dict[str, Note] = {}
    for notes in _together(log):
        note = notes[-1]
        if note.yarn not in by_name:
            unknown = "what this ball had before is not known: it tells nothing of pace"
            said.append(f"{_place(note)}: {unknown}.")
            continue
        grams, words = _one_of(notes, units)
        said += words
        yarn = by_name[note.yarn]
        used_m = given_m(note.yarn, min(note.row, so_far.row), so_far, loom)
        before = last.get(note.yarn)
        then_m = before and given_m(
            note.yarn, min(before.row, so_far.row), so_far, loom
        )
        knitted_g = weight_g(yarn, 1e3 * (used_m - (then_m or 0.0)))
        had_g = before.grams if before else yarn.grams
        left_g = (had_g or 0.0) - knitted_g
        why = _other_unit(note, grams, yarn, left_g, units)
        if why := why or _heavier(note, grams, yarn, before, units):
            said.append(why)
            continue
        if before and before.date and before.date == note.date:
            said += _one_day(note, grams, before, knitted_g, units)
        last[note.yarn] = replace(note, grams=grams)
        scale = standard(USUAL.scale_g) / len(notes) ** 0.5
        error = together((scale, weight_g(yarn, 1000 * _row_error_m(used_m, loom))))
        day = str(note.date) if note.date else f"row {note.row}"
        readings.append(Reading(note.yarn, used_m, grams, error, day))
    if len(readings) == 1:
        said.append(
            "One weighing so far: the pace still leans on the swatch or the estimate. "
            "A second one, some rows on, tells more."
        )
    return (*readings, *_ran_out(so_far, by_name, last, loom)), said


def weighed_before(
    log: Log,
    so_far: SoFar,
    yarns: Sequence[Yarn],
    loom: Loom,
    units: str = "metric",
) -> tuple[tuple[Yarn, ...], Log, list[str]]:
    """The yarns with what the scale showed where a ball was weighed before a stitch of
    it was knitted and is another than the stash has it: more was found, or some went
    elsewhere. Then the log without those weighings, and what is told of them.
    """
    had = {yarn.name: yarn for yarn in yarns}
    taken: list[Note] = []
    said: list[str] = []
    for notes in _together(log):
        note, yarn = notes[-1], had.get(notes[-1].yarn)
        if yarn is None or not yarn.metres or not yarn.grams:
            continue
        if given_m(note.yarn, min(note.row, so_far.row), so_far, loom):
            continue
        grams, words = _one_of(notes, units)
        if abs(grams - yarn.grams) <= _slack_g(yarn, yarn.grams):
            continue
        if _other_unit(note, grams, yarn, yarn.grams, units):
            continue  # told, and not used, where the readings are made
        now, was = weighed(grams, units), weighed(yarn.grams, units)
        found = f"{_place(note)}: {now} is not the {was} of the stash"
        said += [
            *words,
            f"{found}. Nothing of it was knitted yet, so the new one is used.",
        ]
        grams = max(grams, USUAL.scale_g)
        metres = yarn.metres * grams / yarn.grams
        had[yarn.name] = replace(yarn, grams=grams, metres=metres)
        taken += notes
    rest = tuple(note for note in log.notes if note not in taken)
    return tuple(had.values()), replace(log, notes=rest) if taken else log, said


def _together(log: Log) -> Iterator[list[Note]]:
    """Weighings of one yarn at one row on one day belong together."""
    groups: dict[tuple, list[Note]] = {}
    for note in log.notes:
        if note.what == "weighed":
            groups.setdefault((note.yarn, note.row, note.date), []).append(note)
    yield from groups.values()


def _slack_g(yarn: Yarn, had_g: float) -> float:
    """By how much two weighings of the same ball may differ: the scale's doing twice,
    and the air's."""
    return 2 * USUAL.scale_g + 2 * day_limit(yarn) * had_g


def _place(note: Note) -> str:
    column = "ounces" if note.in_ounces else "grams"
    return f'{LOG}, row {note.number} ("{note.yarn}"), {column}'


def _other_unit(note: Note, grams: float, yarn: Yarn, left_g: float, units: str) -> str:
    """The question to ask of a weighing that is far off what was to be left, and near
    it if its number was meant in ounces where it is read as grams, or the other way."""
    read, meant = ("ounces", "grams") if note.in_ounces else ("grams", "ounces")
    per = GRAMS_PER_OUNCE if note.in_ounces else 1 / GRAMS_PER_OUNCE
    far = grams > FAR_ABOVE * left_g or grams < left_g / FAR_BELOW
    apart = abs(grams - left_g) > 4 * USUAL.scale_g
    near = abs(grams / per - left_g) <= _slack_g(yarn, left_g) + FITS * left_g
    if left_g <= 0 or not (far and apart and near):
        return ""
    number = f"{grams / (GRAMS_PER_OUNCE if note.in_ounces else 1.0):.4g}"
    short = "g" if note.in_ounces else "oz"
    return (
        f"{_place(note)}: {number} is read as {read}, where about "
        f"{weighed(left_g, units)} was to be left: not used. Was it {meant}? Then type "
        f"{number} {short}."
    )


def _one_of(notes: Sequence[Note], units: str) -> tuple[float, list[str]]:
    """One figure of several weighings, told where they disagree."""
    grams = [note.grams or 0.0 for note in notes]
    mean = sum(grams) / len(grams)
    if max(grams) - min(grams) <= 2 * USUAL.scale_g:
        return mean, []
    listed = " and ".join(weighed(one, units) for one in grams)
    return mean, [
        f"{_place(notes[-1])}: {listed} at one row do not agree; their mean, "
        f"{weighed(mean, units)}, is used. Weigh once more."
    ]


def _heavier(
    note: Note, grams: float, yarn: Yarn, before: Note | None, units: str
) -> str:
    """Why a weighing cannot be used: a ball does not gain by being knitted."""
    had = before.grams if before else yarn.grams
    if had is None or grams <= had + _slack_g(yarn, had):
        return ""
    was = f"at row {before.row}" if before else "in the stash"
    more = f"{weighed(grams, units)} is more than the {weighed(had, units)} {was}"
    found = f"{_place(note)}: {more}"
    return f"{found}: not used. Weigh it once more."


def _one_day(
    note: Note, grams: float, before: Note, knitted_g: float, units: str
) -> list[str]:
    """Told where two weighings of a day are apart by far more or less than was knitted
    between them by the plan, or half as much again."""
    less_g = (before.grams or 0.0) - grams
    if abs(less_g - knitted_g) <= 2 * USUAL.scale_g + knitted_g / 2:
        return []
    was = f"{weighed(before.grams or 0.0, units)} at row {before.row}"
    now, knitted = weighed(grams, units), weighed(knitted_g, units)
    return [
        f"{_place(note)}: {was} and {now} at row {note.row} on one day do not agree, "
        f"since about {knitted} is knitted between them. Both are used. "
        "Weigh once more."
    ]


def given_m(name: str, row: int, so_far: SoFar, loom: Loom) -> float:
    """Metres a ball has given up to a row by the plan's yarn in a stitch, the cast-on
    too where it was cast on with."""
    mm = so_far.used_mm(name, loom.line, row * loom.stitches)
    if row and so_far.stripes:
        first = so_far.stripes[0].strands
        begins = any(yarn.name == name for yarn in first)
        mm += CAST_ON_ROWS * loom.line.mm_at(loom.stitches) * begins
    return mm / 1000


def _ran_out(
    so_far: SoFar, by_name: dict[str, Yarn], weighed: dict[str, Note], loom: Loom
) -> Iterator[Reading]:
    """A ball that was knitted to its end has told its length, within half a row."""
    row_m = loom.line.mm_at(loom.stitches) / 1000
    for name in sorted(so_far.ran_out & by_name.keys()):
        own = [
            (strand, end)
            for strand, end in zip(so_far.strands, so_far.ended, strict=True)
            if strand.part.yarn.name == name
        ]
        parted = any(strand.part.n_parts > 1 for strand, _ in own)
        ended = max((end or 0) for _, end in own)
        later = name in weighed and weighed[name].row * loom.stitches > ended
        if parted or later or any(end is None for _, end in own):
            continue
        used_m = given_m(name, so_far.row, so_far, loom)
        error = together((standard(row_m / 2), _row_error_m(used_m, loom)))
        yield Reading(name, used_m, None, error, kept_m=TAIL_MM / 1000)


def _row_error_m(used_m: float, loom: Loom) -> float:
    """A join is logged by its row: it was somewhere in it."""
    return standard(loom.line.mm_at(loom.stitches) / 2000) if used_m else 0.0
