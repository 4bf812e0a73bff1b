"""A panel: the controls of one cell, with sentences beside them."""

from __future__ import annotations

import webbrowser
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from kit.widgets.lines import WIDE, Lines, messages_beside

STYLE = {"description_width": "150px"}


class Panel(widgets.VBox):
    """Controls in a column that leave a picture for readers without a kernel.

    `said` are the lines in which a panel tells what came of its controls. `still()`
    gives SVG text; a notebook opened where no widget can live shows it.
    """

    _filling = False

    def __init__(
        self,
        children: Iterable[Any],
        still: Callable[[], str] | None = None,
        *,
        said: Lines | None = None,
    ) -> None:
        super().__init__(list(children), layout=WIDE)
        self._still = still
        self.said = said or Lines()

    @contextmanager
    def set_by_program(self) -> Iterator[None]:
        """Controls set in here say what is chosen; no hand has changed them."""
        was, self._filling = self._filling, True
        try:
            yield
        finally:
            self._filling = was

    def calm(
        self, act: Callable[[], Any], said: Lines | None = None
    ) -> Callable[..., Any]:
        """A callback that acts where a hand was, not the program; what goes wrong is
        told in `said`, the panel's own lines where none are given."""

        def touched(*_: Any) -> None:
            if not self._filling:
                act()

        return messages_beside(said or self.said)(touched)

    def on(
        self,
        control: widgets.Widget,
        act: Callable[[], Any],
        trait: str = "value",
        *,
        said: Lines | None = None,
    ) -> None:
        """Act calmly when a hand changes a control or presses a button."""
        calm = self.calm(act, said)
        if isinstance(control, widgets.Button):
            control.on_click(calm)
        else:
            control.observe(calm, trait)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        bundle = super()._repr_mimebundle_(**kwargs)
        data, *rest = bundle if isinstance(bundle, tuple) else (bundle,)
        if self._still and data is not None:
            data = {**data, "image/svg+xml": self._still()}
        return (data, *rest) if rest else data


class OpenPlan(widgets.Button):
    """Opens a written plan in this computer's browser, to be read and printed."""

    def __init__(self, lines: Lines) -> None:
        super().__init__(description="Open the plan", disabled=True)
        self.tooltip = "Read and print it in the browser"
        self._page, self._lines = Path(), lines
        self.on_click(messages_beside(lines)(lambda _: self._show()))

    def offer(self, page: Path) -> None:
        self._page, self.disabled = page.resolve(), not page.is_file()

    def _show(self) -> None:
        if not webbrowser.open(self._page.as_uri()):
            self._lines.say([f"Open it in a browser: {self._page}"])


class Controls:
    """What a desk's controls share: whether a hand or the program sets them."""

    _filling = False

    @contextmanager
    def _set_by_program(self) -> Iterator[None]:
        """Controls set in here say what the files say; no hand has changed them."""
        was, self._filling = self._filling, True
        try:
            yield
        finally:
            self._filling = was


def svg_image(svg: str = "") -> widgets.Image:
    """A picture from SVG text. Shown as an image, so nothing in it can run."""
    return widgets.Image(
        value=svg.encode(), format="svg+xml", layout=widgets.Layout(max_width="100%")
    )
