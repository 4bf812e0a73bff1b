"""plan.html: one self-contained page for screen and paper, without any script.

Units and paper are switched by two radio buttons and style alone; every quantity stands
there twice. Names are data: Jinja escapes them, and `bdi` keeps their direction apart.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache, partial
from io import BytesIO
from math import ceil
from typing import Any

from kit.arrangement.ideal_bridge import mix_words
from kit.arrangement.orders import family_name, value_of
from kit.blanket import Yarn
from kit.colour.mixes import hex_shares
from kit.colour.steps import largest_step
from kit.errors import shorten
from kit.fabric import Fabric, rows_to_knit
from kit.fabric.forecast import ends_as_joined
from kit.fabric.schedule import BallPart, Entry, weight_g, winding
from kit.fabric.shortfall import chance_words, enough_words, is_enough
from kit.fabric.strand_chains import N_DRAWS
from kit.fabric.stripes import (
    is_out_of_range,
    stripe_contrast,
    stripe_mix,
    stripe_tex,
)
from kit.fabric.tolerance import USUAL
from kit.pictures import mix_svg, strip_svg
from kit.pictures.run import row_svgs
from kit.pictures.svg import Svg, element, rect
from kit.pictures.swatches import SURROUND, swatch
from kit.plan import Plan, advice_lines, reordered_lines, sizes_table
from kit.plan.early_joins import early_join_words
from kit.plan.facts import all_cautions, forecast_of_plan, ideal_amount
from kit.plan.middle import (
    ball_jumps,
    half_words,
    middle_places,
    middle_words,
    stripe_jumps,
)
from kit.plan.remedies import FOR_STRIPES, across_words, bridge_words
from kit.report.cards import materials, tags
from kit.yarn import counted, length, mass, size
from kit.yarn.measures import finely, per_100g, per_length, weighed

# Pictures the page shows, and what they show for who cannot see them.
PICTURES = {
    "fabric.png": "The blanket as knitted, with rows and joins beside it",
    "fabric-across.png": "The blanket from across the room, in colours and in greys",
}
N_IN_ROW = 9  # yarns of the run
N_WORST = 6  # jumps between stripes told
MOST_NAME = 80  # characters of a name on the page
SKEIN_G = 50  # what missing yarn is counted in


def plan_html(
    plan: Plan, *, pictures: Mapping[str, Any], sentences: Sequence[str] = ()
) -> str:
    """The page. `pictures`: PIL Images by file name, of which those in `PICTURES` are
    shown; `sentences`: the lines at its head."""
    return _template().render(
        plan=plan,
        fabric=plan.fabric,
        sentences=sentences,
        materials=materials(plan),
        tags=tags(plan),
        cautions=all_cautions(plan),
        pictures=[
            (_data_uri(pictures[name]), words)
            for name, words in PICTURES.items()
            if name in pictures
        ],
        **_colours(plan),
        **(_knitting(plan, plan.fabric) if plan.fabric else {}),
        **_helpers(),
    )


def _colours(plan: Plan) -> dict[str, Any]:
    """What the page says of the run."""
    yarns = plan.design.laid.yarns
    return {
        "rows": [
            _inline(row)
            for row in row_svgs(
                plan.design,
                limit=plan.choices.judging.jump_limit,
                n_in_row=min(N_IN_ROW, len(yarns)),
                turns=middle_places(plan),
            )
        ],
        "strips": [
            _inline(strip_svg(yarns, grey=grey, width=760, height=tall))
            for grey, tall in ((False, 30), (True, 16))
        ],
        "for_stripes": FOR_STRIPES,
        "turns": early_join_words(plan),
        "moves": [*reordered_lines(plan), *advice_lines(plan)],
        "jumps": ball_jumps(plan),
        "kept": [k for k, step in enumerate(plan.design.steps) if step.accent],
        "largest": largest_step(plan.design.steps),
    }


def _knitting(plan: Plan, fabric: Fabric) -> dict[str, Any]:
    """What the page says of rows, yarn and sizes."""
    making = plan.choices.making
    used_m = sum(use.used_mm for use in fabric.uses) / 1000
    worst = stripe_jumps(plan)[:N_WORST]
    sure = forecast_of_plan(plan)
    wound = () if plan.start.row else winding(fabric, plan.choices)
    return {
        "entries": _to_come(plan, fabric),
        "winding": wound,
        "sure": sure,
        "draws": N_DRAWS,
        "chance": chance_words(sure) if sure and is_enough(fabric) else "",
        "is_enough": is_enough(fabric),
        "enough": _in_both(partial(enough_words, fabric, plan.choices)),
        "limits": USUAL,
        "ends_at": ends_as_joined(sure, fabric.stitches) if sure else {},
        "sizes": sizes_table(fabric, making),
        "used_m": used_m,
        "used_g": sum(weight_g(use.yarn, use.used_mm) for use in fabric.uses),
        "stripe_largest": largest_step(plan.fabric_steps),
        "stripe_jumps": worst,
        "halves": bool(wound) and _for_second_half(wound, plan),
        "middle": lambda entry: middle_words(plan, entry),
        "buy": _to_buy(plan, fabric),
        "ideal_amounts": [ideal_amount(one, fabric) for one in plan.design.suggestions],
        "most_contrast": making.strands.contrast,
        "is_out": lambda stripe: is_out_of_range(stripe, making),
    }


def _for_second_half(wound: Sequence[Sequence[BallPart]], plan: Plan) -> bool:
    """Whether all that is wound off is knitted in the second half."""
    halves = {half_words(part, plan) for parts in wound for part in parts}
    return halves == {"second half"}


def _to_come(plan: Plan, fabric: Fabric) -> tuple[Entry, ...]:
    """The lines of the schedule that are not knitted yet."""
    done = plan.start.row * fabric.stitches
    entries = rows_to_knit(fabric, plan.choices)
    return tuple(entry for entry in entries if entry.stripe.last > done)


def _to_buy(plan: Plan, fabric: Fabric) -> dict[str, Any]:
    """How many 50 g balls would end a shortage, and how they would run; skeins of the
    shop list that are knitted in."""
    owned = set(plan.stash.yarns)
    bought = [use for use in fabric.uses if use.yarn not in owned]
    if fabric.short is None or not fabric.short.metres:
        return {"balls": 0, "bought": bought}
    each_100g = 100 * fabric.short.metres / fabric.short.grams
    balls = ceil(fabric.short.grams / SKEIN_G)
    ends = fabric.stripes[-1] if fabric.stripes else None
    return {
        "balls": balls,
        "ball_g": SKEIN_G,
        "per_100g": each_100g,
        "ends": hex_shares(stripe_mix(ends)) if ends else [],
        "bought": bought,
    }


def _data_uri(whole: Any) -> str:
    """A picture in the 256 colours that suit it best, a quarter of the size: within
    dE00 1 on average."""
    from PIL import Image  # late: only where there is fabric

    drawn = whole.resize(
        [max(1, side // 8) for side in whole.size], Image.Resampling.NEAREST
    )
    palette = drawn.quantize(256, dither=Image.Dither.NONE, kmeans=2)
    data = BytesIO()
    whole.quantize(palette=palette, dither=Image.Dither.NONE).save(data, "PNG")
    return f"data:image/png;base64,{b64encode(data.getvalue()).decode()}"


# --- helpers of the page --------------------------------------------------------------


def _helpers() -> dict[str, Any]:
    return {
        "chip": _chip,
        "counted": counted,
        "length": _both(length),
        "mass": _both(mass),
        "size": _both(size),
        "weighed": _both(weighed),
        "finely": _both(finely),
        "per_100g": _both(per_100g),
        "per_length": _both(per_length),
        "named": lambda yarn: shorten(yarn.name, MOST_NAME),
        "weight_g": weight_g,
        "family_name": family_name,
        "value_of": value_of,
        "mix_svg": lambda mix, **size: _inline(mix_svg(mix, **size)),
        "mix_words": mix_words,
        "bridge_words": bridge_words,
        "across_words": across_words,
        "hex_shares": hex_shares,
        "stripe_tex": stripe_tex,
        "stripe_contrast": stripe_contrast,
    }


def _inline(svg: Svg) -> Svg:
    """Inside a page an SVG needs no name space, so that no address stands in it."""
    return Svg(svg.replace(' xmlns="http://www.w3.org/2000/svg"', ""))


def _both(worded: Callable[[float, str], str]) -> Callable[[float], Any]:
    """A quantity in metric and imperial."""
    return lambda number: _in_both(partial(worded, number))


def _in_both(worded: Callable[[str], str]) -> Svg:
    """Words in metric and in imperial units; style shows one of them."""
    metric = element("span", worded("metric"), class_="m")
    return Svg(metric + element("span", worded("imperial"), class_="i"))


def _chip(yarn: Yarn, width: int = 30, height: int = 12) -> Svg:
    """A small swatch on its own, for a line of text or a table."""
    wide, tall = width + 5, height + 5
    return element(
        "svg", rect(width="100%", height="100%", fill=SURROUND),
        swatch(yarn, 2.5, 2.5, width, height),
        class_="chip", width=wide, height=tall, viewBox=f"0 0 {wide} {tall}",
        aria_hidden="true",
    )  # fmt: skip


@lru_cache(maxsize=1)
def _template() -> Any:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    pages = Environment(
        loader=PackageLoader("kit.report"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    return pages.get_template("plan.html")
