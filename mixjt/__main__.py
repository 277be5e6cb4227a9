"""Entry point of the process, as `mixjt` and as `python -m mixjt`."""

import contextlib
import gc
import os
import signal
import sys

INTERRUPTED = 130


def run() -> int:
    """Run the command line; Ctrl-C while it is being loaded, or after its end, leaves without a traceback."""
    gc.set_threshold(100_000)  # little of what a command loads is garbage: a tenth of its start goes into looking for it
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _leave)
    from mixjt.cli.app import main

    code = main()
    if code == INTERRUPTED:  # a press amid the loading of a module can make Python die of the signal at its end
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(OSError, ValueError):
                stream.flush()
        os._exit(code)
    return code


def _leave(*_) -> None:
    os.write(2, b"mixjt: interrupted\n")
    os._exit(INTERRUPTED)


if __name__ == "__main__":
    sys.exit(run())
