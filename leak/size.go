package leak

import (
	"math"
)

// gridSizes counts the sizes a leak may have, g of refrigerant a year at running pressure: 1, 2, 4 … 65,536.
const gridSizes = 17

// Size is how large the leak may be: shares of the grid, adding up to one.
type Size struct {
	Grams [gridSizes]float64 // g/year
	P     [gridSizes]float64
}

// Loss is refrigerant lost between two fillings.
type Loss struct {
	Grams float64 // added less taken out, to get back to the same charge
	Days  float64
	U     float64 // standard uncertainty of Grams: scales, and how alike the two charges were; 0: 5 % and 50 g
}

// SizeFrom says how large the leak must be.
//
//   - in: the full charge in g, 0 when not known; losses of this machine, any order
//   - out: the distribution over the grid
//   - errors: none; losses with no days or grams that are no numbers are left out
//   - assumes: one rate, steady within the catalogue's spread from one filling to the next
//   - source: Bayes' rule with a log-normal prior and normal weighings; the prior's median and spread stand in the catalogue
//   - cost: under a microsecond for each loss
func (c *Catalogue) SizeFrom(fullChargeG float64, losses []Loss) Size {
	median := c.Size.WithoutChargeG
	if fullChargeG > 0 {
		median = c.Size.SharePerYear * fullChargeG
	}
	var s Size
	var lp [gridSizes]float64
	top := math.Inf(-1)
	for i := range gridSizes {
		s.Grams[i] = math.Ldexp(1, i)
		z := math.Log(s.Grams[i]/median) / c.Size.SdLn
		lp[i] = -0.5 * z * z
		for _, l := range losses {
			if !(l.Days > 0) || math.IsNaN(l.Grams) || math.IsInf(l.Grams, 0) || math.IsInf(l.Days, 0) {
				continue
			}
			want := s.Grams[i] * l.Days / 365.25
			u := l.U
			if !(u > 0) {
				u = math.Hypot(50, 0.05*l.Grams)
			}
			// The steps of the grid are a factor of two: half a step, taken as uniform in the logarithm, has a standard
			// deviation of ln 2/√12 = 0.2.
			sd := math.Hypot(u, math.Hypot(c.Size.SteadySd, math.Ln2/math.Sqrt(12))*want)
			z := (l.Grams - want) / sd
			lp[i] += -0.5*z*z - math.Log(sd)
		}
		top = math.Max(top, lp[i])
	}
	sum := 0.0
	for i := range lp {
		s.P[i] = math.Exp(lp[i] - top)
		sum += s.P[i]
	}
	for i := range s.P {
		s.P[i] /= sum
	}
	return s
}

// Quantile returns the size below which a share p of the chance lies, g/year, interpolated in the logarithm within a step of the grid.
func (s Size) Quantile(p float64) float64 {
	sum := 0.0
	for i, q := range s.P {
		if q > 0 && sum+q >= p {
			return s.Grams[i] * math.Exp2((p-sum)/q-0.5)
		}
		sum += q
	}
	return s.Grams[gridSizes-1] * math.Sqrt2
}
