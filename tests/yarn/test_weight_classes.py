"""Weight classes against the published chart."""

import math

import pytest

from kit.errors import KitError
from kit.yarn import to_tex, weight_class
from kit.yarn.tex import held_tex
from kit.yarn.weight_classes import WEIGHTS, typical_metres_per_100g
from tests.helpers.gold import gold


def _number(cell, blank):
    return float(cell) if cell else blank


@pytest.mark.parametrize(
    "row", gold("cyc_yarn_weight_system.csv"), ids=lambda r: r["name"]
)
def test_weight_classes_are_the_chart(row):
    """Each class has the chart's stitches."""
    weight = weight_class(row["number"])
    stitches = (
        _number(row["knit_sts_per_4in_min"], 0),
        _number(row["knit_sts_per_4in_max"], math.inf),
    )
    assert weight.number == int(row["number"])
    assert weight.stitches_per_10cm == stitches


@pytest.mark.parametrize(
    "row", gold("cyc_yarn_weight_system.csv"), ids=lambda r: r["name"]
)
def test_the_chart_names_lead_to_their_class(row):
    """A class answers to the chart's name for it and to every type listed there."""
    elsewhere = {("Lace", "fingering"), ("Fine", "baby"), ("Jumbo", "roving")}
    assert weight_class(row["name"]).number == int(row["number"])
    for word in row["types"].split("; "):
        if word != "10-count crochet thread" and (row["name"], word) not in elsewhere:
            assert weight_class(word).number == int(row["number"])


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("sock", "fingering"),
        ("Fingering", "fingering"),
        ("  DK ", "DK"),
        ("dk weight", "DK"),
        ("aran", "worsted"),
        ("Chunky", "bulky"),
        ("SUPER  BULKY", "super bulky"),
        ("super-bulky", "super bulky"),
        ("laceweight", "lace"),
        ("jumbo", "jumbo"),
        ("4", "worsted"),
        ("4 ply", "fingering"),
    ],
)
def test_the_trades_words(text, name):
    """Everyday words, however typed, lead to the class the trade means."""
    assert weight_class(text).name == name


def test_no_word_belongs_to_two_classes():
    """Names and other names are all different."""
    words = [w for c in WEIGHTS for w in (c.name, *c.also)]
    assert len(words) == len(set(words))


@pytest.mark.parametrize("text", ["fingring", "8", ""])
def test_an_unknown_weight_lists_the_known(text):
    """A word of no class is refused, the eight classes named first."""
    with pytest.raises(KitError) as caught:
        weight_class(text)
    hint = ' Did you mean "fingering"?' if text == "fingring" else ""
    assert str(caught.value).startswith(
        f'No yarn weight called "{text}".{hint} Known: lace, fingering, sport, DK, '
        "worsted, bulky, super bulky, jumbo, "
    )


def test_typical_metres_lie_in_the_class_and_fall_with_it():
    """Each figure lies in its range; thicker classes run fewer metres."""
    typical = [typical_metres_per_100g(weight) for weight in WEIGHTS]
    for weight, middle in zip(WEIGHTS, typical, strict=True):
        low, high = weight.metres_per_100g
        assert low < middle < high
    assert typical == sorted(typical, reverse=True)


def test_two_strands_of_fingering_make_500_tex():
    """The fabric the kit assumes by default: two typical fingering strands."""
    one = to_tex(typical_metres_per_100g("sock"))
    assert held_tex([one, one]) == 500
