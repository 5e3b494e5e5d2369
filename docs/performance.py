"""Writes docs/performance.md: this program's properties against the library CoolProp, on one machine, in one run.

Run it in the root of the repository with Go and a Python that has the package coolprop 8.0.0:

    python docs/performance.py [--rounds 15]

Both sides answer the same 64 points in turn (refrigerant/bench_test.go holds the rule). Rounds of Go and of the library alternate; a figure is the median
over the rounds of the fastest of three stretches in each. The library is called through its low-level object, with everything prepared outside the
clock; the cost of a call from Python into it is measured by calls that do nothing and subtracted.
"""
import argparse
import array
import collections
import json
import os
import platform
import re
import statistics
import subprocess
import sys
import tempfile
import time

import CoolProp
import CoolProp.CoolProp as cp

POINTS = 64
STRETCHES = 3  # a round takes the fastest of so many, on both sides
PURE = {"R-134a": "R134a", "R-290": "Propane", "R-744": "CO2"}
PSEUDO = {"R-404A": "R404A", "R-410A": "R410A", "R-407C": "R407C"}  # one-fluid equations of a blend
# Mass fractions by ASHRAE 34 / ISO 817.
BLEND = {
    "R-404A": {"R125": 0.44, "R143a": 0.52, "R134a": 0.04},
    "R-410A": {"R32": 0.5, "R125": 0.5},
    "R-407C": {"R32": 0.23, "R125": 0.25, "R134a": 0.52},
    "R-448A": {"R32": 0.26, "R125": 0.26, "R1234yf": 0.20, "R134a": 0.21, "R1234ze(E)": 0.07},
}
NAMES = [*PURE, *BLEND]
MIXED, TOLD, ONE, TABLE = "mixture model", "mixture model, told it is vapour", "one-fluid equation", "bicubic table"
ONE_TABLE = "bicubic table of that"
EQUATION = "equation of state"


def points(name):
    """The points of refrigerant/bench_test.go."""
    lo, hi, tlo, thi, vlo, vhi = (1e6, 5e6, 240.0, 290.0, 1e6, 5e6) if name == "R-744" else (100e3, 2e6, 240.0, 310.0, 200e3, 1e6)
    out = []
    for i in range(POINTS):
        x, y = (i * 37 % POINTS) / (POINTS - 1), (i * 23 % POINTS) / (POINTS - 1)
        out.append((lo * (hi / lo) ** x, tlo + (thi - tlo) * x, vlo * (vhi / vlo) ** x, 320 + 30 * y))
    return out


def clock(call, rows, start=0, budget=0.002):
    """ns of processor time per call of call(a, b) over rows for about budget seconds, at least one call. What is too slow for all rows takes some, from
    start on. A short time is seldom interrupted."""
    begin = time.thread_time_ns()
    call(*rows[start % len(rows)])
    once = time.thread_time_ns() - begin
    share = max(1, min(len(rows), int(budget * 1e9 / once)))
    some = [rows[(start + i) % len(rows)] for i in range(share)]
    loops = max(1, int(budget * 1e9 / (once * share)))
    begin = time.thread_time_ns()
    for _ in range(loops):
        for a, b in some:
            call(a, b)
    return (time.thread_time_ns() - begin) / (loops * share)


class Library:
    """The library's questions: (refrigerant, quantity, interface) -> (call, rows, arguments of a call or None for no overhead, answers in a call)."""

    def __init__(self, tmp):
        cp.set_config_string(cp.ALTERNATIVE_TABLES_DIRECTORY, tmp)  # its tables are built here and now, and not kept
        self.asks, self.says, self.build, self.slow = {}, {}, {}, set()
        for name in NAMES:
            rows = points(name)
            if name in PURE:
                s = CoolProp.AbstractState("HEOS", PURE[name])
                self.equation(name, EQUATION, s, rows)
                sat = s.update_QT_pure_superanc
                self.ask(name, "dew at temperature", "shortcut, all properties", lambda q, t, f=sat: f(q, t), [(1.0, r[1]) for r in rows], 2)
                self.vector(name, s, rows)
                self.equation(name, TABLE, self.table(name, PURE[name], rows), rows)
                continue
            if name in PSEUDO:
                self.equation(name, ONE, CoolProp.AbstractState("HEOS", PSEUDO[name]), rows)
                self.equation(name, ONE_TABLE, self.table(name, PSEUDO[name], rows), rows)
            try:
                s = CoolProp.AbstractState("HEOS", "&".join(BLEND[name]))
                s.set_mass_fractions(list(BLEND[name].values()))
            except ValueError as e:
                self.says[name, "everything", MIXED] = str(e)
                continue
            self.equation(name, MIXED, s, rows)

    def table(self, name, fluid, rows):
        begin = time.process_time()
        s = CoolProp.AbstractState("BICUBIC&HEOS", fluid)
        s.update(cp.PQ_INPUTS, rows[0][0], 1)
        self.build[name] = time.process_time() - begin
        return s

    def ask(self, name, quantity, how, call, rows, arguments, each=1):
        try:
            for a, b in rows[:3]:
                call(a, b)
        except Exception as e:  # what the library cannot do is reported in its own words
            self.says[name, quantity, how] = str(e).split("\n")[0][:160]
            return
        self.asks[name, quantity, how] = (call, rows, arguments, each)

    def equation(self, name, how, s, rows):
        def pair(inputs):
            update = s.update
            return lambda a, b: update(inputs, a, b)

        self.ask(name, "dew at pressure", how, pair(cp.PQ_INPUTS), [(r[0], 1.0) for r in rows], 3)
        self.ask(name, "bubble at pressure", how, pair(cp.PQ_INPUTS), [(r[0], 0.0) for r in rows], 3)
        self.ask(name, "dew at temperature", how, pair(cp.QT_INPUTS), [(1.0, r[1]) for r in rows], 3)
        # Vapour. The enthalpies and entropies are the library's own at these points. A mixture that is told the phase need not test its stability.
        gas = s
        if how == MIXED:
            gas = CoolProp.AbstractState("HEOS", "&".join(BLEND[name]))
            gas.set_mass_fractions(list(BLEND[name].values()))
            gas.specify_phase(cp.iphase_gas)
            told = gas.update
            self.ask(name, "state at p, T", TOLD, lambda a, b: told(cp.PT_INPUTS, a, b), [(r[2], r[3]) for r in rows], 3)
        states = []
        for r in rows:
            gas.update(cp.PT_INPUTS, r[2], r[3])
            states.append((r[2], r[3], gas.hmass(), gas.smass()))
        self.ask(name, "state at p, T", how, pair(cp.PT_INPUTS), [(v[0], v[1]) for v in states], 3)
        self.ask(name, "state at p, h", how, pair(cp.HmassP_INPUTS), [(v[2], v[0]) for v in states], 3)
        self.ask(name, "state at p, s", how, pair(cp.PSmass_INPUTS), [(v[0], v[3]) for v in states], 3)

    def vector(self, name, s, rows):
        """The saturation shortcut of a pure fluid over an array: no call overhead, one property."""
        text = json.loads(s.fluid_param_string("JSON"))
        fluid = text[0] if isinstance(text, list) else text
        shortcut = cp.SuperAncillary(json.dumps(fluid["EOS"][0]["SUPERANCILLARY"]))
        n = 4096
        T, y = array.array("d", [rows[i % POINTS][1] for i in range(n)]), array.array("d", bytes(8 * n))
        self.ask(name, "dew at temperature", "shortcut over an array", lambda a, b: shortcut.eval_sat_many(T, "P", 1, y), [(0.0, 0.0)] * 8, None, n)

    def measure(self, k):
        """Round k: ns per question, and the overhead of a call by its number of arguments."""
        s = CoolProp.AbstractState("HEOS", "R134a")
        s.update(cp.PQ_INPUTS, 7e5, 1)
        rows = [(300.0 + i, 0.0) for i in range(POINTS)]
        get, put, const = s.T, s.set_T, s.get_fluid_constant
        none = min(clock(lambda a, b: get(), rows) for _ in range(STRETCHES))
        one = min(clock(lambda a, b: put(a), rows) for _ in range(STRETCHES))
        two = min(clock(lambda a, b: const(0, cp.imolar_mass), rows) for _ in range(STRETCHES))
        number = max(0.0, one - none)
        call = {2: none + 2 * number, 3: max(two, none + 2 * number) + number}
        out = {}
        for key, (f, rows, arguments, each) in self.asks.items():
            if key in self.slow and k > 2:
                continue  # what takes longer than all the rest is asked three times
            best = clock(f, rows, 19 * k)
            if best > 2e7:
                self.slow.add(key)
            else:
                best = min(best, *(clock(f, rows, 19 * k) for _ in range(STRETCHES - 1)))
            out[key] = (best / each, call[arguments] if arguments else 0.0)
        return out


OURS = {
    "BenchmarkDewAtPressure": ("fit", "dew at pressure"), "BenchmarkBubbleAtPressure": ("fit", "bubble at pressure"),
    "BenchmarkDewAtTemperature": ("fit", "dew at temperature"), "BenchmarkFitPT": ("fit", "state at p, T"), "BenchmarkFitPH": ("fit", "state at p, h"),
    "BenchmarkFitPS": ("fit", "state at p, s"), "BenchmarkExactDewAtPressure": ("equation", "dew at pressure"),
    "BenchmarkExactDewAtTemperature": ("equation", "dew at temperature"), "BenchmarkStatePT": ("equation", "state at p, T"),
    "BenchmarkStatePH": ("equation", "state at p, h"), "BenchmarkStatePS": ("equation", "state at p, s"), "BenchmarkFit": ("build", "fit"),
}


def go_round(binary, pattern, count):
    arguments = ["-test.run", "^$", "-test.bench", pattern, "-test.benchtime", "2ms", "-test.count", str(count), "-test.benchmem"]
    text = subprocess.run([binary, *arguments], check=True, capture_output=True, text=True).stdout
    cpu = re.search(r"^cpu: (.*)$", text, re.M)
    out = []
    for line in text.splitlines():
        m = re.match(r"(Benchmark\w+)/(\S+?)(?:-\d+)?\s+\d+\s+(.*)", line)
        if m and m[1] in OURS:
            words = m[3].split()
            out.append(((m[2], *OURS[m[1]]), {unit: float(v) for v, unit in zip(words[::2], words[1::2])}))
    return out, cpu[1] if cpu else platform.processor()


def memory(pid):
    """Peak MB of a process so far, 0 where the system does not tell."""
    try:
        with open(f"/proc/{pid}/status", encoding="ascii") as f:
            return next((int(line.split()[1]) / 1024 for line in f if line.startswith("VmHWM")), 0)
    except OSError:
        return 0


def million_rows(tmp):
    """Seconds and peak MB of the program over a million pressures, by output and refrigerant; the fastest of three runs."""
    program = os.path.join(tmp, "coldwright")
    subprocess.run(["go", "build", "-o", program, "./cmd/coldwright"], check=True)
    table = os.path.join(tmp, "pressures.csv")
    with open(table, "w", encoding="ascii") as f:
        f.write("pressure_kpa\n")
        f.writelines(f"{60 + (i * 7919 % 1000003) * 2.94e-3:.3f}\n" for i in range(1_000_000))
    out = {}
    for name in ("R-134a", "R-448A"):
        for how in ([], ["--json"]):
            runs = []
            for _ in range(3):
                begin = time.perf_counter()
                p = subprocess.Popen([program, "sat", name, "--table", table, *how], stdout=subprocess.DEVNULL)
                peak = 0
                while p.poll() is None:
                    peak = max(peak, memory(p.pid))
                    time.sleep(0.02)
                if p.returncode:
                    raise RuntimeError("the program failed")
                runs.append((time.perf_counter() - begin, peak))
            out[name, "JSON lines" if how else "CSV"] = min(runs)
    return out


def ns(v):
    if v >= 1e6:
        return f"{v / 1e6:,.3g} ms" if v < 1e8 else f"{v / 1e6:,.0f} ms"
    if v >= 1e4:
        return f"{v / 1e3:,.0f} µs"
    if v >= 1e3:
        return f"{v / 1e3:,.1f} µs"
    return f"{v:,.0f} ns"


def times(v):
    return f"{v:,.0f}" if v >= 10 else f"{v:.2g}"


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("--rounds", type=int, default=15)
    ap.add_argument("--out", default="docs/performance.md")
    a = ap.parse_args()
    ours, allocs, fit, theirs, over = (collections.defaultdict(list) for _ in range(5))
    with tempfile.TemporaryDirectory() as tmp:
        binary = os.path.join(tmp, "bench.test")
        subprocess.run(["go", "test", "-c", "-o", binary, "./refrigerant"], check=True)
        million = million_rows(tmp)
        lib = Library(tmp)
        for k in range(a.rounds):
            pattern = "^Benchmark(DewAt|BubbleAt|FitP|ExactDew|State)"
            got, cpu = go_round(binary, pattern, STRETCHES)
            if k < 5:
                got += go_round(binary, "^BenchmarkFit$", STRETCHES)[0]
            best = {}
            for key, v in got:
                allocs[key].append(v["allocs/op"])
                if key not in best or v["ns/op"] < best[key]["ns/op"]:
                    best[key] = v
            for key, v in best.items():
                ours[key].append(v["ns/op"])
                if key[1] == "build":
                    fit[key[0]].append(v)
            for key, (raw, overhead) in lib.measure(k).items():
                theirs[key].append(raw)
                over[key].append(overhead)
            print(f"round {k + 1} of {a.rounds}", file=sys.stderr)
    version = subprocess.run(["go", "env", "GOVERSION"], check=True, capture_output=True, text=True).stdout.strip()
    med = statistics.median
    cores = os.cpu_count()
    ratios = {}

    def table(ours_kind, quantities, interfaces):
        out = ["| refrigerant | question | ours | allocations | library, by | raw | call | net | net ÷ ours |", "| --- | --- | ---: | ---: | --- | ---: | ---: | ---: | ---: |"]
        for q in quantities:
            for name in NAMES:
                mine = med(ours[name, ours_kind, q])
                left = f"| {name} | {q} | {ns(mine)} | {max(allocs[name, ours_kind, q]):.0f} |"
                any_row = False
                for how in interfaces:
                    key = (name, q, how)
                    if key in theirs:
                        raw, call = med(theirs[key]), med(over[key])
                        net = max(raw - call, 0.0)
                        ratios[ours_kind, key] = net / mine
                        out.append(f"{left} {how} | {ns(raw)} | {ns(call) if call else '–'} | {ns(net)} | {times(net / mine)} |")
                        left, any_row = "| | | | |", True
                    elif key in lib.says:
                        out.append(f"{left} {how} | cannot: {lib.says[key]} | | | |")
                        left, any_row = "| | | | |", True
                    elif (name, "everything", how) in lib.says:
                        out.append(f"{left} {how} | cannot: {lib.says[name, 'everything', how]} | | | |")
                        left, any_row = "| | | | |", True
                if not any_row:
                    out.append(f"{left} none | | | | |")
        return out

    sat = ["dew at pressure", "bubble at pressure", "dew at temperature"]
    state = ["state at p, T", "state at p, h", "state at p, s"]
    fast = [EQUATION, TABLE, "shortcut, all properties", "shortcut over an array", ONE, ONE_TABLE, MIXED]
    slowly = [EQUATION, ONE, MIXED, TOLD]
    from_fit_sat, from_fit_state = table("fit", sat, fast), table("fit", state, [EQUATION, TABLE, ONE, ONE_TABLE, MIXED, TOLD])
    from_equation = table("equation", ["dew at pressure", "dew at temperature", *state], slowly)

    def worst(kind, q, names):
        return max(med(ours[n, kind, q]) for n in names)

    def least(kind, quantities, names, how):
        v = [ratios[kind, (n, q, h)] for q in quantities for n in names for h in how if (kind, (n, q, h)) in ratios]
        return min(v) if v else float("nan")

    def verdict(ok):  # of the figure before it is rounded
        return "met" if ok else "**not met**"

    pure, blends = list(PURE), list(BLEND)
    dew = worst("fit", "dew at pressure", NAMES)
    ph = worst("fit", "state at p, h", NAMES)
    r1 = least("fit", ["dew at pressure"], pure, [EQUATION])
    r2 = least("fit", ["dew at pressure", "bubble at pressure"], blends, [MIXED])
    pt, exact_ph = worst("equation", "state at p, T", pure), worst("equation", "state at p, h", pure)
    count = {kind: max(max(v) for k, v in allocs.items() if k[1] == kind) for kind in ("fit", "equation")}
    table_time = max(t for (_, how), (t, _) in million.items() if how == "CSV")
    aims = [
        "| aim | slowest of the refrigerants | |", "| --- | --- | --- |",
        f"| dew at pressure in 25 ns or less | {ns(dew)} | {verdict(dew <= 25)} |",
        f"| … and 20 times faster than the library's shortcut for pure fluids | {times(r1)} times | {verdict(r1 >= 20)} |",
        f"| bubble and dew of a blend 10,000 times faster than its mixture model | {times(r2)} times | {verdict(r2 >= 10000)} |",
        f"| vapour at p, h from the fit in 100 ns or less | {ns(ph)} | {verdict(ph <= 100)} |",
        f"| equation at p, T of a pure fluid in 3 µs or less | {ns(pt)} | {verdict(pt <= 3000)} |",
        f"| equation at p, h of a pure fluid in 15 µs or less | {ns(exact_ph)} | {verdict(exact_ph <= 15000)} |",
        f"| no allocation by a fit | {count['fit']:.0f} a call | {verdict(count['fit'] == 0)} |",
        f"| no allocation by the equation | {count['equation']:.0f} a call | {verdict(count['equation'] == 0)} |",
        f"| `sat --table` to CSV, a million pressures in 3 s or less | {table_time:.1f} s | {verdict(table_time <= 3)} |",
    ]
    built = ["| refrigerant | our fit | off by, saturation | off by, T at p, h | off by, h | the library's bicubic table |", "| --- | ---: | ---: | ---: | ---: | ---: |"]
    for name in NAMES:
        v = fit[name]
        first = lib.build.get(name)
        built.append(f"| {name} | {ns(med(x['ns/op'] for x in v))} | {med(x['µK-saturation'] for x in v):.1g} µK | {med(x['mK-at-p-h'] for x in v):.1g} mK | {med(x['J/kg'] for x in v):.1g} J/kg | "
                     + (f"{first:.1f} s |" if first else "none |"))
    doc = f"""# How fast the properties are

Written by `python docs/performance.py`. Do not edit.

Measured against CoolProp {CoolProp.__version__}, a general-purpose property library in C++, in one run on one machine: {cpu}, {cores} cores, {version}, Python {platform.python_version()}. Other work ran beside it (load {min(load):.1f} to {max(load):.1f} on {cores} cores), which is why ratios are worth more than times: {a.rounds} rounds, ours and theirs in turn, medians of the fastest of {STRETCHES} stretches of 2 ms in each.

Both sides answer the same 64 points in turn: saturation at 100 to 2,000 kPa (R-744: 1 to 5 MPa) or 240 to 310 K (290 K), vapour at 200 to 1,000 kPa (R-744: 1 to 5 MPa) and 320 to 350 K. The library is driven through its low-level object, prepared outside the clock. "Raw" is what a call from Python takes, "call" what a call with so many arguments takes that does nothing, "net" the difference; the library's figures are processor time; where the call is most of it, net is uncertain by a few tens of ns. Ours is a Go loop over the points through two function values, which is part of the time; the processor may overlap neighbouring calls of ours, while the interpreter stands between those of the library. The library's `update` solves the state; reading properties from it would come on top and is not counted. Our fits return three properties with a state of vapour and one on saturation; our equation returns them all, heat capacities and speed of sound too.

## Aims

{chr(10).join(aims)}

## Saturation from a fit

What the program asks most: a fit of one refrigerant, built once, answers instead of the equation. "Equation of state" of a pure fluid uses the library's own shortcut, Chebyshev expansions of saturation good to the last digits, and brings both densities along. For blends the library has a mixture model, and for some a one-fluid equation, which knows one composition and has approximate saturation; of that it can build a table.

{chr(10).join(from_fit_sat)}

Limit: one logarithm or exponential and four coefficients of a cubic, out of 8 kB that stay in the nearest cache; there is little left to save. The library's shortcut evaluates Chebyshev expansions for temperature and both densities in every call, over an array one expansion alone; for a blend it iterates on the derivatives of the mixture.

## Vapour from a fit

{chr(10).join(from_fit_state)}

Limit: arithmetic. Three bicubic splines take 48 coefficients, which lie side by side in four stretches of memory, and about 100 multiplications and additions, one at a time since Go has no vector instructions in portable code; before them, each waiting for the one before, come a logarithm, one or two cubics for the edge of the region, a division and the square root that crowds the cells near saturation. p, T ends with an exponential for the density besides; p, s is a Newton search on the spline. The library's bicubic tables do the same, behind a search for the cell and tests of range and phase; they take seconds to build. They serve pure fluids and one-fluid equations; the composition of a mixture they do not take.

## The equation itself

{chr(10).join(from_equation)}

Limit: exponentials and logarithms, about half of all time. R-134a has 21 terms, R-290 18 (seven of them Gaussians), R-744 42; a blend is the sum over its components and pairs. At one temperature and composition the terms are first folded: each distinct power of the temperature is taken once, terms of the same form in density become one coefficient, those of all components of a blend together, and a search for the density then goes over some 10 to 40 coefficients with a handful of exponentials. p, T of a pure fluid is one such folding, two or three evaluations along density with three derivatives (Halley's steps), and one of everything with the ideal gas; which phase, the vapour-pressure formula tells unless it is close. A blend is asked for its bubble or dew pressure first, which is most of its time: fugacities want every component by itself, so there nothing folds together. p, h and p, s search temperature and density together by Newton; every step is a new temperature and folds anew, and the root found is checked by a search from afar; in two phases after the saturation point. R-744 costs most: five Gaussians and three terms of the critical region, which share what powers they can and still take nine exponentials and logarithms an evaluation. Nothing is allocated: all work fits on the stack. Where the library is faster: saturation of pure fluids, which it reads from expansions made beforehand while ours is solved every time; and a blend at p, T once it is told the phase, or by a one-fluid equation, which ours has none of.

## A million rows

`coldwright sat REFRIGERANT --table` over a million pressures from 60 to 3,000 kPa, reading and writing included; the fastest of three runs.

| refrigerant | output | time | memory at most |
| --- | --- | ---: | ---: |
{chr(10).join(f"| {n} | {how} | {t:.2f} s | {mb:.0f} MB |" for (n, how), (t, mb) in million.items())}

Limit: turning eight numbers a row into shortest decimals takes more than finding them.

## Building

{chr(10).join(built)}

Off by: the largest of 200 states between the nodes of the fit, against our equation. The fit takes its place in run time; the equation is asked where the fit does not reach, and with `--exact`.
"""
    with open(a.out, "w", encoding="utf-8") as f:
        f.write(doc)


main()
