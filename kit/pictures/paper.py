"""A sheet to draw on: text, lines and pictures in px, y downwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from typing import Any

import numpy as np

from kit.pictures.svg import FAINT, INK, PAPER
from kit.pictures.text import cut, families, legible

WIDTH = 960.0  # px
MARGIN = 18.0  # px
HEAD = 74.0  # px: title and the line under it
PX_PER_INCH = 96
PT = 0.75  # points in a px
DOTS = 2  # of a picture in a px
DPI = PX_PER_INCH * DOTS
MOST_DOTS = 32_000  # a taller picture is drawn coarser
PACKED = 3  # of 9: half the time of the usual 6, for files a few in a hundred larger


@dataclass(frozen=True, slots=True)
class Sheet:
    """A matplotlib figure with one axes whose units are px."""

    figure: Any
    axes: Any
    height: float


def blank(height: float) -> Sheet:
    """An empty sheet, 960 px wide."""
    from matplotlib.figure import Figure

    size = (WIDTH / PX_PER_INCH, height / PX_PER_INCH)
    figure: Any = Figure(figsize=size, dpi=PX_PER_INCH, facecolor=PAPER)
    figure.set_layout_engine("none")
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set(xlim=(0, WIDTH), ylim=(height, 0), autoscale_on=False)
    return Sheet(figure, axes, height)


def image_of(sheet: Sheet, *, dpi: float = DPI, grey: bool = False) -> Any:
    """A sheet as a PIL Image without transparency, as fine as `dpi` dots an inch.

    `grey`: one channel, for a sheet on which all is grey.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from PIL import Image

    dpi = min(dpi, MOST_DOTS / max(sheet.figure.get_size_inches()))
    sheet.figure.set_dpi(dpi)
    canvas = FigureCanvasAgg(sheet.figure)
    canvas.draw()
    dots = np.asarray(canvas.buffer_rgba())
    image = Image.fromarray(dots[..., 0] if grey else dots[..., :3])
    image.info["dpi"] = (dpi, dpi)
    return image


def png(image: Any) -> bytes:
    """A drawn sheet as PNG bytes: the same sheet gives the same, no date in them."""
    data = BytesIO()
    image.save(data, "PNG", dpi=image.info["dpi"], compress_level=PACKED)
    return data.getvalue()


def head(sheet: Sheet, title: str, words: str) -> None:
    """The blanket's name, and a line under it."""
    title, room = legible(title, otherwise="Blanket", bold=True), WIDTH - 2 * MARGIN
    write(sheet, MARGIN, 34, cut(title, room, 20, bold=True), size=20, bold=True)
    write(sheet, MARGIN, 56, cut(words, room, 12.5), size=12.5, colour=FAINT)


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
    from matplotlib.lines import Line2D

    style = {"ls": "-", "marker": "none", "solid_capstyle": "butt"} | more
    sheet.axes.add_line(Line2D(xs, ys, lw=width * PT, color=colour, **style))


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
    """A length on the sheet as dots of a picture."""
    return round(px * DOTS)


def paint(sheet: Sheet, dots: np.ndarray, x: float, y: float) -> None:
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
