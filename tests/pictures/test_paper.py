"""A sheet to draw on: copied dot by dot, legible, the same whatever the settings."""

import struct
from functools import lru_cache
from io import BytesIO

import numpy as np
import pytest
from matplotlib.image import AxesImage
from PIL import Image

from kit.blanket.choices import Size
from kit.pictures.fabric_sheet import (
    across_sheet,
    close_sheet,
    draw,
    fabric_pictures,
    whole_sheet,
)
from kit.pictures.paper import blank, head, image_of, paint, png, write
from kit.pictures.svg import PAPER
from tests.helpers.fabrics import knitted


def titled():
    sheet = blank(90)
    head(sheet, "Hallway", "In greys.")
    return sheet


def test_png_holds_no_date_and_no_maker():
    """Only the header, the size in metres, the dots and the end."""
    data, chunks, at = png(image_of(titled())), set(), 8
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        chunks.add(kind)
        at += 12 + length
    assert chunks == {b"IHDR", b"pHYs", b"IDAT", b"IEND"}


def test_dpi_sets_the_width():
    """The sheet is 10 inches wide whatever its resolution."""
    sheet = titled()
    assert [image_of(sheet, dpi=dpi).width for dpi in (96, 150)] == [960, 1500]
    again = Image.open(BytesIO(png(image_of(sheet))))
    assert again.width == 1920
    # PNG holds dots a metre, a whole number: half of one is 0.013 dpi.
    assert again.info["dpi"] == pytest.approx((192, 192), abs=0.013)


def test_pictures_keep_out_of_pyplot():
    """No figure is left with pyplot, so none has to be closed."""
    from matplotlib import pyplot

    image_of(titled())
    assert pyplot.get_fignums() == []


def test_settings_of_matplotlib_do_not_matter():
    """Someone's own style leaves the pictures as they are."""
    import matplotlib

    style = {
        "axes.facecolor": "#222222",
        "figure.autolayout": True,
        "figure.dpi": 50,
        "figure.facecolor": "#000000",
        "font.family": "serif",
        "image.interpolation": "bicubic",
        "image.origin": "lower",
        "lines.linewidth": 5,
        "lines.marker": "x",
        "savefig.bbox": "tight",
        "text.color": "#ff0000",
        "text.usetex": True,
    }
    plan = knitted(size=Size(6, 4))
    usual = fabric_pictures(plan)
    with matplotlib.rc_context(style):
        styled = fabric_pictures(plan)
    assert [*map(png, styled.values())] == [*map(png, usual.values())]


@lru_cache
def sheets():
    plan = knitted()
    return whole_sheet(plan, draw(plan)), close_sheet(plan), across_sheet(plan)


@pytest.mark.parametrize("k", range(3))
def test_words_can_be_read_on_the_paper(k):
    """Contrast of every word is at least 4.5 to 1.

    WCAG 2.2, success criterion 1.4.3 and "relative luminance".
    """
    paper, words = luminance(PAPER), sheets()[k].axes.texts
    assert words
    assert all(
        (paper + 0.05) / (luminance(text.get_color()) + 0.05) >= 4.5 for text in words
    )


def luminance(hexed: str) -> float:
    srgb1 = [int(hexed[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in srgb1
    ]
    return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))


def test_names_are_not_formulas():
    """Dollars stand as they were typed, and what no font can draw is boxed."""
    sheet = blank(90)
    head(sheet, "\N{BALL OF YARN} Rainbow", "")
    write(sheet, 20, 80, "$x^2$ for $5")
    said = [text.get_text() for text in sheet.axes.texts]
    assert said == ["□ Rainbow", "", "$x^2$ for $5"]
    one, two = (np.asarray(image_of(one)) for one in (sheet, blank(90)))
    assert (one != two).any()


@pytest.mark.parametrize("place", [(18, 30), (18.5, 30.5), (18.2, 30.3)])
def test_a_picture_is_copied_dot_by_dot(place, monkeypatch):
    """At two dots a px, wherever it lies; at other sizes matplotlib's own does it."""
    dots = np.random.default_rng(3).integers(0, 256, (40, 70, 3)).astype(np.uint8)

    def drawn(dpi):
        sheet = blank(90)
        paint(sheet, dots, *place)
        return np.asarray(image_of(sheet, dpi=dpi))

    ours, coarse = drawn(192), drawn(72)
    top, left = round(2 * place[1]), round(2 * place[0])
    assert (ours[top : top + 40, left : left + 70] == dots).all()
    assert (ours != 255).any(axis=-1).sum() == (dots != 255).any(axis=-1).sum()
    monkeypatch.setattr("kit.pictures.paper._dot_by_dot", lambda: AxesImage)
    assert (coarse == drawn(72)).all()
    if place == (18, 30):  # on the dots themselves it does the same
        assert (ours == drawn(192)).all()
