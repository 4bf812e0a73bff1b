"""Orders made by hand: every move keeps what it must."""

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.arrangement.manual import (
    History,
    ManualOrder,
    bring_back,
    leave_out,
    manual_order,
    move,
    put_bridge,
    put_in_order,
    shift,
    switch_lock,
    switch_tie,
)
from kit.blanket.choices import Kept
from kit.errors import KitError


def hand(line, **also) -> ManualOrder:
    """A hand whose yarns are single letters; capitals are bridges."""
    return manual_order(list(line), bridges={c for c in line if c.isupper()}, **also)


def line(one: ManualOrder) -> str:
    return "".join(one.line)


def refusal(act, *args) -> str:
    with pytest.raises(KitError) as caught:
        act(*args)
    return str(caught.value)


# --- single moves ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("before", "name", "anchor", "after"),
    [
        ("abcde", "a", "d", "bcade"),
        ("abcde", "e", "b", "aebcd"),
        ("abcde", "b", None, "acdeb"),
        ("abcde", "c", "d", "abcde"),
        ("abcde", "c", "c", "abcde"),
        ("abXcd", "d", "X", "abdXc"),  # the bridge stays before c
        ("abXcd", "d", "c", "abXdc"),  # and here after b
        ("abXcd", "b", "a", "baXcd"),
        ("abXcd", "X", "b", "aXbcd"),
        ("abXc", "c", "a", "cab"),  # with nothing behind it a bridge is let go
        ("aXbc", "a", None, "bca"),
    ],
)
def test_a_yarn_or_bridge_is_moved(before, name, anchor, after):
    """It goes before the one named; bridges stay behind the yarn they stand behind."""
    moved = move(hand(before), name, anchor)
    assert line(moved) == after
    assert moved.bridges == {c for c in after if c.isupper()}


@pytest.mark.parametrize("name", ["a", "b", "X", "c"])
def test_a_shift_by_nothing_changes_nothing(name):
    """No places earlier or later is where it stands."""
    one = hand("abXc")
    assert shift(one, name, 0) == one


def test_locked_yarns_keep_their_places():
    """The others flow round what is locked, and it cannot be moved itself."""
    held = hand("abcde", locked=["c"])
    assert line(move(held, "a", "e")) == "bdcae"
    assert line(move(held, "e", "a")) == "eacbd"
    assert line(shift(held, "b", 1)) == "adcbe"  # past it, not into it
    assert line(shift(held, "d", -1)) == "adcbe"
    assert refusal(move, held, "c", "a") == (
        '"c" is locked in its place: unlock it first.'
    )
    assert line(move(switch_lock(held, "c"), "c", "a")) == "cabde"


def test_two_kept_together_move_together():
    """A pair comes along, is not parted by others, and does not stand in two places."""
    held = hand("abcde", locked=[("b", "c")])
    assert line(move(held, "b", None)) == "adebc"
    assert line(move(held, "c", "a")) == "bcade"
    assert line(move(held, "e", "c")) == "aebcd"
    assert line(move(held, "a", "c")) == "bcade"
    assert line(move(held, "b", "c")) == "abcde"
    assert line(shift(held, "a", 1)) == "bcade"
    assert line(shift(held, "d", -1)) == "adbce"
    assert line(shift(held, "c", -1)) == "bcade"
    locked = switch_lock(held, "b")
    assert refusal(move, locked, "c", "a") == (
        '"b" is locked in its place: unlock it first.'
    )
    assert move(switch_tie(held, "b"), "c", "a").pairs == ()


def test_pairs_and_locks_at_once():
    """A pair that does not fit before a locked yarn goes behind it."""
    held = hand("abcde", locked=["b", ("c", "d")])
    assert line(move(held, "c", "a")) == "abcde"
    assert line(move(held, "e", "a")) == "ebacd"


def test_a_yarn_left_out_comes_back():
    """It loses lock and pair, waits aside, and is put where it is wanted."""
    held = hand("abXcd", locked=["a", ("c", "d")])
    aside = leave_out(leave_out(held, "c"), "a")
    assert (line(aside), aside.left_out) == ("bXd", ("c", "a"))
    assert (aside.locked, aside.pairs) == (frozenset(), ())
    back = bring_back(aside, "c", "b")
    assert (line(back), back.left_out) == ("cbXd", ("a",))
    assert line(bring_back(back, "a", None)) == "cbXda"
    tied = hand("abcd", locked=[("b", "c")], left_out=["e"])
    assert line(bring_back(tied, "e", "c")) == "aebcd"
    assert refusal(bring_back, back, "c", None) == ('"c" is not among those left out.')
    assert refusal(leave_out, hand("a"), "a") == "One yarn must stay in the run."


def test_bridges_are_put_in_and_taken_out():
    """A bridge stands between two yarns that may part; it is kept with both names."""
    held = put_bridge(hand("abc"), "X", "b")
    assert held.kept == (Kept("X", "a", "b"),)
    both = put_bridge(held, "Y", "b")
    assert both.kept == (Kept("X", "a", "b"), Kept("Y", "X", "b"))
    assert line(leave_out(both, "X")) == "aYbc"
    assert leave_out(held, "X").left_out == ()
    assert refusal(put_bridge, held, "X", "c") == '"X" stands in the run already.'
    ends = "A bridge stands between two yarns, not at an end."
    assert refusal(put_bridge, hand("abc"), "X", "a") == ends
    assert refusal(put_bridge, hand("abc"), "X", None) == ends
    tied = switch_tie(hand("abc"), "a")
    assert refusal(put_bridge, tied, "X", "b") == (
        '"a" and "b" are kept together: let them part first.'
    )


def test_what_cannot_be_locked_or_tied():
    """Bridges are neither; nothing follows the last yarn."""
    held = hand("aXb")
    assert refusal(switch_lock, held, "X") == (
        "A bridge goes where its neighbours go: lock those."
    )
    assert refusal(switch_tie, held, "a") == (
        "A bridge stands between them: take it out first."
    )
    assert refusal(switch_tie, held, "b") == 'No yarn follows "b".'


def test_a_name_that_is_gone_is_told():
    """What an older page still shows moves nothing."""
    for act in (move, shift, leave_out):
        more = {move: (None,), shift: (1,)}.get(act, ())
        assert refusal(act, hand("abc"), "z", *more) == (
            '"z" is not in the run any more.'
        )
    assert refusal(move, hand("abc"), "a", "z") == '"z" is not in the run any more.'


def test_reordered():
    """Bridges stay where their neighbours still are neighbours; what is not in the
    order is left out."""
    held = hand("aXbcYde", locked=["a", ("d", "e")])
    turned = put_in_order(held, "edcba")
    assert (line(turned), turned.pairs) == ("edYcbXa", (("e", "d"),))
    other = put_in_order(held, "acbe")
    assert (line(other), other.left_out, other.pairs) == ("acbe", ("d",), ())


def test_only_what_has_its_place_is_taken():
    """Locks and pairs from a file count where the order has room for them."""
    held = manual_order("abc", locked=["z", "a", ("c", "b"), ("a", "c")], left_out="bd")
    assert held.locked == {"a"}
    assert held.pairs == (("b", "c"),)
    assert held.left_out == ("d",)
    for wrong in (
        {"line": ("a", "a")},
        {"line": ("a", "b"), "bridges": frozenset("b")},
        {"line": ("a", "b"), "locked": frozenset("z")},
        {"line": ("a", "b", "c"), "pairs": (("a", "c"),)},
        {"line": ("a", "b"), "left_out": ("b",)},
    ):
        with pytest.raises(ValueError, match="without its place"):
            ManualOrder(**wrong)


# --- all moves ------------------------------------------------------------------------


@st.composite
def hands(draw):
    n = draw(st.integers(2, 8))
    yarns = list("abcdefgh"[:n])
    pairs = [
        (yarns[k], yarns[k + 1])
        for k in draw(st.sets(st.integers(0, n - 2), max_size=3))
    ]
    locked = draw(st.sets(st.sampled_from(yarns), max_size=3))
    one = manual_order(
        yarns, locked=[*locked, *pairs], left_out=draw(st.sampled_from(("", "yz")))
    )
    for bridge in draw(st.sampled_from(("", "X", "XY"))):
        try:
            one = put_bridge(one, bridge, draw(st.sampled_from(yarns)))
        except KitError:
            continue
    return one


@given(hands(), st.data())
def test_every_move_keeps_what_it_must(one, data):
    """No yarn is lost or doubled; locks keep their places, pairs stay together."""
    anywhere = st.sampled_from([*one.line, None])
    name = data.draw(st.sampled_from(one.line))
    acts = {
        "move": lambda: move(one, name, data.draw(anywhere)),
        "shift": lambda: shift(one, name, data.draw(st.integers(-9, 9))),
        "lock": lambda: switch_lock(one, name),
        "tie": lambda: switch_tie(one, name),
        "out": lambda: leave_out(one, name),
        "back": lambda: bring_back(one, "y", data.draw(anywhere)),
        "bridge": lambda: put_bridge(one, "Z", data.draw(anywhere)),
    }
    kind = data.draw(st.sampled_from(sorted(acts)))
    try:
        new = acts[kind]()
    except KitError:
        return
    everyone = {*one.order, *one.left_out}
    assert sorted((*new.order, *new.left_out)) == sorted(everyone)
    if kind in ("move", "shift", "lock", "tie", "bridge"):
        assert set(new.order) == set(one.order)
        for held in one.locked:
            assert new.order.index(held) == one.order.index(held)
    if kind not in ("tie", "out"):
        # As neighbours in the order, in the same direction; __post_init__ also holds
        # that nothing stands between them.
        assert new.pairs == one.pairs
    assert (
        manual_order(
            new.line,
            bridges=new.bridges,
            locked=[*new.locked, *new.pairs],
            left_out=new.left_out,
        )
        == new
    )


def test_a_free_move_goes_exactly_there():
    """With nothing locked or tied a move is taking out and putting in."""
    for name, anchor in permutations("abcd", 2):
        rest = "abcd".replace(name, "")
        wished = rest.replace(anchor, name + anchor)
        assert line(move(hand("abcd"), name, anchor)) == wished


# --- what was, and what was undone ----------------------------------------------------


@given(st.lists(st.sampled_from(("turn", "undo", "redo")), max_size=30))
def test_undo_and_redo(acts):
    """History is a list with a cursor: a new turn cuts what lay ahead."""
    history, states, at = History(0), [0], 0
    for k, act in enumerate(acts, start=1):
        if act == "turn":
            history = history.turn(k)
            states, at = [*states[: at + 1], k], at + 1
        elif act == "undo":
            history, at = history.undone(), max(at - 1, 0)
        else:
            history, at = history.redone(), min(at + 1, len(states) - 1)
        assert history.now == states[at]
        assert history.past == tuple(states[:at])
        assert history.future == tuple(states[at + 1 :])
    assert history.turn(history.now) is history
