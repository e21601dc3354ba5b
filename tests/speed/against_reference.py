#!/usr/bin/env python3
"""The same network and the same answers through pyAgrum and through weephole, in one run on one machine.

The shipped book, for a vehicle of which nothing is known, goes out as XMLBIF and is read by pyAgrum's LazyPropagation (its
fastest exact engine here; VariableElimination is faster at one target and slower at many). For sets of answers in
tests/inference/pyagrum_reference.json pyAgrum is asked three things:

- *causes*: the chances of what can have brought the findings on, and of nothing else;
- *failures*: those of every failure and history fact;
- *ranking*: everything a ranking tells: failures and history facts in one go, then every state and every part by itself, which
  is the cheapest way (all in one go ties them together and takes longer).

Weephole ranks every part, failure, state and history fact each time, by `rank -`, so that its time includes reading the case and
writing the result. Reading the book is left out on both sides.

*Candidates*: what every answer to every open question would do to every failure. pyAgrum is asked for all failures after each of
a sample of answers, and its time is taken to be the median times the number of answers: with some answers it takes many seconds, so this is
less than it would take. Of weephole the whole process `rank CASE --format json` counts, from its start, which besides weighs
every question for money.

Prints times and ratios, `inf` where pyAgrum would need more than 4 GB or the time given; it fails on nothing. Some minutes a set, most
of them pyAgrum's.

    cargo build --release && python tests/speed/against_reference.py [--program target/release/weephole] [--sets N] [--limit SECONDS]
"""

import argparse
import json
import math
import os
import resource
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pyagrum as gum

ROOT = Path(__file__).resolve().parent.parent.parent
REPEATS = 100
SAMPLE = 15
MEMORY = 4 << 30


def name(key):
    return key.replace("/", "__").replace("-", "_")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", default="target/release/weephole")
    parser.add_argument("--sets", type=int, default=6)
    parser.add_argument("--limit", type=int, default=300, help="seconds after which pyAgrum is stopped")
    options = parser.parse_args()
    limit = options.limit
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
        kinds = {}
        for node in dump["nodes"]:
            kinds.setdefault(node["kind"], []).append(node["key"])
        failures = kinds["failure"] + kinds["history"]
        singles = kinds["state"] + kinds["part"]
        rows = []
        titles = ["causes", "failures", "ranking", "weephole", "ratios", "", "", "candidates", "weephole", "ratio"]
        print(f"{'answers (times in ms)':<28}" + "".join(f"{title:>12}" for title in titles))
        for case in sets:
            seen = {}
            for answer in case["answers"]:
                seen.update(told(dump, checks, answer["ask"], answer["answer"]))
            causes = [key for key in case["chances"] if dump_kind(dump, key) != "part"]
            times = [timed(lambda: posteriors(network, seen, keys), limit) for keys in (causes, failures)]
            times.append(times[1] + timed(lambda: [posteriors(network, seen, [key]) for key in singles], limit))
            line = json.dumps({"format": 1, "answers": case["answers"]}) + "\n"
            # What one more case costs: many in one go, less a single one.
            single = min(run("rank", "-", text=line)[0] for _ in range(3))
            many = min(run("rank", "-", text=line * (REPEATS + 1))[0] for _ in range(3))
            ours = (many - single) / REPEATS
            file = Path(home) / "case.json"
            file.write_text(line, encoding="utf-8")
            weighed = min(run("rank", str(file), "--format", "json")[0] for _ in range(5))
            asked = {answer["ask"] for answer in case["answers"]}
            further = [
                told(dump, checks, ask, answer)
                for ask, answers in questions(dump, checks).items() if ask not in asked for answer in answers
            ]
            sample = [further[len(further) * i // SAMPLE] for i in range(SAMPLE)]
            each = [timed(lambda more=more: posteriors(network, seen | more, failures), limit) for more in sample]
            theirs = len(further) * statistics.median(each)
            row = [time / ours for time in times] + [theirs / weighed]
            rows.append(row)
            cells = [f"{time * 1e3:>12.1f}" for time in times] + [f"{ours * 1e3:>12.3f}"] + [f"{ratio:>12.0f}" for ratio in row[:3]]
            cells += [f"{theirs * 1e3:>12.0f}", f"{weighed * 1e3:>12.1f}", f"{row[3]:>12.0f}"]
            print(f"{case['case']:<28}" + "".join(cells), flush=True)
    print()
    for what, ratios in zip(["causes of what was found", "all failures", "whole ranking", "all candidates"], zip(*rows)):
        print(f"ratio, {what}: median {statistics.median(ratios):.0f}, least {min(ratios):.0f}, most {max(ratios):.0f} over {len(ratios)} sets")


def timed(work, limit):
    """Seconds that pyAgrum takes, in a process of its own; infinite if it runs out of memory or of time."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        signal.alarm(limit)
        start = time.perf_counter()
        try:
            work()
            os.write(write, repr(time.perf_counter() - start).encode())
        finally:
            os._exit(0)
    os.close(write)
    with os.fdopen(read) as pipe:
        told = pipe.read()
    os.waitpid(child, 0)
    return float(told) if told else math.inf


def posteriors(network, seen, keys):
    """The chances of some nodes in one inference; none where the answers cannot all be true."""
    engine = gum.LazyPropagation(network)
    engine.setEvidence(seen)
    wanted = [name(key) for key in keys if name(key) not in seen]
    for key in wanted:
        engine.addTarget(key)
    try:
        engine.makeInference()
        for key in wanted:
            engine.posterior(key)
    except gum.IncompatibleEvidence:
        pass


def told(dump, checks, ask, answer):
    """Evidence of one answer: the states of the nodes it names."""
    if ask not in checks:
        return {name(ask): answer}
    keys = [dump["nodes"][at]["key"] for at in checks[ask]]
    return {name(key): "yes" if key == f"{ask}/{answer}" else "no" for key in keys}


def questions(dump, checks):
    """Every question with all its answers."""
    symptoms = {node["key"]: ["yes", "no"] for node in dump["nodes"] if node["kind"] == "symptom"}
    outcomes = {
        check: ["normal"] + [dump["nodes"][at]["key"].split("/")[1] for at in nodes] for check, nodes in checks.items()
    }
    return symptoms | outcomes


def dump_kind(dump, key):
    return next(node["kind"] for node in dump["nodes"] if node["key"] == key)


if __name__ == "__main__":
    main()
