"""Small tables that grow: sections, and yarns carried along."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import ipywidgets as widgets

from kit.blanket.keys import check_key
from kit.colour.families import FAMILIES
from kit.errors import Fault, KitError
from kit.widgets.fields import COUNTS, NumberField, needed, written
from kit.yarn import Section


class TableRow(widgets.HBox):
    """One row of a small table. `read()` gives it as blanket.toml would hold it."""

    def __init__(self, controls: Sequence[Any]) -> None:
        self.remove = widgets.Button(
            description="Remove", layout=widgets.Layout(width="90px")
        )
        self.controls = list(controls)
        layout = widgets.Layout(flex_flow="row wrap", width="100%")
        super().__init__([*controls, self.remove], layout=layout)

    def read(self, place: str) -> dict[str, Any] | None:
        """The row's values by key, None while it says nothing yet. Raises KitError."""
        raise NotImplementedError


class GrowingTable(widgets.VBox):
    """Rows of one kind, with a button that adds one more."""

    def __init__(
        self, kind: str, words: str, new_row: Callable[[Mapping[str, Any]], TableRow]
    ) -> None:
        self.kind, self.new_row = kind, new_row
        self.rows: list[TableRow] = []
        self.add = widgets.Button(description=words)
        self._changed: Callable[[Any], None] = lambda _: None
        super().__init__([self.add], layout=widgets.Layout(width="100%"))

    def watch(self, changed: Callable[[Any], None]) -> None:
        """Call `changed` after every change of a row, and when one goes."""
        self._changed = changed

    def fill(self, items: Iterable[Mapping[str, Any]]) -> None:
        """Show these items in place of what is there."""
        self.rows = [self._row(item) for item in items]
        self._lay()

    def append(self, item: Mapping[str, Any]) -> None:
        self.rows.append(self._row(item))
        self._lay()

    def read(self) -> list[dict[str, Any]]:
        """Every row that says something. Raises KitError for the first that is off."""
        read = [
            row.read(f"{self.kind} {k}") for k, row in enumerate(self.rows, start=1)
        ]
        return [item for item in read if item is not None]

    def _row(self, item: Mapping[str, Any]) -> TableRow:
        row = self.new_row(item)
        for control in row.controls:
            control.observe(lambda change: self._changed(change), "value")
        row.remove.on_click(lambda _: self._remove(row))
        return row

    def _remove(self, row: TableRow) -> None:
        self.rows.remove(row)
        self._lay()
        self._changed(None)

    def _lay(self) -> None:
        self.children = (*self.rows, self.add)


class SectionRow(TableRow):
    """A section: its stitch pattern's name, rows, row gauge and yarn per stitch."""

    def __init__(self, item: Mapping[str, Any], units: str = "metric") -> None:
        over, counted = COUNTS[units]
        self.name = widgets.Text(
            item.get("name", ""), description="Section", **_narrow(continuous=False)
        )
        self.n_rows = NumberField("Rows", **_narrow())
        self.height = NumberField(
            f"Rows in {over}", counted, placeholder="gauge", **_narrow()
        )
        self.factor = NumberField("Yarn, times", placeholder="1", **_narrow())
        self.n_rows.show(item.get("rows"))
        per_10cm = item.get("rows_per_10cm")
        self.height.show(per_10cm and check_key("gauge.rows_per_10cm", per_10cm))
        self.factor.show(item.get("yarn_factor"))
        super().__init__([self.name, self.n_rows, self.height, self.factor])

    def read(self, place: str) -> dict[str, Any]:
        values = {
            "name": self.name.value,
            "rows": _at(place, needed, self.n_rows),
            "rows_per_10cm": _at(place, NumberField.written, self.height),
            "yarn_factor": _at(place, NumberField.number, self.factor),
        }
        item = {key: value for key, value in values.items() if value is not None}
        _check_each("sections", {"name": "plain", "rows": 1}, item, place)
        return item


def section_item(section: Section, units: str) -> dict[str, Any]:
    """A section as blanket.toml would hold it in these units."""
    item: dict[str, Any] = {"name": section.name, "rows": section.rows}
    if section.rows_per_10cm is not None:
        item["rows_per_10cm"] = written(section.rows_per_10cm, COUNTS[units][1])
    if section.yarn_factor != 1:
        item["yarn_factor"] = section.yarn_factor
    return item


CARRIED = (
    ("all along", ""),
    ("in rows", "rows"),
    ("in a section", "section"),
    ("beside a family", "family"),
)


class CarryRow(TableRow):
    """A yarn carried along: which, and along which rows, section or family."""

    def __init__(
        self,
        item: Mapping[str, Any],
        yarns: Sequence[str],
        sections: Sequence[str],
    ) -> None:
        name = item.get("yarn", "")
        options = [("choose a yarn", ""), *((yarn, yarn) for yarn in yarns)]
        self.yarn = widgets.Dropdown(
            options=options,
            value=name if name in yarns else "",
            description="Carry",
            **_narrow(),
        )
        where = next((k for _, k in CARRIED if k and k in item), "")
        self.where = widgets.Dropdown(
            options=CARRIED, value=where, description="where", **_narrow()
        )
        self.first = NumberField("from row", **_narrow())
        self.last = NumberField("to row", **_narrow())
        first, last = item.get("rows") or (1, 40)
        self.first.show(first)
        self.last.show(last)
        self.section = _chosen("section", sections, item.get("section"))
        self.family = _chosen("family", FAMILIES, item.get("family"))
        super().__init__(
            [self.yarn, self.where, self.first, self.last, self.section, self.family]
        )
        self.where.observe(lambda _: self._show_where(), "value")
        self._show_where()

    def _show_where(self) -> None:
        """Only what belongs to the chosen kind of stretch is to be seen."""
        shown = {
            "rows": (self.first, self.last),
            "section": (self.section,),
            "family": (self.family,),
        }.get(self.where.value, ())
        for control in (self.first, self.last, self.section, self.family):
            control.layout.display = None if control in shown else "none"

    def read(self, place: str) -> dict[str, Any] | None:
        if not self.yarn.value:
            return None
        item: dict[str, Any] = {"yarn": self.yarn.value}
        if self.where.value == "rows":
            ends = (self.first, self.last)
            item["rows"] = [_at(place, needed, end) for end in ends]
        elif self.where.value == "section":
            if not self.section.options:
                says = "There is no section yet: add one above"
                raise KitError(Fault("missing", says=says, column=place))
            item["section"] = self.section.value
        elif self.where.value == "family":
            item["family"] = self.family.value
        _check_each("carry", {"yarn": "any"}, item, place)
        return item


def _narrow(continuous: bool = True) -> dict[str, Any]:
    more = {} if continuous else {"continuous_update": False}
    layout = widgets.Layout(width="auto", flex="1 1 150px", min_width="110px")
    return {"style": {"description_width": "initial"}, "layout": layout, **more}


def _chosen(words: str, options: Sequence[str], value: str | None) -> widgets.Dropdown:
    value = value if value in options else next(iter(options), None)
    return widgets.Dropdown(
        options=options, value=value, description=words, **_narrow()
    )


def _at(place: str, read: Callable[[NumberField], Any], field: NumberField) -> Any:
    """What a field of a table holds; its faults say in which row of the table it is."""
    try:
        return read(field)
    except KitError as error:
        column = f"{place}, {field.words}"
        raise KitError(f.at(column=column) for f in error.faults) from None


def _check_each(
    key: str, least: Mapping[str, Any], item: Mapping[str, Any], place: str
) -> None:
    """Check an item value by value, so that a fault names the one that is off."""
    for name, value in item.items():
        try:
            check_key(key, [{**least, name: value}])
        except KitError as error:
            column = f"{place}, {name.replace('_', ' ')}"
            raise KitError(
                f.at(column=column, found=_said(value)) for f in error.faults
            ) from None


def _said(value: Any) -> str:
    if isinstance(value, list):
        return " to ".join(map(str, value))
    return str(value) or "nothing"
