"""Where the reference model is weak, and what is said about it."""

from __future__ import annotations

from mixjt.properties.multifluid.mixture import read_pair


def estimated_pairs(gases) -> tuple[tuple[str, str], ...]:
    """Pairs of gases for which no binary parameters are published in the library."""
    return tuple(pair for pair in _pairs(gases) if read_pair(*pair).estimated)


def pairs_without_departure(gases) -> tuple[tuple[str, str], ...]:
    """Pairs whose reducing parameters are fitted but which have no departure function of their own."""
    known = (pair for pair in _pairs(gases) if not read_pair(*pair).estimated)
    return tuple(pair for pair in known if not read_pair(*pair).function)


def notes(gases) -> tuple[str, ...]:
    """One line for each weakness of the model for these gases."""
    lines = []
    estimated, plain = estimated_pairs(gases), pairs_without_departure(gases)
    if estimated:
        lines.append(f"reference model: parameters of {_listed(estimated)} are estimated, not fitted to data")
    if plain:
        lines.append(f"reference model: no departure function for {_listed(plain)}; expect larger errors there")
    return tuple(lines)


def _pairs(gases):
    return [(gases[i], gases[j]) for i in range(len(gases)) for j in range(i + 1, len(gases))]


def _listed(pairs):
    return ", ".join(" + ".join(pair) for pair in pairs)
