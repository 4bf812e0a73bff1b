"""Why a plan stops at the colours: what is missing, and both ways on."""

import json
import shlex
import tomllib

import pytest

from kit.__main__ import main
from kit.fabric.unweighed import leave_out_command
from kit.plan.compose import why_colours_alone
from tests.helpers.plans import balls, planned, stash_bytes, toml

TELLS = "it will say rows, metres and where each ball ends"


def some_unweighed(*which, n=8):
    rows = balls(n, grams=(25, 40))
    for k in which:
        rows[k]["grams"] = ""
    return rows


def told(plan):
    return why_colours_alone(plan.design, plan.stash, plan.choices)


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
