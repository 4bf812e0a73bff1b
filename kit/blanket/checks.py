"""What one value of blanket.toml may be, and a key as a dataclass declares it.

A check gives the value back, frozen; a wrong one raises WrongError with the words for
what it should have been, or KitError where there is more to say.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, field, fields, replace
from typing import Any

from kit.colour.families import family_named
from kit.errors import KitError, unknown
from kit.files import read_quantity
from kit.files.cells import clean_text
from kit.files.quantities import Quantity


class WrongError(Exception):
    """What a value should have been, in words."""


Check = Callable[[Any], Any]


# --- a key ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Key:
    """A key of blanket.toml.

    check    what it may hold; gives the value frozen
    says     what it is, in one plain sentence
    unit     what its number counts, "" where it is none or a share
    needed   True where its table cannot do without it
    default  the frozen value where it is left out and not needed
    told     where it is named in a list of its table's keys: -1 with the first, 1 with
             the last, which are made by hand
    yarns    True where it holds names of yarns
    """

    check: Check
    says: str
    unit: str = ""
    needed: bool = False
    default: Any = None
    told: int = 0
    yarns: bool = False


NEEDED: Any = MISSING  # as a default: there is none


def key(default: Any, check: Check, says: str, unit: str = "", **more: Any) -> Any:
    """A dataclass field that is a key of blanket.toml; `more` as in `Key`."""
    needed = default is NEEDED
    value = None if needed else default
    declared = Key(check, says, unit, needed=needed, default=value, **more)
    return field(default=default, metadata={"key": declared})


def keys_of(kind: Any) -> dict[str, Key]:
    """The keys that a dataclass declares in its fields, by name."""
    return {f.name: f.metadata["key"] for f in fields(kind) if "key" in f.metadata}


def keys_for(kind: Any, **keys: Key) -> dict[str, Key]:
    """Keys of a dataclass that stands in a room above; needed where it has no default,
    or NaN for one."""
    defaults = {f.name: f.default for f in fields(kind)}
    return {
        name: replace(one, needed=True)
        if defaults[name] is MISSING or defaults[name] != defaults[name]
        else replace(one, default=defaults[name])
        for name, one in keys.items()
    }


# --- checks ---------------------------------------------------------------------------


def printed(value: Any) -> str:
    """Any value of TOML as text for a sentence; Python will not print every number."""
    try:
        return value if isinstance(value, str) else repr(value)
    except (RecursionError, ValueError):
        return "a number too long to show"


def some_text(value: Any) -> str:
    """Text as names are read elsewhere: one line, one spelling, nothing unseen."""
    cleaned = clean_text(value)[0] if isinstance(value, str) else ""
    if not cleaned:
        raise WrongError("some text")
    return cleaned


def one_of(kind: str, *words: str) -> Check:
    """One of these words; another is answered with the nearest."""

    def check(value: Any) -> str:
        if value not in words:
            raise KitError(unknown(kind, printed(value), words))
        return value

    return check


def number_from(
    low: float, high: float, *, whole: bool = False, above: bool = False
) -> Check:
    """A number between two others, `above` the lower one, or also it."""

    def check(value: Any) -> float:
        kinds = (int,) if whole else (int, float)
        fits = isinstance(value, kinds) and not isinstance(value, bool)
        if not fits or not low <= value <= high:
            kind = "a whole number" if whole else "a number"
            raise WrongError(f"{kind} from {low:g} to {high:g}")
        if above and value == low:
            raise WrongError(f"a number above {low:g}")
        return value if whole else float(value)

    return check


n_rows = number_from(1, 100_000, whole=True)


def measured(quantity: Quantity, kind: str, example: str, check: Check) -> Check:
    """A number of the key's own unit, or text that names its unit as well."""
    named = {unit: factor for unit, factor in quantity.units.items() if unit}
    with_unit = replace(quantity, units=named, example=example)
    or_text = f'text with its unit such as "{example}"'

    def checked(value: Any) -> float:
        if isinstance(value, (int, float)):
            return float(check(value))
        try:
            amount = read_quantity(value, with_unit) if isinstance(value, str) else None
        except KitError as error:
            (fault,) = error.faults
            if fault.code in ("out_of_range", "ambiguous_number"):
                raise WrongError(fault.expected) from None
            quoted = " without quotation marks" if value[-1:].isdecimal() else ""
            raise WrongError(f"{kind}{quoted}, or {or_text}") from None
        if amount is None:
            raise WrongError(f"{kind}, or {or_text}")
        return float(check(amount))

    return checked


def either(word: str, instead: Any, check: Check) -> Check:
    """Another check's value, or a word that stands for something else."""

    def checked(value: Any) -> Any:
        if value == word:
            return instead
        try:
            return check(value)
        except WrongError as wrong:
            raise WrongError(f'{wrong}, or "{word}"') from None

    return checked


def list_of(check: Check, what: str) -> Check:
    """A list, as a tuple of checked items."""

    def checked(value: Any) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise WrongError(f"a list of {what}")
        return tuple(check(item) for item in value)

    return checked


def pair_of(check: Check, what: str) -> Check:
    """A list of two, as a tuple."""

    def pair(value: Any) -> tuple[Any, Any]:
        if not isinstance(value, list) or len(value) != 2:
            raise WrongError(f"two {what} in brackets")
        return check(value[0]), check(value[1])

    return pair


def name_or_pair(value: Any) -> str | tuple[str, str]:
    """A name, or two different ones."""
    pair: Check = pair_of(some_text, "yarn names")
    if isinstance(value, list):
        names: tuple[str, str] = pair(value)
        if names[0] == names[1]:
            raise WrongError("two different yarn names in brackets")
        return names
    name: str = some_text(value)
    return name


def first_and_last(value: Any) -> tuple[int, int]:
    """The first row and the last."""
    first, last = pair_of(n_rows, "row numbers")(value)
    if first > last:
        raise WrongError("the first row and the last, in this order")
    return first, last


def family(value: Any) -> str:
    """A family, whatever people write for it."""
    return family_named(some_text(value))


def family_order(value: Any) -> str | tuple[str, ...]:
    """A rule for the order of families, or the families in order."""
    if isinstance(value, list):
        return tuple(dict.fromkeys(family(item) for item in value))
    return one_of("family order", "hue", "any")(value)


def table_of(build: Callable[..., Any], keys: Mapping[str, Key]) -> Check:
    """A nested table such as { yarn = "", after = "", before = "" }."""
    needed = [name for name, declared in keys.items() if declared.needed]

    def checked(value: Any) -> Any:
        if not isinstance(value, dict) or any(name not in value for name in needed):
            raise WrongError("a table with " + ", ".join(needed))
        for name in value:
            if name not in keys:
                raise KitError(unknown("key", name, keys))
        return build(**{name: keys[name].check(item) for name, item in value.items()})

    return checked


def naming(name: str, check: Check) -> Check:
    """A check inside a table whose keys look alike; its fault names which is off."""

    def checked(value: Any) -> Any:
        try:
            return check(value)
        except WrongError as wrong:
            raise WrongError(f"{wrong}, for {name}") from None

    return checked
