"""What a fresh checkout holds: the project, and nothing that a tool or a machine left behind."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
TOP_LEVEL = {
    ".ci",
    ".gitignore",
    "CHANGELOG.md",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "fixtures",
    "measure",
    "pyproject.toml",
    "rectify",
    "shared",
    "tests",
}
# Paths that exist on one machine only, and addresses of package registries, which are
# left to the settings of whoever installs.
OF_ONE_MACHINE = re.compile(
    r"(?<![\w.)])/(?:home|Users|root|opt|workspace)/\w|[A-Z]:\\Users\\"
    r"|\b(?:registry\.npm" + r"js|pypi\.(?:org|python)|files\.python" + r"hosted)\b"
)


def _git(*arguments: str) -> list[str]:
    try:
        done = subprocess.run(
            ["git", "-C", str(ROOT), *arguments],
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
        )
    except OSError as cause:
        pytest.skip(f"git is not installed: {cause}")
    if done.returncode:
        pytest.skip(f"this is not a git checkout: {done.stderr.strip()}")
    return [name for name in done.stdout.split("\0") if name]


@pytest.fixture(scope="module")
def tracked() -> list[str]:
    """Give the names of all files that git keeps."""
    names = _git("ls-files", "-z")
    if "pyproject.toml" not in names:
        pytest.skip("this folder lies inside another project's checkout")
    return names


def test_the_top_level_holds_the_project_and_nothing_else(tracked):
    assert {name.split("/")[0] for name in tracked} == TOP_LEVEL


def test_nothing_is_kept_that_the_ignore_list_names(tracked):
    assert _git("ls-files", "-z", "--cached", "--ignored", "--exclude-standard") == []


def test_no_two_names_differ_only_in_capitals(tracked):
    # they would be one file on some systems
    lowered = [name.casefold() for name in tracked]
    assert sorted(name for name in set(lowered) if lowered.count(name) > 1) == []


def test_no_link_leads_out_of_the_project(tracked):
    links = [ROOT / name for name in tracked if (ROOT / name).is_symlink()]
    assert [link for link in links if not link.resolve().is_relative_to(ROOT)] == []


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("see /home/" + "ann/plots", True),
        ("/opt/" + "tools/bin", True),
        ("https://registry.npm" + "js.org/x", True),
        ("measure/opt/size", False),
        ("../root/a", False),
        ("/api/surveys", False),
    ],
)
def test_the_check_for_one_machine_sees_what_it_should(text, found):
    assert bool(OF_ONE_MACHINE.search(text)) is found


def test_no_file_speaks_of_one_machine(tracked):
    wrong = []
    for name in tracked:
        path = ROOT / name
        if not path.is_file():
            continue  # taken away, and not yet committed
        content = path.read_bytes()
        if b"\0" in content:
            continue  # a picture or a font
        for number, line in enumerate(content.decode("utf-8").splitlines(), start=1):
            if OF_ONE_MACHINE.search(line):
                wrong.append(f"{name}:{number}: {line.strip()[:80]}")
    assert wrong == []


def test_the_script_of_the_build_machine_can_be_run(tracked):
    modes = _git("ls-files", "-z", "--stage", ".ci/run")
    assert [line.split()[0] for line in modes] == ["100755"]
