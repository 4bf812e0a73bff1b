"""Weighings of the log, each as a reading; those that cannot be of the whole ball as
it was are told, and set aside.

Of a ball in parts one part may have lain on the scale alone; and a ball does not get
heavier by being knitted, so that of two weighings one is wrong. Which, is told by what
the plan and all other balls let expect.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from kit.blanket import Yarn
from kit.fabric.posterior import Posterior, Reading, expected, learned
from kit.fabric.schedule import weight_g
from kit.fabric.setup import CAST_ON_ROWS, Setup
from kit.fabric.tolerance import USUAL, day_limit, standard, together
from kit.needles.knitted import Knitted
from kit.needles.log import LOG, Log, Note
from kit.yarn.measures import GRAMS_PER_OUNCE, weighed

# Ours: a weighing so far off what was to be left is asked whether it has another unit,
# where it would then be right within this share. An ounce is 28 g: neither is near.
FAR_BELOW, FAR_ABOVE = 10.0, 20.0
FITS = 0.3
FAR = 3.0  # standard errors below the whole from which a part is thought of (ours)
NEAR = 2.0  # standard errors within which it is that part,
NEARER = 4.0  # or so many times nearer to it than to the whole: wound by eye (ours)


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
    log: Log, knitted: Knitted, yarns: Sequence[Yarn], setup: Setup
) -> Iterator[Weighing]:
    """The log's weighings of balls whose length is known, in its order."""
    by_name = {yarn.name: yarn for yarn in yarns if yarn.metres}
    for notes in together_at(log):
        if (yarn := by_name.get(notes[-1].yarn)) is not None:
            yield Weighing(tuple(notes), yarn, reading_of(notes, yarn, knitted, setup))


def together_at(log: Log) -> Iterator[list[Note]]:
    """Weighings of one yarn at one row on one day belong together."""
    groups: dict[tuple, list[Note]] = {}
    for note in log.notes:
        if note.what == "weighed":
            groups.setdefault((note.yarn, note.row, note.date), []).append(note)
    yield from groups.values()


def reading_of(
    notes: Sequence[Note], yarn: Yarn, knitted: Knitted, setup: Setup
) -> Reading:
    """Lines that belong together as one reading: their mean."""
    note = notes[-1]
    grams = sum(one.grams or 0.0 for one in notes) / len(notes)
    used_m = given_m(note.yarn, min(note.row, knitted.row), knitted, setup)
    scale = standard(USUAL.scale_g) / len(notes) ** 0.5
    error = together((scale, weight_g(yarn, 1000 * row_error_m(used_m, setup))))
    day = str(note.date) if note.date else f"row {note.row}"
    return Reading(note.yarn, used_m, grams, error, day)


def given_m(name: str, row: int, knitted: Knitted, setup: Setup) -> float:
    """Metres a ball has given up to a row by the plan's yarn in a stitch, the cast-on
    too where it was cast on with."""
    mm = knitted.used_mm(name, setup.lengths, row * setup.stitches)
    if row and knitted.stripes:
        first = knitted.stripes[0].strands
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


def cell_of(note: Note) -> str:
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
        f"{cell_of(note)}: {number} is read as {read}, where about "
        f"{weighed(left_g, units)} was to be left: not used. Was it {meant}? Then type "
        f"{number} {short}."
    )


# --- those that do not fit ------------------------------------------------------------


def without_odd(
    log: Log,
    knitted: Knitted,
    yarns: Sequence[Yarn],
    setup: Setup,
    first: Posterior,
    units: str = "metric",
) -> tuple[Log, list[str]]:
    """The log without weighings that do not fit, and what is told of them. `first`:
    what is believed of these yarns before any reading.

    What may have been meant in another unit is left to be asked about.
    """
    found = [
        one
        for one in weighings_of(log, knitted, yarns, setup)
        if not is_other_unit(one, first, units)
    ]
    said = {}
    alone = parts_alone(found, knitted, setup, first)
    for k, (part, whole_g) in alone.items():
        said[k] = _alone_words(found[k], part, whole_g, units)
    for k, one, two in heavier(found, alone, first):
        said[k] = _heavier_words(found[k], one, two, units)
    odd = {note.number for k in said for note in found[k].notes}
    rest = tuple(note for note in log.notes if note.number not in odd)
    return replace(log, notes=rest) if odd else log, [said[k] for k in sorted(said)]


def is_other_unit(one: Weighing, first: Posterior, units: str) -> bool:
    """Whether the number may have been meant in grams or ounces, the other one."""
    whole_g, _ = expected(first, one.reading)
    return bool(other_unit(one.note, one.grams, one.yarn, whole_g, units))


# --- one part alone -------------------------------------------------------------------


def parts_alone(
    found: Sequence[Weighing], knitted: Knitted, setup: Setup, first: Posterior
) -> dict[int, tuple[str, float]]:
    """Weighings, by place, that fit one part of their ball and not the whole: which
    part, and the grams expected of the whole.

    What is far off at first sight is seen again by what the other weighings tell.
    """
    lumps = [_lumps(one, knitted, setup) for one in found]

    def fits(k: int, posterior: Posterior) -> str:
        return _which_part(found[k], *lumps[k], posterior)

    anew = {
        one.yarn.name
        for k, one in enumerate(found)
        if _is_anew(one) and not fits(k, first)
    }
    seen = [
        k for k, one in enumerate(found) if fits(k, first) and one.yarn.name not in anew
    ]
    if not seen:
        return {}
    others = [one.reading for k, one in enumerate(found) if k not in seen]
    posterior = learned(first, others)
    parts = {k: fits(k, posterior) for k in seen}
    whole = {k: expected(posterior, found[k].reading)[0] for k in seen}
    return {k: (part, whole[k]) for k, part in parts.items() if part}


def _is_anew(one: Weighing) -> bool:
    """Whether a ball not begun yet is another than the stash has it."""
    had_g = one.yarn.grams or 0.0
    return not one.used_m and abs(one.grams - had_g) > slack_g(one.yarn, had_g)


def _which_part(
    one: Weighing, waiting_g: Sequence[float], held: bool, posterior: Posterior
) -> str:
    """The part that a weighing fits though it does not fit the ball; "" for none."""
    if len(waiting_g) + held < 2:
        return ""
    whole_g, error = expected(posterior, one.reading)
    if one.grams > whole_g - FAR * error:
        return ""
    waits = "the part that waits" if held else "one part"
    scale = 2**0.5 * standard(USUAL.scale_g)  # when it was wound, and now
    parts = [(abs(one.grams - g), scale, waits) for g in waiting_g]
    if held:
        off_g = abs(one.grams - (whole_g - sum(waiting_g)))
        parts.append((off_g, error, "the part on the needle"))
    off_g, error, part = min(parts)
    within_g = max(NEAR * error, (whole_g - one.grams) / NEARER)
    return part if off_g <= within_g else ""


def _lumps(
    one: Weighing, knitted: Knitted, setup: Setup
) -> tuple[tuple[float, ...], bool]:
    """Of a ball in parts the grams of those that waited, and whether one was held."""
    at = one.note.row * setup.stitches
    waiting_g, held = [], False
    for strand, end in knitted.of_yarn(one.yarn.name):
        part = strand.part
        if part.n_parts == 1:
            continue
        if strand.begun is None or strand.begun >= at:
            waiting_g.append(weight_g(part.yarn, part.mm))
        elif end is None or end > at:
            held = True
    return tuple(waiting_g), held


def _alone_words(one: Weighing, part: str, whole_g: float, units: str) -> str:
    return (
        f"{cell_of(one.note)}: {weighed(one.grams, units)} reads as if only {part} lay "
        f"on the scale; all that is left should weigh about {weighed(whole_g, units)}. "
        "Not used. Weigh all parts of the ball together."
    )


# --- heavier than before --------------------------------------------------------------


def heavier(
    found: Sequence[Weighing], odd: Sequence[int] | dict, first: Posterior
) -> Iterator[tuple[int, Weighing, Weighing]]:
    """Where a ball weighs more than before: the place of the weighing that fits what
    the others tell less well, the later one if both fit alike; then both of them."""
    last: dict[str, int] = {}
    for k, one in enumerate(found):
        if k in odd:
            continue
        before = last.get(one.yarn.name)
        if before is None or one.grams <= _most_g(found[before]):
            last[one.yarn.name] = k
            continue
        others = [w.reading for w in found if w.yarn.name != one.yarn.name]
        posterior = learned(first, others)
        wrong = max((before, k), key=lambda j: (_off(found[j], posterior), -j))
        if wrong == before:
            last[one.yarn.name] = k
        yield wrong, found[before], one


def _most_g(one: Weighing) -> float:
    """The most that a ball may weigh later."""
    return one.grams + slack_g(one.yarn, one.grams)


def _off(one: Weighing, posterior: Posterior) -> float:
    whole_g, error = expected(posterior, one.reading)
    return abs(one.grams - whole_g) / error


def _heavier_words(wrong: Weighing, one: Weighing, two: Weighing, units: str) -> str:
    more = f"{weighed(two.grams, units)} {_when(two.note)}"
    less = f"{weighed(one.grams, units)} {_when(one.note)}"
    return (
        f"{cell_of(two.note)}: {more} is more than {less}, though a ball does not gain "
        f"by being knitted. The one {_when(wrong.note)} fits the plan and the other "
        "balls less well and is not used. Weigh it once more."
    )


def _when(note: Note) -> str:
    return f"at row {note.row}" + (f" on {note.date}" if note.date else "")
