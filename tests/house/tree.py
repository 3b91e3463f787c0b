"""The project's own files, as the house tests look at them."""

import shutil
import subprocess
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MADE = {".git", ".venv", "instance", "node_modules", "__pycache__", ".pytest_cache", ".mypy_cache", ".ruff_cache",
        ".hypothesis"}
TEXT = {".py", ".js", ".mjs", ".ts", ".json", ".toml", ".md", ".html", ".css", ".typ", ".svg", ".lock", ".txt",
        ".webmanifest", ".npmrc", ".cfg", ""}


@cache
def files() -> tuple[Path, ...]:
    """All files of the source tree, sorted: git's list where there is git, else all that is not made."""
    git = shutil.which("git") if (ROOT / ".git").exists() else None
    named: list[Path] = []
    if git:
        wanted = [git, "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
        asked = subprocess.run(wanted, cwd=ROOT, capture_output=True, check=False)
        named = [ROOT / name for name in asked.stdout.decode().split("\0") if name]
    if not named:  # no git, or not a checkout it would read
        named = [path for path in ROOT.rglob("*") if not MADE & set(path.relative_to(ROOT).parts)
                 and path.relative_to(ROOT).parts[:2] != ("static", "build")]
    return tuple(sorted(path for path in named if path.is_file()))


@cache
def texts() -> tuple[tuple[str, str], ...]:
    """(path from the root, text) of every text file."""
    return tuple((name(path), path.read_text(encoding="utf-8")) for path in files() if path.suffix in TEXT)


def name(path: Path) -> str:
    return str(path.relative_to(ROOT))
