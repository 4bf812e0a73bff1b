"""Elements as text: well-formed whatever they hold, and numbers without noise."""

from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markupsafe import escape

from kit.pictures.svg import Svg, drawing, element, group, image, number, path, words_at


@given(st.text(max_size=30), st.text(max_size=30))
def test_any_words_are_words(said, label):
    """Whatever was typed, among elements or in an attribute, no element comes of it."""
    made = ElementTree.fromstring(element("g", said, aria_label=label))
    assert len(made) == 0
    shown = "".join(c for c in said if c.isprintable() or c in "\u200c\u200d")
    assert (made.text or "") == shown
    assert made.get("aria-label") is not None


def test_joiners_stay_in_words():
    """Emoji of several parts need the zero-width joiner."""
    assert "👩\u200d👩<" in words_at("👩\u200d👩\x00", 0, 0)


def test_elements_go_in_as_they_are():
    """An element is not escaped among others, alone, in a list or in a template."""
    dot = element("circle", r=2)
    assert dot == '<circle r="2"/>'
    assert element("g", dot, [dot, "&"]) == f"<g>{dot}{dot}&amp;</g>"
    assert escape(dot) == dot
    assert isinstance(element("g", dot), Svg)
    assert not isinstance(dot + "<b>", Svg)  # a sum is text again, to be escaped


def test_names_of_attributes():
    """Python has no hyphens in names, and keeps some words for itself."""
    made = element("text", "", text_anchor="end", class_="m", fill=None, viewBox="0")
    assert made == '<text text-anchor="end" class="m" viewBox="0"></text>'


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (3, "3"),
        (3.0, "3"),
        (0.126, "0.13"),
        (-0.004, "0"),
        (120.0, "120"),
        (-7.5, "-7.5"),
    ],
)
def test_numbers_to_a_hundredth(value, said):
    """No zeros that say nothing, and no minus before nothing."""
    assert number(value) == said
    assert path("M", value, 0) == f'<path d="M {said} 0"/>'


def test_a_group_is_moved_and_turned():
    """Moved first, then turned round where it then is, as SVG reads transforms."""
    moved = '<g transform="translate(1 2.5) rotate(-24)"/>'
    assert group(x=1, y=2.5, turn=-24) == moved


def test_a_drawing_stands_alone():
    """It has its size, its name space and a label; a PNG lies in it as data."""
    made = drawing(40, 20, 'A "dot"', image(b"\x89PNG", x=0, y=0))
    root = ElementTree.fromstring(made)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert (root.get("viewBox"), root.get("role")) == ("0 0 40 20", "img")
    assert root.get("aria-label") == 'A "dot"'
    assert "data:image/png;base64,iVBORw==" in made
