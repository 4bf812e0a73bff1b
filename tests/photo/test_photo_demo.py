"""The demo's photo: drawn, small, and good enough to plan the same blanket from."""

from dataclasses import replace
from functools import lru_cache
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from kit.arrangement import arrange
from kit.arrangement.orders import family_name, value_of
from kit.blanket.choices import Arranging, Judging
from kit.blanket.stash_csv import read_stash
from kit.colour import ciede2000, mean_lab
from kit.photo.correction import from_card, from_target
from kit.photo.image import read_photo
from kit.photo.regions import read_regions
from kit.photo.sampling import sample
from tests.helpers.photo_demo import FOLDER, MOST_BYTES

# Yarns nearer in value than this may change places (ours; none does now).
NEAR_TIE = 3.0  # L*


@lru_cache
def demo():
    """(photo, marks, true yarns of the balls on it)."""
    photo = read_photo((FOLDER / "photos" / "table.jpg").read_bytes())
    marks = read_regions((FOLDER / "photos" / "table-regions.csv").read_bytes())
    known = {yarn.name: yarn for yarn in read_stash(stash_csv()).yarns}
    return photo, marks, tuple(known[region.name] for region in marks.yarns)


def stash_csv():
    return (FOLDER / "stash.csv").read_bytes()


@lru_cache
def recovered():
    """The same yarns with the colours read from the photo, and how sure they are."""
    photo, marks, yarns = demo()
    correction = from_target(photo, marks.target, cards=marks.cards)
    found = [sample(photo, region, correction) for region in marks.yarns]
    read = [replace(y, mix=s.mix, family="") for y, s in zip(yarns, found, strict=True)]
    return tuple(read), tuple(max(s.spreads) for s in found)


def off():
    """dE00 between the mean colour of each ball and the truth."""
    pairs = zip(recovered()[0], demo()[2], strict=True)
    return np.array([ciede2000(mean_lab(r.mix), mean_lab(t.mix)) for r, t in pairs])


def test_the_picture_is_small_and_says_nothing_else():
    """At most 400 kB, about 2000 pixels, upright, without any metadata."""
    data = (FOLDER / "photos" / "table.jpg").read_bytes()
    assert len(data) <= MOST_BYTES
    with Image.open(BytesIO(data)) as image:
        assert image.size == (2000, 1500)
        assert not image.getexif()
        assert "icc_profile" not in image.info


def test_it_is_said_to_be_drawn():
    """Whoever opens the folder reads that nobody took this photo."""
    text = (FOLDER / "photos" / "README.txt").read_text("utf-8")
    assert text.startswith("table.jpg is a drawn picture, not a photograph.")


def test_the_marks_are_balls_of_the_stash():
    """A dozen or more yarns of the stash, two grey cards, four corners."""
    _, marks, yarns = demo()
    assert len(yarns) >= 12
    assert len({yarn.name for yarn in yarns}) == len(yarns)
    assert (len(marks.cards), len(marks.papers), len(marks.target)) == (2, 0, 4)


def test_cards_and_target_can_be_used():
    """Nothing is wrong with the picture's exposure, cards and target."""
    photo, marks, _ = demo()
    for found in (from_target(photo, marks.target), from_card(photo, marks.cards)):
        assert found.sentences == ()


def test_colours_are_recovered():
    """Ball by ball the colours are near; nine of ten within what is said of them."""
    assert off().mean() <= 3
    assert off().max() <= 6
    assert np.mean(off() <= recovered()[1]) >= 0.9


def ordered(yarns, by):
    return arrange(yarns, Arranging(by=by), view=Judging().view).yarns


@pytest.mark.parametrize("by", ["value", "family"])
def test_the_recovered_stash_plans_the_same_order(by):
    """Two yarns change places only where their values are nearly the same."""
    true, read = demo()[2], recovered()[0]
    plain = [replace(yarn, family="") for yarn in true]
    wanted, found = ordered(plain, by), ordered(read, by)
    place = {yarn.name: k for k, yarn in enumerate(found)}
    families = {yarn.name: family_name(yarn) for yarn in plain}
    for k, one in enumerate(wanted):
        for other in wanted[k + 1 :]:
            if place[one.name] > place[other.name]:
                assert abs(value_of(one) - value_of(other)) <= NEAR_TIE
                if by == "family":
                    assert families[one.name] == families[other.name]


def test_families_are_recovered():
    """Each ball is put in its own family by the colours of the photo."""
    true, read = demo()[2], recovered()[0]
    plain = {yarn.name: family_name(replace(yarn, family="")) for yarn in true}
    assert {yarn.name: family_name(yarn) for yarn in read} == plain
