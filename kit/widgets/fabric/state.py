"""What the fabric desk knows at one moment, and what follows from a change of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from kit.blanket import Blanket, Choices, choose
from kit.blanket.folder import open_without_gone
from kit.plan import Plan, plan_blanket
from kit.plan.compose import takes_long
from kit.widgets.later import Later
from kit.widgets.lines import Lines, messages_beside
from kit.widgets.saving import Saver

ChooseFabric = Callable[[Mapping[str, Any], Lines], None]
FIRST = "A first answer; the full search follows."


@dataclass(frozen=True, slots=True)
class FabricState:
    """A blanket with what is chosen now, and the last plan worked out of it."""

    blanket: Blanket
    plan: Plan

    @property
    def choices(self) -> Choices:
        return self.blanket.choices


class FabricWork:
    """Holds the state, and hands every new one to `show`: plans first, then choices as
    they were saved."""

    state: FabricState  # once a blanket is read

    def __init__(self, show: Callable[[FabricState], None]) -> None:
        self._show, self.later, self._saver = show, Later(), Saver()

    def read(self, folder: Path, said: Lines) -> None:
        """Read a blanket's folder. Raises KitError, all as it was."""
        self.later.forget()
        blanket, unsaved, gone = open_without_gone(folder)
        self._now(FabricState(blanket, plan_blanket(blanket)))
        self._saver = Saver(unsaved)
        said.say([f"Open: {blanket.folder}", *gone])

    def choose(self, changes: Mapping[str, Any], said: Lines) -> None:
        """Choices changed by a control: shown, saved, and told in `said`."""
        changed = choose(self.state.blanket, **changes)
        long = takes_long(changed.choices)  # then a first answer at once
        plan = plan_blanket(changed, quick=long)
        self._now(replace(self.state, plan=plan))
        blanket, told = self._saver.save(changed, changes)
        if blanket.choices != changed.choices:  # the file was edited meanwhile
            plan = plan_blanket(blanket, quick=long)
        self._now(FabricState(blanket, plan))
        self.later.forget()
        said.say([*told, FIRST] if long else told)
        if long:
            self.later.ask(messages_beside(said)(partial(self._finish, told, said)))

    def _finish(self, told: list[str], said: Lines) -> None:
        self._now(replace(self.state, plan=plan_blanket(self.state.blanket)))
        said.say(told)

    def _now(self, state: FabricState) -> None:
        self.state = state
        self._show(state)
