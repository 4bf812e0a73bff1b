"""What is to be otherwise from a row on, as keys of blanket.toml and as names."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from kit.blanket import Blanket, Choices
from kit.blanket.choices import LAYOUTS
from kit.blanket.keys import as_toml
from kit.errors import Fault, KitError, unknown
from kit.fabric.posterior import Posterior
from kit.files import read_quantity
from kit.files.quantities import CM
from kit.needles.progress import Progress
from kit.plan import Plan
from kit.yarn import Swatch, size
from kit.yarn.gauge import stitch_yarn

WAYS = ("either", "keep", "anew")


@dataclass(frozen=True, slots=True)
class ReplanChoices:
    """What is to be otherwise from here on.

    drop        yarns not to be used any more: lost, or to be skipped
    add         yarns of the stash to take in: new ones, held back ones, broken-off ones
    length_cm   another length, "all": until the yarn ends, None: as blanket.toml says
    layout      another layout from here, None: as it is
    rows_per_colour  another pace from here, None: as it is
    order       "keep" what is to come as it lies, "anew", or "either": the better
    leftovers   take broken-off balls in as well (arranged anew)
    """

    drop: tuple[str, ...] = ()
    add: tuple[str, ...] = ()
    length_cm: float | str | None = None
    layout: str | None = None
    rows_per_colour: int | None = None
    order: str = "either"
    leftovers: bool = False

    def check(self, blanket: Blanket) -> None:
        """Raise KitError where what is wanted is not there."""
        shop = blanket.shop.yarns if blanket.shop else ()
        known = [yarn.name for yarn in (*blanket.stash.yarns, *shop)]
        faults = [
            unknown("yarn", name, known)
            for name in (*self.drop, *self.add)
            if name not in known
        ]
        if self.order not in WAYS:
            faults.append(unknown("order", self.order, WAYS))
        if self.layout is not None and self.layout not in LAYOUTS:
            faults.append(unknown("layout", self.layout, LAYOUTS))
        for name in self.add:
            if name in self.drop:
                says = f'"{name}" is to be added and dropped'
                faults.append(Fault("both", says=says))
        if faults:
            raise KitError(faults)


AS_IT_IS = ReplanChoices()


@dataclass(frozen=True, slots=True)
class TypedLength:
    """A length in cm, or "all" until the yarn ends, and how it was typed."""

    cm: float | str
    typed: str

    def words(self, units: str) -> str:
        """What was understood of it, in these units.

        >>> read_length("32 in").words("metric")
        'Length wished: 81.3 cm, from "32 in".'
        """
        if isinstance(self.cm, str):
            return "Length wished: until the yarn ends."
        bare = self.typed[-1:].isnumeric()
        said = " (a number without a unit is cm)" if bare else ""
        return f'Length wished: {size(self.cm, units)}, from "{self.typed}"{said}.'


def read_length(text: str) -> TypedLength:
    """A length above 0 with or without its unit, or "all". Raises KitError."""
    typed = text.strip()
    if typed.casefold() == "all":
        return TypedLength("all", typed)
    cm = read_quantity(text, CM)
    if not cm:
        says = f'found {text or "nothing"}, expected a length above 0 or "all"'
        raise KitError(Fault("length", says=says))
    return TypedLength(cm, typed)


def changed_keys(
    blanket: Blanket, before: Plan, now: Progress, wanted: ReplanChoices
) -> dict[str, Any]:
    """Keys of blanket.toml that hold otherwise from here on, earlier ones kept."""
    changes = {k: v for k, v in before.start.changes if k in _LASTING}
    if now.readings:
        changes["gauge.swatch"] = _as_swatch(blanket.choices, now.posterior)
    if wanted.length_cm is not None:
        changes["size.length_cm"] = wanted.length_cm
    if wanted.layout is not None:
        changes |= {"colours.layout": wanted.layout, "colours.times_through": 1}
    if wanted.rows_per_colour is not None:
        changes["pace.rows_per_colour"] = wanted.rows_per_colour
    if now.knitted.row and (used := _bridges_used(now)):
        left = max(0, blanket.choices.bridging.bridges - used)
        changes["colours.bridges"] = left
    if now.knitted.row and (on := _carried_on(blanket.choices, now)):
        changes["carry"] = on
    return changes


_LASTING = (
    "size.length_cm", "colours.layout", "colours.times_through", "pace.rows_per_colour",
)  # fmt: skip


def _as_swatch(choices: Choices, posterior: Posterior) -> dict[str, float]:
    """The blanket so far as a swatch of 10 x 10 cm that makes the measured pace."""
    gauge, tex = choices.making.gauge, choices.making.strands.fabric_tex
    assert gauge is not None
    planned = stitch_yarn(gauge, tex).length_m
    one_gram = replace(gauge, swatch=Swatch(10, 10, 1.0))
    grams = planned * posterior.pace / stitch_yarn(one_gram, tex).length_m
    return {"width_cm": 10.0, "length_cm": 10.0, "grams": grams}


def _bridges_used(now: Progress) -> int:
    names = {
        one.part.yarn.name
        for one in now.knitted.strands
        if one.begun is not None and one.part.yarn.role == "bridge"
    }
    return len(names)


def _carried_on(choices: Choices, now: Progress) -> list[dict[str, Any]]:
    """Carrying as in blanket.toml, and bridges that are being carried to their row."""
    named = {carry.yarn for carry in choices.making.carry}
    row = now.knitted.row
    carried = [
        {"yarn": s.part.yarn.name, "rows": [row + 1, last]}
        for s in now.knitted.on_needle
        if s.carried and s.part.yarn.name not in named
        if (last := (s.last - 1) // now.knitted.stripes[0].row + 1) > row
    ]
    if not carried:
        return []
    return (as_toml(choices.making.carry) or []) + carried
