"""Words for a colour against a colour-name survey and the ISCC-NBS names."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.colors import XKCD_COLORS

from kit.colour import words as colour_words
from kit.colour.families import FAMILIES, family_of
from kit.colour.spaces import hex_to_lab
from kit.colour.words import words_for
from tests.helpers.gold import centroids

labs = st.tuples(st.floats(0, 100), st.floats(-150, 150), st.floats(-150, 150))


@given(labs)
def test_every_colour_has_words(lab):
    """Any CIELAB value, real or not, has words; twice the same."""
    assert words_for(lab) == words_for.__wrapped__(lab) != ""


def survey_words():
    entries = (" ".join(e.split()) for e in colour_words._SURVEY.split(","))
    return dict(entry.rsplit(" ", 1) for entry in entries)


def test_name_words_are_the_surveys():
    """Every name we use stands in the xkcd survey with that very colour."""
    for name, text in survey_words().items():
        assert XKCD_COLORS[f"xkcd:{name}"] == text


def test_name_words_return_themselves():
    """The survey's own colour of a name is called by that name."""
    for name, text in survey_words().items():
        assert name in words_for(hex_to_lab(text))


def test_every_family_has_light_and_dark_words():
    """Each coloured family has at least four names, a darker and a lighter one."""
    for family in FAMILIES[:-1]:
        values = [lab[0] for _, lab in colour_words._names_of(family)]
        assert len(values) >= 4
        assert max(values) - min(values) >= 14


def test_words_follow_published_lightness_words():
    """ISCC-NBS light and dark colours are called light and dark.

    62 of 66 and 55 of 68: the rest are dark yellows, pinks and oranges, dark only for
    their hue, where our words go by L* alone.
    """
    said = {"light": [], "dark": []}
    for name, text in centroids():
        words, lab = name.removeprefix("very ").split(), hex_to_lab(text)
        if family_of(lab) == "neutrals":
            continue
        if words[0] in ("light", "pale", "brilliant"):
            said["light"].append(words_for(lab).endswith("light"))
        if words[0] in ("dark", "deep", "blackish"):
            said["dark"].append(words_for(lab).endswith("dark"))
    assert (sum(said["light"]), len(said["light"])) == (62, 66)
    assert (sum(said["dark"]), len(said["dark"])) == (55, 68)


def test_words_follow_published_strength_words():
    """ISCC-NBS greyish and pale colours get a muted word, vivid ones mostly do not."""
    muted = ("pale", "soft", "dusty", "greyed")
    weak, vivid = [], []
    for name, text in centroids():
        lab = hex_to_lab(text)
        if family_of(lab) == "neutrals":
            continue
        if {"greyish", "pale"} & set(name.split()):
            weak.append(words_for(lab).startswith(muted))
        if name.startswith("vivid"):
            vivid.append(words_for(lab).startswith(muted))
    assert weak and all(weak)
    assert (sum(vivid), len(vivid)) == (2, 19)  # two very light vivid pinks


@pytest.mark.parametrize(
    ("text", "words"),
    [("#ffffff", "white"), ("#000000", "black"), ("#f3ead3", "cream")]
    + [("#d8cab0", "oatmeal"), ("#8e8279", "mid warm grey"), ("#202428", "cool black")]
    + [("#06470c", "deep forest green, dark"), ("#5d3954", "dusty grape, dark")],
)
def test_words_in_full(text, words):
    """The whole phrase for eight colours: our own words, so no proof of anything."""
    assert words_for(hex_to_lab(text)) == words
