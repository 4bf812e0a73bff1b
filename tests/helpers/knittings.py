"""Whole blankets knitted through the needles desk, by a knitter who alone knows the
truth; what the desk then believes is judged by it.
"""

import copy
import random
from collections import Counter
from dataclasses import dataclass

import kit.needles.status
from kit.blanket import open_blanket
from kit.files import save_all
from kit.report.plan_json import plan_json
from kit.widgets import NeedlesDesk
from tests.helpers.demos import own_demo
from tests.helpers.knitter import Knitter, drawn_truth
from tests.helpers.plans import balls, stash_bytes, toml

LIGHT_TO_DARK = toml(length="60")
MIRRORED = toml('[colours]\nlayout = "mirrored"\n', length="120")


@dataclass
class Judged:
    """How a knitting ended: rows knitted and planned, plans written, the desk."""

    rows: int
    planned: int
    desk: NeedlesDesk


def quick_plans(monkeypatch):
    """Plans are kept as plan.json alone: pages and pictures are not looked at here."""

    def write(plan, folder):
        save_all(folder, {"plan.json": plan_json(plan).encode()})

    monkeypatch.setattr(kit.needles.status, "write_plan", write)


def hall(parent, text=LIGHT_TO_DARK):
    """A dozen balls, 60 cm to knit."""
    folder = parent / "hall"
    folder.mkdir()
    stash = stash_bytes(balls(12, grams=(25, 40, 50)))
    (folder / "stash.csv").write_bytes(stash)
    (folder / "blanket.toml").write_text(text, "utf-8")
    return folder


def mirrored_hall(parent):
    """The same balls in two parts each, 120 cm to knit."""
    return hall(parent, MIRRORED)


def pram_cover(parent):
    """The mirrored demo."""
    return own_demo(parent).parent / "pram-cover"


def knit_through(folder, seed, looks=(0.2, 0.4, 0.6, 0.8), anew=(1, 2)) -> Judged:
    """Knit to a few shares of the rows, log and weigh there, plan anew at some."""
    desk, opened = NeedlesDesk(folder), open_blanket(folder)
    yarns = [yarn for yarn in opened.stash.yarns if yarn.role != "leave out"]
    rng = random.Random(seed)
    truth = drawn_truth(yarns, opened.choices, rng)
    knitter = Knitter(desk.standing.plan, truth, rng, opened.choices)
    for k, share in enumerate(looks):
        look = int(share * desk.standing.now.rows)
        knit_to(look, knitter, desk)
        assert knitter.lasted is None, f"the yarn ended before row {look}"
        weigh(look, knitter, desk)
        check(knitter, desk)
        if k in anew:
            desk.anew.try_it.click()
            desk.anew.keep_it.click()
            assert desk.standing.number == 2 + anew.index(k)
            plan = desk.standing.plan
            knitter = Knitter(plan, truth, rng, opened.choices, look, knitter.left)
            check(knitter, desk)
    last = desk.standing.now.rows
    knit_to(last, knitter, desk)
    rows = last if knitter.lasted is None else int(knitter.lasted)
    press(desk.more.rows.log_it, desk.more.said, desk.more.rows.to_row, str(rows))
    if knitter.lasted is None:
        check(knitter, desk)
    assert min(knitter.left.values()) > -1e-6
    return Judged(rows, last, desk)


def knit_to(row, knitter, desk):
    """Knit on, and log every join as the knitter made it, and every ball that ran out
    with none to follow."""
    joins, ends = len(knitter.joins), set(knitter.ends)
    knitter.knit_to(row)
    for name, joined, ended in knitter.joins[joins:]:
        desk.join.joined.value = name
        desk.join.row.value = str(joined)
        if ended in [value for _, value in desk.join.instead_of.options]:
            desk.join.instead_of.value = ended
        press(desk.join.log_it, desk.join.said)
    for part in set(knitter.ends) - ends:
        if not knitter.next.get(part) and knitter.goes[part][0] == "runs out":
            desk.more.rows.to_row.value = str(int(knitter.ends[part]) + 1)
            press(
                desk.more.gone.ran_out,
                desk.more.said,
                desk.more.gone.yarn,
                part.yarn.name,
            )


def weigh(row, knitter, desk):
    knitter.weather()
    for part in list(knitter.held):
        name = part.yarn.name
        desk.more.rows.to_row.value, desk.more.weigh.yarn.value = str(row), name
        grams = f"{knitter.scale(name):.1f} g"
        press(desk.more.weigh.log_it, desk.more.said, desk.more.weigh.left, grams)


def press(button, said, field=None, text=""):
    if field is not None:
        field.value = text
    button.click()
    words = " ".join(label.value for label in said.children)
    assert words.startswith("Logged:"), words


def check(knitter, desk):
    """The desk holds the knitter's strands, no ball is below zero and those on the
    needle are believed as they are, the forecast lies near the truth."""
    now, truth = desk.standing.now, knitter.truth
    held = Counter(part.yarn.name for part in knitter.held)
    assert Counter(now.knitted.held) == held
    most = max(len(stripe.strands) for stripe in knitter.plan.fabric.stripes)
    assert max(len(stripe.strands) for stripe in now.knitted.stripes) <= most
    for ball in now.balls:
        assert ball.left_mm >= 0
        if (name := ball.yarn.name) in held:
            true_g = knitter.left[name] * truth.grams_per_m[name]
            error = (ball.left_g.high - ball.left_g.low) / 2 / 1.645
            assert abs(ball.left_g.likely - true_g) <= 1 + 5 * error, name
    on = copy.deepcopy(knitter)  # what will come of it, by this plan
    on.knit_to(len(on.row_m) - 1)
    error = now.forecast.lasts.width / 2 / 1.645
    assert abs(now.forecast.lasts.likely - on.lasted) <= 1 + 5 * error
