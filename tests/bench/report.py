"""How long a report takes: python -m tests.bench.report [--rounds 5]

Every invented exam through the content, the page, the text and the PDF; the first PDF of the process apart, for it
loads fonts and the layout. A vet waits for these at signing: the promise is under a second after the first.
"""

import argparse
import statistics
import time

from tests.report import samples
from webapp.report import content, page, pdf, text

LIMIT_S = 1.0


def seconds(what: object, *given: object) -> tuple[float, object]:
    started = time.perf_counter()
    made = what(*given)  # type: ignore[operator]
    return time.perf_counter() - started, made


def main() -> None:
    rounds = argparse.ArgumentParser(description=__doc__)
    rounds.add_argument("--rounds", type=int, default=5)
    number = rounds.parse_args().rounds
    took: dict[str, list[float]] = {"content": [], "page": [], "text": [], "PDF": []}
    first = 0.0
    for _ in range(number):
        for name in samples.demo_names():
            told, judged = samples.of_demo(name)
            given = (told, judged, samples.meta(), samples.tables(), samples.courses_of(name))
            spent, report = seconds(content.report, *given)
            took["content"].append(spent)
            for form, make in (("page", page.page), ("text", text.text), ("PDF", pdf.pdf)):
                spent, _made = seconds(make, report)
                if form == "PDF" and not first:
                    first = spent
                else:
                    took[form].append(spent)
    print(f"{len(samples.demo_names())} exams, {number} rounds; the first PDF of the process {first * 1000:.0f} ms")
    for form, spans in took.items():
        print(f"{form:8} median {statistics.median(spans) * 1000:6.0f} ms   slowest {max(spans) * 1000:6.0f} ms")
    slowest = max(took["PDF"])
    verdict = "under" if slowest < LIMIT_S else "NOT UNDER"
    print(f"slowest PDF after the first: {slowest:.2f} s, {verdict} {LIMIT_S:.0f} s")


if __name__ == "__main__":
    main()
