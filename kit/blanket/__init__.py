"""The blanket folder: its stash and its choices.

`open_blanket` reads stash.csv, shop.csv and blanket.toml into a `Blanket`: a `Stash` of
`Yarn` and frozen `Choices`. `choose` tries other choices, `save_choices` writes them,
`open_stash` holds the stash for editing.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.blanket.choices import Choices as Choices
    from kit.blanket.folder import Blanket as Blanket
    from kit.blanket.folder import choose as choose
    from kit.blanket.folder import open_blanket as open_blanket
    from kit.blanket.folder import own_demo as own_demo
    from kit.blanket.folder import save_choices as save_choices
    from kit.blanket.stash import Stash as Stash
    from kit.blanket.stash import Yarn as Yarn
    from kit.blanket.stash_file import open_stash as open_stash

_HOMES = {
    "choices": ("Choices",),
    "folder": (
        "Blanket",
        "choose",
        "open_blanket",
        "own_demo",
        "save_choices",
    ),
    "stash": (
        "Stash",
        "Yarn",
    ),
    "stash_file": ("open_stash",),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
