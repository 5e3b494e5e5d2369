"""Reference values from the property library CoolProp (pip package coolprop): reads lines "backend;fluid;fractions;T" on standard input, writes
one JSON line each with dew and bubble pressure and, at half the dew pressure and 30 K above, density and enthalpy difference to the bubble point."""
import json
import sys

import CoolProp
import CoolProp.CoolProp as cp

cp.set_config_bool(cp.OVERWRITE_BINARY_INTERACTION, True)
for line in sys.stdin:
    name, fluids, fractions, temperature = line.strip().split(";")
    out = {"name": name, "t": float(temperature)}
    try:
        s = CoolProp.AbstractState("HEOS", fluids)
        if fractions:
            s.set_mole_fractions([float(x) for x in fractions.split(",")])
        s.update(CoolProp.QT_INPUTS, 0, out["t"])
        out["bubble"] = s.p()
        out["rho_liquid"] = s.rhomass()
        s.update(CoolProp.QT_INPUTS, 1, out["t"])
        out["dew"] = s.p()
        out["rho_vapour"] = s.rhomass()
        s.specify_phase(CoolProp.iphase_gas)
        s.update(CoolProp.PT_INPUTS, out["dew"] / 2, out["t"] + 30)
        out["rho_gas"], h1 = s.rhomass(), s.hmass()
        s.update(CoolProp.PT_INPUTS, out["dew"] / 4, out["t"] + 60)
        out["dh"] = s.hmass() - h1
    except Exception as e:  # its own failures are counted, not hidden
        out["error"] = str(e)[:200]
    print(json.dumps(out))
print(json.dumps({"name": "version", "t": 0, "error": CoolProp.__version__}))
