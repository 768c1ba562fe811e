"""A process that writes without end and says so after each commit, to be killed in the middle.

`python -m tests.race.writer URL [early]`; with `early` it speaks before it commits.
"""

import itertools
import sys
import time

from portal.store.tables import Audit
from tests.conftest import Clock, unit_at


def main(url: str, *, early: bool) -> None:
    unit = unit_at(url, Clock())

    def speak(n: int) -> None:
        print(n, flush=True)

    for n in itertools.count(1):

        def work(session, n=n) -> None:
            session.add(Audit(at=unit.now(), verb="export", what=str(n)))
            session.flush()
            if early:
                speak(n)
                time.sleep(1.0)  # whoever kills it has all the time to do so

        unit.write(work)
        if not early:
            speak(n)


if __name__ == "__main__":
    main(sys.argv[1], early="early" in sys.argv[2:])
