"""Every script that a browser runs is type-checked."""

import json
from fnmatch import fnmatch

from tests.house.tree import ROOT, files


def test_every_script_of_the_app_and_the_desk_is_type_checked() -> None:
    """sw/tsconfig.json's patterns, with ** over folders, name every .js outside tests and tools."""
    patterns = [
        pattern.removeprefix("../").replace("**/", "")
        for pattern in json.loads((ROOT / "sw" / "tsconfig.json").read_text())["include"]
    ]
    scripts = [path.relative_to(ROOT).as_posix() for path in files() if path.suffix == ".js"]
    assert len(scripts) > 60
    own = [name for name in scripts if name != "sw/sw.js"]  # named as it lies beside the configuration
    assert [name for name in own if not any(fnmatch(name, pattern) for pattern in patterns)] == []
