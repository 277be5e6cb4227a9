"""Fit the parameter set "calibrated-srk": ``python -m mixjt.properties.calibration.fit FOLDER``.

FOLDER holds the measured bubble points, see mixjt.properties.calibration.measured. Three steps: every gas,
every pair, then all pairs of the common gases together on training blends. The data files are rewritten
after each step; a step starts from what the files hold.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path

from mixjt.gases import gas, gas_names
from mixjt.properties.calibration import pairs as pair_fits
from mixjt.properties.calibration.blends import GASES, TRAINING_SEED, random_trials
from mixjt.properties.calibration.measured import read_measured
from mixjt.properties.calibration.polish import build_example, polish
from mixjt.properties.calibration.pure import fit_pure
from mixjt.properties.calibration.write import NAME, PLAIN, write_gases, write_pairs
from mixjt.properties.models import load_model
from mixjt.properties.parameters import load_parameters, pair

FLUORINATED = ("tetrafluoromethane", "trifluoromethane")
FLUORINATED_ESTIMATE = 0.15
NOT_IN_TABLE = "none in the table"
TRAINING_TRIALS, ROUNDS = 3000, 9  # most of them hold a pair on which the reference is not trusted
WIDTHS = 0.012, 0.02  # how far k0 and k1 of pairs that nobody measured may move on training blends

# Pairs whose k0 and k1 were read off a grid (steps 0.002 and 0.005), because phases that the fit does not look at
# are measured as well: two liquids at 90.69 K (J. Chem. Thermodyn. 34 (2002) 669, authors not verified: 0.123 and 0.958 nitrogen, here
# 0.140 and 0.979), and the eutectic (Engle et al., arXiv:2103.15978: 71.15 K, here 71.1 K).
READ_OFF = {
    ("nitrogen", "ethane"): (0.062, -0.005, "two liquids, J. Chem. Thermodyn. 34 (2002) 669, authors not verified"),
    ("methane", "ethane"): (0.004, -0.004, "eutectic, arXiv:2103.15978"),
}


@dataclass(frozen=True)
class Row:
    """One line of the pair table, its deviations spelt out in the source."""

    gas1: str
    gas2: str
    k0: float
    k1: float
    source: str

    def values(self) -> tuple:
        """The cells of the line."""
        return self.gas1, self.gas2, self.k0, self.k1, self.source


def main() -> None:
    """Run the fit and write the data files."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("measured", type=Path, help="folder of measured bubble points")
    parser.add_argument("--keep-gases", action="store_true", help="fit pairs only")
    options = parser.parse_args()
    if not options.keep_gases:
        write_pairs([plain_row(pair).values() for pair in combinations(gas_names(), 2)])
        write_gases({name: fit_pure(name) for name in gas_names()})
    measured = read_measured(options.measured)
    rows = []
    for both in combinations(gas_names(), 2):
        rows.append(fitted_row(both, measured.get(both)))
        print(*rows[-1].values()[:4], rows[-1].source, flush=True)
    write_pairs([row.values() for row in rows])
    write_pairs([row.values() for row in polished_rows(rows, measured)])


def polished_rows(rows, measured) -> list[Row]:
    """The rows with the pairs of the common gases improved on training blends of the reference model."""
    trials = random_trials(TRAINING_TRIALS, TRAINING_SEED)
    trials = [each for each in trials if not any(map(pair_fits.is_weak, combinations(each.gases, 2)))]
    examples = [each for each in map(build_example, trials) if each is not None]
    present = {both for each in examples for both in combinations(each.trial.gases, 2)}
    widths = {
        both: WIDTHS for both in combinations(GASES, 2) if both in present and both not in measured
    }
    best = polish(NAME, examples, widths, ROUNDS)
    return [_moved(row, best, (row.gas1, row.gas2) in widths, len(examples)) for row in rows]


def _moved(row: Row, best, polished: bool, count: int) -> Row:
    if not polished:
        return row
    i, j = best.gases.index(row.gas1), best.gases.index(row.gas2)
    k0, k1 = round(float(best.k0[i, j]), 5), round(float(best.k1[i, j]), 5)
    text = f"{row.source}; k0 {row.k0:g}, k1 {row.k1:g} before adjustment on {count} training blends"
    return replace(row, k0=k0, k1=k1, source=f"{text} of the reference model")


def fitted_row(both, measured) -> Row:
    """Fit a pair to what there is for it; the plain set's value where there is nothing."""
    reference = pair_fits.reference_isobars(both, load_model("reference", both, threads=1))
    isobars = [data for data in (reference, pair_fits.arbiter_isobars(both)) if data is not None]
    if measured is None and not isobars:
        return plain_row(both)
    prior = pair(PLAIN, *both).k0, 0.0
    parameters = load_parameters(NAME, both)
    if both in READ_OFF:
        k0, k1, besides = READ_OFF[both]
        fit = pair_fits.judged(parameters, isobars, measured, k0, k1)
        text = source_text(fit, measured, reference is not None, False)
        return Row(*both, k0, k1, f"{text}, read off a grid with {besides}")
    fit = pair_fits.fit_pair(parameters, isobars, measured, prior)
    return Row(
        *both,
        fit.k0,
        fit.k1,
        source_text(fit, measured, reference is not None, bool(isobars[int(reference is not None) :])),
    )


def source_text(fit, measured, by_reference: bool, by_arbiter: bool) -> str:
    """What a fitted pair rests on and how well it is met."""
    parts = []
    if measured:
        dois = " and ".join(measured.sources)
        parts.append(
            f"fitted to {dois} (median deviation of bubble pressure {100 * fit.bubble_pressure:.1f} %)"
        )
    if by_reference or by_arbiter:
        model = "the multi-fluid reference model"
        if by_reference and by_arbiter:
            model += " and the Peng-Robinson set together, as they disagree: wider band"
        elif by_arbiter:
            model = "the Peng-Robinson set, as the reference model is not trusted here: wider band"
        parts.append(
            f"{'and' if measured else 'fitted'} to {model} "
            f"(mean deviation of enthalpy {fit.enthalpy:.0f} J/mol)"
        )
    return " ".join(parts)


def plain_row(both) -> Row:
    """The plain set's value, or an estimate for a fluorinated gas with a hydrocarbon."""
    plain = pair(PLAIN, *both)
    one_fluorinated = sum(name in FLUORINATED for name in both) == 1
    other = next((name for name in both if name not in FLUORINATED), both[0])
    if plain.source.startswith(NOT_IN_TABLE) and one_fluorinated and gas(other).flammable:
        text = "estimate: fitted pairs of a fluorinated gas with a hydrocarbon lie at 0.11 to 0.21"
        return Row(*both, FLUORINATED_ESTIMATE, 0.0, text)
    text = f"plain set's value: {plain.source}"
    return Row(*both, plain.k0, plain.k1, text)


if __name__ == "__main__":
    main()
