package num

import "math"

// Half the widths of the central intervals of a standard normal distribution: nine of ten and nineteen of twenty values
// lie within. Source: definition; the test holds them against [NormalQuantile] and another library.
const (
	Normal90 = 1.6448536269514722
	Normal95 = 1.959963984540054
)

// NormalCDF returns the share of a standard normal distribution below z.
//
//   - in: z
//   - out: 0 to 1
//   - source: definition, by the complementary error function, which keeps the digits of small shares
func NormalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// NormalQuantile returns the value below which a share p of a standard normal distribution lies.
//
//   - in: p, 0 to 1
//   - out: z; infinite at 0 and 1
//   - source: definition, by the inverse of the error function and Newton for the digits of small shares
func NormalQuantile(p float64) float64 {
	if p > 0.5 {
		return -NormalQuantile(1 - p)
	}
	z := -math.Sqrt2 * math.Erfcinv(2*p)
	if math.IsInf(z, 0) {
		return z
	}
	for range 2 {
		z -= (NormalCDF(z) - p) * math.Sqrt(2*math.Pi) * math.Exp(z*z/2)
	}
	return z
}
