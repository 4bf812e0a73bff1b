"""From gauge to fabric: stitches and rows for a size, and the yarn in a stitch."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from kit.errors import Fault, KitError
from kit.yarn.measures import LengthWords
from kit.yarn.tex import metres

# Munden 1959, plain knit, fully relaxed (which asks for more than laying flat to dry;
# from memory, 4.1 is given for wet-relaxed fabric): with l the yarn in one stitch,
# l x stitches per cm = kw. As worked in the GATE 2015 textile exam, question 54;
# Munden's own article was not read.
KW = 4.2
# Our estimate of how far off Munden's relation may be for a hand-knitted blanket.
ESTIMATE_WITHIN = 0.15

# Our limit: a repeat this many times wider or narrower than the flat gauge makes it is
# taken for a slip (most often the stitches of the repeat were not given).
_REPEAT_STRETCH = 3.0
# Our limit for stitches and rows, beyond any blanket: catches slips of the keyboard.
_MOST = 100_000


@dataclass(frozen=True, slots=True)
class Swatch:
    """A washed swatch: width and length in cm, mass in grams, all above 0.

    Knitted in the blanket's stitch pattern, the long tails cut off before weighing.
    Stands NaN for what is not given; that is refused (KitError), all three at once.
    """

    width_cm: float = math.nan
    length_cm: float = math.nan
    grams: float = math.nan

    def __post_init__(self) -> None:
        advice = "Measure and weigh the swatch, or leave it out."
        _refuse(
            fault
            for name in ("width_cm", "length_cm", "grams")
            for fault in _above_0(f"swatch, {name}", getattr(self, name), advice)
        )


@dataclass(frozen=True, slots=True)
class Gauge:
    """Stitches and rows per 10 cm, and what else is known of the fabric.

    repeat_stitches   whole stitches in one repeat of the pattern
    repeat_width_cm   what one repeat measures, where it does not follow the flat gauge

    Every number is above 0, else KitError.
    """

    stitches_per_10cm: float
    rows_per_10cm: float
    swatch: Swatch | None = None
    repeat_stitches: int = 1
    repeat_width_cm: float | None = None

    def __post_init__(self) -> None:
        count = "Count the {} over 10 cm of the washed swatch."
        counts = {"stitches": self.stitches_per_10cm, "rows": self.rows_per_10cm}
        _refuse(
            fault
            for what, number in counts.items()
            for fault in _above_0(f"{what}_per_10cm", number, count.format(what))
        )
        _refuse(_whole("repeat_stitches", self.repeat_stitches, 1))
        if self.repeat_width_cm is not None:
            advice = "Measure one repeat, or leave it out."
            _refuse(_above_0("repeat_width_cm", self.repeat_width_cm, advice))
            _refuse(_stretch(self.repeat_width_cm, self))

    def __repr__(self) -> str:
        known = ", swatch" if self.swatch else ""
        counts = f"{self.stitches_per_10cm:g} stitches x {self.rows_per_10cm:g} rows"
        return f"Gauge({counts} per 10 cm{known})"


@dataclass(frozen=True, slots=True)
class Section:
    """Rows in one stitch pattern; sections follow each other in turn, over and over.

    rows_per_10cm   None: the gauge's own
    yarn_factor     yarn per stitch, against the swatch or the estimate
    """

    name: str
    rows: int
    rows_per_10cm: float | None = None
    yarn_factor: float = 1.0

    def __post_init__(self) -> None:
        place = f'section "{self.name}"'
        _refuse(_whole(f"{place}, rows", self.rows, 1))
        if self.rows_per_10cm is not None:
            advice = "Count the rows over 10 cm of this section, or leave them out."
            _refuse(_above_0(f"{place}, rows_per_10cm", self.rows_per_10cm, advice))
        advice = "Use 1 where the section takes as much yarn as the swatch."
        _refuse(_above_0(f"{place}, yarn_factor", self.yarn_factor, advice))


# --- width: stitches ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class CastOn:
    """Stitches to cast on, the whole repeats among them, and the width in cm."""

    stitches: int
    repeats: int
    width_cm: float


@dataclass(frozen=True, slots=True)
class CastOns:
    """The cast-on nearest to the wished width; one repeat fewer (if any), one more."""

    fewer: CastOn | None
    nearest: CastOn
    more: CastOn


def repeat_width_cm(gauge: Gauge) -> float:
    """Width of one repeat in cm: as measured, else as the flat gauge makes it."""
    if gauge.repeat_width_cm is not None:
        return gauge.repeat_width_cm
    return _flat_cm(gauge.repeat_stitches, gauge)


def cast_on(width_cm: float, gauge: Gauge, *, edge_stitches: int = 0) -> CastOns:
    """Whole repeats and the edge, as near to a width in cm as can be.

    `edge_stitches` counts both edges together; they follow the flat gauge. Half-way
    between two widths the wider one is taken. Raises KitError where not even one
    repeat fits.

    >>> choice = cast_on(120, Gauge(22, 30, repeat_stitches=12), edge_stitches=7)
    >>> choice.nearest.stitches, round(choice.nearest.width_cm, 1)
    (259, 117.7)
    >>> choice.fewer.stitches, choice.more.stitches
    (247, 271)
    """
    _refuse(_above_0("width_cm", width_cm, "Give the blanket a width."))
    _refuse(_whole("edge_stitches", edge_stitches, 0))
    repeat_cm, edge_cm = repeat_width_cm(gauge), _flat_cm(edge_stitches, gauge)
    # One part in a billion, so that a repeat exactly as wide as the blanket fits.
    if repeat_cm + edge_cm > width_cm * (1 + 1e-9):
        raise KitError(_too_wide(width_cm, repeat_cm, edge_cm))
    n = max(1, math.floor((width_cm - edge_cm) / repeat_cm + 0.5))
    fewer, nearest, more = (
        CastOn(k * gauge.repeat_stitches + edge_stitches, k, k * repeat_cm + edge_cm)
        for k in (n - 1, n, n + 1)
    )
    return CastOns(fewer if n > 1 else None, nearest, more)


def _flat_cm(stitches: int, gauge: Gauge) -> float:
    return 10 * stitches / gauge.stitches_per_10cm


# --- length: rows ---------------------------------------------------------------------


def row_heights_cm(
    rows: int, gauge: Gauge, sections: tuple[Section, ...] = ()
) -> np.ndarray:
    """Height of each row in cm from the cast-on edge, shape (rows,).

    >>> sections = Section("moss", 2, 40), Section("plain", 9)
    >>> row_heights_cm(3, Gauge(22, 25), sections).tolist()
    [0.25, 0.25, 0.4]
    """
    return np.resize(_cycle_heights_cm(gauge, sections), rows)


def yarn_factors(rows: int, sections: tuple[Section, ...] = ()) -> np.ndarray:
    """Yarn per stitch of each row against the swatch, shape (rows,)."""
    cycle = np.repeat([s.yarn_factor for s in sections], [s.rows for s in sections])
    return np.resize(cycle, rows) if sections else np.ones(rows)


def rows_for(length_cm: float, gauge: Gauge, sections: tuple[Section, ...] = ()) -> int:
    """Whole rows, at least one, whose heights add up nearest to a length in cm.

    >>> rows_for(150, Gauge(22, 30))
    450
    """
    _refuse(_above_0("length_cm", length_cm, "Give the blanket a length."))
    cycle = _cycle_heights_cm(gauge, sections)
    after = np.concatenate([[0.0], np.cumsum(cycle)])
    cycles, rest_cm = divmod(length_cm, after[-1])
    nearest = int(np.argmin(np.abs(after - rest_cm)))
    return max(1, int(cycles) * len(cycle) + nearest)


def _cycle_heights_cm(gauge: Gauge, sections: tuple[Section, ...]) -> np.ndarray:
    if not sections:
        return np.array([10 / gauge.rows_per_10cm])
    heights_cm = [10 / (s.rows_per_10cm or gauge.rows_per_10cm) for s in sections]
    return np.repeat(heights_cm, [s.rows for s in sections])


# --- yarn in a stitch -----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class StitchYarn:
    """Metres of the held strands (of each of them) in one stitch.

    `estimated`: from the gauge by Munden's relation, within about 15 %, plain knit
    only (`ESTIMATE_WITHIN`); otherwise from the weighed swatch.
    """

    length_m: float
    estimated: bool


def stitch_yarn(gauge: Gauge, swatch_tex: float) -> StitchYarn:
    """Yarn in one stitch: from the weighed swatch, else estimated from the gauge.

    `swatch_tex` (g/km) is that of the strands the swatch was knitted with, together.
    On the same needles other strands make stitches of about the same length. Without
    a swatch `swatch_tex` plays no part and the flat gauge alone decides.

    >>> gauge = Gauge(20, 26, Swatch(10, 10, grams=5.2))
    >>> stitch_yarn(gauge, 500)
    StitchYarn(length_m=0.02, estimated=False)
    """
    if gauge.swatch is None:
        return StitchYarn(plain_stitch_m(gauge.stitches_per_10cm), estimated=True)
    swatch_m = metres(gauge.swatch.grams, swatch_tex)
    return StitchYarn(swatch_m / _stitches_in(gauge.swatch, gauge), estimated=False)


def _stitches_in(swatch: Swatch, gauge: Gauge) -> float:
    """Stitches in a swatch's area (not whole), repeats as wide as they measure."""
    across = swatch.width_cm * gauge.repeat_stitches / repeat_width_cm(gauge)
    return across * swatch.length_cm * gauge.rows_per_10cm / 10


def plain_stitch_m(stitches_per_10cm: float) -> float:
    """Yarn in one plain-knit stitch in metres, estimated: l = kw / (stitches per cm).

    So a row takes kw = 4.2 times its width. Munden 1959, fully relaxed; fair within
    about 15 % (our estimate), not for garter or eyelets. Peirce's geometry (1947)
    gives 16-19 % less for blankets at hand-knit gauges: this errs towards more yarn.

    >>> round(plain_stitch_m(22), 5)
    0.01909
    """
    return KW / (stitches_per_10cm / 10) / 100


def fabric_m(
    stitch_m: float, stitches: int, rows: int, sections: tuple[Section, ...] = ()
) -> float:
    """Metres of each held strand in `stitches` x `rows`, sections' yarn factors in."""
    return stitch_m * stitches * float(yarn_factors(rows, sections).sum())


# --- checks ---------------------------------------------------------------------------


def _refuse(faults: Iterable[Fault]) -> None:
    faults = tuple(faults)
    if faults:
        raise KitError(faults)


def _above_0(place: str, number: float, advice: str) -> list[Fault]:
    if math.isfinite(number) and number > 0:
        return []
    found = "nothing" if math.isnan(number) else f"{number:g}"
    return [Fault("range", found, "more than 0", column=place, advice=advice)]


def _whole(place: str, number: float, least: int) -> list[Fault]:
    if least <= number <= _MOST and number == int(number):
        return []
    expected = f"a whole number from {least} to {_MOST}"
    return [Fault("range", f"{number:g}", expected, column=place)]


def _stretch(width_cm: float, gauge: Gauge) -> list[Fault]:
    flat_cm = _flat_cm(gauge.repeat_stitches, gauge)
    if 1 / _REPEAT_STRETCH <= width_cm / flat_cm <= _REPEAT_STRETCH:
        return []
    said = f"{{}} with repeat_stitches = {gauge.repeat_stitches}"
    found = LengthWords(said, (width_cm,))
    expected = LengthWords("about {}, as at the flat gauge", (_about(flat_cm),))
    advice = "Set repeat_stitches to the stitches of the repeat you measured."
    place = "repeat_width_cm"
    return [Fault("repeat_width", found, expected, column=place, advice=advice)]


def _about(cm: float) -> float:
    """As finely as a length that was worked out is told."""
    return float(f"{cm:.3g}")


def _too_wide(width_cm: float, repeat_cm: float, edge_cm: float) -> Fault:
    found = "{} for a repeat of {}" + " and edges of {}" * (edge_cm > 0)
    edges = (_about(edge_cm),) * (edge_cm > 0)
    return Fault(
        "repeat_too_wide",
        LengthWords(found, (width_cm, _about(repeat_cm), *edges)),
        LengthWords("at least {}", (_about(repeat_cm + edge_cm),)),
        column="width_cm",
        advice="Make the blanket wider, or choose a smaller repeat or edge.",
    )
