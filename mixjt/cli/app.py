"""Entry point of the command `mixjt`; nothing heavy is imported until a command needs it."""

from __future__ import annotations

import os
import sys

import typer

from mixjt import interrupt
from mixjt.cli.cascade_command import cascade
from mixjt.cli.charge_command import charge
from mixjt.cli.compare_command import compare
from mixjt.cli.compressor_command import compressor
from mixjt.cli.cooldown_command import cooldown
from mixjt.cli.cycle_command import cycle
from mixjt.cli.gases_command import gases
from mixjt.cli.liquefy_command import liquefy
from mixjt.cli.phases_command import phases
from mixjt.cli.pinch_command import pinch
from mixjt.cli.recuperator_command import recuperator
from mixjt.cli.search_command import search
from mixjt.cli.sensitivity_command import sensitivity
from mixjt.cli.sheet_command import sheet
from mixjt.cli.start_command import start
from mixjt.cli.throttle_command import throttle
from mixjt.cli.trial_command import trial
from mixjt.errors import MixjtError
from mixjt.report.output import program_version
from mixjt.report.terminal import drop_output

DONE, REFUSED = 0, 2

HELP = """Design a small mixed-gas throttle refrigerator.

You describe your machine in a case file (TOML) and ask one question per command. mixjt start writes one from a few
answers; others are in mixtures-demo/.

\b
Examples
  mixjt start NEW.toml
  mixjt gases
  mixjt cycle mixtures-demo/receiver-120K.toml
  mixjt search mixtures-demo/receiver-120K.toml --out run
  mixjt COMMAND --help
"""

app = typer.Typer(
    help=HELP,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)


def _show_version(wanted: bool) -> None:
    if wanted:
        print(program_version())
        raise typer.Exit()


@app.callback()
def _options(
    version: bool = typer.Option(
        False, "--version", callback=_show_version, is_eager=True, help="Show the version."
    ),
) -> None:
    pass


_options.__doc__ = HELP
for command in (
    start, gases, phases, cycle, pinch, search, throttle, recuperator, cascade, compare,
    liquefy, compressor, charge, cooldown, sheet, trial, sensitivity,
):  # fmt: skip
    app.command()(command)


def main(arguments: list[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : list of str, optional
        By default those of the process.

    Returns
    -------
    int
        0 done; 2 bad input or an unreachable request, one line on stderr; 130 interrupted.
    """
    arguments = sys.argv[1:] if arguments is None else arguments
    _provide_streams()
    with interrupt.handled():
        code = _answered(arguments or ["--help"])
        if code == interrupt.EXIT_CODE:
            print("mixjt: interrupted", file=sys.stderr)
        return code


def _answered(arguments: list[str]) -> int:
    """The exit code of a command whose errors are told on stderr."""
    try:
        code = _run(arguments)
        sys.stdout.flush()
        return code
    except MixjtError as error:
        return _refuse(str(error))
    except typer.BadParameter.__base__ as error:  # every usage error
        context = getattr(error, "ctx", None)
        return _refuse(
            f"{error.format_message()} (see {context.command_path if context else 'mixjt'} --help)"
        )
    except (KeyboardInterrupt, interrupt.Interrupted, typer.Abort):
        return interrupt.EXIT_CODE
    except BrokenPipeError:  # as of --help; what a command prints is seen to in deliver.py
        drop_output()
        return DONE
    except OSError as error:
        drop_output()
        return _refuse(f"the system refused: {error.strerror or error}")
    except Exception:
        if interrupt.lost():  # a press while a compiled module loads can come out as another error
            return interrupt.EXIT_CODE
        raise


def _run(arguments: list[str]) -> int:
    code = typer.main.get_command(app)(arguments, prog_name="mixjt", standalone_mode=False)
    return code if isinstance(code, int) else DONE


def _provide_streams() -> None:
    """Stand in for closed streams; show a question mark where the terminal's encoding lacks a letter."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))
        if hasattr(getattr(sys, name), "reconfigure"):
            getattr(sys, name).reconfigure(errors="replace")


def _refuse(text: str) -> int:
    """One line on stderr."""
    print("mixjt:", _visible(" ".join(text.split())), file=sys.stderr)
    return REFUSED


def _visible(text: str) -> str:
    """What would steer the terminal instead of standing on it, written out."""
    return "".join(letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in text)


if __name__ == "__main__":
    sys.exit(main())
