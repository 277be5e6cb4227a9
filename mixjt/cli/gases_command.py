"""The command `mixjt gases`."""

from __future__ import annotations

from typing import Annotated

import typer

from mixjt.cli.options import JsonOutput, OutDirectory
from mixjt.fluid.model_names import DEFAULT


def gases(
    names: Annotated[
        list[str] | None,
        typer.Argument(metavar="GAS", help="Only these gases, with the source of each value."),
    ] = None,
    out: OutDirectory = None,
    json: JsonOutput = False,
    model: Annotated[
        str, typer.Option("--model", metavar="NAME", help="Property model whose pair parameters are shown.")
    ] = DEFAULT,
) -> int:
    """List the gases and how their pairs interact.

    Name some gases to see only these, with the source of every value. A name is English or an R-number.

    \b
    Example
      mixjt gases nitrogen R-290
    """
    from mixjt.cli.deliver import deliver
    from mixjt.report import gases_report as report
    from mixjt.report.output import checked_directory

    checked_directory(out)
    record = report.gas_record(names or (), model)
    return deliver(
        record, lambda: report.print_gases(record, bool(names)), json, out, lambda: report.gas_tables(record)
    )
