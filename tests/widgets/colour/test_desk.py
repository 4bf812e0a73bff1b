"""The colour desk, its traits set and its strip told as a page would do it."""

import asyncio
import os
import re
import tomllib
from functools import partial
from operator import attrgetter

import pytest

from kit.blanket import open_blanket
from kit.plan import plan_blanket
from kit.widgets.colour.desk import ColourDesk
from kit.widgets.colour.strip import OLDER
from kit.widgets.later import Later
from kit.widgets.lines import Lines, messages_beside
from kit.widgets.panel import Panel, svg_image
from kit.widgets.worker import Worker
from tests.helpers.demos import own_demo

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


# Greys and two families, an accent, two bridges held back, one left out; a small shop.
STASH = """name,colours,grams,metres_per_100g,role
Chalk,#f1f0ec,60,400,
Flour,#dcdad2,55,400,
Pewter,#a7a9ab,50,400,
Slate,#63686d,50,400,
Coal,#2b2c2f,70,400,
Straw,#ecd9a0,40,400,
Honey,#c99a3f,45,400,
Toffee,#8a5a2b,40,400,
Sky,#bcd6e8,50,400,
Pond,#6d9cc0,50,400,
Denim,#3a628f,55,400,
Ink,#1d3557,60,400,
Poppy,#d8392b,15,400,accent
Ferry,"#bcd6e8 50%, #c99a3f 50%",30,400,bridge
Heron,"#dcdad2 40%, #3a628f 60%",30,400,bridge
Prize,#e633a6,50,400,leave out
"""
SHOP = """name,colours,grams,metres_per_100g
Mist,"#dcdad2 50%, #6d9cc0 50%",50,400
Rust,"#8a5a2b 60%, #2b2c2f 40%",50,400
"""
CHOICES = """# ours
name = "Hall"

[gauge]
stitches_per_10cm = 20
rows_per_10cm = 26

[size]
width_cm = 60
length_cm = "all"

[colours]
by = "family"  # for now
bridges = 1
jump_limit = 15
"""


@pytest.fixture(autouse=True)
def quick(request, monkeypatch):
    """The fabric is drawn only where a test is about it."""
    if "drawn" not in request.fixturenames:
        for module in ("colour.results", "worker"):
            near = f"kit.widgets.{module}.near_look"
            monkeypatch.setattr(near, lambda plan: None)


@pytest.fixture
def drawn():
    """Asked for where the fabric's picture is looked at."""


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "hall"
    made.mkdir()
    (made / "stash.csv").write_text(STASH, "utf-8")
    (made / "shop.csv").write_text(SHOP, "utf-8")
    (made / "blanket.toml").write_text(CHOICES, "utf-8")
    return made


@pytest.fixture
def desk(folder):
    return ColourDesk(folder)


def colours(folder):
    return tomllib.loads((folder / "blanket.toml").read_text("utf-8"))["colours"]


def lines(part):
    return [label.value for label in part.children]


def said(part):
    return " ".join(lines(part))


def move(control, **state):
    """What a page's message does."""
    control.set_state(state)


def act(desk, kind, name=None, before=None, **more):
    """What a page says after something was done to the strip."""
    numbers = {row["name"]: k for k, row in enumerate(desk.look.strip.yarns)}
    content = {"act": kind, "edition": desk.look.strip.edition, "token": "t", **more}
    if name is not None:
        content["yarn"] = numbers[name]
    if before is not None:
        content["before"] = numbers[before]
    desk.look.strip.hear(content)


def run(desk):
    """The names along the strip."""
    return [
        desk.look.strip.yarns[member["yarn"]]["name"] for member in desk.look.strip.run
    ]


def tray(desk, title):
    (group,) = (g for g in desk.look.strip.tray if g["title"].startswith(title))
    return [desk.look.strip.yarns[k]["name"] for k in group["yarns"]]


def refused_to_save(monkeypatch):
    """A folder that cannot be written, whoever tests: root may write everywhere."""
    from kit.errors import Fault, KitError
    from kit.widgets import saving

    def refuse(*_, **__):
        raise KitError(Fault("read_only", says="blanket.toml cannot be saved"))

    monkeypatch.setattr(saving, "save_choices", refuse)


# --- controls -------------------------------------------------------------------------


def test_everything_is_there_at_once(drawn, desk, folder):
    """Strip, pictures and numbers stand before any control is touched."""
    assert len(desk.look.strip.run) == 14
    assert len(desk.look.strip.steps) == 13
    assert desk.look.strip.numbers.startswith(
        "13 yarns and 1 bridge in the run, by family"
    )
    assert bytes(desk.from_far.colours.value).startswith(b"<svg")
    assert bytes(desk.cloth.small.value).startswith(b"\x89PNG")
    assert said(desk.cloth.totals).startswith("120 stitches x ")
    assert said(desk.numbers.lines).startswith("Hall: 13 yarns by family")
    assert lines(desk.numbers.breaks)[0] == "Where the flow breaks, worst first:"
    assert (folder / "blanket.toml").read_text("utf-8") == CHOICES
    (shelf,) = (one for one in desk.look.strip.tray if one["kind"] == "out")
    assert shelf["empty"] == "nothing, but 1 yarn of the stash by role"


def test_what_was_said_of_the_run_before_is_taken_back(desk):
    """Another setting makes another run, which nobody has undone."""
    act(desk, "shift", "Honey", by=1)
    act(desk, "undo")
    assert desk.look.strip.sentences == "Undone."
    move(desk.order.way, index=1)
    assert desk.look.strip.sentences == ""


def test_the_demo_is_there_at_once(tmp_path):
    """The whole demo blanket: all its yarns, bridges and skeins."""
    desk = ColourDesk(own_demo(tmp_path))
    assert len(desk.look.strip.run) in (41, 42)
    assert len(tray(desk, "In the shop")) + len(tray(desk, "Bridges")) >= 44
    assert said(desk.numbers.lines).startswith("Reading-room throw: 41 yarns by family")


@pytest.mark.parametrize(
    ("control", "state", "key", "value", "changes"),
    [
        ("order.by", {"index": 1}, "by", "value", "run"),
        ("order.way", {"index": 2}, "layout", "mirrored", "far"),
        ("look.view", {"value": 0.9}, "view", 0.9, "steps"),
        ("look.jump_limit", {"value": 9}, "jump_limit", 9, "steps"),
        ("bridges.most", {"value": 0}, "bridges", 0, "run"),
    ],
)
def test_a_control_changes_what_is_shown_and_the_file(
    desk, folder, control, state, key, value, changes
):
    """Each control shows what follows and is saved; remarks of the file stay."""

    def shown():
        far = bytes(desk.from_far.colours.value)
        return {"run": desk.look.strip.run, "steps": desk.look.strip.steps, "far": far}[
            changes
        ]

    before = shown()
    move(attrgetter(control)(desk), **state)
    assert shown() != before
    assert colours(folder)[key] == value
    assert "# ours" in (folder / "blanket.toml").read_text("utf-8")
    assert ["Saved in blanket.toml."] in [
        lines(part.said) for part in (desk.order, desk.look, desk.bridges)
    ]


def test_a_page_that_only_shows_changes_nothing(desk, folder):
    """A slider's page sends 14.999999999999996 for 15: no hand did that."""
    before = (folder / "blanket.toml").read_bytes()
    move(desk.look.jump_limit, value=14.999999999999996)
    assert (folder / "blanket.toml").read_bytes() == before


def test_a_jump_of_both_halves_is_offered_once(folder):
    """A mirrored run meets each jump twice; the lists and the picture tell it once."""
    text = CHOICES.replace("bridges = 1", 'layout = "mirrored"')
    (folder / "blanket.toml").write_text(text, "utf-8")
    desk = ColourDesk(folder)
    pairs = [frozenset(pair) for _, pair in desk.kept_steps.accents.options]
    assert len(pairs) == len(set(pairs)) > 0
    assert "twice: on the way out and back" in said(desk.numbers.breaks)
    assert desk.look._still().count("↩ middle") == 1


LAID_OUT = re.compile("laid out mirrored: largest step ([0-9.]+)")


@pytest.mark.parametrize("sharing", ["halve", "pair"])
def test_numbers_of_the_run_and_of_the_blanket(folder, sharing, monkeypatch):
    """The strip shows a run; where that is laid out there and back, its line has the
    largest step of that too, the one that the numbers below have."""
    assert "laid out" not in ColourDesk(folder).look.strip.numbers
    text = CHOICES.replace("bridges = 1", f'layout = "mirrored"\nsharing = "{sharing}"')
    (folder / "blanket.toml").write_text(text, "utf-8")
    desk = ColourDesk(folder)
    told = LAID_OUT.search(desk.look.strip.numbers)
    assert f"argest step {told[1]}, median" in said(desk.numbers.lines)
    waiting = []  # until the hands rest, nothing is told of another run
    monkeypatch.setattr(desk.work.later, "ask", waiting.append)
    names = run(desk)
    act(desk, "move", names[1], names[6])
    assert "laid out" not in desk.look.strip.numbers
    waiting.pop()()
    told = LAID_OUT.search(desk.look.strip.numbers)
    assert f"argest step {told[1]}, median" in said(desk.numbers.lines)


def test_an_accent_is_no_longer_counted(desk, folder):
    """A jump kept on purpose leaves the largest step, and can be let go."""
    jump = desk.kept_steps.accents.options[0][1]
    before = desk.plan.design.steps
    move(desk.kept_steps.accents, index=[0])
    assert colours(folder)["accents"] == [list(jump)]
    assert sum(s.accent for s in desk.plan.design.steps) > sum(s.accent for s in before)
    assert desk.kept_steps.accents.value == (jump,)
    assert sum(step["mark"] == "◆" for step in desk.look.strip.steps) > 2
    move(desk.kept_steps.accents, index=[])
    assert "accents" not in colours(folder)


def test_an_accent_can_be_undone(desk, folder, monkeypatch):
    """Undo and redo in the strip take a kept step back and bring it again: which steps
    count, at once; the list and the file; the run stays."""
    names, jump = run(desk), desk.kept_steps.accents.options[0][1]
    waiting = []  # what is made when the hands rest
    monkeypatch.setattr(desk.work.later, "ask", waiting.append)
    before = [step["mark"] for step in desk.look.strip.steps]
    move(desk.kept_steps.accents, index=[0])
    kept = [step["mark"] for step in desk.look.strip.steps]
    assert kept.count("◆") == before.count("◆") + 1
    act(desk, "undo")
    assert [step["mark"] for step in desk.look.strip.steps] == before
    waiting.pop()()
    assert "accents" not in colours(folder) and desk.kept_steps.accents.value == ()
    act(desk, "redo")
    assert [step["mark"] for step in desk.look.strip.steps] == kept
    waiting.pop()()
    assert colours(folder)["accents"] == [
        list(jump)
    ] and desk.kept_steps.accents.value == (jump,)
    assert run(desk) == names


def test_try_keep_and_take_out_a_bridge(desk, folder):
    """A tried bridge is shown but not saved; a kept one is; then it is taken out."""
    move(desk.bridges.most, value=0)
    helped = next(
        k for k, one in enumerate(desk.plan.design.suggestions) if one.candidates
    )
    move(desk.bridges.place, index=helped)
    name = desk.bridges.yarn.options[1][1]
    move(desk.bridges.yarn, index=1)
    desk.bridges.try_it.click()
    assert name in run(desk)
    assert "bridges_kept" not in colours(folder)
    desk.which.again.click()
    assert name not in run(desk)
    move(desk.bridges.place, index=helped)
    move(desk.bridges.yarn, index=1)
    desk.bridges.try_it.click()
    desk.bridges.keep_it.click()
    assert name in run(desk)
    assert colours(folder)["bridges_kept"][0]["yarn"] == name
    desk.bridges.take_out.click()
    assert "bridges_kept" not in colours(folder)
    assert desk.plan.design.bridges == ()
    act(desk, "undo")
    assert colours(folder)["bridges_kept"][0]["yarn"] == name


def test_a_bridge_tried_from_the_list_leaves_the_others(desk, folder):
    """The one the kit put in stays, and another one can be tried in the same place."""
    more = 'Haze,"#d0d0cc 55%, #6d9cc0 45%",50,400\n'
    (folder / "shop.csv").write_text(SHOP + more, "utf-8")
    desk.which.again.click()
    (own,) = (one.yarn.name for one in desk.plan.design.bridges)
    gaps = desk.plan.design.suggestions
    move(
        desk.bridges.place,
        index=max(range(len(gaps)), key=lambda k: len(gaps[k].candidates)),
    )
    gap, names = (
        desk.bridges.place.value,
        [name for _, name in desk.bridges.yarn.options],
    )
    for n in (1, 2):
        move(desk.bridges.yarn, index=n)
        desk.bridges.try_it.click()
        assert {own, names[n]} <= {*run(desk)}
        assert (desk.bridges.place.value, desk.bridges.yarn.value) == (gap, names[n])
    assert names[1] not in run(desk)
    desk.bridges.keep_it.click()
    assert {own, names[2]} <= {*run(desk)}
    assert {kept["yarn"] for kept in colours(folder)["bridges_kept"]} == {own, names[2]}


def test_no_bridge_is_tried_or_kept_without_a_yarn(desk, folder):
    """Said beside the list; nothing is called saved."""
    before, file = run(desk), (folder / "blanket.toml").read_bytes()
    for press in (desk.bridges.try_it, desk.bridges.keep_it):
        press.click()
        told = "No yarn is chosen to put in. Choose one from the list."
        assert said(desk.bridges.said) == told
    assert run(desk) == before
    assert (folder / "blanket.toml").read_bytes() == file


def test_the_plan_is_written(desk, folder, monkeypatch):
    """The button writes what is chosen, says where, and does not search again."""
    from kit.widgets.colour import desk as module

    written = []
    monkeypatch.setattr(module, "write_plan", lambda *args: written.append(args))
    act(desk, "move", run(desk)[2], run(desk)[8])
    monkeypatch.setattr("kit.widgets.colour.work.plan_blanket", None)
    desk.write.click()
    assert written == [(desk.plan, folder / "plan")]
    assert said(desk.which.said).startswith("Written: ")


# --- hands ----------------------------------------------------------------------------


def test_a_moved_ball_makes_the_order_ones_own(drawn, desk, folder):
    """Strip, numbers, pictures, fabric and file follow; it is compared."""
    before = run(desk)
    far, small = bytes(desk.from_far.colours.value), bytes(desk.cloth.small.value)
    act(desk, "move", before[3], before[10])
    now = run(desk)
    assert now.index(before[3]) == 9
    assert sorted(now) == sorted(before)
    assert desk.look.strip.numbers.startswith(
        "13 yarns and 1 bridge in the run, in an order made by hand"
    )
    assert desk.look.strip.sentences.startswith(f"{before[3]} goes from place 4 to 10.")
    assert bytes(desk.from_far.colours.value) != far
    assert bytes(desk.cloth.small.value) != small
    bridges = {kept["yarn"] for kept in colours(folder)["bridges_kept"]}
    assert colours(folder)["order"] == [name for name in now if name not in bridges]
    assert desk.order.by.value == "hand"
    assert "Made by hand: largest" in said(desk.numbers.lines)
    assert "computed by family: largest" in said(desk.numbers.lines)


def test_an_order_of_ones_own_comes_back(desk, folder):
    """On the next run everything is as it was left: order, locks, left out, bridge."""
    names = run(desk)
    act(desk, "move", names[10], names[2])
    yarns = [name for name in run(desk) if name not in ("Ferry", "Heron")]
    act(desk, "lock", yarns[0])
    act(desk, "tie", yarns[-2])
    act(desk, "out", yarns[3])
    act(desk, "place", tray(desk, "In the shop")[0])
    again = ColourDesk(folder)
    for one in (run, lambda d: d.look.strip.steps, lambda d: d.look.strip.numbers):
        assert one(again) == one(desk)
    assert [m["locked"] for m in again.look.strip.run] == [
        m["locked"] for m in desk.look.strip.run
    ]
    assert sum(m["tied"] for m in again.look.strip.run) == 1
    assert tray(again, "Left out") == [yarns[3]]
    kept = colours(folder)
    assert kept["locked"] == [yarns[0], yarns[-2:]]
    assert kept["left_out"] == [yarns[3]]
    # And the command line knows the same.
    plan = plan_blanket(open_blanket(folder))
    assert [y.name for y in plan.design.laid.yarns] == run(desk)
    told = f'Left out of this blanket alone (colours.left_out): "{yarns[3]}".'
    assert told in plan.assumed


def test_undo_and_redo(desk, folder):
    """Every turn can be undone to the first, and done again; the file follows."""
    states = [run(desk)]
    acts = [
        ("move", "Flour", "Sky"),
        ("shift", "Denim", None),
        ("out", "Straw", None),
        ("place", "Straw", None),
        ("lock", "Honey", None),
    ]
    for kind, name, before in acts:
        act(desk, kind, name, before, **({"by": 1} if kind == "shift" else {}))
        states.append(run(desk))
    for k in range(len(acts) - 1, -1, -1):
        act(desk, "undo")
        assert run(desk) == states[k]
    assert not desk.look.strip.can_undo
    assert "order" not in colours(folder)
    assert desk.order.by.value == "family"
    act(desk, "undo")
    assert desk.look.strip.sentences == "Nothing to undo."
    for k in range(1, len(states)):
        act(desk, "redo")
        assert run(desk) == states[k]
    assert colours(folder)["locked"] == ["Honey"]


def test_put_back_the_computed_order(desk, folder):
    """One act leads back to the computed order; undo leads to one's own again."""
    before = run(desk)
    act(desk, "move", before[3], before[9])
    own = run(desk)
    act(desk, "computed")
    assert run(desk) == before
    assert "order" not in colours(folder)
    act(desk, "undo")
    assert run(desk) == own
    move(desk.order.by, index=1)  # another arrangement does the same
    assert "order" not in colours(folder)
    act(desk, "undo")
    assert (run(desk), desk.order.by.value) == (own, "hand")


def test_locked_yarns_stay_when_the_rest_is_arranged_anew(desk, folder):
    """Locks keep their places, pairs stay together, the others go smoothly."""
    act(desk, "move", "Coal", "Sky")
    order = list(colours(folder)["order"])
    act(desk, "lock", order[6])
    act(desk, "out", [m for m in run(desk) if m in ("Ferry", "Heron")][0])
    act(desk, "tie", order[9])
    act(desk, "anew", way="smoothest")
    now = colours(folder)["order"]
    assert now.index(order[6]) == 6
    assert abs(now.index(order[9]) - now.index(order[10])) == 1
    assert now != order
    assert colours(folder)["by"] == "smoothest"  # what it is compared with
    assert desk.look.strip.sentences.startswith(
        "Arranged as smooth as they go round what is held. Largest step "
    )
    act(desk, "move", order[6], order[11])
    assert desk.look.strip.sentences == (
        f'"{order[6]}" is locked in its place: unlock it first.'
    )
    assert colours(folder)["order"] == now


def test_a_bridge_is_dropped_into_a_gap_and_taken_out(desk, folder):
    """Before and after are told; taken out, it is not put in again by itself."""
    skein, names = tray(desk, "In the shop")[0], run(desk)
    act(desk, "move", skein, names[4])
    assert desk.look.strip.sentences.startswith(
        f"Bridge {skein} between {names[3]} and {names[4]}: the step of "
    )
    assert " becomes " in desk.look.strip.sentences
    member = desk.look.strip.run[4]
    assert (member["bridge"], run(desk)[4]) == ("bridge", skein)
    assert skein in [y.name for y in desk.plan.design.laid.yarns]
    for bridge in [n for n, m in zip(run(desk), desk.look.strip.run, strict=True)
                   if m["bridge"]]:  # fmt: skip
        act(desk, "out", bridge)
    assert not any(m["bridge"] for m in desk.look.strip.run)
    assert colours(folder)["bridges"] == 0
    act(desk, "move", skein, run(desk)[0])
    told = "A bridge stands between two yarns, not at an end."
    assert desk.look.strip.sentences == told


# --- what may go wrong ----------------------------------------------------------------


def test_a_fault_is_a_sentence_beside_the_control(desk, folder):
    """A yarn that lost its colour is told; the desk keeps what it showed."""
    before = run(desk)
    stash = (folder / "stash.csv").read_text("utf-8")
    (folder / "stash.csv").write_text(stash.replace("#a7a9ab", "#a7a9a", 1), "utf-8")
    desk.which.again.click()
    assert said(desk.which.said).startswith(
        'stash.csv, row 4 ("Pewter"), colours: found #a7a9a'
    )
    assert run(desk) == before


def test_a_blanket_that_cannot_be_read_is_told_everywhere(folder):
    """The desk opens with the sentence; its controls say what to do."""
    (folder / "stash.csv").write_text("name\n", "utf-8")
    desk = ColourDesk(folder)
    assert said(desk.which.said).startswith("stash.csv, ")
    assert desk.look.strip.run == []
    move(desk.order.by, index=1)
    assert said(desk.order.said) == (
        'The blanket cannot be read as it is. Put it right, then press "Read the files '
        'again".'
    )
    act(desk, "undo")
    assert desk.look.strip.sentences.startswith("The blanket cannot be read as it is.")
    assert desk.look._still().startswith("<svg")


def test_a_yarn_deleted_meanwhile(desk, folder):
    """It is told, nothing else of the order is lost, and the file is only cleaned
    with the next change."""
    names = run(desk)
    act(desk, "move", names[3], names[9])
    order = colours(folder)["order"]
    gone = "Pond"
    path = folder / "stash.csv"
    rows = path.read_text("utf-8").splitlines(keepends=True)
    path.write_text("".join(row for row in rows if gone not in row), "utf-8")
    act(desk, "lock", order[0])
    assert said(desk.look.said) == (
        "The stash was changed since it was read here: read the files again to see it."
    )
    desk.which.again.click()
    assert f'No longer in the stash, so passed over here: "{gone}".' in said(
        desk.which.said
    )
    left = [name for name in order if name != gone]
    assert [name for name in run(desk) if name in order] == left
    assert gone in colours(folder)["order"]
    act(desk, "lock", order[1])
    assert colours(folder)["order"] == left


def test_an_older_page_moves_nothing(desk, folder):
    """After the files were read again, what an older page says is told and not done."""
    before = (folder / "blanket.toml").read_bytes()
    edition = desk.look.strip.edition
    desk.which.again.click()
    desk.look.strip.hear({"act": "move", "yarn": 1, "before": 5, "edition": edition})
    assert desk.look.strip.sentences == OLDER
    assert (folder / "blanket.toml").read_bytes() == before


def test_nothing_is_lost_where_it_cannot_be_saved(desk, folder, monkeypatch):
    """It is told beside the strip, stays on the page, and is saved with the next
    change that can be."""
    with monkeypatch.context() as patch:
        refused_to_save(patch)
        act(desk, "move", "Straw", "Denim")
        move(desk.look.view, value=0.8)
        assert lines(desk.look.said)[0] == "blanket.toml cannot be saved."
        assert lines(desk.look.said)[1].startswith("Nothing is lost")
    own = run(desk)
    assert own.index("Straw") == own.index("Denim") - 1
    assert "order" not in colours(folder)
    move(desk.look.jump_limit, value=30)
    kept = colours(folder)
    assert (kept["view"], kept["jump_limit"]) == (0.8, 30)
    order = kept["order"]
    assert order.index("Straw") == order.index("Denim") - 1
    assert run(ColourDesk(folder)) == own


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="may write anywhere")
def test_a_read_only_file_is_told(desk, folder):
    """The same with a file that is really protected."""
    (folder / "blanket.toml").chmod(0o444)
    names = run(desk)
    act(desk, "move", names[3], names[9])
    assert "protected" in said(desk.look.said)


def test_what_another_program_wrote_meanwhile_stays(desk, folder):
    """A remark and a key that an editor put in are there after a move."""
    path = folder / "blanket.toml"
    path.write_text(path.read_text("utf-8") + "fabric_jump_limit = 11  # ours\n")
    names = run(desk)
    act(desk, "move", names[3], names[9])
    assert "fabric_jump_limit = 11  # ours" in path.read_text("utf-8")
    assert desk.blanket.choices.judging.fabric_jump_limit == 11


HOSTILE = (
    '<img src=x onerror="window.hacked=1">',
    "__proto__",
    "constructor",
    "🧶 Wolle 🐑",
    "مرحبا",
)


def test_hostile_names(folder):
    """Names that look like script are names: they move, are saved and come back."""
    rows = [f'"{n.replace(chr(34), chr(34) * 2)}",#{k}{k}{k}{k}{k}{k},30'
            for k, n in enumerate(HOSTILE, start=2)]  # fmt: skip
    text = "name,colours,grams\n" + "\n".join(rows) + "\n"
    (folder / "stash.csv").write_text(text, "utf-8")
    desk = ColourDesk(folder)
    names = run(desk)
    assert sorted(names) == sorted(HOSTILE)
    act(desk, "move", names[0], names[3])
    act(desk, "out", names[1])
    again = ColourDesk(folder)
    assert run(again) == run(desk)
    assert tray(again, "Left out") == [names[1]]
    for image in (desk.from_far.colours, desk.from_far.greys):
        assert b"<img" not in bytes(image.value)
    assert "<img" not in desk.look._still()


# --- time -----------------------------------------------------------------------------


def test_numbers_come_before_everything_else(drawn, folder):
    """In a running loop an act answers with numbers and the run's pictures, and is
    saved; the fabric waits until the hands rest, and is made once for two acts."""
    made = []  # plans, as they are shown

    async def play():
        desk = ColourDesk(folder)
        names = run(desk)
        small, far = bytes(desk.cloth.small.value), bytes(desk.from_far.colours.value)
        first, show = desk.plan, desk.work._show
        desk.work._show = lambda state: (made.append(state.plan), show(state))
        act(desk, "move", names[3], names[9])
        assert bytes(desk.from_far.colours.value) != far
        act(desk, "move", names[1], names[6])
        assert run(desk).index(names[1]) == 4
        assert bytes(desk.cloth.small.value) == small
        assert colours(folder)["order"]
        assert all(plan is first for plan in made)
        made.clear()
        for _ in range(600):
            await asyncio.sleep(0.05)
            if made and not desk.work.worker.busy:
                break
        assert all(plan is made[0] for plan in made)
        assert bytes(desk.cloth.small.value) != small
        assert desk.work.full is made[0]

    asyncio.run(play())


def test_long_work_is_told_and_stopped(folder):
    """The full search goes on aside; words tell it, Stop ends it, a move too."""

    async def play():
        desk = ColourDesk(folder)
        move(desk.order.by, index=2)
        assert desk.work.worker.busy
        assert desk.look.strip.busy.startswith(
            "A first answer stands; searching on: 0 s"
        )
        act(desk, "stop")
        assert (desk.work.worker.busy, desk.look.strip.busy) == (False, "")
        assert desk.look.strip.sentences == "Stopped. What you see stays."
        act(desk, "anew", way="smoothest")
        assert desk.work.worker.busy
        names = run(desk)
        act(desk, "move", names[3], names[9])  # hands are quicker: theirs holds
        assert not desk.work.worker.busy
        own = run(desk)
        await asyncio.sleep(0.3)
        assert [n for n in run(desk) if n in own] == own
        desk.work.stop()

    asyncio.run(play())


def test_work_aside_comes_back():
    """In a running loop the work is done in another Python; what it raises comes
    back as well; of several wishes the last is served."""

    async def play():
        told, came = [], []
        worker = Worker(told.append)

        async def settled():
            while worker.busy:
                await asyncio.sleep(0.02)

        worker.ask(sorted, "never", done=came.append)
        worker.ask(sorted, "cab", done=came.append)
        await settled()
        assert came == [["a", "b", "c"]]
        stays = worker._python.pid
        worker.ask(int, "x", done=came.append)
        await settled()
        assert isinstance(came[1], ValueError)
        # Short work runs out, and only the last wish of those meanwhile is served.
        for k in range(5):
            worker.ask(max, 0, k, done=came.append, long=False)
        await settled()
        assert came[2:] == [4]
        assert worker._python.pid == stays
        worker.ask(max, 0, 5, done=came.append, long=False)
        worker.drop()
        await asyncio.sleep(0.2)
        assert came[2:] == [4]
        assert told[0] < 1
        # One that ends by itself is told, and the next wish starts another.
        worker.ask(os._exit, 3, done=came.append)
        await settled()
        assert isinstance(came[-1], RuntimeError)
        worker.ask(max, 0, 7, done=came.append)
        await settled()
        assert came[-1] == 7
        worker.stop()

    asyncio.run(play())
    came = []
    Worker(lambda seconds: None).ask(sorted, "cab", done=came.append)
    assert came == [["a", "b", "c"]]


# --- what all desks share -------------------------------------------------------------


def test_a_part_leaves_a_picture(desk):
    """Where no widget can live, its still picture is shown instead."""
    part = Panel([svg_image("<svg/>")], lambda: "<svg>still</svg>")
    assert part._repr_mimebundle_()["image/svg+xml"] == "<svg>still</svg>"
    assert desk.look._repr_mimebundle_()["image/svg+xml"].startswith("<svg")


def test_unforeseen_errors_are_told(desk):
    """Even an error nobody thought of appears in a line of text."""
    told = Lines()

    @messages_beside(told)
    def breaks(*_):
        raise ZeroDivisionError("by nothing")

    breaks(None)
    assert lines(told) == ["This did not work (ZeroDivisionError: by nothing)."]
    desk.work._go_back = breaks.__wrapped__
    act(desk, "undo")
    assert (
        desk.look.strip.sentences
        == "This did not work (ZeroDivisionError: by nothing)."
    )


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
