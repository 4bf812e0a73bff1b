"""Names as text: what the fonts can draw, and how much room it takes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from kit.pictures import text as lettering
from kit.pictures.text import cut, families, legible, width_px


def drawn_width(text: str, size_px: float, weight: str) -> float:
    """How wide matplotlib itself draws a text, at 72 dots an inch."""
    figure = Figure(dpi=72)
    put = figure.text(
        0,
        0.5,
        text,
        fontsize=size_px,
        fontweight=weight,
        family=list(families()),
        parse_math=False,
    )
    return put.get_window_extent(FigureCanvasAgg(figure).get_renderer()).width


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ("Dust on the Radiator", "Dust on the Radiator"),
        ("Ανάγνωση", "Ανάγνωση"),
        ("e\u0301tude", "étude"),
        ("two\nlines\tand more", "two lines and more"),
        ("\N{BALL OF YARN} Rainbow", "□ Rainbow"),
        ("\N{WOMAN}\u200d\N{EAR OF RICE} Farm", "□ Farm"),
        ("毛糸 blue", "□ blue"),
        ("Sage\u202e", "Sage"),
        ("$5 & <b>", "$5 & <b>"),
    ],
)
def test_legible_keeps_what_can_be_drawn(text, seen):
    """A box for what cannot, one for a whole run of it; unseen marks go."""
    assert legible(text) == seen


@pytest.mark.parametrize("text", ["毛糸", "\N{BALL OF YARN}", "\u200b", ""])
def test_legible_falls_back(text):
    """Where nothing readable is left the caller's word stands in."""
    assert legible(text, otherwise="no. 7") == "no. 7"


def test_fonts_that_are_installed_are_used(monkeypatch):
    """A name drawn by a second font is kept, and matplotlib draws it unwarned."""
    # In STIX, which comes with matplotlib, and not in DejaVu Sans.
    only_there = "\N{MATHEMATICAL BOLD SMALL A}" * 3
    if legible(only_there, otherwise="") == "":
        monkeypatch.setattr(lettering, "ALSO", ("STIXGeneral", "No such font"))
        forget()
    try:
        assert families()[0] == "DejaVu Sans" and "No such font" not in families()
        assert legible(only_there) == only_there
        assert drawn_width(only_there, 20, "normal") > 20
    finally:
        monkeypatch.undo()
        forget()


def forget():
    for remembered in ("families", "_fonts", "_drawable", "_advance"):
        getattr(lettering, remembered).cache_clear()


@given(st.text(max_size=40))
def test_any_text_can_be_drawn(text):
    """Whatever was typed: what is left warns of no missing glyph."""
    for bold in (False, True):
        assert (
            drawn_width(legible(text, bold=bold), 12, "bold" if bold else "normal") > 0
        )


@pytest.mark.parametrize("weight", ["normal", "bold"])
@pytest.mark.parametrize("text", ["Weather at the Window", "ΔE00 12.5", "WAVY Tonic"])
def test_width_is_what_is_drawn(text, weight):
    """Never more than 2 % short, and 8 % over at most: kerning is left out."""
    measured = width_px(text, 40, bold=weight == "bold")
    assert 0.98 < measured / drawn_width(text, 40, weight) < 1.08


def test_cut_says_so():
    """A text that is too long ends in an ellipsis, one that fits stays."""
    assert cut("Sage", 200, 11) == "Sage"
    assert cut("Moss in the Gutter Stone", 100, 11).endswith("…")
