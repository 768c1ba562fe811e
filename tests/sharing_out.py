"""How a run shares its tests out over its processes, and in which order they begin."""

import pytest
from xdist.scheduler import LoadScopeScheduling
from xdist.workermanage import WorkerController

LAYOUT = "tests/browser/layout/test_"
TOGETHER = {
    # the catalogue of all pages is taken once
    f"{LAYOUT}every_page.py": "catalogue",
    f"{LAYOUT}valid_html.py": "catalogue",
    f"{LAYOUT}weight.py": "catalogue",
    f"{LAYOUT}longer_words.py": "german",
    f"{LAYOUT}judges.py": "judges",
    "tests/house/test_demo.py": "demo",
    "tests/house/test_messages.py": "sentences",  # drawn once, as these
    "tests/web/test_languages_complete.py": "invented",
    # what a scene or a form of the database costs is paid once
    "tests/store/test_carried_over.py": "forms",
    "tests/store/test_logs_carried_over.py": "forms",
    "tests/store/test_migrations.py": "forms",
    "tests/browser/test_sixty.py": "sixty",
    "tests/browser/test_today.py": "full day",
    "tests/orders/test_today_view.py": "full day",
    "tests/web/test_today.py": "full day",
    "tests/web/test_every_paper.py": "paper",
}
# files whose tests take long and share nothing: each of them goes where there is room
APART = {"tests/customers/test_customers.py", "tests/browser/test_story.py"}
# what takes longest begins first, so that the processes of a run end together
FIRST = (
    LAYOUT,
    "tests/customers/test_customers.py::test_customers_get",
    "tests/faults/test_faults.py::test_what_was_acknowledged",
    "tests/house/test_demo.py",
    "tests/store/test_carried_over.py",
    "tests/web/test_languages_complete.py",
    "tests/browser/",
)


class InRooms(LoadScopeScheduling):
    """Shares tests out file by file, and what lives on one costly fixture to one process."""

    def _split_scope(self, nodeid: str) -> str:
        file = nodeid.partition("::")[0]
        return nodeid if file in APART else TOGETHER.get(file, file)

    def mark_test_complete(
        self, node: WorkerController, item_index: int, duration: float = 0
    ) -> None:
        """Take what is done off the list, which is counted after each test."""
        nodeid = self.registered_collections[node][item_index]
        scope = self._split_scope(nodeid)
        super().mark_test_complete(node, item_index, duration)
        if all(self.assigned_work[node][scope].values()):
            del self.assigned_work[node][scope]


def turn(item: pytest.Item) -> int:
    """Return the place in `FIRST`; what is not named there follows."""
    turns = (n for n, start in enumerate(FIRST) if item.nodeid.startswith(start))
    return next(turns, len(FIRST))
