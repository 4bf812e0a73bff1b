"""Swatches, the run and the short list as SVG text."""

import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import pytest

from kit.blanket import open_blanket
from kit.blanket.stash_csv import read_stash
from kit.colour import Mix, step_table
from kit.colour.spaces import hex_to_lab
from kit.files import shared_folder
from kit.pictures import swatches
from kit.pictures.run import group_letters, row_svgs, run_svg, strip_svg
from kit.pictures.shortlist import shortlist_svg
from kit.plan import plan_blanket
from tests.helpers.plans import planned, toml

HOSTILE = "<script>alert(1)</script>&\"'$x$"


@pytest.fixture(scope="module")
def plan():
    return plan_blanket(open_blanket(shared_folder("data") / "reading-room"))


def yarn(colours="#224466", style="", name="Test", surface=""):
    text = f'name,colours,style,surface\n"{name}","{colours}",{style},{surface}\n'
    return read_stash(text.encode()).yarns[0]


@pytest.mark.parametrize("style", ["", "tonal", "variegated", "speckled"])
def test_bands_follow_the_shares(style):
    """Bands fill the swatch without gaps, each colour near its share."""
    placed = swatches.bands(yarn("#102030 70%, #e0d0c0 30%", style))
    ends = [band.start + band.length for band in placed]
    assert placed[0].start == 0
    assert ends[-1] == pytest.approx(1)
    assert [b.start for b in placed[1:]] == pytest.approx(ends[:-1])
    dark = sum(band.length for band in placed if band.colour == "#102030")
    assert dark == pytest.approx(0.7, abs=0.12)


def test_self_striping_shows_each_colour_once():
    """One band a colour, where the yarn stripes by itself."""
    striping = yarn("#102030, #e0d0c0, #aa4422", "self-striping")
    assert len(swatches.bands(striping)) == 3


def test_the_same_yarn_looks_the_same():
    """Bands depend on the yarn alone, not on what was drawn before."""
    one = yarn("#102030 60%, #e0d0c0 40%", "variegated")
    assert swatches.bands(one) == swatches.bands(one)
    other = replace(one, name="Another")
    assert swatches.bands(one) != swatches.bands(other)


def test_grey_twin_keeps_value():
    """The grey of a colour has its L* and no chroma."""
    lab = hex_to_lab("#b7e13a")
    assert swatches.grey_of(lab) == (lab[0], 0.0, 0.0)
    (band,) = swatches.bands(yarn("#b7e13a"), grey=True)
    assert len({band.colour[i : i + 2] for i in (1, 3, 5)}) == 1
    assert hex_to_lab(band.colour)[0] == pytest.approx(lab[0], abs=0.3)  # 8 bits


def test_run_names_every_yarn_once(plan):
    """Each row is a picture of its own, and each yarn has its caption."""
    rows = row_svgs(plan.design, limit=25)
    texts = [
        element.text or ""
        for row in rows
        for element in ElementTree.fromstring(row).iter()
        if element.tag.endswith("text")
    ]
    numbers = [text.split()[1] for text in texts if text.startswith("no. ")]
    assert numbers == [str(yarn.no) for yarn in plan.design.laid.yarns]
    assert any("▲" in text for text in texts)
    assert any("◆" in text for text in texts)
    assert any("bridge" in text for text in texts)


def test_names_are_data():
    """No markup comes out of a name, and the picture stays well formed."""
    bad = replace(yarn(), name=HOSTILE)
    stash = read_stash(b"name,colours\nA,#111111\nB,#eeeeee\n")
    from kit.blanket import Choices
    from kit.plan import plan as make_plan

    made = make_plan(replace(stash, yarns=(bad, stash.yarns[1])), Choices("x"))
    svg = run_svg(made.design, limit=25)
    tags = {element.tag.split("}")[1] for element in ElementTree.fromstring(svg).iter()}
    assert tags <= {"svg", "g", "rect", "path", "text"}


def test_mix_and_strip_are_well_formed(plan):
    """Small pictures parse, and the strip spans its width."""
    ElementTree.fromstring(strip_svg(plan.design.laid.yarns, grey=True))
    mix = Mix((hex_to_lab("#112233"), hex_to_lab("#ddeeff")), (1, 3))
    ElementTree.fromstring(swatches.mix_svg(mix))


# --- two groups, and bridges before and after -----------------------------------------


def two_tones(by="smoothest"):
    """Sands and inks, with a yarn of both held back."""
    shades = ["#f4ead8", "#dcc8b0", "#c4a890", "#384a78", "#243460", "#142048"]
    rows = [
        {"name": f"Shade {HOSTILE} {k}", "colours": colours, "grams": 40}
        for k, colours in enumerate(shades)
    ]
    tide = {"name": f"Tide {HOSTILE}", "colours": "#d0b8a0, #2c3e6c", "role": "bridge"}
    choices = f'[colours]\nby = "{by}"\nbridges = 0\nends = "free"\n'
    return planned([*rows, tide], toml(choices, gauge=False))


def texts(svg):
    elements = ElementTree.fromstring(svg).iter()
    return [one.text or "" for one in elements if one.tag.endswith("text")]


def test_the_two_groups_are_marked():
    """Where a gap between groups sets the best possible, each yarn has its letter, A
    first along the blanket, and the line says what they are."""
    plan = two_tones()
    letters = group_letters(plan.design)
    yarns = plan.design.laid.yarns
    assert [letters[yarn.name] for yarn in yarns] == ["A"] * 3 + ["B"] * 3
    said = texts(run_svg(plan.design, limit=25))
    captions = [text for text in said if text.startswith("no. ")]
    assert [text[-3:] for text in captions] == ["· A"] * 3 + ["· B"] * 3
    assert any("groups A and B lie that far apart" in text for text in said)
    by_value = two_tones("value").design
    assert group_letters(by_value) == {}
    assert not any(" · A" in text for text in texts(run_svg(by_value, limit=9)))


def test_shortlist_shows_before_and_after():
    """The gap alone, each candidate with both of its steps, what to look for; names
    are text and nothing else."""
    plan = two_tones()
    (one,) = plan.design.suggestions
    svg = shortlist_svg(one, limit=25, view=0.5)
    said = texts(svg)
    ((tide, _, leaves),) = one.candidates
    ends = [one.after.mix, one.before.mix]
    table = step_table([tide.mix], ends, view=0.5)[0]
    assert f"▲{one.step:.1f}" in said
    for size in table:
        mark = "▲" if size > 25 else ""
        assert f"{mark}{size:.1f}" in said
    assert f"from the stash: leaves {leaves:.1f}" in said
    if one.ideal:
        assert f"to look for: would leave {one.ideal.step_after:.1f}" in said
    assert "<script" not in svg
    tight = shortlist_svg(one, limit=25, view=0.5, n_told=0)
    assert not any("from the stash" in text for text in texts(tight))
