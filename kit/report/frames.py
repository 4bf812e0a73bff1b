"""Values as pandas tables, for a reader's own sums and charts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from kit.arrangement import Design
from kit.arrangement.orders import family_name
from kit.blanket import Stash, Yarn
from kit.colour import Mix, Step, mean_lab
from kit.colour.spaces import chroma_hue, lab_to_hex
from kit.colour.steps import Steps
from kit.fabric import Fabric, Stripe
from kit.fabric.stripes import stripe_mix, stripe_tex
from kit.pictures.inventory import stash_frame
from kit.plan import Plan

if TYPE_CHECKING:
    import pandas as pd


def frame_of(value: Stash | Design | Fabric | Plan | Steps) -> pd.DataFrame:
    """A value as a pandas table, for your own sums and charts.

    Parameters
    ----------
    value : Stash, Design, Fabric, Plan or Steps
        A plan stands for its fabric; without one for its design.

    Returns
    -------
    pandas.DataFrame
        Of a stash one row a yarn, of a design one row a yarn along the blanket, of a
        fabric one row a stripe from the cast-on edge, of steps one row a step. `L*`
        and `C*` in CIELAB D65/2°, `hue` in degrees, `colour` as #rrggbb (the average),
        `step`, `size`, `near` and `far` in ΔE00 (a step to the next one, so none at the
        end), `kind` "jump", "accent", "join" or blank, `tex` in g/km, masses in g,
        lengths in m.

    Examples
    --------
    >>> from kit.colour import read_mix, steps_along
    >>> steps = steps_along([read_mix(text)[0] for text in ("#fff", "#888", "#000")])
    >>> frame_of(steps).columns.tolist()
    ['size', 'near', 'far', 'kind', 'cause']
    """
    import pandas as pd  # late: slow to import

    if isinstance(value, Stash):
        return stash_frame(value.yarns)
    return pd.DataFrame(_rows(value))


def _rows(value: Design | Fabric | Plan | Steps) -> list[dict[str, Any]]:
    if isinstance(value, Steps):
        shown = ("size", "near", "far", "kind", "cause")
        return [{name: getattr(step, name) for name in shown} for step in value]
    if isinstance(value, Design):
        return _with_steps([_of_yarn(yarn) for yarn in value.laid.yarns], value.steps)
    if isinstance(value, Fabric):
        return [_of_stripe(stripe) for stripe in value.stripes]
    if value.fabric is None:
        return _rows(value.design)
    return _with_steps(_rows(value.fabric), value.fabric_steps)


def _with_steps(
    rows: list[dict[str, Any]], steps: Sequence[Step]
) -> list[dict[str, Any]]:
    """Each row with the step to the next one; behind the last there is none."""
    sizes = [*(step.size for step in steps), None]
    kinds = [*(step.kind for step in steps), ""]
    return [
        {**row, "step": size, "kind": kind}
        for row, size, kind in zip(rows, sizes, kinds, strict=False)
    ]


def _of_yarn(yarn: Yarn) -> dict[str, Any]:
    return {
        "no": yarn.no,
        "name": yarn.name,
        "family": family_name(yarn),
        **_colours(yarn.mix),
    }


def _of_stripe(stripe: Stripe) -> dict[str, Any]:
    strands = stripe.strands + stripe.carried
    return {
        "first_row": stripe.first_row,
        "last_row": stripe.last_row,
        "rows": stripe.rows,
        "strands": " + ".join(yarn.name for yarn in strands),
        "tex": stripe_tex(stripe),
        **_colours(stripe_mix(stripe)),
    }


def _colours(mix: Mix) -> dict[str, Any]:
    lab = mean_lab(mix)
    chroma, hue = chroma_hue(lab)
    return {"L*": lab[0], "C*": chroma, "hue": hue, "colour": lab_to_hex(lab)}
