"""What the panels of the needles desk are made of."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import ipywidgets as widgets

from kit.widgets.panel import STYLE

NARROW = widgets.Layout(width="420px")


def choice(words: str) -> widgets.Dropdown:
    return widgets.Dropdown(description=words, style=STYLE, layout=NARROW)


def main_button(words: str, **more: Any) -> widgets.Button:
    return widgets.Button(description=words, button_style="primary", **more)


def in_line(*children: Any) -> widgets.HBox:
    """Controls beside each other, below each other where there is no room."""
    return widgets.HBox(children, layout=widgets.Layout(flex_flow="row wrap"))


def offer(listed: widgets.Dropdown, options: Iterable[tuple[str, str]]) -> None:
    """Options for a list; what was chosen stays chosen where it is still offered."""
    options, was = list(options), listed.value
    listed.options = options
    values = [value for _, value in options]
    listed.value = was if was in values else next(iter(values), None)
