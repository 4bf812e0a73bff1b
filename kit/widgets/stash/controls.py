"""What the panels of the stash desk share: how they are shown, and what is said where
nothing was saved."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as widgets

from kit.blanket import Yarn
from kit.blanket.stash_rows import MASSES
from kit.errors import KitError
from kit.files.folders import STASH
from kit.widgets.lines import Lines
from kit.widgets.panel import Panel
from kit.widgets.stash.state import NONE, StashState
from kit.widgets.stash.yarn_fields import FULL, STYLE, usual_of
from kit.widgets.which import READ_AGAIN

UNDO = "Undo the last change"
NOT_SAVED = f"Nothing was saved: {STASH} is as it was."
NO_OTHER = ("no other", NONE)


class StashPanel(Panel):
    """`fill` shows what follows from the stash, `mark` which yarn is chosen."""

    _shown: StashState | None = None

    @property
    def state(self) -> StashState:
        assert self._shown is not None
        return self._shown

    def show(self, state: StashState) -> None:
        was, self._shown = self._shown, state
        with self.set_by_program():
            if was is None or was.file is not state.file:
                self.fill(state)
            self.mark(state)

    def fill(self, state: StashState) -> None:
        """Everything that follows from the stash; bare where there is none."""

    def mark(self, state: StashState) -> None:
        """What follows from the choice of a yarn."""

    def calm(
        self, act: Callable[[], Any], said: Lines | None = None
    ) -> Callable[..., Any]:
        """Where another program was at the file, the way out is told."""
        lines = said or self.said

        def told() -> None:
            try:
                act()
            except KitError as error:
                lines.say(why_not(error))

        return super().calm(told, lines)


def why_not(error: KitError) -> list[str]:
    """What was wrong; where another program was there, the way out."""
    if any(fault.code == "changed_elsewhere" for fault in error.faults):
        return [
            f"{STASH} was changed in another program since it was read here. That "
            "change stays, yours is not saved.",
            f'Press "{READ_AGAIN}", then make your change once more.',
        ]
    return str(error).splitlines()


def amount_column(state: StashState) -> str:
    """The column in which the file has what is left, or would have it."""
    columns = state.file.stash.table.columns if state.file else ()
    there = [column for column in MASSES if column in columns]
    return there[0] if there else usual_of(MASSES, state.units)


def button(words: str, **more: Any) -> widgets.Button:
    layout = {"width": "180px"}
    return widgets.Button(description=words, **{"layout": layout, **more})


def text_field(words: str, hint: str = "") -> widgets.Text:
    return widgets.Text(description=words, placeholder=hint, style=STYLE, layout=FULL)


def toggles(words: str, options: Sequence[tuple[str, str]]) -> widgets.ToggleButtons:
    style = {"description_width": "150px"}
    return widgets.ToggleButtons(options=options, description=words, style=style)


def like_list() -> widgets.Dropdown:
    """A list of yarns that another one is the same as."""
    return widgets.Dropdown(
        options=[NO_OTHER], description="The same as", style=STYLE, layout=FULL
    )


def offer(likes: widgets.Dropdown, yarns: Sequence[Yarn]) -> None:
    """List these yarns; the place that was chosen stays chosen where there is one."""
    was, likes.options = likes.value, [NO_OTHER, *numbered(yarns)]
    likes.value = was if was in range(len(yarns)) else NONE


def numbered(yarns: Sequence[Yarn]) -> list[tuple[str, int]]:
    """Yarns as a list shows them, each with its place in the file."""
    return [(f"{yarn.no} · {yarn.name}", k) for k, yarn in enumerate(yarns)]
