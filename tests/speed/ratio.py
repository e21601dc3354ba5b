#!/usr/bin/env python3
"""The same network and the same answers through pyAgrum and through weephole, in one run on one machine.

The shipped book, for a vehicle of which nothing is known, goes out as XMLBIF and is read by pyAgrum's LazyPropagation (its
fastest exact engine here). For every set of answers in tests/inference/pyagrum_reference.json pyAgrum works out the
chances of what can have brought the findings on (asking it for all nodes takes it minutes); weephole ranks every part,
failure, state and history fact, by `rank -`, so that its time includes reading the case and writing the result. Reading
the book is left out on both sides. Prints both times and their ratio; it fails on nothing.

    cargo build --release && python tests/speed/ratio.py [--program target/release/weephole] [--sets N]
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pyagrum as gum

ROOT = Path(__file__).resolve().parent.parent.parent
REPEATS = 100


def name(key):
    return key.replace("/", "__").replace("-", "_")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", default="target/release/weephole")
    parser.add_argument("--sets", type=int, default=48)
    options = parser.parse_args()
    sets = json.loads((ROOT / "tests/inference/pyagrum_reference.json").read_text(encoding="utf-8"))[: options.sets]
    with tempfile.TemporaryDirectory() as home:
        def run(*arguments, text=None):
            environment = {"WEEPHOLE_HOME": home, "PATH": os.environ["PATH"]}
            start = time.perf_counter()
            done = subprocess.run([options.program, *arguments], input=text, capture_output=True, text=True, env=environment)
            if done.returncode != 0:
                sys.exit(done.stderr)
            return time.perf_counter() - start, done.stdout

        # The exported book is about answers that are true; an ordinary shop allows for slips.
        (Path(home) / "shop.yaml").write_text("slips: {told: 0, checked: 0}\n", encoding="utf-8")
        book = Path(home) / "book.bifxml"
        run("rules", "export", "--format", "xmlbif", "--out", str(book))
        dump = json.loads(run("rules", "export", "--format", "json")[1])
        checks = {check["check"]: check["outcomes"] for check in dump["checks"]}
        network = gum.loadBN(str(book))
        ratios = []
        print(f"{'answers':<32}{'pyAgrum ms':>12}{'weephole ms':>13}{'ratio':>9}")
        for case in sets:
            seen = {}
            for answer in case["answers"]:
                if answer["ask"] in checks:
                    for at in checks[answer["ask"]]:
                        key = dump["nodes"][at]["key"]
                        seen[name(key)] = "yes" if key == f"{answer['ask']}/{answer['answer']}" else "no"
                else:
                    seen[name(answer["ask"])] = answer["answer"]
            asked = [key for key in case["chances"] if dump_kind(dump, key) != "part"]
            start = time.perf_counter()
            engine = gum.LazyPropagation(network)
            engine.setEvidence(seen)
            for key in asked:
                engine.addTarget(name(key))
            engine.makeInference()
            for key in asked:
                engine.posterior(name(key))
            theirs = time.perf_counter() - start
            line = json.dumps({"format": 1, "answers": case["answers"]}) + "\n"
            # What one more case costs: many in one go, less a single one.
            single = min(run("rank", "-", text=line)[0] for _ in range(3))
            many = min(run("rank", "-", text=line * (REPEATS + 1))[0] for _ in range(3))
            ours = (many - single) / REPEATS
            ratios.append(theirs / ours)
            print(f"{case['case']:<32}{theirs * 1e3:>12.2f}{ours * 1e3:>13.3f}{theirs / ours:>9.0f}", flush=True)
    print(f"\nratio: median {statistics.median(ratios):.0f}, least {min(ratios):.0f}, most {max(ratios):.0f} over {len(ratios)} sets")


def dump_kind(dump, key):
    return next(node["kind"] for node in dump["nodes"] if node["key"] == key)


if __name__ == "__main__":
    main()
