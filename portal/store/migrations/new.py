"""Write the next migration from the difference between the tables and the history.

``python -m portal.store.migrations.new "what changes"``; read the file before you commit it.
With ``--first`` the one migration 0001 is written anew from the tables as they are.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

from alembic import command

from portal.store import migrations

# rows of these are only ever added
KEPT = ("move", "audit", "stock_move")
VERSIONS = migrations.HERE / "versions"


def write(message: str) -> Path:
    """Write the next migration and return its file."""
    number = f"{len(list(VERSIONS.glob('[0-9]*.py'))) + 1:04d}"
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{folder}/history.sqlite3"
        if number != "0001":
            migrations.upgrade(url)
        with migrations.connected(url) as connection:
            made = migrations.config()
            made.attributes["connection"] = connection
            command.revision(made, message=message, rev_id=number, autogenerate=True)
    return next(VERSIONS.glob(f"{number}_*.py"))


def write_first() -> Path:
    """Write 0001 anew, with the triggers that guard the kept tables."""
    for old in VERSIONS.glob("[0-9]*.py"):
        old.unlink()
    path = write("The first tables")
    text = path.read_text(encoding="utf-8")
    text = text.replace(
        "from alembic import op\n",
        "from alembic import op\n\nfrom portal.store.migrations import only_added\n",
    )
    text = text.replace(
        "\n\n\ndef downgrade() -> None:\n",
        "".join(f"\n    only_added.guard(op.get_bind(), {table!r})" for table in KEPT)
        + "\n\n\ndef downgrade() -> None:\n"
        + "".join(
            f"    only_added.release(op.get_bind(), {table!r})\n" for table in reversed(KEPT)
        ),
    )
    path.write_text(text, encoding="utf-8")
    return path


def main(words: list[str]) -> int:
    """Run from the command line."""
    if not words:
        sys.stderr.write(f"{__doc__}\n")
        return 2
    path = write_first() if words == ["--first"] else write(" ".join(words))
    subprocess.run([sys.executable, "-m", "ruff", "format", "-q", str(path)], check=False)  # noqa: S603  # our own file
    sys.stdout.write(f"{path}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
