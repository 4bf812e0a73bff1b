"""The colour desk's controls: made, laid out in parts, set to what the files say."""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from pathlib import Path

import ipywidgets as widgets

from kit.blanket import Choices
from kit.blanket.choices import BY_HAND, LAYOUTS
from kit.blanket.folder import blankets_beside
from kit.pictures.swatches import SURROUND
from kit.widgets.colour.remedies import Remedies
from kit.widgets.colour.strip import Act, Strip
from kit.widgets.fields import Wrapped
from kit.widgets.panel import STYLE, WIDE, Controls, OpenPlan, Panel, svg_image

ARRANGEMENTS = (
    ("by family", "family"),
    ("by value", "value"),
    ("smoothest", "smoothest"),
    ("by hand", BY_HAND),
)
SLACKS = [
    *((f"{slack} L*", float(slack)) for slack in range(2, 41, 2)),
    ("no rule", inf),
]
PARTS = ("order", "look", "kept_steps", "bridges")
READ_AGAIN = "Read the files again"


class ColourControls(Controls):
    """Every control of the desk and the parts a notebook shows; what they do is not
    said here. `which`, `order`, `look`, `from_far`, `cloth`, `numbers`, `moves`,
    `kept_steps`, `bridges` and `second` are the parts."""

    def __init__(self, act: Callable[[Act], None], still: Callable[[], str]) -> None:
        self.messages = Wrapped(120)
        self.sentences = {part: Wrapped(120, bold=True) for part in PARTS}
        self.strip = Strip(act)
        self.remedies = Remedies()
        self._make_controls()
        self._make_bridging()
        self._make_parts(still)

    def _make_controls(self) -> None:
        self.folder = widgets.Dropdown(description="Blanket", style=STYLE, layout=WIDE)
        self.again = widgets.Button(description=READ_AGAIN, layout={"width": "180px"})
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
        self.view = slider("In the hand … across the room", 0, 1, 0.05)
        self.jump_limit = slider("A jump is over", 5, 60, 1)
        self.accents = widgets.SelectMultiple(rows=8, layout=WIDE)

    def _make_bridging(self) -> None:
        self.place = widgets.Dropdown(description="Between", style=STYLE, layout=WIDE)
        self.yarn = widgets.Dropdown(description="Put in", style=STYLE, layout=WIDE)
        self.try_it = widgets.Button(description="Try it")
        self.keep_it = widgets.Button(description="Keep it")
        self.take_out = widgets.Button(description="Take bridges out")
        self.most_bridges = widgets.IntSlider(
            1, 0, 3, description="Bridges put in", style=STYLE, layout=WIDE
        )

    def _make_parts(self, still: Callable[[], str]) -> None:
        self.far, self.greys = svg_image(), svg_image()
        self.small = widgets.Image(format="png")
        self.small.layout = widgets.Layout(
            border=f"6px solid {SURROUND}", align_self="flex-start", flex="0 0 auto"
        )
        self.totals = Wrapped(70)
        self.totals.layout = widgets.Layout(margin="0 0 0 12px")
        self.lines, self.breaks = Wrapped(120), Wrapped(120, close=True)
        self.bridge_lines = Wrapped(120)
        self.open_plan = OpenPlan(self.messages)
        buttons = widgets.HBox([self.again, self.write, self.open_plan])
        trial = widgets.HBox([self.try_it, self.keep_it, self.take_out])
        said = self.sentences
        self.which = Panel([self.folder, buttons, self.messages])
        self.order = Panel([self.by, self.layout, self.value_slack, said["order"]])
        sliders = [self.view, self.jump_limit]
        self.look = Panel([self.strip, *sliders, said["look"]], still)
        self.from_far = Panel([self.far, self.greys])
        self.cloth = Panel([widgets.HBox([self.small, self.totals])])
        self.numbers = Panel([self.lines, self.breaks])
        self.kept_steps = Panel([self.accents, said["kept_steps"]])
        bridging = [self.most_bridges, self.place, self.yarn, trial]
        remedies = self.remedies
        told = [said["bridges"], self.bridge_lines, remedies.gaps]
        self.bridges = Panel([*bridging, widgets.HBox([remedies.shortlist]), *told])
        self.moves = Panel([remedies.moves])
        self.second = Panel([remedies.opinion])

    # --- filling ---

    def _fill_folders(self, folder: Path) -> None:
        with self._set_by_program():
            self.folder.options = [(one.name, one) for one in blankets_beside(folder)]
            self.folder.value = folder

    def _fill(self, choices: Choices) -> None:
        """Set every control to what the choices say."""
        arranging = choices.arranging
        with self._set_by_program():
            self.by.value = BY_HAND if arranging.order else arranging.by
            self.layout.value = choices.laying.layout
            self.value_slack.value = _nearest_slack(arranging.value_slack)
            self.value_slack.disabled = self.by.value != "smoothest"
            self.view.value = choices.judging.view
            self.jump_limit.value = choices.judging.jump_limit
            self.most_bridges.value = min(choices.bridging.bridges, 3)

    def _hush(self) -> None:
        """Sentences beside the controls are settled."""
        for lines in self.sentences.values():
            lines.say([])


def _nearest_slack(slack: float) -> float:
    """The slider's own position nearest to what the file says."""
    known = [known for _, known in SLACKS]
    return slack if slack in known else min(known, key=lambda one: abs(one - slack))


def slider(words: str, low: float, high: float, step: float) -> widgets.FloatSlider:
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
