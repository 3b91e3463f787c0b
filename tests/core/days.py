"""Entries outside any exam, made by hand or by hypothesis: desks that write records, visits and merges."""

from typing import Any

from hypothesis import strategies as st

from tests.core.entries import BELLA, DEVICES, MAX, PATIENT, Entry, Writer

OTHER = MAX["id"]


class Desk(Writer):
    """A desk that writes about animals and visits; nothing of it belongs to an exam."""

    def write(self, kind: str, body: Any, after: Any = (), of: Any = (), **header: Any) -> Entry:
        entry = super().write(kind, body, after, of, **({"exam": None} | header))
        # The writer's own ids leave the animal out.
        return entry | {"id": entry["id"][:60] + entry["patient"][-4:]}

    def fact(self, field: str, value: Any, after: Any = (), patient: str = PATIENT, **more: Any) -> Entry:
        return self.write("set", {"about": f"patient.{field}", "value": value} | more, after, patient=patient)

    def planned(self, date: str = "2026-11-25", patient: str = PATIENT, **more: Any) -> Entry:
        return self.write("planned", {"about": "visit", "date": date, "patient": {"name": "Bella"}} | more,
                          patient=patient)

    def change(self, visit: Entry, field: str, value: Any, after: Any = ()) -> Entry:
        return self.write("set", {"about": f"visit.{field}", "value": value}, after, [visit["id"]])

    def merged(self, gone: Entry, kept: Entry) -> Entry:
        return self.write("merged", {"about": "patient", "from": gone, "into": kept, "why": "twice"},
                          patient=kept["id"])


@st.composite
def desks(draw: Any) -> list[Entry]:
    """Two desks writing records, visits, merges and strikes, each having seen some of what was there."""
    writers = [Desk(), Desk(DEVICES[1])]
    entries = [writers[0].planned()]
    for _ in range(draw(st.integers(1, 10))):
        writer = draw(st.sampled_from(writers))
        kind = draw(st.sampled_from(["fact", "visit", "change", "merge", "strike"]))
        seen = draw(st.lists(st.sampled_from([entry["id"] for entry in entries]), max_size=2, unique=True))
        who = draw(st.sampled_from([PATIENT, OTHER]))
        if kind == "fact":
            field, value = draw(st.sampled_from([("name", "A"), ("name", "B"), ("weight_kg", "9"), ("weight_kg", "8")]))
            entries.append(writer.fact(field, value, seen, who, source="record"))
        elif kind == "visit":
            entries.append(writer.planned(draw(st.sampled_from(["2026-11-25", "2026-11-26"])), who, order=len(entries)))
        elif kind == "change":
            visit = draw(st.sampled_from([entry for entry in entries if entry["kind"] == "planned"]))
            field, value = draw(st.sampled_from([("date", "2026-11-27"), ("order", 3), ("cancelled", True)]))
            entries.append(writer.change(visit, field, value, seen))
        elif kind == "merge":
            entries.append(writer.merged(*draw(st.sampled_from([(MAX, BELLA), (BELLA, MAX)]))))
        else:
            entries.append(writer.struck(*seen))
    return entries
