"""The keys of blanket.toml, and what each may hold."""

from __future__ import annotations

from math import inf
from typing import Any

from kit.blanket.choices import ARRANGEMENTS, LAYOUTS, Carry, Kept
from kit.blanket.toml_text import shown
from kit.blanket.value_checks import (
    Check,
    WrongError,
    either,
    family,
    family_order,
    list_of,
    measured,
    n_rows,
    name_or_pair,
    named,
    number,
    one_of,
    pair_of,
    row_span,
    table_of,
    text,
)
from kit.errors import Fault, KitError, unknown
from kit.files.cells import CM, GRAMS, PER_10CM
from kit.yarn import Section, Swatch

_CM = measured(CM, "a number of cm", "28 in", number(0, 10_000, above=True))
_PER_10CM = measured(
    PER_10CM, "a count over 10 cm", "22 / 4 in", number(0, 200, above=True)
)
_SWATCH_G = measured(
    GRAMS, "a number of grams", "0.32 oz", number(0, 100_000, above=True)
)
_NAMES = list_of(text, "yarn names")

CHECKS: dict[str, Check] = {
    "name": text,
    "units": one_of("units", "metric", "imperial"),
    "gauge.stitches_per_10cm": _PER_10CM,
    "gauge.rows_per_10cm": _PER_10CM,
    "gauge.swatch": table_of(
        Swatch,
        {
            "width_cm": named("width_cm", _CM),
            "length_cm": named("length_cm", _CM),
            "grams": named("grams", _SWATCH_G),
        },
        *("width_cm", "length_cm", "grams"),
    ),
    "gauge.repeat_width_cm": _CM,
    "size.width_cm": _CM,
    "size.length_cm": either("all", None, _CM),
    "size.repeat_stitches": number(1, 10_000, whole=True),
    "size.edge_stitches": number(0, 10_000, whole=True),
    "strands.fabric_tex": number(0, 100_000, above=True),
    "strands.thinner": number(0, 1),
    "strands.thicker": number(0, 10),
    "strands.least": number(1, 12, whole=True),
    "strands.most": number(1, 12, whole=True),
    "strands.contrast": number(0, 200),
    "colours.by": one_of("arrangement", *ARRANGEMENTS),
    "colours.layout": one_of("layout", *LAYOUTS),
    "colours.times_through": number(1, 20, whole=True),
    "colours.sharing": one_of("sharing", "halve", "pair"),
    "colours.families": one_of("way of running families", "alternate", "light-to-dark"),
    "colours.family_order": family_order,
    "colours.ends": one_of("ends", "fixed", "free"),
    "colours.value_slack": either("none", inf, number(0, 100)),
    "colours.smooth_for": one_of("aim", "fabric", "yarn"),
    "colours.view": number(0, 1),
    "colours.jump_limit": number(0, 200),
    "colours.fabric_jump_limit": number(0, 200),
    "colours.accents": list_of(pair_of(text, "yarn names"), "pairs of yarn names"),
    "colours.bridges": number(0, 20, whole=True),
    "colours.bridges_from": one_of(
        "place to take bridges from", "stash", "stash and shop"
    ),
    "colours.order": _NAMES,
    "colours.locked": list_of(name_or_pair, "yarn names, or pairs of them"),
    "colours.left_out": _NAMES,
    "colours.bridges_kept": list_of(
        table_of(
            Kept,
            {"yarn": text, "after": text, "before": text},
            *("yarn", "after", "before"),
        ),
        "tables",
    ),
    "pace.use": one_of("pace", "all"),
    "pace.rows_per_colour": n_rows,
    "pace.longest_rows": n_rows,
    "sections": list_of(
        table_of(
            Section,
            {
                "name": text,
                "rows": n_rows,
                "rows_per_10cm": _PER_10CM,
                "yarn_factor": number(0, 20, above=True),
            },
            *("name", "rows"),
        ),
        "tables",
    ),
    "carry": list_of(
        table_of(
            Carry,
            {
                "yarn": text,
                "rows": row_span,
                "section": text,
                "family": family,
            },
            "yarn",
        ),
        "tables",
    ),
}
TABLES = tuple(dict.fromkeys(key.split(".")[0] for key in CHECKS if "." in key))


def check_key(key: str, value: Any) -> Any:
    """One key's value, checked and frozen. Raises KitError with the key as place."""
    if key not in CHECKS:
        raise KitError(unknown("key", key, _keys_beside(key)))
    try:
        return CHECKS[key](value)
    except WrongError as wrong:
        fault = Fault("choice", found=shown(value), expected=str(wrong), column=key)
        raise KitError(fault) from None
    except KitError as error:
        raise KitError(fault.at(column=key) for fault in error.faults) from None


def _keys_beside(key: str) -> list[str]:
    """The keys of the same table, to name the nearest; else the tables."""
    table = key.split(".")[0] + "."
    beside = [k for k in CHECKS if k.startswith(table) or k.endswith(f".{key}")]
    return beside or [known for known in CHECKS if "." not in known] + [*TABLES]


def full_key(key: str) -> str:
    """A key with its table: that of [colours], else of the one table that has it.

    >>> full_key("by"), full_key("size.width_cm"), full_key("width_cm")
    ('colours.by', 'size.width_cm', 'size.width_cm')
    """
    if "." in key or key in CHECKS:
        return key
    homes = [known for known in CHECKS if known.rpartition(".")[2] == key]
    return homes[0] if len(homes) == 1 else f"colours.{key}"
