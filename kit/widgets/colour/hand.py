"""The run under the knitter's hands: moves, their undoing, and what is kept of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from kit.arrangement.locked import arrange_rest
from kit.arrangement.manual import (
    ManualOrder,
    bring_back,
    leave_out,
    move,
    put_bridge,
    put_in_order,
    shift,
    switch_lock,
    switch_tie,
)
from kit.blanket import choose, save_choices
from kit.blanket.choices import ORDER_WORDS
from kit.blanket.keys import as_toml, full_key
from kit.errors import KitError
from kit.plan import Plan
from kit.widgets.aside import Aside
from kit.widgets.colour.strip import END, Act
from kit.widgets.colour.strip_rows import act_said, best_place, line_steps, steps_said
from kit.widgets.colour.strip_show import StripShow, Turn
from kit.widgets.panel import NOT_LOST, Later

REST_S = 0.12  # the hands rest this long before pictures of fabric are made
SOON_S = 0.9
FABRIC = "Working the fabric out"


class HandPlay(StripShow):
    """What hands do to the strip. Numbers come first, then the pictures of the run,
    then the file; all that takes longer waits until the hands rest."""

    def __init__(self, still: Callable[[], str]) -> None:
        super().__init__(self._acted, still)
        self.later = Later(REST_S)
        self.aside = Aside(self._tell_progress)
        self.unsaved: dict[str, Any] = {}  # by full key: what no file has yet
        self.full: Plan | None = None  # of what is chosen now, once it is known
        self._doing = ""

    def _acted(self, act: Act) -> None:
        """One act of the page; what cannot be is told in the strip's own line."""
        try:
            self._ready()
            self._do(act)
        except KitError as error:
            self.strip.show(sentences=" ".join(str(error).splitlines()))
        except Exception as error:  # else it shows only in a log
            name = type(error).__name__
            self.strip.show(sentences=f"This did not work ({name}: {error}).")

    def _do(self, act: Act) -> None:
        if act.kind in ("undo", "redo"):
            self._go_back(act.kind)
        elif act.kind == "computed":
            self._set("look", {"order": None, "locked": None})
            self.strip.show(
                sentences="The computed order is back. Undo brings yours back."
            )
        elif act.kind == "anew":
            self._arrange_anew(act.way)
        elif act.kind == "stop":
            self._stop()
            self.strip.show(sentences="Stopped. What you see stays.")
        else:
            self._play(act)

    def _play(self, act: Act) -> None:
        """A yarn or bridge was moved, locked, tied, left out, brought back, put in."""
        hand, names = self.history.now.hand, list(self.every)
        name = names[act.yarn]
        before = None if act.before == END else names[act.before]
        if act.kind == "place":
            before = self._best_before(name)
        acts: dict[str, Callable[[], ManualOrder]] = {
            "shift": lambda: shift(hand, name, act.by),
            "out": lambda: leave_out(hand, name),
            "lock": lambda: switch_lock(hand, name),
            "tie": lambda: switch_tie(hand, name),
        }
        put = move if name in hand.line else put_bridge
        put = bring_back if name in hand.left_out else put
        new = acts.get(act.kind, lambda: put(hand, name, before))()
        judging = self._ready().choices.judging
        said = act_said(act.kind, name, (hand, new), self.every, judging)
        taken_out = act.kind == "out" and name in hand.bridges
        self._turn(new, said, taken_out=taken_out)

    def _best_before(self, name: str) -> str | None:
        """What a yarn or bridge from below would stand before where it fits best."""
        hand, judging = self.history.now.hand, self._ready().choices.judging
        line = [self.every[one] for one in hand.line]
        inner = name not in hand.left_out  # a bridge stands between two
        place = best_place(line, self.every[name], judging, inner=inner)
        return hand.line[place] if place < len(line) else None

    # --- turns, kept and undone ---

    def _turn(
        self, new: ManualOrder, said: str, *, taken_out: bool = False, way: str = ""
    ) -> None:
        """A new state of the run, made by hand: shown, kept, and to be undone.

        `taken_out`: a bridge was, so none is put in again by itself. `way`: the yarns
        were arranged so, and are compared with what that alone would make.
        """
        old = self.history.now.hand
        if new == old:
            self.strip.show(sentences=said)
            return
        bridging = self._ready().choices.bridging
        known = {*old.line, *new.line}
        aside = [kept for kept in bridging.bridges_kept if kept.yarn not in known]
        locked = sorted(new.locked, key=new.line.index)
        changes: dict[str, Any] = {
            "order": list(new.order),
            "locked": as_toml((*locked, *new.pairs)),
            "left_out": as_toml(new.left_out),
            "bridges_kept": as_toml((*new.kept, *aside)),
        }
        if way:
            changes["by"] = way
        if taken_out:
            changes["bridges"] = min(bridging.bridges, len(new.bridges))
        kept = dict(self.history.now.kept) | changes
        self.history = self.history.turn(Turn(new, tuple(kept.items())))
        self._show_hand(said)
        self._keep(changes)

    def _go_back(self, kind: str) -> None:
        was = self.history
        self.history = was.undone() if kind == "undo" else was.redone()
        if self.history is was:
            self.strip.show(sentences=f"Nothing to {kind}.")
            return
        kept = dict(self.history.now.kept)
        self.blanket = choose(self._ready(), **kept)  # which steps count, too
        self._show_hand("Undone." if kind == "undo" else "Done again.")
        self._keep(kept)

    def _keep(self, changes: Mapping[str, Any]) -> None:
        """Choices that hands made: held in mind, saved, and the rest made later."""
        self._stop()
        self.blanket = choose(self._ready(), **changes)
        self._fill(self.blanket.choices)
        self._save("look", changes)
        self.later.ask(self._rest)

    def _save(self, part: str, changes: Mapping[str, Any]) -> None:
        """Save what changed and whatever could not be saved before; told beside it."""
        blanket = self._ready()
        self.unsaved |= {full_key(key): value for key, value in changes.items()}
        try:
            self.blanket = save_choices(blanket, self.unsaved)
        except KitError as error:
            self.sentences[part].say([*str(error).splitlines(), NOT_LOST])
            return
        self.unsaved = {}
        self.sentences[part].say(["Saved in blanket.toml."])

    # --- arranged anew ---

    def _arrange_anew(self, way: str) -> None:
        """The yarns that are not locked, arranged anew; the work is done aside."""
        self._stop()
        choices, hand = self._ready().choices, self.history.now.hand
        call = partial(
            arrange_rest,
            [self.every[name] for name in hand.order],
            replace(choices.arranging, by=way),
            locked=hand.locked,
            pairs=hand.pairs,
            view=choices.judging.view,
        )
        self._doing = f"Arranging {ORDER_WORDS[way]}"
        self.aside.ask(call, done=partial(self._arranged, hand, way))

    def _arranged(self, was: ManualOrder, way: str, order: Any) -> None:
        self._tell_progress(None)
        if isinstance(order, Exception):
            self.strip.show(sentences=f"This did not work ({order}).")
            return
        new = put_in_order(was, [yarn.name for yarn in order])
        judging = self._ready().choices.judging
        old, now = (
            line_steps([self.every[n] for n in one.line], judging) for one in (was, new)
        )
        round_held = " round what is held" if was.locked or was.pairs else ""
        told = [f"Arranged {ORDER_WORDS[way]}{round_held}."]
        told += [] if new == was else [steps_said(old, now)]
        gone = [name for name in was.line if name in was.bridges - new.bridges]
        told += [f"{name} is below again: it bridges nothing here." for name in gone]
        self._turn(new, " ".join(told), way=way)

    def _stop(self) -> None:
        """Whatever is being worked out or waits for rest is no longer wanted."""
        self.aside.drop()
        self.later.forget()
        self._tell_progress(None)
        self.full = None

    def _tell_progress(self, seconds: float | None) -> None:
        words = "" if seconds is None else f"{self._doing}: {seconds:.0f} s so far …"
        if self._doing == FABRIC and (seconds or 0) < SOON_S:
            words = ""  # no words for what is there at once
        if words != self.strip.busy:
            self.strip.show(busy=words)

    # --- what the desk does ---

    def _rest(self) -> None:
        """The hands rest: everything that follows from the run."""
        raise NotImplementedError

    def _set(self, part: str, changes: Mapping[str, Any]) -> None:
        """Choices changed by a control: shown first, then saved."""
        raise NotImplementedError
