"""The panels of gauge and size without a desk: what is typed, kept and shown again."""

import pytest

from kit.blanket import open_blanket

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def imperial(panels):
    kept = panels()
    kept.gauge.units.value = "imperial"
    return kept


@pytest.mark.parametrize(
    ("typed", "shown", "kept"),
    [
        ("28", "28", "28 in"),
        ("28 1/2", "28.5", "28.5 in"),
        ('28"', "28", "28 in"),
        ("71 cm", "27.95276", 71),
        ("1 yd", "36", "36 in"),
    ],
)
def test_a_bare_number_is_inches(imperial, panels, typed, shown, kept):
    """The file holds what was meant, and shows the same when it is read again."""
    for _ in range(3):
        imperial.type_width(typed)
        assert imperial.width == shown
        assert imperial.saved()["size"]["width_cm"] == kept
        imperial = panels()
        assert imperial.width == shown


@pytest.mark.parametrize(
    ("typed", "cm"),
    [("130", 130), ("130 cm", 130), ("1.3 m", 130), ("50 in", 127), ("127,5", 127.5)],
)
def test_widths_with_their_units(panels, typed, cm):
    """Inches and metres are taken too, and a decimal comma."""
    kept = panels()
    kept.type_width(typed)
    assert kept.saved()["size"]["width_cm"] == cm


def test_a_count_over_4_inches_does_not_drift(imperial, panels):
    """22 over 4 in stay 22 over 4 in, whatever is typed beside it."""
    imperial.gauge.fields["gauge.stitches_per_10cm"].set_state({"value": "22"})
    for width in range(40, 50):
        imperial.type_width(str(width))
    again = panels().gauge.fields["gauge.stitches_per_10cm"]
    assert again.value == "22"
    assert imperial.saved()["gauge"]["stitches_per_10cm"] == "22 per 4 in"
    gauge = imperial.state.choices.making.gauge
    assert gauge.stitches_per_10cm == pytest.approx(220 / 10.16, rel=1e-12)


def test_a_swatch_in_inches_and_ounces(imperial, panels):
    """The three measures as typed."""
    for key, typed in (("width_cm", "6"), ("length_cm", "6"), ("grams", "0.32")):
        imperial.gauge.swatch[key].set_state({"value": typed})
    assert imperial.saved()["gauge"]["swatch"] == {
        "width_cm": "6 in",
        "length_cm": "6 in",
        "grams": "0.32 oz",
    }
    swatch = panels().gauge.swatch
    assert [field.value for field in swatch.values()] == ["6", "6", "0.32"]


def test_filling_asks_for_nothing(panels):
    """What the program sets is no choice of a hand."""
    kept = panels()
    before = kept.path.read_bytes()
    kept.show(open_blanket(kept.path.parent))
    assert kept.path.read_bytes() == before
