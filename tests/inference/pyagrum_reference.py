#!/usr/bin/env python3
"""Frozen chances of the shipped rule book, worked out by pyAgrum.

The whole book, for a vehicle of which nothing is known, goes out as XMLBIF and is read by pyAgrum (which reads BIF in single precision). For the answers of the
known cases that are given in words it works out every failure, state and history fact that can have brought on what was
found, and the part of the likeliest failure. (What cannot have brought it on costs a table reader minutes, and keeps the
chance it had.) Sets whose largest table would have more than 2^LARGEST entries are left out and named. The values are kept in pyagrum_reference.json beside this file; a test compares the engine with them to 1e-9.

    python tests/inference/pyagrum_reference.py            work out and write
    python tests/inference/pyagrum_reference.py --check    work out again and compare with what is kept

Libraries: tests/requirements.txt. The program is looked for in target/debug.
"""

import argparse
import json
import math
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pyagrum as gum
import yaml

HERE = Path(__file__).resolve().parent
KEPT = HERE / "pyagrum_reference.json"
SETS = 48
LARGEST = 24
WITHIN = 1e-9


def name(key):
    return key.replace("/", "__").replace("-", "_")


def sets_of_answers(dump):
    """Answers of the known cases, as present and absent nodes of a vehicle of which nothing is known."""
    keys = {node["key"] for node in dump["nodes"]}
    checks = {c["check"]: [dump["nodes"][at]["key"] for at in c["outcomes"]] for c in dump["checks"]}
    found = []
    for path in sorted((HERE.parent.parent / "rules" / "cases").glob("*.yaml")):
        answers, seen = yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)["answers"], {}
        for answer in answers:
            ask, said = answer["ask"], answer.get("answer")
            if said in ("yes", "no") and ask in keys:
                seen[ask] = said
            elif said and ask in checks:
                for key in checks[ask]:
                    seen[key] = "yes" if key == f"{ask}/{said}" else "no"
            else:
                break
        else:
            words = [{"ask": a["ask"], "answer": a["answer"]} for a in answers]
            found.append((path.stem, words, seen))
    # Those with most answers say most about an engine.
    found.sort(key=lambda case: (-len(case[1]), case[0]))
    return found


def work_out(program):
    with tempfile.TemporaryDirectory() as home:
        def run(*arguments):
            environment = {"WEEPHOLE_HOME": home, "PATH": os.environ["PATH"]}
            done = subprocess.run([program, *arguments], capture_output=True, text=True, env=environment)
            return done.stdout if done.returncode == 0 else sys.exit(done.stderr)

        dump = json.loads(run("rules", "export", "--format", "json"))
        book = Path(home) / "book.bifxml"
        run("rules", "export", "--format", "xmlbif", "--out", str(book))
        network = gum.loadBN(str(book))
    nodes = {node["key"]: node for node in dump["nodes"]}
    hidden = {n["key"] for n in dump["nodes"] if n["kind"] in ("failure", "state", "history")}
    sets = []
    for case, answers, seen in sets_of_answers(dump):
        if len(sets) == SETS:
            break
        asked = sorted(key for key in behind(nodes, seen) & hidden if key not in seen)
        told = chances_of(network, seen, asked)
        if told is None:
            print(f"{case}: left out, too wide for tables", flush=True)
            continue
        log, chances = told
        failures = [key for key in asked if nodes[key]["kind"] == "failure"]
        if failures:
            part = nodes[max(failures, key=lambda key: chances[key])]["part"]
            with_part = chances_of(network, seen, [part])
            if with_part is not None:
                chances.update(with_part[1])
        sets.append({"case": case, "answers": answers, "log-evidence": log, "chances": chances})
        print(f"{case}: {len(answers)} answers, {len(chances)} chances, ln P(answers) {log:.6f}", flush=True)
    return sets


def behind(nodes, seen):
    """Everything that can have brought on what was found."""
    found, open_keys = set(), [key for key, state in seen.items() if state == "yes"]
    while open_keys:
        key = open_keys.pop()
        if key not in found:
            found.add(key)
            open_keys += [parent["key"] for parent in nodes[key]["parents"]]
    return found


def chances_of(network, seen, asked):
    """ln P(answers) and the chances asked for; nothing if the tables would be too large."""
    engine = gum.LazyPropagation(network)
    engine.setEvidence({name(key): state for key, state in seen.items()})
    for key in asked:
        engine.addTarget(name(key))
    tree = engine.junctionTree()
    if max(len(tree.clique(node)) for node in tree.nodes()) > LARGEST:
        return None
    engine.makeInference()
    chances = {key: float(engine.posterior(name(key))[{name(key): "yes"}]) for key in asked}
    return math.log(engine.evidenceProbability()), chances


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", default="target/debug/weephole")
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()
    sets = work_out(options.program)
    if not options.check:
        KEPT.write_text(json.dumps(sets, indent=0) + "\n", encoding="utf-8")
        return
    kept = json.loads(KEPT.read_text(encoding="utf-8"))
    if [s["case"] for s in kept] != [s["case"] for s in sets]:
        sys.exit("the sets of answers changed; run this without --check, read the difference, and keep it")
    worst = 0.0
    for old, new in zip(kept, sets):
        worst = max(worst, abs(old["log-evidence"] - new["log-evidence"]))
        worst = max(worst, max(abs(old["chances"][key] - new["chances"].get(key, 9.0)) for key in old["chances"]))
    print(f"largest difference from what is kept {worst:.1e}")
    if worst > WITHIN:
        sys.exit("pyAgrum no longer gives what is kept: if the book changed on purpose, run this without --check")


if __name__ == "__main__":
    main()
