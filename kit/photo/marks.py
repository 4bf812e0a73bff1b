"""What is marked on a photo put to use: its files, its correction, its yarns in words
and as rows of a stash.

For the desk and the command line alike.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil
from pathlib import Path
from typing import Any

from kit.blanket import Stash
from kit.blanket.stash_file import (
    cells_of,
    open_stash,
    save_table,
    with_cells,
    with_row,
)
from kit.colour import Mix, mean_lab, words_for
from kit.colour.mixes import hexes
from kit.errors import Fault, KitError, shorten
from kit.files import Table, read_bytes
from kit.files.folders import STASH
from kit.photo.correction import NO_CORRECTION, Correction, from_card, from_target
from kit.photo.image import Photo, read_photo
from kit.photo.regions import Marks, read_regions
from kit.photo.sampling import Sample, sample
from kit.yarn import counted

PHOTOS = "photos"
ENDINGS = (".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif")  # the last two are told
_NOTE = re.compile(r"(?:; )?colours from a photo[^;]*")
SAID = {"none": "not corrected", "target": "24-patch target"}


# --- files of a photo -----------------------------------------------------------------


def photos_in(folder: str | Path) -> list[Path]:
    """The photos of a blanket's folder, by name."""
    place = Path(folder) / PHOTOS
    found = place.iterdir() if place.is_dir() else ()
    return sorted(path for path in found if path.suffix.lower() in ENDINGS)


def regions_path(photo: Path) -> Path:
    """Where the regions of a photo are kept: NAME-regions.csv beside it.

    Two photos that differ in their ending alone keep it in theirs.
    """
    beside = photo.parent.iterdir() if photo.parent.is_dir() else ()
    same = {
        path.name
        for path in beside
        if path.stem == photo.stem and path.suffix.lower() in ENDINGS
    }
    return photo.with_name(
        f"{photo.name if same - {photo.name} else photo.stem}-regions.csv"
    )


# --- the correction -------------------------------------------------------------------


def kinds_marked(marks: Marks) -> tuple[str, ...]:
    """The corrections that the marks allow, the best one first."""
    there = {"target": marks.target, "grey card": marks.cards}
    there["white paper"] = marks.papers
    return (*(kind for kind, mark in there.items() if mark), "none")


def correction_by(photo: Photo, marks: Marks, kind: str) -> Correction:
    """The correction of this kind. Raises KitError where its mark is missing or off."""
    if kind == "none":
        return NO_CORRECTION
    if kind not in kinds_marked(marks):
        says = f"No {kind} is marked on the photo"
        advice = "Mark it on the photo first, or take another correction."
        raise KitError(Fault("no_mark", says=says, advice=advice))
    if kind == "target":
        return from_target(photo, marks.target, cards=marks.cards)
    return from_card(photo, marks_used(marks, kind), kind=kind)


def marks_used(marks: Marks, kind: str) -> tuple[Any, ...]:
    """What a correction of this kind is made from."""
    if kind == "target":
        return (*marks.target, *marks.cards)
    return {"grey card": marks.cards, "white paper": marks.papers}.get(kind, ())


def correction_lines(correction: Correction) -> list[str]:
    """How good the colours can be with this correction, and what it says itself."""
    by = SAID.get(correction.kind, correction.kind)
    first = (
        f"{by[0].upper()}{by[1:]}. Typical error {correction.typical:.0f} ΔE00 and 9 "
        f"colours of 10 within {correction.worst90:.0f} on an even patch; the ± behind "
        "a ball's colour adds the unevenness of the ball."
    )
    return [first, *correction.sentences]


def yarns_on(
    photo: Photo, marks: Marks, kind: str | None = None
) -> tuple[Correction, tuple[tuple[str, Sample], ...]]:
    """The correction (the best that is marked, or of this kind) and, by name, the
    colours of every yarn marked. Raises KitError with the faults of all regions."""
    correction = correction_by(photo, marks, kind or kinds_marked(marks)[0])
    samples: list[tuple[str, Sample]] = []
    faults: list[Fault] = []
    for no, region in enumerate(marks.yarns, start=1):
        try:
            samples.append((region.name, sample(photo, region, correction)))
        except KitError as error:
            column = "" if region.name else f"region {no}"
            faults += (fault.at(column=column) for fault in error.faults)
    if faults:
        raise KitError(faults)
    return correction, tuple(samples)


@dataclass(frozen=True, slots=True)
class MarkedPhoto:
    """A photo read with what is marked on it: the yarns' colours, by name."""

    photo: Photo
    correction: Correction
    samples: tuple[tuple[str, Sample], ...]

    def __repr__(self) -> str:
        return f"MarkedPhoto({len(self.samples)} yarns, {self.correction.kind})"

    @property
    def sentences(self) -> tuple[str, ...]:
        """The photo, its correction, and each yarn with what to mind of it."""
        lines = [*self.photo.sentences, *correction_lines(self.correction)]
        for name, sampled in self.samples:
            lines += [
                sample_line(name, sampled),
                *(f"  {s}" for s in sampled.sentences),
            ]
        return tuple(lines)


def read_marked(
    photo: str | Path, regions: str | Path | None = None, kind: str | None = None
) -> MarkedPhoto:
    """Read a photo and the colours of the yarns marked on it.

    `regions` names the file of its marks, else the one beside it; `kind` the
    correction, else the best that is marked. Raises KitError.
    """
    shot = Path(photo)
    file = Path(regions) if regions else regions_path(shot)
    if shot.is_file() and not (regions or file.is_file()):
        says = f"No balls are marked on {shot.name} yet: no {file.name} lies beside it"
        advice = "Mark them in the notebook 1_stash, or name a file with --regions."
        raise KitError(Fault("no_regions", says=says, advice=advice))
    read = read_photo(read_bytes(shot), name=shot.name)
    marks = read_regions(read_bytes(file), file=file.name)
    return MarkedPhoto(read, *yarns_on(read, marks, kind))


# --- what is said of a yarn -----------------------------------------------------------


def percents(shares: Sequence[float]) -> tuple[int, ...]:
    """Shares as whole percents, none of them 0, that add to 100.

    >>> percents([0.666, 0.331, 0.003])
    (66, 33, 1)
    """
    floors = [max(1, int(100 * share)) for share in shares]
    rests = [100 * share - low for share, low in zip(shares, floors, strict=True)]
    while sum(floors) != 100:
        step = 1 if sum(floors) < 100 else -1
        free = [k for k, low in enumerate(floors) if step > 0 or low > 1]
        at = max(free, key=lambda k: step * rests[k])
        floors[at] += step
        rests[at] -= step
    return tuple(floors)


def colours_text(mix: Mix) -> str:
    """A mix as a `colours` cell holds it, the largest share first.

    >>> from kit.colour import read_mix
    >>> colours_text(read_mix("#8fa3ad 30%, #c8cdd0 70%")[0])
    '#c8cdd0 70%, #8fa3ad 30%'
    """
    if len(mix.labs) == 1:
        return hexes(mix)[0]
    parts = zip(hexes(mix), percents(mix.shares), strict=True)
    ordered = sorted(parts, key=lambda part: -part[1])
    return ", ".join(f"{colour} {share}%" for colour, share in ordered)


def largest_spread(sample: Sample) -> float:
    """How far the worst of a yarn's colours may be off, dE00 (90 % of cases)."""
    return max(sample.spreads)


def sample_words(sample: Sample) -> str:
    """One line about a yarn's colours: style, value, words, limits, what to mind."""
    lab = mean_lab(sample.mix)
    said = f"{sample.style}, L* {lab[0]:.0f}, {words_for(lab)}"
    said = f"{said}, ± {largest_spread(sample):.1f}"
    return " ".join([f"{said}.", *sample.sentences]) if sample.sentences else said


def sample_line(name: str, sample: Sample) -> str:
    """A yarn on one line: every colour with its share and limits, then its style."""
    shares = percents(sample.mix.shares)
    parts = sorted(
        zip(hexes(sample.mix), shares, sample.spreads, strict=True),
        key=lambda part: -part[1],
    )
    colours = ", ".join(f"{h} {share} % ± {off:.1f}" for h, share, off in parts)
    return f"{name or 'no name'}: {colours}; {sample.style}"


# --- rows of a stash ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PhotoRows:
    """A stash's table with yarns from a photo: names `added` below, `replaced` where
    a row of that name got the new colours, `kept` where it stays as it was."""

    table: Table
    added: tuple[str, ...]
    replaced: tuple[str, ...]
    kept: tuple[str, ...]

    def __repr__(self) -> str:
        counts = map(len, (self.added, self.replaced, self.kept))
        return "PhotoRows({} added, {} replaced, {} kept)".format(*counts)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What was put into the stash."""
        said = []
        if n := len(self.added):
            are, its, it = ("is", "Its", "it") if n == 1 else ("are", "Their", "them")
            added = f"{counted(n, 'yarn')} {are} added to {STASH}."
            said.append(f"{added} {its} grams are blank: weigh {it}.")
        if n := len(self.replaced):
            yarns = f"{counted(n, 'yarn')} {'has' if n == 1 else 'have'}"
            said.append(f"{yarns} the colours of the photo; all else is as it was.")
        if self.kept:
            listed = ", ".join(f'"{shorten(name, 30)}"' for name in self.kept)
            said.append(f"In {STASH} already, and left as they are: {listed}.")
        none = "No yarn on the photo has a new name: nothing was added."
        return tuple(said) or (none,)


def rows_from(
    stash: Stash,
    samples: Iterable[tuple[str, Sample]],
    correction: Correction,
    *,
    replacing: bool = False,
) -> PhotoRows:
    """The stash's table with these yarns, by name and sample; grams stay blank.

    A name that is there already keeps its row as it is, or, where `replacing`, gets the
    new colours and the note: label, amount and everything else stay. Raises KitError
    where two samples have one name.
    """
    named = [(tidy(name), sample) for name, sample in samples]
    _check_apart([name for name, _ in named])
    there = places_by_name(stash)
    numbered = "no" in stash.table.columns
    added: list[str] = []
    replaced: list[str] = []
    kept: list[str] = []
    for name, one in named:
        at = there.get(name.casefold())
        if at is None:
            no = 1 + max((yarn.no for yarn in stash.yarns), default=0) + len(added)
            cells = _cells(name, one, correction)
            cells |= {"no": str(no)} if numbered else {}
            stash = replace(stash, table=with_row(stash, cells))
            added.append(name)
        elif replacing:
            new = _new_colours(cells_of(stash.table, at), one, correction)
            stash = replace(stash, table=with_cells(stash.table, at, new))
            replaced.append(name)
        else:
            kept.append(name)
    return PhotoRows(stash.table, tuple(added), tuple(replaced), tuple(kept))


def add_to_stash(
    folder: str | Path,
    samples: Iterable[tuple[str, Sample]],
    correction: Correction,
    *,
    replacing: bool = False,
) -> PhotoRows:
    """Put named yarns into a blanket's stash.csv. Raises KitError, all as it was."""
    file = open_stash(folder)
    named = [(name, one) for name, one in samples if tidy(name)]
    rows = rows_from(file.stash, named, correction, replacing=replacing)
    save_table(file, rows.table)
    return rows


def photo_note(sample: Sample, correction: Correction) -> str:
    """Where a row's colours came from, and how good they are."""
    by = SAID.get(correction.kind, correction.kind)
    return f"colours from a photo, {by}, about ±{ceil(largest_spread(sample))} ΔE00"


def places_by_name(stash: Stash) -> dict[str, int]:
    """Where each yarn stands in the file, by its name in small letters."""
    return {tidy(yarn.name).casefold(): at for at, yarn in enumerate(stash.yarns)}


def tidy(name: str) -> str:
    """A name with one blank between its words and none around them."""
    return " ".join(name.split())


def _check_apart(names: Sequence[str]) -> None:
    folded = [name.casefold() for name in names]
    for name in names:
        n = folded.count(name.casefold())
        if n > 1:
            says = f'{n} regions are called "{shorten(name)}"'
            advice = "Give each its own name, or remove one: one region makes one row."
            raise KitError(Fault("equal_names", says=says, advice=advice))


def _cells(name: str, sample: Sample, correction: Correction) -> dict[str, str]:
    return {
        "name": name,
        "colours": colours_text(sample.mix),
        "style": sample.style,
        "notes": photo_note(sample, correction),
    }


def _new_colours(
    cells: Mapping[str, str], sample: Sample, correction: Correction
) -> dict[str, str]:
    """New colours for a row; an older note of this kind gives way, others stay."""
    before = _NOTE.sub("", cells.get("notes", "")).removeprefix("; ")
    notes = "; ".join(filter(None, [before, photo_note(sample, correction)]))
    new = {"colours": colours_text(sample.mix), "notes": notes}
    return (
        new if cells.get("style") == "self-striping" else new | {"style": sample.style}
    )
