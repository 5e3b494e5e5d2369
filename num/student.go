package num

import "math"

// StudentAbove returns the share of Student's t distribution above t.
//
//   - in: degrees of freedom, above 0; t
//   - out: 0 to 1
//   - source: Abramowitz and Stegun (1964), 26.7.1 by the incomplete beta function, 26.5.8 its continued fraction
//   - cost: about 0.2 µs
func StudentAbove(nu, t float64) float64 {
	tail := 0.5 * incompleteBeta(nu/2, 0.5, nu/(nu+t*t))
	if t < 0 {
		return 1 - tail
	}
	return tail
}

// incompleteBeta is the regularised incomplete beta function, by the continued fraction on the side where it converges.
func incompleteBeta(a, b, x float64) float64 {
	if x <= 0 || x >= 1 {
		return math.Max(0, math.Min(1, x))
	}
	if x > (a+1)/(a+b+2) {
		return 1 - incompleteBeta(b, a, 1-x)
	}
	lg := func(v float64) float64 { g, _ := math.Lgamma(v); return g }
	front := math.Exp(lg(a+b)-lg(a)-lg(b)+a*math.Log(x)+b*math.Log1p(-x)) / a
	// Lentz's method: c and d are the ratios of neighbouring numerators and denominators.
	c, d := 1.0, 1/(1-(a+b)*x/(a+1))
	out := d
	for m := 1.0; m < 200; m++ {
		for _, k := range [2]float64{
			m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m)),
			-(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1)),
		} {
			d = 1 / (1 + k*d)
			c = 1 + k/c
			out *= c * d
		}
		if math.Abs(c*d-1) < 1e-14 {
			break
		}
	}
	return front * out
}
