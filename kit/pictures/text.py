"""Names as text that the installed fonts can draw, cut to fit a place."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from itertools import accumulate, takewhile

FAMILY = "DejaVu Sans"  # comes with matplotlib
# Drawn with where they are installed and a name needs them. Fonts of coloured pictures
# and fonts of placeholder boxes are no use here.
ALSO = (
    "Noto Sans",
    "Noto Sans CJK JP",
    "Noto Sans CJK SC",
    "Noto Sans JP",
    "Noto Sans SC",
    "Noto Sans KR",
    "Noto Sans Devanagari",
    "Noto Sans Thai",
    "Noto Emoji",
    "Symbola",
    "WenQuanYi Zen Hei",
    "Droid Sans Fallback",
    "Segoe UI",
    "Segoe UI Symbol",
    "Yu Gothic",
    "Microsoft YaHei",
    "Malgun Gothic",
    "Nirmala UI",
    "Leelawadee UI",
    "Hiragino Sans",
    "Arial Unicode MS",
    "Apple Symbols",
)
MISSING = "□"
ELLIPSIS = "…"
_UNSEEN = ("Cc", "Cf", "Cs", "Co", "Cn")


@lru_cache(maxsize=1)
def families() -> tuple[str, ...]:
    """The font families to draw with, the first one first."""
    from matplotlib.font_manager import fontManager

    installed = {entry.name for entry in fontManager.ttflist}
    return (FAMILY, *(name for name in ALSO if name in installed))


def legible(text: str, *, otherwise: str = MISSING, bold: bool = False) -> str:
    """The text with a box for what no font can draw; `otherwise` if nothing is left.

    Line breaks become blanks, marks that cannot be seen go.

    >>> legible("Sage \\N{BALL OF YARN}"), legible("\\u6bdb\\u7cf8", otherwise="no. 7")
    ('Sage □', 'no. 7')
    """
    text = " ".join(unicodedata.normalize("NFC", text).split())
    drawn = "".join(
        char if char == " " or _drawable(char, bold) else MISSING
        for char in text
        if unicodedata.category(char) not in _UNSEEN and not _is_selector(char)
    )
    drawn = re.sub(f"{MISSING}( *{MISSING})+", MISSING, drawn).strip()
    return drawn if any(char.isalnum() for char in drawn) else otherwise


def _is_selector(char: str) -> bool:
    """Variation selectors: they choose between two looks of the sign before."""
    return "\ufe00" <= char <= "\ufe0f"


@lru_cache(maxsize=10_000)
def _drawable(char: str, bold: bool) -> bool:
    return any(font.get_char_index(ord(char)) for font in _fonts(bold))


@lru_cache(maxsize=2)
def _fonts(bold: bool) -> tuple:
    """Fonts of our own at 100 px: the ones matplotlib draws with change size."""
    from matplotlib.font_manager import FontProperties, findfont
    from matplotlib.ft2font import FT2Font

    weight = "bold" if bold else "normal"
    wanted = (FontProperties(family=name, weight=weight) for name in families())
    fonts = tuple(FT2Font(findfont(one)) for one in wanted)
    for font in fonts:
        font.set_size(100, 72)
    return fonts


@lru_cache(maxsize=10_000)
def _advance(char: str, bold: bool) -> float:
    """How far a character moves the pen, in em."""
    for font in _fonts(bold):
        if font.get_char_index(ord(char)):
            return font.load_char(ord(char)).linearHoriAdvance / 65536 / 100
    return 1.0


def width_px(text: str, size_px: float, *, bold: bool = False) -> float:
    """How wide a line of text is; kerning and joined letters are left out."""
    return size_px * sum(_advance(char, bold) for char in text)


def cut(text: str, most_px: float, size_px: float, *, bold: bool = False) -> str:
    """One line no wider than `most_px`, its end an ellipsis where it was cut.

    >>> cut("Weather at the Window", 70, 10)
    'Weather at…'
    """
    if _n_fit(text, most_px, size_px, bold) == len(text):
        return text
    room = most_px - width_px(ELLIPSIS, size_px, bold=bold)
    return text[: _n_fit(text, room, size_px, bold)].rstrip() + ELLIPSIS


def _n_fit(text: str, most_px: float, size_px: float, bold: bool) -> int:
    """How many characters from the start are no wider than `most_px`."""
    reached = accumulate(size_px * _advance(char, bold) for char in text)
    return sum(1 for _ in takewhile(lambda end: end <= most_px, reached))
