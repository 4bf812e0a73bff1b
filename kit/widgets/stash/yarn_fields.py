"""Fields for one yarn: its colours with a live swatch, and the cells of its row."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import ipywidgets as widgets

from kit.blanket import Yarn
from kit.blanket.stash_csv import DEFAULT_SURFACE, DEFAULT_WEIGHT
from kit.blanket.stash_file import with_first_colour
from kit.blanket.stash_rows import (
    AMOUNTS,
    LEFT_M,
    MASSES,
    PER_100G,
    ROLES,
    STYLES,
    SURFACES,
)
from kit.colour import family_of, mean_lab, read_mix, words_for
from kit.colour.families import FAMILIES
from kit.colour.mixes import hexes
from kit.errors import KitError
from kit.pictures import mix_svg
from kit.pictures.svg import drawing, rect
from kit.pictures.swatches import SURROUND
from kit.widgets.later import Later
from kit.widgets.lines import Wrapped
from kit.widgets.panel import svg_image
from kit.yarn.measures import GRAMS_PER_OUNCE, METRES_PER_YARD
from kit.yarn.weight_classes import WEIGHTS, typical_metres_per_100g

TYPED = {
    "name": ("Name", ""),
    "grams": ("Grams left", "blank: not weighed"),
    "ounces": ("Ounces left", "blank: not weighed"),
    "metres": ("Metres left", "only where measured"),
    "yards": ("Yards left", "only where measured"),
    "metres_per_100g": ("Metres in 100 g", ""),
    "yards_per_100g": ("Yards in 100 g", ""),
    "yards_per_oz": ("Yards in 1 oz", ""),
    "no": ("Number on its tag", ""),
    "fibre": ("Fibre", ""),
    "lot": ("Dye lot", ""),
    "care": ("Care", "superwash, hand wash …"),
    "notes": ("Notes", ""),
}
LISTED = {
    "weight": ("Weight", tuple(one.name for one in WEIGHTS)),
    "style": ("Style", STYLES),
    "surface": ("Surface", SURFACES),
    "family": ("Family", FAMILIES),
    "role": ("Role", ROLES),
}
WORDS = {"colours": "Colours"} | {k: w for k, (w, _) in (TYPED | LISTED).items()}
LEFT = ("name", *AMOUNTS, "no")
RIGHT = ("weight", "style", "surface", "family", "role")
BELOW = ("fibre", "lot", "care", "notes")
# Of these those that the file has are shown; where it has none, the first in a metric
# blanket and the second in an imperial one.
ONE_OF = (MASSES, LEFT_M, PER_100G)
REST_S = 1.0  # typing rests: what stands there is meant to stay, if it is a colour
STYLE = {"description_width": "125px"}
FULL = {"width": "100%", "max_width": "460px"}


class ColourField(widgets.VBox):
    """The `colours` cell as text, a live swatch in words, a picker for the first.

    The swatch follows every letter; `watch` tells what is meant to stay: Enter, a
    picked colour, or a colour at which the typing rests, since the page does not say
    when such a field is left.
    """

    def __init__(self) -> None:
        self.text = widgets.Text(
            description="Colours",
            placeholder="#c8cdd0 70%, #8fa3ad 30%, or a name",
            style=STYLE,
            layout=FULL,
        )
        self.picker = widgets.ColorPicker(
            concise=True, tooltip="Pick the first colour", layout={"width": "36px"}
        )
        self.swatch, self.words = svg_image(), Wrapped(48)
        self.swatch.layout = widgets.Layout(flex="0 0 auto", border="0")
        self._told: Callable[[], None] = lambda: None
        self._later, self._kept = Later(REST_S), ""
        self._filling = False
        self.text.observe(lambda _: self._typed(), "value")
        self.text.on_msg(self._heard)
        self.picker.observe(lambda change: self._picked(change.new), "value")
        first = widgets.HBox([self.text, self.picker])
        look = widgets.HBox([self.swatch, self.words], layout={"margin": "0 0 0 130px"})
        super().__init__([first, look])
        self._look()

    @property
    def value(self) -> str:
        return self.text.value

    def fill(self, text: str) -> None:
        """Show this text; nothing is told."""
        self._kept = text
        self.text.value = text
        self._later.forget()
        self._look()

    def watch(self, told: Callable[[], None]) -> None:
        self._told = told

    def _heard(self, _: Any, content: Mapping[str, Any], __: Any) -> None:
        if content.get("event") == "submit":
            self._keep()

    def _picked(self, colour: str) -> None:
        if self._filling:
            return
        text = with_first_colour(self.text.value, colour)
        if text != self.text.value:
            self.text.value = text
            self._keep()

    def _keep(self) -> None:
        self._later.forget()
        self._kept = self.text.value
        self._told()

    def _typed(self) -> None:
        self._look()
        if self.text.value != self._kept:
            self._later.ask(self._rests)

    def _rests(self) -> None:
        """Half a colour is not told; what it lacks stands beside it."""
        if self.text.value == self._kept:
            return
        try:
            read_mix(self.text.value)
        except KitError:
            return
        self._keep()

    def _look(self) -> None:
        """Draw what is typed, or say why it is no colour."""
        try:
            mix, _ = read_mix(self.text.value)
        except KitError as error:
            typed = self.text.value.strip()
            self.swatch.value = blank_swatch().encode()
            self.words.say(str(error).splitlines() if typed else ["no colour yet"])
            return
        lab = mean_lab(mix)
        self.swatch.value = mix_svg(mix).encode()
        self.words.say([f"L* {lab[0]:.0f}, {words_for(lab)}"])
        self._filling = True
        try:
            self.picker.value = hexes(mix)[0]
        finally:
            self._filling = False


def blank_swatch() -> str:
    """Neutral grey with nothing on it."""
    ground = rect(width=120, height=34, fill=SURROUND)
    return drawing(120, 34, "No colour yet", ground)


class YarnForm(widgets.VBox):
    """Every cell of one yarn's row, as text or from a list.

    `fill` shows a row, `changes` gives the cells that no longer say what it says.
    """

    def __init__(self) -> None:
        self.colours = ColourField()
        self.fields: dict[str, Any] = {
            column: _typed(words, hint) for column, (words, hint) in TYPED.items()
        }
        self.fields |= {
            column: widgets.Dropdown(description=words, style=STYLE, layout=FULL)
            for column, (words, _) in LISTED.items()
        }
        self.cells: dict[str, str] = {}
        self.units = "metric"
        self._filling = False
        left, right, below = (
            [self.fields[column] for column in columns]
            for columns in (LEFT, RIGHT, BELOW)
        )
        left.insert(1, self.colours)
        columns = widgets.HBox(
            [_column(left), _column([*right, *below])],
            layout={"flex_flow": "row wrap", "width": "100%"},
        )
        super().__init__([columns])

    def watch(self, told: Callable[[], None]) -> None:
        """Call `told` whenever a cell is meant to change."""

        def act(_: Any = None) -> None:
            if not self._filling:
                told()

        for field in self.fields.values():
            field.observe(act, "value")
        self.colours.watch(act)

    def fill(self, cells: Mapping[str, str], yarn: Yarn, units: str = "metric") -> None:
        """Show a row's cells; what is blank says what stands in for it."""
        self.cells, self.units = dict(cells), units
        self._filling = True
        try:
            self.colours.fill(cells.get("colours", ""))
            for column in TYPED:
                self.fields[column].value = cells.get(column, "")
            for column, (_, known) in LISTED.items():
                _offer(self.fields[column], cells.get(column, ""), known, column, yarn)
            typical = typical_metres_per_100g(yarn.label.weight)
            per_oz = METRES_PER_YARD * 100 / GRAMS_PER_OUNCE
            each = (1.0, METRES_PER_YARD, per_oz)
            for column, per in zip(PER_100G, each, strict=True):
                self.fields[column].placeholder = f"blank: {typical / per:.0f} assumed"
            self.fields["no"].placeholder = f"blank: {yarn.no}"
            for columns in ONE_OF:
                self._show_some(columns)
        finally:
            self._filling = False

    def clear(self) -> None:
        """Show no row at all."""
        self.cells, self._filling = {}, True
        try:
            self.colours.fill("")
            for column in TYPED:
                self.fields[column].value = ""
            for column in LISTED:
                self.fields[column].options = [("", "")]
                self.fields[column].value = ""
        finally:
            self._filling = False

    def put(self, cells: Mapping[str, str]) -> None:
        """Type these cells in; `told` does not hear of it."""
        self._filling = True
        try:
            for column, text in cells.items():
                _type(self.fields[column], text)
        finally:
            self._filling = False

    def changes(self) -> dict[str, str]:
        """The cells that differ from the row shown, as typed."""
        typed = {column: field.value for column, field in self.fields.items()}
        typed["colours"] = self.colours.value
        return {c: t for c, t in typed.items() if t != self.cells.get(c, "")}

    def _show_some(self, columns: Sequence[str]) -> None:
        there = [column for column in columns if column in self.cells]
        shown = there or [usual_of(columns, self.units)]
        for column in columns:
            self.fields[column].layout.display = None if column in shown else "none"


def usual_of(columns: Sequence[str], units: str) -> str:
    """Of columns for the same the one to begin: metric ones stand first.

    >>> usual_of(("grams", "ounces"), "imperial")
    'ounces'
    """
    return columns[units == "imperial"]


def _typed(words: str, hint: str) -> widgets.Text:
    return widgets.Text(
        description=words,
        placeholder=hint,
        continuous_update=False,
        style=STYLE,
        layout=FULL,
    )


def _column(fields: list[Any]) -> widgets.VBox:
    return widgets.VBox(fields, layout={"flex": "1 1 400px", "min_width": "320px"})


def _offer(
    field: widgets.Dropdown, text: str, known: tuple[str, ...], column: str, yarn: Yarn
) -> None:
    """The words of a list, and the file's own spelling where it is another."""
    options = [(f"blank: {_standing_in(column, yarn)}", "")]
    options += [(word, word) for word in dict.fromkeys((*known, *filter(None, [text])))]
    field.options = options
    field.value = text


def _type(field: Any, text: str) -> None:
    if isinstance(field, widgets.Dropdown) and text not in dict(field.options).values():
        field.options = (*field.options, (text, text))
    field.value = text


def _standing_in(column: str, yarn: Yarn) -> str:
    """What the kit takes where a cell is blank."""
    if column == "family":
        return f"{family_of(mean_lab(yarn.mix))} by its colour"
    if column == "style":
        return "solid, or variegated with several colours"
    return {"weight": DEFAULT_WEIGHT, "surface": DEFAULT_SURFACE, "role": "use"}[column]
