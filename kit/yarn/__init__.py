"""Weight classes, units, gauge, yarn in a stitch.

What a label, a swatch and a tape say as numbers: metres per 100 g become tex, a `Gauge`
becomes stitches, rows and yarn in a stitch (`cast_on`). `length`, `mass` and `size` put
numbers back into words, metric or imperial.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.yarn.gauge import Gauge as Gauge
    from kit.yarn.gauge import Section as Section
    from kit.yarn.gauge import Swatch as Swatch
    from kit.yarn.gauge import cast_on as cast_on
    from kit.yarn.measures import counted as counted
    from kit.yarn.measures import length as length
    from kit.yarn.measures import mass as mass
    from kit.yarn.measures import size as size
    from kit.yarn.tex import to_tex as to_tex
    from kit.yarn.weight_classes import weight_class as weight_class

_HOMES = {
    "gauge": (
        "Gauge",
        "Section",
        "Swatch",
        "cast_on",
    ),
    "measures": (
        "counted",
        "length",
        "mass",
        "size",
    ),
    "tex": ("to_tex",),
    "weight_classes": ("weight_class",),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
