"""How long NumPy, pyAgrum and pgmpy take for what the program does, as JSON in seconds: `cargo bench --bench figures` asks.

    peers.py PROGRAM KNOWLEDGE SYMPTOM VEHICLE

belief: after one uncertain reading of the first measurement on offer. bits: of every measurement on offer. The networks are
those of network.py. NumPy works on whole arrays; `numpy_kept` keeps the entropies of the rows from one call to the next, as
the program does.
"""

import json
import sys
import time

import numpy as np
import pyagrum as gum
from pgmpy.inference import VariableElimination

import network


def fastest(run, runs):
    best = float("inf")
    for _ in range(runs):
        start = time.perf_counter()
        run()
        best = min(best, time.perf_counter() - start)
    return best


def by_numpy(case, offered):
    """The bits term by term, and by the entropies of the rows, which are worked out once."""
    prior = case.prior[:-2] / case.prior[:-2].sum()
    tables = [(case.tables[name] @ case.mixes[name])[:-2] for name in offered]
    widest = max(table.shape[1] for table in tables)
    # An outcome that a measurement does not have is one that never comes: the entropy of 1 and 0 is 0.
    padded = np.full((len(tables), len(prior), widest), 1e-300)
    for place, table in enumerate(tables):
        padded[place, :, : table.shape[1]] = table
    flat = np.ascontiguousarray(padded.transpose(1, 0, 2)).reshape(len(prior), -1)
    kept = np.ascontiguousarray(-(padded * np.log2(padded)).sum(axis=2).T)

    def by_terms():
        joint = prior[:, None] * padded
        return (joint * np.log2(padded / joint.sum(axis=1, keepdims=True))).sum(axis=(1, 2))

    def by_entropies():
        foreseen = prior @ flat
        return -(foreseen * np.log2(foreseen)).reshape(len(tables), widest).sum(axis=1) - prior @ kept

    table, full = case.tables[offered[0]], case.prior
    weights = np.full(table.shape[1], 0.5)

    def belief():
        after = full * (table @ weights)
        return after / after.sum()

    assert np.allclose(by_terms(), by_entropies(), atol=1e-9)
    return by_terms(), {
        "numpy": {"bits": fastest(by_terms, 2000), "belief": fastest(belief, 2000)},
        "numpy_kept": {"bits": fastest(by_entropies, 2000)},
    }


def main():
    program, knowledge, symptom, vehicle = sys.argv[1:]
    against = network.Against(program, knowledge)
    answer = against.answer([symptom], (), vehicle, ())
    offered = [of["id"] for of in answer["measurements"]]
    case = network.Case(against.family, [symptom], vehicle=vehicle)
    found, times = by_numpy(case, offered)
    bits = {of["id"]: of["bits"] for of in answer["measurements"]}
    assert np.allclose(found, [bits[name] for name in offered], atol=1e-9)
    # Building the networks is left out: only the questions are timed.
    true = "true " + offered[0]
    weights = [0.5] * case.tables[offered[0]].shape[1]
    inference = gum.LazyPropagation(case.in_pyagrum(offered))

    def belief_by_pyagrum():
        inference.setEvidence({true: weights})
        inference.makeInference()
        return inference.posterior("hypothesis").toarray()

    joint = gum.LazyPropagation(case.in_pyagrum(offered))
    for name in offered:
        joint.addJointTarget({"hypothesis", "read " + name})

    def bits_by_pyagrum():
        joint.setEvidence({"listed": 1})
        joint.makeInference()
        return [network.information(joint.jointPosterior({"hypothesis", "read " + name}).toarray()) for name in offered]

    times["pyagrum"] = {"belief": fastest(belief_by_pyagrum, 20), "bits": fastest(bits_by_pyagrum, 10)}
    elimination = VariableElimination(case.in_pgmpy(offered))
    virtual = [network.TabularCPD(true, len(weights), [[w] for w in weights])]
    ask = lambda variables, **given: elimination.query(variables, show_progress=False, **given).values
    times["pgmpy"] = {
        "belief": fastest(lambda: ask(["hypothesis"], virtual_evidence=virtual), 5),
        "bits": fastest(
            lambda: [
                network.information(ask(["hypothesis", "read " + name], evidence={"listed": 1})) for name in offered
            ],
            2,
        ),
    }
    json.dump(times, sys.stdout)


if __name__ == "__main__":
    main()
