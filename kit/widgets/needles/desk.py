"""The needles desk: log what was joined and weighed, see where it leads, plan anew."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from ipywidgets import Dropdown

from kit.blanket import Yarn
from kit.blanket.whereabouts import blanket_in_view, blankets_beside
from kit.fabric import forecast_fabric
from kit.needles import (
    ReplanChoices,
    log_join,
    log_row,
    log_weighing,
    status_lines,
    where_things_stand,
)
from kit.needles.progress import BallState
from kit.needles.replan import Replan, faster_rows
from kit.needles.status import (
    Status,
    last_line,
    log_ran_out,
    mark_lost,
    preview_replan,
    save_replan,
    skip,
    undo_last,
    yarns_of,
)
from kit.needles.words import way_back
from kit.plan import Plan
from kit.report import plan_folder
from kit.widgets.fabric.view import BLANK
from kit.widgets.fields import needed, whole_number
from kit.widgets.lines import messages_beside
from kit.widgets.needles.controls import NeedlesControls
from kit.widgets.needles.view import (
    as_knitted,
    ball_rows,
    better_lines,
    end_rows,
    log_rows,
    parts_line,
    side_svg,
    so_far_svg,
)
from kit.yarn.measures import weighed

AS_PLANNED = ("as the plan says", "")
DONE = (BallState.RAN_OUT, BallState.GONE)


class NeedlesDesk(NeedlesControls):
    """One blanket on the needles. Every line is saved in knitted.csv at once."""

    def __init__(self, folder: str | Path | None = None) -> None:
        super().__init__()
        self._replanned: Replan | None = None
        self._open(Path(folder) if folder else blanket_in_view())
        self._watch()

    def _watch(self) -> None:
        told, more = messages_beside(self.messages), messages_beside(self.more_said)
        anew = messages_beside(self.anew_said)
        self.folder.observe(told(lambda change: self._chosen(change.new)), "value")
        self.again.on_click(told(lambda _: self._open(self.standing.blanket.folder)))
        self.log_join.on_click(
            messages_beside(self.joined_said)(lambda _: self._join())
        )
        self.joined.observe(told(lambda change: self._at_its_row(change.new)), "value")
        self.weighed.observe(lambda change: self._tell_parts(), "value")
        for button, act in (
            (self.log_row, self._rows),
            (self.log_weight, self._weigh),
            (self.ran_out, self._ran_out),
            (self.lost, self._lost),
            (self.skipped, self._skipped),
            (self.undo, self._undo),
        ):
            button.on_click(more(_without_event(act)))
        self.length.observe(anew(lambda _: self._length_chosen()), "value")
        self.try_it.on_click(anew(lambda _: self._try()))
        self.keep_it.on_click(anew(lambda _: self._keep()))

    # --- the log ---

    def _chosen(self, folder: Path) -> None:
        if not self._filling:
            self._open(folder)

    def _open(self, folder: Path) -> None:
        self._show(where_things_stand(folder))
        self.messages.say([f"Open: {self.standing.blanket.folder}", *self._in_hand()])

    def _in_hand(self) -> list[str]:
        number = self.standing.number
        name = "plan" if number < 2 else f"plan-{number}"
        return [f"Followed: {name}/plan.html"] if number else []

    def _join(self) -> None:
        name, row = self.joined.value, whole_number(self.join_row)
        other = self.instead_of.value or ""
        self._logged(log_join(self._folder, name, row, other))
        self.joined_said.say([f"Logged: joined {name} at row {row}."])

    def _rows(self) -> None:
        row = whole_number(self.to_row)
        self._logged(log_row(self._folder, row))
        self.more_said.say([f"Logged: knitted to row {row}."])

    def _weigh(self) -> None:
        name, grams = self.weighed.value, needed(self.grams)
        at = self._at_row()
        units = self._units
        self._logged(log_weighing(self._folder, name, at, grams, units=units))
        self.grams.show(None)
        left = weighed(grams, units)
        self.more_said.say([f"Logged: {left} of {name} left after row {at}."])

    def _ran_out(self) -> None:
        name, at = self.gone.value, self._at_row()
        self._logged(log_ran_out(self._folder, name, at))
        self.more_said.say([f"Logged: {name} ran out in row {at}."])

    def _lost(self) -> None:
        name = self.gone.value
        self._logged(mark_lost(self._folder, name))
        self.more_said.say([f"Logged: {name} is lost. Plan the rest anew below."])

    def _skipped(self) -> None:
        name = self.gone.value
        self._logged(skip(self._folder, name))
        self.more_said.say([f"Logged: {name} is skipped. Plan the rest anew below."])

    def _undo(self) -> None:
        line = last_line(self.standing)
        self._logged(undo_last(self._folder))
        said = "The log is empty."
        if line:
            said = f"Taken out: {line.what} {line.yarn} at row {line.row}."
        self.more_said.say([said])

    @property
    def _folder(self) -> Path:
        return self.standing.blanket.folder

    @property
    def _units(self) -> str:
        return self.standing.blanket.choices.units

    @property
    def _row(self) -> int:
        return self.standing.now.knitted.row

    def _at_row(self) -> int:
        """The row that is typed, or where the log stands."""
        return whole_number(self.to_row) if self.to_row.value.strip() else self._row

    def _logged(self, standing: Status) -> None:
        for lines in (self.joined_said, self.more_said, self.anew_said):
            lines.say([])
        self._show(standing)

    # --- planning anew ---

    def _length_chosen(self) -> None:
        self.length_cm.disabled = self.length.value != "cm"

    def _wishes(self) -> ReplanChoices:
        """What the controls ask for. Raises KitError where a length is missing."""
        length: float | str | None = self.length.value or None
        if length == "cm":
            length = needed(self.length_cm)
        plan = self.standing.plan
        return ReplanChoices(
            drop=tuple(self.drop.value),
            add=tuple(self.add.value),
            length_cm=length,
            layout=self.layout.value or None,
            rows_per_colour=faster_rows(plan, self._row) if self.faster.value else None,
            order=self.order.value,
            leftovers=self.leftovers.value,
        )

    def _try(self) -> None:
        self.anew_said.say(["Working the rest out …"])
        replanned = preview_replan(self.standing, self._wishes())
        self._replanned, self.keep_it.disabled = replanned, False
        self.sides.rows = [list(side) for side in replanned.sides]
        before = as_knitted(replanned.before, self.standing.now)
        self.before.value = self._side(before)
        self.after.value = self._side(replanned.after)
        self.anew_lines.say(replanned.sentences)
        self.anew_said.say(["Tried, not kept: left as it is, right planned anew."])

    def _side(self, plan: Plan) -> bytes:
        return side_svg(plan, self._row).encode()

    def _keep(self) -> None:
        if self._replanned is None:
            return
        self.progress.value, self.progress.layout.visibility = 1, "visible"
        self.anew_said.say(["Drawing the pictures, writing the pages: some seconds …"])
        try:
            path = save_replan(self.standing, self._replanned)
        finally:
            self.progress.layout.visibility = "hidden"
        self._show(where_things_stand(self._folder))
        kept = f"Kept, beside the plans before it: {path / 'plan.html'}"
        self.anew_said.say([kept, way_back(path)])

    # --- showing ---

    def _show(self, standing: Status) -> None:
        self.standing = standing
        folder = plan_folder(standing.blanket.folder, max(1, standing.number))
        self.open_plan.offer(folder / "plan.html")
        self._forget_trial()
        now = standing.now
        self.lines.say(status_lines(standing))
        self.svg = so_far_svg(standing)
        self.picture.value = self.svg.encode()
        self._ask_in(self._units)
        self.ball_table.rows = ball_rows(now, self._units)
        self.end_table.rows = end_rows(now)
        self.log_table.rows = log_rows(standing.log, self._units)
        assert standing.plan.fabric is not None
        forecast = forecast_fabric(standing.plan.fabric, standing.blanket.choices)
        self.sure_lines.say(better_lines(forecast))
        with self._set_by_program():
            self._fill()

    def _forget_trial(self) -> None:
        self._replanned, self.keep_it.disabled = None, True
        self.sides.rows = []
        self.before.value = self.after.value = BLANK.encode()
        self.anew_lines.say([])

    def _fill(self) -> None:
        """Set every list to what is there, and the join to the one that comes next."""
        folder, now = self._folder.resolve(), self.standing.now
        self.folder.options = [(path.name, path) for path in blankets_beside(folder)]
        self.folder.value = folder
        state = {ball.yarn.name: ball.state for ball in now.balls}
        every = yarns_of(self.standing.blanket)
        usable = [yarn for yarn in every if state.get(yarn.name) not in DONE]
        held = [y for y in every if y.name in now.knitted.held]
        begun = [y for y in usable if state.get(y.name) is not BallState.TO_COME]
        begun = [*held, *(yarn for yarn in begun if yarn not in held)]
        mine = {*self.standing.blanket.stash.yarns}
        waiting = [yarn for yarn in every if yarn not in begun and yarn in mine]
        names = {join.yarn.name for join in now.joins}
        coming = [yarn for yarn in usable if yarn.name in names]
        others = [yarn for yarn in usable if yarn.name not in names]
        _offer(self.joined, map(_named, (*coming, *others)))
        _offer(self.instead_of, (AS_PLANNED, *map(_named, held)))
        for one in (self.weighed, self.gone):
            _offer(one, map(_named, (*begun, *waiting)))
        self.drop.options = [_named(yarn) for yarn in usable]
        self.add.options = [
            _named(yarn)
            for yarn in every
            if state.get(yarn.name) is BallState.NOT_PLANNED
        ]
        self._next_join()
        self._tell_parts()
        self.to_row.show(now.knitted.row or None)
        self.undo.disabled = not self.standing.log.notes

    def _next_join(self) -> None:
        if joins := self.standing.now.joins:
            self.joined.value = joins[0].yarn.name
            self._at_its_row(joins[0].yarn.name)

    def _at_its_row(self, name: str) -> None:
        """The row and the strand the plan has for this join, to be changed by hand."""
        for join in self.standing.now.joins:
            if join.yarn.name == name:
                self.join_row.show(int(join.row.likely))
                held = [value for _, value in self.instead_of.options]
                ends = join.instead_of
                self.instead_of.value = ends if ends in held else ""
                return  # in a mirrored blanket it comes again later

    def _tell_parts(self) -> None:
        """Of a ball in parts, that all of them go on the scale."""
        said = parts_line(self.standing.now, self.weighed.value)
        self.weigh_said.say([said] if said else [])


def _named(yarn: Yarn) -> tuple[str, str]:
    return f"{yarn.no} {yarn.name}", yarn.name


def _offer(choice: Dropdown, options: Iterable[tuple[str, str]]) -> None:
    """Options for a list; what was chosen stays chosen where it is still offered."""
    listed, was = list(options), choice.value
    choice.options = listed
    values = [value for _, value in listed]
    choice.value = was if was in values else next(iter(values), None)


def _without_event(act: Callable[[], None]) -> Callable[[object], None]:
    return lambda _: act()
