"""Held-out comparison with the reference model: ``python -m mixjt.properties.calibration.report``.

Random blends that no fit has seen, see mixjt.properties.calibration.blends. Given a folder of measured
bubble points (option --measured), both kinds of model are judged against measurement as well.
"""

from __future__ import annotations

import argparse
import json
import os
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

import numpy as np

from mixjt.properties.calibration.blends import (
    GRID,
    HELD_OUT_SEED,
    STEP,
    WARM_END,
    Answer,
    Trial,
    answer,
    random_trials,
)
from mixjt.properties.calibration.pairs import is_unfitted, is_weak, sound_above
from mixjt.properties.calibration.polish import shares
from mixjt.properties.calibration.write import NAME, PLAIN
from mixjt.properties.models import load_model
from mixjt.properties.reference import ReferenceModel

BAND_FILE = Path(__file__).parents[1] / "data" / "held_out.json"
SETS = (PLAIN, "peng-robinson", NAME)
TARGET, SMALL_DIFFERENCE = 0.03, 300.0  # fraction; J/mol, less is no useful refrigerator
SPANS = ("sound, fitted pairs only", "sound", "full")


@dataclass(frozen=True)
class Case:
    """A trial with the reference's answer and where that is sound."""

    trial: Trial
    reference: Answer
    estimated: tuple
    weak: tuple
    sound_above: float  # K

    def cold_end(self, span: str) -> float | None:
        """The cold end [K] to use on a span; None where the trial does not belong to it."""
        if span == "full":
            return self.trial.cold_end
        if self.estimated or (span == SPANS[0] and self.weak):
            return None
        return max(self.trial.cold_end, self.sound_above)


def build_case(trial: Trial) -> Case:
    """Ask the reference model, with estimated pairs where it has no others."""
    pairs = list(combinations(trial.gases, 2))
    limit = max(map(sound_above, pairs))
    reference = answer(ReferenceModel(trial.gases, allow_estimated=True, threads=1), trial)
    return Case(
        trial, reference, tuple(p for p in pairs if is_unfitted(p)), tuple(p for p in pairs if is_weak(p)),
        STEP * np.ceil(limit / STEP),
    )  # fmt: skip


def minima(cases, answers, span):
    """Rows (reference's minimum, ours, both pinch temperatures, case index) of the trials on a span."""
    rows = []
    for k, (case, ours) in enumerate(zip(cases, answers, strict=True)):
        cold = case.cold_end(span)
        if cold is None:
            continue
        (theirs, there), (mine, here) = case.reference.minimum(cold), ours.minimum(cold)
        rows.append((theirs, mine, there, here, k))
    return np.array(rows)


def saturation_misses(cases, answers, span, kind):
    """Deviations [K] of bubble or dew points at both pressures, above the sound limit."""
    misses = []
    for case, ours in zip(cases, answers, strict=True):
        if case.cold_end(span) is None:
            continue
        low = case.sound_above if span != "full" else 0.0
        for theirs, mine in zip(getattr(case.reference, kind), getattr(ours, kind), strict=True):
            if np.isfinite(theirs) and theirs > low:
                misses.append(abs(mine - theirs))
    return np.array(misses)


def reason(case: Case, theirs: float, there: float, here: float) -> str:
    """Why a trial may lie far off, the first that applies."""
    if case.estimated:
        return "reference has no trusted parameters for " + ", ".join("+".join(pair) for pair in case.estimated)
    if min(there, here) < case.sound_above:
        return f"reference unsound below {case.sound_above:g} K"
    if abs(theirs) < SMALL_DIFFERENCE:
        return f"small difference ({theirs:.0f} J/mol) exaggerates relative deviation"
    k = int(np.argmin(np.abs(GRID - there)))
    if case.reference.liquids[:, k].max() > 1:
        return "two liquids at the pinch"
    if there >= WARM_END - 1.0:
        return (
            "warm end: vapour of heavy gases below their critical temperature, too little residual enthalpy"
        )
    if case.weak:
        return "weak pairs " + ", ".join("+".join(pair) for pair in case.weak)
    return "limit of the cubic equation"


def bands(cases, all_answers, seed: int) -> dict:
    """Percentiles of the deviation of useful blends, for mixjt.properties.band."""
    table = {}
    for name, answers in all_answers.items():
        table[name] = {}
        for span in SPANS[1:]:
            rows = minima(cases, answers, span)
            useful = rows[rows[:, 0] >= SMALL_DIFFERENCE]
            miss = np.abs(useful[:, 1] / useful[:, 0] - 1.0)
            median, ninety, worst = (round(float(value), 4) for value in np.percentile(miss, (50, 90, 100)))
            table[name][span] = {"blends": len(useful), "median": median, "ninety": ninety, "worst": worst}
    command = f"python -m mixjt.properties.calibration.report --count {len(cases)} --seed {seed} --write"
    what = "relative deviation of the least enthalpy difference from the reference model"
    return {"source": command, "quantity": what, "useful_from_J_per_mol": SMALL_DIFFERENCE, "sets": table}


def percent(values, shares=(50, 90, 100)) -> str:
    """Percentiles as text."""
    return " / ".join(f"{value:6.2f}" for value in np.percentile(values, shares)) if len(values) else "-"


def lines(cases, all_answers):
    """The report, line by line."""
    from scipy.stats import spearmanr

    for span in SPANS:
        yield f"\n{span}: deviation median / 90 % / worst"
        for name, answers in all_answers.items():
            rows = minima(cases, answers, span)
            useful = rows[rows[:, 0] >= SMALL_DIFFERENCE]
            for label, chosen in (("all", rows), (f"{SMALL_DIFFERENCE:.0f} J/mol and more", useful)):
                miss = 100.0 * np.abs(chosen[:, 1] / chosen[:, 0] - 1.0)
                rank = spearmanr(chosen[:, 0], chosen[:, 1]).statistic
                absolute = percent(np.abs(chosen[:, 1] - chosen[:, 0]))
                yield (
                    f"{name:22s} min dh, %, {label} ({len(chosen)} blends): {percent(miss)}; within 3 %: "
                    + (f"{np.mean(miss <= 100 * TARGET):.0%}; J/mol: {absolute}; rank {rank:.4f}")
                )
            for kind, limit in (("dew", 0.5), ("bubble", 2.0)):
                found = saturation_misses(cases, answers, span, kind)
                lost = int(np.isnan(found).sum())
                inside = np.mean(found <= limit)
                found = found[np.isfinite(found)]
                yield f"{'':22s} {kind} points, K ({found.size}, {lost} without): {percent(found)}; " + (
                    f"within {limit} K: {inside:.0%}"
                )
    yield f"\nblends off by more than {TARGET:.0%} with {NAME}, full span"
    for theirs, mine, there, here, k in minima(cases, all_answers[NAME], "full"):
        if abs(mine / theirs - 1.0) > TARGET:
            case = cases[int(k)]
            values = f"{theirs:.0f} at {there:g} K, {mine:.0f} at {here:g} K"
            why = reason(case, theirs, there, here)
            yield f"{100 * (mine / theirs - 1):6.1f} %: {values}: {why} [{described(case.trial)}]"


def described(trial: Trial) -> str:
    """Blend and pressures as text."""
    blend = ", ".join(f"{name} {share:.2f}" for name, share in zip(trial.gases, shares(trial), strict=True))
    return f"{blend}; {trial.p_low / 1e5:.1f}/{trial.p_high / 1e5:.1f} bar"


def main() -> None:
    """Print the report."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=80)
    parser.add_argument("--seed", type=int, default=HELD_OUT_SEED)
    parser.add_argument("--measured", type=Path, help="folder of measured bubble points")
    parser.add_argument("--write", action="store_true", help="also write the bands that commands print")
    options = parser.parse_args()
    trials = random_trials(options.count, options.seed)
    cases = [build_case(trial) for trial in trials]
    answers = {
        name: [answer(load_model(name, trial.gases, threads=1), trial) for trial in trials] for name in SETS
    }
    for line in lines(cases, answers):
        print(line)
    if options.write:
        scratch = BAND_FILE.with_suffix(".tmp")
        text = json.dumps(bands(cases, answers, options.seed), indent=2)
        scratch.write_text(text + "\n", encoding="utf-8")
        os.replace(scratch, BAND_FILE)
    if options.measured:
        from mixjt.properties.calibration.against_measured import measured_lines

        for line in measured_lines(options.measured):
            print(line, flush=True)


if __name__ == "__main__":
    main()
