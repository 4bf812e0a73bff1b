"""The colour desk: choose how the yarns run, move them, and see what it does."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from math import inf
from pathlib import Path
from typing import Any

from kit.blanket import Choices, choose, stash_path
from kit.blanket.choices import BY_HAND, Kept
from kit.blanket.folder import blanket_in_view, open_without_gone
from kit.blanket.keys import as_toml
from kit.errors import Fault, KitError
from kit.files import digest
from kit.needles import check_may_replace
from kit.pictures import run_svg, strip_svg
from kit.plan import Plan, plan_blanket
from kit.plan.compose import takes_long
from kit.plan.middle import ball_jumps, middle_places
from kit.plan.remedies import bridge_lines
from kit.report import flow_lines, summary, write_plan
from kit.report.report import fabric_lines
from kit.widgets.aside import work_out
from kit.widgets.colour.controls import READ_AGAIN
from kit.widgets.colour.hand import FABRIC, HandPlay
from kit.widgets.fabric.view import near_look, small_look
from kit.widgets.panel import messages_beside

NOTHING = ("nothing chosen", "")
AT_ONCE = ("view", "jump_limit")  # only the steps change: shown before all else
UNDONE = ("by", "order", "bridges", "bridges_kept", "accents")  # in the strip


class ColourDesk(HandPlay):
    """One blanket's colours under the knitter's hands.

    Its parts are those of `ColourControls`. Every change is saved to blanket.toml;
    where that cannot be, it is told and tried again with the next one.
    """

    def __init__(self, folder: str | Path | None = None) -> None:
        super().__init__(self._still)
        self.path = Path(folder or blanket_in_view()).resolve()
        self._seen = ""
        self._watch()
        messages_beside(self.messages)(self._open)(self.path)

    def _watch(self) -> None:
        for key in ("layout", "value_slack"):
            self._on(getattr(self, key), "order", partial(self._one, "order", key))
        for key in AT_ONCE:
            self._on(getattr(self, key), "look", partial(self._one, "look", key))
        self._on(self.by, "order", self._arranged_by)
        bridges = partial(self._one, "bridges", "bridges", "most_bridges")
        self._on(self.most_bridges, "bridges", bridges)
        self._on(self.accents, "kept_steps", self._accents_chosen)
        self._on(self.place, "bridges", self._list_bridges)
        told = messages_beside(self.messages)
        self.folder.observe(told(lambda change: self._chosen(change.new)), "value")
        self.again.on_click(told(lambda _: self._open(self.path)))
        self.write.on_click(told(lambda _: self._write()))
        for button, act in (
            (self.try_it, self._try),
            (self.keep_it, self._keep_bridge),
            (self.take_out, self._take_out),
        ):
            button.on_click(self._calm("bridges", act))

    def _on(self, control: Any, part: str, act: Callable[[], None]) -> None:
        control.observe(self._calm(part, act), "value")

    def _calm(self, part: str, act: Callable[[], None]) -> Callable[..., Any]:
        """A callback whose faults are told in the part."""

        def told(*_: Any) -> None:
            if not self._filling:
                self._ready()
                act()

        return messages_beside(self.sentences[part])(told)

    # --- what the controls do ---

    def _chosen(self, folder: Path) -> None:
        if not self._filling:
            self._open(folder)

    def _open(self, folder: Path) -> None:
        self._stop()
        self.path = Path(folder).resolve()
        self._fill_folders(self.path)
        blanket, self.unsaved, gone = open_without_gone(self.path)
        long = takes_long(blanket.choices)
        plan = plan_blanket(blanket, quick=long)
        self.blanket = blanket
        self._seen = digest(stash_path(self.path))
        self._lay(blanket, plan)
        self._fill(blanket.choices)
        self._hush()
        self._show(plan)
        self.aside.ready()
        self.open_plan.offer(self.path / "plan" / "plan.html")
        self.messages.say([f"Open: {self.path}", *gone])
        if long:
            self._search("order")
        else:
            self._settled(plan)

    def _one(self, part: str, key: str, control: str = "") -> None:
        value = getattr(self, control or key).value
        if isinstance(value, float):
            value = round(value, 6)  # a page's slider makes 24.999999999999996 of 25
        if value != _now(self._ready().choices, key):
            self._set(part, {key: "none" if value == inf else value})

    def _arranged_by(self) -> None:
        if self.by.value == BY_HAND:
            hand = self.history.now.hand
            kept = as_toml(hand.kept)
            self._set("order", {"order": list(hand.order), "bridges_kept": kept})
            return
        pairs = as_toml(self.history.now.hand.pairs)
        self._set("order", {"by": self.by.value, "order": None, "locked": pairs})

    def _set(self, part: str, changes: Mapping[str, Any]) -> None:
        """Choices changed by a control: shown first, then saved."""
        self._stop()
        self.strip.sentences = ""  # it was said of the run before
        self.blanket = changed = choose(self._ready(), **changes)
        if changes.keys() <= {*AT_ONCE}:
            self._show_hand()
            self._save(part, changes)
            self.later.ask(self._rest)
            return
        long = takes_long(changed.choices)  # then a first answer at once
        plan = plan_blanket(changed, quick=long)
        if changes.keys() & {*UNDONE}:
            self.history = self.history.turn(self._turn_of(plan))
        self._fill(changed.choices)
        self._show(plan)
        self._save(part, changes)
        if long:
            self._search(part)
        else:
            self._settled(plan)

    def _rest(self) -> None:
        """The hands rest: everything that follows from the run."""
        blanket = self._ready()
        long = takes_long(blanket.choices)
        if digest(stash_path(self.path)) != self._seen:
            said = f"The stash was changed since it was read here: {READ_AGAIN.lower()}"
            self.sentences["look"].say([f"{said} to see it."])
        self._doing = FABRIC
        done = partial(self._rested, long)
        self.aside.ask(work_out, blanket, long, done=done, long=False)

    def _rested(self, long: bool, found: Any) -> None:
        self._found("look", found)
        if long:
            self.full = None
            self._search("look")

    def _search(self, part: str) -> None:
        """The full search, aside: a first answer stands already."""
        self._doing = "A first answer stands; searching on"
        done = partial(self._found, part)
        self.aside.ask(work_out, self._ready(), False, done=done)

    def _found(self, part: str, found: Any) -> None:
        self._tell_progress(None)
        if isinstance(found, Exception):
            self.sentences[part].say(str(found).splitlines())
        else:
            plan, small = found
            self._show(plan, small)
            self._settled(plan)

    def _settled(self, plan: Plan) -> None:
        """The whole answer to what is chosen now."""
        self.full = plan
        self.remedies.settle(plan)

    def _accents_chosen(self) -> None:
        self._set("kept_steps", {"accents": as_toml(self.accents.value)})

    def _write(self) -> None:
        """Write the plan from what is chosen now, saved or not."""
        target, blanket = self.path / "plan", self._ready()
        check_may_replace(blanket)
        self.messages.say(["Drawing the pictures and writing the pages …"])
        write_plan(self.full or plan_blanket(blanket), target)
        self.open_plan.offer(target / "plan.html")
        self.messages.say([f"Written: {target / 'plan.html'}"])

    # --- bridges from the list ---

    def _list_bridges(self) -> None:
        """The candidates for the chosen place, best first."""
        options, gap = [NOTHING], None
        for one in self.plan.design.suggestions:
            if (one.after.name, one.before.name) == self.place.value:
                gap = one
                options += [
                    (f"{yarn.name} ({source}): leaves {step:.1f}", yarn.name)
                    for yarn, source, step in one.candidates
                ]
        self.remedies.show_gap(gap, self.plan)
        self.yarn.options = options
        self.yarn.value = ""

    def _with_bridge(self) -> list[Any]:
        """The bridges to keep with the chosen one put in. Those that stand in the run
        stay, and are the knitter's as they are once the strip was touched."""
        if not self.yarn.value:
            says, advice = "No yarn is chosen to put in", "Choose one from the list."
            raise KitError(Fault("no_bridge", says=says, advice=advice))
        hand, (after, before) = self.history.now.hand, self.place.value
        saved = self._ready().choices.bridging.bridges_kept
        aside = [one for one in saved if one.yarn not in hand.line]
        kept = (*hand.kept, *aside, Kept(self.yarn.value, after, before))
        return as_toml(kept) or []

    def _try(self) -> None:
        tried = choose(self._ready(), bridges_kept=self._with_bridge())
        self._stop()
        self.strip.sentences = ""
        self._show(plan_blanket(tried, quick=True), tried=True)
        words = 'Tried: "Keep it" keeps it, any other change takes it out again.'
        self.sentences["bridges"].say([words])

    def _keep_bridge(self) -> None:
        self._set("bridges", {"bridges_kept": self._with_bridge()})

    def _take_out(self) -> None:
        self._set("bridges", {"bridges_kept": None, "bridges": 0})

    # --- showing ---

    def _show(self, plan: Plan, small: bytes = b"", *, tried: bool = False) -> None:
        """Everything that follows from a plan. One that is only tried is no turn, and
        the lists stay as they are, so that it can be kept or another one be tried."""
        self.plan, was = plan, self.history
        self.history = replace(was, now=self._turn_of(plan))
        self._show_hand()
        self._draw_far(plan.design.laid.yarns)
        self.lines.say(summary(plan))
        self.breaks.say(flow_lines(plan))
        if tried:
            self.history = was
        else:
            self._offer()
        self.bridge_lines.say(bridge_lines(plan))
        self.small.value = small or small_look(plan, near_look(plan))
        self.totals.say(fabric_lines(plan))

    def _still(self) -> str:
        """The run as a picture for whoever has no kernel."""
        if self.blanket is None:
            return strip_svg(())
        design, limit = self.plan.design, self.plan.choices.judging.jump_limit
        best = design.arrangement.best
        known, turns = best.largest if best else None, middle_places(self.plan)
        return run_svg(design, limit=limit, best=known, turns=turns)

    def _offer(self) -> None:
        """Fill the lists of steps to keep and places to bridge."""
        design = self.plan.design
        with self._set_by_program():
            names = [yarn.name for yarn in design.laid.yarns]
            kept = [tuple(pair) for pair in self.plan.choices.judging.accents]
            first = [met.places[0] for met in ball_jumps(self.plan)]
            places = dict.fromkeys([*kept, *((names[k], names[k + 1]) for k in first)])
            self.accents.options = [(f"{a} → {b}", (a, b)) for a, b in places]
            self.accents.value = kept
            gaps = [(one.after.name, one.before.name) for one in design.suggestions]
            sizes = [f" ({one.step:.1f})" for one in design.suggestions]
            chosen = self.place.value
            self.place.options = [
                (" → ".join(gap) + size, gap)
                for gap, size in zip(gaps, sizes, strict=True)
            ]
            self.place.value = chosen if chosen in gaps else next(iter(gaps), None)
            self._list_bridges()


def _now(choices: Choices, key: str) -> Any:
    """What is chosen for a key of [colours]."""
    parts = (choices.arranging, choices.laying, choices.judging, choices.bridging)
    return next(getattr(part, key) for part in parts if hasattr(part, key))
