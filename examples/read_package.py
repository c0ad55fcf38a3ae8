"""Designs a spring, reads what the program wrote with the standard library, and plots it.

    python3 -m pip install matplotlib
    python3 examples/read_package.py PROGRAM [FOLDER]

PROGRAM is the built program, FOLDER a folder to write to (left out: a temporary one). Lengths are mm, forces N.
"""

import csv
import json
import pathlib
import subprocess
import sys
import tempfile

import matplotlib

matplotlib.use("Agg")
from matplotlib import pyplot

HERE = pathlib.Path(__file__).resolve().parent


def columns(path):
    """Columns of a CSV file by name; an empty cell is left out."""
    with open(path, newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    return {name: [float(row[name]) for row in rows if row[name]] for name in rows[0]}


def design(program, folder):
    """The summary of a design. Exit code 0: every verdict is yes; 3: one is not; others: nothing was written."""
    command = [program, "design", HERE / "gentle.csv", "--brief", HERE / "pedal.toml", "--out", folder, "--json"]
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    if run.returncode not in (0, 3):
        sys.exit(f"{program} ended with {run.returncode}: {run.stderr.strip()}")
    return json.loads(run.stdout)


def plot(summary, folder):
    """Wanted and predicted force, and the share of good parts, as one picture."""
    curve = columns(folder / "curve.csv")
    wanted = columns(HERE / "gentle.csv")
    figure, axes = pyplot.subplots(figsize=(7, 4.5), layout="constrained")
    travel = next(name for name in ("travel_mm", "deflection_mm") if name in curve)
    axes.plot(curve[travel], curve["force_n"], label="predicted")
    names = list(wanted)
    axes.plot(wanted[names[0]], wanted[names[1]], "o", label="wanted")
    axes.set(xlabel="deflection (mm)", ylabel="force (N)", title=summary["choice"].split(":")[0])
    axes.legend()
    figure.savefig(folder / "plotted.png", dpi=120)


def main():
    program = pathlib.Path(sys.argv[1]).resolve()
    folder = pathlib.Path(sys.argv[2] if len(sys.argv) > 2 else tempfile.mkdtemp())
    summary = design(program, folder)
    print("passed" if summary["passed"] else f"not passed: {', '.join(summary['failed'])}")
    for name, verdict in summary["verdicts"].items():
        print(f"{name:14} {verdict['state']:10} {verdict['reason']}")
    plot(summary, folder)
    print(folder / "plotted.png")


if __name__ == "__main__":
    main()
