"""The few names that `import kit` offers."""

import inspect
from pathlib import Path

import pytest

import kit

DOCS = Path(__file__).resolve().parents[1].joinpath("DEVELOPERS.md").read_text("utf-8")


@pytest.mark.parametrize("name", kit.__all__)
def test_every_name_is_there_and_described(name):
    """Each name resolves, has a docstring, and stands in the table of DEVELOPERS.md."""
    assert inspect.getdoc(getattr(kit, name))
    table = DOCS.partition("## From Python")[2].partition("\n## ")[0]
    assert f"| `{name}" in table


def test_nothing_else_is_offered():
    """The table, the list and the homes name the same things, in order."""
    homes = [name for names in kit._HOMES.values() for name in names]
    assert sorted(homes) == kit.__all__ == sorted(dir(kit))
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = kit.nothing
