"""The belief and the bits of every measurement, by general-purpose Bayesian networks.

    network.py PROGRAM KNOWLEDGE            four pairs of complaints, 40 random families: a minute or two
    network.py PROGRAM KNOWLEDGE --all      every pair, and 100 random families

The knowledge files are read here and become networks by the rules of docs/method.md, sections 2 to 6; nothing is taken
from the program but its answers (`halfsplit next --json`), which must be the same to 1e-9:

- cut sets: every set of causes is tried, up to the order;
- how often a set of causes brings a symptom about: a network of the fault tree, its causes observed (pyAgrum); for random
  families also the joint distribution of all causes given the symptom (pgmpy);
- belief, and bits of each measurement on offer: hypothesis -> true outcome -> what the instrument reads, with readings as
  virtual evidence (pyAgrum, pgmpy).
"""

import cmath
import itertools
import json
import math
import pathlib
import random
import subprocess
import sys
import tempfile
import warnings

warnings.filterwarnings("ignore")

import numpy as np
import pgmpy.global_vars
import pyagrum as gum
import yaml
from pgmpy.factors.discrete import TabularCPD
from pgmpy.inference import VariableElimination
from pgmpy.models import DiscreteBayesianNetwork

import reference

pgmpy.global_vars.logger.setLevel("ERROR")

NEAR = 1e-9
ALIASES = {"ohm": "Ω", "degree": "°"}
# Of the figures that a family need not state.
FIGURES = {"max_order": 2, "unlisted": 0.05, "floor": 0.001, "reacts": 0.25, "mistold": 0.15}
CHANCE = 0.02


def read(path):
    """A file with every value as the text it is: YAML 1.1 and 1.2 differ in what they take for numbers and truth values."""
    return yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)


def convert(value, quantity, unit, to):
    units = reference.UNITS[quantity]
    ours = lambda name: units[ALIASES.get(name, name)]
    return float(REGISTRY.Quantity(value, ours(unit)).to(ours(to)).magnitude)


REGISTRY = reference.pint.UnitRegistry()


class Family:
    """The files of one family and the vehicles."""

    def __init__(self, knowledge):
        knowledge = pathlib.Path(knowledge)
        (folder,) = [path.parent for path in knowledge.glob("*/family.yaml")]
        family = read(folder / "family.yaml")
        self.figures = {key: float(family.get(key, default)) for key, default in FIGURES.items()}
        self.instruments = family.get("instruments", {})
        self.fades = family.get("fades", {})
        causes = read(folder / "causes.yaml")["causes"]
        self.rates = {name: float(cause["rate"]) / 1000 for name, cause in causes.items()}
        self.symptoms, self.shared = {}, {}
        for path in sorted((folder / "trees").glob("*.yaml")):
            file = read(path)
            self.shared.update(file.get("shared", {}))
            if "symptom" in file:
                self.symptoms[file["symptom"]] = file["top"]
        self.measurements = {}
        for path in sorted((folder / "measurements").glob("*.yaml")):
            self.measurements.update(read(path)["measurements"])
        vehicles = [read(path) for path in sorted((knowledge / "vehicles").glob("*.yaml"))]
        self.vehicles = {vehicle["vehicle"]: vehicle["limits"] for vehicle in vehicles}
        self.memory = {}

    def odds(self, causes):
        return math.prod(self.rates[cause] / (1 - self.rates[cause]) for cause in causes)

    # Section 2: the fault tree.

    def inputs(self, gate):
        """The inputs of a gate, and how many of them it takes."""
        for key, least in (("any", lambda of: 1), ("all", len), ("of", lambda of: int(gate["at_least"]))):
            if key in gate:
                return gate[key], least(gate[key])
        raise ValueError(gate)

    def comes_about(self, gate, causes):
        """Whether an event comes about where every link holds."""
        if isinstance(gate, str):
            return gate in causes
        if "cause" in gate:
            return gate["cause"] in causes
        if "shared" in gate:
            return self.comes_about(self.shared[gate["shared"]], causes)
        inputs, least = self.inputs(gate)
        return sum(self.comes_about(item, causes) for item in inputs) >= least

    def causes_below(self, gate):
        if isinstance(gate, str):
            return {gate}
        if "cause" in gate:
            return {gate["cause"]}
        if "shared" in gate:
            return self.causes_below(self.shared[gate["shared"]])
        return set().union(*(self.causes_below(item) for item in self.inputs(gate)[0]))

    # Section 3: candidates.

    def minimal_sets(self, symptoms):
        """Every smallest set of causes that brings all symptoms about, each set tried; and the order reached."""
        tops = [self.symptoms[symptom] for symptom in symptoms]
        causes = sorted(set().union(*map(self.causes_below, tops)))
        found, size = [], 0
        order = int(self.figures["max_order"])
        while size < order or not found and size < len(symptoms):
            size += 1
            for tried in map(frozenset, itertools.combinations(causes, size)):
                if not any(known <= tried for known in found) and all(self.comes_about(top, tried) for top in tops):
                    found.append(tried)
        return found, causes, max(order, size)

    def candidates(self, symptoms, absent):
        """Each candidate and its weight: the minimal sets, and the supersets that outweigh what they hold."""
        minimal, causes, order = self.minimal_sets(symptoms)
        weights = {found: self.weight(found, symptoms, absent) for found in minimal}
        for size in range(2, order + 1):
            wider = {
                inside | frozenset(more)
                for inside in weights
                if len(inside) < size
                for more in itertools.combinations([c for c in causes if c not in inside], size - len(inside))
            }
            added = {}
            for tried in wider - weights.keys():
                bar = max(weight for inside, weight in weights.items() if inside <= tried)
                # The odds alone are above every weight.
                if self.odds(tried) > bar:
                    weight = self.weight(tried, symptoms, absent)
                    if weight > bar * (1 + 1e-12):
                        added[tried] = weight
            weights.update(added)
        return weights

    # Section 4: the prior.

    def weight(self, causes, symptoms, absent):
        weight = self.odds(causes)
        for symptom in symptoms:
            weight *= self.brings_about(causes, symptom)
        for symptom in absent:
            weight *= max(self.figures["floor"], 1 - self.brings_about(causes, symptom))
        return weight

    def brings_about(self, causes, symptom):
        key = (symptom, causes & self.causes_below(self.symptoms[symptom]))
        if key not in self.memory:
            tree = self.memory.setdefault(symptom, None) or TreeInPyAgrum(self, symptom)
            self.memory[symptom] = tree
            self.memory[key] = tree.probability(key[1])
        return self.memory[key]

    # Section 5: rows.

    def outcomes(self, measurement):
        """The outcomes in order, and the normal one."""
        reading = measurement["reading"]
        if "choices" in reading:
            return list(reading["choices"]), reading.get("normal", "normal")
        return list(measurement["outcomes"]), "normal"

    def chance(self, measurement):
        outcomes, normal = self.outcomes(measurement)
        stated = measurement.get("chance", {})
        row = {o: float(stated.get(o, CHANCE)) for o in outcomes if o != normal}
        row[normal] = 1 - sum(row.values())
        return np.array([row[o] for o in outcomes])

    def row_of_cause(self, measurement, cause, left):
        outcomes, normal = self.outcomes(measurement)
        stated = {o: float(row[cause]) * left for o, row in measurement["shows"].items() if cause in row}
        if not stated:
            return None
        row = {o: stated.get(o, 0.0) for o in outcomes}
        if measurement.get("rest") == "chance":
            rest = 1 - sum(stated.values())
            for o, chance in zip(outcomes, self.chance(measurement)):
                if o not in stated and o != normal:
                    row[o] = chance * rest
        row[normal] = max(0.0, 1 - sum(p for o, p in row.items() if o != normal))
        return np.array([row[o] for o in outcomes])

    def row(self, measurement, causes, left):
        rows = [self.row_of_cause(measurement, cause, left) for cause in sorted(causes)]
        rows = [row for row in rows if row is not None]
        if not rows:
            return self.chance(measurement)
        if len(rows) == 1:
            return rows[0]
        outcomes, normal = self.outcomes(measurement)
        normal = outcomes.index(normal)
        stays = math.prod(row[normal] for row in rows)
        joint = np.array([1 - math.prod(1 - row[o] for row in rows) for o in range(len(outcomes))])
        joint[normal] = 0
        if joint.sum() > 0:
            joint *= (1 - stays) / joint.sum()
        joint[normal] = stays
        return joint

    def table(self, measurement, candidates, left):
        """A row for each candidate, then one for each kind of unlisted cause."""
        if measurement.get("only_then") != "true":
            left = 1.0
        chance = self.chance(measurement)
        uniform = np.full(len(chance), 1 / len(chance))
        reacts = self.figures["reacts"]
        rows = [self.row(measurement, causes, left) for causes in candidates]
        rows += [chance, reacts * uniform + (1 - reacts) * chance]
        mistold = self.figures["mistold"] if measurement.get("told_by") == "customer" else 0.0
        rows = np.maximum((1 - mistold) * np.array(rows) + mistold * uniform, self.figures["floor"])
        return rows / rows.sum(axis=1, keepdims=True)

    def left(self, readings):
        """What is left of the figures of a fault that shows only while it acts."""
        left = 1.0
        for name, weights in readings.items():
            if name in self.fades:
                outcomes, _ = self.outcomes(self.measurements[name])
                factors = np.array([float(self.fades[name].get(o, 1)) for o in outcomes])
                left *= (weights * factors).sum() / weights.sum()
        return left

    # Section 6: numbers.

    def bands(self, measurement, vehicle):
        """The bands of each outcome as pairs, `None` for no end; an outcome in words has none. `None` for all where the
        limits are not known."""
        reading = measurement["reading"]
        limits = self.vehicles.get(vehicle, {})

        def limit(text):
            name, _, end = text.rpartition(".")
            if name and not name.lstrip("-").isdigit():
                of = limits[name]
                return convert(float(of[end]), reading["quantity"], of["unit"], reading["unit"])
            return float(text)

        found = {}
        try:
            for outcome, bands in measurement["outcomes"].items():
                bands = bands if isinstance(bands, list) else [bands]
                found[outcome] = [
                    [
                        next((limit(band[key]) for key in keys if key in band), None)
                        for keys in (("from", "above"), ("to", "below"))
                    ]
                    for band in bands
                    if "words" not in band
                ]
        except KeyError:
            return None
        return found

    def accuracy(self, name, value, quantity, unit):
        """The standard uncertainty of a value on an instrument, in the unit of the value."""
        instrument = self.instruments[name]
        of = {key: float(figure) for key, figure in instrument["accuracy"].items()}
        there = lambda x: convert(x, quantity, unit, instrument["unit"])
        if "standard" in of:
            u = of["standard"]
        elif "class" in of:
            span = float(instrument["range"]["to"]) - float(instrument["range"]["from"])
            u = of["class"] * span / 100 / math.sqrt(3)
        elif "percent" in of:
            u = (abs(there(value)) * of["percent"] / 100 + of["digits"] * of["digit"]) / math.sqrt(3)
        else:
            u = of["resolution"] / math.sqrt(12)
        return u / (there(1.0) - there(0.0))

    def foreseen_uncertainty(self, measurement, bands):
        reading = measurement["reading"]
        if "instrument" in reading:
            ends = [end for of in bands.values() for band in of for end in band if end is not None]
            middle = sum(ends) / len(ends) if ends else 0.0
            return self.accuracy(reading["instrument"], middle, reading["quantity"], reading["unit"])
        if "value" not in reading:
            return 0.0
        values, squares = {}, 0.0
        for name, take in reading["takes"].items():
            middle = lambda: (float(take["plausible"]["from"]) + float(take["plausible"]["to"])) / 2
            values[name] = float(take["typical"]) if "typical" in take else middle() if "plausible" in take else 0.0
        for name, take in reading["takes"].items():
            if "instrument" in take:
                u = self.accuracy(take["instrument"], values[name], take["quantity"], take["unit"])
                squares += (u * slope(reading["value"], values, name)) ** 2
        return math.sqrt(squares)

    def mixes(self, measurement, vehicle):
        """How often each true outcome is read as each other."""
        outcomes, _ = self.outcomes(measurement)
        mixes = np.eye(len(outcomes))
        if "choices" in measurement["reading"]:
            return mixes
        bands = self.bands(measurement, vehicle)
        if bands is None:
            return mixes
        u = self.foreseen_uncertainty(measurement, bands)
        banded = [place for place, o in enumerate(outcomes) if bands[o]]
        if u > 0:
            width = measurement["reading"].get("open")
            of = [bands[outcomes[place]] for place in banded]
            key = (json.dumps(of), u, width)
            if key not in self.memory:
                self.memory[key] = np.array(reference.foresight(of, u, width and float(width)))
                self.memory[key] /= self.memory[key].sum(axis=1, keepdims=True)
            mixes[np.ix_(banded, banded)] = self.memory[key]
        return mixes

    def weights(self, name, value, vehicle):
        """What a reading says of each outcome: an outcome for sure, or a number and its standard uncertainty."""
        measurement = self.measurements[name]
        outcomes, _ = self.outcomes(measurement)
        if isinstance(value, str):
            return np.array([float(o == value) for o in outcomes])
        bands = self.bands(measurement, vehicle)
        return np.array([reference.chance(bands[o], *value) if bands[o] else 0.0 for o in outcomes])


def slope(formula, values, name):
    """The derivative of a formula by one name: its imaginary part a little off the real line."""
    functions = {key: getattr(cmath, key) for key in ("sin", "cos", "tan", "asin", "acos", "atan", "sqrt", "exp", "log")}
    functions["abs"] = lambda x: -x if x.real < 0 else x
    step = 1e-100
    at = {key: complex(value, step if key == name else 0) for key, value in values.items()}
    return eval(formula.replace("^", "**"), {"__builtins__": {}, "pi": math.pi, **functions}, at).imag / step


class TreeInPyAgrum:
    """One fault tree as a network: causes, a link for each leaf, gates that count their inputs."""

    def __init__(self, family, symptom):
        self.family, self.network, self.parts = family, gum.BayesNet(), {}
        self.causes = {}
        for cause in sorted(family.causes_below(family.symptoms[symptom])):
            self.causes[cause] = self.node("cause " + cause, [])
            rate = family.rates[cause]
            self.network.cpt(self.causes[cause])[:] = [1 - rate, rate]
        self.top = self.gate(family.symptoms[symptom], symptom)
        self.inference = gum.LazyPropagation(self.network)
        self.inference.addTarget(self.top)

    def node(self, name, parents, states=2):
        node = self.network.add(gum.LabelizedVariable(f"{self.network.size()} {name}", "", states))
        for parent in parents:
            self.network.addArc(parent, node)
        return node

    def link(self, of, strength, name):
        """On with this probability where what it links is on."""
        node = self.node(name, [of])
        self.network.cpt(node)[:] = [[1, 0], [1 - strength, strength]]
        return node

    def gate(self, gate, name):
        if isinstance(gate, str):
            return self.causes[gate]
        strength = float(gate.get("strength", 1))
        if "cause" in gate:
            return self.link(self.causes[gate["cause"]], strength, name)
        if "shared" in gate:
            part = gate["shared"]
            if part not in self.parts:
                self.parts[part] = self.gate(self.family.shared[part], part)
            return self.link(self.parts[part], strength, name) if strength < 1 else self.parts[part]
        inputs, least = self.family.inputs(gate)
        # One input after the other, counting up to what the gate takes.
        count = None
        for item in inputs:
            item = self.gate(item, name)
            before = 1 if count is None else least + 1
            node = self.node(name, [item] if count is None else [count, item], least + 1)
            for counted, on in itertools.product(range(before), (0, 1)):
                row = [0.0] * (least + 1)
                row[min(counted + on, least)] = 1.0
                at = {self.network.variable(item).name(): on}
                if count is not None:
                    at[self.network.variable(count).name()] = counted
                self.network.cpt(node)[at] = row
            count = node
        reached = self.node(name, [count])
        self.network.cpt(reached)[:] = [[1, 0]] * least + [[0, 1]]
        return reached

    def probability(self, causes):
        evidence = {node: int(cause in causes) for cause, node in self.causes.items()}
        self.inference.setEvidence(evidence)
        self.inference.makeInference()
        return float(self.inference.posterior(self.top).toarray()[1])

    def in_pgmpy(self):
        """The same network, node by node, for pgmpy."""
        network = DiscreteBayesianNetwork()
        names = {node: self.network.variable(node).name() for node in self.network.nodes()}
        network.add_nodes_from(names.values())
        network.add_edges_from([(names[parent], names[child]) for parent, child in self.network.arcs()])
        for node, name in names.items():
            parents = [names[parent] for parent in self.network.parents(node)]
            table = self.network.cpt(node)
            sizes = [self.network.variableFromName(parent).domainSize() for parent in parents]
            columns = [
                table[dict(zip(parents, at))] if parents else table.toarray()
                for at in itertools.product(*map(range, sizes))
            ]
            states = self.network.variable(node).domainSize()
            network.add_cpds(TabularCPD(name, states, np.array(columns).T.tolist(), parents or None, sizes or None))
        return network, names

    def posterior_of_sets(self):
        """P(exactly these causes | the symptom), of every set of causes: pgmpy."""
        network, names = self.in_pgmpy()
        causes = sorted(self.causes)
        nodes = [names[self.causes[cause]] for cause in causes]
        found = VariableElimination(network).query(nodes, evidence={names[self.top]: 1}, show_progress=False)
        axes = [found.variables.index(node) for node in nodes]
        values = np.transpose(found.values, axes)
        return {
            frozenset(cause for cause, on in zip(causes, at) if on): values[at]
            for at in itertools.product((0, 1), repeat=len(causes))
        }


class Case:
    """A complaint, a vehicle and readings: one network of the hypotheses, the true outcomes and what is read."""

    def __init__(self, family, symptoms, absent=(), vehicle=None, readings=()):
        self.family, self.symptoms, self.absent, self.vehicle = family, symptoms, absent, vehicle
        self.readings = {name: family.weights(name, value, vehicle) for name, value in readings}
        weights = family.candidates(symptoms, absent)
        self.candidates = list(weights)
        listed = np.array(list(weights.values()))
        unlisted = family.figures["unlisted"]
        self.prior = np.append(listed / listed.sum() * (1 - unlisted), [unlisted / 2] * 2)
        left = family.left(self.readings)
        self.tables, self.mixes = {}, {}
        for name, measurement in family.measurements.items():
            self.tables[name] = family.table(measurement, self.candidates, left)
            self.mixes[name] = family.mixes(measurement, vehicle)

    def in_pyagrum(self, offered):
        network = gum.BayesNet()
        hypothesis = network.add(gum.LabelizedVariable("hypothesis", "", len(self.prior)))
        network.cpt(hypothesis)[:] = self.prior
        listed = network.add(gum.LabelizedVariable("listed", "", 2))
        network.addArc(hypothesis, listed)
        network.cpt(listed)[:] = [[0, 1]] * len(self.candidates) + [[1, 0]] * 2
        for name in {*offered, *self.readings}:
            states = self.tables[name].shape[1]
            true = network.add(gum.LabelizedVariable("true " + name, "", states))
            read = network.add(gum.LabelizedVariable("read " + name, "", states))
            network.addArc(hypothesis, true)
            network.addArc(true, read)
            network.cpt(true)[:] = self.tables[name]
            network.cpt(read)[:] = self.mixes[name]
        return network

    def by_pyagrum(self, offered):
        """The belief, and the bits of some measurements."""
        network = self.in_pyagrum(offered)
        evidence = {"true " + name: list(weights) for name, weights in self.readings.items()}
        inference = gum.LazyPropagation(network)
        inference.setEvidence(evidence)
        inference.makeInference()
        belief = inference.posterior("hypothesis").toarray()
        inference = gum.LazyPropagation(network)
        inference.setEvidence({**evidence, "listed": 1})
        for name in offered:
            inference.addJointTarget({"hypothesis", "read " + name})
        inference.makeInference()
        joint = lambda name: inference.jointPosterior({"hypothesis", "read " + name}).toarray()
        return belief, {name: information(joint(name)) for name in offered}

    def in_pgmpy(self, offered):
        names = {*offered, *self.readings}
        network = DiscreteBayesianNetwork([("hypothesis", "listed")])
        hypotheses = len(self.prior)
        of_listed = [[0.0] * len(self.candidates) + [1.0] * 2, [1.0] * len(self.candidates) + [0.0] * 2]
        network.add_cpds(
            TabularCPD("hypothesis", hypotheses, [[p] for p in self.prior]),
            TabularCPD("listed", 2, of_listed, ["hypothesis"], [hypotheses]),
        )
        for name in names:
            states = self.tables[name].shape[1]
            network.add_edges_from([("hypothesis", "true " + name), ("true " + name, "read " + name)])
            network.add_cpds(
                TabularCPD("true " + name, states, self.tables[name].T.tolist(), ["hypothesis"], [hypotheses]),
                TabularCPD("read " + name, states, self.mixes[name].T.tolist(), ["true " + name], [states]),
            )
        return network

    def by_pgmpy(self, offered):
        """The same."""
        virtual = [
            TabularCPD("true " + name, len(weights), [[w / max(weights)] for w in weights])
            for name, weights in self.readings.items()
        ]
        inference = VariableElimination(self.in_pgmpy(offered))
        asked = lambda variables, evidence: inference.query(
            variables, evidence=evidence, virtual_evidence=virtual, show_progress=False
        )
        belief = asked(["hypothesis"], {}).values
        joint = lambda name: asked(["hypothesis", "read " + name], {"listed": 1}).values
        return belief, {name: information(joint(name)) for name in offered}


def information(joint):
    """Mutual information of the two variables of a joint distribution, in bits."""
    joint = joint / joint.sum()
    apart = joint.sum(axis=0, keepdims=True) * joint.sum(axis=1, keepdims=True)
    at = joint > 0
    return float((joint[at] * np.log2(joint[at] / apart[at])).sum())


class Against:
    """The program, held against the networks."""

    def __init__(self, program, knowledge):
        self.program, self.knowledge = program, str(knowledge)
        self.family = Family(knowledge)
        self.cases, self.largest = 0, 0.0

    def answer(self, symptoms, absent, vehicle, readings):
        """What the program answers; `None` where no set of causes brings the symptoms about."""
        command = [self.program, "next", *symptoms, "--json", "--knowledge", self.knowledge]
        for symptom in absent:
            command += ["--absent", symptom]
        if vehicle:
            command += ["--vehicle", vehicle]
        for name, value in readings:
            if not isinstance(value, str):
                unit = self.family.measurements[name]["reading"]["unit"]
                value = f"{value[0]!r} {'' if unit == '1' else unit} ~{value[1]!r}"
            command += ["--reading", f"{name}={value}"]
        run = subprocess.run(command, capture_output=True, text=True)
        if run.returncode != 0:
            if "explains these symptoms together" in run.stderr:
                return None
            sys.exit(f"{' '.join(command)}\n{run.stderr}")
        return json.loads(run.stdout)

    def same(self, what, ours, theirs):
        ours, theirs = float(ours), float(theirs)
        if not abs(ours - theirs) <= NEAR:
            sys.exit(f"{self.saying}: {what} is {theirs!r} here and {ours!r} in the program")
        self.largest = max(self.largest, abs(ours - theirs))

    def check(self, symptoms, absent=(), vehicle=None, readings=(), pgmpy=True):
        """One case; gives the program's answer."""
        self.saying = f"{self.knowledge}: {symptoms} not {absent} {vehicle} {readings}"
        answer = self.answer(symptoms, absent, vehicle, readings)
        if answer is None:
            if self.family.minimal_sets(symptoms)[0]:
                sys.exit(f"{self.saying}: some set of causes explains these")
            return None
        case = Case(self.family, symptoms, absent, vehicle, readings)
        believed = {frozenset(of["causes"]): of["posterior"] for of in answer["candidates"]}
        if believed.keys() != set(case.candidates):
            sys.exit(f"{self.saying}: not the same candidates: {believed.keys() ^ set(case.candidates)}")
        for reading in answer["readings"]:
            weights = case.readings[reading["measurement"]]
            for outcome, weight in zip(weights, reading["weights"].values()):
                self.same(f"a weight of {reading['measurement']}", weight, outcome)
        bits = {of["id"]: of["bits"] for of in answer["measurements"]}
        for library in (case.by_pyagrum, case.by_pgmpy)[: 2 if pgmpy else 1]:
            belief, information = library(bits)
            for causes, p in zip(case.candidates, belief):
                self.same(f"{library.__name__}: the belief in {sorted(causes)}", believed[causes], p)
            self.same(f"{library.__name__}: the unlisted cause", answer["unlisted"], belief[-2:].sum())
            for name, found in information.items():
                self.same(f"{library.__name__}: the bits of {name}", bits[name], found)
        self.cases += 1
        return answer

    def weights_from_all_causes(self, symptom):
        """The weights again, from the joint distribution of all causes given the symptom."""
        every_set = TreeInPyAgrum(self.family, symptom).posterior_of_sets()
        weights = self.family.candidates([symptom], [])
        total, found = sum(weights.values()), sum(every_set[of] for of in weights)
        for causes, weight in weights.items():
            self.same(f"the share of {sorted(causes)}", weight / total, every_set[causes] / found)

    def uncertain(self, answer, vehicle, dice, most=4):
        """Readings of measurements that the program offers: words, and numbers near their limits."""
        readings = []
        for offered in answer["measurements"]:
            measurement = self.family.measurements[offered["id"]]
            outcomes, _ = self.family.outcomes(measurement)
            if "choices" in measurement["reading"]:
                readings.append((offered["id"], dice.choice(outcomes)))
            elif "instrument" in measurement["reading"]:
                bands = self.family.bands(measurement, vehicle)
                ends = [end for of in (bands or {}).values() for band in of for end in band if end is not None]
                if ends:
                    u = self.family.foreseen_uncertainty(measurement, bands)
                    readings.append((offered["id"], (round(dice.gauss(dice.choice(ends), u), 6), round(u, 9))))
        return dice.sample(readings, min(most, len(readings)))


def random_family(dice, folder):
    """A family of four to seven causes with everything in it that the rules speak of."""
    names = [f"c{i}" for i in range(dice.randint(4, 7))]
    share = lambda low, high: round(dice.uniform(low, high), 4)
    link = lambda name: {"cause": name, "strength": share(0.02, 1)} if dice.random() < 0.7 else name

    def gate(depth, event):
        items = [link(name) for name in dice.sample(names, dice.randint(1, 3))]
        if depth < 2:
            items += [gate(depth + 1, f"{event} {i}") for i in range(dice.randint(0, 2))]
        if dice.random() < 0.5:
            items.append({"shared": "part", "strength": share(0.4, 1)} if dice.random() < 0.5 else {"shared": "part"})
        kind = dice.choice(["any", "any", "all", "of"])
        least = {"at_least": dice.randint(1, len(items))} if kind == "of" else {}
        return {"event": event, kind: items, **least}

    figures = {"max_order": dice.randint(1, 3), "unlisted": share(0.01, 0.2), "floor": 0.001, "reacts": share(0.1, 0.4)}
    figures["mistold"] = share(0.05, 0.3)
    gauge = {"title": "Gauge", "unit": "kPa", "range": {"from": 0, "to": 1000}}
    accuracies = [{"class": 1.6}, {"standard": 12.5}, {"percent": 2, "digits": 3, "digit": 1}, {"resolution": 20}]
    write(folder / "random/family.yaml", {
        "family": "random", "title": "Random", "notice": "none", "worth": "none", **figures,
        "shop": {"labour_rate": 60, "escalation": {"minutes": 10, "parts": 1000}},
        "instruments": {"gauge": {**gauge, "accuracy": dice.choice(accuracies)}},
    })
    write(folder / "random/causes.yaml", {
        "repairs": {f"r-{n}": {"title": n, "minutes": 10, "parts": 5, "verify": "look"} for n in names},
        "causes": {
            n: {"title": n, "part": "all", "rate": share(0.5, 450), "repair": f"r-{n}", "source": "invented"} for n in names
        },
    })
    shared = {"event": "Part", "any": [link(name) for name in dice.sample(names, 2)]}
    write(folder / "random/trees/shared.yaml", {"shared": {"part": shared}})
    for symptom in ("one", "two"):
        write(folder / f"random/trees/{symptom}.yaml", {
            "symptom": symptom, "title": symptom, "complaints": [symptom], "top": gate(0, symptom),
        })
    measurements = {}
    for number in range(dice.randint(2, 5)):
        outcomes = [f"o{i}" for i in range(dice.randint(1, 3))]
        given = {"normal": "sound", **{o: o for o in outcomes}}
        measurement = {"title": "M", "ask": "What?", "minutes": 1, "source": "invented"}
        if dice.random() < 0.4:
            outcomes = ["low", "high"]
            measurement["reading"] = {"quantity": "pressure", "unit": "kPa", "instrument": "gauge"}
            low, high = share(100, 300), share(310, 600)
            measurement["outcomes"] = {"low": {"below": low}, "normal": {"from": low, "to": "p.max"}, "high": {"above": "p.max"}}
        else:
            measurement["reading"] = {"choices": given}
            if dice.random() < 0.3:
                measurement["told_by"] = "customer"
        left = dict.fromkeys(names, 1.0)
        measurement["shows"] = {}
        for outcome in outcomes:
            measurement["shows"][outcome] = {}
            for name in dice.sample(names, dice.randint(1, len(names))):
                p = round(left[name] * dice.uniform(0.1, 0.9), 4)
                left[name] -= p
                measurement["shows"][outcome][name] = p
        measurement["chance"] = {outcomes[0]: share(0.005, 0.2)}
        if dice.random() < 0.5:
            measurement["rest"] = "chance"
        measurements[f"m{number}"] = measurement
    write(folder / "random/measurements/all.yaml", {"measurements": measurements})
    limits = {"p": {"max": share(310, 600), "unit": "kPa", "source": "invented"}}
    limits["p"]["max"] = max([limits["p"]["max"], *(m["outcomes"]["normal"]["from"] + 20 for m in measurements.values() if "outcomes" in m)])
    write(folder / "vehicles/sheet.yaml", {
        "vehicle": "sheet", "title": "Sheet", "family": "random", "invented": True, "limits": limits,
    })


def write(path, value):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(yaml.safe_dump(value, sort_keys=False), encoding="utf-8")


def check_shipped(program, knowledge, every):
    against = Against(program, knowledge)
    dice = random.Random(1)
    symptoms = sorted(against.family.symptoms)
    vehicles = [None, *sorted(against.family.vehicles)]
    for symptom in symptoms:
        for vehicle in vehicles:
            answer = against.check([symptom], vehicle=vehicle, pgmpy=every or vehicle == vehicles[1])
        readings = against.uncertain(answer, vehicle, dice)
        against.check([symptom], vehicle=vehicle, readings=readings, pgmpy=every)
        absent = [dice.choice([other for other in symptoms if other != symptom])]
        against.check([symptom], absent=absent, vehicle=vehicle, pgmpy=False)
    pairs = list(itertools.combinations(symptoms, 2))
    for pair in pairs if every else dice.sample(pairs, 4):
        answer = against.check(list(pair), vehicle=vehicles[-1], pgmpy=every)
        if answer:
            readings = against.uncertain(answer, vehicles[-1], dice)
            against.check(list(pair), vehicle=vehicles[-1], readings=readings, pgmpy=False)
    return against


def check_random(program, families):
    cases, largest = 0, 0.0
    for seed in range(families):
        dice = random.Random(seed)
        with tempfile.TemporaryDirectory() as folder:
            random_family(dice, pathlib.Path(folder))
            against = Against(program, folder)
            for symptoms in (["one"], ["two"], ["one", "two"]):
                answer = against.check(symptoms, vehicle="sheet")
                if not answer:
                    continue
                against.check(symptoms, vehicle="sheet", readings=against.uncertain(answer, "sheet", dice, 2))
                if symptoms == ["one"]:
                    against.check(symptoms, absent=["two"], vehicle="sheet")
                    against.weights_from_all_causes("one")
            cases, largest = cases + against.cases, max(largest, against.largest)
    return cases, largest


def main():
    program, knowledge, *rest = sys.argv[1:]
    every = rest == ["--all"]
    program = str(pathlib.Path(program).resolve())
    against = check_shipped(program, knowledge, every)
    print(f"{against.cases} cases of {knowledge}: the same to {against.largest:.1e}")
    families = 100 if every else 40
    cases, largest = check_random(program, families)
    print(f"{cases} cases of {families} random families: the same to {largest:.1e}")


if __name__ == "__main__":
    main()
