"""A module imports only from its own floor or a lower one, imports inside functions included."""

import ast
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "mixjt"
FLOORS = {
    "bounds": 0, "compiled": 0, "constants": 0, "errors": 0, "interrupt": 0, "keys": 0, "linked": 0, "records": 0, "units": 0, "whole": 0, "workers": 0,
    "gases": 1, "blend": 1,
    "fluid": 2, "api": 3,
    "parts": 3,
    "circuit": 4,
    "cascade": 5, "studies": 6, "validation": 6,
    "case": 7, "plots": 7, "report": 7,
    "cli": 8, "__main__": 9, "__init__": 9,
}  # fmt: skip


def _floor(parts):
    return FLOORS[parts[0]]


def _imports(source):
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom) and (node.level or node.module.partition(".")[0] == "mixjt"):
            yield from _from(node)
        elif isinstance(node, ast.Import):
            yield from (_parts(name.name) for name in node.names if name.name.partition(".")[0] == "mixjt")


def _from(node):
    """Of "from mixjt import x" it is x that counts; a relative import is told by a dot, which no floor has."""
    if node.level:
        yield ["."]
    elif node.module == "mixjt":
        yield from (_parts(f"mixjt.{name.name}") for name in node.names)
    else:
        yield _parts(node.module)


def _parts(module):
    """Names under mixjt; the package itself is the top floor."""
    return module.split(".")[1:] or ["__init__"]


@pytest.mark.parametrize("path", sorted(ROOT.rglob("*.py")), ids=lambda path: str(path.relative_to(ROOT)))
def test_no_import_climbs(path):
    own = _floor(path.relative_to(ROOT).with_suffix("").parts)
    climbing = [".".join(parts) for parts in _imports(path.read_text(encoding="utf-8")) if _floor(parts) > own]
    assert climbing == []


@pytest.mark.parametrize(
    "line, module",
    [
        ("import mixjt.case.case", ["case", "case"]),
        ("from mixjt.case.case import Case", ["case", "case"]),
        ("from mixjt import files", ["files"]),
        ("from mixjt import api as door", ["api"]),
        ("import mixjt", ["__init__"]),
        ("def late():\n    from mixjt import cli", ["cli"]),
    ],
)
def test_every_form_of_import_is_seen(line, module):
    assert list(_imports(line)) == [module]


def test_relative_imports_are_not_used():
    assert not any(["."] in _imports(path.read_text(encoding="utf-8")) for path in ROOT.rglob("*.py"))


def _shared(names):
    return sorted(name for name, count in Counter(names).items() if count > 1)


def test_no_two_modules_share_a_name():
    assert _shared(path.stem for path in ROOT.rglob("*.py") if path.stem != "__init__") == []


def test_no_two_classes_share_a_name():
    trees = (ast.parse(path.read_text(encoding="utf-8")) for path in ROOT.rglob("*.py"))
    assert _shared(node.name for tree in trees for node in tree.body if isinstance(node, ast.ClassDef)) == []
