"""The colour desk, its traits set as a page would set them."""

import asyncio
import tomllib
from functools import partial

import pytest

from kit.blanket import own_demo
from kit.widgets.colours import ColourDesk
from kit.widgets.parts import Later, Lines, Part, picture, said_beside

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def folder(tmp_path):
    return own_demo(tmp_path)


@pytest.fixture
def desk(folder):
    return ColourDesk(folder)


def colours(folder):
    return tomllib.loads((folder / "blanket.toml").read_text("utf-8"))["colours"]


def lines(part):
    return [label.value for label in part.children]


def move(control, **state):
    """What a page's message does."""
    control.set_state(state)


def test_everything_is_there_at_once(desk):
    """Pictures and numbers stand before any control is touched."""
    assert bytes(desk.run.value).startswith(b"<svg")
    assert lines(desk.lines)[0].startswith("Reading-room throw: 41 yarns by family")
    assert lines(desk.breaks)[0] == "Where the flow breaks, worst first:"


@pytest.mark.parametrize(
    ("control", "state", "key", "value"),
    [
        ("by", {"index": 1}, "by", "value"),
        ("layout", {"index": 2}, "layout", "mirrored"),
        ("view", {"value": 0.9}, "view", 0.9),
        ("jump_limit", {"value": 12}, "jump_limit", 12),
        ("most_bridges", {"value": 0}, "bridges", 0),
    ],
)
def test_a_control_changes_picture_numbers_and_file(
    desk, folder, control, state, key, value
):
    """Each control redraws the run and is saved; remarks of the file stay."""
    before = bytes(desk.run.value)
    move(getattr(desk, control), **state)
    assert bytes(desk.run.value) != before
    assert colours(folder)[key] == value
    assert "# both edges together" in (folder / "blanket.toml").read_text("utf-8")
    assert lines(desk.messages) == ["Saved in blanket.toml."]


def test_slack_counts_for_smoothest_alone(desk, folder):
    """The slack slider sleeps but for the smoothest arrangement."""
    assert desk.value_slack.disabled
    move(desk.by, index=2)
    assert not desk.value_slack.disabled
    move(desk.value_slack, index=len(desk.value_slack.options) - 1)
    assert colours(folder)["value_slack"] == "none"
    assert "No order of these yarns has a largest step under" in " ".join(
        lines(desk.lines)
    )


def test_choices_come_back(desk, folder):
    """What was chosen is there again on the next run."""
    move(desk.by, index=1)
    move(desk.view, value=0.25)
    again = ColourDesk(folder)
    assert (again.by.value, again.view.value) == ("value", 0.25)


def test_an_accent_is_no_longer_counted(desk, folder):
    """A jump kept on purpose leaves the largest step, and can be let go."""
    jump = desk.accents.options[0][1]
    before = desk.plan.design.steps
    move(desk.accents, index=[0])
    assert colours(folder)["accents"] == [list(jump)]
    assert sum(s.accent for s in desk.plan.design.steps) > sum(s.accent for s in before)
    assert desk.accents.value == (jump,)
    move(desk.accents, index=[])
    assert colours(folder)["accents"] == []


def test_try_keep_and_take_out_a_bridge(desk, folder):
    """A tried bridge is shown but not saved; a kept one is; then it is taken out."""
    name = desk.yarn.options[1][1]
    move(desk.yarn, index=1)
    desk.try_it.click()
    assert name in [yarn.name for yarn in desk.plan.design.laid.yarns]
    assert "bridges_kept" not in colours(folder)
    desk.again.click()
    move(desk.yarn, index=1)
    desk.keep_it.click()
    assert colours(folder)["bridges_kept"][0]["yarn"] == name
    desk.take_out.click()
    assert "bridges_kept" not in colours(folder)
    assert desk.plan.design.bridges == ()


def test_a_fault_is_a_sentence_beside_the_control(desk, folder):
    """A yarn that lost its colour is told; the desk keeps what it showed."""
    before = bytes(desk.run.value)
    stash = (folder / "stash.csv").read_text("utf-8")
    (folder / "stash.csv").write_text(stash.replace("#423125", "#42312", 1), "utf-8")
    desk.again.click()
    (told,) = lines(desk.messages)
    assert told.startswith('stash.csv, row 3 ("Peat Basket"), colours: found #42312')
    assert bytes(desk.run.value) == before


def test_the_plan_is_written(desk, folder):
    """The button writes the files and says where."""
    desk.write.click()
    assert (folder / "plan" / "plan.html").is_file()
    assert lines(desk.messages)[0].startswith("Written: ")


def test_a_part_leaves_a_picture():
    """Where no widget can live, its still picture is shown instead."""
    part = Part([picture("<svg/>")], lambda: "<svg>still</svg>")
    assert part._repr_mimebundle_()["image/svg+xml"] == "<svg>still</svg>"


def test_unforeseen_errors_are_told():
    """Even an error nobody thought of appears in a line of text."""
    told = Lines()

    @said_beside(told)
    def breaks(_):
        raise ZeroDivisionError("by nothing")

    breaks(None)
    assert lines(told) == ["This did not work (ZeroDivisionError: by nothing)."]


def test_the_last_wish_is_served():
    """In a running loop only the last of several calls is made, after a pause."""
    made = []

    async def ask():
        later = Later(wait_s=0.02)
        for k in range(3):
            later.ask(partial(made.append, k))
        assert made == []
        await asyncio.sleep(0.1)
        later.ask(partial(made.append, "never"))
        later.forget()
        await asyncio.sleep(0.05)

    asyncio.run(ask())
    assert made == [2]
    Later().ask(partial(made.append, "at once"))
    assert made == [2, "at once"]
