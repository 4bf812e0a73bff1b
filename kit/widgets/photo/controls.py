"""The controls of the photo desk and the parts a notebook shows them in."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from kit.widgets.lines import Wrapped
from kit.widgets.panel import STYLE, Controls, Panel, svg_image
from kit.widgets.photo.picker import PhotoPicker
from kit.widgets.plain_table import PlainTable
from kit.widgets.stash.yarn_fields import FULL

MOST_UPLOAD_MB = 8  # far larger ones are lost on the way by some servers, silently
WAYS = (
    ("nothing", "none"),
    ("grey card", "grey card"),
    ("white paper", "white paper"),
    ("24-patch target", "target"),
)
HEADINGS = ["no.", "name", "colours", "style", "L*", "± ΔE00", "to mind"]
BESIDE = {"flex_flow": "row wrap", "width": "100%"}
NOTHING = ""


class PhotoControls(Controls):
    """What a hand can touch, and what it sees.

    `which`, `regions`, `found`, `greys` and `swatch` are the parts a notebook shows.
    `undo` is the stash desk's button, shown here as well.
    """

    def __init__(self, undo: widgets.Button) -> None:
        self._make_controls()
        self._make_parts(undo)

    def _make_controls(self) -> None:
        self.photo = widgets.Dropdown(description="Photo", style=STYLE, layout=FULL)
        self.again = _button("Look for photos again")
        self.upload = widgets.FileUpload(
            accept=".jpg,.jpeg,.png,.webp",
            description="Upload a small one",
            layout={"width": "200px"},
        )
        self.picker = PhotoPicker()
        self.way = widgets.ToggleButtons(
            options=WAYS, description="Corrected by", style=STYLE
        )
        self.table = PlainTable(
            caption="Found on the photo", columns=HEADINGS, numbers=[0, 4, 5]
        )
        self.add = _button("Add to the stash", button_style="primary")
        self.renew = _button(
            "Replace their colours", disabled=True, layout={"width": "220px"}
        )
        self.true_greys, self.phone_greys = (
            widgets.Image(format="png", layout={"flex": "1 1 420px", "min_width": "0"})
            for _ in range(2)
        )
        self.draw = _button("Draw them anew")
        self.place = widgets.Dropdown(
            description="Swatch on the photo", style=STYLE, layout=FULL
        )
        self.strands = widgets.SelectMultiple(
            description="Strands held", style=STYLE, layout=FULL, rows=7
        )
        self.seen, self.expected = svg_image(), svg_image()
        self.messages, self.way_lines, self.ready = (Wrapped(120) for _ in range(3))
        self.added, self.compared = Wrapped(120), Wrapped(110)
        self.grey_lines = Wrapped(110)

    def _make_parts(self, undo: widgets.Button) -> None:
        row = widgets.HBox
        self.which = Panel(
            [self.photo, row([self.again, self.upload], layout=BESIDE), self.messages]
        )
        self.regions = Panel([self.picker, self.way, self.way_lines])
        buttons = row([self.add, self.renew, undo], layout=BESIDE)
        self.found = Panel([self.table, self.ready, buttons, self.added])
        self.grey_row = row(layout=BESIDE)  # filled once they are drawn
        self.greys = Panel([self.grey_row, row([self.draw, self.grey_lines])])
        for swatch in (self.seen, self.expected):
            swatch.layout = widgets.Layout(width="240px")
        swatches = [
            _captioned("On the photo", self.seen),
            _captioned("Predicted", self.expected),
        ]
        beside = row(swatches, layout={"width": "540px"})
        self.swatch = Panel([self.place, self.strands, beside, self.compared])


def _button(words: str, **more: Any) -> widgets.Button:
    return widgets.Button(description=words, **{"layout": {"width": "180px"}, **more})


def _captioned(words: str, image: widgets.Image) -> widgets.VBox:
    return widgets.VBox([widgets.Label(words), image], layout={"flex": "1 1 250px"})
