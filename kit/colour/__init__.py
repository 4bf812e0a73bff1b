"""Colours, mixes of them, their differences and their names.

Text becomes a `Mix` (`read_mix`): CIELAB colours with shares. Two mixes have a step
between them, near by the earth-mover's distance and far by their averages, on
CIEDE2000; `steps_along` measures a whole run and tells jumps and causes. Families and
plain words are read off a colour.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.colour.delta_e import ciede2000 as ciede2000
    from kit.colour.difference import step_table as step_table
    from kit.colour.families import family_of as family_of
    from kit.colour.mixes import Mix as Mix
    from kit.colour.mixes import blend as blend
    from kit.colour.mixes import mean_lab as mean_lab
    from kit.colour.mixes import read_mix as read_mix
    from kit.colour.steps import Step as Step
    from kit.colour.steps import steps_along as steps_along
    from kit.colour.words import words_for as words_for

_HOMES = {
    "delta_e": ("ciede2000",),
    "difference": ("step_table",),
    "families": ("family_of",),
    "mixes": (
        "Mix",
        "blend",
        "mean_lab",
        "read_mix",
    ),
    "steps": (
        "Step",
        "steps_along",
    ),
    "words": ("words_for",),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
