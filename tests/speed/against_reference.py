#!/usr/bin/env python3
"""The same network and the same answers through pyAgrum and through weephole, in one run on one machine.

The shipped book, for a vehicle of which nothing is known, goes out as XMLBIF and is read by pyAgrum's LazyPropagation (its
fastest exact engine here; VariableElimination is faster at one target and slower at many). For sets of answers in
tests/inference/pyagrum_reference.json pyAgrum is asked three things:

- *causes*: the chances of what can have brought the findings on, and of nothing else;
- *failures*: those of every failure and history fact;
- *ranking*: everything a ranking tells: failures and history facts in one go, then every state and every part by itself, which
  is the cheapest way (all in one go ties them together and takes longer).

*Candidates*: what every answer to every open question would do to every failure. pyAgrum is asked for all failures after each
of some hundred answers, and the times are added up; an answer that it cannot take in within memory and time counts with the
time until it gave up.

Weephole (`tests/speed/answers.rs`) ranks every part, failure, state and history fact, and weighs all answers, in a process that has
read the book and the case: reading is left out on both sides. Its time is the median of many.

Prints times and ratios, `inf` where pyAgrum would need more than 4 GB or the time given; it fails on nothing. Some minutes a set, most
of them pyAgrum's.

    cargo build --release && python tests/speed/against_reference.py [--sets N] [--limit SECONDS]
"""

import argparse
import json
import math
import os
import resource
import shlex
import signal
import statistics
import subprocess
import tempfile
import time
from pathlib import Path

import pyagrum as gum

ROOT = Path(__file__).resolve().parent.parent.parent
MEMORY = 4 << 30


def name(key):
    return key.replace("/", "__").replace("-", "_")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", default="target/release/weephole")
    parser.add_argument("--answers", default="cargo bench --quiet --bench answers", help="what runs tests/speed/answers.rs")
    parser.add_argument("--sets", type=int, default=6)
    parser.add_argument("--limit", type=int, default=300, help="seconds after which pyAgrum is stopped")
    options = parser.parse_args()
    limit = options.limit
    sets = json.loads((ROOT / "tests/inference/pyagrum_reference.json").read_text(encoding="utf-8"))[: options.sets]
    with tempfile.TemporaryDirectory() as home:
        def run(*arguments):
            environment = {"WEEPHOLE_HOME": home, "PATH": os.environ["PATH"]}
            return subprocess.run([options.program, *arguments], check=True, capture_output=True, text=True, env=environment).stdout

        book = Path(home) / "book.bifxml"
        run("rules", "export", "--format", "xmlbif", "--out", str(book))
        dump = json.loads(run("rules", "export", "--format", "json"))
        checks = {check["check"]: check["outcomes"] for check in dump["checks"]}
        network = gum.loadBN(str(book))
        kinds = {}
        for node in dump["nodes"]:
            kinds.setdefault(node["kind"], []).append(node["key"])
        failures = kinds["failure"] + kinds["history"]
        singles = kinds["state"] + kinds["part"]
        lines = "".join(json.dumps({"format": 1, "answers": case["answers"]}) + "\n" for case in sets)
        told_us = subprocess.run(shlex.split(options.answers), check=True, input=lines, capture_output=True, text=True, cwd=ROOT).stdout
        rows = []
        titles = ["causes", "failures", "ranking", "weephole", "ratios", "", "", "answers", "candidates", "weephole", "ratio"]
        print(f"{'(times in ms)':<28}" + "".join(f"{title:>11}" for title in titles))
        for case, line in zip(sets, told_us.splitlines(), strict=True):
            ours = json.loads(line)
            seen = {}
            for answer in case["answers"]:
                seen.update(told(dump, checks, answer["ask"], answer["answer"]))
            causes = [key for key in case["chances"] if dump_kind(dump, key) != "part"]
            times = [timed(lambda: posteriors(network, seen, keys), limit) for keys in (causes, failures)]
            times.append(times[1] + timed(lambda: [posteriors(network, seen, [key]) for key in singles], limit))
            asked = {answer["ask"] for answer in case["answers"]}
            further = [
                told(dump, checks, ask, answer)
                for ask, answers in questions(dump, checks, kinds).items() if ask not in asked for answer in answers
            ]
            assert len(further) == ours["answers"], (len(further), ours["answers"])
            each = [timed(lambda more=more: posteriors(network, seen | more, kinds["failure"]), limit, given_up=True) for more in further]
            ranking, candidates = ours["ranking"][1], ours["candidates"][1]
            row = [time / ranking for time in times] + [sum(each) / candidates]
            rows.append(row)
            cells = [f"{time * 1e3:>11.1f}" for time in times] + [f"{ranking * 1e3:>11.3f}"] + [f"{ratio:>11.0f}" for ratio in row[:3]]
            cells += [f"{len(each):>11}", f"{sum(each) * 1e3:>11.0f}", f"{candidates * 1e3:>11.1f}", f"{row[3]:>11.0f}"]
            print(f"{case['case']:<28}" + "".join(cells) + f"   median of an answer {statistics.median(each) * 1e3:.1f}", flush=True)
    print()
    for what, ratios in zip(["causes of what was found", "all failures", "whole ranking", "all candidates"], zip(*rows)):
        print(f"ratio, {what}: median {statistics.median(ratios):.0f}, least {min(ratios):.0f}, most {max(ratios):.0f} over {len(ratios)} sets")


def timed(work, limit, given_up=False):
    """Seconds that pyAgrum takes, in a process of its own; where it runs out of memory or of time infinite, or with `given_up` the
    time until then."""
    read, write = os.pipe()
    begun = time.perf_counter()
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
        found = pipe.read()
    os.waitpid(child, 0)
    return float(found) if found else time.perf_counter() - begun if given_up else math.inf


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


def questions(dump, checks, kinds):
    """Every question with all its answers."""
    asked = {key: ["yes", "no"] for key in kinds["symptom"] + kinds["history"]}
    outcomes = {
        check: ["normal"] + [dump["nodes"][at]["key"].split("/")[1] for at in nodes] for check, nodes in checks.items()
    }
    return asked | outcomes


def dump_kind(dump, key):
    return next(node["kind"] for node in dump["nodes"] if node["key"] == key)


if __name__ == "__main__":
    main()
