"""Figures to files, whole or not at all."""

from __future__ import annotations

import os
import re
from html import escape
from io import StringIO
from pathlib import Path

import matplotlib
from matplotlib.figure import Figure

from mixjt.plots.style import print_style
from mixjt.plots.titles import add_heading

_METADATA = {"png": {}, "svg": {"Date": None}}  # no date: the same figure gives the same bytes


def save_figure(figure: Figure, path_stem: str | os.PathLike, machine: str = "") -> tuple[Path, Path]:
    """Write a figure as PNG (200 dpi) and SVG.

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
    finals = {kind: stem.with_name(f"{stem.name}.{kind}") for kind in _METADATA}
    drafts = {kind: stem.with_name(f".{stem.name}.{os.getpid()}.{kind}") for kind in _METADATA}
    try:
        with print_style():
            if machine:
                add_heading(figure, machine)
            for kind, draft in drafts.items():
                figure.savefig(draft, format=kind, metadata=_METADATA[kind])
                figure.set_layout_engine("none")  # as laid out for the first: that takes as long as drawing
        for kind, draft in drafts.items():
            os.replace(draft, finals[kind])
    finally:
        for draft in drafts.values():
            draft.unlink(missing_ok=True)
    return finals["png"], finals["svg"]


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
        figure.savefig(drawn, format="svg", metadata=dict.fromkeys(("Creator", "Date", "Format", "Type")))
    text = drawn.getvalue()
    _, attributes, inside = re.split(r"<svg\b([^>]*)>", text, maxsplit=1)
    inside = re.sub(r'(\bid="|href="#|url\(#)', rf"\g<1>{name}-", inside)
    attributes = re.sub(r'\s(?:width|height|version)="[^"]*"', "", attributes)
    title = f'<title id="{name}-title">{escape(words)}</title>'
    return f'<svg{attributes} role="img" aria-labelledby="{name}-title">{title}{inside}'
