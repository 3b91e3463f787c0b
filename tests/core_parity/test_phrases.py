"""Said and typed words are read alike by the phone's Python and the server's."""

import json
import random
from pathlib import Path
from typing import Any

from tests.core.test_phrase_laws import ALIASES, NUMERALS
from tests.core_parity.test_two_engines import compare

CASES = json.loads((Path(__file__).parents[1] / "core" / "phrases.json").read_text(encoding="utf-8"))
STRANGE = ["é", "ÉCHO", "½", "٦٫٢", "😀", "’s", "can’t", "\u00a0", "ß", "İ", "6½", "×", "\u202f6,2\u202fmm"]


def call(text: str, **more: Any) -> dict[str, Any]:
    return {"do": "phrase", "text": text, "species": "dog", **more}


def test_every_case_is_read_the_same() -> None:
    more = ("species", "unit", "sticky")
    answers = compare([call(row["say"], **{key: row[key] for key in more if key in row}) for row in CASES])
    assert len(answers) > 200 and not any("error" in answer for answer in answers)


def test_random_words_are_read_the_same() -> None:
    chance = random.Random(20261125)
    texts = []
    for _ in range(600):
        words = []
        for _ in range(chance.randint(1, 12)):
            number = f"{chance.randint(0, 99)}{chance.choice(['', '.4', ',25', 'mm', '.5 cm', 'x3', '-4'])}"
            kinds = [chance.choice(ALIASES), chance.choice(NUMERALS), number, chance.choice(STRANGE)]
            words.append(chance.choices(kinds, [60, 20, 15, 5])[0])
        texts.append(" ".join(words))
    answers = compare(
        [call(text, unit=chance.choice(["mm", "cm"]), species=chance.choice(["dog", "cat"])) for text in texts]
    )
    assert sum(len(answer["proposals"]) for answer in answers) > 200
