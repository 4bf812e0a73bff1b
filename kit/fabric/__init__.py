"""Strands, stripes, yarn used, and how sure it is.

Laid-out yarns are set up for the needles, held together and knitted along the blanket
(`make_fabric`): out comes a `Fabric` of `Stripe`s with what each ball gives, to the
millimetre. `rows_to_knit` turns it into a schedule, `stripe_steps` measures it,
`forecast_fabric` says within how many rows each strand ends. A `Start` re-enters here.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.fabric.fabric import Fabric as Fabric
    from kit.fabric.fabric import Start as Start
    from kit.fabric.forecast import forecast_fabric as forecast_fabric
    from kit.fabric.knitting import make_fabric as make_fabric
    from kit.fabric.schedule import rows_to_knit as rows_to_knit
    from kit.fabric.stripes import Stripe as Stripe
    from kit.fabric.stripes import stripe_steps as stripe_steps

_HOMES = {
    "fabric": (
        "Fabric",
        "Start",
    ),
    "forecast": ("forecast_fabric",),
    "knitting": ("make_fabric",),
    "schedule": ("rows_to_knit",),
    "stripes": (
        "Stripe",
        "stripe_steps",
    ),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
