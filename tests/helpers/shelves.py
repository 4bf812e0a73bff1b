"""The stash desk without its pictures, which take longer than all else on it."""

from kit.widgets.fabric.view import BLANK


def draw_nothing(monkeypatch):
    """Shelf, greys and lengths stay blank: tests that look elsewhere need not wait."""
    for name in ("shelf_svg", "greys_svg", "lengths_svg"):
        drawing = f"kit.widgets.stash.views.{name}"
        monkeypatch.setattr(drawing, lambda yarns, **_: BLANK)
