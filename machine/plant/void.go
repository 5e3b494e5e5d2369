package plant

import "math"

// MeanVoid returns the mean share of the volume that vapour takes between two vapour shares by mass.
//
//		α(x) = x/(σ + (1−σ) x),  σ = (ρ_v/ρ_l)^⅔
//
//	  - in: vapour and liquid density, kg/m³; vapour shares a ≤ b, 0 to 1
//	  - out: 0 to 1
//	  - source: Zivi (1964), J. Heat Transfer 86:247-252, integrated
func MeanVoid(rhoV, rhoL, a, b float64) float64 { return voidMean(math.Pow(rhoV/rhoL, 2.0/3), a, b) }
