"""Plans of an open folder and of a stash by itself; the last few are remembered."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

from kit.blanket import Blanket, Choices, Stash, Yarn, choose
from kit.blanket.keys import told_in
from kit.errors import KitError
from kit.plan.compose import Plan, plan

UNNAMED = "A blanket"


def plan_blanket(blanket: Blanket, *, quick: bool = False) -> Plan:
    """The plan of an open blanket folder.

    The last few are remembered: a choice taken back, and a plan written as it is shown,
    are there at once.

    Parameters
    ----------
    blanket : Blanket
        An open one, as it is or with other choices.
    quick : bool
        Search less for the smoothest order: a first answer.

    Returns
    -------
    Plan
        Without `fabric` where gauge, size or the yarns' lengths are not given.

    Raises
    ------
    KitError
        Where there is no yarn to arrange, or the choices do not go together.

    Examples
    --------
    >>> import kit
    >>> blanket = kit.open_blanket(kit.shared_folder("data") / "pram-cover")
    >>> kit.plan_blanket(blanket).fabric.stitches
    154
    """
    shop = blanket.shop.yarns if blanket.shop else ()
    return _remembered(blanket.stash, blanket.choices, shop, quick)


def plan_stash(
    stash: Stash, *, shop: Stash | None = None, quick: bool = False, **choices: Any
) -> Plan:
    """The plan of a stash that lies in no folder, with choices as blanket.toml's keys.

    Parameters
    ----------
    stash : Stash
        The yarns.
    shop : Stash, optional
        Yarns that could be bought as bridges.
    quick : bool
        Search less for the smoothest order: a first answer.
    **choices
        Keys of blanket.toml, in the units of their names: `by="smoothest"`,
        `width_cm=100`; with its table where several have it,
        `**{"strands.most": 4}`. Fabric takes `stitches_per_10cm`, `rows_per_10cm`,
        `width_cm` and `length_cm` (cm, or "all").

    Returns
    -------
    Plan
        Without `fabric` where gauge, size or the yarns' lengths are not given.

    Raises
    ------
    KitError
        Where a key or its value is not one of blanket.toml's, or there is no yarn.

    Examples
    --------
    >>> import pandas as pd
    >>> import kit
    >>> yarns = pd.DataFrame({"name": ["Ink", "Milk"], "colours": ["#235", "#ffe"]})
    >>> kit.plan_stash(kit.stash_from(yarns), by="value").fabric is None
    True
    """
    loose = Blanket(Path(), stash, shop, Choices(UNNAMED))
    try:
        return plan_blanket(choose(loose, **choices), quick=quick)
    except KitError as error:  # there is no file to look into
        raise KitError(fault.at(file="") for fault in error.faults) from None


@lru_cache(maxsize=8)
def _remembered(
    stash: Stash, choices: Choices, shop: tuple[Yarn, ...], quick: bool
) -> Plan:
    try:
        return plan(stash, choices, shop=shop, quick=quick)
    except KitError as error:
        faults = [told_in(fault, choices.units) for fault in error.faults]
        raise KitError(faults) from None
