"""Every dependency is used, every import is declared, and the table says what each is for."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def _name(requirement: str) -> str:
    return re.split(r"[\s<>=\[;]", requirement, maxsplit=1)[0].lower().replace("_", "-")


def _imports(folder: Path) -> Iterator[str]:
    for path in folder.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                yield from (alias.name.split(".")[0] for alias in node.names)
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                yield node.module.split(".")[0]


def _distributions(modules: set[str]) -> set[str]:
    known = packages_distributions()
    found: set[str] = set()
    for module in modules:
        found |= {d.lower().replace("_", "-") for d in known.get(module, [module])}
    return found


DECLARED = sorted(_name(r) for r in PROJECT["dependencies"])


@pytest.fixture(scope="module")
def imported() -> set[str]:
    foreign = set(_imports(ROOT / "solubility_stats")) - set(sys.stdlib_module_names)
    return _distributions(foreign - {"solubility_stats"})


@pytest.mark.parametrize("package", DECLARED)
def test_a_declared_dependency_is_imported_by_the_package(package, imported):
    assert package in imported, f"{package} is declared and never imported"


def test_what_the_package_imports_is_declared(imported):
    assert imported <= set(DECLARED), f"not declared: {sorted(imported - set(DECLARED))}"


@pytest.mark.parametrize("package", DECLARED)
def test_developers_are_told_what_a_dependency_is_for(package):
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text[text.index("## Why each dependency") :]
    assert re.search(rf"^\|[^|]*\b{re.escape(package)}\b[^|]*\|", table, flags=re.M), package
