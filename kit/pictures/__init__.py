"""SVG and PNG of what the other rooms hold.

Values in, pictures out: swatches, the shelf of the stash, the run with its steps, the
fabric as stitches. Nothing is computed here that a plan does not hold. `lesson` draws
the pictures that explain the words.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.pictures.fabric_sheet import fabric_pictures as fabric_pictures
    from kit.pictures.run import run_svg as run_svg
    from kit.pictures.run import strip_svg as strip_svg
    from kit.pictures.shelf import greys_svg as greys_svg
    from kit.pictures.shelf import shelf_svg as shelf_svg
    from kit.pictures.swatches import mix_svg as mix_svg

_HOMES = {
    "fabric_sheet": ("fabric_pictures",),
    "run": (
        "run_svg",
        "strip_svg",
    ),
    "shelf": (
        "greys_svg",
        "shelf_svg",
    ),
    "swatches": ("mix_svg",),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
