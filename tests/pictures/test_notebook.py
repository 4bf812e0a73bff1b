"""What values look like as the last line of a cell: named, escaped, never a fault."""

import re
from dataclasses import replace
from html import unescape
from xml.etree import ElementTree

import pytest

from kit.blanket import open_blanket, own_demo
from kit.blanket.stash_csv import read_stash
from kit.colour import mean_lab, read_mix, steps_along
from kit.colour.spaces import lab_to_hex
from kit.colour.steps import largest_step
from kit.fabric.stripes import stripe_mix
from kit.needles import where_things_stand
from kit.report import summary
from tests.helpers.fabrics import demo
from tests.helpers.plans import balls, planned

SVG = "{http://www.w3.org/2000/svg}"
TEXT = r'aria-label="[^"]+"|alt="[^"]+"|<caption>.+</caption>'
HOSTILE = "</title><script>alert(1)</script>&\"'"


def shown(value):
    """The picture of a value, whichever of the two kinds it has."""
    kinds = [getattr(value, f"_repr_{kind}_", None) for kind in ("svg", "html")]
    (draw,) = filter(None, kinds)
    return draw()


@pytest.fixture(scope="module")
def blanket(tmp_path_factory):
    return open_blanket(own_demo(tmp_path_factory.mktemp("demo")))


@pytest.fixture(scope="module")
def values(blanket):
    """One of each kind that draws itself, of the demo."""
    plan = demo()
    yarn = blanket.stash.yarns[0]
    return (
        *(blanket, blanket.stash, yarn, yarn.mix, plan, plan.design, plan.fabric),
        *(plan.design.steps, where_things_stand(blanket.folder)),
    )


def test_each_has_a_picture_with_a_text_and_a_short_repr(values):
    """Whoever sees no picture is told what it is, and plain Python has one line."""
    for value in values:
        picture = shown(value)
        assert re.search(
            r'aria-label="[^"]+"|alt="[^"]+"|<caption>.+</caption>', picture
        )
        assert "\n" not in repr(value)
        assert len(repr(value)) < 200


def test_svg_can_be_read_by_itself(values):
    """A notebook's viewer is given well-formed XML with one root."""
    drawn = [value for value in values if hasattr(value, "_repr_svg_")]
    assert len(drawn) == 5
    for value in drawn:
        root = ElementTree.fromstring(shown(value))
        assert root.tag == f"{SVG}svg"
        assert root.get("role") == "img"


def test_a_mix_and_a_yarn_say_their_colours(blanket):
    """The text is the value's own line: codes, shares, L*."""
    yarn = blanket.stash.yarns[0]
    assert ElementTree.fromstring(shown(yarn.mix)).get("aria-label") == repr(yarn.mix)
    assert ElementTree.fromstring(shown(yarn)).get("aria-label") == repr(yarn)


def test_the_fabric_is_its_stripes_from_the_foot_up():
    """One band a stripe in its mean colour, the first at the foot, no gap between."""
    fabric = demo().fabric
    root = ElementTree.fromstring(shown(fabric))
    bands = root.findall(f"{SVG}g/{SVG}rect")
    assert [band.get("fill") for band in bands] == [
        lab_to_hex(mean_lab(stripe_mix(stripe))) for stripe in fabric.stripes
    ]
    tops = [float(band.get("y")) for band in bands]
    assert tops == sorted(tops, reverse=True)
    assert tops[-1] == pytest.approx(0, abs=0.01)
    feet = [float(band.get("y")) + float(band.get("height")) for band in bands]
    assert all(foot > above for foot, above in zip(feet[1:], tops[:-1], strict=True))
    assert feet[0] == pytest.approx(float(root.get("height")), abs=1)
    assert [band.find(f"{SVG}title").text for band in bands] == [
        repr(stripe) for stripe in fabric.stripes
    ]


def test_a_plan_shows_its_fabric_and_the_summary():
    """The picture, then the very sentences of the summary."""
    picture = shown(demo())
    assert picture.startswith('<img src="data:image/png;base64,')
    told = re.findall(r"<p[^>]*>(.*?)</p>", picture)
    assert [unescape(line) for line in told] == summary(demo())


@pytest.mark.parametrize("more", [{}, {"metres": ""}])
def test_a_plan_without_fabric_shows_its_run(more):
    """Without a gauge, or without a length of the yarn, the colours alone are drawn."""
    rows = [{**ball, **more} for ball in balls(4)]
    plan = planned(rows, 'name = "Colours alone"\n')
    assert plan.fabric is None
    assert "The run of yarns along the blanket" in shown(plan)


def test_nothing_to_draw_is_drawn_as_nothing():
    """An empty stash, no steps, a fabric of no stripes: pictures all the same."""
    plan = demo()
    stash = replace(plan.stash, yarns=())
    bare = replace(plan.fabric, stripes=(), rows=0, length_cm=0.0)
    assert shown(stash).startswith("<svg")
    assert shown(bare).startswith("<svg")
    assert shown(steps_along([])).startswith("<table")
    assert "The run of yarns" in shown(replace(plan, fabric=bare, fabric_steps=()))


def test_steps_stand_in_a_table():
    """One line a step, numbered as its index, with mark and cause."""
    mixes = [read_mix(text)[0] for text in ("#fff", "#888", "#000")]
    steps = steps_along(mixes, accents={1})
    rows = re.findall(r"<tr>(.*?)</tr>", shown(steps))
    cells = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row) for row in rows]
    assert [row[0] for row in cells] == ["", "0", "1"]
    assert [row[1] for row in cells[1:]] == [f"{step.size:.1f}" for step in steps]
    assert [row[4] for row in cells[1:]] == ["▲ jump", "◆ accent"]
    assert repr(steps) == f"Steps(2, largest {largest_step(steps):.1f})"
    assert steps == tuple(steps)


def test_names_are_never_taken_for_markup(blanket):
    """A name with tags in it is shown as it is, in every picture."""
    row = HOSTILE.replace('"', '""')
    stash = read_stash(f'name,colours,grams\n"{row}",#888,50\n'.encode())
    choices = replace(blanket.choices, name=HOSTILE)
    plan = planned([{"name": HOSTILE, "colours": "#888", "grams": 50}])
    plan = replace(plan, choices=choices)
    named = replace(blanket, stash=stash, choices=choices)
    for value in (stash, stash.yarns[0], plan, plan.design, plan.fabric, named):
        assert "<script" not in shown(value)
