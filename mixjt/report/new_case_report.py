"""What is said of a new case: what in it is a guess, what to do next, cautions."""

from __future__ import annotations

from collections.abc import Mapping

from mixjt.case.case import Case
from mixjt.case.new_case import NewCase, as_stated
from mixjt.case.rating_case import guess_warnings
from mixjt.gases import gas
from mixjt.report.cautions import machine_cautions
from mixjt.report.circuit_report import TITLE
from mixjt.report.figure import Figure, record_of
from mixjt.report.terminal import print_notes, print_title

FIGURES = (  # of a new case and the case that is read from it
    *TITLE,
    Figure(
        "answers",
        lambda made: dict(made["new"].answers),
        "as given, by the name of the option; `bottle` is a list",
    ),
    Figure(
        "guesses",
        lambda made: as_stated(made["new"].guesses),
        "lines of the file that nobody has told, a list of texts",
    ),
    Figure("warnings", lambda made: guess_warnings(made["case"]), "a list of sentences"),
    Figure(
        "cautions", lambda made: _cautions(made["case"]), "what may hurt the builder, a list of sentences"
    ),
)


def new_case_record(new: NewCase, case: Case) -> dict:
    """For --json."""
    return record_of(FIGURES, {"new": new, "case": case})


def print_new_case(record: Mapping) -> None:
    """The same for people."""
    print_title(f"New case {record['case']}", {"machine": record["title"]} if record["title"] else {})
    print(
        "Each line says what it means and how to find its value; what begins with # may be filled in. Next:"
    )
    print(f"  mixjt search {record['case']}")
    print_notes("Guesses, to be replaced by what you know", record["guesses"])
    print_notes("Warnings", record["warnings"])
    print_notes("Cautions", record["cautions"])


def _cautions(case: Case) -> list[str]:
    """For all that a blend of the bottles may bring."""
    present = [gas(name) for name in case.search.gases]
    burning = [entry.name for entry in present if entry.flammable]
    highest = case.search.pressure_ranges[1, 1]
    return machine_cautions(
        burning, highest, case.circuit.cold_temperature, any(one.name == "oxygen" for one in present)
    )
