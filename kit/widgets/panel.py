"""What the notebooks' controls share: pictures, lines of text, calm errors."""

from __future__ import annotations

import asyncio
import webbrowser
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import wraps
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from kit.errors import KitError

WIDE = widgets.Layout(width="100%")
STYLE = {"description_width": "150px"}
NOT_LOST = "Nothing is lost: it stays here and is saved with the next change."


class Panel(widgets.VBox):
    """Controls in a column that leave a picture for readers without a kernel.

    `still()` gives SVG text; a notebook opened where no widget can live shows it.
    """

    def __init__(
        self, children: Iterable[Any], still: Callable[[], str] | None = None
    ) -> None:
        super().__init__(list(children), layout=WIDE)
        self._still = still

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        bundle = super()._repr_mimebundle_(**kwargs)
        data, *rest = bundle if isinstance(bundle, tuple) else (bundle,)
        if self._still and data is not None:
            data = {**data, "image/svg+xml": self._still()}
        return (data, *rest) if rest else data


class Lines(widgets.VBox):
    """Lines of plain text: names in them are never taken for markup."""

    def say(self, lines: Iterable[str]) -> None:
        lines = list(lines)
        labels: tuple[Any, ...] = self._trait_values["children"]
        for label, line in zip(labels, lines, strict=False):
            label.value = line
        kept = labels[: len(lines)]
        new = [widgets.Label(line, layout=WIDE) for line in lines[len(kept) :]]
        if new or len(kept) != len(labels):
            self.children = (*kept, *new)


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


class Later:
    """One call, made when nobody has asked for another for a while.

    For work too long for a slider: the page stays quick, and the last wish is served.
    Where no event loop runs (outside a notebook) the call is made at once.
    """

    def __init__(self, wait_s: float = 0.6) -> None:
        self._wait_s = wait_s
        self._asked: asyncio.TimerHandle | None = None

    def ask(self, call: Callable[[], Any]) -> None:
        self.forget()
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            call()
        else:
            self._asked = loop.call_later(self._wait_s, call)

    def forget(self) -> None:
        if self._asked:
            self._asked.cancel()
            self._asked = None


def svg_image(svg: str = "") -> widgets.Image:
    """A picture from SVG text. Shown as an image, so nothing in it can run."""
    return widgets.Image(
        value=svg.encode(), format="svg+xml", layout=widgets.Layout(max_width="100%")
    )


def messages_beside(lines: Lines) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Callbacks whose errors appear as a sentence beside the control."""

    def wrap(callback: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(callback)
        def calm(*args: Any) -> None:
            try:
                callback(*args)
            except KitError as error:
                lines.say(str(error).splitlines())
            except Exception as error:  # else it shows only in a log
                lines.say([f"This did not work ({type(error).__name__}: {error})."])

        return calm

    return wrap
