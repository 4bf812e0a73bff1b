"""Sheets of the knitted fabric: what is on them, and that they come out the same."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from kit.blanket.choices import Size
from kit.colour.steps import largest_step
from kit.pictures.fabric_sheet import (
    across_sheet,
    close_sheet,
    draw,
    fabric_pictures,
    whole_sheet,
)
from kit.pictures.paper import DOTS, WIDTH, image_of, png
from kit.yarn import Section
from tests.helpers.fabrics import FOUR, demo, knitted

NAMES = [
    "fabric.png",
    "fabric-across.png",
    "fabric-grey.png",
    "fabric-close.png",
]


SMALL = Size(6, 4)


@lru_cache
def pictures():
    return fabric_pictures(knitted(size=SMALL), every=True)


def whole(plan):
    return whole_sheet(plan, draw(plan))


def words_of(sheet):
    return [text.get_text() for text in sheet.axes.texts]


def images_of(sheet):
    """Width and height of the pictures on a sheet, px, the largest first."""
    extents = [image.get_extent() for image in sheet.axes.images]
    sizes = [(right - left, foot - top) for left, right, foot, top in extents]
    return sorted(sizes, key=lambda size: -size[0] * size[1])


def test_pictures_by_name():
    """Sheets are two dots a px and as wide as every sheet; the page wants two."""
    assert list(pictures()) == NAMES
    assert list(fabric_pictures(knitted(size=SMALL))) == NAMES[:2]
    assert {image.width for image in pictures().values()} == {DOTS * WIDTH}


def test_the_grey_one_is_grey():
    """It has no colour at all; the others have."""
    modes = {name: image.mode for name, image in pictures().items()}
    assert modes.pop("fabric-grey.png") == "L"
    assert set(modes.values()) == {"RGB"}


def test_the_same_bytes_every_time():
    """Nothing of the day or the machine is in them."""
    again = fabric_pictures(knitted.__wrapped__(size=SMALL), every=True)
    assert [*map(png, again.values())] == [*map(png, pictures().values())]


def test_nothing_without_fabric():
    """No fabric or no stripes: no pictures, and no sheet."""
    plan = knitted()
    assert fabric_pictures(replace(plan, fabric=None)) == {}
    bare = replace(plan, fabric=replace(plan.fabric, stripes=()), fabric_steps=())
    assert fabric_pictures(bare) == {}
    with pytest.raises(ValueError, match="without fabric"):
        whole(bare)


@pytest.mark.parametrize("size", [Size(12, 15), Size(40, 10), Size(6, 60)])
def test_the_whole_is_in_true_proportion(size):
    """As much longer than wide as the blanket is, to half a dot, and on the sheet."""
    plan = knitted(size=size, rows=(*FOUR, "More,#203050,90,,", "Yet,#101010,90,,"))
    fabric, sheet = plan.fabric, whole(plan)
    ratio = fabric.length_cm / fabric.width_cm
    assert any(
        abs(height - width * ratio) <= 0.5 / DOTS + 1e-9
        for width, height in images_of(sheet)
    )
    left, right, foot, top = sheet.axes.images[0].get_extent()
    assert 0 < left < right < WIDTH
    assert 0 < top < foot < sheet.height


def test_said_in_words():
    """Name, size and where row 1 is; inches where they are wanted."""
    words = " ".join(words_of(whole(knitted())))
    assert "A square" in words
    assert "26 stitches × 45 rows, 11.8 cm × 15 cm, 3 stripes." in words
    inches = " ".join(words_of(whole(knitted(units="imperial"))))
    assert "4.7 in × 5.9 in" in inches
    assert "10 feet" in " ".join(words_of(across_sheet(knitted(units="imperial"))))
    assert "1 metre away" in " ".join(words_of(across_sheet(knitted(), distance_m=1)))


def test_sections_stand_on_the_side():
    """Sections are named beside the picture."""
    sections = (Section("moss stitch", 20), Section("ridges", 10, 40))
    assert "ridges" in words_of(whole(knitted(sections=sections)))


def test_the_close_up_shows_the_largest_step():
    """It is drawn around the stripe that the largest step leads to, and names it."""
    plan = demo()
    sheet = close_sheet(plan)
    sizes = [step.size for step in plan.fabric_steps if step.counts]
    stripe = plan.fabric.stripes[int(np.argmax(sizes)) + 1]
    words = words_of(sheet)
    assert any(f"lies here: {max(sizes):.1f}." in one for one in words)
    rows = [int(one.removeprefix("row ")) for one in words if one.startswith("row ")]
    assert min(rows) <= stripe.first_row <= max(rows)
    for yarn in stripe.strands:
        assert any(yarn.name in one for one in words)


def test_a_step_kept_on_purpose_is_not_called_the_largest():
    """The close-up goes by what counts, as the summary does; none at all, no word."""
    plan = knitted()
    most = max(plan.fabric_steps, key=lambda step: step.size)
    kept = tuple(replace(s, accent=s is most) for s in plan.fabric_steps)
    words = words_of(close_sheet(replace(plan, fabric_steps=kept)))
    assert any(f"lies here: {largest_step(kept):.1f}." in one for one in words)
    assert largest_step(kept) < most.size
    every = tuple(replace(step, accent=True) for step in kept)
    words = words_of(close_sheet(replace(plan, fabric_steps=every)))
    assert not any("largest step" in one for one in words)


def test_one_stripe_has_no_step():
    """A blanket of one stripe is drawn from its middle, without a word of steps."""
    plan = knitted(("One,#336699,20,,", "Two,#336699,20,,"))
    assert len(plan.fabric.stripes) == 1
    assert not any("largest step" in one for one in words_of(close_sheet(plan)))


def test_a_few_rows():
    """The smallest fabric can be drawn too."""
    plan = knitted(size=Size(2, 0.7))
    assert plan.fabric.rows <= 3
    assert list(fabric_pictures(plan, every=True)) == NAMES


def test_any_name():
    """Names are data: whatever a yarn or a blanket is called, it is drawn."""
    names = ("$x^2$", "צמר כחול", "🧶", "x" * 400)
    rows = (row[row.index(",") :] for row in FOUR)
    yarns = tuple(name + row for name, row in zip(names, rows, strict=True))
    plan = knitted(yarns, name=" ".join(names), size=SMALL)
    assert png(image_of(whole(plan)))
    assert png(image_of(close_sheet(plan)))
