"""`python -m portal.render.compiling`: makes of each catalogue what a language is spoken from."""

from pathlib import Path

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from portal.render.catalogues import FOLDER


def compile_catalogues(folder: Path) -> None:
    """Write the compiled form beside each `messages.po` under `folder`; git keeps none."""
    for path in folder.glob("*/LC_MESSAGES/messages.po"):
        with path.open("rb") as file, path.with_suffix(".mo").open("wb") as made:
            write_mo(made, read_po(file))


if __name__ == "__main__":
    compile_catalogues(Path(FOLDER))
