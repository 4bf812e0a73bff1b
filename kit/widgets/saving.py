"""Choices of a desk saved in blanket.toml; what cannot be is kept for the next time."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from kit.blanket import Blanket, save_choices
from kit.blanket.keys import full_key
from kit.errors import KitError

SAVED = "Saved in blanket.toml."
NOT_LOST = "Nothing is lost: it stays here and is saved with the next change."


class Saver:
    """`unsaved` has by full key what no file has yet."""

    def __init__(self, unsaved: Mapping[str, Any] | None = None) -> None:
        self.unsaved = dict(unsaved or {})

    def save(
        self, blanket: Blanket, changes: Mapping[str, Any]
    ) -> tuple[Blanket, list[str]]:
        """Save what changed and whatever could not be saved before: the blanket, with
        what the file was given elsewhere meanwhile, and what came of it in words."""
        self.unsaved |= {full_key(key): value for key, value in changes.items()}
        try:
            saved = save_choices(blanket, self.unsaved)
        except KitError as error:
            return blanket, [*str(error).splitlines(), NOT_LOST]
        self.unsaved = {}
        return saved, [SAVED]
