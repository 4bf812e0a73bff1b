"""What is marked on a photo: files, corrections, a yarn's colours in words."""

import csv
import io
from dataclasses import replace

import pytest

from kit.blanket.stash_csv import read_stash
from kit.colour import Mix, read_mix
from kit.colour.mixes import hexes
from kit.colour.spaces import hex_to_lab
from kit.errors import KitError
from kit.photo.correction import NO_CORRECTION
from kit.photo.image import read_photo
from kit.photo.marks import (
    add_to_stash,
    colours_text,
    correction_by,
    kinds_marked,
    percents,
    photo_note,
    photos_in,
    places_by_name,
    regions_path,
    rows_from,
    sample_line,
    sample_words,
    yarns_on,
)
from kit.photo.regions import Marks, Region
from kit.photo.sampling import Sample
from tests.helpers.demos import own_demo
from tests.helpers.painted import CARD, photo_bytes

BY_CARD = replace(NO_CORRECTION, kind="grey card", sentences=())


def sampled(text, *, spreads=None, style="solid"):
    mix, _ = read_mix(text)
    return Sample(mix, spreads or (2.4,) * len(mix.labs), style)


def stash_of(text):
    return read_stash(text.encode())


def table_rows(rows):
    return [
        dict(zip(rows.table.columns, row.cells, strict=False))
        for row in rows.table.rows
    ]


def file_rows(folder):
    return list(csv.reader(io.StringIO((folder / "stash.csv").read_text("utf-8"))))


def test_the_note_says_by_what_and_how_good():
    """The limits are rounded up: they must not look better than they are."""
    one = sampled("#9caf88 70%, #b9c7a4 30%", spreads=(2.1, 3.2))
    assert photo_note(one, BY_CARD) == "colours from a photo, grey card, about ±4 ΔE00"
    assert photo_note(one, NO_CORRECTION) == (
        "colours from a photo, not corrected, about ±4 ΔE00"
    )


def test_new_yarns_stand_below_with_blank_grams():
    """Colours, style and note are filled in; the next tag numbers follow."""
    stash = stash_of("no,name,colours,grams,mine\n7,Old,#112233,50,x\n")
    rows = rows_from(
        stash,
        [
            ("Sage  green", sampled("#9caf88", style="tonal")),
            ("=Rust", sampled("#8b3a1e")),
        ],
        BY_CARD,
    )
    assert (rows.added, rows.replaced, rows.kept) == (("Sage green", "=Rust"), (), ())
    first, sage, rust = table_rows(rows)
    assert first == {
        "no": "7",
        "name": "Old",
        "colours": "#112233",
        "grams": "50",
        "mine": "x",
    }
    assert sage == {
        "no": "8", "name": "Sage green", "colours": "#9caf88", "grams": "", "mine": "",
        "style": "tonal", "notes": "colours from a photo, grey card, about ±3 ΔE00",
    }  # fmt: skip
    assert (rust["no"], rust["name"]) == ("9", "=Rust")


def test_a_name_that_is_there_is_kept_or_gets_new_colours():
    """Kept by default; replaced on demand, with everything but colours as it was."""
    stash = stash_of(
        "name,colours,grams,style,notes\n"
        'Sage,#000000,50,solid,"mine; colours from a photo, grey card, about ±9 ΔE00"\n'
    )
    new = [("sage", sampled("#9caf88 60%, #b9c7a4 40%", style="tonal"))]
    kept = rows_from(stash, new, NO_CORRECTION)
    assert (kept.added, kept.replaced, kept.kept) == ((), (), ("sage",))
    assert kept.table == stash.table
    changed = rows_from(stash, new, NO_CORRECTION, replacing=True)
    assert changed.replaced == ("sage",)
    assert table_rows(changed) == [
        {
            "name": "Sage", "colours": "#9caf88 60%, #b9c7a4 40%", "grams": "50",
            "style": "tonal",
            "notes": "mine; colours from a photo, not corrected, about ±3 ΔE00",
        }
    ]  # fmt: skip


def test_a_yarn_told_apart_can_be_named():
    """ "Sage (2)" means the second row of that name."""
    stash = stash_of("name,colours\nSage,#000000\nSage,#111111\n")
    assert places_by_name(stash) == {"sage": 0, "sage (2)": 1}
    rows = rows_from(
        stash, [("Sage (2)", sampled("#9caf88"))], NO_CORRECTION, replacing=True
    )
    assert [row["colours"] for row in table_rows(rows)] == ["#000000", "#9caf88"]
    assert [row["name"] for row in table_rows(rows)] == ["Sage", "Sage"]


def test_self_striping_stays_what_it_is():
    """A photo cannot tell it from variegated."""
    stash = stash_of("name,colours,style\nSage,#000000,self-striping\n")
    one = [("Sage", sampled("#9caf88 50%, #b9c7a4 50%", style="variegated"))]
    (row,) = table_rows(rows_from(stash, one, NO_CORRECTION, replacing=True))
    assert row["style"] == "self-striping"


def test_two_regions_of_one_name_are_told():
    """One region makes one row; capitals do not tell two names apart."""
    both = [("Sage", sampled("#9caf88")), ("sage", sampled("#8b3a1e"))]
    with pytest.raises(KitError) as told:
        rows_from(stash_of("name,colours\nOld,#000000\n"), both, NO_CORRECTION)
    assert str(told.value) == (
        '2 regions are called "Sage". Give each its own name, or remove one: one '
        "region makes one row."
    )


def test_adding_saves_the_file_and_leaves_the_rest(tmp_path):
    """A reader that knows nothing of the kit finds the rows; no name, no row."""
    folder = own_demo(tmp_path)
    before = file_rows(folder)
    samples = [("Sage", sampled("#9caf88")), ("", sampled("#000000"))]
    rows = add_to_stash(folder, [*samples, ("Chair Leg", sampled("#111111"))], BY_CARD)
    *others, new = file_rows(folder)
    assert others == before
    assert new[:4] == ["46", "Sage", "#9caf88", ""]
    assert rows.sentences == (
        "1 yarn is added to stash.csv. Its grams are blank: weigh it.",
        'In stash.csv already, and left as they are: "Chair Leg".',
    )
    assert repr(rows) == "PhotoRows(1 added, 0 replaced, 1 kept)"


ONE = Region("Card", "rectangle", 50, 50, 20, 20)


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
