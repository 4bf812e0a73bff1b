"""The fabric as rows to knit: which strands, what to join, what ends where.

Also how a ball is parted that comes round more than once, and the winding list.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from kit.blanket import Choices, Yarn
from kit.fabric.carrying import TAIL_MM
from kit.fabric.fabric import Fabric, Use
from kit.fabric.setup import BIND_OFF_ROWS, CAST_ON_ROWS, SECOND_HALF_RESERVE, set_up
from kit.fabric.stripes import Stripe, yarn_tex
from kit.yarn import Section
from kit.yarn.tex import grams

WORTH_KEEPING_MM = 2000  # less than this on the ball: it runs out (our rule of thumb)
PATTERN_ROWS = 12  # sections that come round sooner are one pattern (the same)


@dataclass(frozen=True, slots=True)
class BallPart:
    """What is used of a ball in one go, from stitch `first` to `last`.

    `number` of `n_parts`. mm = kept + used + left, and the parts of a ball make it up.
    """

    yarn: Yarn
    number: int
    n_parts: int
    first: int
    last: int
    mm: int
    kept_mm: int
    used_mm: int

    @property
    def left_mm(self) -> int:
        return self.mm - self.kept_mm - self.used_mm


@dataclass(frozen=True, slots=True)
class Change:
    """A strand that comes or goes, in which row and about at which stitch.

    `kind`: "cast on", "on the needle", "join" or "carry" where it comes; "runs out",
    "break off", "lay down" (carried, to be taken up again) or "bind off" where it goes.
    """

    kind: str
    part: BallPart
    row: int
    stitch: int


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the schedule: a stripe, or the piece of it that lies in one section.

    `ridges`: first and last, counted from where this garter begins; None elsewhere.
    `joins` come at its first stitch, `ends` go after its last. `total_m` and `total_g`
    are used of all strands so far.
    """

    stripe: Stripe
    section: str
    ridges: tuple[int, int] | None
    joins: tuple[Change, ...]
    ends: tuple[Change, ...]
    total_m: float
    total_g: float


def weight_g(yarn: Yarn, length_mm: float) -> float:
    """What a length of this very ball weighs: as weighed, else by its label."""
    if yarn.grams and yarn.metres:
        return length_mm / 1000 * yarn.grams / yarn.metres
    return grams(length_mm / 1000, yarn_tex(yarn))


def rows_to_knit(fabric: Fabric, choices: Choices) -> tuple[Entry, ...]:
    """The schedule, line by line from the cast-on edge; cut where the section changes.

    What every line takes adds up to what the fabric uses, to the millimetre.
    """
    if not fabric.stripes:
        return ()
    lengths = set_up(choices.making).lengths
    turns = _turns(choices.making.sections, fabric.rows)
    parts = ball_parts(fabric, choices)
    entries, total_mm, total_g = [], 0, 0.0
    for k, stripe in enumerate(fabric.stripes):
        for name, piece, first_ridge_row in _pieces(stripe, turns):
            mm = lengths.mm_between(piece.first, piece.last)
            piece = replace(piece, metres_each=mm / 1000)
            strands = piece.strands + piece.carried
            total_mm += mm * len(strands)
            total_g += sum(weight_g(yarn, mm) for yarn in strands)
            begins, ends = piece.first == stripe.first, piece.last == stripe.last
            entry = Entry(
                piece,
                name,
                _ridges(piece, first_ridge_row),
                tuple(_joins(fabric.stripes, k, parts)) if begins else (),
                tuple(_ends(fabric.stripes, k, parts)) if ends else (),
                total_mm / 1000,
                total_g,
            )
            entries.append(entry)
    return tuple(entries)


# --- sections -------------------------------------------------------------------------


def _turns(sections: Sequence[Section], rows: int) -> list[tuple[str, int, int]]:
    """Sections as they follow each other: name, first and last row counted from 0."""
    names = [section.name for section in sections]
    if not sections or sum(section.rows for section in sections) < PATTERN_ROWS:
        return [(" / ".join(dict.fromkeys(names)), 0, rows)]
    turns: list[tuple[str, int, int]] = []
    at = 0
    while at < rows:
        for section in sections:
            last = at + section.rows
            if turns and turns[-1][0] == section.name:
                turns[-1] = (section.name, turns[-1][1], last)
            else:
                turns.append((section.name, at, last))
            at = last
    return turns


def _pieces(
    stripe: Stripe, turns: Sequence[tuple[str, int, int]]
) -> Iterator[tuple[str, Stripe, int | None]]:
    """A stripe cut by section, each with the row (from 0) where its garter begins."""
    for name, first_row, last_row in turns:
        first = max(stripe.first, first_row * stripe.row)
        last = min(stripe.last, last_row * stripe.row)
        if first < last:
            garter = first_row if _is_garter(name) else None
            yield name, replace(stripe, first=first, last=last), garter


def _is_garter(name: str) -> bool:
    return all("garter" in one.casefold() for one in name.split(" / "))


def _ridges(piece: Stripe, begun: int | None) -> tuple[int, int] | None:
    """Two rows of garter make a ridge."""
    if begun is None:
        return None
    return (piece.first_row - 1 - begun) // 2 + 1, (piece.last_row - 1 - begun) // 2 + 1


# --- what comes and goes --------------------------------------------------------------


def _held(stripes: Sequence[Stripe], k: int) -> tuple[Yarn, ...]:
    if not 0 <= k < len(stripes):
        return ()
    return stripes[k].strands + stripes[k].carried


def _joins(
    stripes: Sequence[Stripe], k: int, parts: dict[str, tuple[BallPart, ...]]
) -> Iterator[Change]:
    stripe = stripes[k]
    for yarn in _held(stripes, k):
        if yarn in _held(stripes, k - 1):
            continue
        kind = "carry" if yarn in stripe.carried else "join"
        if k == 0 and kind == "join":
            kind = "on the needle" if stripe.first else "cast on"
        part = _part_at(parts[yarn.name], stripe.first)
        yield Change(kind, part, stripe.first_row, stripe.first_stitch)


def _ends(
    stripes: Sequence[Stripe], k: int, parts: dict[str, tuple[BallPart, ...]]
) -> Iterator[Change]:
    stripe, is_last = stripes[k], k == len(stripes) - 1
    for yarn in _held(stripes, k):
        if yarn in _held(stripes, k + 1):
            continue
        part = _part_at(parts[yarn.name], stripe.first)
        if is_last and yarn in stripe.strands:
            kind = "bind off"
        elif part.last > stripe.last:
            kind = "lay down"
        else:
            kind = "break off" if part.left_mm >= WORTH_KEEPING_MM else "runs out"
        yield Change(kind, part, stripe.last_row, stripe.last_stitch)


def _part_at(parts: Sequence[BallPart], stitch: int) -> BallPart:
    return next(part for part in parts if part.first <= stitch < part.last)


# --- balls that come round more than once ---------------------------------------------


def ball_parts(fabric: Fabric, choices: Choices) -> dict[str, tuple[BallPart, ...]]:
    """Every knitted yarn's parts by name: one where it is used in one go.

    A mirrored blanket keeps 6 % of a shared ball back on the second half; otherwise
    the parts are alike. A yarn carried along is not cut. Cast-on and bind-off yarn
    goes to the first and the last part.
    """
    mirrored = choices.laying.layout == "mirrored"
    reserve = SECOND_HALF_RESERVE if mirrored else 0.0
    spells = _spells(fabric.stripes)
    return {
        use.yarn.name: _parted(use, spells[use.yarn.name], fabric, reserve)
        for use in fabric.uses
        if use.yarn.name in spells
    }


def winding(fabric: Fabric, choices: Choices) -> tuple[tuple[BallPart, ...], ...]:
    """The balls to part before casting on: for each its later parts, to wind off."""
    parted = ball_parts(fabric, choices).values()
    return tuple(parts[1:] for parts in parted if len(parts) > 1)


Spell = tuple[int, int, int]  # first stitch, last stitch, mm used


def _spells(stripes: Sequence[Stripe]) -> dict[str, list[Spell]]:
    """Where each yarn is held without a break; a carried one from first to last."""
    spells: dict[str, list[Spell]] = {}
    carried = {yarn.name for stripe in stripes for yarn in stripe.carried}
    for stripe in stripes:
        mm = round(1000 * stripe.metres_each)
        for yarn in stripe.strands + stripe.carried:
            own = spells.setdefault(yarn.name, [])
            if own and (own[-1][1] == stripe.first or yarn.name in carried):
                first, _, before = own[-1]
                own[-1] = first, stripe.last, before + mm
            else:
                own.append((stripe.first, stripe.last, mm))
    return spells


def _parted(
    use: Use, spells: Sequence[Spell], fabric: Fabric, reserve: float
) -> tuple[BallPart, ...]:
    n = len(spells)
    kept = _kept(use, n, fabric)
    rest = use.initial_mm - use.kept_mm
    quota = int(rest * (1 - reserve) / n)
    parts = []
    for k, (first, last, used) in enumerate(spells):
        later = sum(mm for _, _, mm in spells[k + 1 :])
        mine = min(max(quota, used), rest - later) if k < n - 1 else rest
        rest -= mine
        part = BallPart(use.yarn, k + 1, n, first, last, mine + kept[k], kept[k], used)
        parts.append(part)
    return tuple(parts)


def _kept(use: Use, n: int, fabric: Fabric) -> list[int]:
    """What is kept back of each part: a tail, and the edges' yarn where they lie."""
    kept, rest = [], use.kept_mm
    for _ in range(n):
        kept.append(min(TAIL_MM, rest))
        rest -= kept[-1]
    begins = use.yarn in fabric.stripes[0].strands
    ends = use.yarn in fabric.stripes[-1].strands
    share = CAST_ON_ROWS / (CAST_ON_ROWS + BIND_OFF_ROWS) if ends else 1.0
    at_cast_on = int(rest * share) if begins else 0
    kept[0] += at_cast_on
    kept[-1] += rest - at_cast_on
    return kept
