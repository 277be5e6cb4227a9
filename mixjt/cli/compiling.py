"""Tell the user when property kernels are being compiled, as a rule once per installation."""

from __future__ import annotations

from functools import cache

LARGE = "sweep_blend"  # the entry to the cubic property models: everything else of them is compiled with it
MINUTES = "some two minutes"
HALF_A_MINUTE = "compiling the reference model's kernels; this takes about half a minute, "
KEPT = "once, and is kept for later runs"
NOT_KEPT = (
    "at every run, since neither the directory of mixjt nor your own cache directory can be written: "
    "set NUMBA_CACHE_DIR to one that can"
)


@cache
def announce_compilation() -> None:
    """Say so on stderr when the first kernel is compiled; loading from the cache says nothing."""
    from numba.core import event

    from mixjt.cli.show import say
    from mixjt.properties.flash.compiled import before_compiling

    before_compiling.append(cache(lambda kept: say(HALF_A_MINUTE + (KEPT if kept else NOT_KEPT))))

    class Announcer(event.Listener):
        """Speaks when a kernel is compiled that is not part of another one, once of large and once of small ones."""

        depth, spoken = 0, ""

        def on_start(self, event):
            kernel = event.data["dispatcher"]
            text = compiling_text(kernel.py_func.__name__, kernel.stats.cache_path is not None)
            if self.depth == 0 and MINUTES not in self.spoken and text not in self.spoken:
                self.spoken += text
                say(text)
            self.depth += 1

        def on_end(self, event):
            self.depth -= 1

    event.register("numba:compile", Announcer())


def compiling_text(kernel: str, kept: bool) -> str:
    """What is said when a kernel is compiled; minutes are spoken of only where they are needed."""
    how_often = KEPT if kept else NOT_KEPT
    if kernel == LARGE:
        return f"compiling the property kernels; this takes {MINUTES}, {how_often}"
    return f"compiling a property kernel; this takes some seconds, {how_often}"
