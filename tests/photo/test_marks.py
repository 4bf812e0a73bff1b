"""What is marked on a photo: files, corrections, a yarn's colours in words."""

import pytest

from kit.colour import Mix, read_mix
from kit.colour.mixes import hexes
from kit.colour.spaces import hex_to_lab
from kit.errors import KitError
from kit.photo.correction import NO_CORRECTION
from kit.photo.image import read_photo
from kit.photo.marks import (
    colours_text,
    correction_by,
    kinds_marked,
    percents,
    photos_in,
    regions_path,
    sample_line,
    sample_words,
    yarns_on,
)
from kit.photo.regions import Marks, Region
from kit.photo.sampling import Sample
from tests.helpers.painted import CARD, photo_bytes

ONE = Region("Card", "rectangle", 50, 50, 20, 20)


def sampled(text, *, spreads=None, style="solid"):
    mix, _ = read_mix(text)
    return Sample(mix, spreads or (2.4,) * len(mix.labs), style)


# --- files ----------------------------------------------------------------------------


def test_photos_are_found_by_their_endings(tmp_path):
    """By name, capitals or not; other files and a missing folder are no photos."""
    assert photos_in(tmp_path) == []
    (tmp_path / "photos").mkdir()
    for name in ("b.JPG", "a.png", "a-regions.csv", "README.txt", "c.heic"):
        (tmp_path / "photos" / name).write_bytes(b"")
    assert [path.name for path in photos_in(tmp_path)] == ["a.png", "b.JPG", "c.heic"]


def test_two_photos_never_share_their_regions(tmp_path):
    """Where only the ending tells two photos apart, it stands in the name."""
    for name in ("a.jpg", "b.jpg", "b.png"):
        (tmp_path / name).write_bytes(b"")
    names = [regions_path(tmp_path / n).name for n in ("a.jpg", "b.jpg", "b.png")]
    assert names == ["a-regions.csv", "b.jpg-regions.csv", "b.png-regions.csv"]


# --- corrections ----------------------------------------------------------------------


def test_the_best_mark_comes_first():
    """Target before card before paper before none; three corners are no target."""
    corners = ((0, 0), (9, 0), (9, 9), (0, 9))
    every = Marks((), (ONE,), (ONE,), corners)
    assert kinds_marked(every) == ("target", "grey card", "white paper", "none")
    assert kinds_marked(Marks((ONE,))) == ("none",)


@pytest.mark.parametrize("kind", ["grey card", "white paper", "target"])
def test_a_mark_that_is_missing_is_told(kind):
    """The sentence says what is missing and what can be done."""
    photo = read_photo(photo_bytes())
    with pytest.raises(KitError) as told:
        correction_by(photo, Marks(), kind)
    assert str(told.value) == (
        f"No {kind} is marked on the photo. Mark it on the photo first, or take "
        "another correction."
    )


def test_a_card_corrects():
    """A card darker than it should be doubles the light of everything."""
    photo = read_photo(photo_bytes())
    card = Region("", **CARD)
    assert correction_by(photo, Marks((), (card,)), "grey card").kind == "grey card"
    assert correction_by(photo, Marks((), (), (card,)), "white paper").kind == (
        "white paper"
    )
    assert correction_by(photo, Marks((), (card,)), "none") is NO_CORRECTION


def test_faults_of_all_regions_are_told_together():
    """Each by its name, or by its number where it has none."""
    photo = read_photo(photo_bytes())
    outside = Region("Sage", "circle", 5000, 50, 60, 60)
    small = Region("", "circle", 115, 100, 3, 3)
    with pytest.raises(KitError) as told:
        yarns_on(photo, Marks((outside, small)))
    first, second = str(told.value).splitlines()
    assert first.startswith('The region "Sage" lies outside the photo')
    assert second.startswith("region 2: The region holds ")


# --- words ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shares", "wanted"),
    [
        ((1.0,), (100,)),
        ((1 / 3, 1 / 3, 1 / 3), (34, 33, 33)),
        ((0.994, 0.004, 0.002), (98, 1, 1)),
        ((0.505, 0.495), (51, 49)),
    ],
)
def test_percents_are_whole_and_add_up(shares, wanted):
    """By hand: the largest remainder goes up, nothing falls to 0."""
    assert percents(shares) == wanted


def test_every_mix_reads_back():
    """A `colours` cell made here is read as the same colours, largest share first."""
    mix = Mix(
        tuple(map(hex_to_lab, ("#102030", "#8090a0", "#c0a080"))), (0.2, 0.7, 0.1)
    )
    text = colours_text(mix)
    assert text == "#8090a0 70%, #102030 20%, #c0a080 10%"
    back, rough = read_mix(text)
    assert sorted(hexes(back)) == sorted(hexes(mix))
    assert rough == ()


def test_a_yarn_on_one_line():
    """Colours with shares and limits for the command line, words for the page."""
    one = sampled("#9caf88 30%, #b9c7a4 70%", spreads=(2.1, 3.2), style="tonal")
    assert sample_line("Sage", one) == (
        "Sage: #b9c7a4 70 % ± 3.2, #9caf88 30 % ± 2.1; tonal"
    )
    assert sample_line("", sampled("#9caf88")) == "no name: #9caf88 100 % ± 2.4; solid"
    assert sample_words(one).startswith("tonal, L* 7")
    assert sample_words(one).endswith("± 3.2")
    told = Sample(one.mix, one.spreads, "tonal", 0.2, ("A fifth is over-exposed.",))
    assert sample_words(told).endswith("± 3.2. A fifth is over-exposed.")
