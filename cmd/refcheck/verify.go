package main

import (
	"fmt"
	"math"

	"coldwright/refrigerant"
)

// off names the first difference beyond its tolerance; what is not a number is beyond.
func off(pairs ...any) string {
	for i := 0; i < len(pairs); i += 3 {
		if d, tol := pairs[i+1].(float64), pairs[i+2].(float64); !(math.Abs(d) <= tol) {
			return fmt.Sprintf("%s off by %.2e, allowed %.0e", pairs[i], d, tol)
		}
	}
	return ""
}

// bulk is the phase of a saturation point that has the refrigerant's composition.
func bulk(e refrigerant.Equilibrium, liquid bool) refrigerant.State {
	if liquid {
		return refrigerant.State{T: e.T, P: e.P, Rho: e.RhoLiquid}
	}
	return refrigerant.State{T: e.T, P: e.P, Rho: e.RhoVapour}
}

// whole: what a state has in every phase.
func whole(s refrigerant.State) string {
	for _, v := range []float64{s.T, s.P, s.Rho, s.H, s.S} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return "not a number"
		}
	}
	if s.Phase == refrigerant.PhaseUnknown {
		return "no phase"
	}
	if s.Phase == refrigerant.TwoPhase {
		if !(s.VapourMass >= -shareTolerance && s.VapourMass <= 1+shareTolerance) {
			return fmt.Sprintf("vapour share %g", s.VapourMass)
		}
		return ""
	}
	if !(s.Cp > 0 && s.Cv > 0 && s.SpeedOfSound > 0) || math.IsInf(s.Cp, 0) {
		return fmt.Sprintf("cp %g, cv %g, speed of sound %g", s.Cp, s.Cv, s.SpeedOfSound)
	}
	return ""
}

// pressureTolerance is what a relative change of density by densityTolerance does to the pressure, and never less than pTolerance.
func pressureTolerance(s refrigerant.State) float64 {
	tol := pTolerance * s.P
	if s.Phase != refrigerant.TwoPhase {
		tol = math.Max(tol, densityTolerance*s.Rho*s.SpeedOfSound*s.SpeedOfSound*s.Cv/s.Cp)
	}
	return tol
}

// again recomputes a state from its temperature and density.
func again(r *refrigerant.Refrigerant, s refrigerant.State) string {
	if why := whole(s); why != "" {
		return why
	}
	q, err := r.Recompute(s, refrigerant.Options{})
	if err != nil {
		return "recomputed: " + err.Error()
	}
	why := off(
		"recomputed pressure",
		q.P-s.P,
		pressureTolerance(s),
		"recomputed enthalpy",
		q.H-s.H,
		hTolerance,
		"recomputed entropy",
		q.S-s.S,
		sTolerance,
		"recomputed density",
		q.Rho/s.Rho-1,
		densityTolerance,
	)
	if why == "" && s.Phase == refrigerant.TwoPhase {
		why = off("recomputed vapour share", q.VapourMass-s.VapourMass, shareTolerance)
	}
	return why
}

// same compares a state with the one its inputs were made from.
func same(s, base refrigerant.State) string {
	if s.Phase != base.Phase {
		// On the line between two phases both names are right.
		edge := func(a refrigerant.State) bool {
			return a.Phase == refrigerant.TwoPhase && (a.VapourMass < 1e-5 || a.VapourMass > 1-1e-5)
		}
		if !edge(s) && !edge(base) {
			return fmt.Sprintf("%v, made from %v", s.Phase, base.Phase)
		}
	}
	why := off("temperature", s.T-base.T, tTolerance, "pressure", s.P-base.P, 3*pressureTolerance(base), "density", s.Rho/base.Rho-1, 1e-5)
	if why == "" && s.Phase == refrigerant.TwoPhase && base.Phase == refrigerant.TwoPhase {
		why = off("vapour share", s.VapourMass-base.VapourMass, 1e-5)
	}
	return why
}

// stable recomputes a state and holds it against trial phases.
func stable(r *refrigerant.Refrigerant, s refrigerant.State) string {
	if why := again(r, s); why != "" {
		return why
	}
	if s.Phase == refrigerant.TwoPhase {
		return ""
	}
	return off("tangent plane", r.Instability(s), depthTolerance)
}
