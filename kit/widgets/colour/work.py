"""What follows from what hands choose: shown first, then saved, the long way aside."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from kit.arrangement.locked import arrange_rest
from kit.arrangement.manual import ManualOrder
from kit.blanket import choose, stash_path
from kit.blanket.choices import ORDER_WORDS
from kit.blanket.folder import open_without_gone
from kit.errors import Fault, KitError
from kit.files import digest
from kit.plan import Plan, plan_blanket
from kit.plan.compose import takes_long
from kit.widgets.colour.hands import hand_changes, played, played_words, rearranged
from kit.widgets.colour.state import Changes, ColourState, Turn, as_computed, opened
from kit.widgets.colour.strip import Act
from kit.widgets.later import Later
from kit.widgets.lines import Lines
from kit.widgets.saving import Saver
from kit.widgets.which import READ_AGAIN
from kit.widgets.worker import Worker, work_out

REST_S = 0.12  # the hands rest this long before pictures of fabric are made
SOON_S = 0.9
FABRIC = "Working the fabric out"
AT_ONCE = {"view", "jump_limit"}  # only the steps change: shown before all else
UNDONE = {"by", "order", "bridges", "bridges_kept", "accents"}  # in the strip


class ColourWork:
    """Holds the state, and hands every new one to `show`.

    What takes longer than a hand's move waits until the hands rest and is done aside;
    `tell` is given words while it goes on. `said` are the lines beside what was
    touched.
    """

    def __init__(
        self, show: Callable[[ColourState], None], tell: Callable[[str], None]
    ) -> None:
        self._state: ColourState | None = None
        self._show, self._tell = show, tell
        self.later, self.worker = Later(REST_S), Worker(self._tell_progress)
        self.full: Plan | None = None  # of what is chosen now, once it is known
        self._saver, self._seen, self._doing = Saver(), "", ""

    @property
    def state(self) -> ColourState:
        """What is known. Raises KitError where the blanket cannot be read."""
        if self._state is None:
            says = "The blanket cannot be read as it is"
            advice = f'Put it right, then press "{READ_AGAIN}".'
            raise KitError(Fault("no_blanket", says=says, advice=advice))
        return self._state

    def read(self, folder: Path, said: Lines) -> None:
        """Read a blanket's folder. Raises KitError, all as it was."""
        self.stop()
        blanket, unsaved, gone = open_without_gone(folder)
        long = takes_long(blanket.choices)
        plan = plan_blanket(blanket, quick=long)
        self._saver, self._seen = Saver(unsaved), digest(stash_path(folder))
        self._now(opened(blanket, plan))
        self.worker.ready()
        said.say([f"Open: {folder}", *gone])
        self._go_on(long, said)

    def whole_plan(self) -> Plan:
        """The plan of what is chosen now, saved or not."""
        return self.full or plan_blanket(self.state.blanket)

    def _now(self, state: ColourState) -> None:
        self._state = replace(state, said=None)
        self._show(state)

    # --- controls ---

    def choose(self, changes: Changes, said: Lines) -> None:
        """Choices changed by a control."""
        state = self.state
        if not (wished := changes(state)):
            return
        self.stop()
        state = replace(state, blanket=choose(state.blanket, **wished), said="")
        if wished.keys() <= AT_ONCE:
            self._now(state)
            self._save(wished, said)
            self.later.ask(partial(self._rest, said))
            return
        long = takes_long(state.choices)  # then a first answer at once
        planned = state.with_plan(plan_blanket(state.blanket, quick=long))
        if wished.keys() & UNDONE:
            turned = state.history.turn(planned.history.now)
            planned = replace(planned, history=turned)
        self._now(planned)
        self._save(wished, said)
        self._go_on(long, said)

    def try_out(self, changes: Changes, said: Lines) -> None:
        """Choices shown but not taken: no turn, and gone with the next change."""
        tried = choose(self.state.blanket, **changes(self.state))
        self.stop()
        shown = self.state.with_plan(plan_blanket(tried, quick=True))
        self._show(replace(shown, said="", tried=True))
        said.say(['Tried: "Keep it" keeps it, any other change takes it out again.'])

    def _save(self, changes: Mapping[str, Any], said: Lines) -> None:
        blanket, told = self._saver.save(self.state.blanket, changes)
        self._state = replace(self.state, blanket=blanket)
        said.say(told)

    def _go_on(self, long: bool, said: Lines) -> None:
        """After an answer: search on aside where it was only a first one."""
        if not long:
            self._settled()
            return
        self._doing = "A first answer stands; searching on"
        done = partial(self._found, said)
        self.worker.ask(work_out, self.state.blanket, False, done=done)

    def _settled(self) -> None:
        """The plan is the whole answer to what is chosen now."""
        self.full = self.state.plan
        self._now(replace(self.state, settled=True))

    # --- hands ---

    def act(self, act: Act, said: Lines) -> None:
        """One act of the page's strip."""
        state = self.state
        if act.kind in ("undo", "redo"):
            self._go_back(act.kind, said)
        elif act.kind == "computed":
            self.choose(as_computed, said)
            self._say("The computed order is back. Undo brings yours back.")
        elif act.kind == "anew":
            self._arrange(act.way, said)
        elif act.kind == "stop":
            self.stop()
            self._say("Stopped. What you see stays.")
        else:
            new = played(state, act)
            changes = hand_changes(state, new, act=act)
            self._turn(new, changes, played_words(state, act, new), said)

    def _say(self, words: str) -> None:
        self._now(replace(self.state, said=words))

    def _turn(
        self, new: ManualOrder, changes: dict[str, Any], words: str, said: Lines
    ) -> None:
        """A new state of the run, made by hand, and to be undone."""
        history = self.state.history
        if new == history.now.hand:
            self._say(words)
            return
        kept = dict(history.now.kept) | changes
        history = history.turn(Turn(new, tuple(kept.items())))
        self._keep(replace(self.state, history=history, said=words), changes, said)

    def _go_back(self, kind: str, said: Lines) -> None:
        was = self.state.history
        history = was.undone() if kind == "undo" else was.redone()
        if history is was:
            self._say(f"Nothing to {kind}.")
            return
        words = "Undone." if kind == "undo" else "Done again."
        state = replace(self.state, history=history, said=words)
        self._keep(state, dict(history.now.kept), said)

    def _keep(
        self, state: ColourState, changes: Mapping[str, Any], said: Lines
    ) -> None:
        """Choices that hands made: shown, saved, and the rest made later."""
        self.stop()
        self._now(replace(state, blanket=choose(state.blanket, **changes)))
        self._save(changes, said)
        self.later.ask(partial(self._rest, said))

    def _rest(self, said: Lines) -> None:
        """The hands rest: everything that follows from the run."""
        blanket = self.state.blanket
        if digest(stash_path(blanket.folder)) != self._seen:
            was = "The stash was changed since it was read here"
            said.say([f"{was}: {READ_AGAIN.lower()} to see it."])
        self._doing = FABRIC
        long = takes_long(blanket.choices)
        done = partial(self._rested, long, said)
        self.worker.ask(work_out, blanket, long, done=done, long=False)

    def _rested(self, long: bool, said: Lines, found: Any) -> None:
        self._found(said, found)
        if long:
            self.full = None
            self._go_on(long, said)

    # --- arranged anew ---

    def _arrange(self, way: str, said: Lines) -> None:
        """The yarns that are not locked, arranged anew; the work is done aside."""
        self.stop()
        state, choices = self.state, self.state.choices
        call = partial(
            arrange_rest,
            state.pool.line(state.hand.order),
            replace(choices.arranging, by=way),
            locked=state.hand.locked,
            pairs=state.hand.pairs,
            view=choices.judging.view,
        )
        self._doing = f"Arranging {ORDER_WORDS[way]}"
        self.worker.ask(call, done=partial(self._arranged, way, said))

    def _arranged(self, way: str, said: Lines, order: Any) -> None:
        self._tell_progress(None)
        if isinstance(order, Exception):
            self._say(f"This did not work ({order}).")
            return
        new, words = rearranged(self.state, order, way)
        changes = hand_changes(self.state, new) | {"by": way}  # what it is compared to
        self._turn(new, changes, words, said)

    # --- work aside ---

    def _found(self, said: Lines, found: Any) -> None:
        self._tell_progress(None)
        if isinstance(found, Exception):
            said.say(str(found).splitlines())
            return
        plan, small = found
        self._now(self.state.with_plan(plan, small))
        self._settled()

    def stop(self) -> None:
        """Whatever is being worked out or waits for rest is no longer wanted."""
        self.worker.drop()
        self.later.forget()
        self._tell_progress(None)
        self.full = None

    def _tell_progress(self, seconds: float | None) -> None:
        words = "" if seconds is None else f"{self._doing}: {seconds:.0f} s so far …"
        if self._doing == FABRIC and (seconds or 0) < SOON_S:
            words = ""  # no words for what is there at once
        self._tell(words)
