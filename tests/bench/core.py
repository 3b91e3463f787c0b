"""The rules on the phone's engine, by hand: an exam judged whole, and after one more entry.

    .venv/bin/python -m tests.bench.core

An exam of all structures with 15 to 240 readings and two earlier exams, in MicroPython under node (the phone's engine,
WebAssembly): `open` is JSON text in to JSON text out, folding and summarising all three exams; `judge` is the
folded exam with its two summarised earlier ones, judged whole; `more` is one more reading, text in to text out.
Prints medians and p95 of processor time at this machine's speed, and times four. Asserts nothing about them.
"""

import argparse
import json
import os
import shutil
import subprocess
from typing import Any

from tests.bench.phone import percentile
from tests.core.entries import Entry, Writer
from tests.core.support import table
from tests.core_parity.test_two_engines import CORE, ROOT, RUNTIME

SIZES = (15, 30, 60, 120, 240)
MORE = (
    ("adrenal.left.caudal_pole_thickness", "6.6"),
    ("kidney.left.length", "71.0"),
    ("jejunum.wall_thickness", "3.9"),
    ("spleen.thickness", "14.2"),
)


def exam(readings: int, date: str, device: str) -> list[Entry]:
    """Every structure seen, so many readings: the core quantities first, two or three of each."""
    writer = Writer(device)
    entries = [writer.write("opened", {
        "about": "exam", "date": date,
        "patient": {"name": "Otto", "species": "dog", "sex": "male", "neutered": True, "age_months": 120,
                    "weight_kg": "24.7", "body_condition": 6},
        "question": {"text": "Cushing's?", "structures": ["adrenal.left", "adrenal.right"]},
        "context": {"fasted": True, "signs": []},
    })]
    for structure in table("catalogue")["structures"]:
        entries.append(writer.seen(structure["id"], "whole", normal=structure["id"][:7] != "adrenal"))
    quantities = [row for row in table("catalogue")["quantities"] if not row["derived"] and row["structure"]]
    wanted = [row for row in quantities if row["core"]] + [row for row in quantities if not row["core"]]
    place = 0
    while place < readings:
        quantity = wanted[(place // 2) % len(wanted)]
        window = (quantity["usual"] or {}).get("dog") or {"from": "3", "to": "9"}
        value = (float(window["from"]) + float(window["to"])) / 2 + (place % 2) * 0.3
        entries.append(writer.read(f"{value:.1f}", quantity["id"], quantity["unit"], plane=quantity["plane"]))
        place += 1
    return entries


def size(readings: int) -> dict[str, Any]:
    current = exam(readings, "2026-11-24", "a" * 32)
    earlier = [{"entries": exam(readings, date, "b" * 32)} for date in ("2026-02-01", "2026-07-01")]
    writer = Writer("a" * 32, len(current))
    units = {row["id"]: row["unit"] for row in table("catalogue")["quantities"]}
    more = [writer.read(value, about, units[about]) for about, value in MORE]
    ask = [{"do": "open", "entries": current, "earlier": earlier, "as": "units"}]
    ask += [{"do": "apply", "entries": [entry], "as": "units"} for entry in more]
    texts = [json.dumps(call) for call in ask]
    return {"readings": readings, "open": texts[0], "more": texts[1:]}


def main() -> None:
    parser = argparse.ArgumentParser(description="Time the rules on the phone's engine.")
    parser.add_argument("--rounds", type=int, default=15)
    asked = {
        "runtime": str(RUNTIME),
        "files": {path.name: path.read_text(encoding="utf-8") for path in CORE.glob("*.py")},
        "tables": {path.stem: path.read_text(encoding="utf-8") for path in (CORE / "tables").glob("*.json")},
        "sizes": [size(readings) for readings in SIZES],
        "rounds": parser.parse_args().rounds,
    }
    node = shutil.which("node", path=f"{ROOT / '.venv/bin'}{os.pathsep}{os.environ['PATH']}") or "node"
    script = ROOT / "tests/bench/core.mjs"
    ran = subprocess.run([node, str(script)], input=json.dumps(asked), capture_output=True, text=True, check=True)
    print("readings   judged whole p50  p95  (x4)    one more p50  p95  (x4)    opened with two earlier p50 (x4)   ms")
    for row in json.loads(ran.stdout):
        cells = [row["judge"], row["more"], row["open"]]
        (j, k), (m, n), (o, _) = [(percentile(cell, 0.5), percentile(cell, 0.95)) for cell in cells]
        print(f"{row['readings']:8}   {j:16.1f} {k:4.1f} ({4 * j:5.1f})   {m:12.1f} {n:4.1f} ({4 * m:5.1f})"
              f"   {o:24.1f} ({4 * o:5.1f})")
        by_entry = [percentile(row["more"][place :: len(MORE)], 0.5) for place in range(len(MORE))]
        named = [f"{about} {ms:.1f}" for (about, _), ms in zip(MORE, by_entry, strict=True)]
        print("           one more, by quantity:", ", ".join(named))


if __name__ == "__main__":
    main()
