"""Fetches the drawings of `sources.toml` from the package registries, by their ordinary clients, into a kept folder."""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
import tarfile
import tempfile
import tomllib
import zipfile
from dataclasses import dataclass
from pathlib import Path

ENDINGS = {".dxf", ".svg"}


@dataclass(frozen=True)
class Source:
    """A package that carries drawings."""

    registry: str
    name: str
    version: str
    sha256: str
    licence: str
    step: int = 1

    def command(self, requirements: Path) -> list[str]:
        """Return what fetches the package into the working folder."""
        if self.registry == "pypi":
            requirements.write_text(f"{self.name}=={self.version} --hash=sha256:{self.sha256}\n")
            words = "download -q --no-deps --no-binary :all: --require-hashes -d . -r"
            return [sys.executable, "-m", "pip", *words.split(), str(requirements)]
        if self.registry == "npm":
            return ["npm", "pack", "--silent", f"{self.name}@{self.version}"]
        return ["apt-get", "download", "-qq", f"{self.name}={self.version}"]


def sources() -> list[Source]:
    """Return the list as it stands in the file."""
    rows = tomllib.loads((Path(__file__).parent / "sources.toml").read_text(encoding="utf-8"))["source"]
    return [Source(**row) for row in rows]


def fetched(source: Source, store: Path) -> Path | None:
    """Return the folder with a package's drawings; None when it is not to be had.

    Raises:
        ValueError: What came is not what the list names.
    """
    folder = store / f"{source.name}-{source.version}"
    if folder.is_dir():
        return folder
    with tempfile.TemporaryDirectory(dir=store) as scratch:
        place = Path(scratch)
        try:
            ran = subprocess.run(
                source.command(place / "wanted.txt"), cwd=place, capture_output=True, timeout=300, check=False
            )
        except (OSError, subprocess.TimeoutExpired):
            return None
        packages = [p for p in place.iterdir() if p.suffix in {".gz", ".zip", ".tgz", ".deb"}]
        if ran.returncode or len(packages) != 1:
            return None
        found = hashlib.sha256(packages[0].read_bytes()).hexdigest()
        if found != source.sha256:
            raise ValueError(f"{source.name} {source.version}: sha256 is {found}, the list says {source.sha256}")
        _unpack(packages[0], place / "all")
        kept = place / "kept"
        files = sorted(p for p in (place / "all").rglob("*") if p.suffix.lower() in ENDINGS and p.is_file())
        for path in files:
            target = kept / path.relative_to(place / "all")
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, target)
        kept.mkdir(exist_ok=True)
        kept.rename(folder)
    return folder


def _unpack(package: Path, into: Path) -> None:
    if package.suffix == ".deb":
        subprocess.run(["dpkg-deb", "-x", package, into], check=True, capture_output=True)
    elif package.suffix == ".zip":
        with zipfile.ZipFile(package) as archive:
            archive.extractall(into)
    else:
        with tarfile.open(package) as archive:
            archive.extractall(into, filter="data")


def drawings(source: Source, folder: Path) -> list[Path]:
    """Return the drawings that are looked at."""
    found = sorted(p for p in folder.rglob("*") if p.suffix.lower() in ENDINGS and not p.name.startswith("."))
    return found[:: source.step]
