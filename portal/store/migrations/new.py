"""Write the next migration from the difference between the tables and the history.

``python -m portal.store.migrations.new "what changes"``; read the file before you commit it.
A migration that has been released is never changed: a database may already stand behind it.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

from alembic import command

from portal.store import migrations

VERSIONS = migrations.HERE / "versions"


def write(message: str) -> Path:
    """Write the next migration and return its file."""
    newest = max(path.name[:4] for path in VERSIONS.glob("[0-9]*.py"))
    number = f"{int(newest) + 1:04d}"
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{folder}/history.sqlite3"
        migrations.upgrade(url)
        with migrations.connected(url) as connection:
            made = migrations.config()
            made.attributes["connection"] = connection
            command.revision(made, message=message, rev_id=number, autogenerate=True)
    return next(VERSIONS.glob(f"{number}_*.py"))


def main(words: list[str]) -> int:
    """Run from the command line."""
    if not words:
        sys.stderr.write(f"{__doc__}\n")
        return 2
    path = write(" ".join(words))
    subprocess.run([sys.executable, "-m", "ruff", "format", "-q", str(path)], check=False)  # noqa: S603  # our own file
    sys.stdout.write(f"{path}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
