"""Panels of the fabric desk over one folder, with neither desk nor another plan."""

import tomllib

import pytest

from kit.blanket import choose, open_blanket
from kit.files import shared_folder
from kit.plan import plan_blanket
from kit.widgets.fabric.controls import SmallBlanket
from kit.widgets.fabric.measures import GaugePanel, SizePanel
from kit.widgets.fabric.state import FabricState
from kit.widgets.fabric.ways import LayoutPanel, PacePanel, StrandsPanel
from kit.widgets.saving import Saver
from tests.helpers.demos import copy_of


@pytest.fixture(scope="session")
def plan():
    """The demo's plan, made once: what is measured here needs no other."""
    return plan_blanket(open_blanket(shared_folder("data") / "reading-room"))


@pytest.fixture
def folder(tmp_path):
    return copy_of("reading-room", tmp_path / "room")


class Kept:
    """Panels over one folder: what they ask for is saved and shown, no plan made."""

    def __init__(self, folder, plan):
        self.path = folder / "blanket.toml"
        self.plan, self.saver = plan, Saver()
        kinds = (GaugePanel, SizePanel, StrandsPanel, PacePanel, LayoutPanel)
        self.panels = [kind(self.ask, SmallBlanket()) for kind in kinds]
        self.gauge, self.size, self.strands, self.pace, self.layout = self.panels
        self.show(open_blanket(folder))

    def show(self, blanket):
        self.state = FabricState(blanket, self.plan)
        for panel in self.panels:
            panel.show(self.state)

    def ask(self, changes, said):
        changed = choose(self.state.blanket, **changes)
        blanket, told = self.saver.save(changed, changes)
        self.show(blanket)
        said.say(told)

    def type_width(self, typed):
        self.size.fields["size.width_cm"].set_state({"value": typed})

    @property
    def width(self):
        return self.size.fields["size.width_cm"].value

    def saved(self):
        """blanket.toml as it is now."""
        return tomllib.loads(self.path.read_text("utf-8"))


@pytest.fixture
def panels(folder, plan):
    """Opens the panels over the folder, as often as they are asked for."""
    return lambda: Kept(folder, plan)
