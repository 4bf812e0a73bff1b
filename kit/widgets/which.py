"""Which blanket is open: the panel that all desks begin with."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from kit.blanket.whereabouts import blankets_beside
from kit.widgets.lines import Lines
from kit.widgets.panel import STYLE, WIDE, Panel

READ_AGAIN = "Read the files again"


class Which(Panel):
    """A list of the blankets that lie beside each other, and a button that reads the
    files of the open one again. `open_folder` is called for both."""

    def __init__(
        self,
        open_folder: Callable[[Path], None],
        *,
        said: Lines,
        beside: Iterable[Any] = (),
        below: Iterable[Any] = (),
        style: Mapping[str, str] = STYLE,
        layout: Any = WIDE,
    ) -> None:
        self.folder = widgets.Dropdown(
            description="Blanket", style=style, layout=layout
        )
        self.again = widgets.Button(description=READ_AGAIN, layout={"width": "180px"})
        self.path = Path()
        buttons = widgets.HBox([self.again, *beside], layout={"flex_flow": "row wrap"})
        super().__init__([self.folder, buttons, said, *below], said=said)
        self.on(self.folder, lambda: open_folder(self.folder.value))
        self.on(self.again, lambda: open_folder(self.path))

    def show(self, folder: Path) -> None:
        """List the blankets beside this one, which is open."""
        self.path = folder.resolve()
        with self.set_by_program():
            options = [(one.name, one) for one in blankets_beside(self.path)]
            if self.folder.options != tuple(options):
                self.folder.options = options
            self.folder.value = self.path
