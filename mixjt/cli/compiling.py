"""Tell the user when the property kernels are being compiled, which happens once per installation."""

from __future__ import annotations

from functools import cache

TEXT = "compiling the property kernels; this takes some three minutes, once, and is kept for later runs"


@cache
def announce_compilation() -> None:
    """Say so on stderr when the first kernel is compiled; loading from the cache says nothing."""
    from numba.core import event

    from mixjt.cli.show import say

    class Announcer(event.Listener):
        """Speaks at the first compilation only."""

        spoken = False

        def on_start(self, event):
            if not self.spoken:
                self.spoken = True
                say(TEXT)

        def on_end(self, event):
            pass

    event.register("numba:compile", Announcer())
