"""The only composer.

`plan` puts the stages together: stash and choices in, a `Plan` out, with design, fabric
and sentences. `plan_blanket` does it for an open folder and remembers the last few.
What is asked of a plan beside (advice, cautions, sizes) is worked out when asked.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.plan.compose import Plan as Plan
    from kit.plan.compose import plan as plan
    from kit.plan.plans import plan_blanket as plan_blanket
    from kit.plan.remedies import advice_lines as advice_lines
    from kit.plan.remedies import reordered_lines as reordered_lines
    from kit.plan.sizes import sizes_table as sizes_table

_HOMES = {
    "compose": (
        "Plan",
        "plan",
    ),
    "plans": ("plan_blanket",),
    "remedies": (
        "advice_lines",
        "reordered_lines",
    ),
    "sizes": ("sizes_table",),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
