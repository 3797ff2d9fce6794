#!/usr/bin/env python3
"""Judges the schemas and the files by Python's validator, pinned.

The schemas themselves must be valid draft 7; every file of the demo and of a new studio
must be taken; of tests/problems, those with an unknown, missing or wrong value in the
order's own file must be refused.

Usage: .ci/schemas.py    (Python 3.11 or later, a package index for pip, cargo)
"""
import json
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PINNED = ["jsonschema==4.26.0", "PyYAML==6.0.3"]
REFUSED = ["unknown-key", "missing-keys", "wrong-value", "no-mail-address",
           "negative-and-objects", "neither-negative-nor-objects", "objects-without-cover",
           "stock-unknown-key", "stock-come-and-counted", "stock-bottle-overfull"]


def judge() -> int:
    """Runs inside the environment: reads, validates, tells."""
    import re

    import jsonschema
    import yaml

    class Yaml12(yaml.SafeLoader):
        """The core words of YAML 1.2: `yes`, days and times are text."""

    Yaml12.yaml_implicit_resolvers = {}
    core = [("bool", r"true|True|TRUE|false|False|FALSE", "tTfF"),
            ("int", r"[-+]?[0-9]+", "-+0123456789"),
            ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", "-+0123456789."),
            ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""])]
    for name, words, first in core:
        Yaml12.add_implicit_resolver(f"tag:yaml.org,2002:{name}", re.compile(f"^(?:{words})$"),
                                     list(first))

    new = Path(sys.argv[2])
    validators = {}
    for name in ["order", "studio", "stock"]:
        schema = json.loads((new / "schema" / f"{name}.json").read_text())
        jsonschema.Draft7Validator.check_schema(schema)
        validators[name] = jsonschema.Draft7Validator(schema)

    def errors(path: Path) -> list[str]:
        name = path.stem if path.stem in ("studio", "stock") else "order"
        value = yaml.load(path.read_text(encoding="utf-8-sig"), Loader=Yaml12)
        return [error.message for error in validators[name].iter_errors(value)]

    wrong = []
    good = sorted(ROOT.glob("orders/*.yaml")) + sorted(new.glob("*.yaml"))
    for path in good:
        wrong += [f"{path}: {message}" for message in errors(path)]
    for name in REFUSED:
        file = "stock.yaml" if name.startswith("stock-") else "a.yaml"
        if not errors(ROOT / "tests" / "problems" / name / file):
            wrong.append(f"{name}: taken, expected to be refused")
    print("\n".join(wrong) or f"{len(good)} files taken, {len(REFUSED)} refused")
    return 1 if wrong else 0


def main() -> int:
    """Makes the environment and a new studio in a temporary folder."""
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        venv.create(work / "venv", with_pip=True)
        python = str(work / "venv" / "bin" / "python")
        pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
        subprocess.run([*pip, *PINNED], check=True)
        run = ["cargo", "run", "--quiet", "--release", "--", "new", str(work / "studio")]
        subprocess.run(run, check=True, cwd=ROOT, stdout=subprocess.DEVNULL)
        again = [python, __file__, "judge", str(work / "studio")]
        return subprocess.run(again, check=False).returncode


if __name__ == "__main__":
    sys.exit(judge() if sys.argv[1:2] == ["judge"] else main())
