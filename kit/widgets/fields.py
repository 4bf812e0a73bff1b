"""Fields of a desk: numbers as they are typed, with their units."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from kit.errors import Fault, KitError
from kit.files import read_quantity
from kit.files.quantities import CM, GRAMS, INCHES, OUNCES, PER_4_IN, PER_10CM, Quantity

SIZES = {"metric": ("cm", CM), "imperial": ("in", INCHES)}
COUNT = Quantity({"": 1.0}, "24", 0, 100_000, "")
PERCENT = Quantity({"": 1.0}, "20", 0, 1000, "%")
WEIGHTS = {"metric": ("g", GRAMS), "imperial": ("oz", OUNCES)}
COUNTS = {"metric": ("10 cm", PER_10CM), "imperial": ("4 in", PER_4_IN)}


class NumberField(widgets.Text):
    """A number typed with or without its unit; a blank field is None.

    `ask` gives it other words and another unit for what is typed without one.
    """

    def __init__(self, words: str, quantity: Quantity = COUNT, **more: Any) -> None:
        self.words, self.quantity = words, quantity
        style = more.pop("style", {"description_width": "190px"})
        layout = more.pop("layout", widgets.Layout(width="300px"))
        super().__init__(
            description=words,
            continuous_update=False,
            style=style,
            layout=layout,
            **more,
        )

    def ask(self, words: str, quantity: Quantity) -> None:
        self.words = self.description = words
        self.quantity = quantity

    def show(self, number: float | None) -> None:
        """Show a number, given in the unit that `number` reads."""
        bare = self.quantity.units.get("", 1.0)
        self.value = "" if number is None else f"{number / bare:.7g}"

    def number(self) -> float | int | None:
        """What is typed, whole numbers as int. Raises KitError, named by the words."""
        try:
            number = read_quantity(self.value, self.quantity)
        except KitError as error:
            raise KitError(f.at(column=self.words) for f in error.faults) from None
        if number is None:
            return None
        number = round(number, 7)  # 47 in is 119.38 cm, not 119.38000000000001
        return int(number) if number == int(number) else number

    def written(self) -> float | int | str | None:
        """What is typed, as blanket.toml is to hold it. Raises KitError."""
        return written(self.number(), self.quantity)


def written(number: float | None, quantity: Quantity) -> float | int | str | None:
    """A number as blanket.toml is to hold it: with its unit where the key has another.

    So the file says 28 in where that was typed; what comes from centimetres, and would
    be a long fraction of an inch, stays a number.

    >>> written(71.12, INCHES), written(71, INCHES), written(71.12, CM)
    ('28 in', 71, 71.12)
    """
    if number is None or not quantity.written:
        return number
    bare = quantity.units[""]
    plain = round(number / bare, 4)
    if abs(plain * bare - number) > 1e-6:
        return number
    return f"{plain:.10g} {quantity.written}"


def needed(field: NumberField) -> float:
    """What is typed in a field that must not be blank. Raises KitError."""
    number = field.number()
    if number is None:
        expected = f"a number such as {field.quantity.example}"
        raise KitError(Fault("missing", "nothing", expected, column=field.words))
    return number


def whole_number(field: NumberField) -> int:
    """What is typed in a field that takes whole numbers. Raises KitError."""
    number = needed(field)
    if number != int(number):
        fault = Fault("not_a_number", f"{number:g}", "a whole number")
        raise KitError(fault.at(column=field.words))
    return int(number)
