"""A photograph with regions on it, drawn, moved and named by pointer or by keys."""

from __future__ import annotations

import re
from collections.abc import Mapping
from math import isfinite
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from kit.files import read_bytes

HERE = Path(__file__).parent
# A widget's script is one file on the page: these are joined, each using those before.
SCRIPTS = ("regions.js", "sheet.js", "names.js", "picker.js")
SHAPES = ("circle", "rectangle")
ROLES = ("", "grey card", "white paper")  # blank: a yarn
MOST_REGIONS = 400
MOST_LETTERS = 200  # of a name; the page offers no more room either
_ID = re.compile(r"r[0-9]{1,9}")


class PhotoPicker(anywidget.AnyWidget):
    """Regions of one photo: places from the page to Python, colours back.

    picture     a cleaned PNG, never the photo's own bytes; title: what it is called
    size        width and height of the upright photo, px: what all places count in
    regions     {"id", "name", "role", "shape", "x", "y", "width", "height"}, x and y
                of the centre; role blank for a yarn
    corners     none, or up to four [x, y] round a target's patches, clockwise
    suggested   discs that could be balls, as regions without id, name and role
    found       by id {"runs": [[hex, share]], "words": …} or {"wrong": a sentence}
    names       offered while a name is typed; chosen: the id at hand, or blank
    """

    _esm = "\n".join(read_bytes(HERE / name).decode() for name in SCRIPTS)
    _css = HERE / "picker.css"

    picture = traitlets.Bytes().tag(sync=True)
    title = traitlets.Unicode().tag(sync=True)
    size = traitlets.List(traitlets.Int(), [4, 3]).tag(sync=True)
    regions: traitlets.List = traitlets.List(traitlets.Dict()).tag(sync=True)
    corners: traitlets.List = traitlets.List().tag(sync=True)
    suggested: traitlets.List = traitlets.List(traitlets.Dict()).tag(sync=True)
    found: traitlets.Dict = traitlets.Dict().tag(sync=True)
    names = traitlets.List(traitlets.Unicode()).tag(sync=True)
    chosen = traitlets.Unicode().tag(sync=True)

    @traitlets.validate("regions")
    def _sound_regions(self, proposal: traitlets.Bunch) -> list[dict[str, Any]]:
        """Those that are regions, each id once: what a page sends is not trusted."""
        sound = filter(None, map(_sound, proposal["value"]))
        by_id = {region["id"]: region for region in sound}
        return list(by_id.values())[:MOST_REGIONS]

    @traitlets.validate("corners")
    def _sound_corners(self, proposal: traitlets.Bunch) -> list[list[float]]:
        points = [point for point in proposal["value"] if _is_point(point)]
        return [[float(x), float(y)] for x, y in points[:4]]


def _sound(region: Mapping[str, Any]) -> dict[str, Any] | None:
    """A region as it should be, or None."""
    numbers = [region.get(key) for key in ("x", "y", "width", "height")]
    right_id = _ID.fullmatch(str(region.get("id", "")))
    in_words = region.get("shape") in SHAPES and region.get("role") in ROLES
    name = region.get("name", "")
    if not (right_id and in_words and isinstance(name, str) and _are_finite(numbers)):
        return None
    x, y, width, height = map(float, numbers)  # type: ignore[arg-type]
    if min(width, height) <= 0:
        return None
    return {
        "id": region["id"],
        "name": name[:MOST_LETTERS],
        "role": region["role"],
        "shape": region["shape"],
        "x": x,
        "y": y,
        "width": width,
        "height": height,
    }


def _is_point(point: Any) -> bool:
    return isinstance(point, list | tuple) and len(point) == 2 and _are_finite(point)


def _are_finite(numbers: Any) -> bool:
    return all(
        isinstance(number, int | float) and isfinite(number) for number in numbers
    )
