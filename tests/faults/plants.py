"""Faults of our own in the portal's processes: the counting must find each by its own sentence."""

from collections.abc import Callable
from pathlib import Path

from tests.faults.kills import kill_many
from tests.faults.people import CLIENTS
from tests.faults.rows import Row, tell
from tests.faults.scene import Scene, scene
from tests.faults.server import wait_for
from tests.faults.stepped.sitecustomize import FORGETS, LOSES, LOSES_HALF, LOSES_TAGS, TWICE

KILLS = 4
SECONDS = 180
# how the sentences begin that must be among what is found
FOUND = {
    FORGETS: ("payment ",),
    LOSES: ("",),
    LOSES_HALF: ("booking ", "check-in ", "scan ", "payment ", "a letter "),
    LOSES_TAGS: ("tag ",),
    TWICE: ("payment ", "scan ", "a letter came that nobody wrote"),
}
# presses of each kind that are enough to notice it; what comes by chance needs kills
PRESSES = {
    FORGETS: ("pay",),
    LOSES_HALF: ("book", "receive", "scan", "pay"),
    LOSES_TAGS: ("tag",),
    TWICE: ("scan", "pay"),
}
LETTERS = (LOSES_HALF, TWICE)


def plant(planted: str, kind: str, url: str, folder: Path, seed: int) -> Row:
    """Let clients work with a portal that has a fault of ours; the row holds if it is noticed."""
    if planted in PRESSES:
        faults, times, told = _worked(planted, kind, url, folder)
    else:
        row = kill_many(kind, url, folder, KILLS, seed, planted)
        faults, times, told = row.faults, row.times, row.told
    missed = [
        f"nothing was noticed that begins with “{start}”"
        for start in FOUND[planted]
        if not any(one.startswith(start) for one in faults)
    ]
    first = [next((f for f in faults if f.startswith(s)), "") for s in FOUND[planted]]
    noticed = f"noticed {len(faults)} times, among them: {' | '.join(first)}; {told}"
    return Row(f"planted: {planted}", kind, times, noticed, missed)


def _worked(planted: str, kind: str, url: str, folder: Path) -> tuple[list[str], int, str]:
    with scene(kind, url, folder, jobs=2, planted=planted) as here:
        here.portal.workers = 1
        here.work.twice = float(planted == FORGETS)
        here.begin(CLIENTS[:4])
        wait_for(_enough(here, planted), SECONDS)
        return here.end(), 0, tell(here)


def _enough(here: Scene, planted: str) -> Callable[[], bool]:
    def enough() -> bool:
        done, letters = here.pressed.done(), here.office.taken.total()
        pressed = all(done[verb] >= 2 for verb in PRESSES[planted])
        return pressed and (letters >= 2 or planted not in LETTERS)

    return enough
