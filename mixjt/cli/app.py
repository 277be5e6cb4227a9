"""Entry point of the command `mixjt`; nothing heavy is imported until a command needs it."""

from __future__ import annotations

import contextlib
import os
import sys

import typer

from mixjt.cli.cascade import cascade
from mixjt.cli.compare import compare
from mixjt.cli.compressor import compressor
from mixjt.cli.cooldown import cooldown
from mixjt.cli.cycle import cycle
from mixjt.cli.gases import gases
from mixjt.cli.liquefy import liquefy
from mixjt.cli.phases import phases
from mixjt.cli.pinch import pinch
from mixjt.cli.recuperator import recuperator
from mixjt.cli.search import search
from mixjt.cli.sensitivity import sensitivity
from mixjt.cli.throttle import throttle
from mixjt.errors import MixjtError

DONE, REFUSED, INTERRUPTED = 0, 2, 130

HELP = """Design a small mixed-gas throttle refrigerator.

You describe your machine in a case file (TOML) and ask one question per command. Start from one of the
files in mixtures-demo/.

\b
Examples
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
        from importlib.metadata import PackageNotFoundError, version

        try:
            print(f"mixjt {version('mixjt')}")
        except PackageNotFoundError:
            print("mixjt, run from its source directory without being installed")
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
    gases, phases, cycle, pinch, search, throttle, recuperator, cascade, compare,
    liquefy, compressor, cooldown, sensitivity,
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
    _tolerate_narrow_terminals()
    try:
        code = _run(arguments or ["--help"])
        sys.stdout.flush()
    except MixjtError as error:
        return _refuse(str(error))
    except typer.BadParameter.__base__ as error:  # every usage error
        context = getattr(error, "ctx", None)
        return _refuse(
            f"{error.format_message()} (see {context.command_path if context else 'mixjt'} --help)"
        )
    except (KeyboardInterrupt, typer.Abort):
        code = INTERRUPTED
    except BrokenPipeError:  # the reader of our output has gone, as in "mixjt gases | head"
        _drop_output()
        return DONE
    except OSError as error:
        _drop_output()
        return _refuse(f"the system refused: {error.strerror or error}")
    if code == INTERRUPTED:
        print("mixjt: interrupted", file=sys.stderr)
    return code


def _run(arguments: list[str]) -> int:
    code = typer.main.get_command(app)(arguments, prog_name="mixjt", standalone_mode=False)
    return code if isinstance(code, int) else DONE


def _tolerate_narrow_terminals() -> None:
    """Show a question mark where the terminal's encoding lacks a letter, for instance of a title."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def _drop_output() -> None:
    """Let what is still buffered go nowhere, or Python tries to write it again at its exit."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _refuse(text: str) -> int:
    """One line on stderr."""
    print("mixjt:", _visible(" ".join(text.split())), file=sys.stderr)
    return REFUSED


def _visible(text: str) -> str:
    """What would steer the terminal instead of standing on it, written out."""
    return "".join(letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in text)


if __name__ == "__main__":
    sys.exit(main())
