package num

import "fmt"

// GasConstant is the molar gas constant, J/(mol K), exact since 2019 (CODATA 2018). The equations of state carry their own, older values.
const GasConstant = 8.31446261815324

// Status says how an iterative solve ended.
type Status int

// The statuses. Only Converged is a result.
const (
	Unknown Status = iota
	Converged
	Budget
	Diverged
	OutOfRange
)

// OK reports whether the solve converged.
func (s Status) OK() bool { return s == Converged }

func (s Status) String() string {
	switch s {
	case Converged:
		return "converged"
	case Budget:
		return "budget"
	case Diverged:
		return "diverged"
	case OutOfRange:
		return "out_of_range"
	}
	return "unknown"
}

// Solve is the pedigree of an iterative result. Every iterative result embeds one.
type Solve struct {
	Status      Status
	Iterations  int
	Evaluations int
	Residual    float64
	Warnings    []string
}

// NoConvergence is the error of a solve that found nothing. Last is for debugging, never for use.
type NoConvergence struct {
	What  string
	Solve Solve
	Last  float64
}

func (e *NoConvergence) Error() string {
	return fmt.Sprintf(
		"%s: no solution found (%s after %d iterations, residual %.3g)",
		e.What,
		e.Solve.Status,
		e.Solve.Iterations,
		e.Solve.Residual,
	)
}

// Conventions of reference states, exact by definition: the ice point of the Celsius scale, K, and the standard atmosphere, Pa.
const (
	ZeroCelsius        = 273.15
	StandardAtmosphere = 101325.0
)
