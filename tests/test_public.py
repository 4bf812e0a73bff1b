"""The few names that `import kit` offers: there, in the table, with their units."""

import inspect
import re
from dataclasses import fields, is_dataclass
from functools import cached_property
from inspect import Parameter
from pathlib import Path

import pytest

import kit
from kit.arrangement import Design
from kit.blanket import Blanket, Stash, Yarn
from kit.blanket.choices import Judging
from kit.blanket.stash import YarnLabel
from kit.colour import Step
from kit.fabric import Fabric, Stripe
from kit.needles.status import Status
from kit.plan import Plan

DOCS = Path(__file__).resolve().parents[1].joinpath("DEVELOPERS.md").read_text("utf-8")
SECTIONS = ("Parameters", "Attributes", "Returns", "Raises", "Examples")
# What a reader holds in the hand, and what is read off it.
VALUES = (
    *(kit.Mix, Step, YarnLabel, Yarn, Stash, Blanket),
    *(Design, Stripe, Fabric, Plan, Status),
)
FUNCTIONS = [name for name in kit.__all__ if inspect.isfunction(getattr(kit, name))]
METHODS = [
    member
    for kind in VALUES
    for name, member in vars(kind).items()
    if inspect.isfunction(member) and not name.startswith("_")
]
TOLD = [*(getattr(kit, name) for name in FUNCTIONS), *METHODS]
UNIT = re.compile(
    r"ΔE00|L\*|CIELAB|\b[Ii]n (?:g|m|mm|cm)\b|"
    r"\b(?:[Rr]ows?|[Ss]titch(?:es)?)\b|no unit"
)
NUMERIC = re.compile(r"\b(?:int|float|Lab|ndarray)\b")


def sections(text):
    """A docstring's numpydoc sections by name; "" is what stands before the first."""
    parts = re.split(r"^(\w+)\n-+\n", text, flags=re.MULTILINE)
    return {"": parts[0], **dict(zip(parts[1::2], parts[2::2], strict=True))}


ENTRY = re.compile(r"^(\S.*?)(?: : (.+))?\n((?:(?: +.*)?\n?)*)", re.MULTILINE)


def entries(section):
    """name -> (type, description) of a section's entries."""
    found = ENTRY.findall(section)
    return {name: (kind, " ".join(words.split())) for name, kind, words in found}


def annotated(name, annotation, told):
    """Asserts that a parameter or field is told with its type, unit and shape."""
    assert name in told, f"{name} is not told"
    kind, words = told[name]
    assert kind or name.startswith("*"), f"{name} has no type"
    assert words, f"{name} has no words"
    if NUMERIC.search(annotation):
        assert UNIT.search(f"{kind} {words}"), f"{name} has no unit"
    if "ndarray" in annotation:
        assert "shape (" in kind, f"{name} has no shape"


@pytest.mark.parametrize("name", kit.__all__)
def test_every_name_is_there_and_described(name):
    """Each name resolves, has a docstring, and stands in the table of DEVELOPERS.md."""
    assert inspect.getdoc(getattr(kit, name))
    table = DOCS.partition("## From Python")[2].partition("\n## ")[0]
    assert f"| `{name}" in table


def test_nothing_else_is_offered():
    """The table, the list and the homes name the same things; twenty at most."""
    homes = [name for names in kit._HOMES.values() for name in names]
    assert sorted(homes) == kit.__all__ == sorted(dir(kit))
    assert len(kit.__all__) <= 20
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = kit.nothing


def test_defaults_are_the_choices_own():
    """What is left out is judged as a blanket.toml that says nothing about it."""
    along = inspect.signature(kit.steps_along).parameters
    assert along["view"].default == Judging().view
    assert along["limit"].default == Judging().jump_limit
    assert (
        inspect.signature(kit.step_table).parameters["view"].default == Judging().view
    )


@pytest.mark.parametrize("function", TOLD, ids=lambda one: one.__qualname__)
def test_a_function_tells_what_it_takes_and_gives(function):
    """Every parameter with its type; numbers with a unit, arrays with a shape."""
    told, asked = sections(inspect.getdoc(function)), inspect.signature(function)
    assert {*told} <= {"", *SECTIONS}
    takes = entries(told.get("Parameters", ""))
    named = []
    for parameter in asked.parameters.values():
        if parameter.name != "self":
            stars = "**" * (parameter.kind is Parameter.VAR_KEYWORD)
            named.append(f"{stars}{parameter.name}")
            annotated(named[-1], str(parameter.annotation), takes)
    assert [*takes] == named
    if asked.return_annotation != "None":
        assert entries(told["Returns"])
        annotated_return = " ".join(told["Returns"].split())
        if NUMERIC.search(str(asked.return_annotation)):
            assert UNIT.search(annotated_return)
        if "ndarray" in str(asked.return_annotation):
            assert "shape (" in annotated_return


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_has_an_example_or_says_what_it_raises(name):
    """Examples are run with all other doctests; what writes files has none."""
    told = sections(inspect.getdoc(getattr(kit, name)))
    assert ">>> " in told.get("Examples", "") or "KitError" in told["Raises"]


@pytest.mark.parametrize("kind", VALUES, ids=lambda kind: kind.__name__)
def test_a_value_tells_its_fields(kind):
    """Every public field and property with its type; numbers with their unit."""
    told = entries(sections(inspect.getdoc(kind))["Attributes"])
    assert is_dataclass(kind)
    held = {one.name: str(one.type) for one in fields(kind)}
    for name, member in vars(kind).items():
        read = getattr(member, "fget", None) or getattr(member, "func", None)
        if isinstance(member, (property, cached_property)) and not name.startswith("_"):
            held[name] = str(inspect.signature(read).return_annotation)
    assert [*told] == [*held]
    for name, annotation in held.items():
        annotated(name, annotation, told)


def test_the_parser_sees_what_is_missing():
    """An entry without type, words, unit or shape is found out, else none would be."""
    text = "Sum.\n\nParameters\n----------\na\n    One.\nb : int\nc : float\n    Two.\n"
    told = entries(sections(text)["Parameters"])
    assert told == {"a": ("", "One."), "b": ("int", ""), "c": ("float", "Two.")}
    for name, annotation in (("a", "str"), ("b", "int"), ("c", "float"), ("d", "str")):
        with pytest.raises(AssertionError):
            annotated(name, annotation, told)
    told = {"e": ("array", "In ΔE00."), "f": ("array of shape (n,)", "In ΔE00.")}
    with pytest.raises(AssertionError, match="e has no shape"):
        annotated("e", "np.ndarray", told)
    annotated("f", "np.ndarray", told)
