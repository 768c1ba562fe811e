"""A disk of a few megabytes that can be filled and made read-only; root alone may have one."""

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

PIECE = 256 * 1024


def may_mount() -> bool:
    """Whether this process may mount a disk in memory."""
    return os.geteuid() == 0


@dataclass
class SmallDisk:
    folder: Path

    def fill(self) -> None:
        """Fill it to the last byte."""
        with (self.folder / "ballast").open("wb", buffering=0) as out:
            for size in (PIECE, 4096, 1):
                try:
                    while out.write(b"\0" * size) == size:
                        pass
                except OSError:
                    continue

    def empty(self) -> None:
        (self.folder / "ballast").unlink(missing_ok=True)

    def read_only(self, on: str = "ro") -> None:
        """Let nobody write; what is open for writing must be closed before."""
        subprocess.run(["mount", "-o", f"remount,{on}", str(self.folder)], check=True)


@contextmanager
def small_disk(folder: Path, megabytes: int) -> Iterator[SmallDisk]:
    """Mount a disk in memory."""
    folder.mkdir(parents=True)
    size = f"size={megabytes}M,mode=755"
    subprocess.run(["mount", "-t", "tmpfs", "-o", size, "tmpfs", str(folder)], check=True)
    try:
        yield SmallDisk(folder)
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)
