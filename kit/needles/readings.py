"""What the log says of the balls, as readings to learn from; what is odd is told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from kit.blanket import Yarn
from kit.fabric.carrying import TAIL_MM
from kit.fabric.posterior import Reading
from kit.fabric.schedule import weight_g
from kit.fabric.setup import Setup
from kit.fabric.tolerance import USUAL, standard, together
from kit.needles.knitted import Knitted
from kit.needles.log import Log, Note
from kit.needles.weighings import (
    cell_of,
    given_m,
    other_unit,
    reading_of,
    row_error_m,
    slack_g,
    together_at,
)
from kit.yarn.measures import weighed


def readings_of(
    log: Log,
    knitted: Knitted,
    yarns: Sequence[Yarn],
    setup: Setup,
    units: str = "metric",
) -> tuple[tuple[Reading, ...], list[str]]:
    """What the log says of balls, as readings; and what is told of it."""
    by_name = {yarn.name: yarn for yarn in yarns if yarn.metres}
    readings: list[Reading] = []
    said: list[str] = []
    last: dict[str, Note] = {}
    for notes in together_at(log):
        note = notes[-1]
        if note.yarn not in by_name:
            unknown = "what this ball had before is not known: it tells nothing of pace"
            said.append(f"{cell_of(note)}: {unknown}.")
            continue
        grams, words = _one_of(notes, units)
        said += words
        yarn, before = by_name[note.yarn], last.get(note.yarn)
        knitted_g = _knitted_g(yarn, note, before, knitted, setup)
        had_g = before.grams if before else yarn.grams
        left_g = (had_g or 0.0) - knitted_g
        why = other_unit(note, grams, yarn, left_g, units)
        if why := why or _heavier(note, grams, yarn, units):
            said.append(why)
            continue
        if before and before.date and before.date == note.date:
            said += _one_day(note, grams, before, knitted_g, units)
        last[note.yarn] = replace(note, grams=grams)
        readings.append(reading_of(notes, yarn, knitted, setup))
    if len(readings) == 1:
        said.append(
            "One weighing so far: the pace still leans on the swatch or the estimate. "
            "A second one, some rows on, tells more."
        )
    return (*readings, *_ran_out(knitted, by_name, last, setup)), said


def _knitted_g(
    yarn: Yarn, note: Note, before: Note | None, knitted: Knitted, setup: Setup
) -> float:
    """What is knitted of a ball by the plan between two weighings of it; all that is,
    where there is none before."""
    now_m, then_m = (
        given_m(yarn.name, min(one.row, knitted.row), knitted, setup) if one else 0.0
        for one in (note, before)
    )
    return weight_g(yarn, 1000 * (now_m - then_m))


def weighed_before(
    log: Log,
    knitted: Knitted,
    yarns: Sequence[Yarn],
    setup: Setup,
    units: str = "metric",
) -> tuple[tuple[Yarn, ...], Log, list[str]]:
    """The yarns with what the scale showed where a ball was weighed before a stitch of
    it was knitted and is another than the stash has it: more was found, or some went
    elsewhere. Then the log without those weighings, and what is told of them.
    """
    had = {yarn.name: yarn for yarn in yarns}
    taken: list[Note] = []
    said: list[str] = []
    for notes in together_at(log):
        note, yarn = notes[-1], had.get(notes[-1].yarn)
        if yarn is None or not yarn.metres or not yarn.grams:
            continue
        if given_m(note.yarn, min(note.row, knitted.row), knitted, setup):
            continue
        grams, words = _one_of(notes, units)
        if abs(grams - yarn.grams) <= slack_g(yarn, yarn.grams):
            continue
        if other_unit(note, grams, yarn, yarn.grams, units):
            continue  # told, and not used, where the readings are made
        now, was = weighed(grams, units), weighed(yarn.grams, units)
        found = f"{cell_of(note)}: {now} is not the {was} of the stash"
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


def _one_of(notes: Sequence[Note], units: str) -> tuple[float, list[str]]:
    """One figure of several weighings, told where they disagree."""
    grams = [note.grams or 0.0 for note in notes]
    mean = sum(grams) / len(grams)
    if max(grams) - min(grams) <= 2 * USUAL.scale_g:
        return mean, []
    listed = " and ".join(weighed(one, units) for one in grams)
    return mean, [
        f"{cell_of(notes[-1])}: {listed} at one row do not agree; their mean, "
        f"{weighed(mean, units)}, is used. Weigh once more."
    ]


def _heavier(note: Note, grams: float, yarn: Yarn, units: str) -> str:
    """Why a weighing cannot be used: a ball does not gain by being knitted."""
    had = yarn.grams
    if had is None or grams <= had + slack_g(yarn, had):
        return ""
    more = (
        f"{weighed(grams, units)} is more than the {weighed(had, units)} in the stash"
    )
    return f"{cell_of(note)}: {more}: not used. Weigh it once more."


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
        f"{cell_of(note)}: {was} and {now} at row {note.row} on one day do not agree, "
        f"since about {knitted} is knitted between them. Both are used. "
        "Weigh once more."
    ]


def _ran_out(
    knitted: Knitted, by_name: dict[str, Yarn], last: dict[str, Note], setup: Setup
) -> Iterator[Reading]:
    """A ball that was knitted to its end has told its length, within half a row; one
    weighed after that (`last`, by name) has not."""
    row_m = setup.lengths.mm_at(setup.stitches) / 1000
    for name in sorted(knitted.ran_out & by_name.keys()):
        own = knitted.of_yarn(name)
        parted = any(strand.part.n_parts > 1 for strand, _ in own)
        ended = max((end or 0) for _, end in own)
        later = name in last and last[name].row * setup.stitches > ended
        if parted or later or any(end is None for _, end in own):
            continue
        used_m = given_m(name, knitted.row, knitted, setup)
        error = together((standard(row_m / 2), row_error_m(used_m, setup)))
        yield Reading(name, used_m, None, error, kept_m=TAIL_MM / 1000)
