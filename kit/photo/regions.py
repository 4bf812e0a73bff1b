"""Regions of a photograph: where a ball or a card lies, the pixels inside, the file."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from kit.errors import Fault, KitError, shorten, unknown
from kit.files import Table, read_quantity, read_rows
from kit.files.cells import clean_text, read_choice
from kit.files.quantities import Quantity
from kit.files.table import Row, by_column, csv_text
from kit.photo.balls import Circle, circles
from kit.photo.image import Photo, srgb255_to_linear
from kit.yarn import counted

SHAPES = ("circle", "rectangle")
ROLES = ("yarn", "grey card", "white paper", "target")
COLUMNS = ("name", "role", "shape", "x", "y", "width", "height")
LEAST_PIXELS = 40  # fewer say nothing about a colour (ours)
CLIPPED = 254  # sRGB 0-255: from here on a channel may have been brighter


@dataclass(frozen=True, slots=True)
class Region:
    """A circle or a rectangle in pixels of the upright full-size photo.

    `x`, `y` are its centre. A circle's width and height are its diameter. Raises
    KitError where a number or the shape makes no sense.
    """

    name: str
    shape: str
    x: float
    y: float
    width: float
    height: float

    def __post_init__(self) -> None:
        if self.shape not in SHAPES:
            raise KitError(unknown("shape", str(self.shape), SHAPES))
        numbers = (self.x, self.y, self.width, self.height)
        if not all(map(math.isfinite, numbers)) or min(numbers[2:]) <= 0:
            found = ", ".join(f"{number:g}" for number in numbers)
            expected = "x, y, and a width and height above 0"
            raise KitError(Fault("not_a_region", found, expected))

    @property
    def called(self) -> str:
        """What a sentence about it begins with."""
        return f'The region "{shorten(self.name)}"' if self.name else "The region"


@dataclass(frozen=True, slots=True)
class Marks:
    """What is marked on a photo: balls, cards of known reflectance, a target's corners.

    target   four (x, y), clockwise from the corner beside the first patch; () for none
    """

    yarns: tuple[Region, ...] = ()
    cards: tuple[Region, ...] = ()
    papers: tuple[Region, ...] = ()
    target: tuple[tuple[float, float], ...] = ()


# --- pixels ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class Cutting:
    """The piece of a photo round a region.

    linear    linear light 0-1 (h, w, 3)
    inside    which of its pixels lie in the region (h, w)
    clipped   which have a channel that is over-exposed (h, w)
    across    how far each pixel lies from the region's centre, in halves of its width
              and height (h, w, 2): (x, y)
    """

    linear: np.ndarray
    inside: np.ndarray
    clipped: np.ndarray
    across: np.ndarray


def cutting(photo: Photo, region: Region) -> Cutting:
    """The piece of the photo that holds the region. Raises KitError.

    A region that leaves the photo is used with what lies inside, at least half of it.
    """
    by, (height, width) = photo.reduced, photo.pixels.shape[:2]
    left, right = _span(region.x, region.width, by, width)
    top, bottom = _span(region.y, region.height, by, height)
    x = ((np.arange(left, right) + 0.5) * by - region.x) / (region.width / 2)
    y = ((np.arange(top, bottom) + 0.5) * by - region.y) / (region.height / 2)
    if region.shape == "circle":
        inside = y[:, None] ** 2 + x**2 <= 1
        whole = math.pi / 4 * region.width * region.height / by**2
    else:
        inside = (np.abs(y)[:, None] <= 1) & (np.abs(x) <= 1)
        whole = region.width * region.height / by**2
    inside = np.array(inside, dtype=bool)
    _refuse_unusable(int(inside.sum()), whole, photo, region)
    across = np.stack(np.meshgrid(x, y), axis=-1)
    srgb255 = photo.pixels[top:bottom, left:right]
    clipped: np.ndarray = np.any(srgb255 >= CLIPPED, axis=-1)
    return Cutting(srgb255_to_linear(srgb255), inside, clipped, across)


def _span(centre: float, size: float, by: int, most: int) -> tuple[int, int]:
    first = math.floor(np.clip((centre - size / 2) / by, 0, most))
    return first, max(first, math.ceil(np.clip((centre + size / 2) / by, 0, most)))


def _refuse_unusable(n_inside: int, whole: float, photo: Photo, region: Region) -> None:
    width, height = photo.full_size
    if n_inside < whole / 2 and (n_inside == 0 or whole >= LEAST_PIXELS):
        says = (
            f"{region.called} lies {'' if n_inside == 0 else 'mostly '}outside the "
            f"photo ({width} × {height} pixels)"
        )
        raise KitError(Fault("outside", says=says, advice="Move it onto the ball."))
    if n_inside < LEAST_PIXELS:
        held = counted(n_inside, "pixel")
        says = f"{region.called} holds {held}, expected {LEAST_PIXELS} or more"
        advice = "Draw it larger, or take the photo from nearer."
        raise KitError(Fault("too_small", says=says, advice=advice))


def pixels_in(
    photo: Photo, region: Region, *, most: int = 20_000
) -> tuple[np.ndarray, float]:
    """The pixels of a region: linear light 0-1 (n, 3), and the share over-exposed.

    Of a large region every so many-th pixel is taken, so that n is `most` or a little
    less. Their plain mean is the region's mean in linear light. Raises KitError.
    """
    piece = cutting(photo, region)
    linear, clipped = piece.linear[piece.inside], piece.clipped[piece.inside]
    return linear[:: math.ceil(len(linear) / most)], float(clipped.mean())


# --- the file -------------------------------------------------------------------------

# The upper end is ours: no picture that is read has so many pixels a side.
_PLACE = Quantity({"": 1.0, "px": 1.0}, "1200", 0, 100_000, "px")
_SIZE = Quantity({"": 1.0, "px": 1.0}, "240", 1, 100_000, "px")


def read_regions(data: bytes, *, file: str = "") -> Marks:
    """A regions file as Marks: CSV with name, role, shape, x, y, width, height.

    `role` is yarn (or blank), grey card, white paper or target; a target is four rows
    of shape "point", clockwise from the corner beside the first patch. x and y are a
    region's centre; a circle may leave its height blank. Raises KitError.
    """
    table, faults = read_rows(
        data, known=COLUMNS, required=("shape", "x", "y"), file=file
    )
    marks, found = Marks(), list(faults)
    for row in table.rows:
        try:
            marks = _with_row(marks, by_column(table.columns, row.cells))
        except KitError as error:
            name = by_column(table.columns, row.cells).get("name", "")
            place = {"file": file, "row": row.number, "name": name}
            found += [fault.at(**place) for fault in error.faults]
    if not found and len(marks.target) not in (0, 4):
        says = f"the target has {len(marks.target)} corners, expected 4"
        found.append(Fault("corners", says=says, file=file))
    if found:
        raise KitError(found)
    return marks


def _with_row(marks: Marks, cells: dict[str, str]) -> Marks:
    role = read_choice(cells.get("role", ""), "role", ROLES) or "yarn"
    shapes = ("point",) if role == "target" else SHAPES
    shape = _in_column("shape", read_choice, cells.get("shape", ""), "shape", shapes)
    x, y = (_number(cells, column, _PLACE) for column in ("x", "y"))
    if not shape:
        expected = " or ".join(shapes)
        raise KitError(Fault("missing", "nothing", expected, column="shape"))
    if role == "target":
        return replace(marks, target=(*marks.target, (x, y)))
    width = _number(cells, "width", _SIZE)
    round_one = shape == "circle" and not cells.get("height", "").strip()
    height = width if round_one else _number(cells, "height", _SIZE)
    name = clean_text(cells.get("name", ""))[0]
    region = Region(name, shape, x, y, width, height)
    field = {"yarn": "yarns", "grey card": "cards", "white paper": "papers"}[role]
    return replace(marks, **{field: (*getattr(marks, field), region)})


def _number(cells: dict[str, str], column: str, quantity: Quantity) -> float:
    value = _in_column(column, read_quantity, cells.get(column, ""), quantity)
    if value is None:
        expected = f"a number such as {quantity.example}"
        raise KitError(Fault("missing", "nothing", expected, column=column))
    return value


def _in_column(column, read, *arguments):
    """What `read` reads; its faults with their column."""
    try:
        return read(*arguments)
    except KitError as error:
        raise KitError([fault.at(column=column) for fault in error.faults]) from None


def regions_csv(marks: Marks) -> str:
    """Marks as the text of a regions file; `read_regions` reads it back.

    >>> print(regions_csv(Marks((Region("Sage", "circle", 120, 80, 60, 60),))), end="")
    name,role,shape,x,y,width,height
    Sage,yarn,circle,120,80,60,60
    """
    return csv_text(Table(COLUMNS, tuple(Row(cells) for cells in _cells(marks))))


def _cells(marks: Marks) -> Iterator[tuple[str, ...]]:
    by_role = ("yarn", marks.yarns), ("grey card", marks.cards)
    for role, regions in (*by_role, ("white paper", marks.papers)):
        for region in regions:
            numbers = (region.x, region.y, region.width, region.height)
            plain = (f"{round(number, 2):.12g}" for number in numbers)
            yield (region.name, role, region.shape, *plain)
    for x, y in marks.target:
        yield ("", "target", "point", f"{round(x, 2):.12g}", f"{round(y, 2):.12g}")


# --- suggestions ----------------------------------------------------------------------


INNER = 0.84  # of the largest circle in a ball: its rim and fluff stay out (ours)


def suggest_regions(photo: Photo) -> tuple[Region, ...]:
    """Circles inside balls that lie apart on a plain ground, in reading order.

    Cards and charts have corners and are passed over. Names are blank.
    """
    found = _in_reading_order(circles(photo))
    return tuple(
        Region("", "circle", round(x, 1), round(y, 1), round(d, 1), round(d, 1))
        for x, y, d in ((x, y, INNER * d) for x, y, d in found)
    )


def _in_reading_order(found: list[Circle]) -> list[Circle]:
    """Line by line from the top, each from left to right.

    A circle is on the line above it where its centre lies within half a diameter of
    the line's.
    """
    lines: list[list[Circle]] = []
    for circle in sorted(found, key=lambda circle: circle[1]):
        line = lines[-1] if lines else []
        middle = sum(one[1] for one in line) / len(line) if line else -math.inf
        if circle[1] - middle < circle[2] / 2:
            line.append(circle)
        else:
            lines.append([circle])
    return [circle for line in lines for circle in sorted(line)]
