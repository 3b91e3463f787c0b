"""Near misses: a word one slip of the finger away from a word of the closed vocabulary.

Only names of structures, parts and measures are mended so, only long words, only where one name alone is near;
never a side, a number, a unit, a negation or a state.
"""

SHORTEST = 6


def meant(word: str, names: dict) -> str | None:
    """The one name with the same first letter that is one slip from the word, or None; `names` by first letter."""
    if len(word) < SHORTEST:
        return None
    found = None
    for name in names.get(word[0], []):
        if _one_slip(word, name):
            if found is not None:
                return None
            found = name
    return found


def _one_slip(a: str, b: str) -> bool:
    """One letter more, less or other, or two neighbours swapped."""
    if len(a) > len(b):
        a, b = b, a
    if len(b) - len(a) > 1 or a == b:
        return False
    start = 0
    while start < len(a) and a[start] == b[start]:
        start += 1
    if len(a) < len(b):
        return a[start:] == b[start + 1 :]
    if a[start + 1 :] == b[start + 1 :]:
        return True
    swapped = a[start + 1 : start + 2] + a[start : start + 1]
    return a[start + 2 :] == b[start + 2 :] and swapped == b[start : start + 2]
