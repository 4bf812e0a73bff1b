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
    from kit.blanket.folder import choose, open_blanket, save_choices
    from kit.colour.delta_e import ciede2000
    from kit.colour.difference import step_table
    from kit.colour.mixes import Mix, read_mix
    from kit.colour.steps import steps_along
    from kit.errors import KitError
    from kit.files.disk import shared_folder
    from kit.needles.verbs import where_things_stand
    from kit.plan.compose import plan_blanket
    from kit.report.report import summary, write_plan

_HOMES = {
    "blanket.folder": ("choose", "open_blanket", "save_choices"),
    "plan.compose": ("plan_blanket",),
    "colour.mixes": ("Mix", "read_mix"),
    "colour.delta_e": ("ciede2000",),
    "colour.difference": ("step_table",),
    "errors": ("KitError",),
    "files.disk": ("shared_folder",),
    "needles.verbs": ("where_things_stand",),
    "report.report": ("summary", "write_plan"),
    "colour.steps": ("steps_along",),
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
