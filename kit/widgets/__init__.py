"""Controls for the notebooks.

Each desk owns the widgets of one notebook and calls the rooms above; nothing is
computed here. A panel of a desk shows itself when it is the last line of a cell.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.widgets.colour.desk import ColourDesk as ColourDesk
    from kit.widgets.fabric.desk import FabricDesk as FabricDesk
    from kit.widgets.needles.desk import NeedlesDesk as NeedlesDesk
    from kit.widgets.photo.desk import PhotoDesk as PhotoDesk
    from kit.widgets.stash.desk import StashDesk as StashDesk

_HOMES = {
    "fabric.desk": ("FabricDesk",),
    "colour.desk": ("ColourDesk",),
    "needles.desk": ("NeedlesDesk",),
    "photo.desk": ("PhotoDesk",),
    "stash.desk": ("StashDesk",),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
