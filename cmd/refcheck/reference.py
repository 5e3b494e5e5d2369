"""Answers of the property library CoolProp (pip package coolprop), one line for each line on standard input.

    F;CAS&CAS;mole fractions;parameters   the fluid of what follows. Parameters are "i,j,beta_T,gamma_T,beta_v,gamma_v" joined by "|", for pairs the
                                          library has none of. Answer: its own parameters of every pair, in the same form.
    C;call;a;b                            a flash by the library's own choice of phase. Answer: T, p, rho, h, s
    S;phase;p;T                           one phase, imposed. Answer: rho, h, s, cp, w

The first argument is the CPU time allowed for one answer, in s; beyond it the process ends by the signal of its timer.
SI units, mass based. What fails answers "!" and the library's message."""
import signal
import sys

import CoolProp
import CoolProp.CoolProp as cp

cp.set_config_bool(cp.OVERWRITE_BINARY_INTERACTION, True)
cp.set_config_bool(cp.NORMALIZE_GAS_CONSTANTS, False)
NAMES = ("betaT", "gammaT", "betaV", "gammaV")
PHASES = {"gas": CoolProp.iphase_gas, "liquid": CoolProp.iphase_liquid, "supercritical": CoolProp.iphase_supercritical,
          "supercritical_gas": CoolProp.iphase_supercritical_gas, "supercritical_liquid": CoolProp.iphase_supercritical_liquid}
CALLS = {
    "bubble T": lambda a, b: (CoolProp.QT_INPUTS, 0, a), "dew T": lambda a, b: (CoolProp.QT_INPUTS, 1, a),
    "bubble p": lambda a, b: (CoolProp.PQ_INPUTS, a, 0), "dew p": lambda a, b: (CoolProp.PQ_INPUTS, a, 1),
    "p-x": lambda a, b: (CoolProp.PQ_INPUTS, a, b), "T-x": lambda a, b: (CoolProp.QT_INPUTS, b, a),
    "p-T": lambda a, b: (CoolProp.PT_INPUTS, a, b), "p-h": lambda a, b: (CoolProp.HmassP_INPUTS, b, a), "p-s": lambda a, b: (CoolProp.PSmass_INPUTS, a, b),
    "T-rho": lambda a, b: (CoolProp.DmassT_INPUTS, b, a), "p-rho": lambda a, b: (CoolProp.DmassP_INPUTS, b, a),
}
made = set()  # pairs that are not the library's own


def fluid(names, fractions, parameters):
    cas = names.split("&")
    handed = [p.split(",") for p in parameters.split("|")] if parameters else []
    if not handed and frozenset(cas) in made:
        raise ValueError("no parameters of its own")
    for p in handed:
        pair = cas[int(p[0])], cas[int(p[1])]
        if frozenset(pair) not in made:
            cp.apply_simple_mixing_rule(*pair, "linear")
            made.add(frozenset(pair))
    s = CoolProp.AbstractState("HEOS", names)
    if len(cas) > 1:
        s.set_mole_fractions([float(x) for x in fractions.split(",")])
    for p in handed:
        for name, value in zip(NAMES, p[2:]):
            s.set_binary_interaction_double(int(p[0]), int(p[1]), name, float(value))
    own = []
    for i in range(len(cas)):
        for j in range(i + 1, len(cas)):
            own.append(",".join([str(i), str(j)] + ["%.12g" % s.get_binary_interaction_double(i, j, n) for n in NAMES]))
    return s, "|".join(own)


if sys.argv[1] == "version":
    print(CoolProp.__version__)
    sys.exit()
state = None
for line in sys.stdin:
    signal.setitimer(signal.ITIMER_VIRTUAL, float(sys.argv[1]))
    what, *f = line.rstrip("\n").split(";")
    try:
        if what == "F":
            state, answer = fluid(*f)
        elif what == "C":
            state.unspecify_phase()
            state.update(*CALLS[f[0]](float(f[1]), float(f[2])))
            answer = ";".join("%.17g" % v for v in (state.T(), state.p(), state.rhomass(), state.hmass(), state.smass()))
        else:
            state.specify_phase(PHASES[f[0]])
            state.update(CoolProp.PT_INPUTS, float(f[1]), float(f[2]))
            answer = ";".join("%.17g" % v for v in (state.rhomass(), state.hmass(), state.smass(), state.cpmass(), state.speed_sound()))
    except Exception as e:  # its failures are counted, not hidden
        answer = "!" + " ".join(str(e).split())[:200]
    print(answer, flush=True)
