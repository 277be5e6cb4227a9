"""A module imports only from its own floor or a lower one, imports inside functions included."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "mixjt"
FLOORS = {
    "constants": 0, "errors": 0, "interrupt": 0, "units": 0,
    "gases": 1, "blend": 1,
    "properties": 2,
    "components": 3,
    "cycles": 4,
    "studies": 5, "api": 5, "validation": 5,
    "files": 6, "plots": 6,
    "cli": 7, "__main__": 8, "__init__": 8,
}  # fmt: skip


def _floor(parts):
    return FLOORS[parts[0]]


def _imports(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("mixjt."):
            yield node.module.split(".")[1:]
        elif isinstance(node, ast.Import):
            yield from (name.name.split(".")[1:] for name in node.names if name.name.startswith("mixjt."))


@pytest.mark.parametrize("path", sorted(ROOT.rglob("*.py")), ids=lambda path: str(path.relative_to(ROOT)))
def test_no_import_climbs(path):
    own = _floor(path.relative_to(ROOT).with_suffix("").parts)
    climbing = [".".join(parts) for parts in _imports(path) if _floor(parts) > own]
    assert climbing == []
