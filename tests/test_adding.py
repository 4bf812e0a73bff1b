"""What "Adding things" in DEVELOPERS.md asks for is there for all there is."""

import re
from pathlib import Path

import pytest

from kit.blanket.choices import ARRANGEMENTS, LAYOUT_WORDS, LAYOUTS, ORDER_WORDS
from kit.blanket.keys import KEYS, full_key
from kit.blanket.stash_rows import COLUMNS
from kit.widgets.colour.order import ARRANGEMENTS as OFFERED
from kit.widgets.stash.yarn_fields import YarnForm

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
STRIP = (ROOT / "kit/widgets/colour/strip.js").read_text(encoding="utf-8")


@pytest.mark.parametrize("by", ARRANGEMENTS)
def test_an_arrangement_has_its_words_and_buttons(by):
    """Every way of arranging can be said, chosen in the notebook, and read about."""
    assert ORDER_WORDS[by]
    assert by in dict(OFFERED).values()
    assert f'["{by}", ' in STRIP
    assert f'"{by}"' in README


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_layout_has_its_words(layout):
    """Every layout can be said, and read about."""
    assert LAYOUT_WORDS[layout]
    assert f'"{layout}"' in README


@pytest.mark.parametrize("column", COLUMNS)
def test_a_column_has_its_field(column):
    """Every column of a stash can be typed in the notebook, and read about."""
    fields = YarnForm()
    assert column in {"name", "colours"} | set(fields.fields)
    assert re.search(rf"\b{column}\b", README)


@pytest.mark.parametrize("key", KEYS)
def test_a_key_is_read_about(key):
    """Every key of blanket.toml stands in the README, and goes by its own name."""
    table, _, name = key.rpartition(".")
    assert re.search(rf"\b{name}\b", README)
    assert full_key(key) == key
    homes = [known for known in KEYS if known.rpartition(".")[2] == name]
    assert full_key(name) == (key if len(homes) == 1 else f"colours.{name}")
