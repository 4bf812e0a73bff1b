"""The choices: their defaults are those the format states."""

from dataclasses import fields
from math import inf

from kit.blanket.choices import ARRANGEMENTS, LAYOUTS, Choices
from kit.blanket.choices_toml import read_choices
from kit.blanket.keys import KEYS

# Every key a blanket.toml may hold where a default stands in for it, as the description
# of the format gives them.
DEFAULTS = {
    "units": "metric",
    "strands.fabric_tex": 500,
    "strands.thinner": 0.20,
    "strands.thicker": 0.45,
    "strands.least": 2,
    "strands.most": 3,
    "strands.contrast": 30,
    "colours.by": "family",
    "colours.layout": "light-to-dark",
    "colours.times_through": 1,
    "colours.sharing": "halve",
    "colours.families": "alternate",
    "colours.family_order": "hue",
    "colours.ends": "fixed",
    "colours.value_slack": 20,
    "colours.smooth_for": "fabric",
    "colours.view": 0.5,
    "colours.jump_limit": 25,
    "colours.fabric_jump_limit": 15,
    "colours.accents": (),
    "colours.bridges": 1,
    "colours.bridges_from": "stash",
    "colours.order": (),
    "colours.locked": (),
    "colours.left_out": (),
    "colours.bridges_kept": (),
    "pace.use": "all",
    "pace.rows_per_colour": None,
    "pace.longest_rows": None,
}


def held(choices: Choices, key: str):
    """What the choices hold for a key of the file."""
    table, _, field = key.rpartition(".")
    if not table:
        return getattr(choices, field)
    parts = {
        "strands": (choices.making.strands,),
        "pace": (choices.making.pace,),
        "colours": (
            choices.arranging,
            choices.laying,
            choices.judging,
            choices.bridging,
        ),
    }
    (part,) = (p for p in parts[table] if field in p.__dataclass_fields__)
    return getattr(part, field)


def test_defaults_are_the_stated_ones():
    """Choices from a name alone are the defaults of the format, key by key."""
    choices = read_choices('name = "A"')
    assert {key: held(choices, key) for key in DEFAULTS} == DEFAULTS
    assert choices == Choices("A", given=frozenset({"name"}))
    assert choices.making.gauge is None
    assert choices.making.size is None
    assert choices.making.sections == choices.making.carry == ()


def test_every_key_has_a_place():
    """No key of the tables with defaults is checked and then dropped."""
    tables = ("strands.", "colours.", "pace.")
    assert {key for key in KEYS if key.startswith(tables)} | {"units"} == set(DEFAULTS)


def test_values_are_frozen_and_small():
    """Equal choices are equal and can be keys; no part has more than eight fields."""
    choices = read_choices('name = "A"\n[colours]\nvalue_slack = "none"')
    assert choices.arranging.value_slack == inf
    assert len({choices, read_choices('name="A"\n[colours]\nvalue_slack="none"')}) == 1
    parts = (choices, choices.arranging, choices.laying, choices.judging)
    parts += (choices.bridging, choices.making, choices.making.strands)
    assert all(len(fields(part)) <= 8 for part in parts)


def test_words_of_the_format():
    """The words for arrangements and layouts are those of the format."""
    assert ARRANGEMENTS == ("value", "family", "smoothest")
    assert LAYOUTS == ("light-to-dark", "dark-to-light", "mirrored")
