"""Things in the best order, proved.

A `Problem` holds the steps between things and which orders are allowed; `least_largest`
tries its ways one after the other, each with what the last one found, until the largest
step is as small as `lower_bound` says it can be, or no way is left. Out comes `Found`:
the order, what it costs, and what no order can beat.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.search.bottleneck import Found as Found
    from kit.search.bottleneck import least_largest as least_largest
    from kit.search.bounds import lower_bound as lower_bound
    from kit.search.problem import Order as Order
    from kit.search.problem import Problem as Problem
    from kit.search.problem import keeps_value_rule as keeps_value_rule

_HOMES = {
    "bottleneck": (
        "Found",
        "least_largest",
    ),
    "bounds": ("lower_bound",),
    "problem": (
        "Order",
        "Problem",
        "keeps_value_rule",
    ),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
