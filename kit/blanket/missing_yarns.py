"""A blanket opened although its choices name yarns that are no longer there."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from kit.blanket.choices import Choices, Kept
from kit.blanket.choices_toml import read_choices
from kit.blanket.folder import Blanket, open_blanket
from kit.blanket.keys import as_toml
from kit.errors import KitError, shorten
from kit.files import read_bytes
from kit.files.disk import CHOICES

KEYS = ("order", "locked", "left_out", "accents", "bridges_kept")  # of [colours]


def open_without_gone(
    folder: str | Path,
) -> tuple[Blanket, dict[str, Any], tuple[str, ...]]:
    """`open_blanket`, but yarns gone from the stash are passed over in the choices.

    Also gives the choices without them, to be saved with the next change made by hand,
    and a sentence that tells. Raises KitError for every other fault.
    """
    try:
        return open_blanket(folder), {}, ()
    except KitError as error:
        faults = error.faults
        known = {f"colours.{key}" for key in KEYS}
        if any(f.code != "unknown" or f.column not in known for f in faults):
            raise
    gone = dict.fromkeys(fault.found for fault in faults)
    text = read_bytes(Path(folder) / CHOICES).decode("utf-8-sig")
    kept = _without(read_choices(text), gone)
    blanket = open_blanket(folder, settings=kept)
    listed = ", ".join(f'"{shorten(name)}"' for name in gone)
    said = (
        f"No longer in the stash, so passed over here: {listed}. {CHOICES} names "
        "them until the next change is saved."
    )
    return blanket, {key: as_toml(value) for key, value in kept.items()}, (said,)


def _without(choices: Choices, gone: Collection[str]) -> Mapping[str, tuple[Any, ...]]:
    """The choices by key in which one of these names stood, without it."""
    arranging = choices.arranging
    stated = {
        "colours.order": arranging.order,
        "colours.locked": arranging.locked,
        "colours.left_out": choices.laying.left_out,
        "colours.accents": choices.judging.accents,
        "colours.bridges_kept": choices.bridging.bridges_kept,
    }
    left = {
        key: tuple(item for item in items if not _names(item) & set(gone))
        for key, items in stated.items()
    }
    return {key: items for key, items in left.items() if items != stated[key]}


def _names(item: str | tuple[str, ...] | Kept) -> set[str]:
    if isinstance(item, Kept):
        return {item.yarn, item.after, item.before}
    return {item} if isinstance(item, str) else set(item)
