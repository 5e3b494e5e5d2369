package diagnose

import (
	"math"
)

// bitsOnSide is the information, bits, that a normally predicted reading gives about which side of the hypotheses holds, by quadrature.
func bitsOnSide(w, mu, sd []float64, has []bool) float64 {
	lo, hi, with := math.Inf(1), math.Inf(-1), 0.0
	for i := range w {
		if w[i] == 0 {
			continue
		}
		lo, hi = math.Min(lo, mu[i]-6*sd[i]), math.Max(hi, mu[i]+6*sd[i])
		if has[i] {
			with += w[i]
		}
	}
	const n = 400
	dx := (hi - lo) / n
	bits := 0.0
	for k := range n {
		x := lo + (float64(k)+0.5)*dx
		yes, no := 0.0, 0.0
		for i := range w {
			z := (x - mu[i]) / sd[i]
			if w[i] == 0 || z*z > 80 {
				continue
			}
			if v := w[i] * math.Exp(-0.5*z*z) / (sd[i] * math.Sqrt(2*math.Pi)); has[i] {
				yes += v
			} else {
				no += v
			}
		}
		bits += dx * (informationTerm(yes, with, yes+no) + informationTerm(no, 1-with, yes+no))
	}
	return math.Max(0, bits)
}

// informationTerm is one term of a mutual information: joint·log2(joint/(prior·all)).
func informationTerm(joint, prior, all float64) float64 {
	if joint <= 0 || prior <= 0 || all <= 0 {
		return 0
	}
	return joint * math.Log2(joint/(prior*all))
}

// outcomes says what a normally predicted reading would do: information about the hypothesis, bits, by quadrature; the
// chance that it puts another cause first; and what each range of its answers would mean.
func outcomes(w, mu, sd []float64, c *causes, si func(float64) float64) (bits, changes float64, answers []Answer) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range w {
		lo, hi = math.Min(lo, mu[i]-6*sd[i]), math.Max(hi, mu[i]+6*sd[i])
	}
	const n = 400
	dx := (hi - lo) / n
	H := 0.0
	last := -1
	share, then := make([]float64, len(c.names)), make([]float64, len(w))
	now, _ := c.first(w, share)
	for k := range n {
		x := lo + (float64(k)+0.5)*dx
		p := 0.0
		for i := range w {
			z := (x - mu[i]) / sd[i]
			if then[i] = 0; z*z < 80 {
				then[i] = w[i] * math.Exp(-0.5*z*z) / (sd[i] * math.Sqrt(2*math.Pi))
				p += then[i]
			}
		}
		if p < 1e-300 {
			continue
		}
		first, top := c.first(then, share)
		H -= p * math.Log2(p) * dx
		if first != now {
			changes += p * dx
		}
		if first != last {
			answers = append(answers, Answer{Low: x - 0.5*dx, First: c.names[first]})
			last = first
		}
		a := &answers[len(answers)-1]
		a.High = x + 0.5*dx
		a.Probability += p * dx
		a.Sure += top * dx
	}
	for i := range w {
		H -= w[i] * 0.5 * math.Log2(2*math.Pi*math.E*sd[i]*sd[i])
	}
	// Ranges of little chance say little; what is left is given from the most likely.
	keep := answers[:0]
	for _, a := range answers {
		if a.Probability > 0.02 {
			a.Sure /= a.Probability
			a.Low, a.High = si(a.Low), si(a.High)
			keep = append(keep, a)
		}
	}
	return math.Max(0, H), changes, keep
}

// informationOfTwo is the mutual information, bits, between hypothesis and two readings predicted as correlated normals,
// by a fixed lattice of points in every part.
func informationOfTwo(w, mx, sx, my, sy, cov []float64) float64 {
	n := len(w)
	const points = 96
	type part struct{ rho, norm float64 }
	parts := make([]part, n)
	sum := 0.0
	for i := range n {
		r := math.Max(-0.98, math.Min(0.98, cov[i]/(sx[i]*sy[i])))
		parts[i] = part{r, -math.Log(2*math.Pi*sx[i]*sy[i]) - 0.5*math.Log(1-r*r)}
		sum += w[i]
	}
	logp := func(i int, x, y float64) float64 {
		a, b, r := (x-mx[i])/sx[i], (y-my[i])/sy[i], parts[i].rho
		return parts[i].norm - (a*a-2*r*a*b+b*b)/(2*(1-r*r))
	}
	bits := 0.0
	for i := range n {
		for k := range points {
			// Radius by equal shares of probability, angle by the golden ratio.
			u := (float64(k) + 0.5) / points
			rad, ang := math.Sqrt(-2*math.Log(1-u)), 2*math.Pi*math.Mod(float64(k)*0.6180339887498949, 1)
			a, c := rad*math.Cos(ang), rad*math.Sin(ang)
			r := parts[i].rho
			x, y := mx[i]+sx[i]*a, my[i]+sy[i]*(r*a+math.Sqrt(1-r*r)*c)
			own := logp(i, x, y)
			mix := 0.0
			for j := range n {
				mix += w[j] / sum * math.Exp(logp(j, x, y)-own)
			}
			bits -= w[i] / sum / points * math.Log2(mix)
		}
	}
	return math.Max(0, bits)
}

// reasonFor says why a reading is worth taking: it separates the first two when their predictions lie apart by more than their spreads.
func reasonFor(w, mu, sd []float64) string {
	if math.Abs(mu[0]-mu[1]) > math.Hypot(sd[0], sd[1]) {
		return WhySeparates
	}
	rest, n := 0.0, 0.0
	for i := 1; i < len(w); i++ {
		rest += w[i] * mu[i]
		n += w[i]
	}
	if n > 0 && math.Abs(mu[0]-rest/n) > sd[0] {
		return WhyConfirms
	}
	return WhyInforms
}
