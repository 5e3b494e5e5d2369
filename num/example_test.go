package num_test

import (
	"errors"
	"fmt"
	"math"

	"coldwright/num"
)

func ExampleBrent() {
	x, s, err := num.Brent(func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 1e-12)
	fmt.Printf("%.9f %v %v\n", x, s.Status, err)
	_, _, err = num.Brent(func(x float64) float64 { return x*x + 1 }, -1, 1, 1e-12)
	var none *num.NoConvergence
	fmt.Println(errors.As(err, &none))
	// Output:
	// 0.739085133 converged <nil>
	// true
}

// A function is read once in Chebyshev points, which takes few of its evaluations, and asked often.
func ExampleFitChebyshev() {
	x := num.ChebyshevNodes(14, 0, 2)
	y := make([]float64, len(x))
	for i := range x {
		y[i] = math.Exp(x[i])
	}
	f := num.FitChebyshev(0, 2, y)
	fmt.Printf("%.10f, off by less than 1e-12: %v\n", f.At(1), math.Abs(f.At(1)-math.E) < 1e-12)
	// Output: 2.7182818285, off by less than 1e-12: true
}

func ExampleNormalQuantile() {
	fmt.Printf("nine of ten lie within %.4f standard deviations\n", num.NormalQuantile(0.95))
	// Output: nine of ten lie within 1.6449 standard deviations
}
