"""What is said of a fabric: which sharing suits, and what is missing where none is."""

import json
import shlex
import tomllib

import pytest

from kit.__main__ import main
from kit.fabric.fabric import Fabric, Short
from kit.fabric.words import Shared, leave_out_command, sharing_words, which_suits
from kit.plan.compose import why_colours_alone
from tests.helpers.plans import balls, planned, stash_bytes, toml

TELLS = "it will say rows, metres and where each ball ends"


def some_unweighed(*which, n=8):
    rows = balls(n, grams=(25, 40))
    for k in which:
        rows[k]["grams"] = ""
    return rows


def told(plan):
    return why_colours_alone(plan)


def test_one_of_many_is_named_with_its_row():
    """The header is row 1. Weighed it would do, and so would it left out."""
    plan = planned(some_unweighed(3))
    assert plan.fabric is None
    assert told(plan) == (
        "This plan is the colour design alone: 1 of 8 yarns is not weighed in "
        f'stash.csv, "ball 3" (row 5). Weigh it, and {TELLS}.',
        "Or plan without it: python -m kit plan FOLDER --set "
        "\"colours.left_out=['ball 3']\" (in the notebook 2_colours: Leave out).",
    )
    assert all(line in plan.assumed for line in told(plan))


def test_a_few_of_many():
    """All are in the command; those left out already stay so."""
    text = toml('[colours]\nleft_out = ["ball 7"]\n')
    found = told(planned(some_unweighed(0, 3), text))
    assert found == (
        "This plan is the colour design alone: 2 of 7 yarns are not weighed in "
        f'stash.csv, "ball 0" (row 2), "ball 3" (row 5). Weigh them, and {TELLS}.',
        'Or plan without them: python -m kit plan FOLDER --set "colours.left_out='
        "['ball 7', 'ball 0', 'ball 3']\" (in the notebook 2_colours: Leave out).",
    )


def test_many_are_counted():
    """Six are named; where most are not weighed it is not offered to do without."""
    found = told(planned(some_unweighed(*range(8), n=20)))
    assert '"ball 5" (row 7), and 2 more. Weigh them' in found[0]
    assert found[1].count("ball ") == 8
    (said,) = told(planned(some_unweighed(*range(7))))
    named = ", ".join(f'"ball {k}"' for k in range(6))
    assert said == (
        f"This plan is the colour design alone. Weigh these and {TELLS}: {named}, and "
        "1 more."
    )


def test_a_carried_yarn_is_named_too():
    """It is knitted in, so it must be weighed."""
    mist = {"name": "Mist", "colours": "#c0c4c8", "metres_per_100g": 800}
    text = toml('[[carry]]\nyarn = "Mist"\nrows = [3, 40]\n')
    said, _ = told(planned([*balls(8), mist], text))
    assert 'is not weighed in stash.csv, "Mist" (row 10).' in said


def test_without_gauge_nothing_else_is_asked():
    """First things first."""
    (said,) = told(planned(some_unweighed(3), toml(gauge=False)))
    assert said == (
        "This plan is the colour design alone: fabric needs both [gauge] and [size] in "
        "blanket.toml."
    )


@pytest.mark.parametrize(
    "name", ["Sage", "Café, n° 5", "Deckhand's", 'The "Moss"', "a$b`c"]
)
def test_the_command_is_what_the_shell_must_hear(name):
    """A POSIX shell gives the setting on as TOML that names the yarns."""
    plan = planned(balls(3))
    words = shlex.split(leave_out_command([name, "Fog"], plan.choices))
    assert words[:-1] == ["python", "-m", "kit", "plan", "FOLDER", "--set"]
    assert tomllib.loads(words[-1]) == {"colours": {"left_out": [name, "Fog"]}}


def test_both_ways_lead_to_rows(tmp_path, capsys):
    """The printed command, with the folder in it, plans the rest."""
    (tmp_path / "stash.csv").write_bytes(stash_bytes(some_unweighed(3)))
    (tmp_path / "blanket.toml").write_text(toml(), "utf-8")
    out = ["--out", str(tmp_path / "plan")]
    assert main(["plan", str(tmp_path), *out]) == 0
    printed = capsys.readouterr().out
    (line,) = [x for x in printed.splitlines() if x.startswith("Or plan without it: ")]
    command = line.removeprefix("Or plan without it: ").split(" (in the notebook")[0]
    words = [str(tmp_path) if w == "FOLDER" else w for w in shlex.split(command)]
    assert main([*words[3:], *out]) == 0
    assert "rows, " in capsys.readouterr().out
    written = json.loads((tmp_path / "plan" / "plan.json").read_text("utf-8"))
    assert written["fabric"]["rows"] > 0


def knitted(sharing, rows, largest, *, wished=240):
    """A blanket of rows three to the cm; short where it has fewer than wished."""
    missing = (wished or 0) - rows
    short = Short(missing, missing / 3, 0.0, 0.0) if missing > 0 else None
    return Shared(sharing, Fabric(80, rows, 40, rows / 3, (), (), short, ()), largest)


@pytest.mark.parametrize(
    ("halved", "paired", "suits"),
    [
        ((240, 13.8), (240, 20.6), "halve"),  # both reach it: the smoother
        ((183, 10.0), (240, 20.6), "pair"),  # one reaches it, however large its step
        ((240, 20.6), (236, 10.0), "halve"),  # also where little is missing
        ((183, 10.0), (200, 20.6), "pair"),  # neither: the longer
        ((197, 20.6), (200, 10.0), "pair"),
        ((200, 10.0), (203, 20.6), "halve"),  # under four rows apart: the smoother
    ],
)
def test_length_first_then_the_step(halved, paired, suits):
    """Whichever of the two was chosen, the same one suits."""
    one, two = knitted("halve", *halved), knitted("pair", *paired)
    assert which_suits(one, two) == which_suits(two, one) == suits


def test_until_the_yarn_ends_the_step_decides():
    """Where no length is wished none is missing."""
    one = knitted("halve", 150, 10.0, wished=None)
    two = knitted("pair", 200, 12.0, wished=None)
    assert which_suits(one, two) == "halve"
    said = sharing_words(one, two, wished=False)
    assert "reaches 50 cm" in said and "By the steps" in said


def test_alike_the_chosen_way_suits():
    """Nothing is gained by the other."""
    one, two = knitted("pair", 240, 10.0), knitted("halve", 240, 10.0)
    assert which_suits(one, two) == "pair"


def test_both_are_told_in_the_blankets_units():
    """How far each reaches, with what step, and what decided."""
    one, two = knitted("halve", 183, 13.8), knitted("pair", 240, 20.6)
    assert sharing_words(one, two) == (
        "Halving every ball stops at 61 cm with a largest step between stripes of "
        "13.8; pairing look-alikes, no ball cut, reaches the full 80 cm with a largest "
        'step between stripes of 20.6. By the length, sharing = "pair" suits this '
        "stash."
    )
    assert "stops at 24 in" in sharing_words(one, two, "imperial")
    assert "the full 31.5 in" in sharing_words(one, two, "imperial")
