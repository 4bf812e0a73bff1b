"""The panels of strands, pace and layout without a desk."""

import pytest

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


def move(control, **state):
    """What a page's message does."""
    control.set_state(state)


def test_a_preset_is_written_as_tex(panels):
    """Choosing one sets the number; another number belongs to no preset."""
    kept = panels()
    presets, tex = kept.strands.presets, kept.strands.fields["strands.fabric_tex"]
    move(presets, index=[tex for _, tex in presets.options].index(750.0))
    assert kept.saved()["strands"]["fabric_tex"] == 750
    assert tex.value == "750"
    move(tex, value="431")
    assert presets.value == 0.0


def test_percent_is_written_as_a_part(panels):
    """25 % thinner is 0.25 in the file and 25 in the field."""
    kept = panels()
    thinner = kept.strands.fields["strands.thinner"]
    move(thinner, value="25")
    assert kept.saved()["strands"]["thinner"] == 0.25
    assert thinner.value == "25"


def test_pace(panels):
    """One kind of pace at a time; the number comes with it."""
    kept = panels()
    pace = kept.pace
    move(pace.way, index=1)
    assert kept.saved()["pace"] == {"rows_per_colour": 12}
    move(pace.rows, value="8")
    assert kept.saved()["pace"] == {"rows_per_colour": 8}
    move(pace.way, index=2)
    assert kept.saved()["pace"] == {"longest_rows": 8}
    move(pace.rows, value="0")
    assert " ".join(label.value for label in pace.said.children) == (
        "Rows: found 0, expected a whole number from 1 to 100000."
    )
    move(pace.way, index=0)
    assert kept.saved()["pace"] == {}
    assert pace.rows.disabled


def test_layout(panels):
    """Mirrored, twice through, in pairs: each is saved under [colours]."""
    kept = panels()
    move(kept.layout.way, index=2)
    move(kept.layout.times, value="2")
    move(kept.layout.sharing, index=1)
    colours = kept.saved()["colours"]
    assert colours["layout"] == "mirrored"
    assert (colours["times_through"], colours["sharing"]) == (2, "pair")
