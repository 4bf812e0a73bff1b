"""Yarns carried along: held beside the others for some rows, a section or a family."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from kit.arrangement import family_name
from kit.choices import Carry, Choices
from kit.stash import Yarn
from kit.strands import Yardline
from kit.stripes import Stripe, had_mm

TAIL_MM = 300  # at each join, for weaving in (common practice, no source)


def carry_along(
    stripes: list[Stripe], carried: Sequence[Yarn], choices: Choices, line: Yardline
) -> tuple[list[Stripe], list[str]]:
    """Hold the carried yarns beside the others along their rows, while they last."""
    said = []
    for carry in choices.making.carry:
        yarn = next((yarn for yarn in carried if yarn.name == carry.yarn), None)
        if yarn is None or not stripes:
            continue
        left = max(0, had_mm(yarn) - TAIL_MM)
        done: list[Stripe] = []
        ended = None
        for part, inside in _cut(stripes, carry, choices, line):
            if not inside or ended is not None:
                done.append(part)
                continue
            here = line.mm_at(part.first)
            end = min(part.last, line.stitch_at(here + left))
            left -= line.mm_at(end) - here
            done += _split(part, end, yarn, line)
            if end < part.last:
                ended = end
        stripes = done
        if ended is not None:
            row = ended // line.stitches + 1
            said.append(f'"{yarn.name}", carried along, runs out in row {row}.')
    return stripes, said


def _cut(
    stripes: Sequence[Stripe], carry: Carry, choices: Choices, line: Yardline
) -> list[tuple[Stripe, bool]]:
    """Stripes cut where a carried yarn begins and ends, and whether it is held there."""
    if carry.family:
        return [
            (s, any(family_name(yarn) == carry.family for yarn in s.strands))
            for s in stripes
        ]
    spans = _spans(carry, choices, stripes[-1].last, line.stitches)
    edges = {edge for span in spans for edge in span}
    parts = []
    for stripe in stripes:
        inner = sorted(edge for edge in edges if stripe.first < edge < stripe.last)
        bounds = [stripe.first, *inner, stripe.last]
        for first, last in zip(bounds, bounds[1:], strict=False):
            metres = (line.mm_at(last) - line.mm_at(first)) / 1000
            part = replace(stripe, first=first, last=last, metres_each=metres)
            parts.append((part, any(a <= first < b for a, b in spans)))
    return parts


def _spans(carry: Carry, choices: Choices, end: int, row: int) -> list[tuple[int, int]]:
    """Stitches from-to along which a yarn is carried: rows, or a section's turns."""
    if carry.rows is not None:
        return [((carry.rows[0] - 1) * row, carry.rows[1] * row)]
    if not carry.section:
        return [(0, end)]
    spans, at = [], 0
    while at < end and choices.making.sections:
        for section in choices.making.sections:
            if section.name == carry.section:
                spans.append((at, at + section.rows * row))
            at += section.rows * row
    return spans


def _split(stripe: Stripe, end: int, yarn: Yarn, line: Yardline) -> list[Stripe]:
    """The stripe with a yarn carried up to stitch `end`, and the rest of it without."""
    with_yarn = (*stripe.carried, yarn)
    if end >= stripe.last:
        return [replace(stripe, carried=with_yarn)]
    if end <= stripe.first:
        return [stripe]
    first = (line.mm_at(end) - line.mm_at(stripe.first)) / 1000
    rest = (line.mm_at(stripe.last) - line.mm_at(end)) / 1000
    return [
        replace(stripe, last=end, carried=with_yarn, metres_each=first),
        replace(stripe, first=end, metres_each=rest),
    ]
