"""One demo, worked out once, for the panels that show it."""

import pytest

from kit.blanket import open_blanket
from kit.files import shared_folder
from kit.plan import plan_blanket
from kit.widgets.colour.state import opened


@pytest.fixture(scope="session")
def state():
    """The demo as the desk opens it, worked out quickly."""
    blanket = open_blanket(shared_folder("data") / "reading-room")
    return opened(blanket, plan_blanket(blanket, quick=True))


@pytest.fixture(scope="session")
def calm(tmp_path_factory):
    """Two greys that hardly differ: no step breaks the flow."""
    folder = tmp_path_factory.mktemp("greys")
    (folder / "stash.csv").write_text("name,colours\nA,#888888\nB,#8a8a8a\n")
    (folder / "blanket.toml").write_text('name = "Two greys"\n')
    blanket = open_blanket(folder)
    return opened(blanket, plan_blanket(blanket))


@pytest.fixture(scope="session")
def plan(state):
    return state.plan


@pytest.fixture
def words():
    """Lines of a page as one text, with plain blanks."""

    def text(lines):
        said = " ".join(label.value for label in lines.children)
        return said.replace("\u00a0", " ")

    return text
