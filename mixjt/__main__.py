"""Entry point of the process, as `mixjt` and as `python -m mixjt`."""

import os
import signal
import sys


def run() -> int:
    """Run the command line; Ctrl-C while it is being loaded, or after its end, leaves without a traceback."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _leave)
    from mixjt.cli.app import main

    return main()


def _leave(*_) -> None:
    os.write(2, b"mixjt: interrupted\n")
    os._exit(130)


if __name__ == "__main__":
    sys.exit(run())
