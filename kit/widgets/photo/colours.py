"""Colours of what is marked on the photo desk, kept up with the hands."""

from __future__ import annotations

from typing import Any

from kit.colour import Mix
from kit.colour.mixes import hexes
from kit.errors import KitError
from kit.photo import Correction, Sample, sample, suggest_regions
from kit.photo.correction import NO_CORRECTION
from kit.photo.marks import (
    correction_by,
    correction_lines,
    kinds_marked,
    marks_used,
    sample_words,
)
from kit.photo.regions import Marks
from kit.widgets.later import Later
from kit.widgets.lines import messages_beside
from kit.widgets.photo.files import PhotoFiles, region_of
from kit.widgets.stash.desk import StashDesk

PLACE = ("shape", "x", "y", "width", "height")


class PhotoColours(PhotoFiles):
    """Measures a photo's regions as they come, move and are corrected.

    Only what has changed is measured anew: the first region at once, the others one by
    one, so that the page stays quick. `_show` is called when all are known.
    """

    def __init__(self, stash: StashDesk) -> None:
        super().__init__(stash)
        self.correction: Correction = NO_CORRECTION
        self.samples: dict[str, Sample] = {}  # by region, as far as they are known
        self._wrong: dict[str, str] = {}  # or why there is none
        self._measured: dict[str, tuple[Any, ...]] = {}  # where each was taken
        self._made_from: tuple[Any, ...] = ()  # kind and marks of the correction
        self._kinds: tuple[str, ...] = ("none",)
        self._to_suggest = False
        self._working, self._showing = Later(0), Later(0.2)
        self._correcting = Later(0.15)

    def _show(self) -> None:
        raise NotImplementedError

    def _put_up(
        self, png: bytes, title: str, size: tuple[int, int], marks: Marks
    ) -> None:
        for later in (self._working, self._correcting, self._showing):
            later.forget()
        super()._put_up(png, title, size, marks)
        self.samples, self._wrong, self._measured = {}, {}, {}
        self._made_from, self._kinds = (), kinds_marked(marks)
        self._to_suggest = self.shot is not None
        self._show()
        self._correcting.ask(messages_beside(self.way_lines)(self._correct))

    def _marked(self) -> None:
        """Regions came, went, moved or got a name."""
        if self.shot is None:
            return
        self._save_soon()
        marks, before = self.marks, self._kinds
        self._kinds = kinds_marked(marks)
        new = [kind for kind in self._kinds if kind not in before]
        if new or self.way.value not in self._kinds:
            with self._set_by_program():
                self.way.value = (new or self._kinds)[0]
        kind = self.way.value
        if (kind, marks_used(marks, kind)) != self._made_from:
            self._correcting.ask(messages_beside(self.way_lines)(self._correct))
        self._measure()
        if self._due():  # names need not wait for colours
            self._showing.ask(messages_beside(self.messages)(self._show))

    def _correct(self) -> None:
        """The chosen correction from its marks; without it where they are no good."""
        kind, marks, said = self.way.value, self.marks, []
        self._made_from = (kind, marks_used(marks, kind))
        self.correction = NO_CORRECTION
        if self.shot is not None:
            try:
                self.correction = correction_by(self.shot, marks, kind)
            except KitError as error:
                said = [*str(error).splitlines(), "No correction is in use now."]
            said += correction_lines(self.correction)
        self.way_lines.say(said)
        self._measured = {}
        self._measure()

    def _measure(self) -> None:
        """Take the colours of what has changed: the first at once, the rest soon."""
        there = {one["id"] for one in self.picker.regions if not one["role"]}
        for known in (self.samples, self._wrong, self._measured):
            for gone in known.keys() - there:
                del known[gone]
        self._work()

    def _work(self) -> None:
        """Measure one region that is due, then ask for another turn."""
        one = self._due()
        if one is not None:
            self._take(one)
            self.picker.found = self._found()
        elif self._to_suggest and self.shot:
            self._to_suggest = False
            self.picker.suggested = [
                {key: getattr(ball, key) for key in PLACE}
                for ball in suggest_regions(self.shot)
            ]
        else:
            self.picker.found = self._found()
            self._showing.ask(messages_beside(self.messages)(self._show))
            return
        self._working.ask(messages_beside(self.messages)(self._work))

    def _due(self) -> dict[str, Any] | None:
        """The next yarn that was not yet measured where it lies now."""
        due = (
            one
            for one in self.picker.regions
            if not one["role"] and self._measured.get(one["id"]) != _place(one)
        )
        return next(due, None) if self.shot else None

    def _take(self, one: dict[str, Any]) -> None:
        if self.shot is None:
            return
        key, place, wrong = one["id"], _place(one), ""
        try:
            self.samples[key] = sample(self.shot, region_of(one), self.correction)
        except KitError as error:
            wrong = str(error)
        except Exception as error:  # the other regions are measured all the same
            wrong = f"This did not work ({type(error).__name__}: {error})."
        self._wrong.pop(key, None)
        if wrong:
            self._wrong[key] = wrong
            self.samples.pop(key, None)
        # Last: acts from the page may be handled by another thread than a cell's.
        self._measured[key] = place

    def _take_all(self) -> None:
        """Measure at once whatever is due, by the correction as it is marked now."""
        kind = self.way.value
        if (kind, marks_used(self.marks, kind)) != self._made_from:
            self._correct()
        while (one := self._due()) is not None:
            self._take(one)

    def _found(self) -> dict[str, dict[str, Any]]:
        """What the page shows beside each region."""
        found: dict[str, dict[str, Any]] = {
            key: {"runs": mix_runs(one.mix), "words": sample_words(one)}
            for key, one in self.samples.items()
        }
        found |= {key: {"wrong": wrong} for key, wrong in self._wrong.items()}
        for one in self.picker.regions:
            if one["role"]:
                in_use = one["role"] == self.correction.kind
                words = "in use" if in_use else "marked, not in use"
                found[one["id"]] = {"words": words}
        return found


def _place(one: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(one[key] for key in PLACE)


def mix_runs(mix: Mix) -> list[list[Any]]:
    return [[*run] for run in zip(hexes(mix), mix.shares, strict=True)]
