"""Figures to files, whole or not at all."""

from __future__ import annotations

import os
import re
from html import escape
from io import StringIO
from pathlib import Path

import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from mixjt.plots.style import print_style
from mixjt.plots.titles import add_heading

RESOLUTION = 200  # dots per inch of a PNG


def save_figure(figure: Figure, path_stem: str | os.PathLike, machine: str = "") -> tuple[Path, Path]:
    """Write a figure as PNG and SVG.

    Both are drawn under temporary names first, so that an error or an interruption leaves neither a
    half-written file nor a new one beside an old one.

    Parameters
    ----------
    figure : Figure
        What to save.
    path_stem : path
        Directory and name without ending.
    machine : str
        What the figure is of: a first line of its title, for which it grows.

    Returns
    -------
    tuple of Path
        The PNG and the SVG file.

    Raises
    ------
    OSError
        If the place cannot be written.
    """
    stem = Path(path_stem)
    finals = {kind: stem.with_name(f"{stem.name}.{kind}") for kind in _WRITERS}
    drafts = {kind: stem.with_name(f".{stem.name}.{os.getpid()}.{kind}") for kind in _WRITERS}
    try:
        with print_style():
            if machine:
                add_heading(figure, machine)
            for kind, draft in drafts.items():
                _WRITERS[kind](figure, draft)
                figure.set_layout_engine("none")  # as laid out for the first: that takes as long as drawing
        for kind, draft in drafts.items():
            os.replace(draft, finals[kind])
    finally:
        for draft in drafts.values():
            draft.unlink(missing_ok=True)
    return finals["png"], finals["svg"]


# A figure's savefig would draw everything twice, once for nothing but its layout.
def _write_png(figure: Figure, path: Path) -> None:
    figure.set_dpi(RESOLUTION)
    FigureCanvasAgg(figure).print_png(path)


def _write_svg(figure: Figure, path: Path) -> None:
    FigureCanvasSVG(figure).print_svg(path, metadata={"Date": None})  # the same figure gives the same bytes


_WRITERS = {"png": _write_png, "svg": _write_svg}


def svg_text(figure: Figure, name: str, words: str) -> str:
    """A figure as an SVG element to stand in a page of HTML, as wide as the page lets it.

    Parameters
    ----------
    figure : Figure
    name : str
        Begins all its ids, so that pictures of one page do not share any.
    words : str
        Its text alternative: what can be read off it.
    """
    drawn = StringIO()
    with print_style(), matplotlib.rc_context({"svg.hashsalt": name}):
        FigureCanvasSVG(figure).print_svg(drawn, metadata=dict.fromkeys(("Creator", "Date", "Format", "Type")))
    text = drawn.getvalue()
    _, attributes, inside = re.split(r"<svg\b([^>]*)>", text, maxsplit=1)
    inside = re.sub(r'(\bid="|href="#|url\(#)', rf"\g<1>{name}-", inside)
    attributes = re.sub(r'\s(?:width|height|version)="[^"]*"', "", attributes)
    title = f'<title id="{name}-title">{escape(words)}</title>'
    return f'<svg{attributes} role="img" aria-labelledby="{name}-title">{title}{inside}'
