"""Wrong arguments at kit's own door, answered in whole sentences."""

from inspect import Parameter, signature

import numpy as np
import pandas as pd
import pytest

import kit
from kit.arguments import EXPECTED, described
from kit.colour import read_mix as inner_read_mix
from tests.helpers.fabrics import demo

GREY = inner_read_mix("#888")[0]
FUNCTIONS = [name for name in kit.__all__ if not isinstance(getattr(kit, name), type)]
SENTENCES = [
    (
        lambda: kit.open_blanket(["a"]),
        'kit.open_blanket, folder: found a list that begins with the text "a", '
        "expected a folder.",
    ),
    (
        lambda: kit.open_blanket([]),
        "kit.open_blanket, folder: found an empty list, expected a folder.",
    ),
    (
        lambda: kit.plan_blanket("reading-room"),
        'kit.plan_blanket, blanket: found the text "reading-room", expected a Blanket. '
        "`open_blanket(folder)` gives one; a stash alone goes to `plan_stash`.",
    ),
    (
        lambda: kit.plan_blanket(),
        "kit.plan_blanket, blanket: found nothing, expected a Blanket. "
        "`open_blanket(folder)` gives one; a stash alone goes to `plan_stash`.",
    ),
    (
        lambda: kit.choose({"by": "value"}),
        "kit.choose, blanket: found a dict, expected a Blanket. "
        "`open_blanket(folder)` gives one; a stash alone goes to `plan_stash`.",
    ),
    (
        lambda: kit.steps_along([GREY], veiw=0.2),
        'kit.steps_along: No keyword called "veiw". Did you mean "view"? '
        "Known: mixes, view, limit, accents, joins.",
    ),
    (
        lambda: kit.steps_along([GREY], view=2),
        "kit.steps_along, view: found 2, expected a number from 0, in the hand, to 1, "
        "across the room.",
    ),
    (
        lambda: kit.steps_along([GREY], limit="25"),
        'kit.steps_along, limit: found the text "25", expected a number from 0 to 200, '
        "in ΔE00.",
    ),
    (
        lambda: kit.steps_along([GREY], accents=[0.5]),
        "kit.steps_along, accents: found a list that begins with 0.5, expected indices "
        "of steps: whole numbers.",
    ),
    (
        lambda: kit.step_table(["#888"]),
        'kit.step_table, mixes_1: found a list that begins with the text "#888", '
        "expected a list of Mix. `stash.mixes` has those of a stash; `read_mix` reads "
        "one from text.",
    ),
    (
        lambda: kit.step_table([GREY], [GREY], 0.5),
        "kit.step_table: found 3 arguments without a keyword, expected at most 2: "
        "mixes_1, mixes_2.",
    ),
    (
        lambda: kit.step_table([GREY], mixes_1=[GREY]),
        "kit.step_table, mixes_1: found it twice, expected it once.",
    ),
    (
        lambda: kit.ciede2000("red", [50, 0, 0]),
        'kit.ciede2000, lab_1: found the text "red", expected CIELAB colours: numbers '
        "in an array of shape (..., 3).",
    ),
    (
        lambda: kit.ciede2000(np.zeros((2, 4)), [50, 0, 0]),
        "kit.ciede2000, lab_1: found an array of shape (2, 4), expected CIELAB "
        "colours: numbers in an array of shape (..., 3).",
    ),
    (
        lambda: kit.read_mix(None),
        "kit.read_mix, text: found nothing (None), expected text.",
    ),
    (
        lambda: kit.stash_from({"name": ["Sage"]}),
        "kit.stash_from, frame: found a dict, expected a pandas DataFrame.",
    ),
    (
        lambda: kit.plan_stash(pd.DataFrame(), by="value"),
        "kit.plan_stash, stash: found a DataFrame, expected a Stash. "
        "`stash_from(frame)` gives one, `open_blanket(folder).stash` another.",
    ),
    (
        lambda: kit.summary(demo().design),
        "kit.summary, plan: found a Design, expected a Plan. `plan_blanket` or "
        "`plan_stash` gives one.",
    ),
    (
        lambda: kit.frame_of(7),
        "kit.frame_of, value: found 7, expected a Stash, Design, Fabric, Plan or "
        "Steps.",
    ),
    (
        lambda: kit.save_choices(7, "by=value"),
        "kit.save_choices, blanket: found 7, expected a Blanket. "
        "`open_blanket(folder)` gives one; a stash alone goes to `plan_stash`.\n"
        'kit.save_choices, changes: found the text "by=value", expected keys with '
        'their values. For example {"by": "value"}.',
    ),
    (
        lambda: kit.Mix([(50, 0)], [1]),
        "kit.Mix: a mix needs colours as (L*, a*, b*).",
    ),
    (
        lambda: kit.Mix([(50, 0, 0)], [0.5, 0.5]),
        "kit.Mix: a mix needs one positive share for each colour.",
    ),
    (
        lambda: kit.shared_folder("dat"),
        'kit.shared_folder, name: found the text "dat", expected "data" or '
        '"notebooks".',
    ),
]


@pytest.mark.parametrize(("call", "sentence"), SENTENCES)
def test_a_wrong_argument_is_answered_in_words(call, sentence):
    """Function, argument, what was found, what was expected, where one comes from."""
    with pytest.raises(kit.KitError) as wrong:
        call()
    assert str(wrong.value) == sentence


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_parameter_has_its_expectation(name):
    """Whatever a public function asks for by name is looked at."""
    asked = signature(getattr(kit, name)).parameters.values()
    by_name = {one.name for one in asked if one.kind is not Parameter.VAR_KEYWORD}
    assert by_name <= EXPECTED.keys()


def test_no_expectation_is_left_over():
    """Each entry of the table is a parameter of a public function."""
    asked = {p for name in FUNCTIONS for p in signature(getattr(kit, name)).parameters}
    assert EXPECTED.keys() <= asked


@pytest.mark.parametrize("name", FUNCTIONS)
def test_the_door_hands_out_one_and_the_same(name):
    """Name, description and signature are the room's own; asked twice, one function."""
    public = getattr(kit, name)
    assert public is getattr(kit, name)
    assert public.__name__ == name
    assert public.__doc__ == public.__wrapped__.__doc__


def test_what_is_right_goes_through():
    """Lists, tuples, arrays, numpy's numbers; a default may be given as it stands."""
    table = kit.step_table((GREY,), None, view=np.float64(0.5))
    assert table.tolist() == [[0.0]]
    assert len(kit.steps_along([GREY, GREY], accents={0}, joins=range(0))) == 1
    assert kit.ciede2000(np.zeros((4, 3)), [0, 0, 0]).shape == (4,)
    assert kit.stash_from(pd.DataFrame({"name": ["Sage"], "colours": ["#888"]})).yarns


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (True, "True"),
        (np.float32(2.5), "2.5"),
        (np.zeros(3), "an array of shape (3,)"),
        ((), "an empty tuple"),
        ((None,), "a tuple that begins with nothing (None)"),
        ("x" * 200, f'the text "{"x" * 30} … {"x" * 20}"'),
        (GREY, "a Mix"),
        (Exception(), "an Exception"),
    ],
)
def test_what_was_found_is_told_shortly(value, words):
    """A word or two, however long the value."""
    assert described(value) == words
