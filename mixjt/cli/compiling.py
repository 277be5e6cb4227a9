"""Tell the user when property kernels are being compiled, as a rule once per installation."""

from __future__ import annotations

from functools import cache

COMPILING = "compiling the property kernels; this takes about 30 s, "
KEPT = "once, and is kept for later runs"
NOT_KEPT = (
    "at every run, since neither the directory of mixjt nor your own cache directory can be written: "
    "set NUMBA_CACHE_DIR to one that can"
)


@cache
def announce_compilation() -> None:
    """Say so on stderr when the first kernel is compiled; loading from the cache says nothing."""
    from mixjt.compiled import before_compiling
    from mixjt.report.terminal import say

    before_compiling.append(cache(lambda kept: say(COMPILING + (KEPT if kept else NOT_KEPT))))
