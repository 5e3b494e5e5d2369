"""Writes leak_oracle.csv: slow leaks by another way, with the property library CoolProp (pip package coolprop; numbers on file from 8.0.0).

The vessel is found from that library's bubble points at the temperature by plain fixed-point iteration on the liquid's composition; the leak
by the explicit midpoint rule with 1600 equal steps. Nothing of it is shared with shift.go but the published equations of state.
Run: python3 leak_oracle.py > leak_oracle.csv"""
import CoolProp
import CoolProp.CoolProp as cp
import numpy as np

cp.set_config_bool(cp.OVERWRITE_BINARY_INTERACTION, True)
STEPS = 1600
CASES = [
    ("R-407C", ["R32", "R125", "R134a"], [0.23, 0.25, 0.52], 298.15, 920.0, "vapour"),
    ("R-407C", ["R32", "R125", "R134a"], [0.23, 0.25, 0.52], 298.15, 920.0, "liquid"),
    ("R-454C", ["R32", "R1234yf"], [0.215, 0.785], 253.15, 950.0, "vapour"),
    ("R-410A", ["R32", "R125"], [0.5, 0.5], 298.15, 860.0, "vapour"),
]


def bubble(s, x, t):
    s.set_mole_fractions([float(v) for v in x])
    s.update(CoolProp.QT_INPUTS, 0, t)
    y = np.array(s.mole_fractions_vapor())
    return y / y.sum(), s.saturated_liquid_keyed_output(CoolProp.iDmolar), s.saturated_vapor_keyed_output(CoolProp.iDmolar), s.p()


def split(s, c, t, x):
    total = c.sum()
    z = c / total
    for _ in range(200):
        y, l, v, p = bubble(s, x, t)
        share = (l - total) / (l - v)
        new = z / (1 + share * v / total * (y / x - 1))
        new /= new.sum()
        change = abs(new - x).max()
        x = new
        if change < 1e-13:
            break
    return x, y, p, 1 - share


print("designation,phase,t_k,rho_kg_m3,removed,component,mass_fraction,liquid_mass_fraction,vapour_mass_fraction,p_pa,liquid_volume")
for name, fluids, w, t, rho, phase in CASES:
    s = CoolProp.AbstractState("HEOS", "&".join(fluids))
    m = np.array([cp.PropsSI("M", f) for f in fluids])
    c = rho * np.array(w) / m
    x = c / c.sum()
    h = 0.8 / STEPS

    def rate(x, y):
        f = (y if phase == "vapour" else x) * m
        return -rho * f / f.sum() / m

    for i in range(STEPS + 1):
        x, y, p, liquid = split(s, c, t, x)
        if i % (STEPS // 4) == 0:
            for k, f in enumerate(fluids):
                share = [float((v * m / (v * m).sum())[k]) for v in (c, x, y)]
                print(name, phase, t, rho, round(i * h, 3), f.replace("R", "R-", 1), *("%.9g" % v for v in [*share, p, liquid]), sep=",")
        middle = split(s, c + h / 2 * rate(x, y), t, x)
        c = c + h * rate(middle[0], middle[1])
