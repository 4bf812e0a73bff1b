"""A sheet to draw on: text, lines, marks and swatches in px, y downwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from io import BytesIO
from typing import Any

import numpy as np

from kit.pictures.swatches import FAINT, INK, PAPER, SURROUND
from kit.pictures.text import families, width_px

WIDTH = 960.0  # px
MARGIN = 18.0  # px
KEY_LINE = 18.0  # px
PX_PER_INCH = 96
PT = 0.75  # points in a px
DOTS = 2  # of a swatch in a px
DPI = PX_PER_INCH * DOTS
MOST_DOTS = 32_000  # a taller picture is drawn coarser
PACKED = 3  # of 9: half the time of the usual 6, for files a few in a hundred larger
MIDDLE_ROOM = 38.0  # px: what the word takes


@dataclass(frozen=True, slots=True)
class Sheet:
    """A matplotlib figure with one axes whose units are px."""

    figure: Any
    axes: Any
    height: float


def blank(height: float) -> Sheet:
    """An empty sheet, 960 px wide. In a notebook its figure shows itself."""
    from matplotlib.figure import Figure

    size = (WIDTH / PX_PER_INCH, height / PX_PER_INCH)
    figure: Any = Figure(figsize=size, dpi=PX_PER_INCH, facecolor=PAPER)
    figure.set_layout_engine("none")
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set(xlim=(0, WIDTH), ylim=(height, 0), autoscale_on=False)
    figure._repr_png_ = partial(_shown, figure)
    return Sheet(figure, axes, height)


def png(figure: Any, *, dpi: float = DPI, grey: bool = False) -> bytes:
    """A figure as PNG bytes: the same figure gives the same bytes, no date in them.

    Without transparency; `grey`: one channel, for a sheet on which all is grey.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from PIL import Image

    data, usual, canvas = BytesIO(), figure.dpi, FigureCanvasAgg(figure)
    dpi = min(dpi, MOST_DOTS / max(figure.get_size_inches()))
    figure.set_dpi(dpi)
    try:
        canvas.draw()
        dots = np.asarray(canvas.buffer_rgba())
        image = Image.fromarray(dots[..., 0] if grey else dots[..., :3])
        image.save(data, "PNG", dpi=(dpi, dpi), compress_level=PACKED)
    finally:
        figure.set_dpi(usual)
    return data.getvalue()


def _shown(figure: Any) -> tuple[bytes, dict[str, int]]:
    return png(figure), {"width": round(WIDTH)}


def write(
    sheet: Sheet,
    x: float,
    y: float,
    text: str,
    *,
    size: float = 11.5,
    bold: bool = False,
    align: str = "left",
    colour: str = INK,
    **more: Any,
) -> None:
    """One line of text whose foot stands on y. Names are data: no formulas in them."""
    sheet.axes.text(
        x,
        y,
        text,
        fontsize=size * PT,
        fontfamily=list(families()),
        fontweight="bold" if bold else "normal",
        ha=align,
        va="baseline",
        color=colour,
        parse_math=False,
        usetex=False,
        **more,
    )


def line(
    sheet: Sheet,
    xs: Sequence[float],
    ys: Sequence[float],
    *,
    width: float = 1.0,
    colour: str = INK,
    **more: Any,
) -> None:
    """A line through points; `width` in px."""
    style = {"ls": "-", "marker": "none", "solid_capstyle": "butt"} | more
    drawn = _line2d(xs, ys, lw=width * PT, color=colour, **style)
    sheet.axes.add_line(drawn)


def box(
    sheet: Sheet,
    x: float,
    y: float,
    width: float,
    height: float,
    *,
    fill: str | None = None,
    edge: str | None = None,
    rounded: float = 0,
    **more: Any,
) -> None:
    """A rectangle from its top left corner, corners rounded by so many px."""
    from matplotlib.patches import FancyBboxPatch

    style = f"round,pad=0,rounding_size={rounded}" if rounded else "square,pad=0"
    patch = FancyBboxPatch(
        (x, y),
        width,
        height,
        boxstyle=style,
        facecolor=fill or "none",
        edgecolor=edge or "none",
        linewidth=PT if edge else 0,
        **more,
    )
    sheet.axes.add_patch(patch)


def in_dots(px: float) -> int:
    """A length on the sheet as dots of a swatch."""
    return round(px * DOTS)


def grounded(height: int, width: int) -> np.ndarray:
    """Neutral grey for swatches to lie on: sRGB 0-1, shape (height, width, 3) dots."""
    return np.full((height, width, 3), int(SURROUND[1:3], 16) / 255)


def picture(sheet: Sheet, dots: np.ndarray, x: float, y: float) -> None:
    """An array of sRGB, two dots a px, its top left corner at (x, y).

    0-1 as floats, or 0-255 as bytes.
    """
    if dots.dtype != np.uint8:
        dots = np.round(dots * 255).astype(np.uint8)
    height, width = dots.shape[0] / DOTS, dots.shape[1] / DOTS
    image = _dot_by_dot()(
        sheet.axes,
        extent=(x, x + width, y + height, y),
        origin="upper",
        interpolation="antialiased",
        interpolation_stage="data",
        resample=True,
    )
    image.set_data(dots)
    image.set_clip_path(sheet.axes.patch)
    sheet.axes.add_image(image)


@lru_cache(maxsize=1)
def _dot_by_dot() -> Any:
    """matplotlib's picture, copied as it is where its dots are those of the sheet."""
    from matplotlib.image import AxesImage

    class DotByDot(AxesImage):
        def make_image(
            self, renderer: Any, magnification: float = 1, unsampled: bool = False
        ) -> Any:
            at, dots = self.get_window_extent(renderer), np.asarray(self.get_array())
            if (round(at.height, 3), round(at.width, 3)) != dots.shape[:2]:
                return super().make_image(renderer, magnification, unsampled)
            opaque = np.full((*dots.shape[:2], 4), 255, dtype=np.uint8)
            opaque[..., :3] = dots[::-1]
            return opaque, round(at.x0), round(at.y0), None

    return DotByDot


# --- marks ----------------------------------------------------------------------------


def mark(
    sheet: Sheet,
    kind: str,
    xs: float | Sequence[float],
    ys: float | Sequence[float],
    *,
    size: float = 9.0,
    fill: str | None = None,
    **more: Any,
) -> None:
    """A mark, or one at each of many places; the artist's gid is its kind."""
    shape, filled, edge = _shapes()[kind]
    drawn = _line2d(
        np.atleast_1d(xs),
        np.atleast_1d(ys),
        ls="none",
        marker=shape,
        ms=size * PT,
        mfc=fill or {"full": INK, "open": PAPER, "none": "none"}[filled],
        mec=PAPER if kind == "near" else INK,
        mew=edge * PT,
        gid=kind,
        **more,
    )
    sheet.axes.add_line(drawn)


def _shapes() -> dict[str, tuple[Any, str, float]]:
    """Each kind's shape, whether it is filled, and its line in px."""
    from matplotlib.path import Path

    span = Path(
        [(-0.5, 1), (0.5, 1), (0, 1), (0, -1), (-0.5, -1), (0.5, -1)], [1, 2] * 3
    )
    bars = Path([(-0.45, -1), (-0.45, 1), (0.45, -1), (0.45, 1)], [1, 2, 1, 2])
    return {
        "jump": ("^", "full", 0.8),
        "accent": ("D", "full", 0.0),
        "join": (bars, "none", 1.8),
        "bridge": (_arch(), "none", 1.5),
        "middle": (_hook(), "none", 1.6),
        "near": ("o", "full", 0.9),
        "far": ("s", "open", 1.1),
        "unruly": ("o", "none", 1.5),
        "range": (span, "none", 1.0),
        "value": ("o", "full", 1.1),
        "onward": (">", "full", 0.0),
        "hole": ("o", "open", 1.0),
    }


def _hook() -> Any:
    """Up, round, and down again as an arrow, from -1 to 1."""
    from matplotlib.path import Path

    half = Path.arc(0, 180)
    round_it = np.asarray(half.vertices)[::-1] * (0.6, 0.7) + (0, 0.2)
    there = [(-0.6, -1), (-0.6, 0.2), (0.6, 0.2), (0.6, -0.9)]
    tip = [(0.15, -0.4), (0.6, -1), (1.05, -0.4)]
    return Path.make_compound_path(
        Path(there[:2], [1, 2]),
        Path(round_it[::-1], half.codes),
        Path(there[2:], [1, 2]),
        Path(tip, [1, 2, 2]),
    )


def _arch() -> Any:
    """An arch under its road, from -1 to 1."""
    from matplotlib.path import Path

    half = Path.arc(0, 180)
    arch = Path(np.asarray(half.vertices) * (0.85, 1.15) - (0, 0.65), half.codes)
    road = Path([(-1, 0.7), (1, 0.7)], [1, 2])
    return Path.make_compound_path(arch, road)


def bridge_over(sheet: Sheet, left: float, right: float, y: float) -> None:
    """A little bridge from left to right whose feet stand on y, and the word for it."""
    from matplotlib.patches import Arc

    middle, span, rise = (left + right) / 2, right - left, min(17.0, (right - left) / 3)
    ends = {"theta1": 180, "theta2": 360}
    arc = Arc((middle, y), span, 2 * rise, lw=1.5 * PT, gid="bridge", **ends)
    arc.set_edgecolor(INK)
    sheet.axes.add_patch(arc)
    road = y - rise - 2
    line(sheet, (left - 2, right + 2), (road, road), width=1.5)
    for share in (-1.0, -0.75, -0.5, 0.5, 0.75, 1.0):
        foot = y - rise * (1 - share**2) ** 0.5
        line(sheet, [middle + share * span / 2] * 2, (road, foot), width=0.8)
    if span > 40:
        write(sheet, middle, y - 2, "bridge", size=9.5, align="center")


def _line2d(xs: Any, ys: Any, **more: Any) -> Any:
    from matplotlib.lines import Line2D

    return Line2D(xs, ys, **more)


def key(sheet: Sheet, entries: Sequence[tuple[str, str]], y: float) -> None:
    """What the marks mean: (kind or "", words), in lines that wrap, the first on y."""
    for (kind, words), (x, row) in zip(entries, _places(entries), strict=True):
        foot = y + KEY_LINE * row
        if kind:
            mark(sheet, kind, x + 6, foot - 4, size=8.5)
        write(sheet, x + (18 if kind else 0), foot, words, size=11, colour=FAINT)


def key_height(entries: Sequence[tuple[str, str]]) -> float:
    """How much room `key` takes, px."""
    return KEY_LINE * (1 + max((row for _, row in _places(entries)), default=-1))


def _places(entries: Sequence[tuple[str, str]]) -> list[tuple[float, int]]:
    """Where each entry begins: x and the number of its line."""
    x, row, places = MARGIN, 0, []
    for kind, words in entries:
        needed = width_px(words, 11) + (18 if kind else 0)
        if x > MARGIN and x + needed > WIDTH - MARGIN:
            x, row = MARGIN, row + 1
        places.append((x, row))
        x += needed + 20
    return places


def middle_over(sheet: Sheet, x: float, y: float, room: float) -> None:
    """The sign, centred on (x, y), of where a mirrored run turns, and the word for it
    as far as there is room (px)."""
    mark(sheet, "middle", x, y, size=10)
    if room >= MIDDLE_ROOM:
        write(sheet, x, y - 9, "middle", size=9.5, bold=True, align="center")
