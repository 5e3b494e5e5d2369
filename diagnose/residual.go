package diagnose

import (
	"math"
)

// tails is a t distribution of residuals with the stated standard deviation.
type tails struct{ nu, scale, norm float64 }

func newTails(nu float64) tails {
	a, _ := math.Lgamma((nu + 1) / 2)
	b, _ := math.Lgamma(nu / 2)
	return tails{nu, math.Sqrt((nu - 2) / nu), a - b - 0.5*math.Log(nu*math.Pi)}
}

// A reading far off is explained by the heavy tails of its residual, unless the instrument that took it is under
// suspicion itself: then the lying instrument is a hypothesis with its own rate, and its mass is not given a second
// time.
var (
	heavy = newTails(nu)
	light = newTails(lightNu)
)

const lightNu = 30.0

// tScale makes the heavy tails have the stated standard deviation.
var tScale = heavy.scale

// log is the log density of a residual r with standard deviation sd.
func (t *tails) log(r, sd float64) float64 {
	s := sd * t.scale
	return t.norm - math.Log(s) - (t.nu+1)/2*math.Log1p(r*r/(t.nu*s*s))
}

// logT is the log density of a residual with heavy tails.
func logT(r, sd float64) float64 { return heavy.log(r, sd) }
