"""Pictures that explain the numbers: what they claim must hold for the yarns shown."""

import re
from itertools import combinations

import pytest

from kit.arrangement.orders import value_of
from kit.blanket import open_blanket
from kit.colour import ciede2000, mean_lab
from kit.colour.difference import far_steps, near_steps
from kit.files import shared_folder
from kit.pictures import lesson
from kit.plan import plan_blanket

ALL = (
    lesson.the_run,
    lesson.same_value,
    lesson.hue_circle,
    lesson.marl,
    lesson.ladder,
    lesson.three_terms,
    lesson.near_and_far,
    lesson.from_afar,
    lesson.best_possible,
    lesson.bridge,
)


@pytest.fixture(scope="module")
def plan():
    """The demo, worked out quickly."""
    return plan_blanket(
        open_blanket(shared_folder("data") / "reading-room"), quick=True
    )


def numbers(words: str) -> list[float]:
    """The numbers with a decimal in a sentence."""
    return [float(number) for number in re.findall(r"-?\d+\.\d+", words)]


@pytest.mark.parametrize("draw", ALL)
def test_every_lesson_is_a_picture_with_words(plan, draw):
    """SVG without script, and at least one sentence, also as its label."""
    shown = draw(plan)
    assert shown._repr_svg_().startswith("<svg") and "<script" not in shown.svg
    assert shown.sentences and repr(shown) == "\n".join(shown.sentences)


def test_same_value_finds_the_most_different_pair(plan):
    """No other two yarns within one L* are further apart."""
    shown = lesson.same_value(plan)
    told = numbers(shown.sentences[1])[0]
    yarns = plan.design.arrangement.yarns
    by_hand = max(
        float(ciede2000(mean_lab(one.mix), mean_lab(two.mix)))
        for one, two in combinations(yarns, 2)
        if abs(value_of(one) - value_of(two)) < lesson.ALIKE
    )
    assert told == pytest.approx(by_hand, abs=0.05)


def test_the_three_terms_make_the_step(plan):
    """The root of the squares told is the largest far step of the run that counts: a
    step kept on purpose is larger here, and is not it."""
    shown = lesson.three_terms(plan)
    assert numbers(shown.sentences[1])[-1] == pytest.approx(
        max(step.far for step in plan.design.steps if step.counts), abs=0.05
    )
    assert any(
        step.far > numbers(shown.sentences[1])[-1] + 1 for step in plan.design.steps
    )


def test_ladder_shows_the_nearest_pairs(plan):
    """Each rung is the pair nearest to its size among the plain yarns."""
    shown = lesson.ladder(plan)
    plain = [yarn for yarn in plan.stash.yarns if len(yarn.mix.labs) == 1]
    one, two = zip(*combinations([yarn.mix for yarn in plain], 2), strict=True)
    steps = far_steps(one, two)
    told = [float(size) for size in re.findall(r">(\d+\.\d)</text>", shown.svg)]
    for size, rung in zip(told, lesson.LADDER, strict=True):
        assert abs(size - rung) <= abs(steps - rung).min() + 0.05


def test_near_and_far_lie_as_told(plan):
    """The two numbers are the earth mover's distance and that of the averages."""
    shown = lesson.near_and_far(plan)
    near, far = numbers(shown.sentences[0])[0], numbers(shown.sentences[1])[0]
    found = [
        pair
        for pair in combinations([yarn.mix for yarn in plan.stash.yarns], 2)
        if abs(far_steps([pair[0]], [pair[1]])[0] - far) < 0.05
        and abs(near_steps([pair[0]], [pair[1]])[0] - near) < 0.05
    ]
    assert found and near > far


def test_the_mean_of_codes_misses(plan):
    """Light added up is lighter than the mean of the codes (the curve is convex)."""
    light, codes = (
        int(re.search(r"L\* (\d+)", words)[1]) for words in lesson.marl(plan).sentences
    )
    assert light > codes


def test_the_bridge_lowers_the_step(plan):
    """The step told with the bridge is the smaller one."""
    before, after = (numbers(words)[-1] for words in lesson.bridge(plan).sentences)
    assert after < before


ODD = {
    "one yarn": "A,#aabbcc,50\n",
    "two yarns far apart": "A,#ffffff,50\nB,#000000,50\n",
    "all the same": "A,#aabbcc,50\nB,#aabbcc,50\nC,#aabbcc,50\n",
    "none of one colour": 'A,"#aabbcc, #332211",50\nB,"#112233, #ddeeff",50\n',
}


@pytest.fixture(params=ODD.values(), ids=list(ODD))
def odd(request, tmp_path):
    """A stash that has little to show."""
    (tmp_path / "stash.csv").write_text(f"name,colours,grams\n{request.param}")
    (tmp_path / "blanket.toml").write_text('name = "Odd"\n')
    return plan_blanket(open_blanket(tmp_path), quick=True)


@pytest.mark.parametrize("draw", ALL)
def test_an_odd_stash_has_its_sentence(odd, draw):
    """Never a traceback, never a yarn beside itself."""
    shown = draw(odd)
    assert shown.sentences
    assert "<title>A beside A</title>" not in shown.svg
    assert "In the hand 0.0" not in shown.sentences[0]
    assert "averages is 0.0" not in " ".join(shown.sentences)


def test_the_root_has_no_signs_in_its_squares(plan):
    """A square of a negative term is written without its sign."""
    root = lesson.three_terms(plan).sentences[1]
    assert re.fullmatch(r"√\((\d+\.\d² \+ ){2}\d+\.\d² [-+] \d+\.\d\) = \d+\.\d", root)
