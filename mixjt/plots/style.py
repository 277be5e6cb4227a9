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
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.legend import Legend

BLACK = "#000000"
ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILLION = "#D55E00"
PURPLE = "#CC79A7"
GREY = "#8A8A8A"

SMALLEST_FONT = 9.0  # pt
PAGE_WIDTH = 6.7  # inches, the text width of an A4 page

HIGH_SIDE = {"color": VERMILLION, "linestyle": "-", "linewidth": 2.0}
LOW_SIDE = {"color": BLUE, "linestyle": (0, (6, 2)), "linewidth": 2.0}
DIFFERENCE = {"color": BLACK, "linestyle": "-", "linewidth": 1.8}
BUBBLE = {"color": GREEN, "linestyle": (0, (1, 1)), "linewidth": 1.8}
DEW = {"color": PURPLE, "linestyle": (0, (5, 1.5, 1, 1.5)), "linewidth": 1.8}
MARK = {"marker": "o", "markersize": 7, "markerfacecolor": "white", "markeredgecolor": BLACK,
        "markeredgewidth": 1.6, "linestyle": "none"}
LABEL_BOX = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}

# Neighbours differ in lightness as well as in hue, so that stacked bars part in grey print.
BAR_STYLES = tuple(
    {"facecolor": colour, "hatch": hatch, "edgecolor": BLACK, "linewidth": 0.7}
    for colour, hatch in (
        (SKY_BLUE, ""), (YELLOW, "///"), (GREEN, "..."), ("#FFFFFF", "xxx"),
        (ORANGE, "\\\\\\"), (BLUE, "---"), (PURPLE, "|||"), (VERMILLION, "ooo"),
        ("#D9D9D9", "+++"), (SKY_BLUE, "\\\\\\"), (YELLOW, "..."), (GREEN, "xxx"),
        ("#FFFFFF", "///"), (ORANGE, "---"), (BLUE, "|||"), (PURPLE, "ooo"),
    )
)

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
    "savefig.dpi": 200,
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


def add_legend(figure: Figure, handles: Sequence[Artist] | None = None) -> Legend:
    """Put one legend below the axes, where it covers nothing, in as many columns as fit.

    Without handles, all labelled artists of the figure are listed.
    """
    given = {} if handles is None else {"handles": handles}
    for columns in range(5, 0, -1):
        legend = figure.legend(loc="outside lower center", ncols=columns, **given)
        if columns == 1 or legend.get_window_extent().width <= 0.97 * figure.bbox.width:
            return legend
        legend.remove()


def halo() -> list:
    """White outline that keeps text readable where it crosses a line."""
    return [matplotlib.patheffects.withStroke(linewidth=3.0, foreground="white")]
