#!/usr/bin/env python3
"""Seeds the faults of tests/faults/faults.toml one after the other and expects a failing test.

    python3 tests/tools/seeded_faults.py                    # all of them, the tests named for each
    python3 tests/tools/seeded_faults.py --only "kerf"      # those with a word in their name or file
    python3 tests/tools/seeded_faults.py --all-tests        # every test of the library and of tests/all
    python3 tests/tools/seeded_faults.py --write            # and writes tests/faults/results.csv and share.csv

The sources are copied to target/faults/tree, where every place is made a choice between what stands there and the fault, by
the environment variable SEEDED_FAULT: one build serves all of them. Ends with 1 where a fault survives. Builds by `cargo`,
or what the environment variable CARGO names, into CARGO_TARGET_DIR, else target/faults/build. Needs Python 3.11 and nothing
else.
"""

import argparse
import csv
import json
import os
import pathlib
import shutil
import subprocess
import sys
import threading
import time
import tomllib

ROOT = pathlib.Path(__file__).resolve().parents[2]
WORK = ROOT / "target" / "faults"
TREE = WORK / "tree"
FOLDERS = ["src", "tests", "data", "examples"]
FILES = ["Cargo.toml", "Cargo.lock", "README.md", "DEVELOPERS.md", "LICENSE-APACHE", "LICENSE-MIT"]
SWITCH = """
/// Whether the seeded fault of this number is on.
#[doc(hidden)]
pub fn seeded_fault(number: usize) -> bool {
    static ON: std::sync::OnceLock<Option<usize>> = std::sync::OnceLock::new();
    *ON.get_or_init(|| std::env::var("SEEDED_FAULT").ok().and_then(|text| text.parse().ok())) == Some(number)
}
"""
# a test that never ends is a finding too
SECONDS = 900


def places(fault):
    """The text before, the part exchanged, the text behind."""
    find = fault["find"]
    if "⟦" not in find:
        return "", find, ""
    before, rest = find.split("⟦")
    part, behind = rest.split("⟧")
    return before, part, behind


def choice(number, part, fault):
    """Both in one: as statements where what stands there is one, else as an expression."""
    if part.rstrip().endswith(";"):
        return f"if crate::seeded_fault({number}) {{ {fault} }} else {{ {part} }}"
    return f"(if crate::seeded_fault({number}) {{ {fault} }} else {{ {part} }})"


def seed(faults):
    """Copies the sources and makes every place a choice; files that have not changed keep their time."""
    texts = {}
    for folder in FOLDERS:
        for path in sorted((ROOT / folder).rglob("*")):
            if path.is_file() and "artifacts" not in path.parts:
                texts[path.relative_to(ROOT)] = path.read_bytes()
    for name in FILES:
        texts[pathlib.Path(name)] = (ROOT / name).read_bytes()
    # of faults that touch each other the first ones go in, the rest need a tree of their own
    changes = {}
    for number, fault in enumerate(faults):
        path = pathlib.Path(fault["file"])
        source = (ROOT / path).read_text(encoding="utf-8")
        before, part, behind = places(fault)
        plain = before + part + behind
        if source.count(plain) != 1:
            sys.exit(f"{fault['name']}: its text stands {source.count(plain)} times in {path}")
        start = source.index(plain) + len(before)
        changes.setdefault(path, []).append((start, start + len(part), number, part, fault["replace"]))
    for path, list_of in changes.items():
        source = (ROOT / path).read_text(encoding="utf-8")
        list_of.sort()
        for one, next_one in zip(list_of, list_of[1:]):
            if one[1] > next_one[0]:
                sys.exit(f"{faults[one[2]]['name']} and {faults[next_one[2]]['name']} exchange the same place")
        for start, end, number, part, fault in reversed(list_of):
            source = source[:start] + choice(number, part, fault) + source[end:]
        texts[path] = source.encode()
    lib = pathlib.Path("src/lib.rs")
    texts[lib] = texts.get(lib) + SWITCH.encode()
    for path, text in texts.items():
        place = TREE / path
        if not place.exists() or place.read_bytes() != text:
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(text)
    for path in sorted(TREE.rglob("*"), reverse=True):
        if path.is_file() and path.relative_to(TREE) not in texts:
            path.unlink()
    shutil.rmtree(TREE / "target", ignore_errors=True)


def build():
    """Builds library tests and tests/all once; returns their programs."""
    command = [*os.environ.get("CARGO", "cargo").split(), "test", "--no-run", "--lib", "--test", "all"]
    command += ["--manifest-path", str(TREE / "Cargo.toml"), "--message-format", "json"]
    environment = {"CARGO_TARGET_DIR": str(WORK / "build"), **os.environ}
    done = subprocess.run(command, stdout=subprocess.PIPE, text=True, env=environment, check=False)
    programs = {}
    for line in done.stdout.splitlines():
        if not line.startswith("{"):
            continue
        said = json.loads(line)
        if said.get("reason") == "compiler-message" and said["message"]["level"] == "error":
            print(said["message"]["rendered"])
        if said.get("executable") and said["profile"]["test"]:
            programs["lib" if "lib" in said["target"]["kind"] else "all"] = said["executable"]
    if done.returncode != 0 or len(programs) != 2:
        sys.exit("the seeded sources do not build")
    return programs


def first_failure(program, filters, number):
    """The first test that fails with a fault on, none where all pass."""
    environment = {**os.environ, "CARGO_MANIFEST_DIR": str(TREE)}
    if number is not None:
        environment["SEEDED_FAULT"] = str(number)
    command = [program, "--test-threads", "2", *filters]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=environment, cwd=TREE, errors="replace"
    ) as process:
        timer = threading.Timer(SECONDS, process.kill)
        timer.start()
        ran = 0
        try:
            for line in process.stdout:
                if line.startswith("test ") and line.rstrip().endswith("FAILED"):
                    process.kill()
                    return line.split()[1]
                if line.startswith("running "):
                    ran = int(line.split()[1])
        finally:
            timer.cancel()
    if process.returncode != 0:
        return "(ended early)"
    if ran == 0:
        sys.exit(f"{program} has no test that matches {filters}")
    return None


def run(programs, fault, number, every):
    """The first test that fails, over both programs."""
    if every:
        named = [("lib", []), ("all", [])]
    else:
        named = []
        for binary in ("lib", "all"):
            filters = [test.split(" ", 1)[1] for test in fault["tests"] if test.startswith(binary + " ")]
            if filters:
                named.append((binary, filters))
    for binary, filters in named:
        failed = first_failure(programs[binary], filters, number)
        if failed:
            return f"{binary} {failed}"
    return None


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", default="", help="a word in the name or the file of a fault")
    parser.add_argument("--all-tests", action="store_true", help="run every test, not those named for a fault")
    parser.add_argument("--write", action="store_true", help="write tests/faults/results.csv and share.csv")
    options = parser.parse_args()
    faults = tomllib.loads((ROOT / "tests/faults/faults.toml").read_text(encoding="utf-8"))["fault"]
    seed(faults)
    programs = build()
    chosen = [(k, fault) for k, fault in enumerate(faults) if options.only in fault["name"] + fault["file"]]
    sound = {}
    rows, unsound = [], 0
    for number, fault in chosen:
        tests = tuple(fault["tests"])
        if not options.all_tests:
            if tests not in sound:
                sound[tests] = run(programs, fault, None, False)
            if sound[tests]:
                print(f"not run: without any fault {sound[tests]} fails: {fault['name']}", flush=True)
                unsound += 1
                continue
        begin = time.monotonic()
        failed = run(programs, fault, number, options.all_tests)
        verdict = "caught" if failed else "SURVIVED"
        rows.append([fault["name"], fault["file"], verdict.lower(), failed or ""])
        print(f"{verdict:8} {time.monotonic() - begin:6.1f} s  {fault['name']}: {failed or 'every test passed'}", flush=True)
    caught = sum(row[2] == "caught" for row in rows)
    share = 100.0 * caught / max(len(rows), 1)
    print(f"{caught} of {len(rows)} seeded faults caught, {share:.1f} %")
    if options.write:
        folder = ROOT / "tests" / "faults"
        with open(folder / "results.csv", "w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(["fault", "file", "verdict", "first_test"])
            writer.writerows(rows)
        (folder / "share.csv").write_text(f"faults,caught,share_percent\n{len(rows)},{caught},{share:.1f}\n")
    sys.exit(0 if caught == len(rows) and not unsound else 1)


if __name__ == "__main__":
    main()
