"""A developer adds a station: a row of the route's table and a migration, and nothing else.

The portal is copied, the row is written into the copy's table, the migration is put beside the
others, and the walk in `walk_polish.py` is run there: what it meets is what the shop would meet.
"""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from portal.store import migrations
from tests.conftest import HOUSE

TABLE = Path("portal", "shop", "route.py")
VERSIONS = Path("portal", "store", "migrations", "versions")
WALK = Path("tests", "web", "walk_polish.py")
BEHIND = "    COAT = (\n"
ROW = """    POLISH = (
        "polish",
        "Polish",
        Row(
            button=Message("To Polish"),
            customer=Message("We polish the bare metal."),
            tells=frozenset({Fact.MASKS, Fact.DAMAGE}),
            since_later=25.0,
        ),
    )
"""
MIGRATION = '''"""A station to polish, between blast and coat."""

from portal.store.migrations.stages import add_stage, remove_stage

revision = "{revision}"
down_revision = "{before}"
branch_labels = None
depends_on = None


def upgrade() -> None:
    add_stage("polish")


def downgrade() -> None:
    remove_stage("polish", becomes="blast")
'''


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The house with one station more."""
    copy = tmp_path_factory.mktemp("house")
    for name in ("portal", "tests"):
        # compiled modules come along: their sources keep their times
        without = shutil.ignore_patterns("node_modules", "browser", "bench", "customers")
        shutil.copytree(HOUSE / name, copy / name, ignore=without)
    for name in ("templates", "static", "demo_seed", "pyproject.toml"):
        (copy / name).symlink_to(HOUSE / name)
    before = migrations.head()
    revision = f"{int(before) + 1:04d}"
    migration = MIGRATION.format(revision=revision, before=before)
    (copy / VERSIONS / f"{revision}_polish.py").write_text(migration, encoding="utf-8")
    table = (copy / TABLE).read_text(encoding="utf-8")
    assert table.count(BEHIND) == 1
    (copy / TABLE).write_text(table.replace(BEHIND, ROW + BEHIND), encoding="utf-8")
    return copy


def walk(house: Path, *only: str) -> subprocess.CompletedProcess[str]:
    command = (sys.executable, "-m", "pytest", "-q", "--tb=short", "-p", "no:cacheprovider")
    return subprocess.run(
        [*command, "-p", "no:xdist", str(WALK), *only],
        cwd=house,
        capture_output=True,
        text=True,
        check=False,
        env={"PYTHONPATH": str(house), "PATH": "/usr/bin:/bin", "HOME": str(house)},
    )


def test_a_station_is_one_row_and_its_migration(copy: Path) -> None:
    walked = walk(copy)
    assert walked.returncode == 0, walked.stdout + walked.stderr


def test_without_the_migration_the_walk_fails(copy: Path) -> None:
    (migration,) = (copy / VERSIONS).glob("*_polish.py")
    away = migration.rename(copy / migration.name)
    walked = walk(copy, "-k", "customer_sees")
    away.rename(migration)
    assert walked.returncode == 1, walked.stdout
    assert "ck_part_partstage" in walked.stdout
