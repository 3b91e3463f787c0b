"""A stable merge sort on text keys: the phone's built-in sort is neither stable nor fast on sorted input."""


def by_keys(items: list, keys: list) -> list:
    """The items in ascending order of their keys, texts in the same order as the items; equal keys keep theirs."""
    return [pair[1] for pair in _merge_sort([(keys[place], item) for place, item in enumerate(items)])]


def _merge_sort(pairs: list) -> list:
    if len(pairs) < 2:
        return pairs
    middle = len(pairs) // 2
    left, right = _merge_sort(pairs[:middle]), _merge_sort(pairs[middle:])
    merged = []
    i = j = 0
    while i < len(left) and j < len(right):
        if right[j][0] < left[i][0]:
            merged.append(right[j])
            j += 1
        else:
            merged.append(left[i])
            i += 1
    return merged + left[i:] + right[j:]


def padded(number: int) -> str:
    """A whole number as text of fixed width, so that texts sort as the numbers do."""
    text = str(number)
    while len(text) < 12:
        text = "0" + text
    return text
