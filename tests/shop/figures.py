"""Figures that are kept line by line in a file beside their test, and drawn anew by

`python -m tests.shop.figures`, where what they follow from changes on purpose.
"""

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

Scenes = Mapping[str, Callable[[], Iterable[str]]]


def drawn(scenes: Scenes) -> str:
    """Return the text of a file: a block a scene, under its name."""
    return "\n\n".join("\n".join([f"== {name}", *told()]) for name, told in scenes.items()) + "\n"


def kept(file: Path) -> dict[str, list[str]]:
    """Return the lines of each scene, by its name."""
    blocks = (block.split("\n") for block in file.read_text("utf-8").strip("\n").split("\n\n"))
    return {lines[0].removeprefix("== "): lines[1:] for lines in blocks}


def main() -> None:
    """Draw all files anew."""
    from tests.craft import test_trade_figures  # they import this
    from tests.shop import (
        test_appraisal_figures,
        test_assessment_figures,
        test_finding_figures,
        test_floor_figures,
        test_learning_figures,
        test_list_figures,
        test_small_figures,
    )
    from tests.shop.invoicing import test_norm_figures

    for one in (
        test_appraisal_figures,
        test_assessment_figures,
        test_finding_figures,
        test_floor_figures,
        test_learning_figures,
        test_list_figures,
        test_norm_figures,
        test_small_figures,
        test_trade_figures,
    ):
        one.FILE.write_text(drawn(one.SCENES), "utf-8")


if __name__ == "__main__":
    main()
