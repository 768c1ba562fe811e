"""What a customer has in mind, drawn from one number; what is offered is read off the pages."""

import random
from collections import Counter
from dataclasses import dataclass, field

# sizes as people type them: as marked, from memory, with a slip, or of something else
RIMS = {
    "typed": ("8½J×18 H2 ET35 5x112", "8Jx18 ET35", "7,5J x 17 H2", "6.5x16 ET 42", "9J x 19 ET28"),
    "misspelt": ("8jx18 et 35", "18x8", "8 J 18", "R18", "18 Zoll", "8J-18", "J8x18 ET35 5/112"),
    "misread": ("8Jx81 ET35", "3Jx3", "88Jx18", "silver", "FORGED", "ET35", "225/45 R17"),
}
TYRES = {
    "typed": ("225/45 R17 94W", "205/55 R16 91V", "255/35 ZR19 96Y XL", "195/65R15"),
    "misspelt": ("225 45 17", "22545R17", "225/45-17", "225/45 r 17"),
    "misread": ("225/45 R71", "22/45 R17", "DOT 2319", "8Jx18"),
}
LENGTHS = {
    "typed": ("450", "45 cm", "450 mm", "0.45 m", "18 in", "17 3/4 in"),
    "misspelt": ("26 cm|14|12", "1,2 m|40cm|5", "60x", "1.2m|0.4m|0.05m", "ca. 60 cm|30|10"),
    "misread": ("4o0", "0", "90 m", "-5", "long", "45 kg"),
}
SIZES = ("typed", "typed", "misspelt", "misread", "unknown", "tyre", "diameter")
NAMES = (
    "Robin Sample", "Ana Muñoz Ejemplo", "Jürgen Beispiel", "Zoë O’Neill-Łukasiewicz",
    "山田太郎", "Ngọc Ánh", "Works & Sons (Ltd.)", "Иван Пример", "X", "Ola  Nordmann",
)  # fmt: skip
MAILS = ("robin{}@example.com", "ana.ejemplo+rad{}@example.org", "müller{}@example.com")
# ranges that are kept for fiction; a number has so many open orders at most
PHONES = ("07700 900{}", "+44 7700 900 {}", "(01632) 960{}", "+49 30 23125 {}")
WRONG = {
    "count": ("0", "4x", "4000", "", "-1", "2.5"),
    "name": ("", "12345", "<b>"),
    "email": ("", "robin", "robin@", "a@b"),
    "phone": ("", "12", "call me", "07700 9oo123"),
    "near": ("zzz", "#12", "99999"),
}
LANGUAGES = ("en", "en", "de", "es")


@dataclass
class SetPlan:
    """Parts that are finished alike, as a customer has them in mind."""

    number: int
    count: int
    size: str
    rng: random.Random

    def likely(self, chance: float) -> bool:
        return self.rng.random() < chance


@dataclass
class Plan:
    """One customer. `met` counts what was really chosen and met on the way."""

    seed: int
    rng: random.Random
    language: str
    units: str
    script: bool
    sets: list[SetPlan]
    goes_back: bool
    two_tabs: bool
    asks: bool
    comes_later: bool
    wrong_first: bool
    looks_first: bool
    photo: bool
    rush: bool
    arrival: str
    says_yes: bool
    by_link: bool
    pays: str
    pdf: bool
    name: str
    email: str
    phone: str
    door: str = "portal"
    met: Counter[str] = field(default_factory=Counter)

    @property
    def count(self) -> int:
        return sum(one.count for one in self.sets)

    def likely(self, chance: float) -> bool:
        return self.rng.random() < chance

    def note(self, kind: str, value: str) -> None:
        """Count a kind, a way or a system that was chosen."""
        self.met[f"{kind}: {value}"] += 1


def plan(seed: int) -> Plan:
    """Draw a customer; the same number draws the same one."""
    rng = random.Random(f"customer {seed}")
    sets = [_set(seed, n, rng) for n in range(rng.choice((1, 1, 1, 2, 2, 3, 4)))]
    return Plan(
        seed=seed,
        rng=random.Random(f"on the way {seed}"),
        language=rng.choice(LANGUAGES),
        units=rng.choice(("metric", "metric", "inch")),
        script=rng.random() < 0.5,
        sets=sets,
        goes_back=rng.random() < 0.3,
        two_tabs=rng.random() < 0.15,
        asks=rng.random() < 0.12,
        comes_later=rng.random() < 0.08,
        wrong_first=rng.random() < 0.35,
        looks_first=rng.random() < 0.4,
        photo=rng.random() < 0.2,
        rush=rng.random() < 0.2,
        arrival=rng.choice(
            (
                "as_declared",
                "as_declared",
                "layers",
                "damage",
                "missing",
                "fitted",
                "more",
                "finish",
            )
        ),
        says_yes=rng.random() < 0.7,
        by_link=rng.random() < 0.6,
        pays=rng.choice(("all", "all", "all", "less", "before")),
        pdf=seed % 20 == 0,
        name=rng.choice(NAMES),
        email=rng.choice(MAILS).format(seed),
        phone=rng.choice(PHONES).format(f"{rng.randrange(1000):03d}"),
    )


def _set(seed: int, number: int, rng: random.Random) -> SetPlan:
    count = rng.choice((1, 2, 2, 3, 4, 4, 4, 4, 5, 6, 8, rng.randint(1, 20)))
    if number:  # the fourth set of twenty is no other case than the first
        count = min(count, 3)
    return SetPlan(number, count, rng.choice(SIZES), random.Random(f"set {seed} {number}"))
