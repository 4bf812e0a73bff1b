"""Yarns carried along: held beside the others for some rows, a section or a family."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from kit.arrangement.orders import family_name
from kit.blanket import Choices, Yarn
from kit.blanket.choices import Carry
from kit.fabric.stripes import Stripe, initial_mm
from kit.yarn.stitch_lengths import StitchLengths

TAIL_MM = 300  # at each join, for weaving in (common practice, no source)


def carry_along(
    stripes: list[Stripe],
    carried: Sequence[Yarn],
    choices: Choices,
    lengths: StitchLengths,
) -> tuple[list[Stripe], list[str]]:
    """Hold the carried yarns beside the others along their rows, while they last.

    A yarn that is carried in several places is one ball; it is held once at a time.
    """
    said = []
    left = {yarn.name: max(0, initial_mm(yarn) - TAIL_MM) for yarn in carried}
    for carry in choices.making.carry:
        yarn = next((yarn for yarn in carried if yarn.name == carry.yarn), None)
        if yarn is None or not stripes:
            continue
        stripes, used_mm, ended = _carried(stripes, carry, yarn, left, choices, lengths)
        left[yarn.name] -= used_mm
        if ended is not None:
            row = max(0, ended - 1) // lengths.stitches + 1
            said.append(f'"{yarn.name}", carried along, runs out in row {row}.')
        elif not used_mm and not any(yarn in stripe.carried for stripe in stripes):
            said.append(f'"{yarn.name}" is carried nowhere: no rows here ask for it.')
    return stripes, said


def _carried(
    stripes: Sequence[Stripe],
    carry: Carry,
    yarn: Yarn,
    left: dict[str, int],
    choices: Choices,
    lengths: StitchLengths,
) -> tuple[list[Stripe], int, int | None]:
    """The stripes with one yarn carried, the mm it took, and where it ran out."""
    used_mm, ended = 0, None
    done: list[Stripe] = []
    for part, inside in _cut(stripes, carry, choices, lengths):
        if not inside or ended is not None or yarn in part.carried:
            done.append(part)
            continue
        here = lengths.mm_at(part.first)
        end = min(part.last, lengths.stitch_at(here + left[yarn.name] - used_mm))
        used_mm += lengths.mm_at(end) - here
        done += _split(part, end, yarn, lengths)
        if end < part.last:
            ended = end
    return done, used_mm, ended


def _cut(
    stripes: Sequence[Stripe], carry: Carry, choices: Choices, lengths: StitchLengths
) -> list[tuple[Stripe, bool]]:
    """Stripes cut where a carried yarn comes and goes, and whether it is held there."""
    if carry.family:
        return [
            (s, any(family_name(yarn) == carry.family for yarn in s.strands))
            for s in stripes
        ]
    spans = _spans(carry, choices, stripes[-1].last, lengths.stitches)
    edges = {edge for span in spans for edge in span}
    parts = []
    for stripe in stripes:
        inner = sorted(edge for edge in edges if stripe.first < edge < stripe.last)
        bounds = [stripe.first, *inner, stripe.last]
        for first, last in zip(bounds, bounds[1:], strict=False):
            inside = any(a <= first < b for a, b in spans)
            parts.append((_part(stripe, first, last, lengths), inside))
    return parts


def _part(stripe: Stripe, first: int, last: int, lengths: StitchLengths) -> Stripe:
    """Some stitches of a stripe."""
    metres = lengths.mm_between(first, last) / 1000
    restart = stripe.restart and first == stripe.first
    return replace(stripe, first=first, last=last, metres_each=metres, restart=restart)


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


def _split(
    stripe: Stripe, end: int, yarn: Yarn, lengths: StitchLengths
) -> list[Stripe]:
    """The stripe with a yarn carried up to stitch `end`, and the rest of it without."""
    with_yarn = (*stripe.carried, yarn)
    if end >= stripe.last:
        return [replace(stripe, carried=with_yarn)]
    if end <= stripe.first:
        return [stripe]
    held = replace(_part(stripe, stripe.first, end, lengths), carried=with_yarn)
    return [held, _part(stripe, end, stripe.last, lengths)]
