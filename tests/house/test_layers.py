"""The floors are kept by a tool; here it is shown that the tool would notice."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.files import HOUSE

FAULTS = {
    "a table asked by a page": ("portal/web/intake/planted.py", "import portal.store.jobs\n"),
    "an upward import": ("portal/craft/planted.py", "import portal.shop.money\n"),
    "one audience that knows another": (
        "portal/web/status/planted.py",
        "import portal.web.office\n",
    ),
    "a wing that looks up": (
        "portal/orders/kernel/planted.py",
        "import portal.orders.counter.findings\n",
    ),
    "two wings of one level": (
        "portal/orders/intake/planted.py",
        "import portal.orders.production.floor\n",
    ),
    "a price that knows a plan": (
        "portal/shop/pricing/planted.py",
        "import portal.shop.scheduling.stations\n",
    ),
    "a word that knows its request": (
        "portal/web/kit/i18n/planted.py",
        "import portal.web.kit.http.guards\n",
    ),
    "a clock in the shop": ("portal/shop/planted.py", "import time\n"),
    "a verb that makes words": (
        "portal/orders/kernel/planted.py",
        "import portal.render.text\n",
    ),
    "Flask in the orders": ("portal/orders/planted.py", "import flask\n"),
    "a room that nobody planned": ("portal/utils.py", "x = 1\n"),
}


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    tool = Path(sys.executable).parent / "lint-imports"
    return subprocess.run(
        [str(tool), "--no-cache"], cwd=folder, capture_output=True, text=True, check=False
    )


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("house")
    shutil.copytree(HOUSE / "portal", folder / "portal")
    shutil.copy(HOUSE / "pyproject.toml", folder)
    return folder


def test_the_house_as_it_stands_keeps_its_floors(copy: Path) -> None:
    result = lint(copy)
    assert result.returncode == 0, result.stdout


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_caught(copy: Path, fault: str) -> None:
    place, text = FAULTS[fault]
    planted = copy / place
    planted.write_text(text, encoding="utf-8")
    try:
        assert lint(copy).returncode != 0
    finally:
        planted.unlink()


def test_ruff_catches_a_clock_that_the_layers_do_not_see(tmp_path: Path) -> None:
    planted = tmp_path / "planted.py"
    planted.write_text(
        '"""Planted."""\n\nfrom datetime import UTC, datetime\n\nNOW = datetime.now(UTC)\n',
        encoding="utf-8",
    )
    tool = Path(sys.executable).parent / "ruff"
    result = subprocess.run(
        [str(tool), "check", "--no-cache", "--config", str(HOUSE / "pyproject.toml"), str(planted)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert "TID251" in result.stdout
