"""Exams made at random, the same each time: any quantity, structure, state, strike, fork, move, earlier exam."""

import random
from typing import Any

from tests.core.entries import BELLA, MAX, TOM, Entry, Writer
from tests.core.support import table

PHONE, OTHER, DESK = "a" * 32, "b" * 32, "c" * 32
SIGNS = ["hypoadrenocorticism_suspected", "hyperadrenocorticism_proven", "chronic_kidney_disease_suspected"]
BREEDS = ["Labrador Retriever", "Yorkshire Terrier", "Shih Tzu", "Border Terrier cross", "Dackel", "Maine Coon", None]
CUTS = ["true_long", "true_long", "not_said", "not_said", "oblique"]


class Chance(random.Random):
    """Choices of one generated animal: its exams measure the same few quantities."""

    def __init__(self, seed: int) -> None:
        super().__init__(seed)
        quantities = [row for row in table("catalogue")["quantities"] if not row["derived"]]
        adrenal = [row for row in quantities if row["id"].startswith("adrenal")]
        self.quantities = self.sample(adrenal, 4) + self.sample(quantities, 5)

    def often(self, share: float) -> bool:
        return self.random() < share

    def near(self, quantity: dict[str, Any]) -> str:
        """A value around what is usual, now and then far outside or as typed by a slip."""
        window = (quantity["usual"] or {}).get(self.choice(["dog", "cat"])) or quantity["plausible"] or {}
        low, high = float(window.get("from") or 1), float(window.get("to") or 9)
        value = self.uniform(low * 0.7, high * 1.3) * self.choice([1] * 12 + [10, 0.1])
        return f"{value:.{self.choice([0, 1, 1, 1, 2])}f}"


def signalment(chance: Chance) -> dict[str, Any]:
    return {
        "species": chance.choice(["dog", "dog", "cat"]),
        "breed": chance.choice(BREEDS),
        "sex": chance.choice(["male", "female", None]),
        "neutered": chance.choice([True, False, None]),
        "age_months": chance.choice([None, 7, 11, 12, 40, 60, 96, 120, 150, 190]),
        "weight_kg": chance.choice([None, *[f"{chance.uniform(1, 45):.1f}" for _ in range(4)], "7.25", "10", "5"]),
        "ideal_weight_kg": chance.choice([None, None, f"{chance.uniform(2, 40):.1f}"]),
        "body_condition": chance.choice([None, 3, 5, 7, 9]),
    }


def context(chance: Chance) -> dict[str, Any]:
    return {
        "fasted": chance.choice([True, False, None]),
        "sedation": chance.choice([[], ["acepromazine"], ["butorphanol", "dexmedetomidine"]]),
        "fluids": chance.choice(["none", "running", None]),
        "steroids": chance.choice(["none", "unknown", "prednisolone", None]),
        "bladder_filling": chance.choice(["empty", "moderate", "full", None]),
        "signs": chance.sample(SIGNS, chance.randint(0, 2)),
    }


def exam(chance: Chance, date: str = "2026-11-24") -> list[Entry]:
    """The entries of one exam, by one to three devices, 4 to 20 acts."""
    writers = [Writer(device) for device in [PHONE, OTHER, DESK][: chance.choice([1, 1, 2, 3])]]
    asked = [chance.choice(table("catalogue")["structures"])["id"] for _ in range(chance.randint(0, 2))]
    body = {"about": "exam", "date": date, "patient": signalment(chance), "context": context(chance)}
    entries = [writers[0].write("opened", body | {"question": {"text": "Why?", "structures": asked}})]
    if len(writers) > 1 and chance.often(0.5):  # two people began it, each on a phone
        other = body | {"patient": signalment(chance), "context": context(chance)}
        entries.append(writers[1].write("opened", other))
    for _ in range(chance.randint(3, 14)):
        entries += act(chance, chance.choice(writers), entries)
    return entries


def act(chance: Chance, writer: Writer, before: list[Entry]) -> list[Entry]:
    """The entries of one act of the author: often several readings of one quantity."""
    what = chance.choices(list(ACTS), weights=[weight for weight, _ in ACTS.values()])[0]
    return ACTS[what][1](chance, writer, before)


def _measured(chance: Chance, writer: Writer, before: list[Entry]) -> list[Entry]:
    quantity = chance.choice(chance.quantities)
    more: dict[str, Any] = {"plane": chance.choice([quantity["plane"]] * 5 + ["transverse", None])}
    more["cut"] = chance.choice(CUTS)
    if chance.often(0.1):
        more["view"] = chance.choice(["whole", "partly"])
    if chance.often(0.2):
        more |= {"depth_mm": f"{chance.randint(30, 120)}", "rows": "480"}
    frames = ["new_image", chance.choice(["new_image", "same_frame"])]
    value, spread = float(chance.near(quantity)), chance.choice([0.02, 0.05, 0.25])
    return [
        writer.read(
            f"{max(value * chance.uniform(1 - spread, 1 + spread), 0):.1f}",
            quantity["id"],
            quantity["unit"],
            acquired=frames[n > 0],
            **more,
        )
        for n in range(chance.choice([1, 2, 2, 3]))
    ]


def _glands(chance: Chance, writer: Writer, before: list[Entry]) -> list[Entry]:
    """Both poles of both adrenal glands, twice each, one side now and then much thinner."""
    made = []
    for side in ("left", "right"):
        size = chance.uniform(3, 9) * chance.choice([1, 1, 0.5])
        for pole in ("caudal", "cranial"):
            for _ in range(2):
                value = f"{size * chance.uniform(0.95, 1.05):.1f}"
                name = f"adrenal.{side}.{pole}_pole_thickness"
                made.append(writer.read(value, name, plane="long_axis", view="whole"))
    return made


def _state(chance: Chance, writer: Writer, before: list[Entry]) -> list[Entry]:
    catalogue = table("catalogue")
    structure = chance.choice(catalogue["structures"])
    parts = [f"{structure['id']}.{part['id']}" for part in structure["parts"]]
    about = chance.choice([structure["id"], *parts])
    seen = chance.choice([row["id"] for row in catalogue["seen_states"]])
    why = [] if seen == "whole" else [chance.choice(catalogue["not_seen_reasons"])]
    normal = seen == "whole" and chance.often(0.6)
    return [writer.seen(about, seen, why=why, normal=normal, after=_known(chance, before, "seen"))]


def _found(chance: Chance, writer: Writer, before: list[Entry]) -> list[Entry]:
    structure = chance.choice(["adrenal.left", "adrenal.right", "spleen", "liver", "vena_cava", "bladder"])
    body: dict[str, Any] = {"about": structure, "finding": chance.choice(["nodule", "mass", "cyst", "material"])}
    if chance.often(0.7):
        axes = [f"{chance.uniform(3, 60):.1f}" for _ in range(chance.randint(1, 3))]
        body |= {"dimensions": axes, "unit": "mm", "number": chance.randint(1, 3)}
    if chance.often(0.3):
        body |= {"vessel": {"id": "vena_cava", "state": chance.choice(["material, attached", "clear", "not seen"])}}
    if chance.often(0.5):
        sketch = table("descriptors")["sketch"]
        fields = sketch.get(structure.split(".")[0]) or sketch["default"]
        body |= {"site": f"{chance.choice(fields['rows'])}, {chance.choice(fields['columns'])}"}
    if structure.startswith("adrenal") and chance.often(0.3):
        body |= {"shape": "mass, poles not separable"}
    return [writer.write("found", body)]


def _described(chance: Chance) -> tuple[str, list[str]]:
    """Some words of one list of a structure, opposites among them."""
    tables = table("descriptors")
    structure = chance.choice(table("catalogue")["structures"])["id"]
    if structure.startswith("adrenal."):
        name = chance.choice(["capsule", "layers", "mineral", "fat_around"])
        return f"{structure}.{name}", chance.sample(tables["adrenal"][name], chance.randint(0, 3))
    kind = tables["classes"].get(structure) or structure.split(".")[0]
    group = chance.choice(tables["organs"][kind])
    words = chance.sample(group["words"], chance.randint(0, min(3, len(group["words"]))))
    return f"{structure}.{group['id']}", words


def _set(chance: Chance, writer: Writer, before: list[Entry]) -> list[Entry]:
    about, value = chance.choice(
        [
            ("patient.weight_kg", f"{chance.uniform(1, 50):.1f}"),
            ("patient.age_months", chance.randint(2, 200)),
            ("context.signs", [chance.choice(SIGNS)]),
            ("question.answered", "partly"),
            ("impression", "Nodule in the LEFT gland; RIGHT cranial pole not seen."),
            ("adrenal.left.capsule", ["smooth"]),
            _described(chance),
            _described(chance),
        ]
    )
    return [writer.set(about, value, after=_known(chance, before, "set"), source="scales today")]


def _moved(chance: Chance, writer: Writer, before: list[Entry]) -> list[Entry]:
    return [writer.moved(chance.choice([MAX, TOM, BELLA]), after=_known(chance, before, "set"))]


def _struck(chance: Chance, writer: Writer, before: list[Entry]) -> list[Entry]:
    return [writer.struck(chance.choice(before[1:] or before)["id"])]


def _noted(chance: Chance, writer: Writer, before: list[Entry]) -> list[Entry]:
    return [writer.write("noted", {"about": "spleen", "text": "Ångström, 6,2 mm? é 😀"})]


def _other(chance: Chance, writer: Writer, before: list[Entry]) -> list[Entry]:
    return [writer.write(*chance.choice([("closed", {"about": "exam"}), ("guessed", {}), ("read", {"about": "x"})]))]


ACTS = {
    "measured": (9, _measured),
    "glands": (1, _glands),
    "state": (5, _state),
    "found": (2, _found),
    "set": (3, _set),
    "moved": (0.4, _moved),
    "struck": (1, _struck),
    "noted": (1, _noted),
    "other": (0.5, _other),
}


def _known(chance: Chance, before: list[Entry], kind: str) -> list[str]:
    """What the author may have seen: usually all entries of that kind, now and then none (a fork)."""
    return [entry["id"] for entry in before if entry["kind"] == kind] if chance.often(0.6) else []


def calls(count: int, seed: int) -> list[dict[str, Any]]:
    """So many calls, each opening one exam; every fourth with an earlier one."""
    made = []
    for number in range(count):
        chance = Chance(seed + number)
        earlier = [{"entries": exam(chance, "2026-05-02")}] if number % 4 == 0 else []
        made.append({"do": "open", "entries": exam(chance), "earlier": earlier, "today": "2026-11-24"})
    return made
