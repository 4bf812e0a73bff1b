"""The keys of blanket.toml: what each may hold, and the text as Choices."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from dataclasses import replace
from difflib import get_close_matches
from math import inf
from typing import Any

from kit.cells import CM, GRAMS, PER_10CM, Quantity, clean_text, read_quantity
from kit.choices import (
    ARRANGEMENTS,
    LAYOUTS,
    Arranging,
    Bridging,
    Carry,
    Choices,
    Judging,
    Kept,
    Laying,
    Making,
    Pace,
    Size,
    Strands,
)
from kit.errors import Fault, KitError, shorten, unknown
from kit.families import family_named
from kit.gauge import Gauge, Section, Swatch
from kit.measures import in_inches

# --- checks of one value --------------------------------------------------------------


class _WrongError(Exception):
    """What a value should have been, in words."""


Check = Callable[[Any], Any]


def _text(value: Any) -> str:
    """Text as names are read elsewhere: one line, one spelling, nothing unseen."""
    text = clean_text(value)[0] if isinstance(value, str) else ""
    if not text:
        raise _WrongError("some text")
    return text


def _one_of(kind: str, *words: str) -> Check:
    def check(value: Any) -> str:
        if value not in words:
            raise KitError(unknown(kind, str(value), words))
        return value

    return check


def _number(
    low: float, high: float, *, whole: bool = False, above: bool = False
) -> Check:
    def check(value: Any) -> float:
        kinds = (int,) if whole else (int, float)
        fits = isinstance(value, kinds) and not isinstance(value, bool)
        if not fits or not low <= value <= high:
            kind = "a whole number" if whole else "a number"
            raise _WrongError(f"{kind} from {low:g} to {high:g}")
        if above and value == low:
            raise _WrongError(f"a number above {low:g}")
        return value if whole else float(value)

    return check


def _measured(quantity: Quantity, kind: str, example: str, check: Check) -> Check:
    """A number of the key's own unit, or text that names its unit as well."""
    named = {unit: factor for unit, factor in quantity.units.items() if unit}
    with_unit = replace(quantity, units=named, example=example)
    or_text = f'text with its unit such as "{example}"'

    def measured(value: Any) -> float:
        if isinstance(value, (int, float)):
            return float(check(value))
        try:
            number = read_quantity(value, with_unit) if isinstance(value, str) else None
        except KitError as error:
            (fault,) = error.faults
            if fault.code in ("out_of_range", "ambiguous_number"):
                raise _WrongError(fault.expected) from None
            quoted = " without quotation marks" if value[-1:].isdecimal() else ""
            raise _WrongError(f"{kind}{quoted}, or {or_text}") from None
        if number is None:
            raise _WrongError(f"{kind}, or {or_text}")
        return float(check(number))

    return measured


def _or(word: str, instead: Any, check: Check) -> Check:
    def either(value: Any) -> Any:
        if value == word:
            return instead
        try:
            return check(value)
        except _WrongError as wrong:
            raise _WrongError(f'{wrong}, or "{word}"') from None

    return either


def _list_of(check: Check, what: str) -> Check:
    def checked(value: Any) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise _WrongError(f"a list of {what}")
        return tuple(check(item) for item in value)

    return checked


def _pair_of(check: Check, what: str) -> Check:
    def pair(value: Any) -> tuple[Any, Any]:
        if not isinstance(value, list) or len(value) != 2:
            raise _WrongError(f"two {what} in brackets")
        return check(value[0]), check(value[1])

    return pair


def _name_or_pair(value: Any) -> str | tuple[str, str]:
    pair: Check = _pair_of(_text, "yarn names")
    if isinstance(value, list):
        names: tuple[str, str] = pair(value)
        if names[0] == names[1]:
            raise _WrongError("two different yarn names in brackets")
        return names
    name: str = _text(value)
    return name


def _rows(value: Any) -> tuple[int, int]:
    first, last = _pair_of(_ROWS, "row numbers")(value)
    if first > last:
        raise _WrongError("the first row and the last, in this order")
    return first, last


def _family(value: Any) -> str:
    return family_named(_text(value))


def _family_order(value: Any) -> str | tuple[str, ...]:
    if isinstance(value, list):
        return tuple(dict.fromkeys(_family(item) for item in value))
    return _one_of("family order", "hue", "any")(value)


def _table(
    build: Callable[..., Any], checks: Mapping[str, Check], *needed: str
) -> Check:
    """A nested table such as { yarn = "", after = "", before = "" }."""

    def checked(value: Any) -> Any:
        if not isinstance(value, dict) or any(key not in value for key in needed):
            raise _WrongError("a table with " + ", ".join(needed))
        for key in value:
            if key not in checks:
                raise KitError(unknown("key", key, checks))
        return build(**{key: checks[key](item) for key, item in value.items()})

    return checked


def _named(key: str, check: Check) -> Check:
    """A check inside a table whose keys look alike; its fault names which is off."""

    def checked(value: Any) -> Any:
        try:
            return check(value)
        except _WrongError as wrong:
            raise _WrongError(f"{wrong}, for {key}") from None

    return checked


_ROWS = _number(1, 100_000, whole=True)
_CM = _measured(CM, "a number of cm", "28 in", _number(0, 10_000, above=True))
_PER_10CM = _measured(
    PER_10CM, "a count over 10 cm", "22 / 4 in", _number(0, 200, above=True)
)
_SWATCH_G = _measured(
    GRAMS, "a number of grams", "0.32 oz", _number(0, 100_000, above=True)
)
_NAMES = _list_of(_text, "yarn names")

CHECKS: dict[str, Check] = {
    "name": _text,
    "units": _one_of("units", "metric", "imperial"),
    "gauge.stitches_per_10cm": _PER_10CM,
    "gauge.rows_per_10cm": _PER_10CM,
    "gauge.swatch": _table(
        Swatch,
        {
            "width_cm": _named("width_cm", _CM),
            "length_cm": _named("length_cm", _CM),
            "grams": _named("grams", _SWATCH_G),
        },
        *("width_cm", "length_cm", "grams"),
    ),
    "gauge.repeat_width_cm": _CM,
    "size.width_cm": _CM,
    "size.length_cm": _or("all", None, _CM),
    "size.repeat_stitches": _number(1, 10_000, whole=True),
    "size.edge_stitches": _number(0, 10_000, whole=True),
    "strands.fabric_tex": _number(0, 100_000, above=True),
    "strands.thinner": _number(0, 1),
    "strands.thicker": _number(0, 10),
    "strands.least": _number(1, 12, whole=True),
    "strands.most": _number(1, 12, whole=True),
    "strands.contrast": _number(0, 200),
    "colours.by": _one_of("arrangement", *ARRANGEMENTS),
    "colours.layout": _one_of("layout", *LAYOUTS),
    "colours.times_through": _number(1, 20, whole=True),
    "colours.sharing": _one_of("sharing", "halve", "pair"),
    "colours.families": _one_of(
        "way of running families", "alternate", "light-to-dark"
    ),
    "colours.family_order": _family_order,
    "colours.ends": _one_of("ends", "fixed", "free"),
    "colours.value_slack": _or("none", inf, _number(0, 100)),
    "colours.smooth_for": _one_of("aim", "fabric", "yarn"),
    "colours.view": _number(0, 1),
    "colours.jump_limit": _number(0, 200),
    "colours.fabric_jump_limit": _number(0, 200),
    "colours.accents": _list_of(_pair_of(_text, "yarn names"), "pairs of yarn names"),
    "colours.bridges": _number(0, 20, whole=True),
    "colours.bridges_from": _one_of(
        "place to take bridges from", "stash", "stash and shop"
    ),
    "colours.order": _NAMES,
    "colours.locked": _list_of(_name_or_pair, "yarn names, or pairs of them"),
    "colours.left_out": _NAMES,
    "colours.bridges_kept": _list_of(
        _table(
            Kept,
            {"yarn": _text, "after": _text, "before": _text},
            *("yarn", "after", "before"),
        ),
        "tables",
    ),
    "pace.use": _one_of("pace", "all"),
    "pace.rows_per_colour": _ROWS,
    "pace.longest_rows": _ROWS,
    "sections": _list_of(
        _table(
            Section,
            {
                "name": _text,
                "rows": _ROWS,
                "rows_per_10cm": _PER_10CM,
                "yarn_factor": _number(0, 20, above=True),
            },
            *("name", "rows"),
        ),
        "tables",
    ),
    "carry": _list_of(
        _table(
            Carry,
            {
                "yarn": _text,
                "rows": _rows,
                "section": _text,
                "family": _family,
            },
            "yarn",
        ),
        "tables",
    ),
}
TABLES = tuple(dict.fromkeys(key.split(".")[0] for key in CHECKS if "." in key))


# --- text -> choices ------------------------------------------------------------------


def read_choices(
    text: str,
    *,
    settings: Mapping[str, Any] | None = None,
    file: str = "blanket.toml",
) -> Choices:
    """blanket.toml's text as Choices; `settings` (checked values) win over it.

    Raises one KitError with every fault of the file.
    """
    faults: list[Fault] = []
    checked: dict[str, Any] = {}
    stated = []
    for key, value in _flat(read_toml(text, file=file), faults):
        stated.append(key)
        try:
            checked[key] = check_key(key, value)
        except KitError as error:
            faults += error.faults
    checked |= settings or {}
    faults += _missing({*checked, *stated}, misspelt={*stated} - {*CHECKS})
    if not faults:
        try:
            return _build(checked)
        except KitError as error:
            faults += error.faults
    raise KitError(fault.at(file=file) for fault in faults)


def read_settings(settings: Iterable[str]) -> dict[str, Any]:
    """`KEY=VALUE` words; the value is read as TOML, else as text. Raises KitError.

    >>> read_settings(["colours.by=value", "colours.value_slack=8"])
    {'colours.by': 'value', 'colours.value_slack': 8.0}
    """
    checked = {}
    for setting in settings:
        key, equals, text = setting.partition("=")
        if not equals:
            says = f'"{setting}" is not of the form KEY=VALUE, as in colours.by=value'
            raise KitError(Fault("setting", says=says))
        checked[key.strip()] = check_key(key.strip(), _as_toml(text.strip()))
    return checked


def check_key(key: str, value: Any) -> Any:
    """One key's value, checked and frozen. Raises KitError with the key as place."""
    if key not in CHECKS:
        raise KitError(unknown("key", key, _keys_beside(key)))
    try:
        return CHECKS[key](value)
    except _WrongError as wrong:
        fault = Fault("choice", found=_shown(value), expected=str(wrong), column=key)
        raise KitError(fault) from None
    except KitError as error:
        raise KitError(fault.at(column=key) for fault in error.faults) from None


def _keys_beside(key: str) -> list[str]:
    """The keys of the same table, to name the nearest; else the tables."""
    table = key.split(".")[0] + "."
    beside = [k for k in CHECKS if k.startswith(table) or k.endswith(f".{key}")]
    return beside or [known for known in CHECKS if "." not in known] + [*TABLES]


def read_toml(text: str, *, file: str = "") -> dict[str, Any]:
    """TOML text as a dict. Raises KitError."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        if fault := _unquoted(text, str(error)):
            raise KitError(fault.at(file=file)) from None
        why = str(error).rstrip(".")
    except (RecursionError, ValueError):  # Python's own limits
        why = "brackets too deep, or a number too long"
    fault = Fault("toml", says=f"cannot be read as TOML: {why}", file=file)
    raise KitError(fault)


_LINE = re.compile(r"at line (\d+)")
_BARE = re.compile(r"\s*([\w.-]+)\s*=\s*([^\s\"'\[{#,][^#\[\]{}=]*?)\s*(?:#.*)?")
_CURLY = "\u201c\u201d\u201e\u2018\u2019\u00ab\u00bb"


def _unquoted(text: str, why: str) -> Fault | None:
    """The fault of a line whose value is text that has no straight quotation marks."""
    where = _LINE.search(why)
    number = int(where[1]) if where else 0
    line = [*text.splitlines(), ""][number - 1]
    found = _BARE.fullmatch(line) if number else None
    if not found:
        return None
    key, value = found[1], found[2].strip(_CURLY)
    if not value or "\\" in value or '"' in value and "'" in value:
        return None
    mark = "'" if '"' in value else '"'
    says = f"line {number} cannot be read: {shorten(line)}"
    advice = f"Put text in quotes: {key} = {mark}{shorten(value)}{mark}."
    if re.fullmatch(r"[+-]?\d+,\d+", value):
        advice = f"Write a decimal point: {key} = {value.replace(',', '.')}."
    elif not re.search(r'[^\W\d_]|"', value):
        return None
    return Fault("toml", says=says, advice=advice)


def _flat(document: dict[str, Any], faults: list[Fault]) -> list[tuple[str, Any]]:
    pairs = []
    for key, value in document.items():
        if key not in TABLES:
            pairs.append((key, value))
        elif isinstance(value, dict):
            pairs += [(f"{key}.{inner}", item) for inner, item in value.items()]
        else:
            expected = f"a table, [{key}]"
            faults.append(Fault("choice", _shown(value), expected, column=key))
    return pairs


def _missing(stated: Set[str], misspelt: Set[str] = frozenset()) -> list[Fault]:
    """Keys that a table needs; not those that a misspelt one was meant for."""
    needed = ["name"]
    tables = {key.split(".")[0] for key in stated}
    if "gauge" in tables:
        needed += ["gauge.stitches_per_10cm", "gauge.rows_per_10cm"]
    if "size" in tables:
        needed += ["size.width_cm", "size.length_cm"]
    absent = [
        key
        for key in needed
        if key not in stated and not get_close_matches(key, misspelt, n=1)
    ]
    return [Fault("missing", "nothing", "a value", column=key) for key in absent]


def _build(checked: Mapping[str, Any]) -> Choices:
    colours = _under("colours", checked)
    strands = Strands(**_under("strands", checked))
    if strands.least > strands.most:
        found, expected = (
            str(strands.least),
            f"no more than strands.most ({strands.most})",
        )
        raise KitError(Fault("choice", found, expected, column="strands.least"))
    sections, carry = checked.get("sections", ()), checked.get("carry", ())
    named = [section.name for section in sections]
    if lost := [c.section for c in carry if c.section and c.section not in named]:
        raise KitError(unknown("section", lost[0], named).at(column="carry"))
    size, gauge = _under("size", checked), _under("gauge", checked)
    if gauge and "repeat_stitches" in size:
        gauge["repeat_stitches"] = size["repeat_stitches"]
    making = Making(
        gauge=_gauge(gauge, checked.get("units", "metric")) if gauge else None,
        size=Size(**size) if size else None,
        strands=strands,
        pace=Pace(**_under("pace", checked)),
        sections=sections,
        carry=carry,
    )
    return Choices(
        name=checked["name"],
        units=checked.get("units", "metric"),
        arranging=_pick(Arranging, colours),
        laying=_pick(Laying, colours),
        judging=_pick(Judging, colours),
        bridging=_pick(Bridging, colours),
        making=making,
        given=frozenset(checked),
    )


def _gauge(values: dict[str, Any], units: str) -> Gauge:
    try:
        return Gauge(**values)
    except KitError as error:
        named = (f.at(column=f"gauge.{f.column}".rstrip(".")) for f in error.faults)
        raise KitError(told_in(fault, units) for fault in named) from None


def told_in(fault: Fault, units: str) -> Fault:
    """A fault about lengths in the blanket's units."""
    if units == "metric":
        return fault
    found, expected = in_inches(fault.found), in_inches(fault.expected)
    return fault.at(found=found, expected=expected)


def _under(table: str, checked: Mapping[str, Any]) -> dict[str, Any]:
    start = f"{table}."
    return {k.removeprefix(start): v for k, v in checked.items() if k.startswith(start)}


def full_key(key: str) -> str:
    """A key with its table: that of [colours], else of the one table that has it.

    >>> full_key("by"), full_key("size.width_cm"), full_key("width_cm")
    ('colours.by', 'size.width_cm', 'size.width_cm')
    """
    if "." in key or key in CHECKS:
        return key
    homes = [known for known in CHECKS if known.rpartition(".")[2] == key]
    return homes[0] if len(homes) == 1 else f"colours.{key}"


def with_changes(choices: Choices, changes: Mapping[str, Any]) -> Choices:
    """The same choices with other values by key; None: the default again.

    Keys as `full_key` takes them, values as blanket.toml would hold them. Raises
    KitError, also where values do not go together.
    """
    changed = {full_key(key): value for key, value in changes.items()}
    stated = {}
    for key, value in changed.items():
        if value is not None or key not in CHECKS:
            stated[key] = check_key(key, value)
    values = {k: v for k, v in _values(choices).items() if k not in changed} | stated
    if faults := _missing(values.keys()):
        raise KitError(faults)
    given = frozenset((choices.given - changed.keys()) | stated.keys())
    return replace(_build(values), given=given)


def _values(choices: Choices) -> dict[str, Any]:
    """Checked values by key: those given, and those that are not the default."""
    making = choices.making
    parts: Sequence[tuple[str, Any]] = (
        ("", choices),
        ("", making),
        ("gauge.", making.gauge),
        ("size.", making.size),
        ("strands.", making.strands),
        ("pace.", making.pace),
        ("colours.", choices.arranging),
        ("colours.", choices.laying),
        ("colours.", choices.judging),
        ("colours.", choices.bridging),
    )
    return {
        table + name: getattr(part, name)
        for table, part in parts
        if part is not None
        for name, field in part.__dataclass_fields__.items()
        if table + name in CHECKS
        and (getattr(part, name) != field.default or table + name in choices.given)
    }


def _pick(kind: Any, values: Mapping[str, Any]) -> Any:
    return kind(**{k: v for k, v in values.items() if k in kind.__dataclass_fields__})


def _as_toml(text: str) -> Any:
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except (RecursionError, ValueError):  # no TOML, or beyond Python's own limits
        return text


def _shown(value: Any) -> str:
    try:
        return value if isinstance(value, str) else repr(value)
    except (RecursionError, ValueError):
        return "a number too long to show"


def default_sentences(choices: Choices) -> list[str]:
    """What a default filled in, one sentence for each table."""
    groups: Sequence[tuple[str, tuple[Any, ...]]] = (
        (
            "colours",
            (choices.arranging, choices.laying, choices.judging, choices.bridging),
        ),
        ("strands", (choices.making.strands,)),
        ("pace", (choices.making.pace,)),
    )
    sentences = []
    for table, values in groups:
        parts = [
            f"{field} = {_in_toml(getattr(value, field))}"
            for value in values
            for field in value.__dataclass_fields__
            if f"{table}.{field}" not in choices.given
            and getattr(value, field) not in ((), None)
        ]
        if parts:
            sentences.append(f"[{table}] by default: " + ", ".join(parts) + ".")
    return sentences


def _in_toml(value: Any) -> str:
    if isinstance(value, float):
        return '"none"' if value == inf else f"{value:g}"
    return f'"{value}"' if isinstance(value, str) else str(value)
