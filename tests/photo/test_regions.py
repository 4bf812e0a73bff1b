"""regions: pixels inside, the file, and what is suggested."""

import math

import numpy as np
import pytest

from kit.errors import KitError
from kit.photo.image import Photo, srgb255_to_linear
from kit.photo.regions import (
    LEAST_PIXELS,
    Marks,
    Region,
    cutting,
    pixels_in,
    read_regions,
    regions_csv,
    suggest_regions,
)
from tests.helpers.wound import table


def a_photo(height=60, width=80, seed=0):
    pixels = np.random.default_rng(seed).integers(0, 250, (height, width, 3))
    return Photo(pixels.astype(np.uint8), (width, height))


def refused(call, *arguments):
    with pytest.raises(KitError) as caught:
        call(*arguments)
    return str(caught.value)


# --- pixels ---------------------------------------------------------------------------


def test_a_rectangle_holds_its_pixels():
    """The pixels whose centres lie inside, in linear light, all of them."""
    photo = a_photo()
    linear, clipped = pixels_in(photo, Region("", "rectangle", 20, 30, 12, 8))
    wanted = srgb255_to_linear(photo.pixels[26:34, 14:26].reshape(-1, 3))
    assert np.array_equal(np.sort(linear, axis=0), np.sort(wanted, axis=0))
    assert clipped == 0


def test_a_circle_holds_its_pixels():
    """As many pixels as its area, none farther from its centre than its radius."""
    piece = cutting(a_photo(200, 200), Region("", "circle", 100.3, 97.8, 150, 150))
    area = math.pi * 75**2
    assert piece.inside.sum() == pytest.approx(area, rel=0.01)
    far = np.hypot(piece.across[..., 0], piece.across[..., 1])
    assert far[piece.inside].max() <= 1 < far[~piece.inside].min()


def test_the_mean_is_taken_in_linear_light():
    """Half black and half white average to half the light."""
    pixels = np.zeros((20, 20, 3), dtype=np.uint8)
    pixels[:, ::2] = 255
    photo = Photo(pixels, (20, 20))
    linear, clipped = pixels_in(photo, Region("", "rectangle", 10, 10, 20, 20))
    assert linear.mean() == pytest.approx(0.5)
    assert clipped == 0.5  # the white ones may have been brighter


def test_places_are_those_of_the_full_size_photo():
    """A photo that was scaled down is still marked in its original pixels."""
    photo = a_photo(60, 80)
    large = Photo(photo.pixels, (240, 180), reduced=3)
    same = pixels_in(photo, Region("", "circle", 40, 30, 30, 30))
    found = pixels_in(large, Region("", "circle", 120, 90, 90, 90))
    assert np.array_equal(found[0], same[0])


def test_large_regions_are_thinned():
    """No more pixels than asked, and much the same mean."""
    photo = a_photo(300, 400)
    region = Region("", "circle", 200, 150, 290, 290)
    every, _ = pixels_in(photo, region, most=10**9)
    some, _ = pixels_in(photo, region, most=5000)
    assert 2500 < len(some) <= 5000 < len(every)
    assert some.mean() == pytest.approx(every.mean(), abs=0.01)


def test_bad_regions_are_told():
    """Outside, mostly outside, four pixels: a sentence each."""
    photo = a_photo()
    assert refused(pixels_in, photo, Region("Sage", "circle", 200, 30, 20, 20)) == (
        'The region "Sage" lies outside the photo (80 × 60 pixels). Move it onto the '
        "ball."
    )
    assert refused(pixels_in, photo, Region("", "circle", -6, 30, 30, 30)) == (
        "The region lies mostly outside the photo (80 × 60 pixels). Move it onto the "
        "ball."
    )
    assert refused(pixels_in, photo, Region("Sage", "rectangle", 10, 10, 2, 2)) == (
        f'The region "Sage" holds 4 pixels, expected {LEAST_PIXELS} or more. Draw it '
        "larger, or take the photo from nearer."
    )
    linear, _ = pixels_in(photo, Region("", "circle", 4, 30, 40, 40))
    assert len(linear) > 600  # a little outside: what lies inside is used


@pytest.mark.parametrize(
    "numbers", [(1, 2, 0, 5), (1, 2, 5, -5), (math.nan, 2, 5, 5), (1, math.inf, 5, 5)]
)
def test_regions_that_make_no_sense(numbers):
    """No size, or no number at all, is no region."""
    assert "expected x, y, and a width and height above 0" in refused(
        Region, "", "circle", *numbers
    )
    assert 'No shape called "star"' in refused(Region, "", "star", 1, 2, 3, 4)


# --- the file -------------------------------------------------------------------------


def test_the_file_comes_back():
    """What is written is read back as it was, whatever the names."""
    marks = Marks(
        yarns=(
            Region('Sage, "old"', "circle", 120.5, 80, 61.25, 61.25),
            Region("=1+1", "rectangle", 300, 90, 40, 55),
            Region("", "circle", 10, 20, 30, 30),
        ),
        cards=(Region("", "rectangle", 500, 400, 80, 60),),
        papers=(Region("", "rectangle", 700, 400, 80, 60),),
        target=((1.5, 2), (30, 4), (5, 60), (7, 8)),
    )
    text = regions_csv(marks)
    assert read_regions(text.encode()) == marks
    assert "\n=" not in text  # nothing that a spreadsheet would run
    assert read_regions(regions_csv(Marks(marks.yarns)).encode()) == Marks(marks.yarns)


def test_a_file_made_by_hand():
    """Columns in any order, other separators, a role left out, a height left out."""
    text = "shape;Name;X;Y;width;role\ncircle;Sage;12,5;80;60;\nrectangle;;9;9;9;paper"
    assert refused(read_regions, text.encode()) == (
        'Row 3: No role called "paper". Did you mean "white paper"? Known: yarn, grey '
        "card, white paper, target."
    ).replace("Row 3", "row 3")
    text = text.replace("rectangle;;9;9;9;paper", "circle;;9 px;9;9;White-paper")
    marks = read_regions(text.encode())
    assert marks.yarns == (Region("Sage", "circle", 12.5, 80, 60, 60),)
    assert marks.papers == (Region("", "circle", 9, 9, 9, 9),)


def test_faults_of_the_file():
    """Every faulty row is told, with its row and column."""
    text = (
        "name,role,shape,x,y,width,height\n"
        "Sage,,square,1,2,30,30\n"
        "Rust,,circle,,2,30,\n"
        "Plum,,rectangle,1,2,30,\n"
        "Mist,,circle,1,-2,30,\n"
        ",target,circle,1,2,,\n"
    )
    assert refused(read_regions, text.encode()).splitlines() == [
        'row 2 ("Sage"), shape: No shape called "square". Known: circle, rectangle.',
        'row 3 ("Rust"), x: found nothing, expected a number such as 1200.',
        'row 4 ("Plum"), height: found nothing, expected a number such as 240.',
        'row 5 ("Mist"), y: found -2, expected 0 or more.',
        'row 6, shape: No shape called "circle". Known: point.',
    ]
    three = "role,shape,x,y\n" + "target,point,1,2\n" * 3
    assert refused(read_regions, three.encode()) == (
        "the target has 3 corners, expected 4."
    )


# --- suggestions ----------------------------------------------------------------------

COLOURS = (
    (75, 5, 20), (30, 10, -30), (50, 45, 25), (85, 0, 2), (22, 1, 0), (55, -30, 20),
    (65, 20, 60), (40, 30, -10), (60, -2, -25), (35, 12, 22), (78, 18, 4), (48, 2, 3),
)  # fmt: skip
CHART_COLOURS = (
    (38, 14, 15), (66, 18, 18), (50, -4, -22), (43, -13, 22), (55, 9, -25),
)  # fmt: skip
CARD = (1040, 90, 130, 90, 8, [(49.5, 0, 0)])
CHART = (700, 760, 330, 210, -6, CHART_COLOURS)


def on_a_table(**choices):
    """Twelve balls in three lines, a grey card and a chart; (photo, places)."""
    rng = np.random.default_rng(4)
    places = [
        (130 + 230 * column, 130 + 210 * row, rng.uniform(105, 150))
        for row in range(3)
        for column in range(4)
    ]
    places = [
        (x + rng.uniform(-20, 20), y + rng.uniform(-15, 15), d) for x, y, d in places
    ]
    balls = [(*place, [lab], [1.0]) for place, lab in zip(places, COLOURS, strict=True)]
    return table(balls, extras=(CARD, CHART), **choices), places


@pytest.mark.parametrize("ground", [(84, 1, 9), (52, 6, 18), (25, -6, -8)])
def test_balls_on_a_table_are_found(ground):
    """Every ball in reading order, inside its edge; no card, no chart, no shadow.

    They are given in pixels of the full-size photo.
    """
    photo, places = on_a_table(ground=ground)
    found = suggest_regions(photo)
    assert len(found) == len(places)
    for region, (x, y, diameter) in zip(found, places, strict=True):
        off = math.hypot(region.x - x, region.y - y)
        assert region.shape == "circle" and region.name == ""
        assert off + region.width / 2 < 0.5 * diameter
        assert region.width > 0.6 * diameter
    reduced = Photo(photo.pixels, (3600, 2700), reduced=3)
    wide = [region.width for region in suggest_regions(reduced)]
    assert wide == pytest.approx([3 * region.width for region in found], abs=0.3)


def test_balls_that_touch_are_told_apart():
    """Two balls side by side are two regions."""
    balls = [(300, 300, 160, [(40, 40, 20)], [1]), (458, 310, 156, [(80, 0, 5)], [1])]
    photo = table(balls, size=(800, 600))
    found = suggest_regions(photo)
    assert [round(region.x, -2) for region in found] == [300, 500]


def test_nothing_to_suggest():
    """An empty table, a card alone, a picture of a few pixels: no regions, no fault."""
    card = (300, 200, 130, 120, 20, [(50, 0, 0)])
    assert suggest_regions(table([], size=(400, 300))) == ()
    assert suggest_regions(table([], size=(600, 400), extras=[card])) == ()
    assert suggest_regions(a_photo(3, 5)) == ()
    flat = Photo(np.full((200, 300, 3), 255, np.uint8), (300, 200))
    assert suggest_regions(flat) == ()
