"""Processes of the portal are killed while clients work and the mail server has its moods."""

import time
from pathlib import Path

from tests.faults.people import CLIENTS
from tests.faults.post_office import Mood
from tests.faults.rows import Row, row_of
from tests.faults.scene import Scene, scene
from tests.faults.server import ALL, MAIL, MASTER, SERVER

LONGEST_LIFE_S = 1.5
# a short form ends after the first three
WHOM = (SERVER, MAIL, ALL, SERVER, MAIL, SERVER, MASTER, SERVER)
FEW = 10  # kills of a short form: one process, each kind of client once
PATIENCE_S = 7  # a round of the mail worker takes five
MOODS = (*Mood, Mood.SLOW, Mood.SLOW, Mood.TAKES)


def kill_many(kind: str, url: str, folder: Path, count: int, seed: int, planted: str = "") -> Row:
    """Kill `count` times and count what is left."""
    jobs = max(2, count // 4)
    with scene(kind, url, folder, jobs=jobs, seed=seed, planted=planted) as here:
        if count < FEW:
            here.portal.workers = 1
        here.begin(CLIENTS if count >= FEW else CLIENTS[:4])
        here.goes_on(1)
        for number in range(count):
            _kill(here, number)
        here.office.mood = Mood.TAKES
        again = here.goes_on(5) and (bool(planted) or here.all_go_on(anew=count >= FEW))
        faults = here.end()
    if not again:
        faults.append("nobody got on after the last kill")
    return row_of("processes killed", here, sum(here.portal.kills.values()), faults)


def _kill(here: Scene, number: int) -> None:
    """Kill one process, or all, at a moment of chance; start again what does not start itself."""
    here.office.mood = here.chance.choice(MOODS)
    whom = WHOM[number % len(WHOM)]
    time.sleep(here.chance.uniform(0.05, LONGEST_LIFE_S))
    if whom == MAIL:
        _wait_for_a_letter(here)
    for _ in range(100):
        if here.portal.kill(whom):
            break
        time.sleep(0.2)  # a mail worker that was killed before has its pause
    here.portal.start()


def _wait_for_a_letter(here: Scene) -> None:
    """Kill the mail worker while a letter is half way, if there is one."""
    here.office.mood = Mood.SLOW
    here.office.in_hand.wait(PATIENCE_S)
    time.sleep(here.chance.uniform(0, 0.4))
