"""SVG and HTML elements as text: tags are written, and words escaped, here alone.

>>> element("text", "Sage & Rust", x=4.0, text_anchor="end")
'<text x="4" text-anchor="end">Sage &amp; Rust</text>'
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable
from functools import lru_cache
from html import escape

INK, PAPER, FAINT = "#111111", "#ffffff", "#5a5a5a"
FONTS = "DejaVu Sans, Verdana, sans-serif"
JOINERS = "\u200c\u200d"  # not to be seen, but emoji of several parts need them
Value = str | float | None
Style = dict[str, Value]
Content = str | Iterable["Content"]


class Svg(str):
    """Elements as text. Any other text that stands among elements is escaped."""

    __slots__ = ()

    def __html__(self) -> str:
        """For templates that escape what they are given: this is done."""
        return str(self)


def element(tag: str, *children: Content, **attributes: Value) -> Svg:
    """One element with words or elements in it. Attributes that are None are left out,
    `_` in their names stands for `-`; one at the end is dropped (`class_`).

    >>> element("g", element("rect", width=2 / 3, fill=None), "<b>")
    '<g><rect width="0.67"/>&lt;b&gt;</g>'
    """
    said = "".join(
        f' {_name(key)}="{_value(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    if not children:
        return Svg(f"<{tag}{said}/>")
    return Svg(f"<{tag}{said}>{''.join(map(_inside, children))}</{tag}>")


def drawing(
    width: float, height: float, label: str, *children: Content,
    font_size: float = 10.5,
) -> Svg:  # fmt: skip
    """A whole picture on paper white, with a label for who cannot see it."""
    return element(
        "svg", rect(width=width, height=height, fill=PAPER), *children,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=width, height=height, role="img", aria_label=label,
        font_family=FONTS, font_size=font_size,
    )  # fmt: skip


def group(*children: Content, x: float, y: float, turn: float = 0) -> Svg:
    """What is drawn round (0, 0), moved to (x, y) and turned by so many degrees."""
    moved = f"translate({number(x)} {number(y)})"
    turned = f" rotate({number(turn)})" if turn else ""
    return element("g", *children, transform=moved + turned)


def rect(*tip: Svg, **attributes: Value) -> Svg:
    """A rectangle; a title in it is shown by the pointer."""
    return element("rect", *tip, **attributes)


def path(*steps: str | float, **attributes: Value) -> Svg:
    """A line: letters and numbers of SVG's path notation, one by one.

    >>> path("M", 0, 1.5, "H", 20, stroke="#000000")
    '<path d="M 0 1.5 H 20" stroke="#000000"/>'
    """
    said = " ".join(one if isinstance(one, str) else number(one) for one in steps)
    return element("path", d=said, **attributes)


def words_at(text: str, x: float, y: float, **attributes: Value) -> Svg:
    """One line of words whose foot stands on y."""
    return element("text", text, x=x, y=y, **attributes)


def image(png: bytes, **attributes: Value) -> Svg:
    """A PNG stretched over its place."""
    data = f"data:image/png;base64,{b64encode(png).decode()}"
    return element("image", preserveAspectRatio="none", href=data, **attributes)


@lru_cache(maxsize=10_000)
def number(value: float) -> str:
    """To a hundredth, without what says nothing.

    >>> number(2.0), number(-0.001), number(1 / 3)
    ('2', '0', '0.33')
    """
    if isinstance(value, int):
        return str(value)
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@lru_cache(maxsize=100)
def _name(key: str) -> str:
    return key.rstrip("_").replace("_", "-")


def _value(value: str | float) -> str:
    return _escaped(value) if isinstance(value, str) else number(value)


def _inside(child: Content) -> str:
    if isinstance(child, Svg):
        return child
    if isinstance(child, str):
        return _escaped(child)
    return "".join(map(_inside, child))


@lru_cache(maxsize=1000)
def _escaped(text: str) -> str:
    """Without what XML cannot hold or nobody can see; joiners stay."""
    if not text.isprintable():
        text = "".join(c for c in text if c.isprintable() or c in JOINERS)
    return escape(text)
