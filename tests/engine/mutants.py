"""Does a test notice each small change to the engine? ``make mutants`` asks it of a random sample.

SAMPLE   how many changes to try (600; "all" for every one, which takes hours and may be interrupted and resumed)
SEED     which ones (1)
JOBS     processes side by side (1)

Printed: killed, survived, without a test, by module; the survivors with what changed. A survivor counts as "words"
when only a sentence, a title or a source changed, as "sense" when a number, a sign, a unit, a name or a code did.
A change in a function that runs once, while the engine is imported, cannot be judged in a fork of a process that has
imported it: those that survive are asked again, each in a fresh process, of the tests of tables.
The tests are tests/engine without the listing of docstrings, which cannot tell a function from its mutants.
"""

from __future__ import annotations

import ast
import json
import os
import random
import subprocess
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import libcst
from mutmut import __main__ as mutmut
from mutmut.mutation.diff_apply import read_functions_from_index
from mutmut.utils.format_utils import mangled_name_from_mutant_name

FOLDER = Path("mutants")
KINDS = ("killed", "words", "sense", "no test", "timeout")
FRESH = ("tests/engine/test_tables.py", "tests/engine/stages", "tests/engine/test_reading_results.py")
AT_IMPORT = """
import importlib, pkgutil, json, os
os.environ["MUTANT_UNDER_TEST"] = "stats"
import sizing.engine
for found in pkgutil.walk_packages(sizing.engine.__path__, "sizing.engine."):
    importlib.import_module(found.name)
from mutmut.state import state
print(json.dumps(sorted(state()._stats)))
"""


def _made() -> dict[str, Path]:
    """Every mutant and the file it stands in, written anew where the source changed."""
    mutmut.set_mutant_under_test("mutant_generation")
    FOLDER.mkdir(exist_ok=True)
    mutmut.copy_src_dir()
    mutmut.copy_also_copy_files()
    mutmut.setup_source_paths()
    mutmut.create_mutants(int(os.environ.get("JOBS", "1")))
    os.environ.pop("MUTANT_UNDER_TEST")
    found: dict[str, Path] = {}
    for path in mutmut.walk_mutatable_files():
        data = mutmut.SourceFileMutationData(path=path)
        data.load()
        found |= dict.fromkeys(data.exit_code_by_key, Path(path))
    return found


def _verdicts() -> dict[str, int | None]:
    codes: dict[str, int | None] = {}
    for meta in FOLDER.rglob("*.meta"):
        codes |= json.loads(meta.read_text(encoding="utf-8"))["exit_code_by_key"]
    return codes


def _judge(names: list[str]) -> None:
    command = [sys.executable, "-m", "mutmut", "run", "--max-children", os.environ.get("JOBS", "1"), *names]
    log = FOLDER / "run.log"
    with log.open("w", encoding="utf-8") as out:
        done = subprocess.run(command, stdout=out, stderr=subprocess.STDOUT, check=False)
    if done.returncode:
        sys.exit(f"mutmut stopped with {done.returncode}; its words are in {log}")


def _environment(mutant: str = "") -> dict[str, str]:
    kept = {key: value for key, value in os.environ.items() if key != "MUTANT_UNDER_TEST"}
    return kept | ({"MUTANT_UNDER_TEST": mutant} if mutant else {})


def _run_at_import() -> set[str]:
    asked = [sys.executable, "-c", AT_IMPORT]
    told = subprocess.run(asked, cwd=FOLDER, env=_environment(), capture_output=True, text=True, check=True)
    return set(json.loads(told.stdout.splitlines()[-1]))


def _survives_fresh(mutant: str) -> bool:
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:randomly", *FRESH]
    return subprocess.run(command, cwd=FOLDER, env=_environment(mutant), capture_output=True).returncode == 0


def _changed(before: Any, after: Any) -> Iterator[tuple[Any, Any]]:
    """The innermost parts of two trees that differ; ``None`` stands for a part that was dropped or put in."""
    if type(before) is not type(after):
        yield before, after
    elif isinstance(before, list):
        if len(before) == len(after):
            for one, other in zip(before, after, strict=True):
                yield from _changed(one, other)
        else:
            yield from _dropped(before, after)
    elif isinstance(before, ast.AST) and not isinstance(before, ast.Constant | ast.JoinedStr):
        for part in before._fields:
            yield from _changed(getattr(before, part), getattr(after, part))
    elif (ast.dump(before) if isinstance(before, ast.AST) else before) != (
        ast.dump(after) if isinstance(after, ast.AST) else after
    ):
        yield before, after


def _dropped(before: list[Any], after: list[Any]) -> Iterator[tuple[Any, Any]]:
    kept = [ast.dump(part) for part in after]
    for part in before:
        if (text := ast.dump(part)) in kept:
            kept.remove(text)
        else:
            yield getattr(part, "value", part) if isinstance(part, ast.keyword) else part, None


def _is_sentence(part: Any) -> bool:
    """Text for people to read, as opposed to a code, a key or a unit."""
    if isinstance(part, ast.JoinedStr):
        return True
    if isinstance(part, ast.Call):  # a citation fetched from the figures
        return _is_sentence(part.func)
    if isinstance(part, ast.Attribute):
        return part.attr in ("citation", "source", "status")
    if not isinstance(part, ast.Constant) or not isinstance(part.value, str):
        return False
    text = part.value.strip()
    return " " in text or text[:1].isupper() or text in STATUSES


STATUSES = ("published", "computed", "measured", "given")


def _diff(mutant: str, path: Path) -> tuple[str, str]:
    """("words" or "sense", what changed) of a mutant."""
    pair = read_functions_from_index(mutant, path)
    if pair is None:
        return "sense", "?"
    texts = [libcst.Module([function]).code.strip() for function in pair]
    trees = [ast.parse(text) for text in texts]
    parts = list(_changed(*trees))
    words = bool(parts) and all(
        _is_sentence(before) and (after is None or _is_text_or_nothing(after)) for before, after in parts
    )
    lines = [text.splitlines() for text in texts]
    first = next((i for i, (a, b) in enumerate(zip(*lines, strict=False)) if a != b), 0)
    shown = " -> ".join(text[first].strip()[:150] for text in lines)
    return ("words" if words else "sense"), shown


def _is_text_or_nothing(part: Any) -> bool:
    if isinstance(part, ast.JoinedStr):
        return True
    return isinstance(part, ast.Constant) and (part.value is None or isinstance(part.value, str))


def _kind(mutant: str, code: int | None, path: Path) -> tuple[str, str]:
    status = mutmut.status_by_exit_code[code]
    if status == "survived":
        return _diff(mutant, path)
    return {"no tests": "no test"}.get(status, status), ""


def report(kinds: dict[str, str]) -> str:
    """One line per module and the sum."""
    by_module: dict[str, Counter[str]] = defaultdict(Counter)
    for mutant, kind in kinds.items():
        module = mutant.removeprefix("sizing.engine.").rpartition(".")[0]
        by_module[module][kind] += 1
        by_module["all"][kind] += 1
    columns = [*KINDS, *sorted({kind for kind in kinds.values() if kind not in KINDS})]
    lines = [f"{'module':28}" + "".join(f"{column:>9}" for column in columns) + f"{'killed %':>10}"]
    for module in [*sorted(set(by_module) - {"all"}), "all"]:
        found = by_module[module]
        lines.append(
            f"{module:28}"
            + "".join(f"{found[column]:>9}" for column in columns)
            + f"{100 * (found['killed'] + found['timeout']) / max(found.total(), 1):>10.0f}"
        )
    return "\n".join(lines)


def main() -> None:
    """Judge a sample and print what became of it."""
    size, seed = os.environ.get("SAMPLE", "600"), int(os.environ.get("SEED", "1"))
    print("writing the mutants (some minutes the first time)", flush=True)
    made = _made()
    everything = size == "all"
    names = sorted(made) if everything else random.Random(seed).sample(sorted(made), min(int(size), len(made)))
    print(f"{len(made)} mutants; judging {len(names)}, seed {seed}", flush=True)
    _judge([] if everything else names)
    codes = _verdicts()
    at_import = _run_at_import()
    asked_again = [
        name
        for name in names
        if mangled_name_from_mutant_name(name) in at_import
        and mutmut.status_by_exit_code[codes[name]] in ("survived", "no tests")
    ]
    if asked_again:
        print(f"{len(asked_again)} run at import: asking them again in fresh processes", flush=True)
    for name in asked_again:
        codes[name] = 0 if _survives_fresh(name) else 1
    kinds, survivors = {}, []
    for name in names:
        kinds[name], shown = _kind(name, codes[name], made[name])
        if shown:
            survivors.append(f"{kinds[name]:6} {name.removeprefix('sizing.engine.')}\n       {shown}")
    (FOLDER / "survivors.txt").write_text("\n".join(sorted(survivors)) + "\n", encoding="utf-8")
    print("\n".join(sorted(survivors)))
    print(report(kinds))
    rest = len(kinds) - sum(kind in ("killed", "timeout") for kind in kinds.values())
    print(f"{rest} of {len(kinds)} were not noticed; they are listed in {FOLDER / 'survivors.txt'}")


if __name__ == "__main__":
    main()
