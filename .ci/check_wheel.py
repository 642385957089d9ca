"""Check what a wheel holds: all that the program needs to run, and nothing else."""

import sys
import zipfile
from pathlib import Path

PACKAGES = ("shared", "rectify", "measure")
LEFT_OVER = ("__pycache__", "node_modules", ".pyc", ".part", "/tests/")


def find_faults(names: list[str], sources: list[str]) -> list[str]:
    """List in words what is wrong; `sources` are the files of the checkout that must be in it."""
    faults = []
    for name in names:
        top = name.split("/")[0]
        if top not in PACKAGES and not top.endswith(".dist-info"):
            faults.append(f"{name} does not belong in the wheel")
        if any(mark in name for mark in LEFT_OVER):
            faults.append(f"{name} was left behind by something")
    faults += [f"{source} is missing from the wheel" for source in sources if source not in names]
    if not any(name.startswith("measure/demo/") for name in names):
        faults.append("the demo is missing from the wheel")
    if not any(name.endswith("LICENSE") for name in names):
        faults.append("the licence is missing from the wheel")
    return faults


def main(wheel: Path) -> None:
    """Print what is in the wheel; end with the faults if there are any."""
    root = Path(__file__).resolve().parents[1]
    sources = [
        path.relative_to(root).as_posix()
        for package in PACKAGES
        for path in (root / package).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    ]
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
    size_kb = wheel.stat().st_size // 1024
    print(f"{wheel.name}: {len(names)} files, {size_kb} kB, all {len(sources)} sources wanted")
    faults = find_faults(names, sources)
    if faults:
        sys.exit("\n".join(faults))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
