#!/usr/bin/env python3
"""Learns a leaky noisy-OR with a general-purpose library, for tests/learn/reference.rs.

pgmpy knows expectation-maximisation for full tables with hidden variables, not for noisy-OR. Spelt out, a noisy-OR is such a
network: each link is a hidden variable that can only fire while its cause is there, and the effect is the OR of them. Tables keep
their zeros and ones from round to round, so the rounds are those of the noisy-OR itself.

    python tests/learn/em_reference.py            writes em_reference.json beside this file
    python tests/learn/em_reference.py --check    works it out again and compares with the file

Libraries: tests/requirements.txt.
"""

import json
import logging
import sys
import warnings
from pathlib import Path

import numpy as np
import pandas as pd

warnings.filterwarnings("ignore")
logging.getLogger("pgmpy").setLevel(logging.ERROR)
from pgmpy.estimators import ExpectationMaximization  # noqa: E402
from pgmpy.factors.discrete import TabularCPD  # noqa: E402
from pgmpy.models import DiscreteBayesianNetwork  # noqa: E402

FILE = Path(__file__).with_name("em_reference.json")
ROUNDS = 6

# Node: own number and causes with weights, as they start. `state` is never seen.
NODES = {
    "one": (0.5, {}),
    "two": (0.5, {}),
    "state": (0.1, {"one": 0.5, "two": 0.6}),
    "first": (0.05, {"state": 0.7}),
    "second": (0.08, {"state": 0.5, "one": 0.3}),
}
HIDDEN = {"state"}


def rows():
    """240 vehicles from other numbers than those the search starts with; the seed is part of the file."""
    random = np.random.default_rng(20)
    draw = lambda p: int(random.random() < p)  # noqa: E731
    made = []
    for _ in range(240):
        one, two = draw(0.4), draw(0.3)
        state = max(draw(0.05), one * draw(0.7), two * draw(0.4))
        first = max(draw(0.03), state * draw(0.8))
        second = max(draw(0.05), state * draw(0.6), one * draw(0.2))
        made.append({"one": one, "two": two, "first": first, "second": second})
    return made


def spelt_out():
    """The network with one hidden variable a link, and its tables at the start."""
    edges, tables, latents = [], {}, set(HIDDEN)
    for name, (own, causes) in NODES.items():
        if not causes:
            tables[name] = TabularCPD(name, 2, [[1 - own], [own]])
            continue
        links = [f"{name}_itself"]
        tables[links[0]] = TabularCPD(links[0], 2, [[1 - own], [own]])
        for cause, weight in causes.items():
            link = f"{cause}_{name}"
            edges.append((cause, link))
            tables[link] = TabularCPD(link, 2, [[1, 1 - weight], [0, weight]], [cause], [2])
            links.append(link)
        latents.update(links)
        edges.extend((link, name) for link in links)
        absent = [1.0] + [0.0] * (2 ** len(links) - 1)
        present = [1.0 - p for p in absent]
        tables[name] = TabularCPD(name, 2, [absent, present], links, [2] * len(links))
    return edges, tables, latents


def work_out():
    data = rows()
    edges, tables, latents = spelt_out()
    model = DiscreteBayesianNetwork(edges, latents=latents)
    learner = ExpectationMaximization(model, pd.DataFrame(data))
    learnt = learner.get_parameters(
        latent_card={name: 2 for name in sorted(latents)},
        init_cpds=tables,
        max_iter=ROUNDS,
        atol=1e-15,
        show_progress=False,
    )
    by_name = {cpd.variable: cpd for cpd in learnt}
    numbers = {}
    for name, (own, causes) in NODES.items():
        one = {name: 1}
        key = f"{name}_itself" if causes else name
        numbers[name] = float(by_name[key].get_value(**{key: 1}))
        for cause in causes:
            link = f"{cause}_{name}"
            numbers[f"{cause} -> {name}"] = float(by_name[link].get_value(**{link: 1, cause: 1}))
    return {
        "made-by": "tests/learn/em_reference.py with pgmpy 1.1.2",
        "rounds": ROUNDS,
        "nodes": [{"name": n, "own": own, "causes": causes} for n, (own, causes) in NODES.items()],
        "rows": data,
        "learnt": numbers,
    }


def main():
    found = work_out()
    if "--check" not in sys.argv:
        FILE.write_text(json.dumps(found, indent=None, separators=(",", ":")) + "\n")
        print(json.dumps(found["learnt"], indent=1))
        return
    kept = json.loads(FILE.read_text())
    worst = max(abs(found["learnt"][key] - value) for key, value in kept["learnt"].items())
    print(f"{len(kept['learnt'])} numbers, largest difference {worst:.1e}")
    if worst > 1e-9 or found["rows"] != kept["rows"]:
        sys.exit("the file does not hold what the library says")


if __name__ == "__main__":
    main()
