"""The photo desk: balls ringed on a photo, and rows of the stash made of them."""

from __future__ import annotations

from functools import partial
from typing import Any

from kit.colour import Mix, mean_lab
from kit.errors import Fault, KitError, shorten
from kit.fabric.stripes import held_mix
from kit.files.folders import STASH
from kit.photo import Sample
from kit.photo.greys import compare_swatch, grey_pictures
from kit.photo.marks import (
    PhotoRows,
    colours_text,
    largest_spread,
    places_by_name,
    rows_from,
    tidy,
)
from kit.photo.regions import Marks
from kit.pictures import mix_svg
from kit.widgets.later import Later
from kit.widgets.lines import messages_beside
from kit.widgets.photo.colours import PhotoColours, mix_runs
from kit.widgets.photo.controls import NOTHING
from kit.widgets.stash.controls import UNDO
from kit.widgets.stash.desk import StashDesk
from kit.widgets.stash.yarn_fields import blank_swatch
from kit.yarn import counted

NOT_ADDED = f"Nothing was added: {STASH} is as it was."


class PhotoDesk(PhotoColours):
    """One photo under the knitter's hands, beside the stash it fills.

    Its parts are those of `PhotoControls`. Yarns are added through the stash desk,
    whose shelf follows.
    """

    def __init__(self, stash: StashDesk) -> None:
        super().__init__(stash)
        self._drawing, self._to_draw = Later(1.0), False
        self._watch()
        messages_beside(self.messages)(self._look)()

    def _watch(self) -> None:
        self._on(self.photo, "value", self.messages, self._chosen)
        self._on(self.upload, "value", self.messages, self._uploaded)
        self._on(self.picker, "regions", self.messages, self._marked)
        self._on(self.picker, "corners", self.messages, self._marked)
        self._on(self.way, "value", self.way_lines, self._correct)
        self._on(self.place, "value", self.compared, self._compare)
        self._on(self.strands, "value", self.compared, self._compare)
        self.again.on_click(self._calm(self.messages, self._look))
        self.draw.on_click(self._calm(self.grey_lines, self._draw_greys))
        for button, renew in ((self.add, False), (self.renew, True)):
            button.on_click(self._calm(self.added, partial(self._add, renew)))
        self._on(self.stash.table.table, "rows", self.messages, self._stash_changed)
        self._on(self.stash.which.folder, "value", self.messages, self._stash_changed)

    def _put_up(
        self, png: bytes, title: str, size: tuple[int, int], marks: Marks
    ) -> None:
        self._drawing.forget()
        self.added.say([])
        self.grey_row.children = ()
        self._to_draw = self.shot is not None
        super()._put_up(png, title, size, marks)

    def _stash_changed(self) -> None:
        """Another blanket, or other yarns: its photos, their names."""
        if self.path is None or self.path.parent != self.folder:
            self._look()
        self.picker.names = [yarn.name for yarn in self.stash.yarns]
        self._show()

    # --- showing ---

    def _show(self) -> None:
        """Everything that follows once the colours are known."""
        yarns = [one for one in self.picker.regions if not one["role"]]
        with self.table.hold_sync():
            self.table.swatches = [
                mix_runs(self.samples[one["id"]].mix)
                if one["id"] in self.samples
                else []
                for one in yarns
            ]
            self.table.rows = [self._row(k, one) for k, one in enumerate(yarns, 1)]
        self._list_swatches(yarns)
        self.ready.say(self._ready_lines())
        if self._to_draw:
            self._drawing.ask(messages_beside(self.grey_lines)(self._draw_greys))
        elif self.shot is not None:  # a second's work: not after every change
            self.grey_lines.say(["Names or regions may have changed since."])

    def _row(self, no: int, one: dict[str, Any]) -> list[str]:
        found, first = self.samples.get(one["id"]), [str(no), one["name"]]
        if found is None:
            return [*first, *[""] * 4, self._wrong.get(one["id"], "")]
        return [
            *first,
            colours_text(found.mix),
            found.style,
            f"{mean_lab(found.mix)[0]:.0f}",
            f"{largest_spread(found):.1f}",
            " ".join(found.sentences),
        ]

    def _draw_greys(self) -> None:
        """The photo in greys: when it has been opened, and when that is asked for."""
        if self.shot is None:
            self.grey_lines.say(["There is no photo yet."])
            return
        self._to_draw = False
        regions = self.marks.yarns
        true, phone = grey_pictures(self.shot, regions, correction=self.correction)
        self.true_greys.value, self.phone_greys.value = true, phone
        self.grey_row.children = (self.true_greys, self.phone_greys)
        self.grey_lines.say([])

    # --- into the stash ---

    @property
    def _named(self) -> list[tuple[str, Sample]]:
        """The yarns with a name and colours, as the list on the page has them."""
        return [
            (tidy(one["name"]), self.samples[one["id"]])
            for one in self.picker.regions
            if one["id"] in self.samples and tidy(one["name"])
        ]

    def _ready_lines(self) -> list[str]:
        """What adding would do; the buttons follow."""
        there = (
            places_by_name(self.stash.work.state.file.stash)
            if self.stash.work.state.file
            else {}
        )
        yarns = [one for one in self.picker.regions if not one["role"]]
        sound = [one for one in yarns if one["id"] not in self._wrong]
        names = [tidy(one["name"]) for one in sound if tidy(one["name"])]
        old = [name for name in names if name.casefold() in there]
        blank = sum(not tidy(one["name"]) for one in yarns)
        self.renew.disabled = not old
        self.renew.description = f"Replace their colours ({len(old)})"
        said = [f"New for the stash: {len(names) - len(old)}."]
        if old:
            listed = ", ".join(f'"{shorten(name, 30)}"' for name in old[:8])
            more = f" and {len(old) - 8} more" if len(old) > 8 else ""
            said.append(
                f"Already in {STASH}: {listed}{more}. Adding leaves them as they are; "
                '"Replace their colours" gives them those of the photo.'
            )
        if blank:
            said.append(f"Without a name, and left out: {blank}.")
        if self._wrong:
            said.append(f"Without colours, and left out: {len(self._wrong)}.")
        return said if yarns else ["No ball is marked on the photo yet."]

    def _add(self, renew: bool) -> None:
        """Append the new yarns, or give those already there their new colours."""
        if self.shot is None:
            raise KitError(Fault("no_photo", says="There is no photo yet"))
        self._take_all()
        done: list[PhotoRows] = []

        def make(stash: Any) -> Any:
            there = places_by_name(stash)
            named = [
                (name, one)
                for name, one in self._named
                if (name.casefold() in there) == renew
            ]
            done.append(rows_from(stash, named, self.correction, replacing=renew))
            return done[0].table

        try:
            self.stash.take_in(make)
        except KitError as error:
            self.added.say([*str(error).splitlines(), NOT_ADDED])
            return
        rows = done[0]
        back = [f'"{UNDO}" takes it back.'] if rows.added or rows.replaced else []
        self.added.say([*rows.sentences, *back])

    # --- a knitted swatch ---

    def _list_swatches(self, yarns: list[dict[str, Any]]) -> None:
        named = [
            (f"{no} · {one['name'] or 'no name'}", one["id"])
            for no, one in enumerate(yarns, 1)
        ]
        balls = [(yarn.name, k) for k, yarn in enumerate(self.stash.yarns)]
        with self._set_by_program():
            was, held = self.place.value, self.strands.value
            self.place.options = [("choose a region", NOTHING), *named]
            ids = {one["id"] for one in yarns}
            self.place.value = was if was in ids else NOTHING
            if list(self.strands.options) != balls:
                self.strands.options = balls
                self.strands.value = [k for k in held if k < len(balls)]
        self._compare()

    def _compare(self) -> None:
        """What is on the photo beside what the kit predicts for the strands held."""
        found = self.samples.get(self.place.value or NOTHING)
        held = tuple(self.stash.yarns[k] for k in self.strands.value)
        seen = found.mix if found else None
        expected = held_mix(held) if held else None
        self.seen.value, self.expected.value = map(_picture_of, (seen, expected))
        if seen is None or expected is None:
            self.compared.say(["Choose the swatch's region, and the strands it has."])
            return
        self.compared.say(_compared_lines(seen, expected, found, len(held)))


def _picture_of(mix: Mix | None) -> bytes:
    return (mix_svg(mix) if mix else blank_swatch()).encode()


def _compared_lines(
    seen: Mix, expected: Mix, found: Sample | None, n_strands: int
) -> list[str]:
    step = compare_swatch(seen, expected)
    sure = largest_spread(found) if found else 0.0
    close = "within what the photo can tell" if step.far <= sure else "more than that"
    together = "" if n_strands == 1 else " together"
    return [
        f"The swatch lies {step.far:.1f} ΔE00 from "
        f"{counted(n_strands, 'strand')}{together} across the room, "
        f"{step.near:.1f} in the hand{f' ({step.cause})' if step.cause else ''}.",
        f"The photo's own colours are good to about ±{sure:.0f}: this is {close}.",
    ]
