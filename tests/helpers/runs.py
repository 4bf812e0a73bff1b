"""Solids by lightness and hue, and runs whose steps are as large as wished."""

from math import cos, radians, sin

import colour

from kit.colour.mixes import solid


def greys(*values):
    """Solids without chroma, of these L*."""
    return [solid((value, 0, 0)) for value in values]


def lch(L, chroma, hue):
    """A solid of this lightness, chroma and hue angle in degrees."""
    return solid((L, chroma * cos(radians(hue)), chroma * sin(radians(hue))))


def run_of_sizes(*sizes, start=5.0):
    """Greys whose neighbours are just so far apart in CIEDE2000, getting lighter."""
    values = [start]
    for size in sizes:
        low, high = values[-1], 100.0
        for _ in range(60):
            middle = (low + high) / 2
            ends = [values[-1], 0, 0], [middle, 0, 0]
            short = colour.delta_E(*ends, method="CIE 2000") < size
            low, high = (middle, high) if short else (low, middle)
        assert high < 100, "these sizes do not fit between black and white"
        values.append(low)
    return greys(*values)
