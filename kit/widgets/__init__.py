"""Controls for the notebooks.

Each desk owns the widgets of one notebook and calls the rooms above; nothing is
computed here. A part of a desk shows itself when it is the last line of a cell.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.widgets.blanket import FabricDesk as FabricDesk
    from kit.widgets.colours import ColourDesk as ColourDesk
    from kit.widgets.needles import NeedlesDesk as NeedlesDesk
    from kit.widgets.photo import PhotoDesk as PhotoDesk
    from kit.widgets.stash import StashDesk as StashDesk

_HOMES = {
    "blanket": ("FabricDesk",),
    "colours": ("ColourDesk",),
    "needles": ("NeedlesDesk",),
    "photo": ("PhotoDesk",),
    "stash": ("StashDesk",),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
