"""DEVELOPERS.md has a table of layers; every module keeps to its row."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "lapping"
COUNTED_AS_PACKAGES = {"sqlite3"}


@dataclass(frozen=True)
class Row:
    """One row of the table."""

    layer: str
    modules: tuple[str, ...]
    layers: frozenset[str]
    packages: frozenset[str]


@dataclass(frozen=True)
class Import:
    """One import: the module or package, its line, and whether a function holds it."""

    name: str
    line: int
    inside: bool


def read_table(text: str) -> list[Row]:
    """Read the rows of the table whose heading begins with *layer*."""
    table = text.partition("\n| layer |")[2].partition("\n\n")[0]
    rows = []
    for line in table.splitlines()[2:]:
        layer, _, modules, layers, packages = (
            cell.strip() for cell in line.strip().strip("|").split("|")
        )
        rows.append(
            Row(
                layer,
                tuple(re.findall(r"`([^`]+)`", modules)),
                frozenset({layer, *layers.split()}),
                frozenset(re.findall(r"`([^`]+)`", packages)),
            )
        )
    return rows


def module_name(path: Path) -> str:
    """Give a module's name without `lapping.`; a package is named by its folder."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if len(parts) > 1 and parts[-1] == "__init__" else parts)


MODULES = {module_name(path): path for path in sorted(PACKAGE.rglob("*.py"))}
ROWS = read_table((ROOT / "DEVELOPERS.md").read_text("utf-8"))
ROW_OF = {module: row for row in ROWS for module in row.modules}
# A package without a row only holds its modules together.
EMPTY = {m for m, path in MODULES.items() if path.name == "__init__.py"} - set(ROW_OF)


def imports(tree: ast.AST, *, inside: bool = False) -> Iterator[Import]:
    """Give everything that a module imports."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield Import(alias.name, node.lineno, inside)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            for alias in node.names:
                # `from lapping.methods import dial` names a module, not an object.
                deeper = f"{base}.{alias.name}"
                known = deeper.removeprefix("lapping.") in MODULES
                yield Import(deeper if known else base, node.lineno, inside)
        within = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        yield from imports(node, inside=inside or within)


def imports_of(module: str) -> list[Import]:
    """Give what a module of the package imports."""
    return list(imports(ast.parse(MODULES[module].read_text("utf-8"))))


def own(found: list[Import]) -> list[Import]:
    """Keep the imports from the package itself, under their short names."""
    return [
        Import(i.name.removeprefix("lapping."), i.line, i.inside)
        for i in found
        if i.name.startswith("lapping.")
    ]


def troubles(module: str, row: Row, found: list[Import]) -> list[str]:
    """Say which imports the module's row does not allow."""
    said = []
    for one in found:
        top = one.name.partition(".")[0]
        where = f"{module}, line {one.line}: "
        if top == "lapping":
            name = one.name.removeprefix("lapping.")
            other = ROW_OF.get(name)
            if other is not None and other.layer not in row.layers:
                said.append(f"{where}{name} is of layer {other.layer}")
        elif top in COUNTED_AS_PACKAGES or top not in sys.stdlib_module_names:
            if top not in row.packages:
                said.append(f"{where}{top} is not for layer {row.layer}")
            elif top == "scipy" and not one.inside:
                said.append(f"{where}scipy is imported outside a function")
    return said


def test_every_module_has_one_place_in_the_table() -> None:
    listed = [module for row in ROWS for module in row.modules]
    assert len(listed) == len(set(listed))
    missing = set(MODULES) - EMPTY - set(listed)
    assert not missing, f"give these a row in DEVELOPERS.md: {sorted(missing)}"
    gone = set(listed) - set(MODULES)
    assert not gone, f"these are in DEVELOPERS.md and not in lapping/: {sorted(gone)}"


@pytest.mark.parametrize("module", sorted(set(MODULES) & set(ROW_OF)))
def test_a_module_imports_only_what_its_layer_may(module: str) -> None:
    assert troubles(module, ROW_OF[module], imports_of(module)) == []


@pytest.mark.parametrize("module", sorted(EMPTY))
def test_the_packages_themselves_import_nothing(module: str) -> None:
    assert imports_of(module) == []


def test_relative_imports_are_not_used() -> None:
    for module, path in MODULES.items():
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom):
                assert node.level == 0, f"{module}, line {node.lineno}"


def test_lower_layers_stand_above_in_the_table() -> None:
    seen: set[str] = set()
    for row in ROWS:
        seen.add(row.layer)
        assert row.layers <= seen, f"layer {row.layer} loads a layer below its row"


def test_no_modules_import_each_other() -> None:
    left = {module: {i.name for i in own(imports_of(module))} for module in MODULES}
    while left:
        free = {m for m, needs in left.items() if not (needs & set(left)) - {m}}
        assert free, f"these import each other in a ring: {sorted(left)}"
        left = {m: needs for m, needs in left.items() if m not in free}


@pytest.mark.parametrize(
    ("module", "heavy"),
    [
        ("lapping.cli", ("numpy", "scipy", "matplotlib", "cv2")),
        ("lapping.readings_file.reading", ("numpy", "typer")),
        ("lapping.api", ("scipy", "matplotlib", "typer")),
    ],
)
def test_what_starts_fast_loads_nothing_heavy(
    module: str, heavy: tuple[str, ...]
) -> None:
    code = (
        f"import sys, {module}\n"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert ran.stdout == "[]\n"


# The check is itself checked.

ALL = ("0", "1", "2", "3", "4", "7", "8")
SOURCE = """
import math
import numpy as np
from lapping.answer import answer
from lapping.methods import dial
def later():
    import scipy.special
"""


def test_what_a_row_forbids_is_found() -> None:
    row = Row("2", (), frozenset({"0", "1", "2"}), frozenset())
    found = list(imports(ast.parse(SOURCE)))
    assert troubles("planes", row, found) == [
        "planes, line 3: numpy is not for layer 2",
        "planes, line 4: answer is of layer 4",
        "planes, line 5: methods.dial is of layer 3",
        "planes, line 7: scipy is not for layer 2",
    ]
    row = Row("8", (), frozenset(ALL), frozenset({"numpy", "scipy"}))
    assert troubles("api", row, found) == []
    found = list(imports(ast.parse("import scipy\nimport sqlite3")))
    assert troubles("api", row, found) == [
        "api, line 1: scipy is imported outside a function",
        "api, line 2: sqlite3 is not for layer 8",
    ]
