"""Lines of plain text beside controls, and callbacks whose errors are told there."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import wraps
from textwrap import wrap
from typing import Any

import ipywidgets as widgets

from kit.errors import KitError

WIDE = widgets.Layout(width="100%")
UNIT = re.compile(r"(?<=\d) (?=(?:m|cm|mm|g|in|yd|oz|tex|%)(?!\w))")
CLOSE = "-9px 0 0 2px"  # lines of one sentence stand closer than sentences


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


class Wrapped(Lines):
    """Sentences broken into lines of so many letters: a label alone would cut them.
    A number keeps its unit beside it.

    `close`: sentences stand no farther apart than lines, as in a long list.
    """

    def __init__(
        self, n_letters: int, *, bold: bool = False, close: bool = False
    ) -> None:
        super().__init__()
        self.n_letters = n_letters
        self.weight = "bold" if bold else None
        self.next = widgets.Layout(margin=CLOSE)
        self.top = widgets.Layout()  # it would lie on what stands above
        self.first = self.next if close else self.top

    def say(self, lines: Iterable[str]) -> None:
        whole = (UNIT.sub("\u00a0", line) for line in lines)
        broken = [wrap(line, self.n_letters) for line in whole]
        super().say(part for parts in broken for part in parts)
        begins = [k == 0 for parts in broken for k in range(len(parts))]
        for k, (label, begin) in enumerate(zip(self.children, begins, strict=True)):
            label.layout = self.top if k == 0 else self.first if begin else self.next
            label.style.font_weight = self.weight


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
