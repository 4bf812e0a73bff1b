"""The fabric desk: gauge, size, strands and pace, with the knitted blanket beside."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from kit.blanket import choose, save_choices
from kit.blanket.folder import blanket_in_view, open_without_gone
from kit.blanket.keys import as_toml, full_key
from kit.errors import Fault, KitError
from kit.needles import check_may_replace
from kit.plan import Plan, plan_blanket
from kit.plan.compose import takes_long
from kit.report import write_plan
from kit.report.report import fabric_lines
from kit.widgets.fabric.controls import FabricControls, section_item
from kit.widgets.fabric.view import (
    big_look,
    cast_ons,
    contrast_lines,
    gauge_lines,
    join_lines,
    near_look,
    small_look,
)
from kit.widgets.fields import PERCENT, SIZES, needed, written
from kit.widgets.later import Later
from kit.widgets.lines import messages_beside
from kit.widgets.saving import NOT_LOST

UNIT_AT_END = re.compile(r", (cm|in|%)$")


class FabricDesk(FabricControls):
    """One blanket's fabric under the knitter's hands.

    `which`, `gauge`, `size`, `strands`, `pace`, `sections`, `carried`, `layout`,
    `look`, `numbers` and `joins` are the parts a notebook shows, in any order. Every
    change is shown at once and saved to blanket.toml.
    """

    def __init__(self, folder: str | Path | None = None) -> None:
        super().__init__()
        self.later = Later()
        self._open(Path(folder) if folder else blanket_in_view())
        self._watch()

    def _watch(self) -> None:
        for key, field in self.fields.items():
            part = {"colours": "layout"}.get(key.split(".")[0], key.split(".")[0])
            self._on(field, part, partial(self._typed, key))
        for field in self.swatch.values():
            self._on(field, "gauge", self._swatch_typed)
        self._on(self.units, "gauge", self._units_chosen)
        self._on(self.until_end, "size", self._until_end)
        for button in self.cast_on:
            button.on_click(self._calm("size", partial(self._cast_on, button)))
        self._on(self.presets, "strands", self._preset)
        self._on(self.way, "pace", self._paced)
        self._on(self.rows, "pace", self._paced)
        self._on(self.layout_way, "layout", self._laid)
        self._on(self.sharing, "layout", self._laid)
        sections = self._calm("sections", self._sectioned)
        self.section_rows.watch(sections)
        self.section_rows.add.on_click(self._calm("sections", self._add_section))
        self.carry_rows.watch(self._calm("carried", self._carried))
        self.carry_rows.add.on_click(
            self._calm("carried", lambda: self.carry_rows.append({}))
        )
        told = messages_beside(self.messages)
        self.greys.observe(told(lambda _: self._draw()), "value")
        self.distance.observe(told(lambda _: self._draw()), "value")
        self.folder.observe(told(lambda change: self._chosen(change.new)), "value")
        self.again.on_click(told(lambda _: self._open(self.blanket.folder)))
        self.write.on_click(told(lambda _: self._write()))

    def _on(self, control: Any, part: str, act: Callable[[], None]) -> None:
        control.observe(self._calm(part, act), "value")

    def _calm(self, part: str, act: Callable[[], None]) -> Callable[..., Any]:
        """A callback whose faults are told in the part, in its controls' words."""

        def named(*_: Any) -> None:
            if self._filling:
                return
            try:
                act()
            except KitError as error:
                raise KitError(map(self._in_words, error.faults)) from None

        return messages_beside(self.sentences[part])(named)

    # --- what the controls do ---

    def _chosen(self, folder: Path) -> None:
        if not self._filling:
            self._open(folder)

    def _open(self, folder: Path) -> None:
        self.later.forget()
        self.blanket, self.unsaved, gone = open_without_gone(folder)
        self._show(plan_blanket(self.blanket))
        self._fill()
        self.open_plan.offer(self.blanket.folder / "plan" / "plan.html")
        self.messages.say([f"Open: {self.blanket.folder}", *gone])

    def _set(self, part: str, changes: Mapping[str, Any]) -> None:
        """Choices changed: show first, then save."""
        changed = choose(self.blanket, **changes)
        long = takes_long(changed.choices)  # then a first answer at once
        self._show(plan_blanket(changed, quick=long))
        self.blanket = changed
        self.unsaved |= {full_key(key): value for key, value in changes.items()}
        told = self._saved()
        if self.blanket.choices != changed.choices:  # the file was edited meanwhile
            self._show(plan_blanket(self.blanket, quick=long))
        self._fill()
        self.later.forget()
        if long:
            self.sentences[part].say(
                [*told, "A first answer; the full search follows."]
            )
            finish = partial(self._finish, part, told)
            self.later.ask(messages_beside(self.sentences[part])(finish))
        else:
            self.sentences[part].say(told)

    def _saved(self) -> list[str]:
        """Save what changed and whatever could not be saved before; in words."""
        try:
            self.blanket = save_choices(self.blanket, self.unsaved)
        except KitError as error:
            return [*str(error).splitlines(), NOT_LOST]
        self.unsaved = {}
        return ["Saved in blanket.toml."]

    def _finish(self, part: str, told: list[str]) -> None:
        self._show(plan_blanket(self.blanket))
        self.sentences[part].say(told)

    def _typed(self, key: str) -> None:
        table, typed = key.split(".")[0], self.fields[key].written()
        if self.fields[key].quantity is PERCENT and isinstance(typed, (int, float)):
            typed /= 100
        changes: dict[str, Any] = {key: typed}
        making = self.blanket.choices.making
        if getattr(making, table, ...) is None:  # the table begins: it needs both
            both = [k for k in self.fields if k.startswith(table)][:2]
            changes |= {k: self.fields[k].written() for k in both}
            if table == "size" and self.until_end.value:
                changes["size.length_cm"] = "all"
        self._set("layout" if table == "colours" else table, changes)

    def _swatch_typed(self) -> None:
        values = {key: field.written() for key, field in self.swatch.items()}
        missing = [self.swatch[k].words for k, v in values.items() if v is None]
        if 0 < len(missing) < len(values):
            says = f"A swatch needs all three; still blank: {'; '.join(missing)}"
            raise KitError(Fault("missing", says=says))
        self._set("gauge", {"gauge.swatch": None if missing else values})

    def _units_chosen(self) -> None:
        self._set("gauge", {"units": self.units.value})

    def _in_units(self, cm: float, n_digits: int) -> float | int | str | None:
        """A length rounded in the blanket's unit, as blanket.toml is to hold it."""
        _, quantity = SIZES[self.blanket.choices.units]
        bare = quantity.units[""]
        rounded = round(cm / bare, n_digits)
        whole = int(rounded) if rounded % 1 == 0 else rounded
        return written(round(whole * bare, 7), quantity) if bare != 1 else whole

    def _until_end(self) -> None:
        field, fabric = self.fields["size.length_cm"], self.plan.fabric
        if self.until_end.value:
            self._set("size", {"size.length_cm": "all"})
        elif fabric and fabric.rows:
            as_knitted = self._in_units(fabric.length_cm, 0)
            self._set("size", {"size.length_cm": as_knitted})
        else:
            field.disabled = False

    def _cast_on(self, button: widgets.Button) -> None:
        choice = cast_ons(self.plan)[self.cast_on.index(button)]
        if choice:
            self._set("size", {"size.width_cm": self._in_units(choice.width_cm, 2)})

    def _preset(self) -> None:
        if self.presets.value:
            self._set("strands", {"strands.fabric_tex": int(self.presets.value)})
        else:
            self.fields["strands.fabric_tex"].focus()

    def _paced(self) -> None:
        way = self.way.value
        self.rows.disabled = way == "use"
        if way != "use" and not self.rows.value.strip():
            self.rows.show(12 if way == "rows_per_colour" else 30)
        changes: dict[str, Any] = {"pace.rows_per_colour": None}
        changes |= {"pace.longest_rows": None}
        if way != "use":
            changes[f"pace.{way}"] = needed(self.rows)
        self._set("pace", changes)

    def _laid(self) -> None:
        ways = {"layout": self.layout_way.value, "sharing": self.sharing.value}
        now = self.blanket.choices.laying
        self._set("layout", {k: v for k, v in ways.items() if v != getattr(now, k)})

    def _add_section(self) -> None:
        name = f"section {len(self.section_rows.rows) + 1}"
        self.section_rows.append({"name": name, "rows": 20})
        self._sectioned()

    def _sectioned(self) -> None:
        """Sections changed; a yarn carried in one follows it to its new name."""
        making, items = self.blanket.choices.making, self.section_rows.read()
        changes: dict[str, Any] = {"sections": items or None}
        was, now = [s.name for s in making.sections], [item["name"] for item in items]
        if len(was) == len(now) and was != now and making.carry:
            new = dict(zip(was, now, strict=True))
            moved = (replace(c, section=new.get(c.section, "")) for c in making.carry)
            changes["carry"] = as_toml(moved)
        elif any(carry.section not in ("", *now) for carry in making.carry):
            units = self.blanket.choices.units
            self.section_rows.fill(section_item(s, units) for s in making.sections)
            says = "A yarn is carried in this section: carry it elsewhere first"
            raise KitError(Fault("in_use", says=says))
        self._set("sections", changes)

    def _carried(self) -> None:
        self._set("carried", {"carry": self.carry_rows.read() or None})

    def _write(self) -> None:
        """Write the plan from what is chosen now, saved or not, telling how far it has
        come."""
        target = self.blanket.folder / "plan"
        check_may_replace(self.blanket)
        self.progress.value, self.progress.layout.visibility = 0, "visible"
        try:
            self._step("Working the plan out …")
            plan = plan_blanket(self.blanket)
            self._step("Drawing the pictures and writing the pages: some seconds …")
            write_plan(plan, target)
            self.open_plan.offer(target / "plan.html")
            self._step(f"Written: {target / 'plan.html'}")
        finally:
            self.progress.layout.visibility = "hidden"

    def _step(self, words: str) -> None:
        self.progress.value += 1
        self.messages.say([words])

    # --- showing ---

    def _show(self, plan: Plan) -> None:
        """Numbers and the small picture first: the eye is on them."""
        self.plan = plan
        self.brief_lines.say(fabric_lines(plan))
        self._near = near_look(plan)
        self._draw()
        self.total_lines.say(fabric_lines(plan))
        self.gauge_lines.say(gauge_lines(plan))
        said = plan.fabric.sentences if plan.fabric else ()
        self.caution_lines.say([*said, *contrast_lines(plan)])
        self.join_lines.say(join_lines(plan))

    def _draw(self) -> None:
        grey, distance_m = self.greys.value, self.distance_m
        self.small.value = small_look(self.plan, self._near, grey=grey)
        self._big = big_look(self.plan, self._near, grey=grey, distance_m=distance_m)
        self.big.value = self._big.encode()

    def _in_words(self, fault: Fault) -> Fault:
        """The fault with its control's words in place of the file's key."""
        words, expected = fault.column, str(fault.expected)
        if words.startswith("pace."):
            words = "Rows"
        for key, field in self.fields.items():
            expected = expected.replace(key, f'"{field.words}"')
            if words in (key, field.words):
                words = UNIT_AT_END.sub("", field.words)
        return fault.at(column=words, file="", expected=expected)
