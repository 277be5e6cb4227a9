"""One look for all figures: readable in print, in grey and by the colour-blind.

Colours are those of M. Okabe and K. Ito, Color Universal Design (2008), https://jfly.uni-koeln.de/color/
(RGB values from memory). Colour never stands alone: every line also has its own dash or marker, every bar
its own hatch.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import matplotlib.patheffects
import matplotlib.style
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.legend import Legend
from matplotlib.ticker import LogLocator, NullFormatter

from mixjt.studies.band import Band, percent

BLACK = "#000000"
ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILLION = "#D55E00"
PURPLE = "#CC79A7"
GREY = "#8A8A8A"
PLAIN_BAR = "#D9D9D9"  # of bars that are no gas

SMALLEST_FONT = 9.0  # pt
LEAST_SPAN = 0.2  # of the greatest value on an axis that does not start at nought
PAGE_WIDTH = 6.7  # inches, the text width of an A4 page

HIGH_SIDE = {"color": VERMILLION, "linestyle": "-", "linewidth": 2.0}
LOW_SIDE = {"color": BLUE, "linestyle": (0, (6, 2)), "linewidth": 2.0}
POWER = {"color": BLACK, "linestyle": (0, (5, 1.5, 1, 1.5)), "linewidth": 1.6}
DIFFERENCE = {"color": BLACK, "linestyle": "-", "linewidth": 1.8}
BUBBLE = {"color": GREEN, "linestyle": (0, (1, 1)), "linewidth": 1.8}
DEW = {"color": PURPLE, "linestyle": (0, (5, 1.5, 1, 1.5)), "linewidth": 1.8}
MARK = {"marker": "o", "markersize": 7, "markerfacecolor": "white", "markeredgecolor": BLACK,
        "markeredgewidth": 1.6, "linestyle": "none"}
SMALL_MARK = {**MARK, "markersize": 5, "markeredgewidth": 1.2}
LEVEL = {"color": BLACK, "linestyle": (0, (1, 2)), "linewidth": 1.4}  # to compare with: a load, a limit
KNOWN = {"facecolor": PLAIN_BAR, "edgecolor": GREY, "linewidth": 0.6}  # how well a figure is known
WHISKER = {"color": BLACK, "linestyle": "none", "capsize": 4, "elinewidth": 1.2}  # the same, of one point
LABEL_BOX = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}

# A gas looks the same in all pictures. Those often mixed differ in lightness, in the order of their boiling
# points, so that stacked bars part in grey print.
GAS_BARS = {
    gas: {"facecolor": colour, "hatch": hatch, "edgecolor": BLACK, "linewidth": 0.7}
    for gas, colour, hatch in (
        ("neon", PURPLE, "|||"), ("nitrogen", SKY_BLUE, ""), ("argon", "#D9D9D9", "+++"), ("oxygen", VERMILLION, "ooo"),
        ("methane", YELLOW, "///"), ("krypton", "#FFFFFF", "|||"), ("tetrafluoromethane", PURPLE, "ooo"),
        ("ethylene", GREEN, "xxx"), ("ethane", GREEN, "..."), ("trifluoromethane", BLUE, "|||"),
        ("carbon dioxide", ORANGE, "---"), ("propylene", SKY_BLUE, "///"), ("propane", "#FFFFFF", "xxx"),
        ("isobutane", ORANGE, "\\\\\\"), ("n-butane", BLUE, "---"), ("isopentane", YELLOW, "..."),
        ("n-pentane", VERMILLION, "+++"),
    )
}  # fmt: skip

SETTINGS = {
    "font.size": 10.0,
    "axes.labelsize": 10.0,
    "axes.titlesize": 10.0,
    "figure.titlesize": 10.0,
    "xtick.labelsize": SMALLEST_FONT,
    "ytick.labelsize": SMALLEST_FONT,
    "legend.fontsize": SMALLEST_FONT,
    "legend.frameon": False,
    "legend.handlelength": 3.2,
    "legend.handleheight": 1.0,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": "#D0D0D0",
    "grid.linewidth": 0.6,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "hatch.linewidth": 0.6,
    "lines.solid_capstyle": "round",
    "text.parse_math": False,  # a dollar sign in the name of an ingredient is a dollar sign
    "svg.fonttype": "none",  # text stays text: it can be searched, selected and edited
    "svg.hashsalt": "mixjt",  # the same figure gives the same bytes
}


@contextmanager
def print_style() -> Iterator[None]:
    """Apply the look of mixjt to what is built or saved inside; a with block or a decorator.

    It starts from matplotlib's defaults, so that a user's own settings do not leak in, and restores
    them at the end.
    """
    with matplotlib.style.context(["default", SETTINGS]):
        yield


def new_figure(height: float = 4.6, width: float = PAGE_WIDTH) -> Figure:
    """Empty figure on the Agg canvas, laid out without overlaps; height and width in inches."""
    figure = Figure(figsize=(width, height), layout="constrained")
    figure.get_layout_engine().set(w_pad=0.09, h_pad=0.07)
    FigureCanvasAgg(figure)
    return figure


def add_legend(figure: Figure) -> Legend:
    """Put one legend of all labelled artists below the axes, where it covers nothing, in as many columns as fit.

    A label that several panels use is listed once.
    """
    listed: dict = {}
    for axes in figure.axes:
        for handle, label in zip(*axes.get_legend_handles_labels(), strict=True):
            listed.setdefault(label, handle)
    for columns in range(5, 0, -1):
        legend = figure.legend(listed.values(), listed.keys(), loc="outside lower center", ncols=columns)
        if columns == 1 or legend.get_window_extent().width <= 0.97 * figure.bbox.width:
            return legend
        legend.remove()


def logarithmic(axes: Axes, letter: str) -> None:
    """Make the axis x or y logarithmic, with ticks at 1, 2 and 5 that are written out."""
    axes.set(**{f"{letter}scale": "log"})
    axis = getattr(axes, f"{letter}axis")
    axis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axis.set_major_formatter(lambda value, _: f"{value:g}")
    axis.set_minor_formatter(NullFormatter())


def fit_height(axes: Axes, values: Sequence[float]) -> None:
    """Make the y axis show the finite values, and no less than a span of LEAST_SPAN of the greatest.

    So a change of a few per cent does not look like a large one.
    """
    low, high = np.nanmin(values), np.nanmax(values)
    room = max(0.08 * (high - low), 0.5 * (LEAST_SPAN * high - (high - low)))
    axes.set_ylim(low - room, high + room)


def whisker(axes: Axes, place: float, value: float, band: Band | None, label: str = "", **style) -> None:
    """Draw how well the value of a point is known; nothing without a band."""
    if band is not None:
        lengths = whisker_lengths([value], [band])
        axes.errorbar([place], [value], yerr=lengths, **WHISKER | style, label=label or known_text(band))


def whisker_lengths(values: Sequence[float], bands: Sequence[Band | None]) -> list[list[float]]:
    """Lengths of whiskers down, to nought at most, and up; none without a band."""
    fractions = [0.0 if band is None else band.fraction for band in bands]
    up = [fraction * value for fraction, value in zip(fractions, values, strict=True)]
    return [[min(one, value) for one, value in zip(up, values, strict=True)], up]


def known_text(band: Band) -> str:
    """For instance "cooling, known to about 27 %"."""
    return f"{band.of}, known to about {percent(band.fraction)}"


def halo() -> list:
    """White outline that keeps text readable where it crosses a line."""
    return [matplotlib.patheffects.withStroke(linewidth=3.0, foreground="white")]
