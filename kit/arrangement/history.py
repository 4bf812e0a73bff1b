"""What is, what was, and what was undone: for anything that can be taken back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

T = TypeVar("T")
MOST_TURNS = 500  # that can be undone


@dataclass(frozen=True, slots=True)
class History(Generic[T]):
    """What is, what was before it and what was undone; each way in turn."""

    now: T
    past: tuple[T, ...] = ()
    future: tuple[T, ...] = ()

    def turn(self, new: T) -> History[T]:
        """A new state; what was undone is gone. The same state again is no turn."""
        if new == self.now:
            return self
        return History(new, (*self.past, self.now)[-MOST_TURNS:])

    def undone(self) -> History[T]:
        """One turn back, if there is one."""
        if not self.past:
            return self
        return History(self.past[-1], self.past[:-1], (self.now, *self.future))

    def redone(self) -> History[T]:
        """One turn forward again, if there is one."""
        if not self.future:
            return self
        return History(self.future[0], (*self.past, self.now), self.future[1:])
