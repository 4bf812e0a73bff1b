"""Bridges carried across the hardest change between stripes."""

from dataclasses import replace

import pytest

from kit.blanket.choices_toml import read_choices
from kit.blanket.stash_csv import read_stash
from kit.colour.steps import largest_step
from kit.fabric.stripes import stripe_steps, stripe_tex
from kit.plan import plan

CHOICES = """
name = "Two tones"
[gauge]
stitches_per_10cm = 22
rows_per_10cm = 30
[size]
width_cm = 40
length_cm = {length}
[colours]
by = "value"
bridges = {bridges}
"""
# Four pale and four dark balls, and a fine yarn of both, too fine to stand alone.
STASH = (
    "name,colours,grams,metres_per_100g,weight,role\n"
    + "".join(f"Pale {k},#e{k}e0d8,20,400,fingering,\n" for k in range(4))
    + "".join(f"Dark {k},#2{k}2a3c,20,400,fingering,\n" for k in range(4))
    + 'Dusk,"#e1e0d8 35%, #212a3c 65%",{grams},900,lace,bridge\n'
)


def made(*, bridges=1, grams=25, length=60, **kept):
    """A plan of the two tones."""
    stash = read_stash(STASH.format(grams=grams).encode())
    choices = read_choices(CHOICES.format(bridges=bridges, length=length))
    return plan(stash, replace(choices, **kept))


def crossed(*, grams=25, most=1, thicker=0.45):
    """carry_across on fabric knitted without any bridge."""
    from kit.fabric.carried_bridges import carry_across
    from kit.fabric.knitting import make_fabric

    planned = made(bridges=0, grams=grams)
    making = planned.choices.making
    strands = replace(making.strands, thicker=thicker)
    choices = replace(planned.choices, making=replace(making, strands=strands))
    dusk = next(y for y in planned.stash.yarns if y.name == "Dusk")

    def knit(changed, carried):
        return make_fabric(planned.design.laid, carried, changed)

    return planned, carry_across(
        planned.fabric, planned.fabric_steps, [dusk], choices, knit, most=most
    )


def test_judged_on_stripes():
    """The step told is the one the new stripes have; every ball still adds up."""
    planned, after = crossed()
    (bridge,) = after.bridges
    assert bridge.largest_before == largest_step(planned.fabric_steps)
    assert bridge.largest_after == largest_step(after.steps) < bridge.largest_before
    assert bridge.step_after < bridge.step_before
    assert after.steps == stripe_steps(after.fabric.stripes, planned.choices)
    for use in after.fabric.uses:
        assert use.left_mm >= 0
        assert use.kept_mm + use.used_mm + use.left_mm == use.initial_mm
    assert any(use.yarn.name == "Dusk" and use.used_mm for use in after.fabric.uses)
    held = [s for s in after.fabric.stripes if s.carried]
    assert all(stripe_tex(s) <= 725 + 1e-6 for s in held)
    assert [s.last for s in held][:-1] == [s.first for s in held][1:]


@pytest.mark.parametrize(
    "why",
    [{"grams": 0.2}, {"thicker": 0.1}, {"most": 0}],
    ids=["short", "thick", "none"],
)
def test_declined(why):
    """Too little yarn, too thick a fabric or none allowed: nothing is changed."""
    planned, after = crossed(**why)
    assert after.bridges == ()
    assert after.fabric is planned.fabric


def test_a_long_list_is_cut_and_that_is_said(monkeypatch):
    """Of many yarns only the likeliest are tried; a few are all tried, and silently."""
    import kit.fabric.carried_bridges

    planned, after = crossed()
    assert after.sentences == ()
    monkeypatch.setattr(kit.fabric.carried_bridges, "LIKELY", 0)
    _, cut = crossed()
    assert cut.bridges == ()
    likely, was_cut = kit.fabric.carried_bridges._likely(
        planned.stash.yarns[-1:] * 3,
        *planned.fabric.stripes[:2],
        planned.choices,
    )
    assert (likely, was_cut) == ([], True)


def test_the_step_told_is_on_the_new_fabric():
    """What is left is the largest step between stripes from where the yarn comes in
    until it goes."""
    _, after = crossed()
    (bridge,) = after.bridges
    held = [k for k, stripe in enumerate(after.fabric.stripes) if stripe.carried]
    beside = range(max(held[0] - 1, 0), min(held[-1] + 1, len(after.steps)))
    assert bridge.step_after == max(after.steps[k].size for k in beside)
    assert bridge.step_after <= bridge.largest_after
