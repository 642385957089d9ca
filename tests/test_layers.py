"""Which code may use which: read from the source of every file, without importing any."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
LAYERS = ("shared", "rectify", "measure")  # each may use itself and what stands before it
OURS = (*LAYERS, "fixtures", "tests")
LONGEST_FILE = 400  # lines
SKIPPED = {"node_modules", "__pycache__"}

# Libraries that only one part of the program knows, and where that part is.
HOMES = {
    "fastapi": ("measure/workbench/",),
    "starlette": ("measure/workbench/",),
    "uvicorn": ("measure/workbench/",),
    "typer": ("measure/cli.py", "measure/commands/"),
    "rich": ("measure/cli.py", "measure/commands/"),
    "ezdxf": ("measure/export/dxf",),
    "shapely": ("measure/",),
    "cv2": ("rectify/", "measure/"),
    "PIL": ("rectify/", "measure/"),
    "pillow_heif": ("rectify/",),
}


def _list_files(*suffixes: str) -> list[str]:
    found = (
        path.relative_to(ROOT)
        for folder in OURS
        for path in (ROOT / folder).rglob("*")
        if path.suffix in suffixes and path.is_file()
    )
    return sorted(path.as_posix() for path in found if not SKIPPED & set(path.parts))


def find_imports(source: str, package: str) -> Iterator[tuple[int, str]]:
    """Yield line and full name of each module that some source imports, anywhere in it.

    ``package`` is the dotted package of the source, for relative imports.
    """
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package.split(".")[: len(package.split(".")) - node.level + 1]
            base = ".".join([*above, node.module or ""]) if node.level else node.module or ""
            yield from ((node.lineno, f"{base}.{alias.name}".strip(".")) for alias in node.names)
        elif isinstance(node, ast.Call) and node.args:
            called = node.func
            name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
            first = node.args[0]
            if name in ("import_module", "__import__") and isinstance(first, ast.Constant):
                yield node.lineno, str(first.value)


def _imports_of(file: str) -> Iterator[tuple[int, str]]:
    package = ".".join(Path(file).parent.parts)
    return find_imports((ROOT / file).read_text(encoding="utf-8"), package)


def find_upward_imports(file: str, imports: Iterator[tuple[int, str]]) -> list[str]:
    """List the imports of a file that run against the order of the layers."""
    layer = file.split("/")[0]
    allowed = LAYERS[: LAYERS.index(layer) + 1]
    return [
        f"{file}:{line} imports {name}"
        for line, name in imports
        if name.split(".")[0] in OURS and name.split(".")[0] not in allowed
    ]


SOURCES = [file for file in _list_files(".py") if file.split("/")[0] in LAYERS]


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("import rectify.camera", ["shared/a.py:1 imports rectify.camera"]),
        ("from measure import cli", ["shared/a.py:1 imports measure.cli"]),
        ("def f():\n    import tests.support", ["shared/a.py:2 imports tests.support"]),
        ("importlib.import_module('rectify')", ["shared/a.py:1 imports rectify"]),
        ("import shared.units, numpy", []),
        ("from . import units", []),
        ("from rectifying import x", []),
    ],
)
def test_the_check_sees_every_way_to_import(source, expected):
    assert find_upward_imports("shared/a.py", find_imports(source, "shared")) == expected


def test_there_is_something_to_check():
    assert {file.split("/")[0] for file in SOURCES} == set(LAYERS)
    assert len(SOURCES) > 50


def test_imports_run_from_measure_to_rectify_to_shared_only():
    wrong = [line for file in SOURCES for line in find_upward_imports(file, _imports_of(file))]
    assert wrong == []


def test_the_generator_of_the_demo_shares_no_code_with_what_it_checks():
    wrong = [
        f"{file}:{line} imports {name}"
        for file in _list_files(".py")
        if file.startswith("fixtures/")
        for line, name in _imports_of(file)
        if name.split(".")[0] in ("rectify", "measure", "tests")
    ]
    assert wrong == []


def test_each_library_is_known_to_its_own_part_only():
    wrong = [
        f"{file}:{line} imports {name}"
        for file in SOURCES
        for line, name in _imports_of(file)
        if not file.startswith(HOMES.get(name.split(".")[0], ("",)))
    ]
    assert wrong == []


def test_packages_say_what_is_in_them_and_pass_nothing_on():
    inits = [file for file in _list_files(".py") if file.endswith("/__init__.py")]
    assert {f"{layer}/__init__.py" for layer in LAYERS} <= set(inits)
    for file in inits:
        tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
        assert ast.get_docstring(tree), f"{file} has no docstring"
        assert len(tree.body) == 1, f"{file} holds more than a docstring"


def test_every_folder_of_the_program_is_a_package():
    folders = {str(Path(file).parent) for file in SOURCES}
    assert [one for one in sorted(folders) if not (ROOT / one / "__init__.py").is_file()] == []


def test_no_package_stands_among_the_tests():
    # one would hide the package of the program that has the same name
    assert [
        file for file in _list_files(".py") if file.startswith("tests/") and "__init__" in file
    ] == []


def test_no_file_is_too_long_to_read():
    lengths = {
        file: len((ROOT / file).read_text(encoding="utf-8").splitlines())
        for file in _list_files(".py", ".js", ".mjs", ".css", ".html")
    }
    assert {file: length for file, length in lengths.items() if length > LONGEST_FILE} == {}
