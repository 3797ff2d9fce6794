#!/usr/bin/env python3
"""Has two other YAML readers judge every change that the tests make to ugly order files.

The test `changes_are_written_out_for_other_readers` writes the texts before and after
each change, and what was to change. PyYAML (YAML 1.1, after libyaml's grammar) and
ruamel.yaml (YAML 1.2) read both; the one must mean the other with just that entry more.
Beside it every line but one is compared byte for byte. Anything else ends with status 1.

Usage: .ci/edits.py    (Python 3.11 or later, a package index for pip, cargo)
"""
import json
import os
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

HERE = Path(__file__).resolve().parent
LINES_MAX = 6


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        venv.create(work / "venv", with_pip=True)
        python = str(work / "venv" / "bin" / "python")
        pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
        subprocess.run([*pip, "--requirement", str(HERE / "edits.requirements.txt")], check=True)
        out = work / "edits"
        out.mkdir()
        test = ["cargo", "test", "--quiet", "--test", "it", "changes_are_written_out"]
        environment = os.environ | {"FAIRDAY_EDITS_OUT": str(out)}
        subprocess.run(test, check=True, cwd=HERE.parent, env=environment, stdout=subprocess.DEVNULL)
        return subprocess.run([python, __file__, "judge", str(out)]).returncode


def readers():
    """The two readers; each returns keys, lists and texts, numbers and dates unread."""
    import warnings

    import yaml

    from ruamel.yaml import YAML
    from ruamel.yaml.constructor import SafeConstructor
    from ruamel.yaml.error import ReusedAnchorWarning
    from ruamel.yaml.nodes import MappingNode, SequenceNode

    warnings.simplefilter("ignore", ReusedAnchorWarning)

    class Plain(SafeConstructor):
        """Leaves every word as it stands, whatever its tag."""

        def construct_object(self, node, deep=False):
            if isinstance(node, MappingNode):
                pairs = [(self.construct_object(k), self.construct_object(v)) for k, v in node.value]
                return dict(pairs)
            if isinstance(node, SequenceNode):
                return [self.construct_object(child) for child in node.value]
            return node.value

    def ruamel(text):
        reader = YAML(typ="safe", pure=True)
        reader.Constructor = Plain
        return reader.load(text)

    class Untagged(yaml.BaseLoader):
        pass

    for tag in ["map", "seq", "str", "null", "int"]:
        full = f"tag:yaml.org,2002:{tag}"
        Untagged.add_constructor(full, lambda loader, node: plain(loader, node))
    Untagged.add_multi_constructor("!", lambda loader, suffix, node: plain(loader, node))

    def plain(loader, node):
        if isinstance(node, yaml.MappingNode):
            return loader.construct_mapping(node, deep=True)
        if isinstance(node, yaml.SequenceNode):
            return loader.construct_sequence(node, deep=True)
        return loader.construct_scalar(node)

    return {"PyYAML": lambda text: yaml.load(text, Loader=Untagged), "ruamel.yaml": ruamel}


def wanted(before, change):
    """What the file must mean afterwards."""
    item = {key: value for key, value in change["item"].items() if value is not None}
    if "set" in change:
        return before | {change["set"]: item}
    *way, key = change["append_to"]
    below = before
    for step in way:
        below = below[step]
    had = below.get(key)
    had = [] if had in ("", "~", "null", "NULL", None) else had
    changed = dict(below) | {key: [*had, item]}
    if not way:
        return changed
    pieces = list(before["pieces"])
    pieces[way[1]] = changed
    return before | {"pieces": pieces}


def lines_differ(before: bytes, after: bytes) -> str | None:
    """Says what is wrong with the lines, if something is."""
    old, new = before.splitlines(keepends=True), after.splitlines(keepends=True)
    above = 0
    while above < min(len(old), len(new)) and old[above] == new[above]:
        above += 1
    below = 0
    while below < min(len(old), len(new)) - above and old[-1 - below] == new[-1 - below]:
        below += 1
    gone, come = len(old) - above - below, len(new) - above - below
    if gone > 1 or come - gone > LINES_MAX:
        return f"{gone} lines taken out, {come} put in"
    return None


def ended(text: bytes) -> str:
    """The text with its last line ended, as it must be before another line can follow."""
    return text.decode() + ("" if text.endswith(b"\n") else "\n")


def judge(out: Path) -> int:
    index = json.loads((out / "index.json").read_text())
    wrong, unread, judged = [], {}, {}
    for number, entry in enumerate(index):
        texts = [(out / f"{number}.{when}").read_bytes() for when in ("before", "after")]
        differ = lines_differ(*texts)
        if differ:
            wrong.append(f"{entry['name']}: {differ}")
        for name, read in readers().items():
            try:
                before = read(ended(texts[0]))
            except Exception as refusal:
                unread.setdefault(name, set()).add(entry["name"].split(":")[0])
                continue
            try:
                after = read(ended(texts[1]))
            except Exception as refusal:
                wrong.append(f"{entry['name']}: {name} cannot read it any more: {refusal}")
                continue
            judged[name] = judged.get(name, 0) + 1
            if after != wanted(before, entry["change"]):
                wrong.append(f"{entry['name']}: {name} understands it otherwise\n  {before}\n  {after}")
    print("\n".join(wrong))
    for name, count in judged.items():
        left = sorted(unread.get(name, ()))
        print(f"{name}: {count} of {len(index)} changes mean what they should; "
              f"{len(left)} files it does not read at all: {', '.join(left)}")
    few = any(count < 0.9 * len(index) for count in judged.values())
    return 1 if wrong or few or len(index) < 700 else 0


if __name__ == "__main__":
    sys.exit(judge(Path(sys.argv[2])) if sys.argv[1:2] == ["judge"] else main())
