"""Names looked up when they are first used: a room's door, and what a value looks like.

A room imports only rooms above it, and what it is drawn by lies below: a value names
its drawing here, and it is imported when a notebook shows the value.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any, TypeVar

Class = TypeVar("Class", bound=type)


def late(
    package: str, homes: Mapping[str, tuple[str, ...]], *, at_door: str = ""
) -> tuple[Callable[[str], Any], Callable[[], list[str]], list[str]]:
    """`__getattr__`, `__dir__` and `__all__` of a package whose names live behind it.

    `homes` gives for each module below `package` the names it holds. So a door costs
    nothing to stand at, and only what is used is imported. What stands `at_door`
    ("module:function") is given each thing and hands out what it makes of it.
    """
    home_of = {name: home for home, names in homes.items() for name in names}
    names = sorted(home_of)

    def find(name: str) -> Any:
        if name not in home_of:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        found = getattr(import_module(f"{package}.{home_of[name]}"), name)
        return named(at_door)(found) if at_door else found

    return find, lambda: names, names


def named(place: str) -> Any:
    """What stands at "module:name", imported now."""
    module, name = place.split(":")
    return getattr(import_module(module), name)


def draws_itself(by: str) -> Callable[[Class], Class]:
    """A class whose values show a picture where they are the last line of a cell.

    `by` is "module:function". The function takes the value and gives its picture with
    a text for those who cannot see it, as its name ends: SVG ("_svg") or HTML.
    """

    def drawn(value: Any) -> str:
        return named(by)(value)

    def drawing(kind: Class) -> Class:
        setattr(kind, "_repr_svg_" if by.endswith("_svg") else "_repr_html_", drawn)
        return kind

    return drawing
