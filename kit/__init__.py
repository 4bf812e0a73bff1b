"""Design blankets knitted from leftover yarn so that the colour flows.

    >>> import kit
    >>> blanket = kit.open_blanket(kit.shared_folder("data") / "pram-cover")
    >>> plan = kit.plan_blanket(kit.choose(blanket, by="family"))
    >>> print(kit.summary(plan)[0])
    Lock-keeper's pram cover: 13 yarns by family, mirrored, light to dark to light.

A stash, a plan and what they hold show themselves as the last line of a notebook's
cell. Names are looked up when first used, so that `import kit` costs nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.blanket.folder import choose as choose
    from kit.blanket.folder import open_blanket as open_blanket
    from kit.blanket.folder import save_choices as save_choices
    from kit.blanket.stash_frame import stash_from as stash_from
    from kit.colour.delta_e import ciede2000 as ciede2000
    from kit.colour.difference import step_table as step_table
    from kit.colour.mixes import Mix as Mix
    from kit.colour.mixes import read_mix as read_mix
    from kit.colour.steps import steps_along as steps_along
    from kit.errors import KitError as KitError
    from kit.files.folders import shared_folder as shared_folder
    from kit.needles.status import where_things_stand as where_things_stand
    from kit.plan.plans import plan_blanket as plan_blanket
    from kit.plan.plans import plan_stash as plan_stash
    from kit.report.frames import frame_of as frame_of
    from kit.report.report import summary as summary
    from kit.report.report import write_plan as write_plan

_HOMES = {
    "blanket": ("choose", "open_blanket", "save_choices"),
    "blanket.stash_frame": ("stash_from",),
    "colour": ("Mix", "ciede2000", "read_mix", "step_table", "steps_along"),
    "errors": ("KitError",),
    "files": ("shared_folder",),
    "needles": ("where_things_stand",),
    "plan": ("plan_blanket",),
    "plan.plans": ("plan_stash",),
    "report.frames": ("frame_of",),
    "report": ("summary", "write_plan"),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES, at_door="kit.arguments:answered")
