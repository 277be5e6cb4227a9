"""Titles that name the blend and the pressures, broken into lines that fit the figure."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from matplotlib.figure import Figure
from matplotlib.text import Text

from mixjt.circuit.result import CircuitResult

TITLE_SIZE = 10.0  # pt
_EDGE = 0.02  # of the figure width, left free on both sides
_TIED = "\u00a0"  # a space where no line breaks


def percent_text(fraction: float) -> str:
    """Mole fraction as a percentage without needless digits: 0.36 -> "36", 0.0725 -> "7.2"."""
    percentage = 100.0 * fraction
    return f"{percentage:.2g}" if percentage < 1.0 else f"{percentage:.1f}".removesuffix(".0")


def blend_text(gases: Sequence[str], composition: np.ndarray) -> str:
    """For instance "nitrogen 36, methane 64 (mole %)"; gases left out are not named."""
    parts = [f"{gas} {percent_text(x)}" for gas, x in zip(gases, composition, strict=True) if x > 0.0]
    return ", ".join(parts) + " (mole %)"


def pressure_text(pressure: float) -> str:
    """Pressure in Pa as text, for instance "1.5 bar abs"."""
    return f"{pressure / 1e5:.3g} bar abs"


def pressure_pair(result: CircuitResult) -> str:
    """Both pressures of a circuit, for instance "1.5 to 15 bar abs"."""
    return f"{result.suction_pressure / 1e5:.3g} to {pressure_text(result.discharge_pressure)}"


def circuit_text(result: CircuitResult) -> tuple[str, str]:
    """Two paragraphs of a title: the blend; the pressures, cold end and property model."""
    blend = blend_text(result.gases, result.composition)
    return blend, f"{pressure_pair(result)}, cold end {result.cold_temperature:.4g} K, {result.model} model"


def text_width(figure: Figure, text: str, size: float) -> float:
    """Width in pixels of text in a figure at a font size in points."""
    return Text(text=text, fontsize=size, figure=figure).get_window_extent().width


def set_title(figure: Figure, *paragraphs: str) -> Text:
    """Set the figure's title, a line for each paragraph and more where the figure is too narrow.

    Parameters
    ----------
    figure : Figure
        The title spans its width.
    *paragraphs : str
        Heading first, then what it is about.
    """
    def fits(line: str) -> bool:
        return text_width(figure, line, TITLE_SIZE) <= (1.0 - 2.0 * _EDGE) * figure.bbox.width

    lines = [line for paragraph in paragraphs for line in wrap(paragraph, fits)]
    return figure.suptitle("\n".join(lines), x=_EDGE, ha="left", fontsize=TITLE_SIZE)


def add_heading(figure: Figure, machine: str) -> Text:
    """Set a paragraph before the figure's title; the figure grows by as much."""
    before = figure.get_suptitle()
    height = text_height(figure, before)
    title = set_title(figure, machine, *before.splitlines())
    figure.set_figheight(figure.get_figheight() + text_height(figure, title.get_text()) - height)
    return title


def text_height(figure: Figure, text: str) -> float:
    """Height in inches of text of a title."""
    return Text(text=text, fontsize=TITLE_SIZE, figure=figure).get_window_extent().height / figure.dpi


def wrap(paragraph: str, fits: Callable[[str], bool]) -> list[str]:
    """Break a paragraph into lines that fit, keeping a name and its number together.

    A single word too long for a line gets one to itself.
    """
    words = _tie_numbers(paragraph).split(" ")
    lines = [words[0]]
    for word in words[1:]:
        longer = f"{lines[-1]} {word}"
        if fits(longer):
            lines[-1] = longer
        else:
            lines.append(word)
    return [line.replace(_TIED, " ") for line in lines]


def _tie_numbers(paragraph: str) -> str:
    """Replace the space between a word and the number before or after it by one that does not break."""
    words = paragraph.split()
    text = words[0]
    for before, word in zip(words, words[1:], strict=False):
        ends_item = before.endswith((",", ";"))
        tied = not ends_item and (word[0].isdigit() or before[0].isdigit())
        text += (_TIED if tied else " ") + word
    return text
