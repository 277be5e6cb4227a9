"""Recuperator of tube: temperatures and films along its length, and the trade of length against pressure drop."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.parts.recuperator.heat_transfer import FILM_BAND
from mixjt.parts.recuperator.tube_rating import CutRating, Rating
from mixjt.plots.style import (
    BLACK,
    BUBBLE,
    DIFFERENCE,
    GREEN,
    HIGH_SIDE,
    KNOWN,
    LEVEL,
    LOW_SIDE,
    SKY_BLUE,
    SMALL_MARK,
    SMALLEST_FONT,
    WHISKER,
    add_legend,
    halo,
    logarithmic,
    new_figure,
    print_style,
)
from mixjt.plots.titles import circuit_text, set_title
from mixjt.studies.recuperator_study import Offer, RecuperatorResult

FILMS = f"films known to about {100 * FILM_BAND:.0f} %"
NORM_MARKS = ({"marker": "o", "color": SKY_BLUE}, {"marker": "s", "color": GREEN})


def plot_temperatures(axes: Axes, rating: Rating | CutRating) -> Axes:
    """Both streams' temperatures against position, the smallest approach marked; the same axes are returned."""
    for one in rating.sections:
        axes.plot(one.position, one.high_temperature, **HIGH_SIDE, label="high-pressure side")
        axes.plot(one.position, one.low_temperature, **LOW_SIDE, label="low-pressure side")
    tightest = min(rating.sections, key=lambda one: one.smallest_approach)
    warm = tightest.pinch_temperature
    axes.plot([tightest.pinch_position] * 2, [warm, warm - tightest.smallest_approach],
              **SMALL_MARK, clip_on=False, label="smallest approach")  # fmt: skip
    for one in rating.sections[1:]:
        axes.axvline(one.position[0], **LEVEL, label="where it is cut")
    axes.set_ylabel("Temperature (K)")
    axes.margins(x=0.02)
    return axes


def plot_films(axes: Axes, rating: Rating | CutRating) -> Axes:
    """Film coefficients of both sides with their band and the overall one on the high side's perimeter; returns the axes."""
    for one in rating.sections:
        middle = 0.5 * (one.position[1:] + one.position[:-1])
        for film, style in ((one.high_film, HIGH_SIDE), (one.low_film, LOW_SIDE)):
            axes.fill_between(middle, (1.0 - FILM_BAND) * film, (1.0 + FILM_BAND) * film, **KNOWN, label=FILMS)
            axes.plot(middle, film, **style)
        overall = one.cell_conductance / one.tubes.high.heated_perimeter
        axes.plot(middle, overall, **DIFFERENCE, label="overall, on the high side's perimeter")
    logarithmic(axes, "y")
    axes.set(ylabel="Heat transfer\n(W/(m² K))")
    return axes


def plot_flux(axes: Axes, rating: Rating | CutRating) -> Axes:
    """Heat flux on the high side's perimeter against position; returns the axes."""
    for one in rating.sections:
        middle = 0.5 * (one.position[1:] + one.position[:-1])
        axes.plot(middle, one.flux / 1e3, **BUBBLE, label="heat flux, on the high side's perimeter")
    axes.set(ylabel="Heat flux\n(kW/m²)", xlabel="Position from the cold end (m)")
    axes.set_ylim(bottom=0.0)
    return axes


@print_style()
def exchanger_figure(result: RecuperatorResult) -> Figure:
    """Titled figure of three panels along the recuperator: temperatures, heat transfer coefficients, heat flux."""
    rating = result.solved.rating
    figure = new_figure(height=7.4)
    upper, middle, lower = figure.subplots(3, 1, sharex=True, height_ratios=(1.8, 1.2, 1.0))
    plot_temperatures(upper, rating)
    plot_films(middle, rating)
    plot_flux(lower, rating)
    add_legend(figure)
    set_title(
        figure,
        f"Recuperator of {rating.length:.3g} m: {result.solved.recuperator_duty:.4g} W, UA {rating.conductance:.3g} W/K",
        rating.tubes.text,
        *circuit_text(result.solved),
    )
    return figure


def plot_length_trade(axes: Axes, result: RecuperatorResult) -> Axes:
    """Smallest approach, with what the band of the films makes of it, and low-side drop of other lengths.

    A second axis carries the drop. The same axes are returned.
    """
    lengths = np.array([point.length for point in result.lengths])
    approach = np.array([point.smallest_approach for point in result.lengths])
    drop = np.array([point.low_drop for point in result.lengths]) / 1e5
    axes.plot(lengths, approach, **DIFFERENCE, marker=".", label="smallest approach (left)")
    axes.set(xlabel="Length of the same tubes (m)", ylabel="Smallest approach (K)")
    axes.set_ylim(bottom=0.0)
    other = axes.twinx()
    other.plot(lengths, drop, **LOW_SIDE, marker=".", label="low-side pressure drop (right)")
    other.set_ylabel("Low-side drop (bar)")
    other.set_ylim(bottom=0.0)
    other.grid(visible=False)
    length, own = result.solved.rating.length, result.solved.pinch.smallest_approach
    axes.axvline(length, **LEVEL, label=f"this one, {length:.3g} m")
    ends = [own if end is None else end.smallest_approach for end in (result.strong, result.weak)]  # None: no cooling
    axes.errorbar([length], [own], yerr=[[own - ends[0]], [ends[1] - own]], **WHISKER, label=f"its approach, {FILMS}")
    return axes


def plot_offers(axes: Axes, result: RecuperatorResult) -> Axes:
    """Length against low-side drop for the tubes one can buy; those that none beats in both carry their diameters.

    The same axes are returned.
    """
    norms = list(dict.fromkeys(offer.norm for offer in result.offers))
    for norm, mark in zip(norms, NORM_MARKS, strict=False):
        chosen = [offer for offer in result.offers if offer.norm == norm]
        axes.plot([offer.length for offer in chosen], [offer.low_drop / 1e5 for offer in chosen], linestyle="none",
                  markeredgecolor=BLACK, label=f"tubes of {norm}", **mark)  # fmt: skip
    for offer in unbeaten(result.offers):
        axes.annotate(f"{1e3 * offer.small.outer_diameter:.3g}/{1e3 * offer.large.outer_diameter:.3g}",
                      (offer.length, offer.low_drop / 1e5), xytext=(-3, -4), textcoords="offset points", ha="right",
                      va="top", fontsize=SMALLEST_FONT, path_effects=halo())  # fmt: skip
    logarithmic(axes, "y")
    axes.set(ylabel="Low-side drop (bar)", xlabel=f"Length for {result.solved.recuperator_conductance:.3g} W/K (m)")
    axes.set_title("Tubes one can buy, small/large outside diameter in mm", loc="left")
    axes.margins(x=0.12, y=0.12)
    return axes


def unbeaten(offers: Sequence[Offer]) -> list[Offer]:
    """The offers for which none other is both shorter and lower in low-side drop, near neighbours left out."""
    picked: list[Offer] = []
    for offer in sorted(offers, key=lambda offer: offer.length):
        if any(other.length < offer.length and other.low_drop < offer.low_drop for other in offers):
            continue
        if not picked or offer.length > 1.1 * picked[-1].length or offer.low_drop < 0.6 * picked[-1].low_drop:
            picked.append(offer)
    return picked


@print_style()
def trade_figure(result: RecuperatorResult) -> Figure:
    """Titled figure: other lengths of the same tubes above, tubes one can buy below."""
    figure = new_figure(height=7.4)
    upper, lower = figure.subplots(2, 1)
    plot_length_trade(upper, result)
    if result.offers:
        plot_offers(lower, result)
    else:
        lower.text(0.5, 0.5, "no tube of the list has this conductance", ha="center", transform=lower.transAxes)
    add_legend(figure)
    solved = result.solved
    set_title(figure, "Recuperator: length against pressure drop", solved.rating.tubes.text, *circuit_text(solved))
    return figure
