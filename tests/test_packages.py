"""The wheel and the source archive, each installed into an empty environment outside the checkout and used from there.

Every Python of the supported line that is found on the PATH is tried; packages come from the package server, so it has the marker ``slow``.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PYTHONS = [
    name
    for name in (f"python3.{minor}" for minor in range(11, 16))
    if shutil.which(name) and not subprocess.run([name, "-c", ""], capture_output=True, check=False).returncode  # not only a name for one
]

pytestmark = pytest.mark.slow


def run(*command: str | Path, cwd: Path) -> str:
    """Run a command that must succeed and return what it printed."""
    done = subprocess.run([str(word) for word in command], cwd=cwd, capture_output=True, text=True, timeout=560, check=False)
    assert done.returncode == 0, f"{command}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}"
    return done.stdout


@pytest.fixture(scope="module")
def packages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Build both from a copy of the tracked files, so that nothing left in the checkout gets in."""
    place = tmp_path_factory.mktemp("packages")
    source = place / "source"
    tracked = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout.decode().split("\0")
    for name in filter(None, tracked):
        if (ROOT / name).is_file():
            (source / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, source / name)
    run(sys.executable, "-m", "venv", place / "tools", cwd=place)
    run(place / "tools/bin/pip", "install", "-q", "build", cwd=place)
    run(place / "tools/bin/python", "-m", "build", "--outdir", place, source, cwd=place)
    return {"wheel": next(place.glob("*.whl")), "sdist": next(place.glob("*.tar.gz"))}


def test_the_wheel_holds_the_package_its_data_and_nothing_else(packages: dict[str, Path]) -> None:
    names = zipfile.ZipFile(packages["wheel"]).namelist()
    print("\n".join(names))
    wanted = {f"annotator/styles/{path.name}" for path in (ROOT / "styles").glob("*.toml")}
    wanted |= {f"annotator/examples/{path.name}" for path in (ROOT / "examples").glob("*.musicxml")}
    modules = (path for path in (ROOT / "annotator").rglob("*") if path.is_file() and "__pycache__" not in path.parts)
    wanted |= {path.relative_to(ROOT).as_posix() for path in modules}
    assert sorted(wanted - set(names)) == []
    assert [name for name in names if not re.match(r"annotator/|annotator-[\d.]+\.dist-info/", name)] == []


def test_the_source_archive_holds_the_tests(packages: dict[str, Path]) -> None:
    with tarfile.open(packages["sdist"]) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    assert {"README.md", "DEVELOPERS.md", "pyproject.toml", "tests/test_packages.py", "styles/default.toml"} <= names


@pytest.mark.parametrize("python", PYTHONS)
@pytest.mark.parametrize("kind", ["wheel", "sdist"])
def test_it_works_from_an_empty_environment(packages: dict[str, Path], kind: str, python: str, tmp_path: Path) -> None:
    run(python, "-m", "venv", tmp_path / "env", cwd=tmp_path)
    programs = tmp_path / "env" / "bin"
    run(programs / "pip", "install", "-q", packages[kind], cwd=tmp_path)
    folder = run(programs / "python", "-c", "import annotator, pathlib; print(pathlib.Path(annotator.__file__).parent)", cwd=tmp_path)
    home = Path(folder.strip())
    assert not home.is_relative_to(ROOT)
    run(programs / "annotator", "check-setup", cwd=tmp_path)
    example = home / "examples" / "sonatina-at-the-open-gate.musicxml"
    run(programs / "annotator", "mark", example, "--out", tmp_path, "--style", "large-print", "--formats", "pdf,png", cwd=tmp_path)
    assert (tmp_path / "sonatina-at-the-open-gate-marked.pdf").read_bytes().startswith(b"%PDF-")
    assert (tmp_path / "sonatina-at-the-open-gate-marked-001.png").read_bytes().startswith(b"\x89PNG")
