"""The colour desk: choose how the yarns run, and see steps and pictures follow."""

from __future__ import annotations

from math import inf
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from kit.blanket import (
    Blanket,
    Plan,
    blanket_in_view,
    blankets_beside,
    choose,
    open_blanket,
    plan_blanket,
    save_choices,
    takes_long,
)
from kit.choices import LAYOUTS
from kit.design import jumps
from kit.report import jump_lines, summary, write_plan
from kit.swatches import run_svg, strip_svg
from kit.widgets.parts import STYLE, WIDE, Later, Lines, Part, picture, said_beside

ARRANGEMENTS = (
    ("by family", "family"),
    ("by value", "value"),
    ("smoothest", "smoothest"),
)
SLACKS = [
    *((f"{slack} L*", float(slack)) for slack in range(2, 41, 2)),
    ("no rule", inf),
]
NOTHING = ("nothing chosen", "")


class ColourDesk:
    """One blanket's colours under the knitter's hands.

    `which`, `order`, `look`, `numbers`, `kept_steps` and `bridges` are the parts a
    notebook shows, in any order. Every change is saved to blanket.toml.
    """

    def __init__(self, folder: str | Path | None = None) -> None:
        self.messages, self.later = Lines(), Later()
        self._filling = False  # controls are being set from the files, not by hand
        self._make_controls()
        self._make_parts()
        self._open(Path(folder) if folder else blanket_in_view())
        self._watch()

    # --- controls ---

    def _make_controls(self) -> None:
        self.folder = widgets.Dropdown(description="Blanket", style=STYLE, layout=WIDE)
        self.again = widgets.Button(description="Read the files again")
        self.write = widgets.Button(
            description="Write the plan", button_style="primary"
        )
        self.by = widgets.ToggleButtons(
            options=ARRANGEMENTS, description="Arranged", style=STYLE
        )
        self.layout = widgets.ToggleButtons(
            options=LAYOUTS, description="Runs", style=STYLE
        )
        self.value_slack = widgets.SelectionSlider(
            options=SLACKS,
            value=20.0,
            description="Out of value order by",
            style=STYLE,
            layout=WIDE,
        )
        self.view = _slider("In the hand … across the room", 0, 1, 0.05)
        self.jump_limit = _slider("A jump is over", 5, 60, 1)
        self.accents = widgets.SelectMultiple(rows=8, layout=WIDE)
        self.place = widgets.Dropdown(description="Between", style=STYLE, layout=WIDE)
        self.yarn = widgets.Dropdown(description="Put in", style=STYLE, layout=WIDE)
        self.try_it = widgets.Button(description="Try it")
        self.keep_it = widgets.Button(description="Keep it")
        self.take_out = widgets.Button(description="Take bridges out")
        self.most_bridges = widgets.IntSlider(
            1, 0, 3, description="Put in by itself", style=STYLE, layout=WIDE
        )

    def _make_parts(self) -> None:
        self.run, self.strip, self.greys = picture(), picture(), picture()
        self.lines, self.breaks, self.bridge_lines = Lines(), Lines(), Lines()
        buttons = widgets.HBox([self.again, self.write])
        trial = widgets.HBox([self.try_it, self.keep_it, self.take_out])
        self.which = Part([self.folder, buttons, self.messages])
        self.order = Part([self.by, self.layout, self.value_slack])
        self.look = Part([self.run, self.view, self.jump_limit], lambda: self._svg)
        self.from_far = Part([self.strip, self.greys])
        self.numbers = Part([self.lines, self.breaks])
        self.kept_steps = Part([self.accents])
        self.bridges = Part(
            [self.most_bridges, self.place, self.yarn, trial, self.bridge_lines]
        )

    def _watch(self) -> None:
        calm = said_beside(self.messages)
        saved = ("by", "layout", "value_slack", "view", "jump_limit")
        for key in saved:
            control = getattr(self, key)
            control.observe(
                calm(lambda change, key=key: self._set(key, change.new)), "value"
            )
        self.most_bridges.observe(calm(lambda c: self._set("bridges", c.new)), "value")
        self.accents.observe(calm(self._accents_chosen), "value")
        self.folder.observe(calm(lambda change: self._open(change.new)), "value")
        self.place.observe(calm(lambda _: self._list_bridges()), "value")
        self.again.on_click(calm(lambda _: self._open(self.blanket.folder)))
        self.write.on_click(calm(lambda _: self._write()))
        self.try_it.on_click(calm(lambda _: self._try()))
        self.keep_it.on_click(calm(lambda _: self._keep()))
        self.take_out.on_click(calm(lambda _: self._take_out()))

    # --- what the controls do ---

    def _open(self, folder: Path) -> None:
        self.later.forget()
        self.blanket: Blanket = open_blanket(folder)
        self._filling = True
        try:
            self._fill(Path(folder).resolve())
        finally:
            self._filling = False
        self._show(plan_blanket(self.blanket))
        self.messages.say([f"Open: {self.blanket.folder}"])

    def _fill(self, folder: Path) -> None:
        """Set every control to what the files say."""
        choices = self.blanket.choices
        self.folder.options = [(path.name, path) for path in blankets_beside(folder)]
        self.folder.value = folder
        self.by.value = choices.arranging.by
        self.layout.value = choices.laying.layout
        self.value_slack.value = _nearest_slack(choices.arranging.value_slack)
        self.view.value = choices.judging.view
        self.jump_limit.value = choices.judging.jump_limit
        self.most_bridges.value = min(choices.bridging.bridges, 3)

    def _set(self, key: str, value: Any) -> None:
        """One choice changed: show first, then save."""
        if self._filling:
            return
        written = "none" if value == inf else value
        changed = choose(self.blanket, **{key: written})
        long = takes_long(changed.choices)  # then a first answer at once
        self._show(plan_blanket(changed, quick=long))
        self.blanket = save_choices(self.blanket, {key: written})
        self.later.forget()
        if long:
            self.messages.say(["Saved. A first answer; the full search follows."])
            self.later.ask(said_beside(self.messages)(self._finish))
        else:
            self.messages.say(["Saved in blanket.toml."])

    def _finish(self) -> None:
        self._show(plan_blanket(self.blanket))
        self.messages.say(["Saved in blanket.toml."])

    def _accents_chosen(self, change: Any) -> None:
        self._set("accents", [list(pair) for pair in change.new])

    def _write(self) -> None:
        write_plan(plan_blanket(self.blanket), self.blanket.folder / "plan")
        self.messages.say([f"Written: {self.blanket.folder / 'plan' / 'plan.html'}"])

    # --- bridges ---

    def _list_bridges(self) -> None:
        """The candidates for the chosen place, best first."""
        options = [NOTHING]
        for one in self.plan.design.suggestions:
            if (one.after.name, one.before.name) == self.place.value:
                options += [
                    (f"{yarn.name} ({source}): leaves {step:.1f}", yarn.name)
                    for yarn, source, step in one.candidates
                ]
        self.yarn.options = options
        self.yarn.value = ""

    def _chosen(self) -> list[dict[str, str]]:
        kept = [
            {"yarn": one.yarn, "after": one.after, "before": one.before}
            for one in self.blanket.choices.bridging.bridges_kept
        ]
        if self.yarn.value:
            after, before = self.place.value
            kept.append({"yarn": self.yarn.value, "after": after, "before": before})
        return kept

    def _try(self) -> None:
        self.later.forget()
        self._show(plan_blanket(choose(self.blanket, bridges_kept=self._chosen())))
        self.messages.say(["Tried, not kept: any other change takes it out again."])

    def _keep(self) -> None:
        self._set("bridges_kept", self._chosen())

    def _take_out(self) -> None:
        self._set("bridges_kept", None)
        self.most_bridges.value = 0

    # --- showing ---

    def _show(self, plan: Plan) -> None:
        self.plan, design = plan, plan.design
        best = design.arrangement.best
        limit = plan.choices.judging.jump_limit
        self._svg = run_svg(design, limit=limit, best=best.largest if best else None)
        self.run.value = self._svg.encode()
        self.strip.value = strip_svg(design.laid.yarns).encode()
        self.greys.value = strip_svg(design.laid.yarns, grey=True, height=20).encode()
        self.lines.say(summary(plan))
        self.breaks.say(self._break_lines())
        self._offer()
        self.value_slack.disabled = design.arrangement.by != "smoothest"

    def _break_lines(self) -> list[str]:
        worst = jump_lines(self.plan)
        return (
            ["Where the flow breaks, worst first:", *worst]
            if worst
            else ["No step breaks the flow."]
        )

    def _offer(self) -> None:
        """Fill the lists of steps to keep and places to bridge."""
        design, was = self.plan.design, self._filling
        self._filling = True
        try:
            names = [yarn.name for yarn in design.laid.yarns]
            kept = [tuple(pair) for pair in self.plan.choices.judging.accents]
            places = dict.fromkeys(
                [*kept, *((names[k], names[k + 1]) for k in jumps(design.steps))]
            )
            self.accents.options = [(f"{a} → {b}", (a, b)) for a, b in places]
            self.accents.value = kept
            gaps = [(one.after.name, one.before.name) for one in design.suggestions]
            sizes = [f" ({one.step:.1f})" for one in design.suggestions]
            chosen = self.place.value
            self.place.options = [
                (" → ".join(gap) + size, gap)
                for gap, size in zip(gaps, sizes, strict=True)
            ]
            self.place.value = chosen if chosen in gaps else next(iter(gaps), None)
            self._list_bridges()
        finally:
            self._filling = was
        self.bridge_lines.say(
            [
                line
                for line in summary(self.plan)
                if line.startswith(("Bridge", "No bridge"))
            ]
        )


def _nearest_slack(slack: float) -> float:
    """The slider's own position nearest to what the file says."""
    known = [known for _, known in SLACKS]
    return slack if slack in known else min(known, key=lambda one: abs(one - slack))


def _slider(words: str, low: float, high: float, step: float) -> widgets.FloatSlider:
    return widgets.FloatSlider(
        low,
        min=low,
        max=high,
        step=step,
        description=words,
        style={"description_width": "210px"},
        layout=WIDE,
        readout_format=".2f" if high <= 1 else ".0f",
    )
