"""The yarns in order, laid out, bridged.

A stash is arranged (`arrange`) by value, by family, smoothest or by hand, laid out
along the blanket (`lay_out`), and bridges are put where they lower the largest step;
all three together with their steps are a `Design` (`design_colours`). What else would
help is told by `advise`.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.arrangement.advice import advise as advise
    from kit.arrangement.bridges import Bridge as Bridge
    from kit.arrangement.design import Design as Design
    from kit.arrangement.design import design_colours as design_colours
    from kit.arrangement.layout import lay_out as lay_out
    from kit.arrangement.orders import Arrangement as Arrangement
    from kit.arrangement.orders import arrange as arrange

_HOMES = {
    "advice": ("advise",),
    "bridges": ("Bridge",),
    "design": (
        "Design",
        "design_colours",
    ),
    "layout": ("lay_out",),
    "orders": (
        "Arrangement",
        "arrange",
    ),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
