package casebook

import (
	"math"
	"math/rand/v2"
)

// humiditySd is the standard deviation of the logit of the relative humidity at a coil from day to day. Judgement, ours:
// 0.77 to 0.90 in a cooler, 0.39 to 0.63 in a room.
const humiditySd = 0.5

// humidity of the air at the coil on one day, 0 where the coil counts as dry. It is drawn from a source of its own, by
// the day's box temperature, so that the visits drawn before it was one stay.
func humidity(design, box float64) float64 {
	if design == 0 {
		return 0
	}
	z := rand.New(rand.NewPCG(math.Float64bits(box), 97)).NormFloat64()
	return 1 / (1 + (1-design)/design*math.Exp(-humiditySd*z))
}
