"""The next window to try for a part that was not seen or was cut obliquely: common practice, no published source."""


def tried(exam: dict, structure: str) -> list:
    """The ids of the windows ticked as tried at this structure (the slot "<structure>.windows_tried")."""
    return (exam.get("fields") or {}).get(structure + ".windows_tried") or []


def in_order(table: dict, structure: str, done: list) -> list:
    """The structure's windows with {"id", "label", "how", "tried"}, the untried ones first."""
    rows = table["structures"].get(structure, {}).get("windows", [])
    marked = [{"id": row["id"], "label": row["label"], "how": row["how"], "tried": row["id"] in done} for row in rows]
    return [row for row in marked if not row["tried"]] + [row for row in marked if row["tried"]]


def tried_words(table: dict, structure: str, done: list) -> str:
    """ "three windows tried: ...", or "" where none was ticked."""
    labels = [row["label"] for row in in_order(table, structure, done) if row["tried"]]
    if not labels:
        return ""
    count = NUMBERS[len(labels)] if len(labels) < len(NUMBERS) else str(len(labels))
    return count + (" window tried: " if len(labels) == 1 else " windows tried: ") + ", ".join(labels)


NUMBERS = ("no", "one", "two", "three", "four", "five", "six")
