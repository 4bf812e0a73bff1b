"""Bridges put in order with the others, beside bridges put between."""

import pytest

from kit.arrangement.design import design_colours, measure
from kit.arrangement.layout import lay_out
from kit.arrangement.orders import arrange
from kit.arrangement.reordered import Reordered, reorder, reordered_words
from kit.blanket import Choices
from kit.blanket.choices import Arranging, Bridging, Laying
from kit.colour.steps import largest_step
from tests.helpers.yarns import drawn, held_back, names, yarn


def both_ways(yarns, owned, by="value", bridges=1, **parts):
    choices = Choices(
        "x", arranging=Arranging(by=by), bridging=Bridging(bridges=bridges), **parts
    )
    everything = [*yarns, *owned]
    design = design_colours(everything, [], choices)
    return reorder(design, everything, choices), design, choices


@pytest.mark.parametrize("by", ["value", "family", "smoothest"])
@pytest.mark.parametrize("layout", ["light-to-dark", "mirrored"])
def test_both_numbers_are_measured(by, layout):
    """What is told of either way is what that way has when it is laid out."""
    for seed in range(3):
        yarns, owned = drawn(9, seed), held_back(4, seed + 30)
        both, design, choices = both_ways(
            yarns, owned, by, bridges=2, laying=Laying(layout)
        )
        joined = [*yarns, *both.yarns]
        view = choices.judging.view
        run = arrange(joined, choices.arranging, view=view, quick=True).yarns
        assert names(run) == names(both.order)
        steps = measure(lay_out(run, choices.laying), choices.judging)
        assert both.arranged == pytest.approx(largest_step(steps))
        assert both.put_in <= both.without + 1e-9
        assert 1 <= len(both.yarns) <= 2
        assert set(names(both.yarns)) <= set(names(owned))
        if by != "smoothest":  # whose order is sought for stripes, or less quickly
            assert both.put_in == pytest.approx(largest_step(design.steps))
            assert names(both.between) == [b.yarn.name for b in design.bridges]


def test_each_single_one_is_tried_where_few_are_held_back():
    """With three held back and one allowed, the best of the three is told."""
    for seed in range(5):
        yarns, owned = drawn(8, seed), held_back(3, seed + 60)
        both, _, choices = both_ways(yarns, owned)
        largest = []
        for one in owned:
            run = arrange([*yarns, one], choices.arranging, view=0.5).yarns
            steps = measure(lay_out(run, choices.laying), choices.judging)
            largest.append(largest_step(steps))
        assert both.arranged == pytest.approx(min(largest))


def test_none():
    """By hand, without bridges allowed, or none at hand: nothing to compare."""
    yarns, owned = drawn(5, 1), held_back(2, 1)
    assert both_ways(yarns, [])[0] is None
    assert both_ways(yarns, owned, bridges=0)[0] is None
    order = tuple(names(yarns))
    choices = Choices("x", arranging=Arranging(order=order))
    design = design_colours([*yarns, *owned], [], choices)
    assert reorder(design, [*yarns, *owned], choices) is None
    assert reordered_words(None) == ""


@pytest.mark.parametrize(
    ("put_in", "arranged", "end"),
    [
        (20.0, 15.0, ' 15.0. Give it the role "use" for that.'),
        (15.0, 20.0, " 20.0, which is no better."),
        (20.0, 20.04, " the same."),
    ],
)
def test_words(put_in, arranged, end):
    """Both numbers and the better of the two ways."""
    one = yarn("Mist", 60)
    both = Reordered((one,), (one,), (one,), 30.0, put_in, arranged)
    assert reordered_words(both) == (
        'With "Mist" put between two balls the largest step between balls is '
        f'{put_in:.1f}; with "Mist" put in order among all the others it would be{end}'
    )
    none = Reordered((one,), (one,), (), 30.0, 30.0, 20.0)
    assert reordered_words(none).startswith(
        "No bridge put between two balls lowers the largest step between balls, 30.0; "
    )
