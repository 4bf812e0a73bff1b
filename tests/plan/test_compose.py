"""A blanket worked out: the stages together, on the demo."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from kit.blanket import Choices, open_blanket
from kit.blanket.choices import ARRANGEMENTS, LAYOUTS
from kit.blanket.choices_toml import read_settings
from kit.blanket.stash_csv import read_stash
from kit.colour.steps import largest_step, median_step
from kit.errors import KitError
from kit.files import shared_folder
from kit.plan.compose import plan
from kit.plan.plans import plan_blanket
from tests.helpers.plans import demo_below
from tests.helpers.yarns import names

DEMO = shared_folder("data") / "reading-room"
SILVER = Path(__file__).parents[1] / "silver" / "reading_room.json"


@pytest.fixture
def demo(tmp_path):
    return demo_below(tmp_path)


@pytest.mark.parametrize("role", ["bridge", "leave out"])
def test_no_yarn_to_arrange(role):
    """Where no row is to be used, that is said."""
    stash = read_stash(f"name,colours,role\nSage,#9caf88,{role}\n".encode())
    with pytest.raises(KitError) as caught:
        plan(stash, Choices("A"))
    assert str(caught.value) == (
        "stash.csv, role: No yarn to arrange: every row is held back, left out or "
        "carried along."
    )


@pytest.mark.parametrize("by", ARRANGEMENTS)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_rows_of_the_stash_do_not_matter(demo, by, layout):
    """The demo's rows backwards give the same plan; only unnumbered tags differ."""
    words = [f"colours.by={by}", f"colours.layout={layout}"]
    blanket = open_blanket(demo, settings=read_settings(words))
    stash = blanket.stash
    backwards = replace(stash, yarns=stash.yarns[::-1])
    shop = blanket.shop.yarns
    one, two = (
        plan(stash, blanket.choices, shop=shop).design,
        plan(backwards, blanket.choices, shop=shop[::-1]).design,
    )
    assert names(one.laid.yarns) == names(two.laid.yarns)
    assert (one.steps, one.bridges) == (two.steps, two.bridges)
    assert one.suggestions == two.suggestions
    assert one.arrangement == two.arrangement


def test_values_show_themselves_in_one_line(demo):
    """What a cell ends with is told in a line with the numbers that matter."""
    found = plan_blanket(open_blanket(demo))
    assert repr(found) == (
        "Plan('Reading-room throw', Design(42 yarns by family, 1 bridged, largest "
        "step 29.0), colours alone)"
    )
    design = found.design
    for value in (found.choices, design.laid, *design.suggestions, *design.bridges):
        assert len(repr(value)) < 100
    assert repr(design.steps[0]).startswith("Step(5.9: near 6.4, far 5.3; darker")


def demo_numbers(folder) -> dict[str, dict]:
    """What is frozen of the demo: the largest and median step, the bridge, the ends."""
    found = {}
    for by in ARRANGEMENTS:
        for layout in LAYOUTS:
            words = [f"colours.by={by}", f"colours.layout={layout}"]
            blanket = open_blanket(folder, settings=read_settings(words))
            design = plan_blanket(blanket).design
            best = design.arrangement.best
            found[f"{by}, {layout}"] = {
                "order": names(design.before.yarns),
                "bridges": [
                    [bridge.after.name, bridge.yarn.name, bridge.before.name]
                    for bridge in design.bridges
                ],
                "largest_before": round(largest_step(design.steps_before), 4),
                "largest": round(largest_step(design.steps), 4),
                "median": round(median_step(design.steps), 4),
                "best_possible": best and round(best.largest, 4),
            }
    return found


def test_demo_is_as_it_was(demo):
    """The demo's plan does not change unnoticed.

    Our own frozen results: no proof that they are right. Where a change is meant, write
    the file anew with `python -m tests.plan.test_compose` and say why in the changelog.
    """
    frozen = json.loads(SILVER.read_text(encoding="utf-8"))["plans"]
    found = demo_numbers(demo)
    assert set(found) == set(frozen)
    for way, then in frozen.items():
        now = found[way]
        for key in ("order", "bridges"):
            assert now[key] == then[key], way
        for key in ("largest_before", "largest", "median", "best_possible"):
            assert now[key] == pytest.approx(then[key], abs=2e-4), (way, key)


def test_nothing_is_worked_out_before_it_is_asked():
    """A mirrored plan knits the other way of sharing, and looks for bridges, only when
    its sentences and its suggestions are read."""
    made = plan_blanket(open_blanket(DEMO, settings={"colours.layout": "mirrored"}))
    again = plan(made.stash, made.choices, shop=made.design.offered[1])
    assert {"assumed", "suggestions"}.isdisjoint({*vars(again), *vars(again.design)})
    assert again == made
    assert (again.assumed, again.design.suggestions) == (
        made.assumed,
        made.design.suggestions,
    )


def test_demo_shows_what_it_is_for(demo):
    """The demo has a bridge that helps, an accent, an odd one out and a gap to fill."""
    found = plan_blanket(open_blanket(demo))
    design = found.design
    (bridge,) = design.bridges
    assert bridge.largest_after < bridge.largest_before - 3
    assert [one.role for one in design.laid.yarns].count("accent") == 1
    assert sum(step.accent for step in design.steps) == 2
    beside = [{one.after.name, one.before.name} for one in design.suggestions]
    assert any("Deckhand's Whistle" in pair for pair in beside)
    assert any(one.ideal for one in design.suggestions)
    assert "Raffle Prize" not in names(design.laid.yarns)


def test_which_way_of_sharing_suits():
    """A mirrored plan tells of both ways how long and how smooth, and one verdict."""
    told, found = {}, set()
    for way in ("halve", "pair"):
        wished = {"colours.layout": "mirrored", "colours.sharing": way}
        made = plan_blanket(open_blanket(DEMO, settings=wished))
        (said,) = (line for line in made.assumed if "suits this stash" in line)
        told[way] = largest_step(made.fabric_steps), made.fabric
        found.add(said.split('sharing = "')[1].split('"')[0])
        assert f"{told[way][1].length_cm:g} cm with a largest step" in said
        assert f"stripes of {told[way][0]:.1f};" in said
    assert {fabric.short for _, fabric in told.values()} == {None}
    assert found == {min(told, key=lambda way: told[way][0])}


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as place:
        made = demo_below(Path(place))
        note = (
            "Our own frozen results of data/reading-room, colours alone: no proof, "
            "only so that a change is noticed. dE00, four decimals."
        )
        frozen = {"note": note, "plans": demo_numbers(made)}
    text = json.dumps(frozen, ensure_ascii=False, indent=1) + "\n"
    SILVER.write_text(text, encoding="utf-8")
