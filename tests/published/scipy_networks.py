#!/usr/bin/env python3
"""usage: scipy_networks.py PRINT_NETWORKS [COUNT [UNKNOWNS]]

A second opinion on steady networks.  PRINT_NETWORKS writes made-up networks and the answers of
src/net; here every law is written again from docs/physics-networks.md, the numbers in brackets,
and the node balances are solved by scipy.optimize.root, MINPACK's lmder and hybrj (More, Garbow
and Hillstrom, ANL-80-74).  Fan tables are scipy.interpolate's; Colebrook is closed, by Lambert's W.
Ends with "N passed, N failed"; 77, skipped, where SciPy is missing.
"""
import math
import subprocess
import sys

try:
    import numpy
    from scipy import interpolate, optimize, special
except ImportError as missing:
    print(f"skipped: {missing}")
    sys.exit(77)

PRESSURE_PA = 1e-6  # what the two answers may differ by
FLOW_KG_S = 1e-8
BALANCE_KG_S = 1e-10  # what SciPy's own answer must meet to be one
KNEE_PA = 0.01
TABLE_CUBIC, TABLE_LINEAR, TABLE_SPLINE, A_MINUS_B_Q2 = range(4)

met = {}  # how often each part of each law was in an answer


def meet(what):
    met[what] = met.get(what, 0) + 1


# --- the laws: drop over flow ---------------------------------------------------------------


class Power:
    """(3) and, below 0.01 Pa, (4)."""

    def __init__(self, words):
        *self.k, self.m = map(float, words)

    def part(self, g):
        return "power" if self.k[g < 0] * abs(g) ** self.m >= KNEE_PA else "power below the knee"

    def drop(self, g):
        k, m, size = self.k[g < 0], self.m, abs(g)
        exact = k * size**m
        if exact < KNEE_PA:
            x = size / (KNEE_PA / k) ** (1 / m)
            exact = KNEE_PA * ((3 - m) / 2 * x + (m - 1) / 2 * x**3)
        return math.copysign(exact, g)


class Darcy:
    """(5)."""

    def __init__(self, words):
        (self.length, self.diameter, self.area, self.roughness, self.loss, *self.density,
         self.viscosity) = map(float, words)

    def reynolds(self, g):
        return abs(g) * self.diameter / (self.area * self.viscosity)

    def part(self, g):
        re = self.reynolds(g)
        return "laminar" if re <= 2300 else "Colebrook" if re >= 4000 else "between the two"

    def colebrook(self, re):
        """1/sqrt f = -2 log10(a + b/sqrt f): W e^W = (c/b) 10^(a/2b), c = ln 10 / 2."""
        a, b, c = self.roughness / self.diameter / 3.7, 2.51 / re, math.log(10) / 2
        log_of_argument = math.log(c / b) + c * a / b
        if log_of_argument < 600:
            w = special.lambertw(math.exp(log_of_argument)).real
        else:  # W + ln W = the logarithm, where the exponential itself is too large
            w = log_of_argument
            for _ in range(60):
                w = log_of_argument - math.log(w)
        return 1 / (w / c - a / b) ** 2

    def drop(self, g):
        re = self.reynolds(g)
        if re == 0:
            return 0.0
        f = 64 / re
        if re > 2300:
            t = min((re - 2300) / 1700, 1)
            w = 3 * t**2 - 2 * t**3
            f = (1 - w) * f + w * self.colebrook(re)
        loss = f * self.length / self.diameter + self.loss
        return loss * g * abs(g) / (2 * self.density[g < 0] * self.area**2)


class Fan:
    """(6): drop = -rise; the curve R over the unit flow x is (7), outside its points (8)."""

    def __init__(self, words):
        self.kind, self.a, self.b = int(words[0]), float(words[1]), float(words[2])
        named = dict(zip(words[3::2], map(float, words[4::2])))
        self.unit_kg_s = named["density"] * named["running"] * named["speed"]
        self.amplitude = named["factor"] * named["speed"] ** 2
        self.points = []

    def ready(self):
        if self.kind == A_MINUS_B_Q2:
            self.last, self.top = math.sqrt(self.a / self.b), self.a
            self.curve = lambda x: self.a - self.b * x * x
            return
        x, y = numpy.array(self.points).T
        if self.kind == TABLE_LINEAR:
            slope = numpy.diff(y) / numpy.diff(x)
            pieces = interpolate.PPoly(numpy.array([slope, y[:-1]]), x)
            first_slope, end_slope = slope[0], slope[-1]
        else:
            pieces = self.cubic(x, y)
            first_slope, end_slope = pieces(x[0], 1), pieces(x[-1], 1)
        self.first, self.last, self.top = x[0], x[-1], max(y)
        self.first_slope = min(first_slope, 0)
        self.end_slope = min(end_slope, -0.1 * self.top / self.last)
        self.curve = self.table(pieces)

    def cubic(self, x, y):
        if self.kind == TABLE_SPLINE:
            return interpolate.CubicSpline(x, y, bc_type="natural")
        slope = interpolate.PchipInterpolator(x, y)(x, 1)  # at the ends SciPy has another rule
        for end, beside in ((0, 1), (-1, -2)):
            chord = (y[end] - y[beside]) / (x[end] - x[beside])
            slope[end] = 1.5 * chord - 0.5 * slope[beside]
        return interpolate.CubicHermiteSpline(x, y, slope)

    def table(self, pieces):
        at, rows = pieces.x.tolist(), pieces.c.T.tolist()

        def rise(x):
            if x > self.last:
                return float(pieces(self.last)) + self.end_slope * (x - self.last)
            if x < self.first:
                return float(pieces(self.first)) + self.first_slope * (x - self.first)
            i = next((i for i in range(len(rows)) if x < at[i + 1]), len(rows) - 1)
            value = 0.0
            for c in rows[i]:
                value = value * (x - at[i]) + c
            return value

        return rise

    def part(self, g):
        x, kinds = g / self.unit_kg_s, ("table cubic", "table linear", "table spline", "a - b q2")
        if x < 0:
            return "fan blown back"
        if self.points and not self.first <= x <= self.last:
            return "fan before its points" if x < self.first else "fan beyond its points"
        return "fan " + kinds[self.kind]

    def drop(self, g):
        x = g / self.unit_kg_s
        if x < 0:
            return -self.amplitude * (self.curve(0.0) - 20 * self.top / self.last * x)
        return -self.amplitude * self.curve(x)


class Link:
    def __init__(self, words):
        ends, self.law = words[1], words[2]
        self.ends = tuple(map(int, ends.split(">")))
        named = dict(zip(words[3::2], words[4::2]))
        self.lift, self.set = float(named["lift"]), float(named.get("set", 0))
        self.laws = []
        if self.law not in ("shut", "resist", "fan", "set"):
            raise ValueError(f"no law here for {self.law}")

    def drop_at(self, g):
        return sum(law.drop(g) for law in self.laws)

    def wide_open(self, drop):
        """The drop rises with the flow, so there is one flow: bracketed, then Brent."""
        at_rest = self.drop_at(0.0)
        if at_rest == drop:
            return 0.0
        reach = 1e-6 if at_rest < drop else -1e-6
        while (self.drop_at(reach) < drop) == (reach > 0):
            reach *= 4
        return optimize.brentq(lambda g: self.drop_at(g) - drop, min(reach, 0), max(reach, 0),
                               xtol=1e-17, rtol=9e-16, maxiter=300)

    def flow(self, drop):
        if self.law == "shut":
            return 0.0
        if self.law == "set" and not self.laws:
            return self.set
        if self.law == "set":  # (10): the middle one of none, set and wide open
            return sorted((0.0, self.set, self.wide_open(drop)))[1]
        return self.wide_open(drop)

    def slope(self, drop):
        step = max(1e-4, 1e-6 * abs(drop))
        return (self.flow(drop + step) - self.flow(drop - step)) / (2 * step)

    def note(self, g):
        if self.lift:
            meet("lift")
        if len(self.laws) > 1:
            meet("two in a row")
        if self.law == "set" and self.laws:
            meet("set met" if g == self.set else "set, no flow" if g == 0 else "set, wide open")
        elif self.law == "set":
            meet("set by decree")
        for law in self.laws:
            meet(law.part(g))
        if g < 0:
            meet("backward")


# --- a network: its text and its balance ----------------------------------------------------


class Network:
    def __init__(self, seed):
        self.seed, self.given, self.inflow, self.links = seed, {}, {}, []
        self.verdict, self.pressure, self.kg_s = None, {}, {}

    def take(self, words):
        kind, rest = words[0], words[1:]
        if kind == "node" and rest[1] == "fixed":
            self.given[int(rest[0])] = float(rest[2])
        elif kind == "node":
            self.inflow[int(rest[0])] = float(rest[2])
        elif kind == "link":
            self.links.append(Link(rest))
        elif kind in LAWS:
            self.links[-1].laws.append(LAWS[kind](rest))
        elif kind == "point":
            self.links[-1].laws[-1].points.append(tuple(map(float, rest)))
        elif kind == "verdict":
            self.verdict = int(rest[0])
        elif kind in ("pressure", "flow"):
            (self.pressure if kind == "pressure" else self.kg_s)[int(rest[0])] = float(rest[1])
        else:
            raise ValueError(f"no such line: {' '.join(words)}")

    def ready(self):
        for link in self.links:
            for law in link.laws:
                if isinstance(law, Fan):
                    law.ready()
        self.unknown = {node: i for i, node in enumerate(self.inflow)}

    def drops(self, p):  # (2)
        at = {**self.given, **{node: p[i] for node, i in self.unknown.items()}}
        return [at[link.ends[0]] - at[link.ends[1]] + link.lift for link in self.links]

    def flows(self, p):
        return [link.flow(drop) for link, drop in zip(self.links, self.drops(p))]

    def imbalance(self, p):  # (1)
        left = numpy.array(list(self.inflow.values()))
        for link, g in zip(self.links, self.flows(p)):
            for node, sign in zip(link.ends, (-1, 1)):
                if node in self.unknown:
                    left[self.unknown[node]] += sign * g
        return left

    def rounding(self, p):
        """What the last digit of a pressure moves through the widest opening."""
        widest = max(link.slope(drop) for link, drop in zip(self.links, self.drops(p)))
        return sys.float_info.epsilon * numpy.max(numpy.abs(p)) * widest

    def jacobian(self, p):
        slopes = numpy.zeros((len(p), len(p)))
        for link, drop in zip(self.links, self.drops(p)):
            c = link.slope(drop)
            rows = [(self.unknown[n], s) for n, s in zip(link.ends, (-1, 1)) if n in self.unknown]
            for i, si in rows:
                for j, sj in rows:
                    slopes[i, j] -= si * sj * c
        return slopes


LAWS = {"power": Power, "darcy": Darcy, "curve": Fan}


def read(lines):
    network = None
    for line in lines:
        words = line.split()
        if words[0] == "network":
            network = Network(words[1])
        elif words[0] == "end":
            network.ready()
            yield network
        else:
            network.take(words)


# --- solving and comparing ------------------------------------------------------------------


def solve(network):
    """Pressures and what they were started from; rough starts first, our answer last."""
    size = len(network.unknown)
    ours = numpy.array([network.pressure[node] for node in network.unknown])
    starts = (("zero", numpy.zeros(size)), ("-100 Pa", numpy.full(size, -100.0)),
              ("5 Pa off ours", ours + 5 * (-1.0) ** numpy.arange(size)), ("ours", ours))
    for name, start in starts:
        for method, options in (("lm", {"ftol": 1e-15, "gtol": 0.0, "maxiter": 300}), ("hybr", {})):
            found = optimize.root(network.imbalance, start, jac=network.jacobian, method=method,
                                  options={"xtol": 1e-15, **options})
            left = numpy.max(numpy.abs(network.imbalance(found.x)))
            if left <= max(BALANCE_KG_S, network.rounding(found.x)):
                return found.x, name, method
    return None, "none", "none"


def compare(network, p):
    """What is apart, in words."""
    if network.verdict != 0:
        return [f"verdict {network.verdict}"]
    apart = []
    for node, i in network.unknown.items():
        if not abs(p[i] - network.pressure[node]) <= PRESSURE_PA:
            apart.append(f"node {node}: {network.pressure[node]:.12g} Pa, SciPy {p[i]:.12g} Pa")
    for index, (link, g) in enumerate(zip(network.links, network.flows(p))):
        link.note(g)
        if not abs(g - network.kg_s[index]) <= FLOW_KG_S:
            apart.append(f"link {index}: {network.kg_s[index]:.12g} kg/s, SciPy {g:.12g} kg/s")
    return apart


WANTED = ("power", "power below the knee", "laminar", "between the two", "Colebrook",
          "fan table cubic", "fan table linear", "fan table spline", "fan a - b q2",
          "fan blown back", "fan before its points", "fan beyond its points",
          "set met",
          "set, wide open", "set, no flow", "set by decree", "lift", "two in a row", "backward")


def main():
    if not 2 <= len(sys.argv) <= 4:
        print(__doc__, file=sys.stderr)
        return 2
    program, count, unknowns = sys.argv[1:] + ["120", "25"][len(sys.argv) - 2:]
    text = subprocess.run([program, count, unknowns], check=True, stdout=subprocess.PIPE, text=True)
    passed = failed = 0
    started = {}
    for network in read(text.stdout.splitlines()):
        p, start, method = solve(network)
        started[start, method] = started.get((start, method), 0) + 1
        apart = ["SciPy found no answer"] if p is None else compare(network, p)
        passed, failed = passed + (not apart), failed + bool(apart)
        if apart:
            print(f"network {network.seed}:", *apart, sep="\n    ")
    for what in WANTED:
        if not met.get(what):
            failed += 1
            print(f"no network with: {what}")
    print("solved from:", ", ".join(f"{s} by {m} {n}" for (s, m), n in started.items()))
    print("met:", ", ".join(f"{what} {met[what]}" for what in sorted(met)))
    if passed + failed == 0:
        failed = 1
        print("nothing compared")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
