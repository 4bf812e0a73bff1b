"""Turns taken back and taken again."""

from hypothesis import given
from hypothesis import strategies as st

from kit.arrangement.history import History


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
