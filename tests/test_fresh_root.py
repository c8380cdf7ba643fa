"""The README's own commands on a system with nothing on it: a Debian root made for the purpose, entered by chroot.

It needs the rights of root, the tool ``debootstrap`` and Debian's and Python's package servers, and takes some minutes, so it has
the marker ``slow``. The log is written beside the root, and its place told when something fails (``-rP`` shows it always).
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```sh\n(.*?)^```", README, re.S | re.M)
SYSTEM = re.findall(r"`apt install ([\w. -]+)`", next(line for line in README.splitlines() if line.startswith("| Debian")))
CERTIFICATES = Path("/etc/ssl/certs/ca-certificates.crt")
RELEASE, MIRROR = "bookworm", "http://deb.debian.org/debian"

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not shutil.which("debootstrap"), reason="debootstrap is not installed"),
    pytest.mark.skipif(not hasattr(os, "getuid") or os.getuid() != 0, reason="only root can make and enter another root"),
]


def run(*command: str, log: Path, seconds: int = 1500) -> None:
    """Run a command, its output added to the log."""
    with log.open("a", encoding="utf-8") as file:
        file.write(f"$ {' '.join(command)}\n")
        file.flush()
        done = subprocess.run(command, stdout=file, stderr=subprocess.STDOUT, timeout=seconds, check=False)
    assert done.returncode == 0, f"{command} ended with {done.returncode}: see {log}"


@pytest.fixture(scope="module")
def fresh(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, Path]]:
    """Make the root, put the tracked files of the project into it, and take it down again."""
    place = tmp_path_factory.mktemp("fresh")
    root, log = place / "root", place / "log.txt"
    run("debootstrap", "--variant=minbase", "--include=ca-certificates", RELEASE, str(root), MIRROR, log=log)
    for name in ("/etc/resolv.conf", "/etc/hosts", str(CERTIFICATES)):  # the network as it is here
        shutil.copy(name, root / name.lstrip("/"))
    project = root / "home" / "annotator"
    project.mkdir(parents=True)
    tracked = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout.decode().split("\0")
    for name in filter(None, tracked):
        if (ROOT / name).is_file():
            (project / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, project / name)
    run("mount", "--bind", "/proc", str(root / "proc"), log=log)
    try:
        yield root, log
    finally:
        run("umount", str(root / "proc"), log=log)
        shutil.rmtree(root)
        print(log.read_text(encoding="utf-8"))


def inside(root: Path, log: Path, script: str) -> None:
    """Run a shell script in the root, in the project's folder, with an empty environment."""
    path, certificates = "PATH=/usr/sbin:/usr/bin:/sbin:/bin", f"PIP_CERT={CERTIFICATES}"
    surroundings = (path, certificates, "HOME=/root", "LANG=C.UTF-8", "DEBIAN_FRONTEND=noninteractive")
    run("chroot", str(root), "/usr/bin/env", "-i", *surroundings, "sh", "-euxc", f"cd /home/annotator\n{script}", log=log)


def test_the_two_commands_of_the_readme(fresh: tuple[Path, Path]) -> None:
    root, log = fresh
    assert SYSTEM
    inside(root, log, "\n".join(f"apt-get install -y --no-install-recommends {packages}" for packages in SYSTEM))
    inside(root, log, BLOCKS[0])
    project = root / "home" / "annotator"
    assert (project / "sonatina-at-the-open-gate-marked.pdf").read_bytes().startswith(b"%PDF-")
    assert (project / "sonatina-at-the-open-gate-marked.musicxml").is_file()
    inside(root, log, ".venv/bin/annotator check-setup")
    inside(root, log, "rm -r .venv\n" + BLOCKS[1])
    summary = re.findall(r"^\d+ passed.*$|^.* \d+ passed.*$", log.read_text(encoding="utf-8"), re.M)
    assert summary
