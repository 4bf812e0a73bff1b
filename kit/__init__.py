"""Design blankets knitted from leftover yarn so that the colour flows.

    >>> import kit
    >>> blanket = kit.open_blanket(kit.shared_folder("data") / "pram-cover")
    >>> plan = kit.plan_blanket(kit.choose(blanket, by="family"))
    >>> print(kit.summary(plan)[0])
    Lock-keeper's pram cover: 13 yarns by family, mirrored, light to dark to light.

Names are looked up when first used, so that `import kit` costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from kit.blanket import choose, open_blanket, plan_blanket, save_choices
    from kit.colour import Mix, read_mix
    from kit.difference import ciede2000, step_table
    from kit.errors import KitError
    from kit.files import shared_folder
    from kit.needles import where_things_stand
    from kit.report import summary, write_plan
    from kit.steps import steps_along

_HOMES = {
    "blanket": ("choose", "open_blanket", "plan_blanket", "save_choices"),
    "colour": ("Mix", "read_mix"),
    "difference": ("ciede2000", "step_table"),
    "errors": ("KitError",),
    "files": ("shared_folder",),
    "needles": ("where_things_stand",),
    "report": ("summary", "write_plan"),
    "steps": ("steps_along",),
}

__all__ = [
    "KitError",
    "Mix",
    "choose",
    "ciede2000",
    "open_blanket",
    "plan_blanket",
    "read_mix",
    "save_choices",
    "shared_folder",
    "step_table",
    "steps_along",
    "summary",
    "where_things_stand",
    "write_plan",
]


def __getattr__(name: str) -> Any:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(f"kit.{home}"), name)
    raise AttributeError(f"module 'kit' has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
