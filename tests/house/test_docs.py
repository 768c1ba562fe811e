"""The README's commands and examples are those that work."""

import re

from portal.cli import VERBS
from portal.craft.declared import read_declared
from tests.house.files import HOUSE

README = (HOUSE / "README.md").read_text(encoding="utf-8")


def test_the_readme_opens_with_the_job_and_then_the_two_commands() -> None:
    opening = README.split("\n\n")
    assert opening[0].startswith("# ")
    assert "coating works" in opening[1]
    assert re.match(r"```\nmake demo .*\nmake test .*\n```", opening[2])


def test_every_make_target_that_the_documents_name_exists() -> None:
    makefile = (HOUSE / "Makefile").read_text(encoding="utf-8")
    texts = README + (HOUSE / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`make ([a-z-]+)`", texts)) | {"demo", "test"}
    for target in named:
        assert re.search(rf"^{target}:", makefile, re.M), target


def files_missing(text: str) -> list[str]:
    """The files named between backticks that are neither in the house nor under `portal/`."""
    named = re.findall(r"`([\w./-]+/[\w.-]+\.(?:py|js|md|html|toml|po|pot|yaml))`", text)
    return [one for one in named if not any((HOUSE / at / one).is_file() for at in ("", "portal"))]


def test_every_file_that_the_documents_name_exists() -> None:
    text = README + (HOUSE / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert not files_missing(text)
    assert files_missing("`orders/kernel/nowhere.py` and `orders/kernel/unit.py`") == [
        "orders/kernel/nowhere.py"
    ]


def test_every_hook_runs_a_part_of_the_checks() -> None:
    checks = (HOUSE / ".ci" / "checks").read_text(encoding="utf-8")
    hooks = (HOUSE / ".pre-commit-config.yaml").read_text(encoding="utf-8")
    parts = re.findall(r"entry: bash \.ci/checks ([a-z]+)$", hooks, re.M)
    assert len(parts) == hooks.count("entry:") > 3
    assert set(parts) <= set(re.findall(r"^run ([a-z]+) ", checks, re.M))


def test_the_readme_lists_the_verbs_of_the_command_line() -> None:
    for verb in VERBS:
        assert re.search(rf"\b{verb}\b", README), verb


def test_the_order_file_in_the_readme_is_read() -> None:
    import tomllib

    example = re.search(r"```toml\n(.*?)```", README, re.S).group(1)
    assert len(read_declared(tomllib.loads(example)).sets) == 2


def test_every_picture_that_the_readme_shows_exists() -> None:
    for path in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README):
        assert (HOUSE / path).is_file(), path
