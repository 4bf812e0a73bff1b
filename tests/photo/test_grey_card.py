"""Grey cards in a photo: measured, doubted, or refused in words."""

import numpy as np
import pytest

from kit.errors import KitError
from kit.photo.grey_card import cards_seen, evenness, exposure, light_at, tinted
from kit.photo.regions import Region
from tests.helpers.photos import (
    GREY,
    Camera,
    Scene,
    flat_reflectance,
    photograph,
    reflectance_of,
)

CARD = Region("", "rectangle", 150, 100, 120, 80)


def shot(reflectance=None, light="D50", camera=None, **lean):
    scene = Scene(300, 200)
    grey = flat_reflectance(GREY) if reflectance is None else reflectance
    scene.card(150, 100, 150, 100, grey)
    scene.lean(**lean)
    return photograph(scene, light, camera or Camera())


def refusal(photo, region=CARD, kind="grey card"):
    with pytest.raises(KitError) as caught:
        tinted(cards_seen(photo, [region], kind)[0], kind)
    return str(caught.value)


def test_a_card_is_seen_as_the_camera_counts_it():
    """Without cast, noise and vignetting an 18 % card reads 0.18 times the exposure."""
    camera = Camera(cast=0, noise=0, vignette=0, exposure=0.9)
    seen, said = cards_seen(shot(camera=camera), [CARD], "grey card")
    # sRGB in 8 bits: half a step at 0.16 linear is 0.0018.
    np.testing.assert_allclose(seen, [[0.9 * GREY] * 3], atol=0.0018)
    assert said == ()


@pytest.mark.parametrize("light", ["A", "D50", "D65", "FL2", "FL11", "LED-B3"])
@pytest.mark.parametrize("cast", [0.2, 1.0])
def test_a_grey_card_passes_under_any_light(light, cast):
    """Published lights tint a grey card along the line of lamps and daylight."""
    seen, _ = cards_seen(shot(light=light, camera=Camera(cast=cast)), [CARD], "card")
    assert tinted(seen, "grey card") == ()


@pytest.mark.parametrize(
    "linear", [(0.05, 0.30, 0.06), (0.6, 0.1, 0.4), (0.05, 0.1, 0.6), (0.5, 0.03, 0.03)]
)
def test_a_coloured_card_is_refused(linear):
    """Green, pink, blue and red cards are not grey."""
    assert refusal(shot(reflectance_of(linear))) == (
        "What is marked as grey card is not grey. Mark a neutral card, or use no "
        "correction."
    )


def test_a_tinted_card_is_doubted():
    """A card a little green is asked about."""
    seen, _ = cards_seen(shot(reflectance_of((0.15, 0.22, 0.15))), [CARD], "grey card")
    assert tinted(seen, "grey card") == ("The grey card looks tinted: is it grey?",)


def test_cards_of_two_colours_are_told():
    """Two cards of different colour mean two kinds of light, or of card."""
    seen = np.array([(0.18, 0.18, 0.18), (0.21, 0.18, 0.15)])
    says = "The grey cards differ in colour: two kinds of light, or of card."
    assert tinted(seen, "grey card") == (says,)


def test_an_overexposed_card():
    """A card at the limit is refused; one that touches it in part is told."""
    white = flat_reflectance(0.9)
    says = "The white paper is overexposed: 100% of it is as bright as can be. Take the"
    assert refusal(shot(white, camera=Camera(exposure=1.6)), CARD, "white paper") == (
        f"{says} photo darker."
    )
    some = shot(white, camera=Camera(exposure=1.0, noise=0.012))
    _, said = cards_seen(some, [CARD], "white paper")
    assert len(said) == 1
    assert said[0].startswith("The white paper is overexposed in part (")


def test_a_card_too_dark_is_refused():
    """Nothing can be read off a black card."""
    assert "too dark" in refusal(shot(flat_reflectance(0.0005)))


def test_a_region_over_the_edge_is_refused():
    """A region that holds card and table is not one even surface."""
    wide = Region("", "rectangle", 150, 100, 280, 180)
    assert refusal(shot(), wide) == (
        "The region marked as grey card is not one even surface. Mark the inside of "
        "the card only, without shadow or glare."
    )


def test_noise_is_not_unevenness():
    """A grainy photo of an even card is used."""
    grainy = shot(camera=Camera("Sigma SDMerill (NPL)", noise=0.02))
    cards_seen(grainy, [CARD], "grey card")


def test_no_card_is_said():
    """Without a region there is nothing to measure."""
    with pytest.raises(KitError, match="No grey card is marked on the photo"):
        cards_seen(shot(), [], "grey card")


@pytest.mark.parametrize(
    ("light", "says"),
    [
        (0.18, ()),
        (0.10, ()),
        (0.045, ("The photo is 2.0 stops too dark by its grey card; mended, but a ",)),
        (0.54, ("The photo is 1.6 stops too bright by its grey card; mended, but a ",)),
    ],
)
def test_exposure_is_told_in_stops(light, says):
    """More than one stop off is said."""
    ending = "photo better exposed would be more exact."
    said = exposure(light, 0.18, "grey card")
    assert said == tuple(start + ending for start in says)


def test_light_is_followed_from_card_to_card():
    """Three cards give the change across and down; two only along their line."""
    cards = [Region("", "circle", x, y, 9, 9) for x, y in ((0, 0), (800, 0), (0, 600))]
    places = np.array([(card.x, card.y) for card in cards])
    level = np.exp(0.0005 * places[:, 0] - 0.0002 * places[:, 1])
    light, said = evenness(cards, 0.18 * level)
    np.testing.assert_allclose(light[:2], (0.0005, -0.0002))
    assert said == ("The light differs by 68% from card to card; evened out.",)
    np.testing.assert_allclose(
        light_at(light, places) / light_at(light, places)[0], level
    )
    along, _ = evenness(cards[:2], 0.18 * level[:2])
    np.testing.assert_allclose(along[:2], (0.0005, 0), atol=1e-12)


def test_one_card_or_even_light_changes_nothing():
    """A few per cent are within what cards differ by."""
    cards = [Region("", "circle", x, 0, 9, 9) for x in (0, 500)]
    assert evenness(cards[:1], np.array([0.18])) == ((), ())
    assert evenness(cards, np.array([0.18, 0.184])) == ((), ())
