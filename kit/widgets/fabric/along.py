"""What changes along the blanket: its sections, and yarns carried along."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from kit.blanket.keys import as_toml
from kit.errors import Fault, KitError
from kit.widgets.fabric.controls import FabricPanel, SmallBlanket
from kit.widgets.fabric.state import ChooseFabric, FabricState
from kit.widgets.fabric.tables import (
    CarryRow,
    GrowingTable,
    SectionRow,
    section_item,
)


class SectionsPanel(FabricPanel):
    """Sections of other stitches, in order."""

    def __init__(self, choose: ChooseFabric, small: SmallBlanket) -> None:
        self.table = GrowingTable("section", "Add a section", self._row)
        super().__init__(choose, small, [self.table])
        self._units_shown = ""
        self.table.watch(self.calm(self._changed))
        self.on(self.table.add, self._add)

    def fill(self, state: FabricState) -> None:
        units, sections = state.choices.units, state.choices.making.sections
        reworded, self._units_shown = units != self._units_shown, units
        items = [section_item(one, units) for one in sections]
        if reworded or not _says(self.table, items):
            self.table.fill(items)

    def _row(self, item: Mapping[str, Any]) -> SectionRow:
        return SectionRow(item, self.state.choices.units)

    def _add(self) -> None:
        name = f"section {len(self.table.rows) + 1}"
        self.table.append({"name": name, "rows": 20})
        self._changed()

    def _changed(self) -> None:
        """Sections changed; a yarn carried in one follows it to its new name."""
        making, items = self.state.choices.making, self.table.read()
        changes: dict[str, Any] = {"sections": items or None}
        was, now = [s.name for s in making.sections], [item["name"] for item in items]
        if len(was) == len(now) and was != now and making.carry:
            new = dict(zip(was, now, strict=True))
            moved = (replace(c, section=new.get(c.section, "")) for c in making.carry)
            changes["carry"] = as_toml(moved)
        elif any(carry.section not in ("", *now) for carry in making.carry):
            units = self.state.choices.units
            self.table.fill(section_item(s, units) for s in making.sections)
            says = "A yarn is carried in this section: carry it elsewhere first"
            raise KitError(Fault("in_use", says=says))
        self.put(**changes)


class CarriedPanel(FabricPanel):
    """Yarns carried along, each with where."""

    def __init__(self, choose: ChooseFabric, small: SmallBlanket) -> None:
        self.table = GrowingTable("carried", "Carry a yarn along", self._row)
        super().__init__(choose, small, [self.table])
        self._offered: tuple[str, ...] = ()  # sections to carry in
        self.table.watch(self.calm(lambda: self.put(carry=self.table.read() or None)))
        self.on(self.table.add, lambda: self.table.append({}))

    def fill(self, state: FabricState) -> None:
        making = state.choices.making
        named = tuple(section.name for section in making.sections)
        others, self._offered = named != self._offered, named
        items = as_toml(making.carry) or []
        if others or not _says(self.table, items):
            self.table.fill(items)

    def _row(self, item: Mapping[str, Any]) -> CarryRow:
        yarns = [yarn.name for yarn in self.state.blanket.stash.yarns]
        named = [section.name for section in self.state.choices.making.sections]
        return CarryRow(item, yarns, list(dict.fromkeys(named)))


def _says(table: GrowingTable, items: list[dict[str, Any]]) -> bool:
    """Whether a table says just that already; rows half typed then stay."""
    try:
        return table.read() == items
    except KitError:
        return False
