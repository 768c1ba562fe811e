"""What a walk costs a person: presses, keys and scans, and the seconds that they take by the model.

The keystroke-level model: 0.28 s a key (a typist of 40 words a minute), 1.1 s to point and 0.2 s to
press, 1.35 s to think before each answer. Card, Moran and Newell, "The keystroke-level model for
user performance time with interactive systems", Communications of the ACM 23 (1980) 396–410;
figures from memory. A scan counts as 2 s: common practice.
"""

from dataclasses import dataclass

from playwright.sync_api import Locator, Page, expect

from tests.browser import staff, turns

KEY_S, POINT_S, PRESS_S, THINK_S, SCAN_S = 0.28, 1.1, 0.2, 1.35, 2.0


@dataclass
class Tally:
    """One person at one page, and what they did with it."""

    page: Page
    presses: int = 0
    keys: int = 0
    scans: int = 0
    answers: int = 0

    @property
    def seconds(self) -> float:
        """How long it takes by the model."""
        pressing = self.presses * (POINT_S + PRESS_S)
        return self.keys * KEY_S + pressing + self.scans * SCAN_S + self.answers * THINK_S

    def write(self, field: str, text: str) -> None:
        """Type an answer into a field that was reached by keys."""
        self.page.locator(field).fill(text)
        self.keys += len(text) + 1
        self.answers += 1

    def key(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.keys += 1

    def pick(self, field: str) -> None:
        """Choose one of several answers by its letter."""
        self.page.locator(field).check(force=True)
        self.keys += 1
        self.answers += 1

    def press(self, target: Locator) -> None:
        """Press a button or a link that leads to another page."""
        self.presses += 1
        turns.press(target)

    def scan(self, text: str) -> None:
        self.scans += 1
        staff.scan(self.page, text)

    def tell(self, what: str) -> None:
        """Print what it came to, for whoever runs the walk to read."""
        print(
            f"\n{what}: {self.presses} presses, {self.keys} keys, {self.scans} scans, "
            f"{self.seconds:.0f} s by the model"
        )

    def heading(self, text: str) -> None:
        expect(self.page.get_by_role("heading", level=1)).to_have_text(text)
