package main

import (
	"fmt"
	"io"
	"math/rand/v2"

	"coldwright/refrigerant"
)

// fitResult is the largest deviation of one fit. failed says what went wrong instead.
type fitResult struct {
	Designation string
	Points      int
	TLo, THi    float64 // K, saturation temperatures the fit covers
	Error       refrigerant.FitError
	Failed      string
}

func checkFit(designation string, points int, seed uint64) (q fitResult) {
	q.Designation = designation
	r, err := refrigerant.Load(designation)
	if err != nil {
		q.Failed = err.Error()
		return q
	}
	f, err := r.Fit()
	if err != nil {
		q.Failed = err.Error()
		return q
	}
	q.Points = points
	q.TLo, q.THi = f.TRange()
	q.Error, err = f.RandomError(points, rand.New(rand.NewPCG(seed, uint64(len(designation)))))
	switch stated := refrigerant.StatedFitError(); {
	case err != nil:
		q.Failed = err.Error()
	case q.Error.Exceeds(stated):
		q.Failed = fmt.Sprintf("beyond what is stated: %+v, stated %+v", q.Error, stated)
	}
	return q
}

// fits spreads the points evenly over the list.
func fits(out io.Writer, list []string, points int, seed uint64) (all []fitResult, err error) {
	each := (points + len(list) - 1) / len(list)
	fmt.Fprintf(
		out,
		"%-14s %7s %8s %8s %10s %12s %10s %14s %12s %10s\n",
		"largest error",
		"states",
		"from K",
		"to K",
		"T, K",
		"p, relative",
		"h, J/kg",
		"s, J/(kg K)",
		"ρ, relative",
		"T(p,h), K",
	)
	row := func(name string, n int, lo, hi string, e refrigerant.FitError) {
		fmt.Fprintf(out, "%-14s %7d %8s %8s %10.2e %12.2e %10.3f %14.5f %12.2e %10.2e\n", name, n, lo, hi, e.T, e.P, e.H, e.S, e.Rho, e.PH)
	}
	total, failed := 0, 0
	var worst refrigerant.FitError
	inOrder(list, func(d string) fitResult { return checkFit(d, each, seed) }, func(q fitResult) {
		row(q.Designation, q.Points, fmt.Sprintf("%.2f", q.TLo), fmt.Sprintf("%.2f", q.THi), q.Error)
		if q.Failed != "" {
			failed++
			fmt.Fprintf(out, "  %s: %s\n", q.Designation, q.Failed)
		}
		total += q.Points
		worst = refrigerant.FitError{
			T:   max(worst.T, q.Error.T),
			P:   max(worst.P, q.Error.P),
			H:   max(worst.H, q.Error.H),
			S:   max(worst.S, q.Error.S),
			Rho: max(worst.Rho, q.Error.Rho),
			PH:  max(worst.PH, q.Error.PH),
		}
		all = append(all, q)
	})
	row("worst", total, "", "", worst)
	row("stated", 0, "", "", refrigerant.StatedFitError())
	if failed > 0 {
		return all, fmt.Errorf("%d fits exceed what they state", failed)
	}
	return all, nil
}
