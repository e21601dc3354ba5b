#!/usr/bin/env python3
"""Reads the exported networks with pyAgrum and pgmpy and compares their chances with weephole's own.

The whole shipped book goes out as BIF and XMLBIF, both libraries read both, and for several sets of answers every
part, failure, state and history fact (pyAgrum) or the first suspects (pgmpy, which is slow) must have the chance that
`weephole rank -` gives.

    python tests/learn/export_reference.py [--program target/release/weephole] [--check]

With or without --check it compares and exits 1 on a difference above 1e-9 (1e-6 where the reader keeps 32-bit numbers). Libraries: tests/requirements.txt.
"""

import argparse
import json
import logging
import subprocess
import sys
import tempfile
import time
import warnings
from pathlib import Path

warnings.filterwarnings("ignore")
logging.getLogger("pgmpy").setLevel(logging.ERROR)
import pyagrum as gum  # noqa: E402
from pgmpy.inference import VariableElimination  # noqa: E402
from pgmpy.readwrite import BIFReader, XMLBIFReader  # noqa: E402

# pyAgrum 3.3 keeps 32-bit numbers of a BIF file (its tables are off by 1e-8 as read), and all digits of an XMLBIF file.
WITHIN = {("pyAgrum", "bif"): 1e-6, ("pyAgrum", "xmlbif"): 1e-9, ("pgmpy", "bif"): 1e-9, ("pgmpy", "xmlbif"): 1e-9}
SOME = 40  # chances that pyAgrum is asked about in BIF; in XMLBIF it is asked about all
WIDEST = 18  # variables of the largest table that pyAgrum is asked to make
FIRST = 3  # suspects that pgmpy is asked about


def name(key):
    return key.replace("/", "__").replace("-", "_")


def pick(dump):
    """Sets of answers: busy symptoms and checks, present and absent, the same for the same book."""
    nodes = {node["key"]: node for node in dump["nodes"]}
    # Signs with a handful of causes: those with twenty cost an engine that knows only tables minutes each.
    symptoms = [n for n in nodes.values() if n["kind"] == "symptom" and 2 <= len(n["parents"]) <= 6]
    symptoms.sort(key=lambda n: (-len(n["parents"]), n["key"]))
    checks = [(c["check"], [dump["nodes"][at]["key"] for at in c["outcomes"]]) for c in dump["checks"]]
    several = [c for c in checks if len(c[1]) >= 2]
    yes = [s["key"] for s in symptoms]
    normal = lambda at: (several[at][0], "normal")  # noqa: E731
    outcome = lambda at: (several[at][0], several[at][1][0].split("/")[1])  # noqa: E731
    return [
        [(yes[0], "yes")],
        [(yes[-1], "yes"), (yes[1], "no")],
        [(yes[2], "yes"), (yes[-2], "yes"), normal(0)],
        [(yes[-3], "yes"), outcome(1), (yes[3], "no")],
        [outcome(0), (yes[-4], "yes"), (yes[4], "no")],
        [outcome(2), normal(3), (yes[5], "no"), (yes[6], "no")],
        [(yes[5], "yes"), (yes[-5], "yes"), normal(1), normal(2)],
        [(yes[-6], "yes"), (yes[-7], "yes"), outcome(3), (yes[0], "no")],
    ], dict(checks)


def evidence(answers, checks):
    seen = {}
    for ask, answer in answers:
        if ask in checks:
            for key in checks[ask]:
                seen[name(key)] = "yes" if key == f"{ask}/{answer}" else "no"
        else:
            seen[name(ask)] = answer
    return seen


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", default="target/debug/weephole")
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()
    failed = False

    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)

        def run(*arguments, text=None):
            done = subprocess.run(
                [options.program, *arguments],
                input=text,
                capture_output=True,
                text=True,
                env={"WEEPHOLE_HOME": str(home), "PATH": ""},
            )
            if done.returncode != 0:
                sys.exit(done.stderr)
            return done.stdout

        # The exported book is about answers that are true; an ordinary shop allows for slips.
        (home / "shop.yaml").write_text("slips: {told: 0, checked: 0}\n", encoding="utf-8")
        dump = json.loads(run("rules", "export", "--format", "json"))
        files = {}
        for form, suffix in [("bif", "bif"), ("xmlbif", "bifxml")]:
            files[form] = home / f"book.{suffix}"
            run("rules", "export", "--format", form, "--out", str(files[form]))
        sets, checks = pick(dump)
        vehicle = {}
        lines = [
            json.dumps({"format": 1, "vehicle": vehicle, "answers": [{"ask": a, "answer": b} for a, b in answers]})
            for answers in sets
        ]
        ours = []
        for line in run("rank", "-", "--top", "9999", text="\n".join(lines) + "\n").splitlines():
            page = json.loads(line)
            assert page["method"]["exact"] and not page["ignored"], page
            chances = {suspect["part"]: suspect["chance"] for suspect in page["suspects"]}
            for suspect in page["suspects"]:
                chances.update({f["id"]: f["chance"] for f in suspect["failures"]})
            for group in ("states", "history"):
                chances.update({f["id"]: f["chance"] for f in page[group]})
            ours.append((chances, [suspect["part"] for suspect in page["suspects"]]))

        narrow = set()
        for form, path in files.items():
            network = gum.loadBN(str(path))
            print(f"{form}: pyAgrum reads {network.size()} nodes")
            for at, (answers, (chances, _)) in enumerate(zip(sets, ours)):
                seen = evidence(answers, checks)
                worst, start = 0.0, time.time()
                asked = [pair for pair in chances.items() if name(pair[0]) not in seen]
                asked = asked[:SOME] if form == "bif" else asked
                wide = 0
                for key, chance in asked:
                    # One target at a time: the rest of the book is then barren and costs nothing.
                    engine = gum.LazyPropagation(network)
                    engine.setEvidence(seen)
                    engine.addTarget(name(key))
                    tree = engine.junctionTree()
                    if max(len(tree.clique(clique)) for clique in tree.nodes()) > WIDEST:
                        wide += 1
                        continue
                    engine.makeInference()
                    worst = max(worst, abs(engine.posterior(name(key))[{name(key): "yes"}] - chance))
                print(f"  pyAgrum, {len(answers)} answers, {len(asked) - wide} chances ({wide} too wide for it): largest difference {worst:.1e}, {time.time() - start:.0f} s")
                failed |= not worst <= WITHIN["pyAgrum", form]
                if form == "xmlbif" and wide < 0.1 * len(asked):
                    narrow.add(at)
        if len(narrow) < 3:
            sys.exit("nearly every set of answers is too wide for engines of tables: choose others")
        for form, path in files.items():
            start = time.time()
            reader = BIFReader(str(path)) if form == "bif" else XMLBIFReader(str(path))
            model = reader.get_model()
            print(f"{form}: pgmpy reads {len(model.nodes())} nodes in {time.time() - start:.0f} s")
            for at in sorted(narrow)[:3]:
                answers, (chances, suspects) = sets[at], ours[at]
                seen = evidence(answers, checks)
                engine = VariableElimination(model)
                worst = 0.0
                for part in suspects[:FIRST]:
                    told = engine.query([name(part)], evidence=seen, show_progress=False)
                    worst = max(worst, abs(told.get_value(**{name(part): "yes"}) - chances[part]))
                print(f"  pgmpy, {len(answers)} answers, {FIRST} chances: largest difference {worst:.1e}")
                failed |= not worst <= WITHIN["pgmpy", form]
    if failed:
        sys.exit("the libraries do not agree")


if __name__ == "__main__":
    main()
