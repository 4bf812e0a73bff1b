"""The blanket folder: its stash and its choices.

`open_blanket` reads stash.csv, shop.csv and blanket.toml into a `Blanket`: a `Stash` of
`Yarn` and frozen `Choices`. `choose` tries other choices, `save_choices` writes them;
a stash that is being edited is a `stash_file.StashFile`.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.blanket.choices import Choices as Choices
    from kit.blanket.choices_toml import read_settings as read_settings
    from kit.blanket.folder import Blanket as Blanket
    from kit.blanket.folder import choose as choose
    from kit.blanket.folder import open_blanket as open_blanket
    from kit.blanket.folder import save_choices as save_choices
    from kit.blanket.folder import stash_path as stash_path
    from kit.blanket.stash import Stash as Stash
    from kit.blanket.stash import Yarn as Yarn
    from kit.blanket.whereabouts import own_demo as own_demo

_HOMES = {
    "choices": ("Choices",),
    "choices_toml": ("read_settings",),
    "folder": (
        "Blanket",
        "choose",
        "open_blanket",
        "save_choices",
        "stash_path",
    ),
    "stash": (
        "Stash",
        "Yarn",
    ),
    "whereabouts": ("own_demo",),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
