"""Every check and test of the project in one go; `./tests/run` starts it with the tools set up.

Order: ruff, mypy, tsc, node's test runner, then pytest over tests/ and e2e/ (arguments go to pytest; paths
among them replace the two folders). Later steps run even when an earlier one failed; the exit code tells.
"""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TOOLS = Path(sys.executable).parent
# Five actors by chance (tests/js/five.test.mjs) take ten thousand steps here, a tenth of it where somebody is at work.
WORLDS = {"GELSIDE_WORLDS": "20"}


def run(words: str, command: list[str], where: Path = ROOT) -> bool:
    print(f"== {words}", flush=True)
    path = f"{TOOLS}{os.pathsep}{os.environ.get('PATH', os.defpath)}"
    return subprocess.run(command, cwd=where, env={**WORLDS, **os.environ, "PATH": path}).returncode == 0


def node_tests() -> list[str]:
    """Test files for node's own runner, as paths from the root."""
    found = [p for folder in ("sw", "tests/js") for p in (ROOT / folder).rglob("*.test.*js")]
    return sorted(str(p.relative_to(ROOT)) for p in found if "node_modules" not in p.parts)


def static_checks() -> list[str]:
    """Run the checks that read the code; the names of those that failed."""
    checks = [
        ("ruff", [sys.executable, "-m", "ruff", "check", "."], ROOT),
        ("mypy", [sys.executable, "-m", "mypy"], ROOT),
        ("tsc", ["npm", "run", "--silent", "check"], ROOT / "sw"),
    ]
    if node_tests():
        checks.append(("node --test", ["node", "--test", *node_tests()], ROOT))
    return [words for words, command, where in checks if not run(words, command, where)]


def main(arguments: list[str]) -> int:
    named = [a for a in arguments if not a.startswith("-") and (ROOT / a.split("::")[0]).exists()]
    failed = static_checks()
    folders = [] if named else ["tests", "e2e"]
    passed = run("pytest", [sys.executable, "-m", "pytest", *folders, *arguments])
    if failed:
        print(f"These checks failed before the tests: {', '.join(failed)}.", file=sys.stderr)
    return 0 if passed and not failed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
