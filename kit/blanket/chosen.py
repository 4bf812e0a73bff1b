"""blanket.toml's text as Choices; other values by key."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import replace
from difflib import get_close_matches
from typing import Any

from kit.blanket.choices import (
    Arranging,
    Bridging,
    Choices,
    Judging,
    Laying,
    Making,
    Pace,
    Size,
    Strands,
)
from kit.blanket.keys import CHECKS, TABLES, check_key, full_key
from kit.blanket.toml_text import in_toml, read_toml, shown, toml_value
from kit.errors import Fault, KitError, unknown
from kit.yarn import Gauge
from kit.yarn.measures import in_inches


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
        checked[key.strip()] = check_key(key.strip(), toml_value(text.strip()))
    return checked


def _flat(document: dict[str, Any], faults: list[Fault]) -> list[tuple[str, Any]]:
    pairs = []
    for key, value in document.items():
        if key not in TABLES:
            pairs.append((key, value))
        elif isinstance(value, dict):
            pairs += [(f"{key}.{inner}", item) for inner, item in value.items()]
        else:
            expected = f"a table, [{key}]"
            faults.append(Fault("choice", shown(value), expected, column=key))
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
            f"{field} = {in_toml(getattr(value, field))}"
            for value in values
            for field in value.__dataclass_fields__
            if f"{table}.{field}" not in choices.given
            and getattr(value, field) not in ((), None)
        ]
        if parts:
            sentences.append(f"[{table}] by default: " + ", ".join(parts) + ".")
    return sentences
