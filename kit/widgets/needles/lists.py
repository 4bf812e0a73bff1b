"""Which yarns the lists of the needles desk offer: "number name" with its name."""

from __future__ import annotations

from collections.abc import Iterable

from kit.needles.progress import Ball, BallState
from kit.needles.status import Status

DONE = (BallState.RAN_OUT, BallState.GONE)


def on_the_needle(status: Status) -> list[tuple[str, str]]:
    """Those that may end where another is joined."""
    held = status.now.knitted.held
    return _named(ball for ball in status.now.balls if ball.yarn.name in held)


def to_join(status: Status) -> list[tuple[str, str]]:
    """Those whose join is to come, then all others that are not done."""
    coming = {join.yarn.name for join in status.now.joins}
    first = [ball for ball in _usable(status) if ball.yarn.name in coming]
    return _named([*first, *_usable(status)])


def at_hand(status: Status) -> list[tuple[str, str]]:
    """Those that can be weighed or go missing: on the needle, begun, then the rest of
    the stash."""
    begun = [one for one in _usable(status) if one.state is not BallState.TO_COME]
    mine = {yarn.name for yarn in status.blanket.stash.yarns}
    rest = [ball for ball in status.now.balls if ball.yarn.name in mine]
    return [*dict.fromkeys([*on_the_needle(status), *_named([*begun, *rest])])]


def to_leave_out(status: Status) -> list[tuple[str, str]]:
    """Those that the rest can do without."""
    return _named(_usable(status))


def to_take_in(status: Status) -> list[tuple[str, str]]:
    """Those that the plan does not have."""
    balls = status.now.balls
    return _named(one for one in balls if one.state is BallState.NOT_PLANNED)


def _usable(status: Status) -> list[Ball]:
    return [ball for ball in status.now.balls if ball.state not in DONE]


def _named(balls: Iterable[Ball]) -> list[tuple[str, str]]:
    """Each once."""
    yarns = [ball.yarn for ball in balls]
    return [*dict.fromkeys((f"{yarn.no} {yarn.name}", yarn.name) for yarn in yarns)]
