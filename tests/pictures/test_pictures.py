"""Pictures of a plan: what stands on them, and that they come out the same."""

import re
import struct
from dataclasses import replace
from functools import lru_cache
from io import BytesIO
from itertools import combinations
from pathlib import Path

import colour
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.image import AxesImage
from PIL import Image

from kit.blanket import Choices, choose, open_blanket
from kit.blanket.choices import Arranging, Bridging, Kept, Laying
from kit.blanket.stash import read_stash
from kit.pictures.paper import blank, picture
from kit.pictures.pictures import (
    bridge_picture,
    plan_pictures,
    png,
    run_picture,
    step_picture,
    value_picture,
)
from kit.pictures.swatches import PAPER
from kit.plan import Plan, plan, plan_blanket

DEMO = Path(__file__).parents[2] / "data" / "reading-room"
ALWAYS = (run_picture, step_picture, value_picture)
NASTY = (
    "צמר כחול",
    "صوف أزرق",
    "🧶 Rainbow",
    "👩‍🌾 Farm",
    "毛糸",
    "ไหมพรม",
    "$x^2$ for $5",
    "_a_{b} \\alpha",
    "<b>&amp;",
    "Donaudampfschifffahrtsgesellschaftskapitän",
    "x" * 3000,
    "e\u0301tude",
)


@lru_cache
def demo(by="family", layout="light-to-dark") -> Plan:
    return plan_blanket(choose(open_blanket(DEMO), by=by, layout=layout))


@lru_cache
def made(names=("Pale", "Deep"), *, by="value", layout="light-to-dark", times=1):
    """A plan of solids with these names and colours spread over the whole gamut."""
    rows = [
        f'"{name}",#{(k * 7654321 + 0x9CAF88) % 0xFFFFFF:06x},50'
        for k, name in enumerate(names)
    ]
    stash = read_stash("\n".join(["name,colours,grams", *rows]).encode())
    return plan(stash, chosen(by, layout, times))


def chosen(by, layout="light-to-dark", times=1) -> Choices:
    return Choices(
        "毛糸 🧶 $5", arranging=Arranging(by=by), laying=Laying(layout, times)
    )


def bridged(layout="light-to-dark") -> Plan:
    """Mid put by hand between Pale and Deep."""
    stash = read_stash(
        b"name,colours,grams,role\nPale,#eeeeee,50,use\nMid,#888888,50,bridge\n"
        b"Deep,#222222,50,use\n"
    )
    kept = Bridging(bridges_kept=(Kept("Mid", "Pale", "Deep"),))
    return plan(stash, replace(chosen("value", layout), bridging=kept))


def generated(n) -> tuple[str, ...]:
    words = ["Harbour", "Lantern", "Moss", "Quiet", "Kettle", "Ochre", "Window", "Salt"]
    return tuple(
        " ".join(words[(k * j) % len(words)] for j in range(1, 2 + k % 5)) + f" {k}"
        for k in range(n)
    )


def texts(figure) -> list[str]:
    return [text.get_text() for text in figure.axes[0].texts]


def gids(figure) -> list[str]:
    return [one.get_gid() for one in figure.axes[0].get_children() if one.get_gid()]


def extents(figure) -> list:
    renderer = FigureCanvasAgg(figure).get_renderer()
    return [text.get_window_extent(renderer) for text in figure.axes[0].texts]


def pixels(figure) -> np.ndarray:
    return np.asarray(Image.open(BytesIO(png(figure))).convert("RGB"))


# --- every picture --------------------------------------------------------------------


def test_plan_pictures_names_them_by_file():
    """A plan with a bridge has four PNG files, one without has three."""
    signature = b"\x89PNG\r\n\x1a\n"
    with_bridge, without = plan_pictures(bridged()), plan_pictures(made())
    assert list(with_bridge) == ["run.png", "steps.png", "value.png", "bridges.png"]
    assert list(without) == ["run.png", "steps.png", "value.png"]
    assert all(data.startswith(signature) for data in with_bridge.values())


def test_same_plan_same_bytes():
    """Drawing twice gives the same bytes, and so does saving one figure twice."""
    data = (DEMO / "stash.csv").read_bytes().splitlines(keepends=True)
    few = read_stash(b"".join(data[:11]))  # tonal, fluffy, variegated, speckled
    one, two = (plan(few, chosen("family")) for _ in range(2))
    assert plan_pictures(one) == plan_pictures(two)
    figure = run_picture(one)
    assert png(figure) == png(figure)


def test_png_holds_no_date_and_no_maker():
    """Only the header, the size in metres, the dots and the end."""
    data, chunks, at = png(step_picture(made())), set(), 8
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        chunks.add(kind)
        at += 12 + length
    assert chunks == {b"IHDR", b"pHYs", b"IDAT", b"IEND"}


def test_dpi_sets_the_width():
    """The sheet is 10 inches wide whatever its resolution, which stays as it was."""
    figure = value_picture(made())
    sizes = [Image.open(BytesIO(png(figure, dpi=d))).width for d in (96, 150)]
    assert (sizes, figure.dpi) == ([960, 1500], 96)


def test_pictures_keep_out_of_pyplot():
    """No figure is left with pyplot, so none has to be closed."""
    from matplotlib import pyplot

    run_picture(made())
    assert pyplot.get_fignums() == []


def test_a_figure_shows_itself_in_a_notebook():
    """As PNG, twice as fine as the 960 px it is shown at."""
    data, shown = run_picture(made())._repr_png_()
    assert (Image.open(BytesIO(data)).width, shown) == (1920, {"width": 960})


def test_settings_of_matplotlib_do_not_matter():
    """Someone's own style leaves the pictures as they are."""
    import matplotlib

    style = {
        "axes.facecolor": "#222222",
        "figure.autolayout": True,
        "figure.dpi": 50,
        "figure.facecolor": "#000000",
        "font.family": "serif",
        "image.interpolation": "bicubic",
        "image.origin": "lower",
        "lines.linewidth": 5,
        "lines.marker": "x",
        "savefig.bbox": "tight",
        "text.color": "#ff0000",
        "text.usetex": True,
    }
    usual = plan_pictures(bridged())
    with matplotlib.rc_context(style):
        assert plan_pictures(bridged()) == usual


@pytest.mark.parametrize("draw", ALWAYS)
@pytest.mark.parametrize(
    "one",
    [
        lambda: made(("Alone",)),
        made,
        lambda: made(NASTY),
        lambda: made(NASTY, by="family"),
        lambda: made(NASTY, layout="mirrored"),
        lambda: made(NASTY, times=2),
        lambda: made(generated(200)),
        lambda: demo("value", "mirrored"),
    ],
    ids=["one", "two", "nasty", "families", "mirrored", "twice", "200", "demo"],
)
def test_any_plan_can_be_drawn(draw, one):
    """One yarn or 200, any name: no error, no warning, no line off the sheet."""
    figure = draw(one())
    png(figure, dpi=48)
    width, height = figure.bbox.size
    for box in extents(figure):
        assert box.x0 >= 0 and box.x1 <= width and box.y0 >= 0 and box.y1 <= height


@pytest.mark.parametrize("draw", (*ALWAYS, bridge_picture))
def test_words_can_be_read_on_the_paper(draw):
    """Contrast of every word is at least 4.5 to 1.

    WCAG 2.2, success criterion 1.4.3 and "relative luminance".
    """
    figure = draw(demo())
    paper = luminance(PAPER)
    assert all(
        (paper + 0.05) / (luminance(text.get_color()) + 0.05) >= 4.5
        for text in figure.axes[0].texts
    )


def luminance(hexed: str) -> float:
    srgb1 = [int(hexed[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in srgb1
    ]
    return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))


def test_names_are_not_formulas():
    """Dollars stand as they were typed, and what no font can draw is boxed."""
    said = texts(run_picture(made(NASTY)))
    assert "$x^2$ for" in said and "□ Rainbow" in said
    assert "毛糸" not in "".join(said)


# --- the run --------------------------------------------------------------------------


@pytest.mark.parametrize("n", [2, 11, 45])
def test_every_yarn_has_its_tag_name_and_step(n):
    """Tag numbers in the order of the blanket, and a number for every step."""
    one = made(generated(n))
    figure = run_picture(one)
    bold = [t for t in figure.axes[0].texts if t.get_fontweight() == "bold"]
    jumps = sum(step.jump for step in one.design.steps)
    assert len([t for t in bold if t.get_text().isdigit()]) == n + jumps
    assert gids(figure).count("hole") == n
    boxes = extents(figure)
    assert not any(a.overlaps(b) for a, b in combinations(boxes, 2))


def test_a_very_long_run_keeps_its_tags():
    """Over 240 places names are left out, tag numbers and steps are not."""
    one = made(generated(125), layout="mirrored")
    assert len(one.design.laid.yarns) > 240
    figure = run_picture(one)
    said = [text for text in texts(figure) if text.isdigit()]
    assert len(said) == len(one.design.laid.yarns) + len(one.design.steps)
    boxes = extents(figure)
    assert not any(a.overlaps(b) for a, b in combinations(boxes, 2))


def test_marks_say_what_colour_does_not():
    """Jumps, accents and bridges each have their own shape, in the key as well."""
    one, marks = demo(), gids(run_picture(demo()))
    jumps = sum(step.jump and step.counts for step in one.design.steps)
    accents = sum(step.accent for step in one.design.steps)
    assert (jumps > 0, accents) == (True, 2)
    assert marks.count("jump") == jumps + 1
    assert marks.count("accent") == accents + 1
    assert marks.count("bridge") == len(one.design.bridges) + 1
    assert "bridge" in texts(run_picture(one))


def test_the_middle_of_a_mirrored_run_is_marked():
    """The darkest carries a mark, and a word in the run; the key says what it means."""
    one = made(generated(9), layout="mirrored")
    for draw in (run_picture, step_picture):
        assert gids(draw(one)).count("middle") == 1 + 1
        assert "the middle: from there the colours go back" in texts(draw(one))
    assert "middle" in texts(run_picture(one))
    assert "middle" not in gids(run_picture(demo()))


def test_joins_are_marked():
    """Where the run starts anew there is a mark, and one in the key."""
    for draw in (run_picture, step_picture):
        assert gids(draw(made(generated(6), times=3))).count("join") == 2 + 1


def test_colours_and_greys_come_out_as_they_are():
    """In the PNG a solid has exactly its own colour, and below it the grey of its L*.

    L* by colour-science, which knows nothing of our own formulas.
    """
    image = pixels(run_picture(made(("Sage",))))
    own = (image == (0x9C, 0xAF, 0x88)).all(axis=-1)
    assert own.sum() > 20_000
    columns = np.nonzero(own.any(axis=0))[0]
    below = image[np.nonzero(own)[0].max() + 30, columns[len(columns) // 2]]
    lab = colour.XYZ_to_Lab(colour.sRGB_to_XYZ(below / 255))
    sage = colour.XYZ_to_Lab(colour.sRGB_to_XYZ(np.array([0x9C, 0xAF, 0x88]) / 255))
    # 8 bits: half a grey level is under 0.25 L* there; a* b* of sRGB's own white.
    assert abs(lab[0] - sage[0]) < 0.25
    assert np.abs(lab[1:]).max() < 0.01


def test_swatches_lie_on_neutral_grey():
    """The surround is #777777, next to a white line and a black one."""
    image = pixels(run_picture(made()))
    for level in (0x77, 0xFF, 0x00):
        assert (image == level).all(axis=-1).sum() > 500


@pytest.mark.parametrize("place", [(18, 30), (18.5, 30.5), (18.2, 30.3)])
def test_a_picture_is_copied_dot_by_dot(place, monkeypatch):
    """At two dots a px, wherever it lies; at other sizes matplotlib's own does it."""
    dots = np.random.default_rng(3).integers(0, 256, (40, 70, 3)).astype(np.uint8)

    def drawn(dpi):
        sheet = blank(90)
        picture(sheet, dots, *place)
        image = Image.open(BytesIO(png(sheet.figure, dpi=dpi)))
        return np.asarray(image.convert("RGB"))

    ours, coarse = drawn(192), drawn(72)
    top, left = round(2 * place[1]), round(2 * place[0])
    assert (ours[top : top + 40, left : left + 70] == dots).all()
    assert (ours != 255).any(axis=-1).sum() == (dots != 255).any(axis=-1).sum()
    monkeypatch.setattr("kit.pictures.paper._dot_by_dot", lambda: AxesImage)
    assert (coarse == drawn(72)).all()
    if place == (18, 30):  # on the dots themselves it does the same
        assert (ours == drawn(192)).all()


# --- steps and values -----------------------------------------------------------------


def test_the_largest_steps_are_named_with_their_causes():
    """Five flags, each with both names; their words do not lie over each other."""
    one = demo()
    figure = step_picture(one)
    flags = [text for text in texts(figure) if " → " in text]
    yarns, steps = one.design.laid.yarns, one.design.steps
    counted = [k for k in range(len(steps)) if steps[k].counts]
    worst = sorted(counted, key=lambda k: -steps[k].size)[:5]
    assert set(flags) == {f"{yarns[k].name} → {yarns[k + 1].name}" for k in worst}
    largest = steps[worst[0]]
    assert f"{largest.size:.1f}: {largest.cause}" in texts(figure)
    marked = re.compile(r" → |^\d+\.\d: ")
    words = figure.axes[0].texts
    boxes = [
        box
        for box, text in zip(extents(figure), words, strict=True)
        if marked.search(text.get_text())
    ]
    assert not any(a.overlaps(b) for a, b in combinations(boxes, 2))


def test_limit_and_best_possible_are_written_out():
    """The jump limit always; the best possible where the arrangement knows it."""
    assert "25" in texts(step_picture(demo())) and "jump limit" in texts(
        step_picture(demo())
    )
    assert "best possible" not in texts(step_picture(demo()))
    one = made(generated(7), by="smoothest")
    said = texts(step_picture(one))
    assert "best possible" in said
    assert f"{one.design.arrangement.best.largest:.1f}" in said


def test_two_groups_that_set_the_best_possible_are_marked():
    """A bar under each yarn, and in words that no order can do better."""
    rows = [
        *(f"Sand {k},#f{k}e4d0,40" for k in range(3)),
        *(f"Ink {k},#{k}12550,40" for k in range(1, 4)),
    ]
    stash = read_stash("\n".join(["name,colours,grams", *rows]).encode())
    arranging = Arranging(by="smoothest", ends="free")
    one = plan(stash, replace(chosen("smoothest"), arranging=arranging))
    best = one.design.arrangement.best
    assert best.between
    figure = step_picture(one)
    assert gids(figure).count("group") == 6
    assert {"A", "B"} <= set(texts(figure))
    said = f"No order of these yarns has a largest step under {best.largest:.1f}."
    assert said in texts(figure)
    assert "group" not in gids(step_picture(demo()))


@pytest.mark.parametrize("n", [12, 70, 200])
def test_numbers_over_bars_keep_apart(n):
    """However many steps: numbers do not lie over each other, the largest is there."""
    one = made(generated(n))
    figure = step_picture(one)
    placed = zip(extents(figure), figure.axes[0].texts, strict=True)
    over = [(b, t.get_text()) for b, t in placed if t.get_ha() == "center"]
    largest = max(step.size for step in one.design.steps)
    assert f"{largest:.0f}" in [text for _, text in over]
    assert not any(a.overlaps(b) for (a, _), (b, _) in combinations(over, 2))


def test_near_and_far_are_marked_where_they_differ():
    """Two shapes for a speckled or variegated neighbour, none between solids."""
    assert {"near", "far"} <= set(gids(step_picture(demo())))
    solids = step_picture(made())
    marks = [line for line in solids.axes[0].lines if line.get_gid() == "near"]
    assert sum(len(line.get_xdata()) for line in marks) == 0


def test_values_are_drawn_true():
    """The profile runs through each yarn's L*, the ranges from darkest to lightest."""
    one = demo()
    figure = value_picture(one)
    lines = {gid: [] for gid in ("profile", "range")}
    for line in figure.axes[0].lines:
        if line.get_gid() in lines:
            lines[line.get_gid()].append(np.asarray(line.get_ydata(), dtype=float))
    ticks = {t.get_text(): t.get_position()[1] - 4 for t in figure.axes[0].texts}

    def value(y):
        return 100 * (y - ticks["0"]) / (ticks["100"] - ticks["0"])

    (profile,) = lines["profile"]
    means = [colour_value(yarn.mix) for yarn in one.design.laid.yarns]
    assert value(profile[::2]) == pytest.approx(means, abs=0.01)
    several = [y for y in one.design.laid.yarns if len(y.mix.labs) > 1]
    spans = [sorted(lab[0] for lab in yarn.mix.labs) for yarn in several]
    drawn = sorted(value(y).tolist() for y in lines["range"] if len(y) == 2)
    wanted = sorted([span[0], span[-1]] for span in spans)
    assert np.array(drawn) == pytest.approx(np.array(wanted), abs=0.01)


def colour_value(mix) -> float:
    """L* of a mix by colour-science: the shares' mean of Y."""
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    y = np.dot(mix.shares, colour.Lab_to_XYZ(np.array(mix.labs), white)[:, 1])
    return float(colour.lightness(100 * y, method="CIE 1976"))


def test_yarns_out_of_value_order_are_ringed():
    """One ring for each place, and by how many L*."""
    base = made(generated(6), by="smoothest")
    out_of_value_order = (
        (base.design.laid.yarns[2].name, 6.4),
        (base.design.laid.yarns[4].name, 0.2),
    )
    one = replace(
        base, design=replace(base.design, out_of_value_order=out_of_value_order)
    )
    figure = value_picture(one)
    assert gids(figure).count("unruly") == 2 + 1
    assert {"6", "<1"} <= set(texts(figure))
    assert "2 yarns are out of value order, by 6 L* at most." in " ".join(texts(figure))


# --- bridges --------------------------------------------------------------------------


def test_no_bridge_no_picture():
    """Where nothing was put between there is nothing to draw."""
    assert bridge_picture(made()) is None


def test_bridge_picture_tells_both_steps_and_the_largest():
    """The step alone, the two with the bridge, and the run's largest in words."""
    one = demo()
    (bridge,) = one.design.bridges
    said = texts(bridge_picture(one))
    names = [yarn.name for yarn in one.design.laid.yarns]
    at = names.index(bridge.yarn.name)
    two = [f"{step.size:.1f}" for step in one.design.steps[at - 1 : at + 1]]
    assert {f"{bridge.step_before:.1f}", *two} <= set(said)
    words = (
        f"Largest step along the run: {bridge.largest_before:.1f} without, "
        f"{bridge.largest_after:.1f} with it."
    )
    assert any(text.endswith(words) for text in said)


@pytest.mark.parametrize("layout", ["light-to-dark", "dark-to-light"])
def test_bridge_stands_as_it_is_knitted(layout):
    """Left and right of it stand the yarns knitted before and after it."""
    said = texts(bridge_picture(bridged(layout)))
    order = [text for text in said if text in ("Pale", "Mid", "Deep")]
    with_it = (
        ["Pale", "Mid", "Deep"]
        if layout == "light-to-dark"
        else ["Deep", "Mid", "Pale"]
    )
    assert order == [with_it[0], with_it[2], *with_it]
    assert any("put in by hand" in text for text in said)
