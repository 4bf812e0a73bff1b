"""A room's door: names that are looked up behind it when they are first used."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def late(
    package: str, homes: Mapping[str, tuple[str, ...]]
) -> tuple[Callable[[str], Any], Callable[[], list[str]], list[str]]:
    """`__getattr__`, `__dir__` and `__all__` of a package whose names live behind it.

    `homes` gives for each module below `package` the names it holds. So a door costs
    nothing to stand at, and only what is used is imported.
    """
    home_of = {name: home for home, names in homes.items() for name in names}
    names = sorted(home_of)

    def find(name: str) -> Any:
        if name not in home_of:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return getattr(import_module(f"{package}.{home_of[name]}"), name)

    return find, lambda: names, names
