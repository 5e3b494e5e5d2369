"""Reference values of humid air from the property library CoolProp (pip package coolprop), a real-gas formulation: reads lines "T;rh;p" on standard
input, writes one JSON line each."""
import json
import sys

import CoolProp
from CoolProp.HumidAirProp import HAPropsSI

for line in sys.stdin:
    t, rh, p = (float(x) for x in line.split(";"))
    given = ("T", t, "R", rh, "P", p)
    w = HAPropsSI("W", *given)
    print(json.dumps({"t": t, "rh": rh, "p": p, "w": w, "h": HAPropsSI("H", *given), "rho": (1 + w) / HAPropsSI("Vda", *given)}))
print(json.dumps({"version": CoolProp.__version__}))
