"""Colours from a photo as rows of a stash."""

import csv
import io
from dataclasses import replace

import pytest

from kit.blanket.stash_csv import read_stash
from kit.colour import read_mix
from kit.errors import KitError
from kit.photo.correction import NO_CORRECTION
from kit.photo.rows import add_to_stash, note, places, rows_from
from kit.photo.sampling import Sample
from tests.helpers.demos import own_demo

CARD = replace(NO_CORRECTION, kind="grey card", sentences=())


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
    assert note(one, CARD) == "colours from a photo, grey card, about ±4 ΔE00"
    assert note(one, NO_CORRECTION) == (
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
        CARD,
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
    assert places(stash) == {"sage": 0, "sage (2)": 1}
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
    rows = add_to_stash(folder, [*samples, ("Chair Leg", sampled("#111111"))], CARD)
    *others, new = file_rows(folder)
    assert others == before
    assert new[:4] == ["46", "Sage", "#9caf88", ""]
    assert rows.sentences == (
        "1 yarn is added to stash.csv. Its grams are blank: weigh it.",
        'In stash.csv already, and left as they are: "Chair Leg".',
    )
    assert repr(rows) == "Rows(1 added, 0 replaced, 1 kept)"
